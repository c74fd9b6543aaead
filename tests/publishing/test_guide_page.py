"""The guide as HTML: self-contained, linked together, and safe whatever its Markdown holds."""

import re
from dataclasses import replace

import pytest

from combe.cli.guide import guide_content
from combe.errors import PageError
from combe.publishing.guide_page import Guide, GuidePart, GuideText, render_guide


def small(markdown, **changes):
    page = GuideText("one", "One", "For one thing.", f"# One\n\n{markdown}\n")
    other = GuideText("two", "Two", "For another.", "# Two\n\nFor another.\n")
    return replace(
        Guide(
            "Guide",
            "All",
            (GuidePart("Part", "All of it.", {"Chapter": [page, other]}),),
            {"a.svg": "<svg/>"},
        ),
        **changes,
    )


def one(markdown, **changes):
    return render_guide(small(markdown, **changes))["one.html"]


@pytest.fixture(scope="module")
def pages():
    return render_guide(guide_content())


def test_every_link_leads_to_a_page_that_is_written(pages):
    for name, html in pages.items():
        links = re.findall(r'<a [^>]*href="([^"#]*)', html)
        assert len(links) > 16, name
        assert set(links) <= set(pages), name


def test_the_open_page_is_marked_and_leads_on(pages):
    assert re.findall(r'href="(\w+)\.html" aria-current="page"', pages["feed.html"]) == ["feed"]
    assert '<a rel="prev" href="cautions.html">← Limits and dangers</a>' in pages["feed.html"]
    assert '<a rel="next" href="year.html">→ The year</a>' in pages["feed.html"]
    assert 'rel="prev"' not in pages["start.html"]


def test_a_part_is_turned_through_by_itself(pages):
    assert '<a rel="next" href="sight.html">→ 2. Line of sight</a>' in pages["stations.html"]
    assert 'rel="prev"' not in pages["stations.html"]
    assert 'rel="next"' not in pages["glossary.html"]
    assert 'rel="next"' not in pages["safety.html"]


def test_the_contents_beside_a_page_open_its_own_part(pages):
    assert re.findall(r"<details( open)?><summary>(The \w+)<", pages["feed.html"]) == [
        (" open", "The tool"),
        ("", "The trade"),
    ]
    assert re.findall(r"<details( open)?><summary>(The \w+)<", pages["sight.html"]) == [
        ("", "The tool"),
        (" open", "The trade"),
    ]
    assert pages["index.html"].count("<details open><summary>The t") == 2


def test_an_answer_is_folded_and_what_follows_it_is_not():
    html = one("## Exercise\n\nWhat?\n\n## Answer\n\nThat.\n\n## More\n\nSo.")
    assert '<details class="answer"><summary>Answer</summary>\n<p>That.</p>\n</details><h2>More</h2>' in html
    assert "<p>That.</p>\n</details>" in one("## Answer\n\nThat.")
    assert "<details class" not in one("## Answers\n\nThat.")


def test_no_page_runs_a_script_or_asks_for_anything(pages):
    for html in pages.values():
        assert "default-src 'none'; script-src 'sha256-" in html
        assert "".join(re.findall(r"<script>(.*?)</script>", html, re.DOTALL)).strip() == ""
        # An address of this machine, as the desk has one, is no network.
        assert "http://" not in re.sub(r"http://(www\.w3\.org|127\.0\.0\.1)", "", html)


def test_the_contents_say_what_each_page_is_for(pages):
    assert '<dt><a href="feed.html">The feed</a></dt><dd>Does the hill hear' in pages["index.html"]


def test_html_in_the_text_is_shown_and_not_obeyed():
    html = one("<script>alert(1)</script> and <b>bold</b>")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html
    assert "<b>bold</b>" not in html


def test_signs_of_template_languages_are_just_signs():
    assert "<code>{{ 7 * 7 }} {% x %}</code>" in one("`{{ 7 * 7 }} {% x %}`")


def test_tables_and_listings_scroll_in_frames_of_their_own():
    html = one("| a | b |\n|---|---|\n| 1 | 2 |\n\n```sh\nls\n```")
    assert 'aria-label="Table"><table>' in html
    assert 'aria-label="Listing"><pre>' in html


def test_a_link_to_another_page_and_to_a_place_in_it():
    assert 'href="two.html#there"' in one("See [two](two.md#there).")


@pytest.mark.parametrize("target", ["three.md", "https://example.org", "../README.md"])
def test_a_link_to_anything_else_is_refused(target):
    with pytest.raises(PageError, match="is no page of it"):
        one(f"See [it]({target}).")


def test_a_picture_is_held_by_the_page():
    assert '<img class="profile" alt="A &amp; B" src="data:image/svg+xml;base64,PHN2Zy8+">' in one(
        "![A & B](a.svg)"
    )
    assert 'aria-label="Picture"><img ' in one("![A & B](a.svg)")
    with pytest.raises(PageError, match="is no picture of it"):
        one("![A](b.svg)")
