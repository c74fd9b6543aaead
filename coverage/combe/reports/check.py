"""The document of a checked study: that it has no faults, and what it says; or its faults."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from combe.digits import spoken
from combe.publishing.document import Document, Facts, Form, StudyNamed, Table, Words
from combe.publishing.fields import Field, Mark, flag, many, number, one, text, texts, whole, within
from combe.reports.study import study_named
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.check import CheckedService, CheckReport
    from combe.stations import Service

_FAULTY: Final = "the study has faults"


@dataclass(frozen=True)
class Checked:
    """What was found: the report on a study without faults, or the faults."""

    report: CheckReport | None
    faults: tuple[str, ...] = ()


def _offset(key: str, make: type) -> Field:
    """Return a part of the offset of an analogue vision carrier."""
    kind = {int: whole, bool: flag, float: number}[make]
    null = "the service is digital"
    return kind(key, get=lambda each: getattr(each.service, key) if each.analogue else None, null=null)


FORM: Final = Form(
    "check",
    (
        flag("valid", get=lambda checked: checked.report is not None),
        texts("faults", meaning="each PLACE: WHAT; WHAT TO WRITE"),
        text("model", get="report.project.conditions.model", null=_FAULTY),
        flag("invented", get="report.project.invented", null=_FAULTY),
        one(
            "grid",
            text("crs", "reference system", "crs_name"),
            number("cell_size_m", "side of a cell", decimals=1),
            whole("rows", "rows"),
            whole("columns", "columns"),
            get="report.grid",
            null=_FAULTY,
        ),
        many(
            "stations",
            text("name", "station", "station.name"),
            text("role", "role", "station.role"),
            number("ground_m", "ground", decimals=1, null="not known"),
            number("aerial_height_m", "aerial", "station.aerial_height_m", decimals=1),
            text("polarization", "polarization", "station.polarization"),
            number(
                "bearing_deg",
                "pattern turned",
                "station.bearing_deg",
                decimals=1,
                meaning="where 0 of the horizontal pattern looks, clockwise from true north",
            ),
            number(
                "tilt_deg",
                "tilt",
                "station.tilt_deg",
                decimals=1,
                meaning="how far the vertical pattern is turned down",
            ),
            many(
                "services",
                text("name", "service", "service.name"),
                whole("channel", "ch", "service.channel"),
                number("frequency_mhz", "frequency", "service.frequency_mhz"),
                number("erp_w", "ERP", "service.erp_w"),
                text("system", "system", meaning="television system"),
                number("minimum_field_dbuv_m", "minimum"),
                _offset("offset_twelfths", int),
                _offset("precision_offset", bool),
                _offset("offset_khz", float),
            ),
            get="report.stations",
            null=_FAULTY,
        ),
        texts(
            "off_air",
            get="report.project.off_air",
            meaning="stations of the study that are left out of all",
            null=_FAULTY,
        ),
        number(
            "people_total", "people in and around the grid", "report.people_total", null="no people are told"
        ),
        whole(
            "people_nodata_cells",
            "cells without people data",
            "report.people_nodata_cells",
            null="no people are told",
        ),
        many(
            "terrains",
            texts("tiles"),
            number("cell_size_m", "cell", decimals=1, meaning="smaller side on the ground"),
            text("crs", "reference system"),
            text("vertical_datum", "heights above"),
            text("kind", "kind", meaning="surface model or bare ground"),
            flag("sea_floor", meaning="heights below 0 count as 0"),
            number("fill_within_m", "voids filled within", decimals=0, null="voids stay voids"),
            text("credit", "credit"),
            get="report.terrains",
            meaning="in the order in which they are asked for a height",
            null=_FAULTY,
        ),
        one(
            "ground",
            whole("cells", meaning="of the terrain on the grid"),
            whole("voids", meaning="without a height"),
            whole("patches", meaning="that the voids make"),
            one(
                "largest",
                whole("cells"),
                number("longitude_deg", decimals=4),
                number("latitude_deg", decimals=4),
                text("tile"),
                meaning="patch of voids",
                null="there are none",
            ),
            whole("below", meaning="lower than the sea"),
            number("lowest_m", decimals=1, meaning="of those"),
            whole("filled", meaning="voids whose height was filled in"),
            get="report.ground",
            meaning="what is to be known of the ground under the grid",
            null=_FAULTY,
        ),
        one(
            "zone_agreement",
            whole("places", meaning="at which both zones are known"),
            number("same_percent", get=lambda found: 100.0 * found.same, decimals=1),
            many(
                "zones",
                text("zone"),
                whole("places"),
                number("same_percent", get=lambda share: 100.0 * share.same, decimals=1),
                meaning="of the raster",
            ),
            get="report.agreement",
            meaning="of the raster of zones with those derived from the sea and the terrain",
            null="the study does not tell both",
        ),
        texts(
            "notes", get="report.notes", meaning="to think about before a result is believed", null=_FAULTY
        ),
    ),
    files=(("page", "without --html"),),
)

_STATION: Final = FORM["stations"]
_SERVICE: Final = FORM["stations.services"]
_TERRAIN: Final = FORM["terrains"].only("cell_size_m", "crs", "vertical_datum", "kind", "fill_within_m")
_COLUMNS: Final = (
    *within("station", _STATION.only("name", "role", "ground_m")),
    *within("service", _SERVICE.only("name", "system", "channel", "frequency_mhz")),
    text("", "offset", lambda row: _offset_words(row["service"]), right=True),
    *within("service", _SERVICE.only("erp_w", "minimum_field_dbuv_m")),
)


def document(report: CheckReport) -> Document:
    """Return the document of a study without faults."""
    rows = tuple(
        {"station": each, "service": checked} for each in report.stations for checked in each.services
    )
    grid = report.grid
    cells = tell(
        "{rows} x {columns} cells of {cell_size_m:g} m",
        rows=spoken(grid.rows),
        columns=spoken(grid.columns),
        cell_size_m=grid.cell_size_m,
    )
    people = (FORM["people_total"], FORM["people_nodata_cells"]) if report.people_total is not None else ()
    counted = (
        ""
        if report.people_total is None
        else tell("; people in and around the grid: {people_total}", people_total=spoken(report.people_total))
    )
    return Document(
        form=FORM,
        answer=Checked(report),
        title=tell("no faults in {name}", name=Path(report.project.source).name),
        headline=(
            tell("{cells}, {crs_name}{counted}", cells=cells, crs_name=grid.crs_name, counted=counted),
        ),
        parts=(
            Words(tuple(tell("note: {note}", note=note) for note in report.notes), brief=True),
            *(
                [Table("Stations", _columns(report), rows, brief=True, unless_zero=("offset",))]
                if rows
                else ()
            ),
            Facts(
                (*within("report.grid", FORM["grid"].fields), *people),
                Checked(report),
                title="The grid, and the people on it",
            ),
            Table(
                "Terrain",
                (text("", "tiles", lambda each: ", ".join(each.tiles)), *_TERRAIN),
                report.terrains,
                unless_zero=("voids filled within",),
            ),
            Table(
                "Aerials",
                _STATION.only("name", "aerial_height_m", "polarization", "bearing_deg", "tilt_deg"),
                report.stations,
                unless_zero=("pattern turned", "tilt"),
            ),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


def _columns(report: CheckReport) -> tuple[Field, ...]:
    """Return the columns of the stations; the system of each service only where there are several."""
    several = len({service.system for station in report.stations for service in station.services}) > 1
    return tuple(each for each in _COLUMNS if several or each.head != "system")


def faulty(path: Path, faults: Sequence[str]) -> Document:
    """Return the document of a study with faults."""
    count = "1 fault" if len(faults) == 1 else tell("{faults} faults", faults=len(faults))
    return Document(
        form=FORM,
        answer=Checked(None, tuple(faults)),
        title=tell("{count} in {name}", count=count, name=path.name),
        headline=tuple(faults),
        study=StudyNamed(str(path.resolve()), ""),
        verdict=Mark("fails", count),
    )


def _offset_words(checked: CheckedService) -> str:
    """Return the offset of an analogue vision carrier, 0 where it lies on its nominal frequency."""
    service: Service = checked.service
    held = ", precision" if service.precision_offset else ""
    if service.offset_khz:
        return tell("{offset_khz:+g} kHz", offset_khz=service.offset_khz)
    return (
        tell("{offset_twelfths:+d}/12 line{held}", offset_twelfths=service.offset_twelfths, held=held)
        if service.offset_twelfths or held
        else "0"
    )
