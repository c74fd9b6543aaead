"""Reads a study file: TOML in, a checked study out, or every fault of it at once."""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from combe.errors import StudyError
from combe.study.claims import claim_faults
from combe.study.climate import climate_faults
from combe.study.context_of import context_faults
from combe.study.coordination_of import coordination_faults
from combe.study.crosscheck import cross_faults
from combe.study.fault import Fault, missing, path_text, without_echoes
from combe.study.faults import faults_of
from combe.study.feedcheck import feed_faults
from combe.study.off_air import off_air_faults
from combe.study.schema import StudyFile
from combe.study.seasoncheck import season_faults
from combe.study.sfncheck import sfn_faults
from combe.study.sitingcheck import siting_faults
from combe.study.station_table import StationTable, Teller, with_table
from combe.study.tablecheck import array_faults, model_faults, place_faults, table_faults
from combe.study.terraincheck import terrain_faults, zone_source_faults
from combe.study.waycheck import way_faults

_COMMA_NUMBER: Final = re.compile(r"=\s*([-+]?\d+),(\d+)\s*(?:#.*)?$")
LOG_NAME: Final = "visits.gpkg"
_LARGEST_BYTES: Final = 4_000_000
_NO_NUMBER: Final = (
    "is a whole number beyond 64 bits, more than TOML has; write a number that means something"
)


@dataclass(frozen=True)
class Study:
    """A study file whose every key has been checked.

    Attributes
    ----------
    path
        The file it was read from; names of files inside it count from its folder.
    content
        Its sections; stations from a table stand behind those of the file, and ``network`` is None.
    rows
        The table of stations, None where there is none.
    """

    path: Path
    content: StudyFile
    rows: StationTable | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True)
class Reading:
    """A study file as it was read, with faults or without.

    Attributes
    ----------
    path, rows
        As those of a study.
    table
        What the file says; stations from a table stand behind those of the file.
    content
        The checked sections, None where a key is at fault.
    faults
        Every fault of the file itself, with its place in ``table``.
    """

    path: Path
    table: Mapping[str, Any]
    content: StudyFile | None
    faults: tuple[Fault, ...]
    rows: StationTable | None

    @property
    def teller(self) -> Teller:
        """What tells places of the file, those of a table of stations by its rows."""
        stations = self.table.get("stations")
        return Teller(self.rows, len(stations) if isinstance(stations, list) else 0)

    def error(self, more: Sequence[str] = ()) -> StudyError:
        """Return the error that tells the faults of the file, the first of each place, and ``more``."""
        teller = self.teller
        first: dict[object, str] = {}
        for fault in self.faults:
            # What is wrong with a key itself comes before what does not fit.
            first.setdefault(teller.place(fault.place) or fault, teller.fault(fault))
        return StudyError(self.path, [*first.values(), *dict.fromkeys(more)])


def read_study(path: Path | str) -> Reading:
    """Read a study file with whatever faults it has.

    Raises
    ------
    StudyError
        A file that cannot be read at all, or is no TOML.
    """
    source = Path(path)
    written = _read_table(source)
    table, rows, told = with_table(written, source.parent)
    content, faults = _checked(table, source.parent)
    faults = [_no_ground(fault, source) for fault in faults] + claim_faults(written, source.parent)
    if told:
        # These may only repeat that rows of the table could not be read.
        echoes = [fault for fault in faults if fault.place == ("stations",) or fault.strange_station]
        faults = [*told, *(fault for fault in faults if fault not in echoes)]
    return Reading(source, table, content, tuple(without_echoes(faults)), rows)


def _no_ground(fault: Fault, source: Path) -> Fault:
    """Say where the ground of a study comes from that has none; any other fault is as it was."""
    if fault.place != ("terrain",) or not fault.missing:
        return fault
    fetch = f"combe ground fetch {shlex.quote(str(source))}"
    return missing(
        fault.place, f"fetch the ground with: {fetch}, or write a [terrain] table of your own rasters"
    )


def load_study(path: Path | str) -> Study:
    """Read and check a study file.

    Raises
    ------
    StudyError
        With every fault of the file: its place (``stations[1].services[0].erp_w``), what is wrong there and
        what to write instead. Rasters are only looked for here; they are opened when the study is resolved.
    """
    return checked_study(read_study(path))


def checked_study(reading: Reading) -> Study:
    """Return a study file that was read as a study; raises StudyError with all its faults."""
    if reading.content is None or reading.faults:
        raise reading.error()
    return Study(reading.path, reading.content.model_copy(update={"network": None}), reading.rows)


def checked_table(study: Study, table: Mapping[str, Any]) -> Study:
    """Check a study's table that was changed since the file was read, and return the study that it makes.

    Stations of a table of stations stand in it already. What claims were written of is not held against it,
    for that is a matter of the file.

    Raises
    ------
    StudyError
        With every fault, each at its place in the table, or in the row that a station was read from.
    """
    rows = study.rows and study.rows.among(table.get("stations", []))
    content, faults = _checked(table, study.path.parent)
    return checked_study(Reading(study.path, table, content, tuple(without_echoes(faults)), rows))


def _checked(table: Mapping[str, Any], folder: Path) -> tuple[StudyFile | None, list[Fault]]:
    """Return the content of a study, or None, and all its faults."""
    content: StudyFile | None = None
    faults: list[Fault] = []
    try:
        content = StudyFile.model_validate(table)
    except ValidationError as error:
        faults = faults_of(error, StudyFile)
    faults += cross_faults(table, folder) + sfn_faults(table) + model_faults(table) + feed_faults(table)
    faults += place_faults(table) + array_faults(table) + siting_faults(table, folder)
    faults += climate_faults(table, folder) + coordination_faults(table, folder) + way_faults(table)
    faults += [*season_faults(table, folder), *off_air_faults(table), *context_faults(table, folder)]
    faults += [*terrain_faults(table), *zone_source_faults(table)]
    return content, faults + table_faults(table, folder)


def default_log(path: Path | str) -> Path:
    """Return the log of visits beside a study file."""
    return Path(path).parent / LOG_NAME


def beside(study: Study, name: str) -> Path:
    """Return the path of a file that the study names, counted from the study's own folder."""
    return study.path.parent / name


def _read_table(source: Path) -> dict[str, Any]:
    if source.is_dir():
        raise StudyError(source, [f"is a folder; name the file in it, for example {source / 'study.toml'}"])
    try:
        if source.stat().st_size > _LARGEST_BYTES:
            raise StudyError(source, ["is larger than 4 MB; a study file is a short text"])
        text = source.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise StudyError(source, ["there is no such file; make one with: combe new DIR"]) from None
    except UnicodeDecodeError:
        raise StudyError(source, ["is not UTF-8 text; a study is a TOML file"]) from None
    except OSError as error:
        raise StudyError(source, [f"cannot be read ({error.strerror})"]) from None
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StudyError(source, [_syntax_fault(str(error), text)]) from None
    except RecursionError:
        raise StudyError(source, ["holds brackets within brackets beyond all use; take them out"]) from None
    except ValueError:
        raise StudyError(source, [_NO_NUMBER]) from None
    giants = _giants(table)
    if giants:
        raise StudyError(source, giants)
    return table


def _giants(table: dict[str, Any]) -> list[str]:
    """Return a fault for each whole number beyond the 64 bits that TOML has; floats could not hold it."""
    faults: list[str] = []
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), table)]
    while waiting:
        place, value = waiting.pop()
        if isinstance(value, dict):
            waiting += [((*place, key), each) for key, each in value.items()]
        elif isinstance(value, list):
            waiting += [((*place, index), each) for index, each in enumerate(value)]
        elif isinstance(value, int) and not -(2**63) <= value < 2**63:
            faults.append(f"{path_text(place)}: {_NO_NUMBER}")
    return faults


def _syntax_fault(message: str, text: str) -> str:
    """Turn tomllib's words on a text into ``line 7: …``."""
    found = re.fullmatch(r"(.*) \(at (?:line (\d+), column \d+|(end of document))\)", message, re.DOTALL)
    if not found:
        return f"is not TOML: {message}"
    words, line, _ = found.groups()
    comma = _COMMA_NUMBER.search(text.split("\n")[int(line) - 1]) if line else None
    if comma:
        return f"line {line}: {comma[1]},{comma[2]} has a decimal comma; write {comma[1]}.{comma[2]}"
    where = f"line {line}" if line else "the last line"
    return f"{where}: {' '.join(words.split())}; correct the TOML there"
