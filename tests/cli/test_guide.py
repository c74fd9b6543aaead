"""``combe guide``: the list, a page in the terminal, all pages as HTML, and what it imports."""

import re

import pytest

from combe.guide import PARTS, guide_page, topics
from support_cli import complaint, python, run, run_json


def test_it_lists_the_topics_with_what_they_are_for():
    lines = run("guide").stdout.splitlines()
    assert [line.split()[0] for line in lines if line.startswith("  ")] == list(topics())
    assert any(line.startswith("  feed") and guide_page("feed").purpose in line for line in lines)
    assert max(map(len, lines)) <= 112


@pytest.mark.parametrize("topic", topics())
def test_a_page_is_printed_whole(topic):
    markdown, printed = guide_page(topic).markdown, run("guide", topic).stdout
    lines = printed.splitlines()
    listings = re.findall(r"^```\w*\n(.*?)^```$", markdown, re.MULTILINE | re.DOTALL)
    for line in "".join(listings).splitlines():
        assert f"    {line}".rstrip() in lines
    assert max(len(line) for line in lines if not line.startswith("    ")) <= 100
    assert "](" not in printed
    assert "```" not in printed
    text = re.sub(r"```.*?```", "", markdown, flags=re.DOTALL)
    words = set(
        re.findall(r"(?<![\w`/])[A-Za-zΔµ]{6,12}(?![\w`/.-])", re.sub(r"\]\([^)]*\)|`[^`]*`", "", text))
    )
    assert {word for word in words if word not in printed} == set()


def test_the_parts_are_told_apart():
    lines = run("guide").stdout.splitlines()
    heads = [line for line in lines if line.startswith("The t")]
    assert heads == [f"{part.name}: {part.purpose[0].lower()}{part.purpose[1:]}" for part in PARTS]
    assert lines.index(heads[0]) < lines.index("To begin") < lines.index(heads[1]) < lines.index("The wave")


def test_an_answer_stands_at_the_end_of_its_page():
    lines = run("guide", "sight").stdout.splitlines()
    assert lines.index("Exercise") < lines.index("Answer")
    assert not any(
        line.startswith("#") or line in ("Answer", "Exercise") for line in lines[lines.index("Answer") + 1 :]
    )


def test_links_become_commands():
    assert "Ground, cover and people (combe guide data)." in " ".join(run("guide", "study").stdout.split())


def test_a_picture_is_told_in_words():
    assert "(Picture: A parent on the plain" in run("guide", "start").stdout


def test_html_is_written_for_all_topics(tmp_path):
    result = run("guide", "--html", tmp_path / "guide")
    assert result.stdout == (
        f"written: {tmp_path / 'guide' / 'index.html'} and 42 more; open the first in a browser\n"
    )
    names = {path.name for path in (tmp_path / "guide").iterdir()}
    assert names == {"index.html", *(f"{topic}.html" for topic in topics())}


def test_json(tmp_path):
    printed = run_json("guide", "feed", "--html", tmp_path)
    assert [each["topic"] for each in printed["topics"]] == list(topics())
    assert printed["topics"][6] == {
        "topic": "feed",
        "part": "The tool",
        "chapter": "The work",
        "title": "The feed",
        "purpose": guide_page("feed").purpose,
    }
    assert printed["page"] == guide_page("feed").markdown
    assert printed["written"][0] == str(tmp_path / "index.html")
    assert run_json("guide")["page"] is None
    assert run_json("guide")["written"] == []


def test_an_unknown_topic_and_a_folder_that_is_a_file(tmp_path):
    assert complaint("guide", "fede").endswith("did you mean feed?")
    (tmp_path / "taken").write_text("")
    assert complaint("guide", "--html", tmp_path / "taken").startswith("cannot write")


def test_a_page_is_printed_without_anything_heavy():
    code = (
        "import sys\nfrom combe.cli import group\n"
        "try:\n    group.main(['guide', 'feed'], prog_name='combe')\n"
        "except SystemExit as leave:\n    assert not leave.code\n"
        "print('loaded:', [n for n in ('numpy', 'numba', 'pydantic', 'folium') if n in sys.modules])"
    )
    done = python(code=code)
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith("loaded: []\n")
