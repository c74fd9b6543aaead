"""The documents keep their word: commands exist and print what is shown, and links lead somewhere."""

from __future__ import annotations

import os
import re
import shlex
import struct
import subprocess
import sys
import tomllib

import click
import pytest

from combe import __version__
from combe.cli import group
from combe.guide import PARTS
from combe.publishing.page_language import language_codes
from combe.study.schema import AboutSection, StudyFile, json_schema
from support_cli import all_commands, run
from support_documents import (
    DOCUMENTS,
    GUIDE,
    ROOT,
    alike,
    blocks,
    links,
    missing_line,
    shell_lines,
    shown,
    text,
)

SET_UP = ("python -m pip install . && combe demo", 'python -m pip install ".[test]" && pytest')
OF_DESK = "coverage/combe/guide/desk.md"
"""Its Python asks a running desk, and is run where there is one: ``tests/desk/test_story.py``."""

LONGEST_FILE = 400
LONGEST_README = 200
CODE = (".py", ".js", ".css", ".toml", ".md")

# Folders of one machine, which no reader has; ours are written relative to the checkout.
MACHINE_PATH = re.compile(r"(?<![\w.~$}/])/(?:home|root|work|tmp|mnt|Users)/")
WORKPLACE = re.compile(r"\b(helper|session|issue|ticket|transcript|AI|assistant|TODO|FIXME)s?\b")


def commands_of(name: str) -> list[list[str]]:
    """Return the words of every combe command in a document's code blocks."""
    lines = [*shell_lines(name), *(each.command for each in shown(name))]
    found = [re.search(r"(?:^|&& |python -m )(combe .*)", line) for line in lines]
    return [shlex.split(match.group(1), comments=True) for match in found if match]


def project_files() -> list[str]:
    """Return the files of the project, from git where there is one, else from the folders."""
    done = subprocess.run(
        ["git", "ls-files", "coverage", "tests", *DOCUMENTS, "pyproject.toml"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode == 0 and done.stdout:
        return [name for name in done.stdout.splitlines() if (ROOT / name).is_file()]
    found = [path for folder in ("coverage", "tests") for path in (ROOT / folder).rglob("*")]
    return [path.relative_to(ROOT).as_posix() for path in found if path.suffix in CODE]


def test_readme_gives_the_two_set_up_commands_and_no_other():
    given = [line for line in shell_lines("README.md") if "pip install" in line]
    assert given == list(SET_UP)


def test_readme_says_what_combe_is_before_all_else_and_is_short():
    assert text("README.md").startswith("# Combe\n\nCombe plans low-power television relays")
    assert len(text("README.md").splitlines()) <= LONGEST_README


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_command_and_option_exists(name):
    for _, word, *rest in commands_of(name):
        if word == "--language":
            assert rest[0] in language_codes()
            _, word, *rest = rest
        if word in ("--version", "--help"):
            continue
        command = group.get_command(click.Context(group), word)
        assert command, word
        if isinstance(command, click.Group):
            command = command.get_command(click.Context(command), rest[0])
        known = {option for each in command.params for option in each.opts} | {"-h", "--help"}
        assert {word.partition("=")[0] for word in rest if re.match("--?[a-z]", word)} <= known, rest


def test_readme_and_guide_show_every_command():
    shown = [words[1:] for name in ("README.md", *GUIDE) for words in commands_of(name)]
    assert set(all_commands()) <= {" ".join(words[:length]) for words in shown for length in (1, 2)}


def test_readme_leads_to_every_page_on_the_tool_and_to_the_course_on_the_trade():
    tool, trade = PARTS
    pages = [topic for names in tool.chapters.values() for topic in names]
    course = [topic for names in trade.chapters.values() for topic in names]
    folder = ROOT / "coverage" / "combe" / "guide"
    assert {folder / f"{topic}.md" for topic in (*pages, course[0])} <= set(links("README.md"))
    first = folder / f"{course[0]}.md"
    assert {folder / f"{topic}.md" for topic in course[1:]} <= set(links(first.relative_to(ROOT).as_posix()))


def test_the_guide_names_every_section_and_model_of_a_study():
    listed = {"sfn", "stations"}
    sections = [each for each in StudyFile.model_fields if each not in listed]
    models = AboutSection.model_fields["model"].annotation.__args__
    wanted = [f"| `[{section}]` |" for section in sections] + [f"| `[[{each}]]` |" for each in sorted(listed)]
    wanted += [f"| `{model}` |" for model in models]
    guide = "".join(map(text, GUIDE))
    assert [row for row in wanted if row not in guide] == []


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """Return a folder with the study that pages work on, so that what one ran another takes up."""
    folder = tmp_path_factory.mktemp("bench")
    run("new", folder / "valley")
    return folder


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if blocks(name, "console")])
def test_the_commands_print_what_is_shown(name, bench, tmp_path, monkeypatch):
    begins_anew = any("combe new valley" in command for command, _ in shown(name))
    monkeypatch.chdir(tmp_path if begins_anew else bench)
    for command, lines in shown(name):
        result = run(*shlex.split(command)[1:])
        assert result.exit_code == 0, result.output
        assert missing_line(lines, result.stdout) is None, f"$ {command}\n{result.stdout}"


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if blocks(name, "python") and name != OF_DESK])
def test_the_python_shown_runs(name, bench, monkeypatch, capsys):
    monkeypatch.chdir(bench)
    known: dict[str, object] = {}
    for block in blocks(name, "python"):
        exec(compile(block, name, "exec"), known)
    assert (
        capsys.readouterr().out
        == "16.86 km\n"
        + "".join(
            f"Larkcombe Mux {letter} {margin} dB passes\n"
            for letter, margin in (("A", "30.3"), ("B", "29.9"), ("C", "26.4"))
        )
        + "True\nAll services\n('station', 'y', 'x')\n108.0\n"
    )


def keys_in(value):
    """Return every key of a value of TOML, however deep."""
    if isinstance(value, list):
        return {key for inner in value for key in keys_in(inner)}
    if isinstance(value, dict):
        return set(value).union(*map(keys_in, value.values()))
    return set()


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if blocks(name, "toml")])
def test_the_keys_of_a_study_that_are_shown_exist(name):
    schema = json_schema()
    parts = [schema, *schema["$defs"].values()]
    known = {key for part in parts for key in part.get("properties", {})}
    for block in blocks(name, "toml"):
        assert keys_in(tomllib.loads(block)) <= known, block


@pytest.mark.parametrize(
    ("expected", "missing"),
    [
        (("a", "b", "c"), None),
        (("a", "..."), None),
        (("...", "c"), None),
        (("a", "c"), "c"),
        (("a", "...", "b", "b"), "b"),
        (("a", "b"), "(end)"),
        (("b", "..."), "b"),
    ],
)
def test_a_line_that_is_not_printed_is_found(expected, missing):
    assert missing_line(expected, "a\nb\nc\n") == missing


@pytest.mark.parametrize(
    ("line", "same"),
    [
        ("cover 1 605 people  −30.5 dB", True),
        ("cover 1606 people −30.6 dB", True),
        ("cover 1615 people −30.5 dB", False),
        ("cover 1605 people 30.5 dB", False),
        ("cover 1605 people −30.5 dBm", False),
        ("cover 1605 people", False),
    ],
)
def test_lines_are_alike_in_words_and_numbers(line, same):
    assert alike(line, "cover 1605 people −30.5 dB") is same


@pytest.mark.parametrize("name", DOCUMENTS)
def test_links_lead_to_files(name):
    assert [link for link in links(name) if (ROOT / "maps") not in link.parents and not link.exists()] == []


def test_readme_shows_the_picture_of_the_demo():
    picture = ROOT / "maps" / "demo.png"
    assert "](maps/demo.png)" in text("README.md")
    if not picture.is_file():
        pytest.skip("no maps/demo.png yet: make it with python tests/remake_maps.py")
    head = picture.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", head[16:]) == (1400, 900)
    assert picture.stat().st_size < 1_500_000


CATALOGUES = (".po", ".mo")
"""They are made by a script, and as long as the pages have texts."""


def test_no_file_is_too_long():
    names = [name for name in project_files() if name.startswith(("coverage/", "tests/"))]
    assert len(names) > 100
    long = {
        name: lines
        for name in names
        if not name.endswith(CATALOGUES)
        and (lines := len((ROOT / name).read_bytes().splitlines())) > LONGEST_FILE
    }
    assert not long


def test_no_path_of_one_machine_is_written_down():
    found = {
        name: match.group()
        for name in project_files()
        if name.endswith(CODE) and (match := MACHINE_PATH.search(text(name)))
    }
    assert not found


@pytest.mark.parametrize("name", DOCUMENTS)
def test_the_documents_speak_of_the_project_alone(name):
    assert WORKPLACE.findall(text(name)) == []


def test_developers_gives_the_command_that_checks_everything():
    assert "bash .ci/run" in shell_lines("DEVELOPERS.md")
    assert os.access(ROOT / ".ci" / "run", os.X_OK)
    assert blocks("DEVELOPERS.md", "sh")


def test_developers_names_every_room_of_the_house():
    parts = [name.split("/") for name in project_files() if name.startswith("coverage/combe/")]
    rooms = {f"`{part[2]}/`" for part in parts if part[3:] == ["__init__.py"]}
    assert len(rooms) > 8
    rows = "".join(line for line in text("DEVELOPERS.md").splitlines() if re.match(r"\| \d", line))
    assert {room for room in rooms if room not in rows} == set()


def test_it_runs_as_a_module_from_the_root_of_the_repository():
    done = subprocess.run(
        [sys.executable, "-m", "combe", "--version"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (0, f"combe {__version__}\n"), done.stderr
