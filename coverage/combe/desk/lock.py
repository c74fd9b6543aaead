"""One desk a study: two would save over one another.

The lock lies among the caches of the user and not beside the study, for nothing is written but where a study
says. It belongs to the process, so it is free as soon as that ends, however it ends.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

import platformdirs

from combe.errors import InUseError, OutputError
from combe.files import ensure_folder, hold_folder, write_text_atomically

_NOTE: Final = "desk.json"


def desk_folder(study: Path) -> Path:
    """Return the folder of the lock of a study, which goes by the file and not by how it is called."""
    desks = Path(platformdirs.user_cache_dir("combe", appauthor=False)) / "desks"
    return desks / hashlib.sha256(os.fsencode(study.resolve())).hexdigest()[:16]


@contextmanager
def only_desk(study: Path) -> Iterator[Callable[[str], None]]:
    """Hold a study while the block runs; what is given tells others the address, without its token.

    Where no folder can be written among the caches there is no lock, as nothing else is kept there.

    Raises
    ------
    InUseError
        Another desk has the study.
    """
    try:
        folder = ensure_folder(desk_folder(study))
    except OutputError:
        yield _told_to_nobody
        return
    held = hold_folder(folder)
    if held is None:
        raise InUseError(f"study {study}", f"on {_where(folder)}", "work there, or end that one first")
    with held:
        # The one before may have been killed, and its address may be another's by now.
        note = folder / _NOTE
        note.unlink(missing_ok=True)
        yield lambda address: _write(note, address)


def _write(note: Path, address: str) -> None:
    write_text_atomically(note, json.dumps({"pid": os.getpid(), "address": address}))


def _where(folder: Path) -> str:
    """Return where the desk is that has a study; it may have told nobody yet."""
    with suppress(OSError, ValueError, KeyError, TypeError):
        told = json.loads((folder / _NOTE).read_text(encoding="utf-8"))
        return f"the desk at {told['address']} (process {int(told['pid'])})"
    return "a desk that is being opened"


def _told_to_nobody(address: str) -> None:
    del address
