"""Files of arrays that cannot be trusted by mistake: whole or not there, and sealed with their own hash.

A sealed file is one line with the SHA-256 of all that follows, one line of JSON, and then the arrays, raw,
little-endian, in C order, each at a multiple of 64 bytes. It is written beside its place and renamed into
it. A file that was cut short, changed or damaged does not open. Nothing in it is ever executed.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from io import BufferedIOBase
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError, StoreError
from combe.files import replacing

Array = npt.NDArray[Any]

_MARK: Final = b"combe sealed 1 "
_HASH_DIGITS: Final = 64
_SEAL_BYTES: Final = len(_MARK) + _HASH_DIGITS + 1
_ALIGNMENT: Final = 64
_LONGEST_HEADER: Final = 1 << 20
_CHUNK_BYTES: Final = 1 << 20
_KINDS: Final = "biuf"


class Part(NamedTuple):
    """One array of a sealed file: where it begins [bytes], its type and its shape."""

    offset: int
    dtype: str
    shape: tuple[int, ...]


@dataclass(frozen=True)
class SealedFile:
    """A file whose hash was found right when it was opened; its arrays are read when asked."""

    path: Path
    about: Mapping[str, Any]
    """What the writer noted, as JSON has it."""
    parts: Mapping[str, Part]


@dataclass(frozen=True)
class HeldArrays:
    """Arrays in memory, read as those of a sealed file are; whoever reads them must not change them."""

    about: Mapping[str, Any]
    arrays: Mapping[str, Array]


def write_sealed(path: Path, arrays: Mapping[str, Array], about: Mapping[str, Any]) -> SealedFile:
    """Write arrays of numbers with what they are; the file is whole or not there.

    Parameters
    ----------
    path
        Where to; its folder is made if needed.
    arrays
        By name; booleans, integers and floating-point numbers.
    about
        Anything that JSON can hold.

    Raises
    ------
    RangeError
        For an array that does not hold numbers.
    OutputError
        The file cannot be written.
    """
    arrays = {name: _plain(name, array) for name, array in arrays.items()}
    places = _places(arrays)
    header = json.dumps({"about": about, "parts": places}, sort_keys=True, allow_nan=False).encode() + b"\n"
    start = _aligned(_SEAL_BYTES + len(header))
    with replacing(path) as beside, beside.open("w+b") as file:
        # The hash is known only once all is written; its place is kept free.
        file.write(_MARK + b"0" * _HASH_DIGITS + b"\n" + header)
        for name, array in arrays.items():
            file.write(b"\0" * (start + places[name].offset - file.tell()))
            file.write(array.reshape(-1).view(np.uint8).data)
        digest = _digest(file)
        file.seek(len(_MARK))
        file.write(digest)
    return SealedFile(path, dict(about), _moved(places, start))


def open_sealed(path: Path) -> SealedFile | None:
    """Open a sealed file and check its hash; None where there is none, or it is not what was written."""
    try:
        with path.open("rb") as file:
            seal = file.read(_SEAL_BYTES)
            # A spoilt file may be one line without end.
            header = file.readline(_LONGEST_HEADER)
            if seal != _MARK + _digest(file) + b"\n":
                return None
        content = json.loads(header)
    except (OSError, ValueError):
        return None
    places = {name: Part(at, dtype, tuple(shape)) for name, (at, dtype, shape) in content["parts"].items()}
    return SealedFile(path, content["about"], _moved(places, _aligned(_SEAL_BYTES + len(header))))


def read_part(sealed: SealedFile, name: str) -> Array:
    """Return one array in whole; errors as :func:`read_rows`."""
    part = sealed.parts[name]
    return _read(sealed.path, part, 0, math.prod(part.shape)).reshape(part.shape)


def read_rows(sealed: SealedFile | HeldArrays, name: str, layer: int, first_row: int, last_row: int) -> Array:
    """Return some rows of one layer of an array of shape (layers, rows, columns), reading nothing else.

    Parameters
    ----------
    layer
        Index along the first axis.
    first_row, last_row
        From the first to before the last.

    Raises
    ------
    StoreError
        The file is gone, or shorter than it was.
    RangeError
        For a layer or rows that the array does not have.
    """
    shape = sealed.parts[name].shape if isinstance(sealed, SealedFile) else sealed.arrays[name].shape
    layers, rows, columns = shape
    if not (0 <= layer < layers and 0 <= first_row <= last_row <= rows):
        given = f"layer {layer}, rows {first_row} to {last_row}"
        raise RangeError(f"part of {name}", given, f"{layers} layers of {rows} rows")
    if isinstance(sealed, HeldArrays):
        return sealed.arrays[name][layer, first_row:last_row]
    first = (layer * rows + first_row) * columns
    return _read(sealed.path, sealed.parts[name], first, (last_row - first_row) * columns).reshape(
        -1, columns
    )


def _plain(name: str, array: Array) -> Array:
    """Return the array little-endian and in C order."""
    if array.dtype.kind not in _KINDS:
        raise RangeError(f"type of array {name}", array.dtype, "numbers")
    return np.ascontiguousarray(array, dtype=array.dtype.newbyteorder("<")).reshape(array.shape)


def _places(arrays: Mapping[str, Array]) -> dict[str, Part]:
    """Return where each array begins, from where the first one does."""
    places, offset = {}, 0
    for name, array in arrays.items():
        places[name] = Part(offset, array.dtype.str, array.shape)
        offset = _aligned(offset + array.nbytes)
    return places


def _moved(places: Mapping[str, Part], start: int) -> dict[str, Part]:
    return {name: part._replace(offset=part.offset + start) for name, part in places.items()}


def _aligned(position: int) -> int:
    # Up to the next multiple: whole numbers divide downwards, and the signs turn that round.
    return -(-position // _ALIGNMENT) * _ALIGNMENT


def _digest(file: BufferedIOBase | Any) -> bytes:
    """Return the hash of all behind the first line."""
    digest = hashlib.sha256()
    file.seek(_SEAL_BYTES)
    while chunk := file.read(_CHUNK_BYTES):
        digest.update(chunk)
    return digest.hexdigest().encode()


def _read(path: Path, part: Part, first: int, count: int) -> Array:
    """Return ``count`` numbers of an array, from number ``first`` on."""
    dtype = np.dtype(part.dtype)
    try:
        values = np.fromfile(path, dtype=dtype, count=count, offset=part.offset + first * dtype.itemsize)
    except OSError as problem:
        raise StoreError(path, "it was removed while in use", "run again") from problem
    if values.size != count:
        raise StoreError(path, "it was cut short while in use", "run again")
    return values
