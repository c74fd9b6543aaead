"""Looks through a geometry in its binary form before it is read: how deep it nests, and whether it is whole.

Well-known binary of OGC 06-103, with the type numbers that a GeoPackage (OGC 12-128) takes from ISO 13249-3;
all from memory, and a writer of the format is tested. Libraries read a collection within a collection by
calling themselves, so that some hundred kilobytes of nothing but beginnings end the process; not here.
"""

from __future__ import annotations

import struct
from typing import Final

DEEPEST: Final = 3
"""How many collections may lie within one another; those of districts are one deep."""

_POINT, _LINE, _POLYGON, _COLLECTION = 1, 2, 3, 7
_ENVELOPE_BYTES: Final = (0, 32, 48, 48, 64)
"""Length of the frame in the header of a geometry, by its code."""

_HEADER_BYTES: Final = 8
_EXTENDED: Final = 0x20


def binary_of(cell: object) -> bytes | None:
    """Return the well-known binary in a cell of a GeoPackage, None where the cell is empty.

    Raises
    ------
    ValueError
        The cell holds anything else, is cut short, nests too deep, or has curves.
    """
    if cell is None:
        return None
    if not isinstance(cell, bytes) or len(cell) < _HEADER_BYTES or cell[:2] != b"GP":
        raise ValueError("no geometry of a GeoPackage")
    code = cell[3] >> 1 & 7
    if code >= len(_ENVELOPE_BYTES) or cell[3] & _EXTENDED:
        raise ValueError("a geometry of another layout")
    binary = cell[_HEADER_BYTES + _ENVELOPE_BYTES[code] :]
    try:
        _look_through(binary)
    except (struct.error, IndexError):
        raise ValueError("a geometry that is cut short") from None
    return binary


def _look_through(binary: bytes) -> None:
    """Walk over all parts; what is still to come of each collection that is open is kept in a list."""
    at, to_come = 0, [1]
    while to_come:
        if to_come[-1] == 0:
            to_come.pop()
            continue
        to_come[-1] -= 1
        order = "<" if binary[at] else ">"
        kind, dimensions = _kind(*struct.unpack_from(order + "I", binary, at + 1))
        at = _behind(binary, at + 5, order, kind, 8 * dimensions)
        if kind > _POLYGON:
            to_come.append(*struct.unpack_from(order + "I", binary, at - 4))
        if len(to_come) > DEEPEST + 1:
            raise ValueError("collections within collections")
    if at > len(binary):
        raise ValueError("a geometry that is cut short")


def _kind(number: int) -> tuple[int, int]:
    """Return the plain type of a geometry, 1 to 7, and how many numbers a place of it has."""
    with_height_or_measure, kind = divmod(number, 1000)
    if not (_POINT <= kind <= _COLLECTION and with_height_or_measure <= 3):
        raise ValueError(f"geometries of type {number}; take plain ones, without curves")
    return kind, (2, 3, 3, 4)[with_height_or_measure]


def _behind(binary: bytes, at: int, order: str, kind: int, place_bytes: int) -> int:
    """Return where a point, line or polygon ends, or the count of a collection's parts."""
    if kind == _POINT:
        return at + place_bytes
    (count,) = struct.unpack_from(order + "I", binary, at)
    at += 4
    if kind == _LINE:
        return at + int(count) * place_bytes
    if kind == _POLYGON:
        for _ in range(count):
            at += 4 + int(struct.unpack_from(order + "I", binary, at)[0]) * place_bytes
    return at
