"""Fills the disk for a test: by a limit on the size of files, or by a small disk of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

OWN_MOUNTS = ("unshare", "--user", "--map-root-user", "--mount")


@contextmanager
def full_disk(largest_bytes: int) -> Iterator[None]:
    """Let no file of this process grow beyond a size meanwhile: what writes more fails, as on a full disk.

    Python ignores the signal that comes with it.
    """
    resource = pytest.importorskip("resource", reason="no limits on files on this system")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def on_small_disks(folder: Path, code: str) -> Any:
    """Run code in a process that may mount small disks on ``folder``; skip the test where none may.

    The code finds the function ``small_disk(size)``, a context in which ``folder`` is a disk of that size.
    """
    if shutil.which("unshare") is None or subprocess.run([*OWN_MOUNTS, "true"], check=False).returncode:
        pytest.skip("no mounts without privileges on this system")
    start = f"""
import subprocess
from contextlib import contextmanager

@contextmanager
def small_disk(size):
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=" + size, "tmpfs", {str(folder)!r}], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", "--lazy", {str(folder)!r}], check=True)
"""
    return subprocess.run(
        [*OWN_MOUNTS, sys.executable, "-c", start + code],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
