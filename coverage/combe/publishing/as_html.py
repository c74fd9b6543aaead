"""A document as a page: one file that asks the network for nothing, prints whole on A4 and fits a phone."""

from __future__ import annotations

import base64
import itertools
import re
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from combe.digits import true_minus
from combe.files import write_text_atomically
from combe.publishing.cautions import SHORT_CAUTION
from combe.publishing.document import (
    Document,
    Facts,
    Filling,
    Part,
    Picture,
    Room,
    Section,
    StudyNamed,
    Table,
    Words,
    all_parts,
)
from combe.publishing.fields import LOOKS, Field, Mark, cells, fact, is_number, read
from combe.publishing.inline import page_of, page_part, page_script
from combe.publishing.page_about import PageAbout, way_to
from combe.publishing.page_language import in_page_language
from combe.publishing.text import breakable, capital, encode, encode_data, plain
from combe.words import Name, chain, joined

if TYPE_CHECKING:
    from jinja2 import Template

_NOUGHTS: Final = {"0", "0.0"}
_WIDTH: Final = re.compile(r'<svg[^>]* width="([\d.]+)pt"')
_BROAD_POINTS: Final = 500.0
_FILLING: Final = ("fill_rules.js", "fill_table.js", "fill_keep.js", "fill_form.js", "fill_start.js")
"""Scripts of a form, each built on those before."""

_FEWEST_LISTED: Final = 6
"""A page with so many headings begins with links to them."""


def write_page(document: Document, path: Path, *, index: Path | None = None) -> None:
    """Write the page of a document, whole or not at all, with a link to its index; raises OutputError."""
    write_text_atomically(path, as_html(document, way_to(index, path)))


def as_html(document: Document, index: str = "") -> str:
    """Return the page of a document as one HTML text; ``index`` is the file that it links back to."""
    body = _template("document.html").render(**_page(document), index=index)
    style = page_part("sheet.css") + page_part("document.css")
    forms = [part.data for part in all_parts(document.parts) if isinstance(part, Filling)]
    script = _filling_script(forms) if forms else ""
    style += page_part("fill.css") if forms else ""
    return page_of(
        plain(in_page_language(capital(document.title))), style, body, script=script, about=about_of(document)
    )


def _filling_script(forms: list[Mapping[str, Any]]) -> str:
    """Return what makes forms of the places left for them, in order, and fills them in."""
    data = f"const fill = {{ forms: {encode_data([_told_form(form) for form in forms])} }};\n"
    return data + page_script(*_FILLING)


def _told_form(form: Mapping[str, Any]) -> dict[str, Any]:
    """Return a form in the language of its page; what goes into the table of readings stays as it is."""
    groups = [
        {
            **group,
            "title": in_page_language(group["title"]),
            "care": in_page_language(group["care"]),
            "rows": [_told_reading(row) for row in group["rows"]],
        }
        for group in form["groups"]
    ]
    return {**form, "told": in_page_language(form["told"]), "groups": groups}


def _told_reading(row: Mapping[str, Any]) -> dict[str, Any]:
    told = {kind: in_page_language(words) for kind, words in row["told"].items()}
    return {
        **row,
        "title": in_page_language(row["title"]),
        "where": in_page_language(row["where"]),
        "told": told,
    }


def about_of(document: Document) -> PageAbout:
    """Return what the page of a document tells of itself."""
    study = document.study or StudyNamed("", "")
    answer = document.headline[0] if document.headline else ""
    return PageAbout(document.kind, capital(document.title), study.title, answer, study.invented)


def fragment_html(document: Document) -> str:
    """Return the answer and the parts of a document for another page, which has the look of documents."""
    return _template("document_fragment.html").render(**_page(document))


@cache
def _template(name: str) -> Template:
    """Return a template, in which each text goes through one of our own encoders."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined, pass_context
    from markupsafe import Markup

    # Autoescape alone would leave the signs that scripts and template languages act on; encode takes them.
    maker = Environment(
        loader=FunctionLoader(page_part),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Filters that see the page are worked out with it; others are once for all where a text stands in the
    # template, which would then be told in the language of the first page of a run.
    maker.filters["told"] = pass_context(lambda _, words: Markup(breakable(_in_language(words))))
    maker.filters["told_plain"] = pass_context(lambda _, words: Markup(encode(_in_language(words))))
    return maker.get_template(name)


def _in_language(words: object) -> str:
    return true_minus(in_page_language(words if isinstance(words, str) else str(words)))


def _page(document: Document) -> dict[str, Any]:
    study = document.study
    every = [_view(part, f"part-{at}") for at, part in enumerate(document.parts)]
    behind = [at for at, part in enumerate(document.parts) if isinstance(part, Section) and part.appendix]
    views = [view for at, view in enumerate(every) if at not in behind]
    listed = [view for view in views if view["title"] and not view["summary"]]
    return {
        "title": capital(document.title),
        "subtitle": joined(" · ", filter(None, (Name(study.title), study.note))) if study else "",
        "invented": study.invented if study else "",
        "verdict": _mark(document.verdict),
        "headline": document.headline,
        "back": document.back,
        "parts": views,
        "appendix": [every[at] for at in behind],
        "contents": listed if len(listed) >= _FEWEST_LISTED else [],
        "short_caution": SHORT_CAUTION,
        "cautions": document.cautions,
        "made_by": [chain(name, ": ", words) for name, words in document.made_by.items()],
    }


def _mark(verdict: Mark | None) -> dict[str, str] | None:
    return None if verdict is None else {**verdict._asdict(), "sign": LOOKS[verdict.look]}


def _view(part: Part, anchor: str = "") -> dict[str, Any]:
    """Return what the template shows of a part."""
    view = {
        "title": getattr(part, "title", ""),
        "note": getattr(part, "note", ""),
        "verdict": _mark(getattr(part, "verdict", None)),
        "summary": getattr(part, "summary", ""),
        "folded": getattr(part, "folded", False),
        "anchor": anchor,
        "look": "",
    }
    match part:
        case Section():
            inner = [_view(each) for each in part.parts]
            looks = {"framed": part.framed, "new-sheet": part.new_sheet}
            look = " ".join(name for name, there in looks.items() if there)
            return {**view, "shape": "section", "parts": inner, "beside": part.beside, "look": look}
        case Room():
            return {**view, "shape": "room", "lines": part.lines}
        case Filling():
            return {**view, "shape": "filling"}
        case Words():
            return {
                **view,
                "shape": "words",
                "lines": [_line(each) for each in part.lines],
                "listed": part.listed,
            }
        case Facts():
            return {**view, "shape": "facts", "facts": _facts(part)}
        case Picture():
            return {**view, "shape": "picture", "words": part.words, **_drawn(part)}
        case Table():
            return {**view, "shape": "table", "name": part.title or part.summary, **_table(part)}
        case _:
            raise AssertionError("a map has a page of its own")


def _line(words: str | Mark) -> dict[str, Any]:
    return (
        {"words": words.words, "look": words.look}
        if isinstance(words, Mark)
        else {"words": words, "look": ""}
    )


def _drawn(part: Picture) -> dict[str, Any]:
    """Return a picture as it stands in the page: as an image, which runs no script and leaks no style.

    One that is broad is scrolled on a phone, where its letters would be too small to read.
    """
    svg = part.make()
    if part.inline:
        return {"inline": svg, "source": ""}
    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    width = _WIDTH.search(svg)
    broad = width is not None and float(width[1]) > _BROAD_POINTS
    return {"inline": "", "source": f"data:image/svg+xml;base64,{data}", "broad": broad}


def _facts(part: Facts) -> list[dict[str, Any]]:
    return [{"name": field.head, **_cell(field, part.of, fact(field, part.of))} for field in part.fields]


def _table(part: Table) -> dict[str, Any]:
    fields = tuple(field for field in part.fields if field.head)
    body = [cells(fields, row) for row in part.rows]
    if part.across is not None:
        return _turned(part, fields, body)
    kept = [
        at
        for at, field in enumerate(fields)
        if field.head not in part.unless_zero or any(line[at] not in _NOUGHTS for line in body)
    ]
    once = [at for at in kept if fields[at].once]
    rows = []
    for row, line in zip(part.rows, body, strict=True):
        shown = [_cell(fields[at], row, line[at]) for at in kept]
        if part.link is not None:
            shown[0]["link"] = read(row, part.link)
        group = "" if part.group is None else read(row, part.group)
        strong = part.strong is not None and part.strong(row)
        rows.append(((group, [line[at] for at in once]), {"cells": shown, "strong": strong}))
    groups: list[dict[str, Any]] = []
    for (words, _), some in itertools.groupby(rows, key=lambda each: each[0]):
        # A group is cut where cells change that are told once for several rows; its name is not said again.
        told = any(each["of"] == words for each in groups[-1:])
        groups.append({"of": words, "words": "" if told else words, "rows": [row for _, row in some]})
        for at in (kept.index(each) for each in once):
            _tell_once(groups[-1]["rows"], at)
    form = any(field.kind == "blank" for field in fields)
    return {"heads": [_head(fields[at]) for at in kept], "groups": groups, "across": False, "form": form}


def _tell_once(rows: list[dict[str, Any]], at: int) -> None:
    """Make one cell of a column's cells, which are alike, over all rows."""
    for row in rows:
        row["cells"][at]["span"] = 0
    rows[0]["cells"][at]["span"] = len(rows)


def _turned(part: Table, fields: Sequence[Field], body: list[list[str]]) -> dict[str, Any]:
    """Return a table whose lines are the fields, one column a row."""
    assert part.across is not None, "asked by the caller"
    names = [read(row, part.across) for row in part.rows]
    heads = [_words_head("", "Item"), _words_head("", "Unit")]
    heads += [{"words": name, "unit": "", "left": False, "unseen": ""} for name in names]
    lines = [
        {
            "cells": [
                _words_cell(field.head),
                _words_cell(field.unit.name),
                *(_cell(field, row, line[at]) for row, line in zip(part.rows, body, strict=True)),
            ],
            "strong": part.strong is not None and part.strong(field),
        }
        for at, field in enumerate(fields)
    ]
    return {"heads": heads, "groups": [{"words": "", "rows": lines}], "across": True, "form": False}


def _head(field: Field) -> dict[str, Any]:
    left = not is_number(field)
    return {"words": field.head, "unit": field.unit.name, "left": left, "unseen": ""}


def _words_head(words: str, unseen: str) -> dict[str, Any]:
    return {"words": words, "unit": "", "left": True, "unseen": unseen}


def _cell(field: Field, row: Any, words: str) -> dict[str, Any]:
    """Return a cell; a verdict has its look, and one of the plain words is its own."""
    value = field.of(row) if field.kind == "mark" else None
    if isinstance(value, str) and value in LOOKS:
        value = Mark(value, value)
    blank = ("box" if words else "room") if field.kind == "blank" else ""
    look = {"left": not is_number(field), "verdict": _mark(value), "blank": blank}
    return {**_words_cell(words), **look}


def _words_cell(words: str) -> dict[str, Any]:
    # What stands below a value in its cell comes behind a line end.
    first, _, under = map(Name, in_page_language(words).partition("\n"))
    return {
        "words": first, "under": under, "left": True, "verdict": None, "link": "", "blank": "", "span": 1,
    }  # fmt: skip
