"""What the desk says of a settled state: its numbers as JSON, and the cells of its layers as bytes."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any, Final

import numpy as np

from combe.answers.cover import CoverReport
from combe.answers.explain import explain_place
from combe.answers.exposure import exposure_of
from combe.answers.feed import RelayFeed
from combe.answers.live_cover import Sketch
from combe.answers.network import draw_ranges, mapped_margin_db
from combe.answers.people_places import people_places
from combe.answers.site_candidates import Candidate
from combe.desk.protocol import Layer
from combe.desk.settled import Settled
from combe.digits import true_minus
from combe.errors import CombeError, RangeError, did_you_mean, quoted
from combe.publishing.as_html import fragment_html
from combe.publishing.as_json import as_object, plain
from combe.publishing.content import PEOPLE_STATES, MapLayer
from combe.publishing.desk_page import render_desk
from combe.publishing.map_grid import StepGrid, in_steps
from combe.publishing.map_page import FIELD_STEPS_PER_DB, layer_codes, layer_data, thinning
from combe.publishing.page_language import in_page_language
from combe.reports import cover as cover_document
from combe.reports import explain as explain_document
from combe.reports import feed as feed_document
from combe.reports.cover_layers import map_layers
from combe.reports.cover_map import map_content
from combe.reports.how_sure import range_sentences
from combe.study.schema import StationSection
from combe.terrain import StudyGrid, cell_centres_m, height_at
from combe.words import tell

FORMAT: Final = "combe/desk/1"
STORY: Final = "story"
"""The key of the first view: the layers of all services before and after, one after the other."""

_STORY_LAYERS: Final = ("before", "after")
_OF_STATION: Final = (
    "longitude_deg", "latitude_deg", "aerial_height_m", "polarization", "horizontal_pattern", "bearing_deg",
    "vertical_pattern", "tilt_deg", "on_air",
)  # fmt: skip
_COVERED: Final = ("people_served_all_services",)
_OF_SERVICE: Final = ("frequency_mhz", "minimum_field_dbuv_m", "cells", "people_served")
_MARGINS: Final = ("margin_db", "required_margin_db")
_SKETCH: Final = ("total", "served", "served_before", "newly_served", "lost", "unserved")


def page_of(settled: Settled, save_name: str) -> str:
    """Return the page of the desk."""
    # Its people come with each answer of the server, at the planning minimum.
    page = map_content(settled.report, recounted=False)
    return render_desk(page, study_name=settled.study.path.name, save_name=save_name)


def state_of(settled: Settled, *, ranges: bool = True) -> dict[str, Any]:
    """Return the numbers of a state: all of a coverage's JSON, and the stations as they are written.

    Without ``ranges`` those of its people are null, and not told in words; to draw them takes a while.
    """
    report = settled.report
    if ranges:
        draw_ranges((report.all_services, *report.services))
    found = as_object(cover_document.document(report if ranges else _without_ranges(report)))
    covered = {each["name"]: each for each in found["stations"]}
    stations = [
        _station(settled, section, covered.get(section.name)) for section in settled.study.content.stations
    ]
    return {
        **found,
        "format": FORMAT,
        "sure": list(_sure(report)) if ranges else None,
        "settled_s": round(settled.settled_s, 4),
        "edits": plain(settled.edits),
        "stations": stations,
        "feeds": [_feed(each, settled.report) for each in found["feeds"] or ()],
    }


def _sure(report: CoverReport) -> tuple[str, ...]:
    """Return in words between which numbers the people lie."""
    sentences = range_sentences(report.all_services.ranges, relays=report.compared)
    return tuple(in_page_language(true_minus(each)) for each in sentences)


def _without_ranges(report: CoverReport) -> CoverReport:
    everything, *services = (replace(each, draw=None) for each in (report.all_services, *report.services))
    return replace(report, all_services=everything, services=tuple(services))


def numbers_of_file(settled: Settled) -> dict[str, Any]:
    """Return what a page tells changes against, of the state of the study's file."""
    state = state_of(settled, ranges=False)
    services = [
        {key: value for key, value in each.items() if key == "name" or key.startswith("people_")}
        for each in state["services"]
    ]
    feeds = [
        {
            "relay": each["relay"],
            "services": [{key: one[key] for key in ("service", "margin_db")} for one in each["services"]],
        }
        for each in state["feeds"]
    ]
    everybody = {key: value for key, value in state["all_services"].items() if key != "ranges"}
    return {"all_services": everybody, "services": services, "feeds": feeds}


def _station(settled: Settled, section: StationSection, covered: Mapping[str, Any] | None) -> dict[str, Any]:
    """Return a station as it is written, with what it covers; null for one that is off the air."""
    covered = covered or {}
    of_services = {each["name"]: each for each in covered.get("services", ())}
    on_air = [each for each in settled.project.stations if each.name == section.name]
    exposure, unknown = exposure_of(on_air[0]) if on_air else (None, "")
    return {
        "name": section.name,
        "role": section.role,
        **{key: getattr(section, key) for key in _OF_STATION},
        "radiates": bool(on_air),
        "silenced_by": None if on_air else _silencer(settled, section),
        "parent": section.feed.from_ if section.feed else None,
        "ground_m": _ground_m(settled, section),
        "exposure_distance_m": round(exposure.distance_m, 2) if exposure else None,
        "exposure_caution": in_page_language(exposure.caution if exposure else unknown) or None,
        **{key: covered.get(key) for key in _COVERED},
        "services": [
            {"name": each.name, "channel": each.channel, "erp_w": each.erp_w}
            | {key: of_services.get(each.name, {}).get(key) for key in _OF_SERVICE}
            for each in section.services
        ],
    }


def _silencer(settled: Settled, section: StationSection) -> str | None:
    """Return the station off the air that leaves one without a feed; None for one that is off itself."""
    sections = {each.name.casefold(): each for each in settled.study.content.stations}
    passed: set[str] = set()
    at = section
    while at.on_air and at.feed and at.name not in passed:
        passed.add(at.name)
        at = sections[at.feed.from_.casefold()]
    return None if at is section or at.on_air else at.name


def _ground_m(settled: Settled, section: StationSection) -> float | None:
    with suppress(CombeError):
        terrain = settled.project.terrain
        return round(height_at(terrain, section.longitude_deg, section.latitude_deg, section.name), 1)
    return None


def _feed(found: Mapping[str, Any], report: CoverReport) -> dict[str, Any]:
    """Return how a feed stands, with the margins of its services; null where nothing is predicted."""
    relay = _relay(report, found["relay"])
    budgets = {each.radiated.name: each.budget for each in relay.services} if relay else {}
    services = []
    for each in found["services"]:
        budget = budgets.get(each["service"])
        margins = {key: _rounded(getattr(budget, key)) if budget else None for key in _MARGINS}
        services.append({**each, **margins})
    return {**found, "services": services}


def _rounded(value: float) -> float | None:
    return round(value, 2) if math.isfinite(value) else None


def _relay(report: CoverReport, name: str) -> RelayFeed | None:
    return next((each for each in report.relay_feeds if each.relay.name.casefold() == name.casefold()), None)


def feed_of(settled: Settled, station: str) -> dict[str, Any]:
    """Return the feed of a relay; RangeError for a station that has none here."""
    found = _relay(settled.report, station)
    if found is None or settled.report.feeds is None:
        names = [each.relay.name for each in settled.report.relay_feeds]
        raise RangeError(
            "relay with a feed", station, ", ".join(names) or "none here", did_you_mean(station, names)
        )
    document = feed_document.document(replace(settled.report.feeds, relays=(found,), gaps=()))
    return {"station": found.relay.name, "verdict": found.verdict, "html": fragment_html(document)}


def explained(settled: Settled, longitude_deg: float, latitude_deg: float) -> dict[str, Any]:
    """Return the explanation of a place; errors as :func:`combe.answers.explain.explain_place`."""
    document = explain_document.document(explain_place(settled.project, longitude_deg, latitude_deg))
    return {**as_object(document), "html": fragment_html(document)}


def layers_of(settled: Settled) -> list[dict[str, Any]]:
    """Return the layers that can be shown, without their cells."""
    return [layer_data(each) for each in map_layers(settled.report)]


def layer_of(settled: Settled, key: str) -> Layer:
    """Return the cells of a layer, of the story for its key; RangeError for an unknown one."""
    every = thinning(settled.report.grid)
    found = _found(settled.report, _STORY_LAYERS if key == STORY else (key,))
    return _as_bytes([layer_codes(each, every) for each in found], {})


def _found(report: CoverReport, keys: Sequence[str]) -> list[MapLayer]:
    """Return layers by their keys; none further than the last of them is worked out."""
    found: dict[str, MapLayer] = {}
    for each in map_layers(report):
        found[each.key] = each
        if all(key in found for key in keys):
            return [found[key] for key in keys]
    raise RangeError("layer", quoted(keys[0]), ", ".join((STORY, *found)))


def sketch_of(sketch: Sketch, grid: StudyGrid, coarser: int) -> Layer:
    """Return the story of a sketch in the cells of the page, each with what the coarse cell there has.

    ``coarser`` says how many cells of the study lie along a side of one of the sketch.
    """
    every = thinning(grid)
    x_m, y_m = (each[every // 2 :: every] for each in cell_centres_m(grid))
    rough = sketch.grid
    row = ((rough.north_m - y_m) / rough.cell_size_m).astype(int).clip(0, rough.rows - 1)
    column = ((x_m - rough.west_m) / rough.cell_size_m).astype(int).clip(0, rough.columns - 1)
    network = sketch.all_services
    coded = [
        in_steps(mapped_margin_db(margin_db)[np.ix_(row, column)], FIELD_STEPS_PER_DB)
        for margin_db in (network.margin_before_db, network.margin_db)
    ]
    people = None if network.people is None else {key: getattr(network.people, key) for key in _SKETCH}
    return _as_bytes(coded, {"X-Combe-Sketch": json.dumps(plain({"people": people, "of": _every(coarser)}))})


def _every(coarser: int) -> str:
    """Return of which cells a sketch is, in words."""
    words = {1: "every cell", 2: "every second cell a side", 3: "every third cell a side"}
    return in_page_language(words.get(coarser, tell("every {coarser}th cell a side", coarser=coarser)))


def _as_bytes(coded: Sequence[StepGrid], headers: Mapping[str, str]) -> Layer:
    """Return grids of one scale, one after the other, as the page reads them."""
    codes = b"".join(np.ascontiguousarray(each.codes, dtype="<u2").tobytes() for each in coded)
    bases = ",".join(str(each.base) for each in coded)
    steps = str(coded[0].steps_per_unit)
    return Layer(codes, {"X-Combe-Base": bases, "X-Combe-Steps-Per-Unit": steps, **headers})


def marks_of(settled: Settled) -> dict[str, Any]:
    """Return how each mark of people stands, a digit for each, in the order of the page's."""
    report = settled.report
    if report.people is None:
        return {"states": ""}
    places = people_places(report.people, report.grid, report.all_services)
    return {"states": "".join(str(PEOPLE_STATES.index(each.state)) for each in places)}


def hill_of(found: Candidate) -> dict[str, Any]:
    """Return a hill of the list as a place for a relay."""
    numbers = {
        "longitude_deg": round(found.station.longitude_deg, 6),
        "latitude_deg": round(found.station.latitude_deg, 6),
        "ground_m": round(found.ground_m, 1),
        "score": round(found.score, 3),
        "people_newly": round(found.counted, 3),
        "people_harmed": round(found.harmed, 3),
        "feed_margin_db": _rounded(found.feed_margin_db),
    }
    return {"rank": found.rank, "parent": found.parent, **numbers, "reasons": list(found.reasons)}
