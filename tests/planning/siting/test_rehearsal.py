"""The rehearsal of a siting leaves nothing of the search to compile, fades of the feed included."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

PROGRAM = """
import importlib, json, pkgutil, sys
from pathlib import Path
import combe.planning.siting as room
import combe.prediction.straight_ways as ways
import combe.propagation.p2001 as year
from combe.planning.siting.rehearsal import ACTS
from combe.study.project_of import load_project
from combe.answers.site import site_work
from combe.study.new import demo_study_path

def compiled():
    rooms = [room, year]
    names = [each.name for r in rooms for each in pkgutil.iter_modules(r.__path__, r.__name__ + ".")]
    names.append(ways.__name__)
    modules = [importlib.import_module(name) for name in names]
    kernels = {id(k): k for m in modules for k in vars(m).values() if hasattr(k, "signatures")}
    found = {f"{k.py_func.__module__}.{k.__name__}{s}" for k in kernels.values() for s in k.signatures}
    return {each for each in found if each.startswith(tuple(names))}  # others are the coverage's, too

assert compiled() == set()
if sys.argv[2] == "rehearsal":
    for act in ACTS:
        act()
else:
    site_work(load_project(demo_study_path()), Path(sys.argv[1]))
print(json.dumps(sorted(compiled())))
"""


def test_the_demo_compiles_no_kernel_of_siting_after_it(tmp_path: Path):
    """Each works in a process of its own, where nothing was compiled before."""
    by_rehearsal, by_demo = (
        set(
            json.loads(
                subprocess.run(
                    [sys.executable, "-c", PROGRAM, str(tmp_path), words],
                    capture_output=True,
                    text=True,
                    check=True,
                ).stdout
            )
        )
        for words in ("rehearsal", "demo")
    )
    assert any("straight_ways._price_cells" in each for each in by_demo)
    assert sorted(by_demo - by_rehearsal)[:3] == []
