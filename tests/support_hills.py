"""A made-up page of a siting: ridges, hills with values of every kind, some of them not known, and a list."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

import support_map_page
from combe.digits import spoken
from combe.publishing.content import MapPage, PeopleMark
from combe.publishing.fields import Mark
from combe.publishing.hills_page import HillQuantity, HillsShown, ListedHill, render_hills

LISTED = 4


def ground(word: str = "") -> MapPage:
    """Return the map of ridges without coverage, and people who lack a service."""
    page = support_map_page.map_page(word=word)
    people = tuple(
        PeopleMark(each.longitude_deg, each.latitude_deg, each.people, "unserved", each.name)
        for each in page.people
    )
    return replace(page, layers=(), before_keys=(), after_keys=(), people=people, people_rows=(), feeds=())


def hills(word: str = "") -> HillsShown:
    """Return hills on the upper half of the ridges; some slopes and a few worths are not known."""
    page, rng = ground(word), np.random.default_rng(12)
    high = page.heights_m > np.median(page.heights_m)
    score = np.where(high, np.round(rng.gamma(1.2, 300.0, high.shape) - 60.0, 3), np.nan)
    margin = np.where(high, rng.uniform(10.0, 50.0, high.shape), np.nan)
    slope = np.where(high & (rng.random(high.shape) > 0.02), rng.uniform(0.0, 31.0, high.shape), np.nan)
    access = np.where(high, rng.uniform(0.0, 9000.0, high.shape), np.nan)
    above = np.where(high, page.heights_m - np.nanmin(page.heights_m), np.nan)
    # Hills without a worth, as a best-first search leaves them.
    score.ravel()[np.flatnonzero(high)[:7]] = np.nan
    quantities = (
        HillQuantity("score", f"Score{word}", "people", score, steps_per_unit=10),
        HillQuantity("search_margin_db", "Search margin of the feed", "dB", margin, False, 10, 1),
        HillQuantity("above_valley_m", "Height over the valley", "m", above),
        HillQuantity("slope_deg", "Slope", "°", slope, True, 10, 1),
        HillQuantity("access_m", "Distance to access", "m", access, True),
    )
    order = np.argsort(np.where(np.isnan(score), -np.inf, score).ravel())[::-1][: LISTED * 400 : 400]
    listed = [listed_hill(page, quantities, rank, int(cell), word) for rank, cell in enumerate(order, 1)]
    return HillsShown(
        searched=high,
        worth=score,
        quantities=quantities,
        listed=tuple(listed),
        heads=("hill", "people", "margin dB", "feed"),
        unit="people",
        nothing="nobody",
        unpriced="not priced",
        sentences=(f"Hill 1 newly serves many people.{word}",),
        more="<p>All that was found.</p>",
    )


def listed_hill(
    page: MapPage, quantities: tuple[HillQuantity, ...], rank: int, cell: int, word: str
) -> ListedHill:
    row, column = divmod(cell, page.grid.columns)
    values = {each.key: float(each.values[row, column]) for each in quantities}
    verdict = "fails" if rank == 2 else "passes"
    return ListedHill(
        rank,
        *support_map_page.lonlat(page.grid, row, column),
        (page.stations[0].longitude_deg, page.stations[0].latitude_deg),
        f"Hill {rank}{word}, feed {verdict}",
        (f"{1000 - rank}", spoken(14.3, 1), Mark(verdict, verdict)),
        (f"newly serves {1000 - rank} people{word}", "stands high"),
        {key: value if np.isfinite(value) else None for key, value in values.items()},
        np.arange(len(page.people)) % (rank + 1) == 0,
        f"hill-{rank:02d}.html",
    )


def page_html(word: str = "") -> str:
    return render_hills(ground(word), hills(word))
