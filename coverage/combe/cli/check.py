"""``combe check``: finds every fault of a study, and sums up what it says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option
from combe.cli.output import print_json, print_table, say
from combe.digits import spoken
from combe.errors import CombeError, StudyError

if TYPE_CHECKING:
    from combe.answers.check import CheckedService, CheckReport
    from combe.stations.transmitter import Service


@click.command("check")
@click.argument("study", type=click.Path(path_type=Path), metavar="[STUDY]", required=False)
@click.option("--schema", is_flag=True, help="Print the JSON Schema of study files and leave.")
@json_option
def command(study: Path | None, schema: bool, as_json: bool) -> None:
    r"""Check a study file and everything it names.

    \b
    JSON: study, title, valid, faults[] (each PLACE: WHAT; WHAT TO WRITE), and for a valid study
      model, invented, grid{crs, cell_size_m, rows, columns},
      stations[]{name, role, ground_m, aerial_height_m, polarization,
        services[]{name, channel, frequency_mhz, erp_w, minimum_field_dbuv_m, offset_twelfths,
          precision_offset, offset_khz (of an analogue vision carrier; null for a digital service)}},
      people_total, people_nodata_cells, notes[], provenance{}
    """
    if schema:
        from combe.study.schema import json_schema

        print_json(json_schema())
        return
    if study is None:
        raise click.UsageError("name a study file, or ask for --schema")
    try:
        report = _check(study)
    except CombeError as error:
        if as_json:
            faults = error.faults if isinstance(error, StudyError) else (str(error),)
            print_json({"study": study.resolve(), "valid": False, "faults": faults})
        raise
    if as_json:
        print_json(_as_json(report))
    else:
        _print(report)


def _check(study: Path) -> CheckReport:
    from combe.library import check_file

    return check_file(study)


def _as_json(report: CheckReport) -> dict[str, Any]:
    about, grid = report.project, report.grid
    return {
        "study": report.project.key,
        "title": about.title,
        "valid": True,
        "faults": [],
        "model": about.conditions.model,
        "invented": about.invented,
        "grid": {
            "crs": grid.crs_name,
            "cell_size_m": grid.cell_size_m,
            "rows": grid.rows,
            "columns": grid.columns,
        },
        "stations": [
            {
                "name": each.station.name,
                "role": each.station.role,
                "ground_m": each.ground_m,
                "aerial_height_m": each.station.aerial_height_m,
                "polarization": each.station.polarization,
                "services": [
                    {
                        "name": checked.service.name,
                        "channel": checked.service.channel,
                        "frequency_mhz": checked.service.frequency_mhz,
                        "erp_w": checked.service.erp_w,
                        "minimum_field_dbuv_m": checked.minimum_field_dbuv_m,
                        **_offset_json(checked),
                    }
                    for checked in each.services
                ],
            }
            for each in report.stations
        ],
        "people_total": report.people_total,
        "people_nodata_cells": report.people_nodata_cells,
        "notes": report.notes,
        "provenance": report.provenance,
    }


def _offset_json(checked: CheckedService) -> dict[str, Any]:
    """Return the offset of an analogue vision carrier; null for a service that has none."""
    keys = ("offset_twelfths", "precision_offset", "offset_khz")
    return {key: getattr(checked.service, key) if checked.analogue else None for key in keys}


def _offset_words(service: Service) -> str:
    """Return the offset of an analogue vision carrier, 0 where it lies on its nominal frequency."""
    held = ", precision" if service.precision_offset else ""
    if service.offset_khz:
        return f"{service.offset_khz:+g} kHz"
    return f"{service.offset_twelfths:+d}/12 line{held}" if service.offset_twelfths or held else "0"


def _print(report: CheckReport) -> None:
    click.echo(f"{report.project.title}: no faults in {report.project.source}")
    heads = ("station", "role", "ground m", "service", "ch", "MHz", "offset", "ERP W", "minimum dBµV/m")
    rows = [
        (
            each.station.name,
            each.station.role,
            each.ground_m,
            checked.service.name,
            checked.service.channel,
            checked.service.frequency_mhz,
            _offset_words(checked.service),
            checked.service.erp_w,
            checked.minimum_field_dbuv_m,
        )
        for each in report.stations
        for checked in each.services
    ]
    print_table(heads, rows, unless_zero=("offset",))
    for name, words in report.provenance.items():
        say(f"{name}: {words}")
    if report.people_total is not None:
        say(f"people in and around the grid: {spoken(report.people_total)}")
    for note in report.notes:
        say(f"note: {note}")
