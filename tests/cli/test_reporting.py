"""The options of every command that answers with a document: page, JSON, schema, all; and JSON as printed."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from combe.cli.reporting import ReportCommand, form_of, print_json
from combe.publishing.as_json import json_schema, plain
from support_cli import all_commands, complaint, python, run, run_json
from support_delays import write_networked
from support_ground import small_fetch
from support_reports import schema_faults
from support_study import SITING, STUDY, edited, write_study

HEAVY = ("numpy", "numba", "pydantic", "rasterio", "pyproj", "jinja2", "matplotlib", "scipy", "folium")


def report_commands():
    return [words for words, command in all_commands().items() if isinstance(command, ReportCommand)]


KINDS = report_commands()


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("study"), edited(("cell_size_m = 300", "cell_size_m = 900")))


def siting(folder):
    """Return a study that asks where a relay should stand, of large cells."""
    small = ("cell_size_m = 300.0", "cell_size_m = 1000.0")
    return write_study(folder / "siting", edited(small, text=STUDY + SITING))


def study_table(folder):
    """Write a table of stations that a study has not."""
    rows = (
        "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_kw",
        "Far Hill,parent,-84.25,36.55,30,H,Mux 3,50,0.01",
    )
    (folder / "more.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder / "more.csv"


def asked(kind, study, folder):
    """Return the words of a command line that is quickly answered."""
    return {
        "new": ("new", folder / "new"),
        "ground fetch": small_fetch(folder),
        "check": ("check", study),
        "ground inspect": ("ground", "inspect", study.parent / "terrain.tif", study.parent / "people.tif"),
        "stations import": ("stations", "import", study, study_table(folder)),
        "aerial": ("aerial", "--kind", "dipoles", "--out", folder),
        "path": ("path", study, "--from", "Parent Hill", "--to", "Combe Relay"),
        "explain": ("explain", study, "--at", "-84.2,36.6"),
        "evidence": ("evidence", "--recommendation", "BT.419"),
        "feed": ("feed", study, "--out", folder),
        "export": ("export", study, "--out", folder, "--no-cache", "--format", "csv"),
        "cover": ("cover", study, "--out", folder, "--no-cache"),
        "compare": ("compare", study, study, "--no-cache"),
        "channels": ("channels", study, "--channels", "41,45"),
        "coordinate": ("coordinate", study, "--at=-84.2,36.6", "--at=-84.9,36.6", "--trigger", "30"),
        "delays": ("delays", write_networked(folder / "networked"), "--no-cache"),
        "retire": ("retire", study, "--no-cache"),
        "report": ("report", study, "--no-cache"),
        "visit": ("visit", study, "--sheet", "--out", folder),
        "site": ("site", siting(folder), "--out", folder),
    }[kind]


@pytest.mark.parametrize("kind", KINDS)
def test_the_schema_is_printed_without_a_study(kind):
    result = run(*kind.split(), "--json-schema")
    assert result.exit_code == 0, result.output
    printed = json.loads(result.stdout)
    ways = printed.get("oneOf", [{key: each for key, each in printed.items() if key != "$schema"}])
    made = json_schema(form_of("brief" if kind == "report" else kind.replace(" ", "_")))
    assert ways[0] == {key: each for key, each in made.items() if key != "$schema"}


def _named(schema):
    """Return the name that a schema gives to its format."""
    return schema["properties"]["format"]["const"]


@pytest.mark.parametrize("kind", KINDS)
def test_the_json_is_as_the_printed_schema_says(kind, study, tmp_path):
    printed = json.loads(run(*asked(kind, study, tmp_path), "--json").stdout)
    schema = json.loads(run(*kind.split(), "--json-schema").stdout)
    (way,) = [each for each in schema.get("oneOf", [schema]) if _named(each) == printed["format"]]
    assert schema_faults(printed, way) == []


@pytest.mark.parametrize("kind", [kind for kind in KINDS if "--html" in run(*kind.split(), "--help").stdout])
def test_a_page_is_written_and_named(kind, study, tmp_path):
    page = tmp_path / "pages" / f"{kind}.html"
    words = asked(kind, study, tmp_path)
    printed = run_json(*words, "--html", page)
    assert printed["page"] == str(page)
    first = page.read_bytes()
    assert first.startswith(b"<!DOCTYPE html>")
    assert f"written: {page}" in run(*words, "--html", page).stdout
    assert page.read_bytes() == first, "two runs leave the same bytes"
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "cannot write" in complaint(*words, "--html", tmp_path / "file" / "page.html")


@pytest.mark.parametrize("kind", KINDS)
def test_help_on_a_command_and_its_keys_imports_nothing_heavy(kind):
    code = (
        "import sys\n"
        "from combe.cli import group\n"
        f"try:\n    group.main([*{kind.split()!r}, '--help'], prog_name='combe')\n"
        "except SystemExit as leave:\n    assert not leave.code\n"
        f"print('loaded:', [name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = python(code=code)
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith("loaded: []\n")
    assert "    format (name and version" in done.stdout


def test_help_and_schema_tell_of_every_way():
    told = run("visit", "--help").stdout
    for head in ("JSON: an object with", "JSON of --sheet: an object", "JSON of --survey: an object"):
        assert head in told
    schema = json.loads(run("visit", "--json-schema").stdout)
    formats = [each["properties"]["format"]["const"] for each in schema["oneOf"]]
    assert formats == ["combe/visit/1", "combe/sheet/1", "combe/survey/1"]


@pytest.mark.parametrize("command", ["path", "explain", "evidence"])
def test_one_way_has_one_form(command):
    assert "JSON: an object with" in run(command, "--help").stdout
    schema = json.loads(run(command, "--json-schema").stdout)
    assert schema["properties"]["format"] == {"const": f"combe/{command}/1"}


def test_json_knows_no_nan_and_no_numpy(capsys):
    print_json({"a": math.nan, "b": np.float32(1.5), "c": (np.int64(2), math.inf), "d": "µ"})
    text = capsys.readouterr().out
    assert json.loads(text) == {"a": None, "b": 1.5, "c": [2, None], "d": "µ"}
    assert text.isascii()


def test_plain_keeps_what_json_has(tmp_path):
    assert plain({"path": tmp_path, "yes": True, "none": None}) == {
        "path": str(tmp_path),
        "yes": True,
        "none": None,
    }
