"""The index of a folder of pages."""

import html
import json

import pytest

from combe.errors import OutputError
from combe.publishing.as_html import as_html, write_page
from combe.publishing.document import Document, Form, StudyNamed
from combe.publishing.page_about import PageAbout, read_about, way_to
from combe.reports.index import FORM, document, folder_index, write_index
from support_reports import HOSTILE

HEADLINE = "Of 15 200 people, 14 282 have all services."


def page(kind, title="coverage", study="A valley", headline=HEADLINE, invented=""):
    named = StudyNamed("a", study, invented=invented)
    return Document(Form(kind, ()), None, title, (headline,) if headline else (), study=named)


def write(folder, *named):
    for name, kind, *more in named:
        (folder / name).parent.mkdir(exist_ok=True)
        write_page(page(kind, *more), folder / name)


def test_a_page_tells_what_it_is():
    assert '<meta name="combe-page"' in as_html(page("cover"))


@pytest.mark.parametrize("words", [HOSTILE, 'a "quoted" \\ word & <b>'])
def test_what_a_page_tells_is_read_as_it_was_written(tmp_path, words):
    write(tmp_path, ("a.html", "cover", "coverage", words, words))
    about = read_about(tmp_path / "a.html")
    assert about == PageAbout("cover", "Coverage", words, words)
    write_index(tmp_path)
    listed = (tmp_path / "index.html").read_text("utf-8")
    assert "<script>" not in listed and "<b>" not in listed.replace("<summary><b>", "")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe no text",
        b"<html><head><title>another page</title></head></html>",
        *(
            f'<meta name="combe-page" content="{html.escape(told)}">'.encode()
            for told in (
                "no JSON",
                "[1]",
                '{"kind": 1, "name": "a"}',
                '{"kind": "a"}',
                '{"kind": "a", "name": "b", "more": 1}',
            )
        ),
    ],
)
def test_other_pages_are_left_out(tmp_path, content):
    (tmp_path / "other.html").write_bytes(content)
    write(tmp_path, ("feed.html", "feed"))
    assert [each.file for each in folder_index(tmp_path).pages] == ["feed.html"]


def test_pages_stand_in_the_order_in_which_they_are_wanted_and_lead_to_their_files(tmp_path):
    write(
        tmp_path,
        ("zz.html", "path"),
        ("feed.html", "feed"),
        ("site/hill-02.html", "hill"),
        ("site/site.html", "site"),
        ("site/hill-01.html", "hill"),
        ("brief.html", "brief"),
        ("site/deep/no.html", "feed"),
    )
    found = folder_index(tmp_path)
    assert [each.file for each in found.pages] == [
        "brief.html", "feed.html", "site/site.html", "site/hill-01.html", "site/hill-02.html", "zz.html",
    ]  # fmt: skip
    listed = as_html(document(found))
    for each in found.pages:
        assert f'<a href="{each.file}">' in listed
    assert listed.count(HEADLINE) == len(found.pages)


def test_the_study_is_told_once_where_all_pages_are_of_one(tmp_path):
    write(tmp_path, ("a.html", "feed"), ("b.html", "cover"))
    assert document(folder_index(tmp_path)).study == StudyNamed("", "A valley")
    assert "study" not in [field.key for field in document(folder_index(tmp_path)).parts[0].fields]
    write(tmp_path, ("c.html", "cover", "coverage", "Another valley"))
    both = document(folder_index(tmp_path))
    assert both.study == StudyNamed("", "A valley, Another valley")
    assert "study" in [field.key for field in both.parts[0].fields]


def test_what_is_invented_is_said_so(tmp_path):
    told = "The stations of this study are invented."
    write(tmp_path, ("a.html", "feed"), ("b.html", "cover", "coverage", "A valley", HEADLINE, told))
    assert told in write_index(tmp_path).read_text("utf-8")


def test_files_beside_are_told_by_their_sort(tmp_path):
    write(tmp_path, ("a.html", "feed"))
    for number in range(14):
        (tmp_path / f"field_{number:02}.tif").touch()
    for name in ("b.csv", ".hidden.csv", "other.txt"):
        (tmp_path / name).touch()
    rasters, tables = folder_index(tmp_path).files
    assert rasters.told.endswith("field_11.tif and 2 more")
    assert (tables.sort, tables.told) == ("tables (CSV)", "b.csv")


def test_two_runs_leave_the_same_index_and_it_does_not_list_itself(tmp_path):
    write(tmp_path, ("a.html", "feed"), ("b.html", "cover"))
    first = write_index(tmp_path).read_bytes()
    made_ns = (tmp_path / "index.html").stat().st_mtime_ns
    assert write_index(tmp_path).read_bytes() == first
    assert (tmp_path / "index.html").stat().st_mtime_ns == made_ns, "it is left as it is"
    assert [each.file for each in folder_index(tmp_path).pages] == ["b.html", "a.html"]


def test_a_page_leads_back_only_to_an_index_that_is_there(tmp_path):
    below = tmp_path / "site"
    below.mkdir()
    write_page(page("site"), below / "site.html", index=tmp_path / "index.html")
    assert (
        '<nav class="back"><a href="../index.html">All pages</a></nav>' in (below / "site.html").read_text()
    )
    assert 'class="back"' not in as_html(page("site"))
    assert way_to(tmp_path / "index.html", tmp_path / "map.html") == "index.html"


def test_a_place_that_takes_no_file(tmp_path):
    (tmp_path / "index.html").mkdir()
    with pytest.raises(OutputError, match=r"index\.html"):
        write_index(tmp_path)


def test_the_form_names_what_programs_read(tmp_path):
    write(tmp_path, ("a.html", "feed"))
    from combe.publishing.as_json import as_json

    told = json.loads(as_json(document(folder_index(tmp_path))))
    assert told["format"] == FORM.name
    assert told["pages"] == [
        {"name": "Coverage", "study": "A valley", "answer": HEADLINE, "file": "a.html"}
    ]  # fmt: skip
