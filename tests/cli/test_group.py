"""The group of commands: help, version, lazy imports, errors, running from the repository root."""

from importlib import import_module

import click
import pytest

from combe import __version__
from combe.cli import group
from combe.cli.group import COMMANDS
from combe.cli.listed_group import ListedGroup
from support_cli import REPOSITORY, all_commands, complaint, python, run
from support_study import write_study

HEAVY = (
    "numpy",
    "rasterio",
    "pyproj",
    "numba",
    "pydantic",
    "folium",
    "matplotlib",
    "rich",
    "geopandas",
    "scipy",
)


def _of(name):
    return import_module(f"combe.cli.{name}").command


def test_help_lists_the_commands_in_the_order_of_work():
    result = run("--help")
    assert result.exit_code == 0
    places = [result.output.index(f"\n  {name} ") for name in COMMANDS]
    assert places == sorted(places)
    assert "2 bad input" in result.output


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_says_of_a_command_what_its_own_help_begins_with(name):
    assert COMMANDS[name] == _of(name).get_short_help_str(500)


@pytest.mark.parametrize("name", [name for name in COMMANDS if isinstance(_of(name), ListedGroup)])
def test_a_group_within_lists_what_its_commands_begin_with(name):
    within = _of(name)
    told = {each: within.get_command(click.Context(within), each) for each in within.listed}
    assert within.listed == {each: command.get_short_help_str(500) for each, command in told.items()}
    assert run(name).output == run(name, "--help").output
    assert complaint(name, "fetsch").startswith("No such command 'fetsch'")


def test_the_list_is_cut_as_clicks_own_is():
    commands = {name: click.Command(name, help=does) for name, does in COMMANDS.items()}
    own = click.Group("combe", commands=commands)
    context = click.Context(own)
    formatter, ours = context.make_formatter(), context.make_formatter()
    own.format_commands(context, formatter)
    group.format_commands(context, ours)
    assert sorted(ours.getvalue().splitlines()) == sorted(formatter.getvalue().splitlines())
    assert "..." in ours.getvalue()


def test_no_words_show_the_help():
    assert run().output == run("--help").output
    assert run().exit_code == 0


@pytest.mark.parametrize("words", all_commands())
def test_every_command_explains_itself_and_its_json(words):
    result = run(*words.split(), "-h")
    assert result.exit_code == 0
    assert "JSON: " in result.output
    assert "--json" in result.output


def test_version():
    result = run("--version")
    assert (result.exit_code, result.output) == (0, f"combe {__version__}\n")


def loaded_by_help(names):
    """Return which of some modules ``combe --help`` loads."""
    code = (
        "import sys\n"
        "from combe.cli import group\n"
        "try:\n    group.main(['--help'], prog_name='combe')\n"
        "except SystemExit as leave:\n    assert not leave.code\n"
        f"print('loaded:', *[name for name in {tuple(names)!r} if name in sys.modules])"
    )
    done = python(code=code)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()[-1].split()[1:]


def test_help_imports_nothing_heavy():
    assert loaded_by_help(HEAVY) == []


def test_help_imports_no_command_and_nothing_that_only_an_error_needs():
    commands = [f"combe.cli.{name}" for name in COMMANDS]
    assert loaded_by_help([*commands, "combe.publishing", "combe.errors", "difflib", "traceback"]) == []


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("covr",), "No such command 'covr'; did you mean cover?"),
        (("antenna",), "No such command 'antenna'; see combe --help"),
        (("feed",), "Missing argument 'STUDY'; see combe feed --help"),
        (("path", "x.toml", "--to", "B"), "Missing option '--from'; see combe path --help"),
        (("feed", "x.toml", "--colour"), "No such option"),
        (("check",), "name a study file, or ask for --schema"),
    ],
)
def test_a_wrong_command_line_is_one_line(words, line):
    assert complaint(*words).startswith(line)


def test_a_real_process_leaves_one_line_and_no_traceback(tmp_path):
    done = python("feed", tmp_path / "none.toml", folder=tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr == (
        f"combe: study {tmp_path / 'none.toml'} has 1 fault: there is no such file; "
        "make one with: combe new DIR\n"
    )


def test_a_terminal_that_lacks_signs_still_shows_the_table(tmp_path):
    done = python("check", write_study(tmp_path), folder=tmp_path, PYTHONIOENCODING="iso8859-5")
    assert done.returncode == 0, done.stderr
    assert "minimum dB(?V/m)" in done.stdout


def test_a_reader_that_goes_away_hears_no_complaint(tmp_path):
    study = write_study(tmp_path)
    code = (
        "import subprocess, sys\n"
        f"words = [sys.executable, '-m', 'combe', 'check', {str(study)!r}]\n"
        "child = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)\n"
        "child.stdout.close()\n"
        "print(child.stderr.read(), child.wait())"
    )
    assert python(code=code, folder=tmp_path).stdout == " 141\n"


def test_it_runs_from_the_repository_where_the_library_coverage_is_missing(tmp_path):
    """Python then offers our source folder ``coverage`` as an empty package, and numba would fail on it."""
    study = write_study(tmp_path)
    code = f"""
import importlib.machinery, importlib.util, runpy, sys

class Absent:
    asked = 0
    def find_spec(self, name, path=None, target=None):
        if name == "coverage":
            Absent.asked += 1
            return importlib.machinery.PathFinder.find_spec(name, [{str(REPOSITORY)!r}])
        return None

sys.meta_path.insert(0, Absent())
assert importlib.util.find_spec("coverage").origin is None
sys.argv = ["combe", "feed", {str(study)!r}, "--out", {str(tmp_path / "out")!r}]
try:
    runpy.run_module("combe", run_name="__main__", alter_sys=True)
except SystemExit as leave:
    assert leave.code == 1, leave.code
assert "numba" in sys.modules
print("asked", Absent.asked > 1)
"""
    done = python(code=code)
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith("asked True\n")


@pytest.mark.parametrize("name", ["feed", "path", "aerial"])
def test_help_keeps_the_lines_of_the_json(name):
    output = run(name, "-h").output
    assert "\\b" not in output
    assert "\b" not in output
    lines = output.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("  JSON: "))
    assert lines[at + 1].startswith("    "), "the indent of the docstring is there"
