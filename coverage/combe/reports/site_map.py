"""What the page of a siting shows on its map: what every hill is worth, what is known of it, and the list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from combe.digits import spoken, true_minus
from combe.publishing.as_html import about_of, fragment_html
from combe.publishing.content import MapPage, PeopleMark
from combe.publishing.fields import Mark
from combe.publishing.hills_page import HillQuantity, HillsShown, ListedHill, render_hills
from combe.publishing.map_grid import CELLS_LIMIT
from combe.reports.cover_map import station_mark
from combe.reports.map_context import (
    context_credits,
    context_marks,
    contour_marks,
    named_places,
    sheet_credits,
)
from combe.reports.site_hill import own_name
from combe.reports.site_own_feed import own_line, own_mark
from combe.reports.station_card import station_card
from combe.terrain import cells_to_lonlat_deg
from combe.words import Name, chain, tell

if TYPE_CHECKING:
    from combe.answers.site_report import SiteReport
    from combe.publishing.document import Document
    from combe.reports.site_hill import Hill

_QUANTITIES: Final = {
    "score": ("Score", "people", False, 10, 0),
    "people": ("People newly served", "people", False, 10, 0),
    "people_harmed": ("People harmed", "people", True, 10, 0),
    "search_margin_db": ("Search margin of the feed", "dB", False, 10, 1),
    "above_valley_m": ("Height over the valley", "m", False, 1, 0),
    "slope_deg": ("Slope", "°", True, 10, 1),
    "access_m": ("Distance to access", "m", True, 1, 0),
    "cost": ("Cost", "", True, 10, 0),
}
"""How each thing that is known of hills is called and filtered: title, unit, whether a filter keeps what is
at most its value, steps a unit that the page knows, and decimals that it tells."""


def hills_html(report: SiteReport, made: Document, hills: Sequence[Hill], *, index: str = "") -> str:
    """Return the page of a siting; ``made`` is its document, ``hills`` are those of the list with pages.

    The page links back to ``index``.
    """
    return render_hills(map_content(report, made, index), hills_content(report, made, hills))


def map_content(report: SiteReport, made: Document, index: str = "") -> MapPage:
    """Return the ground of a siting with its people and stations, and the words of its document around it."""
    work, study = report.work, made.study
    grid = work.area.grid
    thinner = max(grid.rows, grid.columns) > CELLS_LIMIT
    return MapPage(
        title=chain(Name(work.project.title), ": ", made.title),
        subtitle=study.note if study else "",
        grid=grid,
        heights_m=work.area.heights_m,
        layers=(),
        before_keys=(),
        after_keys=(),
        people=_people(report),
        people_words={"unserved": "who lack a service", "newly served": "whom the chosen hill would serve"},
        stations=tuple(
            replace(station_mark(each), card=station_card(work.cover, each)) for each in work.project.stations
        ),
        places=named_places(work.cover),
        context=context_marks(work.cover),
        contours=contour_marks(work.cover),
        provenance=(
            *(chain(name, ": ", words) for name, words in made.made_by.items()),
            *context_credits(work.cover),
        ),
        invented_note=study.invented if study else "",
        left_out=_THINNED if thinner else "",
        credits=sheet_credits(work.cover),
        index=index,
        about=about_of(made),
    )


_THINNED: Final = tell(
    "The page holds no more than {cells} cells a side, so only every second or third hill each way; numbers "
    "of hills are of these.",
    cells=CELLS_LIMIT,
)


def hills_content(report: SiteReport, made: Document, hills: Sequence[Hill]) -> HillsShown:
    """Return what is known of all hills, and the list."""
    work = report.work
    search = work.search
    quantities = _quantities(report)
    unit = "people less those harmed" if search.may_harm else "people"
    shown = replace(made, headline=(), verdict=None)
    return HillsShown(
        searched=_searched(report),
        worth=report.read_value(),
        quantities=quantities,
        listed=tuple(_listed(report, hill, quantities) for hill in hills),
        heads=_heads(report),
        unit=tell("{unit} per cost", unit=unit) if search.has_costs else unit,
        nothing="nobody, or no more than are harmed" if search.may_harm else "nobody",
        unpriced="not priced: left by a bound under the list",
        sentences=made.headline,
        more=fragment_html(shown),
    )


def _searched(report: SiteReport) -> np.ndarray:
    found = np.zeros(report.work.area.heights_m.size, dtype=np.bool_)
    found[report.work.search.hills] = True
    return found.reshape(report.work.area.heights_m.shape)


def _quantities(report: SiteReport) -> tuple[HillQuantity, ...]:
    """Return what is known of hills; people are the score itself where nobody can be harmed."""
    alike = {"people"} if not report.work.search.may_harm else set()
    return tuple(
        HillQuantity(key, title, unit, values, at_most, steps, decimals)
        for key, values in report.read_hills().items()
        if key not in alike
        for title, unit, at_most, steps, decimals in [_QUANTITIES[key]]
    )


def _heads(report: SiteReport) -> tuple[str, ...]:
    harm = ("harmed", "score") if report.work.search.may_harm else ()
    own = ("own relay",) if own_name(report) else ()
    return ("hill", "people", *harm, "margin dB", "feed", *own)


def _listed(report: SiteReport, hill: Hill, quantities: Sequence[HillQuantity]) -> ListedHill:
    candidate, parent = hill.candidate, report.work.project.station(hill.candidate.parent)
    harm = (spoken(candidate.harmed), spoken(candidate.score)) if report.work.search.may_harm else ()
    feed, own = candidate.whole_feed, hill.own_feed
    row, column = divmod(int(report.work.search.hills[candidate.hill]), report.work.area.grid.columns)
    found = {each.key: float(each.values[row, column]) for each in quantities}
    return ListedHill(
        rank=candidate.rank,
        longitude_deg=candidate.station.longitude_deg,
        latitude_deg=candidate.station.latitude_deg,
        hears_deg=(parent.longitude_deg, parent.latitude_deg),
        named=tell(
            "Hill {rank}, {people} people, feed {verdict}",
            rank=candidate.rank,
            people=spoken(candidate.people),
            verdict=feed.verdict,
        ),
        cells=(
            spoken(candidate.people),
            *harm,
            spoken(candidate.feed_margin_db, 1),
            Mark(feed.verdict, feed.verdict),
            *((own_mark(own),) if own_name(report) else ()),
        ),
        told=(*map(true_minus, candidate.reasons), *((own_line(own),) if own else ())),
        values={key: value if np.isfinite(value) else None for key, value in found.items()},
        serves=candidate.served,
        page=hill.page.name if hill.page else "",
    )


def _people(report: SiteReport) -> tuple[PeopleMark, ...]:
    """Return the places with people who lack a service, in the order of the targets."""
    problem, grid = report.work.search.problem, report.work.area.grid
    lon, lat = cells_to_lonlat_deg(grid, problem.targets.row, problem.targets.column)
    return tuple(
        PeopleMark(float(x), float(y), float(people), "unserved")
        for x, y, people in zip(np.atleast_1d(lon), np.atleast_1d(lat), problem.people, strict=True)
    )
