"""Places by the letters of a national grid: Great Britain (two letters) and Ireland (one).

Squares of 500 km and 100 km are lettered A to Z without I, from the north-west (Ordnance Survey, A guide to
coordinate systems in Great Britain; from memory). A place is the middle of the square that it names.
"""

from __future__ import annotations

import re
from typing import Final

from combe.tables.cells import CellError, shown

_FORM: Final = re.compile(r"([A-HJ-Z]{1,2})\s*(\d*)\s*(\d*)", re.ASCII)
_LETTERS: Final = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
_HUNDRED_KM_M: Final = 100_000.0
_MOST_DIGITS: Final = 5

GREAT_BRITAIN, IRELAND = "EPSG:27700", "EPSG:29903"


def grid_system(cell: str) -> str:
    """Return the system of a grid reference by the number of its letters."""
    return GREAT_BRITAIN if len(_parts(cell)[0]) == 2 else IRELAND


def grid_place_m(cell: str) -> tuple[float, float]:
    """Return easting and northing [m] of the middle of the square that a grid reference names.

    >>> grid_place_m("TG 51409 13177")
    (651409.5, 313177.5)
    """
    letters, east, north = _parts(cell)
    side_m = _HUNDRED_KM_M / 10.0 ** len(east)
    column, row = _square(letters)
    x, y = (
        (float(digits or 0) + 0.5) * side_m + _HUNDRED_KM_M * whole
        for digits, whole in ((east, column), (north, row))
    )
    return x, y


def _parts(cell: str) -> tuple[str, str, str]:
    found = _FORM.fullmatch(cell.strip().upper())
    digits = "" if found is None else found[2] + found[3]
    half = len(digits) // 2
    uneven = (
        found is None or len(digits) % 2 or not 2 <= half <= _MOST_DIGITS or len(found[3]) not in (0, half)
    )
    if found is None or uneven:
        raise CellError(f"grid_reference {shown(cell)} is none; write letters and digits, as TG 514 131")
    return found[1], digits[:half], digits[half:]


def _square(letters: str) -> tuple[int, int]:
    """Return how many squares of 100 km a square lies east and north of the grid's false origin."""
    row, column = divmod(_LETTERS.index(letters[-1]), 5)
    if len(letters) == 1:
        return column, 4 - row
    # S, whose south-west corner is the false origin, is two squares of 500 km east and one north of V.
    great_row, great_column = divmod(_LETTERS.index(letters[0]), 5)
    return column + 5 * (great_column - 2), 4 - row + 5 * (3 - great_row)
