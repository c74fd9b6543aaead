"""Draws the page of the desk: the map page with masts that can be moved, and what follows from that.

It holds the ground, the lattice and the places of people; fields and counts come with each answer of its
server.
"""

from __future__ import annotations

from typing import Any, Final

from combe.publishing.content import PEOPLE_STATES, MapPage
from combe.publishing.inline import (
    filled,
    make_figure,
    page_of,
    page_part,
    page_script,
    self_contained_html,
)
from combe.publishing.map_page import MAP_SCRIPTS, body_html, page_data
from combe.publishing.map_people import bar_patterns_html
from combe.publishing.page_language import in_page_language, retold_data
from combe.publishing.text import encode, encode_data, plain

_SCRIPTS: Final = (
    *MAP_SCRIPTS,
    *("desk_link.js", "desk_state.js", "desk_map.js", "desk_tools.js", "desk_panel.js", "desk_editor.js"),
    *("desk_sheet.js", "desk_hills.js", "swipe.js", "desk_variants.js", "desk_save.js"),
    "start.js",
)
_ICON: Final = '<link rel="icon" href="data:,">'
"""Else a browser asks the server for one."""


def render_desk(page: MapPage, *, study_name: str, save_name: str) -> str:
    """Return the page as one HTML text, which fetches nothing but the answers of its own server.

    ``study_name`` is the name of the study's file, ``save_name`` the one that is offered for saving. What the
    server asks of who may use it stands in the page's address and never in the page.
    """
    figure = make_figure(
        plain(in_page_language(page.title)),
        with_map=True,
        style=_style(),
        body=_body(page, study_name, save_name),
        script=page_script(*_SCRIPTS),
    )
    html = self_contained_html(figure, asks_its_server=True)
    return html.replace("</head>", f"{_ICON}\n</head>", 1)


def render_opening() -> str:
    """Return the page that is shown while the study is opened: how far that is, and then the desk's own."""
    style = page_part("sheet.css") + page_part("desk_opening.css")
    html = page_of(
        in_page_language("The desk is being opened"),
        style,
        filled("desk_opening.html"),
        script=_ALONE + page_script("desk_link.js", "desk_opening.js"),
        asks_its_server=True,
    )
    return html.replace("</head>", f"{_ICON}\n</head>", 1)


_ALONE: Final = "const combe = {}, byId = (id) => document.getElementById(id);\n"
"""What the scripts of the map begin with, for a page without one."""


def _style() -> str:
    """Return the map page's look, that of documents for the parts of one within it, and the desk's own."""
    document = page_part("sheet.css") + page_part("document.css")
    own = page_part("desk.css") + page_part("swipe.css")
    return f"{page_part('map.css')}\n.fragment {{\n{document}\n}}\n{own}"


def _body(page: MapPage, study_name: str, save_name: str) -> str:
    return body_html(
        page,
        encode_data(retold_data(_data(page))),
        headline=filled("desk_headline.html", patterns=bar_patterns_html()),
        feeds="",
        left_out="",
        table=filled("desk_tables.html"),
        stations="",
        streets="",
        work=filled(
            "desk_body.html",
            study=encode(study_name),
            save=encode(save_name),
            swipe=filled("swipe_frame.html"),
        ),
    )


def _data(page: MapPage) -> dict[str, Any]:
    """Return what the script reads: as on the map page without fields, and what masts are moved by."""
    return {
        **page_data(page, with_fields=False),
        "tiles": None,
        "people_states": PEOPLE_STATES,
        "cell_size_m": float(page.grid.cell_size_m),
    }
