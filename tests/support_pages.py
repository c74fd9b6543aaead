"""Every kind of page with as much in it as a study allows: all columns, several services, long names."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

import support_map_page
import support_reports
from combe.cli.guide_content import guide_content
from combe.planning.exposure import RadiatedPower, compliance_distance_m
from combe.planning.visits.judge import judge_log
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.publishing.as_html import as_html
from combe.publishing.content import MapPage
from combe.publishing.feed_page import (
    BudgetRow,
    FeedPage,
    FeedPicture,
    FeedRelay,
    FeedService,
    FeedTable,
    render_feed_page,
)
from combe.publishing.guide_page import render_guide
from combe.publishing.map_page import render_map
from combe.publishing.profile_diagram import profile_svg
from combe.publishing.sheet_page import SheetPage, SheetStation, render_sheet_page
from combe.publishing.site_page import (
    HillSheet,
    PageTable,
    SiteFrame,
    render_comparison,
    render_hill,
    render_site_map,
)
from combe.publishing.site_picture import HillPicture, PictureMark
from combe.publishing.visit_page import VisitPage, render_visit_page
from support_visits import half_yearly

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
        "feed": render_feed_page(feed()),
        "site": site(),
        "hill": render_hill(FRAME, hill()),
        "compare": render_comparison(FRAME, hill(), hill(), side_by_side()),
        "visit": render_visit_page(visit()),
        "sheet": render_sheet_page(sheet()),
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


def feed() -> FeedPage:
    x_km = np.linspace(0, 12.0, 60)
    profile = profile_svg(
        x_km, 200 + 30 * np.sin(x_km), tx_height_amsl_m=280.0, rx_height_amsl_m=240.0, frequency_mhz=490.0,
        effective_radius_km=8500.0, edge_index=20, tx_name="Highmoor", rx_name="Lowgate",
    )  # fmt: skip
    labels = (
        "Fade from the median to that time, by construction",
        "Field strength, median of time",
        "Margin",
    )
    rows = tuple(BudgetRow(label, 107.8, "dB(µV/m)") for label in labels)
    services = tuple(FeedService(name, 21, rows, "passes", "for 99 % of time") for name in SERVICES)
    heads = (
        *("Service", "Point", "Step dB", "Level dBm", "dBµV, 50 Ω", "dBµV, 75 Ω", "Noise dB", "C/N dB"),
        *("All signals dBm", "Headroom dB"),
    )
    chain = tuple((name, "passive splitter", *(-105.2,) * 8) for name in SERVICES)
    parts = (
        FeedTable("Every point of the chain", heads, chain, "Medians of time."),
        FeedPicture("Levels through the chain", profile, "Levels"),
    )
    relay = FeedRelay("Lowgate", STATION, services, ((profile, "Profile"),), "12 km", parts)
    return FeedPage("A relay for Lowgate: off-air feed", "Invented", (relay,), MADE, NOTE)


def visit() -> VisitPage:
    log = [
        reading
        for number, service in enumerate(SERVICES)
        for point, quantity, unit in (
            ("feeder", "level", "dBm"),
            ("output coupler", "intermodulation", "dB"),
            ("receiver", "BER after inner decoding", "ratio"),
        )
        for reading in half_yearly(
            [-50.123 - number * k * 0.7 if unit != "ratio" else 1.234e-5 for k in range(6)],
            service=service, test_point=point, quantity=quantity, unit=unit,
        )
    ]  # fmt: skip
    return VisitPage("Larkcombe: site visits", "Notes", judge_log(log, {}), "90 readings", MADE, NOTE)


def sheet() -> SheetPage:
    where = SheetSite("Combe Relay", SERVICES, splitter_ports=len(SERVICES))
    powers = [RadiatedPower("Mux A", 634.0, 20.0)]
    near, reflected = (
        tuple(
            compliance_distance_m(powers, audience=audience, reflection_factor=factor, aerial_size_m=2.0)
            for audience in ("public", "occupational")
        )
        for factor in (1.0, 2.56)
    )
    facts = (("Place (WGS 84)", "36.61080° N, 84.28610° W"), ("Receives", STATION), ("Radiates", "Mux A"))
    station = SheetStation(where.station, facts, sheet_rows(where, {}), near, reflected)
    return SheetPage("Sheet for the next visit", "Notes", (station,), MADE, NOTE)
