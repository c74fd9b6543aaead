"""The cache of compiled kernels: kept between processes, by signature, and never stale."""

from __future__ import annotations

import importlib
import os
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

import numpy as np
import pytest

from combe.compiling import _PartOfKernels, _SignatureFiles, inner_kernel, kernel, kernel_part
from combe.kernel_cache import cache_folder, kernel_sources

PROGRAM = """
import numpy as np
from made_up import total
print(total(np.ones(3)), total(np.ones((4, 4))[:, 0]), sum(total.stats.cache_hits.values()))
"""

KERNEL = """
from combe.compiling import kernel

@kernel
def total(values):
    out = 0.0
    for each in values:
        out += {factor} * each
    return out
"""


def run_program(folder: Path, factor: float = 1.0) -> list[float]:
    """Run a program with a kernel of its own in another process; return what it printed."""
    (folder / "made_up.py").write_text(KERNEL.format(factor=factor))
    path = os.pathsep.join([str(folder), *sys.path])
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(folder / "kernels"), "PYTHONPATH": path}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], env=environment, capture_output=True, text=True, check=True
    )
    return [float(each) for each in done.stdout.split()]


def kept_files(folder: Path) -> list[Path]:
    return sorted(folder.rglob("made_up.total.*.nbc"))


def test_a_second_process_takes_the_machine_code_of_the_first(tmp_path):
    assert run_program(tmp_path) == [3.0, 4.0, 0.0]
    assert len(kept_files(tmp_path)) == 2, "one file for each signature: contiguous, and strided"
    assert run_program(tmp_path) == [3.0, 4.0, 2.0]


def test_a_damaged_file_is_compiled_anew(tmp_path):
    run_program(tmp_path)
    first, second = kept_files(tmp_path)
    first.write_bytes(first.read_bytes()[:100])
    second.write_bytes(b"")
    assert run_program(tmp_path) == [3.0, 4.0, 0.0]
    assert run_program(tmp_path) == [3.0, 4.0, 2.0]


def test_a_function_whose_code_changed_is_compiled_anew(tmp_path):
    run_program(tmp_path)
    assert run_program(tmp_path, factor=2.0) == [6.0, 8.0, 0.0]


def test_two_processes_that_compile_at_once_cannot_mix_up_their_code(tmp_path):
    """Both begin before either has kept anything, as two commands on a fresh machine do."""
    one, other = (_SignatureFiles(tmp_path, run_program) for _ in range(2))
    assert one.load("contiguous") is None and other.load("strided") is None
    one.save("contiguous", "code of one")
    other.save("strided", "code of the other")
    for each in (one, other):
        assert each.load("contiguous") == "code of one"
        assert each.load("strided") == "code of the other"


def test_code_under_a_name_that_two_signatures_share_is_not_taken(tmp_path, monkeypatch):
    monkeypatch.setattr(_SignatureFiles, "_path", lambda *_: tmp_path / "same.nbc")
    files = _SignatureFiles(tmp_path, run_program)
    files.save("contiguous", "code")
    assert files.load("strided") is None
    assert files.load("contiguous") == "code"


def test_where_nothing_can_be_written_kernels_still_work(tmp_path):
    _SignatureFiles(tmp_path / "file" / "below", run_program).save("key", "code")
    (tmp_path / "kernels").write_text("a file is in the way")
    assert run_program(tmp_path) == [3.0, 4.0, 0.0]


def test_sources_of_kernels_take_in_all_that_they_import_from(tmp_path):
    for name, text in {
        "low/constants.py": "A = 1\n",
        "low/tables.py": "from combe.low.constants import (\n    A,\n)\nB = A\n",
        "room/__init__.py": "",
        "room/kernels.py": "from combe.low.tables import B\n@kernel\ndef f():\n    return B\n",
        "room/caller.py": "from combe.room.kernels import f\n",
    }.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
    found = [path.relative_to(tmp_path).as_posix() for path in kernel_sources(tmp_path)]
    assert found == ["low/constants.py", "low/tables.py", "room/kernels.py"]


DOOR = """from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    from combe.low.constants import A, UNUSED
    from combe.low.other import (
        C, D,
    )
else:
    __getattr__, __dir__ = door(__name__)
"""


def test_sources_of_kernels_are_followed_through_doors(tmp_path):
    """A constant that comes through a door is in the machine code as well."""
    for name, text in {
        "low/__init__.py": DOOR,
        "low/constants.py": "A = 1\n",
        "low/other.py": "C = D = 2\n",
        "low/third.py": "from combe.low.constants import A\n",
        "room/kernels.py": "from combe.low import (\n    C as E,\n)\n@kernel\ndef f():\n    return E\n",
    }.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
    found = [path.relative_to(tmp_path).as_posix() for path in kernel_sources(tmp_path)]
    assert found == ["low/__init__.py", "low/other.py", "room/kernels.py"]


def test_sources_of_kernels_of_the_package():
    names = {path.name for path in kernel_sources()}
    assert {"sweep.py", "template.py", "constants.py", "score.py"} <= names
    assert not {"demo.py", "map_page.py", "site_report.py"} & names


def test_the_folder_goes_by_the_version_of_numba(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    one, other = cache_folder("0.1"), cache_folder("0.2")
    assert one is not None and one.is_dir()
    assert one != other


def test_a_kernel_can_be_defined_inside_a_function():
    @kernel
    def twice(value: float) -> float:
        return 2.0 * value

    assert twice(np.float64(2.0)) == pytest.approx(4.0)


def test_parts_are_compiled_in_kernels_and_plain_where_python_calls_them():
    @kernel_part
    def half(value: float) -> float:
        return 1.0 / value

    @inner_kernel
    def less_half(value: float) -> float:
        return value - half(value)

    @kernel
    def both(value: float) -> float:
        return less_half(value) + half(2.0 * value)

    assert both(2.0) == pytest.approx(1.75)
    assert both(0.0) != both(0.0), "as IEEE divides: infinity less infinity"
    with pytest.raises(ZeroDivisionError):
        half(0.0)


def functions_of(module: ModuleType) -> Iterator[FunctionType]:
    """Yield the functions that a module defines and Python runs, those of its classes too."""
    owners = [module, *(each for each in vars(module).values() if isinstance(each, type))]
    for owner in owners:
        for each in vars(owner).values():
            found = getattr(each, "fget", getattr(each, "__func__", each))
            if isinstance(found, FunctionType) and found.__module__ == module.__name__:
                yield found


def names_in(code: CodeType) -> set[str]:
    inner = (names_in(each) for each in code.co_consts if isinstance(each, CodeType))
    return set(code.co_names).union(*inner)


def test_python_calls_no_part_of_kernels():
    """It would run as plain Python, which takes a hundred times as long."""
    rooms = ("propagation", "terrain", "prediction", "reception", "planning", "answers", "evidence")
    paths = [(name, importlib.import_module(f"combe.{name}").__path__) for name in rooms]
    found = [each.name for name, path in paths for each in pkgutil.walk_packages(path, f"combe.{name}.")]
    parts, called = 0, []
    for module in map(importlib.import_module, found):
        here = {name for name, each in vars(module).items() if isinstance(each, _PartOfKernels)}
        parts += len(here)
        for each in functions_of(module):
            called += [(each.__qualname__, name) for name in here & names_in(each.__code__)]
    assert parts > 100
    assert called == []
