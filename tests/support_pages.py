"""Every kind of page with as much in it as a study allows: all columns, several services, long names."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

import support_map_page
import support_reports
from combe.cli.guide_content import guide_content
from combe.publishing.as_html import as_html
from combe.publishing.content import MapPage
from combe.publishing.guide_page import render_guide
from combe.publishing.map_page import render_map
from combe.publishing.site_page import (
    HillSheet,
    PageTable,
    SiteFrame,
    render_comparison,
    render_hill,
    render_site_map,
)
from combe.publishing.site_picture import HillPicture, PictureMark

STATION = "Tarnbeacon-over-Nether-Wallop-and-the-Seven-Northern-Combes"
SERVICES = ("Mux A", "Mux B", "Mux C", "Multiplex-of-the-Northern-Counties", "Regional 2")
MADE = tuple(
    f"{name}: read in a public copy; from memory, unverified" for name in ("model", "terrain", "grid")
)
NOTE = "The stations of this study are invented, and so are the people."


@cache
def all_pages() -> dict[str, str]:
    """Return the pages by name."""
    return {
        "map": render_map(shadowed_map()),
        "site": site(),
        "hill": render_hill(FRAME, hill()),
        "compare": render_comparison(FRAME, hill(), hill(), side_by_side()),
        **{name: as_html(document) for name, document in support_reports.samples().items()},
        **{f"guide {topic}": guide()[f"{topic}.html"] for topic in ("index", "start", "feed", "sources")},
    }


@cache
def guide() -> dict[str, str]:
    """Return the pages of the guide that ships, by file name."""
    return render_guide(guide_content())


def shadowed_map() -> MapPage:
    """Return the map with fields so weak that some ground stays unserved."""
    page = support_map_page.map_page()
    layers = tuple(replace(layer, field_dbuv_m=layer.field_dbuv_m - 15.0) for layer in page.layers)
    return replace(page, layers=layers)


FRAME = SiteFrame("Where a relay should stand", f"Valley behind {STATION}", MADE, NOTE)


def picture() -> HillPicture:
    row, column = np.indices((60, 56), dtype=float)
    worth = np.where(column > 30, np.nan, row)
    marks = (
        PictureMark("hill", 19.0, 29.0, "1", "hill 1"),
        PictureMark("station", 5.0, 50.0, "Tarnbeacon", "Tarnbeacon, parent"),
        PictureMark("unserved", 9.0, 9.0, "", "10 people lack a service"),
    )
    heights = 300.0 + 50.0 * np.sin(row / 5.0) + 30.0 * np.cos(column / 7.0)
    return HillPicture(heights, worth, 90.0, marks, "What each hill is worth")


def site() -> str:
    """Return the map of hills with every column that the list may have."""
    heads = (
        *("hill", "longitude", "latitude", "ground m", "over valley m", "<hears", "margin dB", "people"),
        *("harmed", "score", "counted", "alone", "<pattern", "<feed", "cost"),
    )
    cells = ("−84.34221", "36.60235", "1\u202f256", "358", STATION, "12.4", "11\u202f973", "1\u202f204")
    more = ("10\u202f769", "11\u202f975", "1\u202f153", "panels, 135°", "fails: overload", "2\u202f500")
    rows = tuple((str(rank), *cells, *more) for rank in range(1, 11))
    listed = PageTable("The list", heads, rows, tuple(f"hill-{n:02d}.html" for n in range(1, 11)), "n.")
    found = PageTable("How it was found", ("<",), (("29 365 cells of 180 m; 15 790 hear a parent",),))
    return render_site_map(FRAME, picture(), 24.0, "people", [listed, found], "Hill 1 newly serves most.")


def hill() -> HillSheet:
    names = ("Longitude, latitude", "Hears", "Newly served by the whole coverage")
    why = PageTable(
        "Verdict on the feed: passes",
        ("<service", "<verdict", "<why"),
        tuple((each, "passes", "for 99 % of time, margin 16.58 dB, 6.58 dB more") for each in SERVICES),
        note="judged as a feed: noise, stations on the same and on adjacent channels",
    )
    facts = tuple((name, f"−84.34221, {STATION}") for name in names)
    return HillSheet("Hill 1", facts, ("newly serves 1 973 of 2 518 people",), (why,), picture())


def side_by_side() -> PageTable:
    rows = tuple((name, "−84.34221, 36.60235", STATION) for name in ("Longitude, latitude", "Hears"))
    return PageTable("Side by side", ("<", "Hill 1", "Hill 2"), rows)
