"""The front door of the package: light, complete, and the same as the commands."""

import json
import subprocess
import sys

import pytest

import combe
from combe.errors import RangeError
from support_cli import run_json


def test_importing_the_package_loads_nothing_heavy():
    heavy = "numpy", "numba", "scipy", "pydantic", "rasterio", "geopandas", "folium"
    code = f"import sys, combe; print([name for name in {heavy!r} if name in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "[]"


def test_answers_load_the_libraries_of_their_tables_when_these_are_asked_for():
    rooms = "cover", "site_report", "path", "explain", "frames", "datasets"
    code = "import sys, importlib\n"
    code += f"for each in {rooms!r}: importlib.import_module('combe.answers.' + each)\n"
    code += "print([each for each in ('geopandas', 'pandas', 'xarray') if each in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "[]"


def test_every_name_is_there_with_a_docstring_and_is_listed():
    for name in combe.__all__:
        assert name.startswith("__") or getattr(combe, name).__doc__, name
    assert set(combe.__all__) <= set(dir(combe))
    with pytest.raises(AttributeError, match="no attribute 'coverage_of'"):
        _ = combe.coverage_of


def test_a_report_says_what_the_command_says(tmp_path):
    from combe.study.new import demo_study_path

    said = json.loads(combe.report(combe.path(combe.demo(), "Tarnbeacon", "Larkcombe")).json())
    printed = run_json("path", demo_study_path(), "--from", "Tarnbeacon", "--to", "Larkcombe")
    assert said == printed


def test_a_report_is_written_as_page_and_data(tmp_path):
    page, data = combe.report(combe.path(combe.demo(), "Tarnbeacon", "Larkcombe")).write(tmp_path / "out")
    assert "Larkcombe" in page.read_text("utf-8")
    assert json.loads(data.read_text("utf-8"))["format"] == "combe/path/1"


def test_what_is_no_answer_has_no_report():
    with pytest.raises(RangeError, match="answer is int; allowed: PathReport"):
        combe.report(3)
