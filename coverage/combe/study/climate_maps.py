"""Reads the digital maps of Recommendation ITU-R P.2001-4 from the folder in which a user keeps them.

A map is a text file of one line per row, numbers with blanks between. What is wrong with any of the files is
told at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError, TableError, quoted
from combe.files import is_folder, is_regular, reason
from combe.propagation.p2001 import MAP_FORMS, RAIN_MAPS, DigitalMaps, check_map

FloatArray = npt.NDArray[np.float64]

MAP_FILES: Final = MappingProxyType(
    {
        "median_dn": "DN_Median.txt",
        "super_slope": "DN_SupSlope.txt",
        "sub_slope": "DN_SubSlope.txt",
        "dn_65m_1_percent": "dndz_01.txt",
        "foes_0_1_mhz": "FoEs0.1.txt",
        "foes_1_mhz": "FoEs01.txt",
        "foes_10_mhz": "FoEs10.txt",
        "foes_50_mhz": "FoEs50.txt",
        "rain_height_km": "h0.txt",
        "water_vapour_g_m3": "surfwv_50_fixed.txt",
        "troposcatter_climate": "TropoClim.txt",
        "rain_six_hours_percent": "Esarain_Pr6_v5.txt",
        "rain_mm_per_year": "Esarain_Mt_v5.txt",
        "convective_rain_share": "Esarain_Beta_v5.txt",
    }
)
"""Files of the maps, as they are published, by the number of a climate that each tells."""

_LARGEST_BYTES: Final = 40_000_000
_LONGEST_WORD: Final = 30


def read_maps(folder: Path) -> DigitalMaps:
    """Read the maps of a folder; names may differ in letter case.

    Rain is read where all its three maps are there.

    Raises
    ------
    TableError
        One line with every fault: which file, what is wrong with it, what is allowed.
    """
    maps, faults = maps_and_faults(folder)
    if maps is None:
        raise TableError(folder, " | ".join(faults))
    return maps


def maps_and_faults(folder: Path) -> tuple[DigitalMaps | None, list[str]]:
    """Return the maps of a folder and no fault, or None and a line for each fault."""
    if not is_folder(folder):
        what = "is a file and no folder" if is_regular(folder) else "there is no such folder"
        return None, [f"{what}; name the folder with the maps of P.2001-4 ({MAP_FILES['median_dn']}, …)"]
    files, faults = _files(folder)
    values = {}
    for name, file in files.items():
        try:
            values[name] = read_map(file, name)
        except TableError as error:
            faults.append(f"{file.name}: {error.problem}")
    return (None, faults) if faults else (DigitalMaps(values), [])


def read_map(path: Path, name: str) -> FloatArray:
    """Return the map in a file, of the number of a climate that it tells.

    Raises
    ------
    TableError
        For a file that cannot be read, or is not of the map's form.
    """
    form = MAP_FORMS[name]
    shape = f"{form.rows} lines of {form.columns} numbers, blanks between"
    lines = [(number, words) for number, line in enumerate(_lines(path), 1) if (words := line.split())]
    try:
        numbers = np.fromiter((float(word) for _, words in lines for word in words), np.float64)
    except ValueError:
        raise TableError(path, f"{_first_text(lines)}; allowed: {shape}") from None
    for number, words in lines:
        if len(words) != form.columns:
            raise TableError(path, f"line {number} holds {len(words)}; allowed: {shape}")
    if len(lines) != form.rows:
        raise TableError(path, f"it holds {len(lines)} lines; allowed: {shape}")
    values = numbers.reshape(form.rows, form.columns)
    try:
        check_map(name, values)
    except RangeError as error:
        raise TableError(path, f"it holds {error.given}; allowed: {error.allowed}") from None
    return values


def _files(folder: Path) -> tuple[dict[str, Path], list[str]]:
    """Return the files by what they tell, those of rain all or none, and which are missing or there twice."""
    found: dict[str, list[Path]] = defaultdict(list)
    for path in sorted(folder.iterdir()):
        found[path.name.casefold()].append(path)
    there = {name: found[file.casefold()] for name, file in MAP_FILES.items() if file.casefold() in found}
    if not all(name in there for name in RAIN_MAPS):
        there = {name: files for name, files in there.items() if name not in RAIN_MAPS}
    faults = [
        f"{' and '.join(each.name for each in files)} are one map; take one out"
        for files in there.values()
        if len(files) > 1
    ]
    missing = [file for name, file in MAP_FILES.items() if name not in there and name not in RAIN_MAPS]
    if missing:
        listed = ", ".join(missing)
        verb = "is" if len(missing) == 1 else "are"
        faults.append(f"{listed} {verb} missing; put there what the ITU-R publishes with P.2001-4")
    return {name: files[0] for name, files in there.items() if len(files) == 1}, faults


def _lines(path: Path) -> list[str]:
    try:
        if not is_regular(path):
            raise TableError(path, "is no file of text")
        if path.stat().st_size > _LARGEST_BYTES:
            raise TableError(path, f"is larger than {_LARGEST_BYTES // 1_000_000} MB, and no map is")
        return path.read_text(encoding="utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise TableError(path, "is no text; a map is a text file of numbers") from None
    except OSError as error:
        raise TableError(path, f"cannot be read ({reason(error)})") from None


def _first_text(lines: Sequence[tuple[int, list[str]]]) -> str:
    """Say which word of a file is no number."""
    for number, words in lines:
        for word in words:
            try:
                float(word)
            except ValueError:
                short = word if len(word) <= _LONGEST_WORD else word[:_LONGEST_WORD] + "…"
                return f"line {number}: {quoted(short)} is no number"
    return "it holds what is no number"
