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
_WIDE: Final = re.compile(r"<table>.*?</table>|<pre>.*?</pre>", re.DOTALL)


@dataclass(frozen=True)
class GuideText:
    """One page: the name of its file, its title, what it is for, and its Markdown with the title above it."""

    name: str
    title: str
    purpose: str
    markdown: str


@dataclass(frozen=True)
class Guide:
    """All pages by chapter, the pictures that they show (SVG) by file name, and what made them."""

    title: str
    subtitle: str
    chapters: Mapping[str, Sequence[GuideText]]
    pictures: Mapping[str, str]
    provenance: tuple[str, ...] = ()


def render_guide(guide: Guide) -> dict[str, str]:
    """Return each page of the guide as one HTML text by the name of its file, the page of contents first.

    Raises
    ------
    PageError
        A page shows a picture that is not given, or links to a page that is not there.
    """
    pages = [page for chapter in guide.chapters.values() for page in chapter]
    found = {INDEX: _index_html(guide)}
    for at, page in enumerate(pages):
        before, after = pages[at - 1] if at else None, pages[at + 1] if at + 1 < len(pages) else None
        main = _main_html(guide, page, {each.name for each in pages})
        turn = _turn_html(before, after)
        found[page.name] = _page_html(guide, page.title, main + turn, current=page.name)
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
    chapters = "".join(
        f"<h2>{encode(name)}</h2><dl>"
        + "".join(
            f'<dt><a href="{page.name}.html">{encode(page.title)}</a></dt><dd>{encode(page.purpose)}</dd>'
            for page in pages
        )
        + "</dl>"
        for name, pages in guide.chapters.items()
    )
    head = f'<h1>{encode(guide.title)}</h1><p class="subtitle">{encode(guide.subtitle)}</p>'
    return _page_html(guide, guide.title, head + chapters, current=INDEX)


def _contents_html(guide: Guide, current: str) -> str:
    """Return the list of all pages that stands beside each, the open one marked."""

    def link(page: GuideText) -> str:
        here = ' aria-current="page"' if page.name == current else ""
        return f'<li><a href="{page.name}.html"{here}>{encode(page.title)}</a></li>'

    return "".join(
        f"<p>{encode(name)}</p><ul>{''.join(map(link, pages))}</ul>" for name, pages in guide.chapters.items()
    )


def _turn_html(before: GuideText | None, after: GuideText | None) -> str:
    """Return links to the page before and the one after."""
    links = [
        f'<a rel="{word}" href="{page.name}.html">{sign}{encode(page.title)}</a>'
        for page, word, sign in ((before, "prev", "← "), (after, "next", "→ "))
        if page
    ]
    return f'<p class="turn">{" ".join(links)}</p>'


def _main_html(guide: Guide, page: GuideText, names: set[str]) -> str:
    """Return a page's Markdown as HTML; tables and listings scroll where the screen is narrow."""
    parser = _parser(_link_of(page.name, names), guide.pictures)
    html: str = parser.render(page.markdown)
    return _WIDE.sub(lambda found: wide_html(found.group(), _kind_of(found.group())), html)


def _kind_of(part: str) -> str:
    return "Table" if part.startswith("<table") else "Listing"


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
