"""Finds the texts of pages in the code: what a catalogue of a language has to hold.

Templates of ``tell`` are found by their call. Texts without values stand in the code as they are, so each
literal of the rooms that speak to readers counts as one, but for what cannot be: documentation, errors,
keys, the help on keys, names of files, patterns.
"""

from __future__ import annotations

import ast
import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Final

PACKAGE: Final = Path(__file__).parents[1] / "coverage" / "combe"
SOURCES: Final = "ground/sources.toml"
TOLD_OF_SOURCES: Final = ("year", "resolution", "remark", "standing")
SPEAKING_ROOMS: Final = ("reports", "answers", "publishing", "reception", "planning", "prediction")
MUTE_FILES: Final = tuple(
    f"publishing/{name}.py"
    for name in ("as_json", "exchange", "geopackage_notes", "geotiff", "gis_styles", "inline", "vector")
)
"""They write for programs."""

SPEAKING_FILES: Final = (
    *("standards/systems.py", "standards/protection.py", "standards/cited.py", "standards/visit_readings.py"),
    *("terrain/clutter.py", "terrain/districts.py", "terrain/tiles.py", "propagation/p2001/typical.py"),
    *("stations/aerial.py", "stations/stacking.py", "stations/elements.py", "standards/minimum_median.py"),
    *(
        "standards/coordination.py",
        "standards/portable.py",
        "propagation/p526/multiple_edges.py",
        "digits.py",
    ),
    *(
        "project/off_air.py",
        "project/people.py",
        "study/climate.py",
        "study/ground_entries.py",
        "standards/prediction_error.py",
        "standards/spectrum.py",
    ),
)
_CODE_WORDS: Final = """
E N S W Horizontal Invented Notes Parent Vertical alike all analogue better block blocked blocks bridge built
check clear clearance climate climbing clutter co-channel colour comparison conditions continuous
coordination coverage csv days day desert digital districts drifts elsewhere equal equipment fail fails
falls feeder feeders fewer fill forest free geopackage geotiff grid h harm harmed height held hills
horizontal hours image indoor inland input intermodulation interference invented jumper kriged land
lattice leafless level licence limit limits log-normal loop loss lost lower margin mast maritime
measured median method min minutes missing mixed model moved mute muted name nearest never newly no none
number omni on out outdoor output outside over overload overloaded own parent passes patterns people
percentages picture place polarization power prediction program propagation protection public rayleigh reading
record receiver receivers refractivity relay relays ricean river road roads same sea search sector
served services settlements settlement shoulders short site siting slant sound splitter stations
state steep stored study suburban summer tables television temperate temperature terrain time
triggers tropospheric unchanged under unknown unserved unset upper upwards urban vertical vision sideways
visits walls water wavelength wavelengths weather who windows winter within work workers yes zones
"""
_CODES: Final = ("served areas", "served by station")
"""Words that are codes as well, and that pages show as they are."""

_SILENT_CALLS: Final = re.compile(r"(Error|Fault|echo|getattr|compile)$")
_SILENT_METHODS: Final = ("sub", "replace", "split", "join", "startswith", "partition", "removesuffix")
_SILENT_KEYWORDS: Final = ("meaning", "null", "key", "like", "help", "get", "unit", "anchor", "encoding")
_TELLING: Final = ("tell", "tell_number", "tell_html", "told_html", "in_page_language")
_HEADED: Final = ("text", "whole", "number", "people", "flag", "mark", "texts", "as_told")
_KEY_FIRST: Final = (*_HEADED, "one", "many", "named", "numbers", "MapLayer", "ClassMap")
_WORDS: Final = re.compile(r"[A-Za-zÀ-ž]{2}")
_NO_WORDS: Final = re.compile(
    r"^[\w./*-]*_[\w./*-]*$|^[A-Z]\w*[a-z][A-Z]\w*$|[<>]|^\W*[\w-]+(\.[\w-]+)+\W*$|^[a-z0-9.-]+$|^#|^--"
    r"|^combe |^/\w+/|://|^EPSG|^\^|^\S+\|\S+$|\\[dwsb]"
)
_JINJA: Final = re.compile(r'"([^"]+)"(?:\s+if [^}]*?else\s+"([^"]+)")?\)?\s*\|\s*told')
_PIECE: Final = re.compile(r'\[\["([^"]+)"\]\]')
_SCRIPT: Final = re.compile(
    r'\btell(?:Number)?\(\s*(?:[^",()]+,\s*)?("(?:[^"\\\n]|\\.)*")(?:,\s*("(?:[^"\\\n]|\\.)*"))?'
)


def texts_of_code() -> dict[str, set[str]]:
    """Return each text with the files that hold it."""
    found: dict[str, set[str]] = {text: {"codes"} for text in (*_CODE_WORDS.split(), *_CODES)}
    for source in tomllib.loads((PACKAGE / SOURCES).read_text("utf-8"))["sources"]:
        found |= {
            source[key]: {SOURCES} for key in ("year", "resolution", "remark", "standing") if key in source
        }
    for path in sorted(PACKAGE.rglob("*")):
        name = path.relative_to(PACKAGE).as_posix()
        if path.suffix == ".py":
            texts = _of_python(path, plain=_speaks(name))
        elif path.suffix == ".html":
            page = path.read_text("utf-8")
            told = (each for pair in _JINJA.findall(page) for each in pair if each)
            texts = (*told, *_PIECE.findall(page))
        elif path.suffix == ".js":
            pairs = _SCRIPT.findall(path.read_text("utf-8"))
            texts = (json.loads(each) for pair in pairs for each in pair if each)
        else:
            continue
        for text in texts:
            found.setdefault(text, set()).add(name)
    return found


def _speaks(name: str) -> bool:
    if name in MUTE_FILES or name.endswith("__init__.py"):
        return False
    return name.split("/")[0] in SPEAKING_ROOMS or name in SPEAKING_FILES


def _of_python(path: Path, *, plain: bool) -> Iterator[str]:
    tree = ast.parse(path.read_text("utf-8"))
    parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or not isinstance(node.value, str):
            continue
        call = parents[node]
        told = isinstance(call, ast.Call) and _name(call.func) in _TELLING and node in call.args
        if told or (plain and _is_text(node, parents)):
            yield node.value


def _name(function: ast.expr) -> str:
    return function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")


def _is_text(node: ast.Constant, parents: dict[ast.AST, ast.AST]) -> bool:
    parent = parents[node]
    if isinstance(parent, ast.Subscript) and " " in node.value:
        # A key that is shown: what made an answer, by name.
        return True
    if isinstance(parent, ast.Expr | ast.JoinedStr | ast.FormattedValue | ast.Compare | ast.Subscript):
        return False
    headed = _stands_as_head(node, parent)
    if not _WORDS.search(node.value) or (_NO_WORDS.search(node.value) and not headed):
        return False
    child: ast.AST = node
    while child in parents:
        above = parents[child]
        if isinstance(above, ast.Raise | ast.AnnAssign) and not (
            isinstance(above, ast.AnnAssign) and above.value is child
        ):
            return False
        if isinstance(above, ast.keyword) and above.arg in _SILENT_KEYWORDS:
            return False
        if isinstance(above, ast.Call):
            name = _name(above.func)
            method = isinstance(above.func, ast.Attribute) and name in _SILENT_METHODS
            if method or _SILENT_CALLS.search(name):
                return False
            if name in _KEY_FIRST and above.args[:1] == [child]:
                return False
        child = above
    return True


def _stands_as_head(node: ast.Constant, parent: ast.AST) -> bool:
    """Return whether a literal is the head of a field or the title of a part, which may be one small word."""
    if not isinstance(parent, ast.Call):
        return False
    name = _name(parent.func)
    if name in _HEADED:
        return parent.args[1:2] == [node]
    return (
        name in ("Table", "Section", "Room", "blank", "Mark") and node in parent.args[-2:] and name != "Mark"
    )
