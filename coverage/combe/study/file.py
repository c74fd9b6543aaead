"""Reads a study file: TOML in, a checked study out, or every fault of it at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from combe.errors import StudyError
from combe.study.arraycheck import array_faults
from combe.study.crosscheck import cross_faults
from combe.study.faults import faults_of
from combe.study.feedcheck import feed_faults
from combe.study.modelcheck import model_faults
from combe.study.schema import StudyFile
from combe.study.sitingcheck import siting_faults
from combe.study.station_table import told_by_row, with_table
from combe.study.tablecheck import table_faults

_COMMA_NUMBER: Final = re.compile(r"=\s*([-+]?\d+),(\d+)\s*(?:#.*)?$")
_LARGEST_BYTES: Final = 4_000_000


@dataclass(frozen=True)
class Study:
    """A study file whose every key has been checked.

    Attributes
    ----------
    path
        The file it was read from; names of files inside it count from its folder.
    content
        Its sections; stations from a table stand behind those of the file, and ``network`` is None.
    """

    path: Path
    content: StudyFile


def load_study(path: Path | str) -> Study:
    """Read and check a study file.

    Raises
    ------
    StudyError
        With every fault: its place in the file (``stations[1].services[0].erp_w``), what is wrong there and
        what to write instead. Rasters are only looked for here; they are opened when the study is resolved.
    """
    source = Path(path)
    written = _read_table(source)
    table, rows, told = with_table(written, source.parent)
    content, faults = _checked(table, source.parent)
    own = written.get("stations", [])
    if rows is not None and isinstance(own, list):
        faults = [told_by_row(fault, rows, len(own)) for fault in faults]
    faults = [*told, *(fault for fault in faults if not (told and fault.startswith("stations: ")))]
    if content is None or faults:
        raise StudyError(source, _once_a_place(faults))
    return Study(source, content.model_copy(update={"network": None}))


def _checked(table: Mapping[str, Any], folder: Path) -> tuple[StudyFile | None, list[str]]:
    """Return the content of a study, or None, and all its faults."""
    content: StudyFile | None = None
    faults: list[str] = []
    try:
        content = StudyFile.model_validate(table)
    except ValidationError as error:
        faults = faults_of(error, StudyFile)
    faults += cross_faults(table, folder) + model_faults(table) + feed_faults(table)
    faults += array_faults(table) + siting_faults(table, folder)
    return content, faults + table_faults(table, folder)


def beside(study: Study, name: str) -> Path:
    """Return the path of a file that the study names, counted from the study's own folder."""
    return study.path.parent / name


def _once_a_place(faults: list[str]) -> list[str]:
    """Keep the first fault of each place: what is wrong with a key itself comes before what does not fit."""
    first: dict[str, str] = {}
    for fault in faults:
        first.setdefault(fault.partition(": ")[0], fault)
    return list(first.values())


def _read_table(source: Path) -> dict[str, Any]:
    if source.is_dir():
        raise StudyError(source, [f"is a folder; name the file in it, for example {source / 'study.toml'}"])
    try:
        if source.stat().st_size > _LARGEST_BYTES:
            raise StudyError(source, ["is larger than 4 MB; a study file is a short text"])
        text = source.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise StudyError(source, ["there is no such file; make one with: combe new DIR"]) from None
    except UnicodeDecodeError:
        raise StudyError(source, ["is not UTF-8 text; a study is a TOML file"]) from None
    except OSError as error:
        raise StudyError(source, [f"cannot be read ({error.strerror})"]) from None
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StudyError(source, [_syntax_fault(str(error), text)]) from None


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
