"""Heights of ground cover for the classes of common open land-cover maps.

The maps name classes, not heights. Each class is put into one of a few kinds, and each kind has one height:
those of built and wooded ground are the representative heights of ITU-R P.2108, the rest and the way classes
are put into kinds are our own choice. Real woods and towns differ: a table of the user's own is better.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final

from combe.errors import RangeError, TableError
from combe.standards.cited import Cited, Confidence, require_citation

_P2108: Final = "ITU-R P.2108-1 §3.1, Table 3, representative height, as the public code of NTIA/p2108 has it"

KIND_HEIGHT_M: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "open": Cited(0.0, "nothing added over open ground and water", "own choice"),
        "scrub": Cited(3.0, "bushes, vines and young trees", "own choice"),
        "suburban": Cited(10.0, _P2108, "read"),
        "industry": Cited(10.0, "sheds, as suburban", "own choice"),
        "trees": Cited(15.0, _P2108, "read"),
        "urban": Cited(15.0, _P2108, "read"),
        "dense urban": Cited(20.0, _P2108, "read"),
    }
)
"""Height of cover [m] of each kind."""


@dataclass(frozen=True)
class CoverClass:
    """One class of a land-cover map: its number in the raster, its name, and the kind it counts as."""

    code: int
    name: str
    kind: str

    def __post_init__(self) -> None:
        if self.kind not in KIND_HEIGHT_M:
            raise RangeError("kind of a land-cover class", repr(self.kind), ", ".join(KIND_HEIGHT_M))

    @property
    def height_m(self) -> float:
        """Height of the cover [m]."""
        return KIND_HEIGHT_M[self.kind].value


@dataclass(frozen=True)
class Legend:
    """The classes of one land-cover map; ``reference`` says where its numbers are from."""

    name: str
    title: str
    classes: tuple[CoverClass, ...]
    reference: str
    confidence: Confidence

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)
        codes = [one_class.code for one_class in self.classes]
        if len(set(codes)) < len(codes):
            raise RangeError("codes of a legend", codes, "each once")


def _classes(text: str) -> Iterator[CoverClass]:
    """Yield the classes of lines ``code name = kind``."""
    for line in text.strip().splitlines():
        head, _, kind = line.partition(" = ")
        code, _, name = head.strip().partition(" ")
        yield CoverClass(int(code), name, kind.strip())


_WORLDCOVER: Final = """
10 tree cover = trees
20 shrubland = scrub
30 grassland = open
40 cropland = open
50 built-up = suburban
60 bare or sparse vegetation = open
70 snow and ice = open
80 permanent water = open
90 herbaceous wetland = open
95 mangroves = trees
100 moss and lichen = open
"""

_NLCD: Final = """
11 open water = open
12 perennial ice and snow = open
21 developed, open space = open
22 developed, low intensity = suburban
23 developed, medium intensity = suburban
24 developed, high intensity = urban
31 barren land = open
41 deciduous forest = trees
42 evergreen forest = trees
43 mixed forest = trees
51 dwarf scrub = open
52 shrub and scrub = scrub
71 grassland = open
72 sedge = open
73 lichens = open
74 moss = open
81 pasture and hay = open
82 cultivated crops = open
90 woody wetlands = trees
95 emergent herbaceous wetlands = open
"""

_CORINE: Final = """
111 continuous urban fabric = dense urban
112 discontinuous urban fabric = suburban
121 industrial or commercial units = industry
122 road and rail networks = open
123 port areas = industry
124 airports = open
131 mineral extraction sites = open
132 dump sites = open
133 construction sites = open
141 green urban areas = scrub
142 sport and leisure facilities = open
211 non-irrigated arable land = open
212 permanently irrigated land = open
213 rice fields = open
221 vineyards = scrub
222 fruit trees and berries = scrub
223 olive groves = scrub
231 pastures = open
241 annual with permanent crops = open
242 complex cultivation patterns = open
243 agriculture with natural vegetation = scrub
244 agro-forestry = scrub
311 broad-leaved forest = trees
312 coniferous forest = trees
313 mixed forest = trees
321 natural grassland = open
322 moors and heathland = open
323 sclerophyllous vegetation = scrub
324 transitional woodland and shrub = scrub
331 beaches, dunes and sands = open
332 bare rock = open
333 sparsely vegetated areas = open
334 burnt areas = open
335 glaciers and perpetual snow = open
411 inland marshes = open
412 peat bogs = open
421 salt marshes = open
422 salines = open
423 intertidal flats = open
511 water courses = open
512 water bodies = open
521 coastal lagoons = open
522 estuaries = open
523 sea and ocean = open
"""

_CORINE_LEVEL_1: Final = """
1 artificial surfaces = suburban
2 agricultural areas = open
3 forest and semi-natural areas = trees
4 wetlands = open
5 water bodies = open
"""


def _corine_grid() -> tuple[CoverClass, ...]:
    """Return CORINE's classes under the running numbers 1 to 44 that its rasters hold."""
    numbered = enumerate(_classes(_CORINE), start=1)
    return tuple(CoverClass(number, each.name, each.kind) for number, each in numbered)


_CLC: Final = "CORINE Land Cover nomenclature of the European Environment Agency"
_LEGENDS: Final = (
    Legend(
        "worldcover",
        "ESA WorldCover",
        tuple(_classes(_WORLDCOVER)),
        "class table of ESA WorldCover 10 m 2020 and 2021, as a wiki of the US EPA repeats it",
        "read",
    ),
    Legend(
        "nlcd",
        "NLCD",
        tuple(_classes(_NLCD)),
        "class table of the US National Land Cover Database",
        "from memory",
    ),
    Legend("corine", "CORINE, three-figure codes", tuple(_classes(_CORINE)), _CLC, "from memory"),
    Legend("corine-grid", "CORINE, raster numbers 1 to 44", _corine_grid(), _CLC, "from memory"),
    Legend("corine-level-1", "CORINE, first level", tuple(_classes(_CORINE_LEVEL_1)), _CLC, "from memory"),
)

LEGENDS: Final[Mapping[str, Legend]] = MappingProxyType({legend.name: legend for legend in _LEGENDS})
"""Legends by the name that a study gives."""


def legend_named(name: str) -> Legend:
    """Return a legend; RangeError naming those there are."""
    if name not in LEGENDS:
        raise RangeError("legend", repr(name), ", ".join(LEGENDS))
    return LEGENDS[name]


def class_heights_m(legend: Legend) -> dict[int, float]:
    """Return the height of cover [m] of each class of a legend."""
    return {one_class.code: one_class.height_m for one_class in legend.classes}


HEADER: Final = ("class", "height_m")
HIGHEST_M: Final = 150.0
"""Above this a height is taken for a mistake of unit."""

LARGEST_FILE_BYTES: Final = 1_000_000


def read_heights_m(path: Path | str) -> dict[int, float]:
    """Read heights of ground cover [m] by class number.

    The file is UTF-8 text: a header line ``class,height_m`` (columns after these are left alone), then a row
    for each class. Blank lines and lines that begin with ``#`` are passed over.

    Raises
    ------
    TableError
        Naming the file, the line, what stands there and what to write: a missing or unreadable file, another
        header, a class that is no whole number or stands twice, a height that is not 0 to 150 m.
    """
    file = Path(path)
    lines = [(number, line) for number, line in enumerate(_text(file).splitlines(), start=1) if _counts(line)]
    if not lines or tuple(part.strip() for part in lines[0][1].split(",")[:2]) != HEADER:
        raise TableError(file, f"it does not begin with {','.join(HEADER)}", "write that header line first")
    heights: dict[int, float] = {}
    for number, line in lines[1:]:
        code, height_m = _row(file, number, line)
        if code in heights:
            raise TableError(file, f"line {number}: class {code} stands twice", "take one of them out")
        heights[code] = height_m
    if not heights:
        raise TableError(file, "it holds no class", "write a row for each class: number,height")
    return heights


def _counts(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _row(file: Path, number: int, line: str) -> tuple[int, float]:
    cells = [cell.strip() for cell in next(csv.reader([line]))]
    try:
        code, height_m = int(cells[0]), float(cells[1])
    except (ValueError, IndexError):
        shown = ",".join(cells)[:40]
        raise TableError(
            file, f"line {number}: {shown!r} is no class and height", "write for example 10,15"
        ) from None
    if not 0.0 <= height_m <= HIGHEST_M:
        raise TableError(
            file, f"line {number}: height {height_m:g} m is out of range", f"write 0 to {HIGHEST_M:g}"
        )
    return code, height_m


def _text(file: Path) -> str:
    try:
        if not file.is_file():
            raise TableError(file, "there is no such file" if not file.exists() else "is not a regular file")
        if file.stat().st_size > LARGEST_FILE_BYTES:
            raise TableError(file, "is larger than 1 MB", "a table of classes is a short text")
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise TableError(file, "is not UTF-8 text", "save it as UTF-8") from None
    except OSError as error:
        raise TableError(file, f"cannot be read ({error.strerror})") from None
