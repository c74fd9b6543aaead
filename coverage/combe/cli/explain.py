"""``combe explain``: says of one place which station serves it, and what would have to change."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option, study_argument
from combe.cli.output import print_cautions, print_json, print_made_by, print_table, say

if TYPE_CHECKING:
    from combe.answers.explain import Candidate, Disturber, Explanation, ServiceExplained


class _Place(click.ParamType):  # type: ignore[type-arg]
    """LON,LAT in degrees."""

    name = "LON,LAT"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return (longitude, latitude)."""
        given = str(value).replace("−", "-")
        number = r"[+-]?\d+(?:\.\d+)?"
        found = re.fullmatch(rf"\s*({number})\s*,\s*({number})\s*", given, re.ASCII)
        if found is None:
            self.fail(f"{value!r} is no LON,LAT in degrees; write for example -84.21,36.55", param, ctx)
        lon, lat = (float(each) for each in found.groups())
        if not (abs(lon) <= 180.0 and abs(lat) <= 90.0):
            self.fail(f"{value!r} is outside the globe; longitude comes first", param, ctx)
        return lon, lat


@click.command("explain")
@study_argument
@click.option("--at", "place", required=True, type=_Place(), metavar="LON,LAT", help="The place, in degrees.")
@json_option
def command(study: Path, place: tuple[float, float], as_json: bool) -> None:
    r"""Explain one place: server, field, nuisance fields, margin, and what would have to change.

    The place itself is predicted, so this needs no map and can differ from the map's cell by what the
    ground does within the cell. A relay counts as if its feed passed; where that of the best station fails
    or is not judged, the text and the JSON say so.

    \b
    JSON: study, longitude_deg, latitude_deg, ground_m,
      services[]{name, served (null where no station has a prediction), served_by (null if not served),
        interferers_unknown[] (of the best candidate, without a prediction here: its margin leaves them
          out), share (of places served, null where nothing can interfere), noise_share, words[],
        candidates[]{station, channel, distance_km, bearing_deg, field_dbuv_m, minimum_dbuv_m
          (for noise alone), needed_dbuv_m, noise_margin_db, margin_db, feed{verdict, words (empty
            where the feed of this service passes)} (of the best candidate; null if it is no relay),
          nuisances[]{station, service, channel, relation, time, field_dbuv_m, protection_db,
            off_axis_deg, gain_db, nuisance_dbuv_m (null: not known), margin_without_db,
            lower_by_db (null: not even without it, or not known), reference}}},
      provenance{}, cautions[]
    """
    from combe.answers.explain import explain_place
    from combe.study.project_of import load_project

    found = explain_place(load_project(study), *place)
    if as_json:
        print_json(_as_json(found))
        return
    _print(found)


def _as_json(found: Explanation) -> dict[str, Any]:
    from combe.publishing.cautions import CAUTIONS

    return {
        "study": found.project.key,
        "longitude_deg": found.longitude_deg,
        "latitude_deg": found.latitude_deg,
        "ground_m": found.ground_m,
        "services": [_service_json(each) for each in found.services],
        "provenance": found.provenance,
        "cautions": CAUTIONS,
    }


def _service_json(each: ServiceExplained) -> dict[str, Any]:
    return {
        "name": each.name,
        "served": each.served,
        "served_by": each.server.station.name if each.server else None,
        "interferers_unknown": [f"{one.station.name} {one.service.name}" for one in each.unknown],
        "share": each.share,
        "noise_share": each.noise_share,
        "words": each.words,
        "candidates": [_candidate_json(one) for one in each.candidates],
    }


def _candidate_json(each: Candidate) -> dict[str, Any]:
    return {
        "station": each.station.name,
        "channel": each.service.channel,
        "distance_km": each.distance_km,
        "bearing_deg": each.bearing_deg,
        "field_dbuv_m": each.field_dbuv_m,
        "minimum_dbuv_m": each.minimum_dbuv_m,
        "needed_dbuv_m": each.needed_dbuv_m,
        "noise_margin_db": each.noise_margin_db,
        "margin_db": each.margin_db,
        "feed": None
        if each.feed is None
        else {"verdict": each.feed.verdict_of(each.service.name), "words": each.feed_words},
        "nuisances": [_nuisance_json(one) for one in each.disturbers],
    }


def _nuisance_json(each: Disturber) -> dict[str, Any]:
    return {
        "station": each.station.name,
        "service": each.service.name,
        "channel": each.service.channel,
        "relation": each.relation,
        "time": each.nuisance.time,
        "field_dbuv_m": each.nuisance.field_dbuv_m,
        "protection_db": each.nuisance.protection_db,
        "off_axis_deg": each.nuisance.off_axis_deg,
        "gain_db": each.nuisance.gain_db,
        "nuisance_dbuv_m": each.nuisance.nuisance_dbuv_m,
        "margin_without_db": each.nuisance.margin_without_db,
        "lower_by_db": each.nuisance.lower_by_db,
        "reference": each.reference,
    }


def _print(found: Explanation) -> None:
    say(
        f"{found.project.title}: {found.longitude_deg:.5f}, {found.latitude_deg:.5f}, "
        f"ground {found.ground_m:.0f} m"
    )
    for each in found.services:
        say()
        for sentence in each.words:
            say(click.wrap_text(sentence, width=96, subsequent_indent="  "))
        _print_candidates(each)
        _print_nuisances(each.candidates[0])
    say()
    print_made_by(found.provenance, "television", "time of service", "interference")
    print_cautions()


def _print_candidates(each: ServiceExplained) -> None:
    heads = ("station", "ch", "km", "bearing", "field dBµV/m", "needed", "over noise dB", "margin dB")
    rows = [
        (
            one.station.name,
            one.service.channel,
            one.distance_km,
            one.bearing_deg,
            one.field_dbuv_m,
            one.needed_dbuv_m,
            one.noise_margin_db,
            one.margin_db,
        )
        for one in each.candidates
    ]
    print_table(heads, rows)


def _print_nuisances(best: Candidate) -> None:
    if not best.disturbers:
        return
    say(f"  nuisance fields against {best.station.name}, the strongest first")
    heads = ("interferer", "ch", "relation", "field", "protection", "aerial dB", "nuisance", "lower by dB")
    rows = [
        (
            f"{one.station.name}, {one.service.name}",
            one.service.channel,
            one.relation,
            one.nuisance.field_dbuv_m,
            one.nuisance.protection_db,
            one.nuisance.gain_db,
            one.nuisance.nuisance_dbuv_m,
            one.nuisance.lower_by_db,
        )
        for one in best.disturbers
    ]
    print_table(heads, rows)
