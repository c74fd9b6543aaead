"""``combe path``: predicts one path between two stations."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option, study_argument
from combe.cli.output import print_cautions, print_json, print_table, say

if TYPE_CHECKING:
    from combe.answers.path import PathReport
    from combe.propagation.p526 import Construction


@click.command("path")
@study_argument
@click.option("--from", "from_name", required=True, metavar="NAME", help="The station that radiates.")
@click.option("--to", "to_name", required=True, metavar="NAME", help="The station at the far end.")
@json_option
def command(study: Path, from_name: str, to_name: str, as_json: bool) -> None:
    r"""Predict the path between two stations, for each service of the first.

    The far end is the receiving aerial of a relay that the first station feeds, else the other station's
    transmitting aerial.

    \b
    JSON: from, to, distance_km, bearing_deg, tx_height_m, rx_height_m, samples,
      sea_fraction (share of the path over sea; null in a study without zones),
      services[]{name, channel, frequency_mhz, erp_towards_dbw, elevation_deg, line_of_sight,
        controlling_km, free_space_loss_db, diffraction_loss_db,
        other_mechanisms_db, basic_loss_db,
        field_strength_dbuv_m,
        constructions[]{name, loss_db (null where it does not apply), reference, standing, note,
          edges[]{distance_km, height_m, nu, loss_db}}},
      provenance{}, cautions[]

    The constructions are the classical ones for several knife edges, side by side, for checking the
    diffraction by hand; no other command uses them.
    """
    from combe.answers.path import path_report
    from combe.study.project_of import load_project

    report = path_report(load_project(study), from_name, to_name)
    if as_json:
        print_json(_as_json(report))
    else:
        _print(report)


def _as_json(report: PathReport) -> dict[str, Any]:
    from combe.publishing.cautions import CAUTIONS

    return {
        "from": report.from_station.name,
        "to": report.to_station.name,
        "distance_km": report.services[0].prediction.distance_km,
        "bearing_deg": report.bearing_deg,
        "tx_height_m": report.tx_height_m,
        "rx_height_m": report.rx_height_m,
        "samples": report.profile.height_m.size,
        "sea_fraction": report.sea_fraction,
        "services": [
            {
                "name": each.service.name,
                "channel": each.service.channel,
                "frequency_mhz": each.service.frequency_mhz,
                "erp_towards_dbw": each.erp_towards_dbw,
                "elevation_deg": each.prediction.elevation_deg,
                "line_of_sight": each.prediction.line_of_sight,
                "controlling_km": each.prediction.controlling_km,
                "free_space_loss_db": each.prediction.free_space_loss_db,
                "diffraction_loss_db": each.prediction.diffraction_loss_db,
                "other_mechanisms_db": each.prediction.other_mechanisms_db,
                "basic_loss_db": each.prediction.basic_loss_db,
                "field_strength_dbuv_m": each.field_strength_dbuv_m,
                "constructions": [asdict(construction) for construction in each.constructions],
            }
            for each in report.services
        ],
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _print(report: PathReport) -> None:
    first = report.services[0].prediction
    say(
        f"{report.from_station.name} to {report.to_station.name}: {first.distance_km:.2f} km, "
        f"bearing {report.bearing_deg:.1f}°, elevation {first.elevation_deg:.2f}°, "
        f"aerials {report.tx_height_m:g} m and {report.rx_height_m:g} m above ground"
    )
    say("in line of sight" if first.line_of_sight else f"blocked; {_edge(first.controlling_km)}")
    if report.sea_fraction is not None:
        say(f"{100.0 * report.sea_fraction:.0f} % of the way over sea")
    heads = (
        "service",
        "ch",
        "MHz",
        "free space dB",
        "diffraction dB",
        "other dB",
        "basic loss dB",
        "field dBµV/m",
    )
    rows = [
        (
            each.service.name,
            each.service.channel,
            each.service.frequency_mhz,
            each.prediction.free_space_loss_db,
            each.prediction.diffraction_loss_db,
            each.prediction.other_mechanisms_db,
            each.prediction.basic_loss_db,
            each.field_strength_dbuv_m,
        )
        for each in report.services
    ]
    print_table(heads, rows, unless_zero=("other dB",))
    _print_constructions(report)
    print_cautions()


def _print_constructions(report: PathReport) -> None:
    """Print the constructions for several edges as rows, each service as a column of dB."""
    first = report.services[0].constructions
    say(f"\nDiffraction dB by the classical constructions for knife edges; {_edges(first[0])}")
    heads = ("construction", *(each.service.name for each in report.services), "from")
    rows = [
        (row.name, *(each.constructions[i].loss_db for each in report.services), _source(row))
        for i, row in enumerate(first)
    ]
    print_table(heads, rows)
    notes = dict.fromkeys(row.note and f"{row.name}: {row.note}" for row in first)
    for note in filter(None, notes):
        say(f"  {note}")


def _edges(chain: Construction) -> str:
    if not chain.edges:
        return "no edge comes near the line"
    places = ", ".join(f"{edge.distance_km:.2f}" for edge in chain.edges)
    return f"edges at {places} km" if len(chain.edges) > 1 else f"one edge, at {places} km"


def _source(row: Construction) -> str:
    return row.reference if row.standing == "read" else f"{row.reference} ({row.standing})"


def _edge(controlling_km: float | None) -> str:
    return "" if controlling_km is None else f"the controlling edge is {controlling_km:.2f} km from the start"
