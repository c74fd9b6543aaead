"""Which column of a table is which: by their names, or as a study says; an error suggests what to say."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, NamedTuple

from combe.errors import TableError, did_you_mean, quoted
from combe.tables.cells import shown
from combe.tables.known_names import OTHER_NAMES
from combe.tables.powers import COLUMNS as POWERS

PLACE: Final = ("longitude_deg", "latitude_deg")
PROJECTED: Final = ("easting_m", "northing_m")
REFERENCE: Final = "grid_reference"
POWER: Final = "erp_w"

_MOST_TOLD: Final = 12
_LONGEST_TOLD: Final = 40
_MOST_MEANT: Final = 3
_NOT_FOUND: Final = "…"


@dataclass(frozen=True)
class Layout:
    """What a study says of how a table is written.

    Attributes
    ----------
    columns
        The table's name of a column, or its number from 1 in a table without header, by ours.
    crs
        Of the places; longitude and latitude of WGS 84 unless given.
    encoding
        Of a text that does not tell.
    decimal
        The sign before decimals, where the numbers do not tell.
    layer
        Of a GeoPackage with several.
    command
        Whether a command is told this, and not a study.
    key
        What a study calls ``columns``.
    """

    columns: Mapping[str, str | int] = field(default_factory=dict)
    crs: str | None = None
    encoding: str | None = None
    decimal: str | None = None
    layer: str | None = None
    command: bool = False
    key: str = "columns"

    @property
    def without_header(self) -> bool:
        """Whether columns are told by number."""
        return bool(self.columns) and all(isinstance(each, int) for each in self.columns.values())


KEYS: Final = ("columns", "crs", "encoding", "decimal", "layer")
"""The keys of a layout, in each section of a study that names a table."""


def layout_of(section: Mapping[str, Any]) -> Layout:
    """Return the layout of a section that has not been checked; what is of another kind is left out."""
    columns = section.get("columns")
    named = columns if isinstance(columns, Mapping) else {}
    known = {key: each for key, each in named.items() if isinstance(each, str | int)}
    crs, encoding, decimal, layer = (
        each if isinstance(each := section.get(key), str) else None for key in KEYS[1:]
    )
    return Layout(known, crs, encoding, decimal, layer)


class Columns(NamedTuple):
    """The column of the table for each of ours, counted from 0."""

    of: Mapping[str, int]

    def named(self, cells: Sequence[str]) -> dict[str, str]:
        """Return the cells of a row by our names of their columns."""
        return {name: cells[at].strip() for name, at in self.of.items()}


def find_columns(
    path: Path | str,
    header: Sequence[str],
    required: Sequence[str],
    optional: Sequence[str],
    layout: Layout | None,
    *,
    strict: bool = True,
    has_points: bool = False,
) -> Columns:
    """Return where the columns of a table are.

    Parameters
    ----------
    path
        Of the table, for the error.
    header
        Its names of columns; of a table without, as many numbers as it has columns.
    required, optional
        Our names.
    layout
        None for a table of which no study can say anything.
    strict
        Whether a column that is none of ours is an error where none is said to be another's.
    has_points
        Whether each row has its place as a geometry.

    Raises
    ------
    TableError
        A column that is missing, strange or twice there, with what to write.
    """
    told = layout or Layout()
    needed = [name for name in required if not (has_points and name in PLACE)]
    known = _with_others([*required, *optional])
    wrong = next((name for name in told.columns if name not in known), None)
    if wrong is not None:
        raise TableError(path, f"{told.key} has {quoted(wrong)}", did_you_mean(wrong, known))
    found = {name: _place(path, header, name, their, told.key) for name, their in told.columns.items()}
    taken = set(found.values())
    for name in known:
        if name not in found and name in header and not told.without_header:
            at = header.index(name)
            if at not in taken:
                found[name] = _once(path, header, name)
    missing = [name for name in needed if not _is_there(name, found)]
    if missing:
        raise TableError(path, *_missing(header, missing, found, layout, needed if not has_points else []))
    strange = [name for at, name in enumerate(header) if at not in found.values()]
    if strict and strange and not (told.columns or told.command):
        raise TableError(
            path, f"row 1: column {shown(strange[0])} is unknown", _strange(strange[0], known, layout)
        )
    return Columns(found)


def suggested(header: Sequence[str], wanted: Sequence[str]) -> dict[str, str]:
    """Return which column may be meant by each of our names, as far as any is like it; each once.

    >>> suggested(["NAME", "lat", "Lon", "POP_2020"], ["longitude_deg", "latitude_deg", "people"])
    {'longitude_deg': 'Lon', 'latitude_deg': 'lat', 'people': 'POP_2020'}
    """
    left = [name for name in header if name.strip()]
    found: dict[str, str] = {}
    for likeness in (_is_other_name, _begins_as_other_name, _looks_alike):
        for name in wanted:
            like = next((each for each in left if name not in found and likeness(name, each)), None)
            if like is not None:
                found[name] = like
                left.remove(like)
    return {name: found[name] for name in wanted if name in found}


def likely_columns(header: Sequence[str], required: Sequence[str]) -> dict[str, str]:
    """Return which columns of a table may be meant by ours, or by what may stand in their place."""
    there = {name: name for name in required if name in header}
    missing = [name for name in required if name not in there]
    left = [name for name in header if name not in there]
    return {**there, **suggested(left, _likely_alternatives(left, missing))}


def mapping_text(columns: Mapping[str, str], layout: Layout) -> str:
    """Return a mapping as a study has it, or as options of a command."""
    if layout.command:
        # What the table does not seem to have may be one value for all of its rows.
        option = {_NOT_FOUND: "--set"}
        return " ".join(
            f"{option.get(their, '--column')} {_word(f'{name}={their}')}" for name, their in columns.items()
        )
    return f"{layout.key} = {{ {', '.join(f'{name} = {quoted(their)}' for name, their in columns.items())} }}"


def _word(text: str) -> str:
    return text if re.fullmatch(r"[\w=.…-]+", text) else quoted(text)


def _with_others(names: Sequence[str]) -> list[str]:
    """Return names of columns with those that may stand in their place."""
    found = list(names)
    if PLACE[0] in found:
        found += [*PROJECTED, REFERENCE]
    if POWER in found:
        found += [name for name in POWERS if name != POWER]
    return found


def _is_there(name: str, found: Mapping[str, int]) -> bool:
    if name in found:
        return True
    if name in PLACE:
        return REFERENCE in found or all(each in found for each in PROJECTED)
    return name == POWER and any(each in found for each in POWERS)


def _place(path: Path | str, header: Sequence[str], name: str, their: str | int, key: str) -> int:
    if isinstance(their, int):
        if not 1 <= their <= len(header):
            raise TableError(path, f"{key}.{name} is {their}", f"it has columns 1 to {len(header)}")
        return their - 1
    if their not in header:
        raise TableError(path, f"{key}.{name}: it has no column {quoted(their)}", did_you_mean(their, header))
    return _once(path, header, their)


def _once(path: Path | str, header: Sequence[str], name: str) -> int:
    if list(header).count(name) > 1:
        raise TableError(path, f"row 1: column {name!r} stands twice", "take one of them out")
    return list(header).index(name)


def _missing(
    header: Sequence[str],
    missing: list[str],
    found: Mapping[str, int],
    layout: Layout | None,
    needed: list[str],
) -> tuple[str, str]:
    """Return what is missing and what to write, for the error."""
    problem = f"row 1: no column {missing[0]!r}" if needed else f"no column {missing[0]!r}"
    if layout is None:
        return problem, f"write the header {','.join(needed)}"
    wanted = _likely_alternatives(header, missing)
    likely = suggested([each for at, each in enumerate(header) if at not in found.values()], wanted)
    names = [quoted(name[:_LONGEST_TOLD]) for name in header[:_MOST_TOLD]]
    has = ", ".join([*names, *(["…"] if len(header) > _MOST_TOLD else [])])
    if not likely:
        listed = mapping_text(dict.fromkeys(wanted, _NOT_FOUND), layout)
        own = f"write the header {','.join(needed)}, or" if needed else "write"
        return problem, f"{own} {listed} with its own names; it has {has}"
    kept = {name: str(their) for name, their in layout.columns.items()}
    listed = mapping_text({**kept, **{name: likely.get(name, _NOT_FOUND) for name in wanted}}, layout)
    words = " and ".join(quoted(likely[name]) for name in wanted if name in likely)
    words = words if len(likely) <= _MOST_MEANT else "its own columns"
    meant = (
        f"if {words} {'is' if len(likely) == 1 else 'are'} meant, write {listed}{_and_system(wanted, layout)}"
    )
    return problem, meant if len(likely) == len(wanted) else f"{meant}; it has {has}"


def _and_system(wanted: Sequence[str], layout: Layout) -> str:
    """Return what to write beside a mapping whose places need a system."""
    if layout.crs is not None or not any(name in PROJECTED for name in wanted):
        return ""
    return " and --crs EPSG:…" if layout.command else ' and crs = "EPSG:…"'


def _likely_alternatives(header: Sequence[str], missing: Sequence[str]) -> list[str]:
    """Return what is missing, or what its table seems to have in its place."""
    names = list(missing)
    if all(each in names for each in PLACE) and not suggested(header, PLACE):
        other = next(
            (each for each in (PROJECTED, (REFERENCE,)) if len(suggested(header, each)) == len(each)), PLACE
        )
        names = [*other, *(each for each in names if each not in PLACE)]
    if POWER in names:
        unit = next((each for each in POWERS if any(_is_other_name(each, name) for name in header)), POWER)
        names[names.index(POWER)] = unit
    return names


def _strange(name: str, known: Sequence[str], layout: Layout | None) -> str:
    if layout is None:
        return f"write the header {','.join(known)}"
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.6)
    own = f"did you mean {near[0]}? " if near else ""
    return f"{own}its columns are {', '.join(known)}; a table with others needs columns = {{ … }}"


def _folded(name: str) -> str:
    """Return a name as letters and digits with one sign between words."""
    plain = unicodedata.normalize("NFKD", name.replace("ß", "ss")).casefold()
    letters = "".join(each for each in plain if not unicodedata.combining(each))
    return re.sub(r"[^a-z0-9]+", "_", letters).strip("_")


def _is_other_name(ours: str, their: str) -> bool:
    folded = _folded(their)
    return folded == ours or folded in OTHER_NAMES.get(ours, ())


def _begins_as_other_name(ours: str, their: str) -> bool:
    """Tell whether a name is another name with words behind or before it; single letters do not count."""
    padded = f"_{_folded(their)}_"
    return any(f"_{name}_" in padded for name in OTHER_NAMES.get(ours, ()) if len(name) > 2)


def _looks_alike(ours: str, their: str) -> bool:
    return difflib.SequenceMatcher(None, ours, _folded(their)).ratio() >= 0.75
