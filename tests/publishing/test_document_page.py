"""Pages of documents of invented answers: hostile words, policy, links, folds."""

from __future__ import annotations

import html
import re
from dataclasses import replace

import pytest

from combe.errors import PageError
from combe.publishing.as_html import as_html
from combe.publishing.as_text import as_text
from combe.publishing.document import (
    Facts,
    Picture,
    Section,
    StudyNamed,
    Table,
    Words,
)
from combe.publishing.fields import (
    Mark,
    mark,
    text,
)
from support_reports import HOSTILE, PageReader
from support_trial import LEVELS, document, row


def hostile_document(word=HOSTILE):
    table = Table(
        f"T{word}", (text("name", f"name{word}"), mark("", "verdict", "verdict")),
        ({"name": f"Hill{word}", "verdict": Mark("fails", f"out{word}")},), note=word, group="name",
        link=lambda _: "hill-01.html",
    )  # fmt: skip
    folded = replace(table, title="", summary=f"S{word}", folded=True, group=None)
    parts = (
        table, folded, Facts((text("name", f"fact{word}"),), {"name": word}, title=word),
        Words((Mark("fails", word), word), title=word, listed=True), Words((word,)),
        Section(
            word, (replace(table, across="name", group=None),), Mark("not judged", word), word, beside=True
        ),
        Picture(lambda: "<svg xmlns='http://www.w3.org/2000/svg'/>", word, word, word),
    )  # fmt: skip
    study = StudyNamed("s.toml", f"Study{word}", word, word)
    return document((), None, *parts, title=f"trial{word}", headline=(word,), study=study,
                    verdict=Mark("fails", word), made_by={f"model{word}": word})  # fmt: skip


def test_hostile_words_are_shown_and_do_nothing():
    page = as_html(hostile_document())
    read = PageReader(page)
    assert read.scripts == 0
    assert "<script" not in page
    assert "${alert" not in page
    assert "{{" not in page
    shown = HOSTILE.replace("\x1b", "\ufffd")
    assert read.words.count(shown.strip()) > 20
    assert "49" not in read.words


def test_hostile_words_do_nothing_to_a_terminal():
    for full in (False, True):
        assert "\x1b" not in as_text(hostile_document(), full=full)


def test_a_page_that_would_fetch_something_is_refused():
    picture = Picture(lambda: "<svg><image href='http://a.example/x.png'/></svg>", "w", inline=True)
    with pytest.raises(PageError, match="holds the link http"):
        as_html(document((), None, picture))


def test_a_page_has_the_strict_policy_and_may_be_enlarged():
    page = as_html(hostile_document())
    head = page.partition("<body>")[0]
    for rule in ("default-src 'none'", "script-src 'none'", "img-src data: blob:", "base-uri 'none'"):
        assert rule in html.unescape(head)
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in head


def test_a_page_shows_results_links_looks_and_folds():
    table = Table(
        "T", LEVELS, (row("A"), row("B")), strong=lambda each: each["name"] == "B", link=lambda _: "a.html"
    )
    folded = Table("", LEVELS, (row("C"),), summary="long", verdict=Mark("passes", "met"), folded=True)
    said = Words((Mark("fails", "Not so."), "So."), listed=True)
    drawn = Picture(lambda: '<svg id="own"></svg>', "a picture", inline=True)
    page = as_html(document((), None, table, folded, replace(folded, folded=False), said, drawn))
    assert page.count('<th scope="row"><a href="a.html">') == 2
    assert re.findall(r'<tr class="strong"><th scope="row"><a href="a.html">(\w)', page) == ["B"]
    assert [page.count(f"<details{state}><summary>long <span") for state in ("", " open")] == [1, 1]
    assert '<li class="told-fails">Not so.</li><li>So.</li>' in page
    assert '<svg id="own"></svg>' in page


@pytest.mark.parametrize(("count", "links"), [(5, 0), (6, 6)])
def test_a_long_page_begins_with_links_to_its_headings(count, links):
    parts = tuple(Words(("w",), title=f"Part {n}") for n in range(count))
    page = as_html(document((), None, *parts))
    assert re.findall(r'<a href="#(part-\d)">', page) == [f"part-{n}" for n in range(links)]
    assert all(f'id="part-{n}"' in page for n in range(count))


@pytest.mark.browser
def test_the_page_of_a_document_opens_without_a_network_and_hostile_words_do_nothing(open_html):
    opened = open_html(as_html(hostile_document()), ready=False)
    tab = opened.page
    tab.wait_for_load_state()
    assert opened.complaints == []
    assert [url for url in opened.requests if not url.startswith(("file://", "data:"))] == []
    assert tab.locator("main script").count() == 0
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
