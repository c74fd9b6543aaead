"""Writes files whole or not at all: beside their place first, then renamed into it."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Final

from combe.errors import OutputError

if sys.platform != "win32":
    import fcntl

_ADVICE: Final = "choose a folder that you may write to"
_MAKE_ROOM: Final = "make room, or choose a folder on another disk"
_FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)

HOLD: Final = "in-use.lock"
"""File in a folder that a process has taken for itself; it stays there when the process ends."""


def is_regular(path: Path) -> bool:
    """Tell whether a path leads to a regular file; one that no file system can hold does not."""
    with suppress(OSError):
        return path.is_file()
    return False


def is_folder(path: Path) -> bool:
    """Tell whether a path leads to a folder; one that no file system can hold does not."""
    with suppress(OSError):
        return path.is_dir()
    return False


def ensure_folder(path: Path | str) -> Path:
    """Make the folder (and those above it) if it is not there, and check that it can be written.

    Raises
    ------
    OutputError
        It cannot be made, is no folder, or may not be written.
    """
    folder = Path(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        raise OutputError(folder, "it, or a part of its path, is a file and no folder", _ADVICE) from None
    except OSError as problem:
        raise OutputError(folder, reason(problem), advice(problem)) from problem
    if not os.access(folder, os.W_OK | os.X_OK):
        raise OutputError(folder, "the folder may not be written", _ADVICE)
    return folder


@contextmanager
def replacing(path: Path | str) -> Iterator[Path]:
    """Give a name beside ``path`` to write to; rename it into place at the end, or remove it on an error.

    What is written there has to be closed before the block ends, so that an error on closing keeps it from
    its place. The folder is made if needed. Errors of the system become one-line errors.

    Raises
    ------
    OutputError
        The folder or the file cannot be written.
    """
    final = Path(path)
    ensure_folder(final.parent)
    if final.is_dir():
        raise OutputError(final, "a folder of this name is in the way", "remove it or choose another name")
    # The ending stays, for libraries choose the format by it; the number keeps two processes apart.
    beside = final.with_name(f".{final.stem}-{os.getpid()}.part{final.suffix}")
    try:
        yield beside
        beside.replace(final)
    except OutputError:
        raise
    except OSError as problem:
        raise OutputError(final, reason(problem), advice(problem)) from problem
    finally:
        # What a library laid beside it meanwhile, a journal say, goes too.
        for left_over in final.parent.glob(beside.name + "*"):
            with suppress(OSError):
                left_over.unlink()


def write_text_atomically(path: Path | str, text: str) -> None:
    """Write UTF-8 text with plain line ends; the file is whole or unchanged.

    Raises
    ------
    OutputError
        The folder or the file cannot be written.
    """
    with replacing(path) as beside:
        beside.write_text(text, encoding="utf-8", newline="\n")


def write_bytes_atomically(path: Path | str, content: bytes) -> None:
    """Write bytes; the file is whole or unchanged.

    Raises
    ------
    OutputError
        The folder or the file cannot be written.
    """
    with replacing(path) as beside:
        beside.write_bytes(content)


def reason(problem: BaseException) -> str:
    """Return what went wrong as one line without a trailing full stop."""
    said = getattr(problem, "strerror", None) or str(problem) or type(problem).__name__
    return " ".join(str(said).split()).rstrip(".").lower()


def advice(problem: OSError) -> str:
    """Return what to do about a file that could not be written."""
    return _MAKE_ROOM if problem.errno in _FULL else _ADVICE


def clear_remains(folder: Path | str, older_than_s: float = 3600.0) -> None:
    """Remove what runs that were killed left half-written beside its place: what :func:`replacing` names.

    Younger files may belong to a run that is still at work, and stay.
    """
    latest_s = time.time() - older_than_s
    for left_over in Path(folder).glob(".*-*.part*"):
        with suppress(OSError):
            if left_over.stat().st_mtime <= latest_s:
                left_over.unlink()


def hold_folder(folder: Path | str) -> IO[bytes] | None:
    """Take a folder for this holder alone, or return None where another one has it, of this process or not.

    It is let go when what is returned is closed, or the process ends, however it ends. Where the system
    cannot lock files, every holder gets it.
    """
    path = Path(folder) / HOLD
    try:
        file = path.open("ab")
    except OSError:
        return None
    if _locked(file) and _is_the_file(file, path):
        return file
    file.close()
    return None


def _locked(file: IO[bytes]) -> bool:
    if sys.platform != "win32":
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
    return True


def _is_the_file(file: IO[bytes], path: Path) -> bool:
    """Return whether an open file still lies at its place; it may have been removed before it was locked."""
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except OSError:
        return False
