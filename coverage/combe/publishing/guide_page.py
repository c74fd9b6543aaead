"""Writes the pages of the guide: Markdown as HTML, with links between them and the contents beside."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from combe.publishing.inline import filled, foot_html, make_figure, page_part, self_contained_html, wide_html
from combe.publishing.text import encode, plain

INDEX: Final = "index"
"""Name of the page of contents."""

_PAGE_LINK: Final = re.compile(r"^(\w+)\.md(#.*)?$")
_WIDE: Final = re.compile(r"<table>.*?</table>|<pre>.*?</pre>|<p>(<img [^>]*>)</p>", re.DOTALL)
_ANSWER: Final = re.compile(r"<h2>(Answer)</h2>(.*?)(?=<h2>|\Z)", re.DOTALL)
"""A section under this heading is the answer of the exercise before it."""


@dataclass(frozen=True)
class GuideText:
    """One page: the name of its file, its title, what it is for, and its Markdown with the title above it."""

    name: str
    title: str
    purpose: str
    markdown: str


@dataclass(frozen=True)
class GuidePart:
    """A part of the guide: its name, what it is, and its pages by chapter."""

    name: str
    purpose: str
    chapters: Mapping[str, Sequence[GuideText]]

    @property
    def pages(self) -> tuple[GuideText, ...]:
        """Return its pages in order."""
        return tuple(page for chapter in self.chapters.values() for page in chapter)


@dataclass(frozen=True)
class Guide:
    """All pages by part and chapter, the pictures that they show (SVG) by file name, and what made them."""

    title: str
    subtitle: str
    parts: tuple[GuidePart, ...]
    pictures: Mapping[str, str]
    provenance: tuple[str, ...] = ()


def render_guide(guide: Guide) -> dict[str, str]:
    """Return each page of the guide as one HTML text by the name of its file, the page of contents first.

    Raises
    ------
    PageError
        A page shows a picture that is not given, or links to a page that is not there.
    """
    names = {page.name for part in guide.parts for page in part.pages}
    found = {INDEX: _index_html(guide)}
    for part in guide.parts:
        for at, page in enumerate(part.pages):
            # A part is read for itself: its first page leads to none before it, its last to none after.
            before, after = part.pages[:at][-1:], part.pages[at + 1 :][:1]
            main = _main_html(guide, page, names) + _turn_html(before, after)
            found[page.name] = _page_html(guide, page.title, main, current=page.name)
    return {f"{name}.html": html for name, html in found.items()}


def _page_html(guide: Guide, title: str, main: str, *, current: str) -> str:
    body = filled(
        "guide_body.html",
        guide=encode(guide.title),
        contents=_contents_html(guide, current),
        main=main,
        foot=foot_html(guide.provenance),
    )
    style = page_part("sheet.css") + page_part("guide.css")
    return self_contained_html(make_figure(plain(title), with_map=False, style=style, body=body, script=""))


def _index_html(guide: Guide) -> str:
    head = f'<h1>{encode(guide.title)}</h1><p class="subtitle">{encode(guide.subtitle)}</p>'
    return _page_html(guide, guide.title, head + "".join(map(_part_html, guide.parts)), current=INDEX)


def _part_html(part: GuidePart) -> str:
    """Return a part of the contents: each page with what it is for."""
    chapters = "".join(
        f"<h3>{encode(name)}</h3><dl>"
        + "".join(
            f'<dt><a href="{page.name}.html">{encode(page.title)}</a></dt><dd>{encode(page.purpose)}</dd>'
            for page in pages
        )
        + "</dl>"
        for name, pages in part.chapters.items()
    )
    return f"<h2>{encode(part.name)}</h2><p>{encode(part.purpose)}</p>{chapters}"


def _contents_html(guide: Guide, current: str) -> str:
    """Return the list of all pages that stands beside each, the open one marked, other parts folded."""

    def link(page: GuideText) -> str:
        here = ' aria-current="page"' if page.name == current else ""
        return f'<li><a href="{page.name}.html"{here}>{encode(page.title)}</a></li>'

    def chapters(part: GuidePart) -> str:
        return "".join(
            f"<p>{encode(name)}</p><ul>{''.join(map(link, pages))}</ul>"
            for name, pages in part.chapters.items()
        )

    def state(part: GuidePart) -> str:
        return " open" if current in (INDEX, *(page.name for page in part.pages)) else ""

    return "".join(
        f"<details{state(part)}><summary>{encode(part.name)}</summary>{chapters(part)}</details>"
        for part in guide.parts
    )


def _turn_html(before: Sequence[GuideText], after: Sequence[GuideText]) -> str:
    """Return links to the page before and the one after, where there is one."""
    links = [
        f'<a rel="{word}" href="{page.name}.html">{sign}{encode(page.title)}</a>'
        for pages, word, sign in ((before, "prev", "← "), (after, "next", "→ "))
        for page in pages
    ]
    return f'<p class="turn">{" ".join(links)}</p>'


def _main_html(guide: Guide, page: GuideText, names: set[str]) -> str:
    """Return a page's Markdown as HTML: what is wide scrolls on a narrow screen, answers are folded."""
    parser = _parser(_link_of(page.name, names), guide.pictures)
    html: str = parser.render(page.markdown)
    return _ANSWER.sub(_folded, _WIDE.sub(_framed, html))


def _framed(found: re.Match[str]) -> str:
    """Return a table, a listing or a drawing in a frame of its own."""
    part, drawing = found.group(), found.group(1)
    if drawing:
        return wide_html(drawing, "Picture")
    return wide_html(part, "Table" if part.startswith("<table") else "Listing")


def _folded(found: re.Match[str]) -> str:
    """Return the answer of an exercise so that it opens when it is asked for; on paper it is open."""
    return f'<details class="answer"><summary>{found.group(1)}</summary>{found.group(2)}</details>'


def _link_of(name: str, names: set[str]) -> Callable[[str], str]:
    """Return what turns the link of a page's Markdown into that of its HTML."""
    from combe.errors import PageError

    def link(target: str) -> str:
        found = _PAGE_LINK.match(target)
        if found and found.group(1) in names:
            return f"{found.group(1)}.html{found.group(2) or ''}"
        raise PageError(f"page {name} of the guide links to {target}, which is no page of it")

    return link


def _parser(link: Callable[[str], str], pictures: Mapping[str, str]) -> Any:
    """Return a Markdown parser that lets no HTML through, rewrites links, and puts pictures in."""
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False}).enable("table")

    def link_open(self: Any, tokens: Any, at: int, options: Any, env: Any) -> str:
        tokens[at].attrSet("href", link(tokens[at].attrGet("href")))
        return str(self.renderToken(tokens, at, options, env))

    def image(self: Any, tokens: Any, at: int, options: Any, env: Any) -> str:
        del self, options, env
        return _picture_html(tokens[at].attrGet("src"), tokens[at].content, pictures)

    parser.add_render_rule("link_open", link_open)
    parser.add_render_rule("image", image)
    return parser


def _picture_html(name: str, words: str, pictures: Mapping[str, str]) -> str:
    """Return a drawing as an image that holds its own data, so that no style of the page reaches into it."""
    from combe.errors import PageError

    if name not in pictures:
        raise PageError(f"the guide shows {name}, which is no picture of it")
    data = base64.b64encode(pictures[name].encode("utf-8")).decode("ascii")
    return f'<img class="profile" alt="{encode(words)}" src="data:image/svg+xml;base64,{data}">'
