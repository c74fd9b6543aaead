"""What was found in files that a study is to stand on; it holds no arrays, and imports nothing heavy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from combe.terrain import RasterLook, Seam

RasterKind = Literal["elevation", "land cover", "canopy height", "zones", "water mask", "people", "numbers"]


class KnownRaster(NamedTuple):
    """What the form of a name tells of a raster: datum of its heights, and whether they hold trees."""

    name: str
    vertical_datum: str
    surface: bool | None


@dataclass(frozen=True)
class ColumnLook:
    """A column of a table: its name, a value of it, and which of ours it may be, or nothing."""

    name: str
    example: str
    may_be: str


@dataclass(frozen=True)
class TableLook:
    """A vector layer or a table in text.

    ``supposed`` is how a text is written, ``fault`` what keeps it from being read. ``lonlat`` is None where
    no place is known; ``likely`` is one of the tables of a study, or what its geometries are.
    """

    path: Path
    file_format: str
    rows: int
    geometries: tuple[str, ...]
    crs_name: str
    lonlat: tuple[float, float, float, float] | None
    columns: tuple[ColumnLook, ...]
    likely: str
    mapping: Mapping[str, str]
    supposed: tuple[str, ...] = ()
    fault: str = ""


@dataclass(frozen=True)
class RasterFound:
    """A raster, what it likely is and why, and what is known of it by its name."""

    look: RasterLook
    likely: RasterKind
    because: str
    known: KnownRaster | None
    legends: tuple[str, ...]
    canopy_codes: tuple[float, ...]

    @property
    def path(self) -> Path:
        """Its file."""
        return self.look.path


Found = RasterFound | TableLook
"""A file that could be read."""


@dataclass(frozen=True)
class InspectReport:
    """What was found in files; ``refused`` are those that could not be read, with the reason."""

    found: tuple[Found, ...]
    seams: tuple[Seam, ...]
    refused: tuple[tuple[Path, str], ...] = field(default=())
