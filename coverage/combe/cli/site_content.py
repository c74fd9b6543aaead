"""Writes the files of a siting: map of all hills, a page for each of the list, two compared, GeoPackage."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from combe.answers.site_candidates import Candidate, served_by
from combe.answers.site_feed import NOT_JUDGED
from combe.answers.site_report import SiteReport
from combe.answers.site_setup import cell_of
from combe.cli.output import plain
from combe.cli.site_words import (
    facts_of,
    funnel_lines,
    list_table,
    meaning_words,
    own_lines,
    set_lines,
)
from combe.digits import spoken, true_minus
from combe.errors import RangeError
from combe.files import write_text_atomically
from combe.planning.siting.problem import harmed_by
from combe.publishing.content import StationMark
from combe.publishing.site_page import (
    HillSheet,
    PageTable,
    SiteFrame,
    render_comparison,
    render_hill,
    render_site_map,
)
from combe.publishing.site_picture import HillPicture, PictureMark
from combe.publishing.vector import hill_layer, station_layer, write_geopackage
from combe.stations.transmitter import Station


@dataclass(frozen=True)
class SiteFiles:
    """What was written; ``hill_pages`` in the order of the list, ``comparison`` one page or none."""

    map_page: Path
    hill_pages: tuple[Path, ...]
    comparison: tuple[Path, ...]
    vector: Path


def write_site_files(report: SiteReport, folder: Path, compare: tuple[int, int] | None = None) -> SiteFiles:
    """Write all pages and the GeoPackage into a folder.

    Raises
    ------
    RangeError
        Hills to compare that are not in the list.
    OutputError
        A file that cannot be written.
    """
    _check_compared(report, compare)
    sheets = [hill_sheet(report, number) for number in range(len(report.candidates))]
    pages = tuple(folder / f"hill-{each.rank:02d}.html" for each in report.candidates)
    for path, sheet in zip(pages, sheets, strict=True):
        write_text_atomically(path, render_hill(_frame(report, sheet.title), sheet))
    map_page = folder / "site.html"
    write_text_atomically(map_page, site_map(report, [path.name for path in pages]))
    compared: tuple[Path, ...] = ()
    if compare is not None:
        compared = (folder / f"compare-{compare[0]:02d}-{compare[1]:02d}.html",)
        write_text_atomically(compared[0], comparison(report, sheets, compare))
    vector = folder / "site.gpkg"
    write_geopackage(vector, _layers(report))
    return SiteFiles(map_page, pages, compared, vector)


def _check_compared(report: SiteReport, compare: tuple[int, int] | None) -> None:
    for rank in compare or ():
        if rank > len(report.candidates):
            raise RangeError("hill to compare", rank, f"1 to {len(report.candidates)}, the list")


def site_map(report: SiteReport, links: list[str]) -> str:
    """Return the page with the map of all hills."""
    search, unit = report.work.search, "people"
    worth = np.full(report.work.area.heights_m.size, np.nan)
    worth[search.hills] = search.value
    if search.has_costs:
        unit = "people per cost"
    if search.may_harm:
        unit = unit.replace("people", "people less those harmed")
    picture = HillPicture(
        report.work.area.heights_m,
        worth.reshape(report.work.area.heights_m.shape),
        report.work.area.grid.cell_size_m,
        (*_people_marks(report, None), *_station_marks(report), *_hill_marks(report, report.candidates)),
        "What each hill is worth over the shaded ground, the hills of the list numbered",
    )
    best = float(np.nanmax(search.value)) if np.isfinite(search.value).any() else 0.0
    heads, rows = list_table(report)
    table = PageTable(
        "The list",
        tuple(("<" if head in ("hears", "pattern", "feed") else "") + head for head in heads),
        tuple(tuple(_cell(each) for each in row) for row in rows),
        tuple(links),
        f"{meaning_words(heads)}.",
    )
    told = [*funnel_lines(report), *set_lines(report), *own_lines(report)]
    more = PageTable("How it was found", ("<",), tuple((true_minus(line.strip()),) for line in told))
    lead = (
        " ".join(f"Hill 1 {true_minus(each.reasons[0])}." for each in report.candidates[:1])
        or "No hill serves anybody."
    )
    return render_site_map(
        _frame(report, "Where a relay should stand"),
        picture,
        best,
        unit,
        [table, more],
        lead,
        nothing="nobody, or no more than are harmed" if search.may_harm else "nobody",
        blank="not searched" if search.run else "not searched, or left by a bound under the list",
    )


def hill_sheet(report: SiteReport, number: int) -> HillSheet:
    """Return the sheet of one hill of the list, counted from 0."""
    each, work = report.candidates[number], report.work
    feed = PageTable(
        f"Feed from {each.parent}, as searched",
        ("<service", "input dBm", "C/N at time dB", "search margin dB"),
        tuple(
            (row.service, _cell(row.input_dbm), _cell(row.carrier_to_noise_db), _cell(row.margin_db))
            for row in each.feed
        ),
        note="as the search finds it, by its own samples of the ground, no discrimination by the aerial; "
        f"asked: {work.question.chain.required_margin_db:g} dB for "
        f"{work.question.time_percent:g} % of time; the input is the median",
    )
    judged = PageTable(
        f"Verdict on the feed: {each.whole_feed.verdict}",
        ("<service", "<verdict", "<why"),
        tuple(
            (service.radiated.name, service.verdict, true_minus(service.reason))
            for service in each.whole_feed.services
        ),
        note=NOT_JUDGED,
    )
    radiated = PageTable(
        "Radiated",
        ("<service", "channel", "MHz", "ERP W"),
        tuple(
            (service.name, str(service.channel), f"{service.frequency_mhz:g}", _power_words(service.erp_w))
            for service in each.station.services
        ),
    )
    picture = HillPicture(
        work.area.heights_m,
        np.full(work.area.heights_m.shape, np.nan),
        work.area.grid.cell_size_m,
        (
            *_people_marks(report, each),
            *_harmed_marks(report, each),
            *_station_marks(report),
            *_hill_marks(report, (each,)),
        ),
        f"Whom hill {each.rank} newly serves, over the shaded ground",
    )
    facts = facts_of(each, work.search)
    return HillSheet(
        f"Hill {each.rank}",
        tuple((name, true_minus(words)) for name, words in facts),
        tuple(true_minus(words) for words in each.reasons),
        (judged, feed, radiated),
        picture,
    )


def comparison(report: SiteReport, sheets: list[HillSheet], compare: tuple[int, int]) -> str:
    """Return the page of two hills side by side."""
    first, second = (sheets[rank - 1] for rank in compare)
    pairs = zip(first.facts, second.facts, strict=True)
    served = [served_by(report.work, report.candidates[rank - 1].hill) for rank in compare]
    people = report.work.search.problem.people
    overlap = float(np.sum(people[served[0] & served[1]]))
    union = float(np.sum(people[served[0] | served[1]]))
    both = PageTable(
        "Side by side",
        ("<", first.title, second.title),
        tuple((name, words, other) for (name, words), (_, other) in pairs),
        note=f"Together they serve {spoken(union)} people; {spoken(overlap)} are reached by both.",
    )
    title = f"{first.title} and {second.title.lower()}"
    return render_comparison(_frame(report, title), first, second, both)


def _frame(report: SiteReport, title: str) -> SiteFrame:
    about = report.work.project
    made = tuple(f"{name}: {words}" for name, words in report.provenance.items())
    return SiteFrame(
        title,
        f"{about.title}. {about.note}".strip(),
        made,
        report.provenance.get("invented", ""),
    )


def _people_marks(report: SiteReport, candidate: Candidate | None) -> list[PictureMark]:
    """Return the places with people who lack a service, told apart by whether a hill serves them."""
    targets, people = report.work.search.problem.targets, report.work.search.problem.people
    served = np.zeros(people.size, dtype=np.bool_)
    if candidate is not None:
        served = served_by(report.work, candidate.hill)
    size = np.clip(np.sqrt(people / max(float(people.max()), 1e-9)), 0.55, 1.0)
    return [
        PictureMark(
            "served" if served[j] else "unserved",
            float(targets.row[j]),
            float(targets.column[j]),
            "",
            f"{spoken(people[j], 1)} people, {'newly served' if served[j] else 'lack a service'}",
            float(size[j]),
        )
        for j in range(people.size)
    ]


def _harmed_marks(report: SiteReport, candidate: Candidate) -> list[PictureMark]:
    """Return the places with people who lose a service from others by a hill."""
    search = report.work.search
    at = np.flatnonzero(harmed_by(search.problem, candidate.hill, int(search.option[candidate.hill])))
    people, places = search.problem.harm.victims.people, search.problem.harm.places
    return [
        PictureMark(
            "harmed",
            float(places.row[v]),
            float(places.column[v]),
            "",
            f"{spoken(people[v], 1)} people lose a service from another station",
        )
        for v in at
    ]


def _station_marks(report: SiteReport) -> list[PictureMark]:
    """Return the stations that stand on the grid; beyond it a label would stand without its mark."""
    marks, grid = [], report.work.area.grid
    for station in report.work.project.stations:
        row, column = cell_of(report.work.area, station.longitude_deg, station.latitude_deg)
        if -0.5 <= row < grid.rows - 0.5 and -0.5 <= column < grid.columns - 0.5:
            marks.append(PictureMark("station", row, column, station.name, f"{station.name}, {station.role}"))
    return marks


def _hill_marks(report: SiteReport, listed: tuple[Candidate, ...]) -> list[PictureMark]:
    columns = report.work.area.grid.columns
    marks = []
    for each in listed:
        row, column = divmod(int(report.work.search.hills[each.hill]), columns)
        feed = f"hears {each.parent}, search margin {spoken(each.feed_margin_db, 1)} dB"
        told = f"hill {each.rank}: {spoken(each.people)} people, {feed}"
        marks.append(PictureMark("hill", row, column, str(each.rank), told))
    return marks


def _layers(report: SiteReport) -> dict[str, object]:
    rows = [
        {
            "rank": each.rank,
            "people": each.people,
            "people_counted": each.counted,
            "people_alone": each.alone,
            **({"people_harmed": each.harmed} if report.work.search.harm_counted else {}),
            "score": each.worth,
            "parent": each.parent,
            "search_margin_db": each.feed_margin_db,
            "ground_m": each.ground_m,
            "above_valley_m": each.above_valley_m,
            "pattern": each.option,
            "azimuth_deg": plain(each.azimuth_deg),
            **({"cost": each.cost} if report.work.search.has_costs else {}),
        }
        for each in report.candidates
    ]
    places = [(each.station.longitude_deg, each.station.latitude_deg) for each in report.candidates]
    layers: dict[str, object] = {
        "stations": station_layer([_mark(each) for each in report.work.project.stations])
    }
    if rows:
        layers["hills"] = hill_layer(rows, places)
    if report.sets.sites:
        layers["chosen"] = hill_layer(
            [{"site": n, "adds": each.adds, "pattern": each.option, "erp_w": max(each.erp_w)}
             for n, each in enumerate(report.sets.sites, start=1)],
            [(each.station.longitude_deg, each.station.latitude_deg) for each in report.sets.sites],
        )  # fmt: skip
    return layers


def _mark(station: Station) -> StationMark:
    services = ", ".join(f"ch {service.channel} {service.erp_w:g} W" for service in station.services)
    return StationMark(
        station.name,
        station.role,
        station.longitude_deg,
        station.latitude_deg,
        station.aerial_height_m,
        services,
    )


def _power_words(erp_w: float) -> str:
    return f"{erp_w:.4g}" if erp_w < 1000.0 else spoken(erp_w)


def _cell(value: object) -> str:
    if isinstance(value, float | int):
        return spoken(value, 1 if isinstance(value, float) else 0)
    return true_minus(str(value))
