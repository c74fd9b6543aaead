"""Doors of rooms: every name opens, none hides behind a file, and a room that nobody asks costs nothing."""

import ast
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

import combe
from combe.doors import names_behind

PACKAGE = Path(combe.__file__).parent
ROOMS = [path.parent for path in PACKAGE.rglob("__init__.py") if "door(__name__)" in path.read_text("utf-8")]


def name_of(room: Path) -> str:
    return ".".join(("combe", *room.relative_to(PACKAGE).parts))


def test_the_rooms_below_the_answers_have_doors():
    below = {
        "planning",
        "prediction",
        "propagation",
        "reception",
        "standards",
        "stations",
        "tables",
        "terrain",
    }
    assert below <= {room.name for room in ROOMS}


@pytest.mark.parametrize("room", ROOMS, ids=name_of)
def test_every_name_of_a_door_is_that_of_its_file(room):
    opened = importlib.import_module(name_of(room))
    behind = names_behind((room / "__init__.py").read_text("utf-8"))
    assert behind
    for name, module in behind.items():
        assert getattr(opened, name) is getattr(importlib.import_module(module), name)
        assert name in dir(opened)


@pytest.mark.parametrize("room", ROOMS, ids=name_of)
def test_no_name_of_a_door_is_that_of_a_file(room):
    """Python puts a file into its room under its name once it is imported, over what was there."""
    files = {path.stem for path in room.glob("*.py")} | {
        path.name for path in room.iterdir() if path.is_dir()
    }
    assert not files & set(names_behind((room / "__init__.py").read_text("utf-8")))


def test_other_rooms_come_in_by_the_door():
    doors = {name_of(room) for room in ROOMS if room != PACKAGE}  # its own files are of no room
    past = []
    for path in PACKAGE.rglob("*.py"):
        here = path.relative_to(PACKAGE).parts[0]
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            module = node.module if isinstance(node, ast.ImportFrom) and node.module else ""
            room, _, file = module.rpartition(".")
            is_file = PACKAGE.joinpath(*module.split(".")[1:]).with_suffix(".py").is_file()
            if room in doors and is_file and module.split(".")[1] != here:
                past.append(f"{path.relative_to(PACKAGE)} takes {file} out of {room}")
    assert past == []


def test_what_a_room_has_not_is_said_as_python_says_it():
    with pytest.raises(AttributeError, match=r"module 'combe\.terrain' has no attribute 'sea_monster'"):
        getattr(importlib.import_module("combe.terrain"), "sea_monster")  # noqa: B009
    with pytest.raises(ImportError, match="sea_monster"):
        exec("from combe.terrain import sea_monster")


def test_rooms_load_nothing_until_they_are_asked():
    names = ", ".join(name_of(room) for room in ROOMS if "propagation" not in room.parts)
    heavy = ("numpy", "numba", "rasterio", "scipy", "pyproj")
    code = f"import sys, {names}; print([name for name in {heavy!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
