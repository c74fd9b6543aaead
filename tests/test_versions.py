"""What pyproject.toml promises: bounds that can be tested, the Pythons named everywhere, and types."""

from __future__ import annotations

import os
import re
import runpy
import sys
import tomllib
from importlib import resources

import pytest

from support_documents import ROOT, shell_lines, text

PROJECT = tomllib.loads(text("pyproject.toml"))
BOUNDS = runpy.run_path(str(ROOT / ".ci" / "bounds.py"))


def pythons() -> list[str]:
    """Return the versions of Python that the classifiers name, the oldest first."""
    named = (re.fullmatch(r"Programming Language :: Python :: (3\.\d+)", each) for each in classifiers())
    return [match.group(1) for match in named if match]


def classifiers() -> list[str]:
    found: list[str] = PROJECT["project"]["classifiers"]
    return found


@pytest.mark.parametrize("line", BOUNDS["named"]())
def test_every_requirement_has_a_lowest_version(line):
    name, version = BOUNDS["at_its_lowest"](line).split("==")
    assert line == f"{name}>={version}"


def test_what_is_needed_what_tests_and_what_builds_is_held_to_its_lowest():
    names = {re.match(r"[\w-]+", line).group() for line in BOUNDS["named"]()}
    assert {"numpy", "rasterio", "distributed", "pytest", "hatchling"} <= names


@pytest.mark.parametrize("line", ["numpy", "numpy<3", "numpy==2.0"])
def test_a_requirement_without_a_lower_bound_is_refused(line):
    with pytest.raises(SystemExit, match=r"has 0 lower bounds; allowed: 1, such as numpy>=1\.2"):
        BOUNDS["at_its_lowest"](line)


def test_the_pythons_are_those_that_are_tested_and_told():
    assert PROJECT["project"]["requires-python"] == f">={pythons()[0]}"
    assert f"pythons=({' '.join(pythons())})\n" in text(".ci/common")
    *first, last = pythons()
    told = f"{', '.join(first)} or {last}"
    assert f"You need Python {told}." in text("README.md")
    assert all(each in text("DEVELOPERS.md") for each in pythons())
    assert f"{sys.version_info.major}.{sys.version_info.minor}" in pythons()


def test_developers_gives_the_command_for_both_ends():
    lines = shell_lines("DEVELOPERS.md")
    assert {f"bash .ci/versions {end}" for end in ("lowest", "newest")} <= {
        line.partition("#")[0].strip() for line in lines
    }
    assert os.access(ROOT / ".ci" / "versions", os.X_OK)


def test_the_package_says_that_it_has_types_and_brings_its_samples():
    """Read from the package that is imported: under ``.ci/run`` that is the installed wheel."""
    package = resources.files("combe")
    assert package.joinpath("py.typed").is_file()
    wheel = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel == {
        "packages": ["coverage/combe"],
        "force-include": {"terrain_samples": "combe/terrain_samples"},
    }
    assert (ROOT / "coverage" / "combe" / "py.typed").read_bytes() == b""
