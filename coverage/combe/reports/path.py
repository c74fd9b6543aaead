"""The document of a path: geometry, losses and field of each service, constructions for checking by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Facts, Form, Section, Table, Words
from combe.publishing.fields import UNITS, Field, flag, many, number, text, whole
from combe.reports.clearance import CLEARANCE, clearance_in_short, clearance_table
from combe.reports.profile import profile_picture
from combe.reports.study import study_named
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.path import PathReport
    from combe.propagation.p526 import Construction

_CONSTRUCTION: Final = many(
    "constructions",
    text("name", "construction"),
    number("loss_db", total=("edges.loss_db",), null="it does not apply, as the note says"),
    text("reference"),
    text("standing", meaning="read, computed or from memory"),
    text("note"),
    many("edges", number("distance_km"), number("height_m"), number("nu"), number("loss_db")),
    meaning="for knife edges, to check the diffraction by hand; no other command uses them",
)

FORM: Final = Form(
    "path",
    (
        text("from", "from", "from_station.name"),
        text("to", "to", "to_station.name"),
        number("distance_km", "distance", lambda path: path.services[0].prediction.distance_km),
        number("bearing_deg", "bearing"),
        number("tx_height_m", "transmitting aerial above ground", decimals=1),
        number("rx_height_m", "receiving aerial above ground", decimals=1),
        whole("samples", "samples of the ground", "profile.height_m.size"),
        number(
            "sea_fraction",
            "share of the path over sea",
            meaning="share of the path over sea",
            null="no zones in the study",
            decimals=2,
        ),
        many(
            "services",
            text("name", "service", "service.name"),
            whole("channel", "ch", "service.channel"),
            number("frequency_mhz", "frequency", "service.frequency_mhz"),
            number("erp_towards_dbw", "ERP"),
            number("elevation_deg", "elevation", "prediction.elevation_deg", decimals=2),
            flag("line_of_sight", "line of sight", "prediction.line_of_sight"),
            number(
                "controlling_km", "edge at", "prediction.controlling_km", null="no edge comes near the line"
            ),
            number("free_space_loss_db", "free space", "prediction.free_space_loss_db"),
            number("diffraction_loss_db", "diffraction", "prediction.diffraction_loss_db"),
            number("other_mechanisms_db", "other", "prediction.other_mechanisms_db"),
            number(
                "basic_loss_db",
                "basic loss",
                "prediction.basic_loss_db",
                total=("free_space_loss_db", "diffraction_loss_db", "other_mechanisms_db"),
            ),
            number("field_strength_dbuv_m", "field", meaning="of the station's own ERP"),
            CLEARANCE,
            _CONSTRUCTION,
        ),
    ),
    files=(("page", "without --html"),),
)

_SERVICES: Final = FORM["services"]
_LOSSES: Final = _SERVICES.only(
    "name", "channel", "frequency_mhz", "free_space_loss_db", "diffraction_loss_db", "other_mechanisms_db",
    "basic_loss_db", "field_strength_dbuv_m",
)  # fmt: skip
_SIGHT: Final = _SERVICES.only(
    "name", "frequency_mhz", "erp_towards_dbw", "elevation_deg", "line_of_sight", "controlling_km"
)


def document(report: PathReport) -> Document:
    """Return the document of a path."""
    first = report.services[0]
    over_sea = (FORM["sea_fraction"],) if report.sea_fraction is not None else ()
    return Document(
        form=FORM,
        answer=report,
        title=tell(
            "path from {name} to {name_2}", name=report.from_station.name, name_2=report.to_station.name
        ),
        headline=_headline(report),
        parts=(
            Table("", _LOSSES, report.services, brief=True, unless_zero=("other",)),
            profile_picture(report, first.service.name, "Profile"),
            clearance_table(report, (each.service.name for each in report.services)),
            Facts(
                tuple(
                    FORM[key]
                    for key in ("distance_km", "bearing_deg", "tx_height_m", "rx_height_m", "samples")
                )
                + over_sea,
                report,
                title="The way",
            ),
            Table("Power and sight, by service", _SIGHT, report.services),
            _constructions(report),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


def _headline(report: PathReport) -> tuple[str, ...]:
    first = report.services[0].prediction
    way = tell(
        "{distance_km:.2f} km, bearing {bearing_deg:.1f}°, "
        "elevation {elevation_deg:.2f}°, "
        "aerials {tx_height_m:g} m and {rx_height_m:g} m above ground",
        distance_km=first.distance_km,
        bearing_deg=report.bearing_deg,
        elevation_deg=first.elevation_deg,
        tx_height_m=report.tx_height_m,
        rx_height_m=report.rx_height_m,
    )
    sight = clearance_in_short(report, report.services[0].service.name)
    sea = report.sea_fraction
    return way, sight if sea is None else tell(
        "{sight}; {sea:.0f} % of the way over sea", sight=sight, sea=100.0 * sea
    )


def _constructions(report: PathReport) -> Section:
    """Return the constructions as rows, each service as a column of dB."""
    first = report.services[0].constructions
    losses = tuple(_column(at, each.service.name) for at, each in enumerate(report.services))
    rows = tuple(zip(*(each.constructions for each in report.services), strict=True))
    columns = (
        text("", "construction", lambda row: row[0].name),
        *losses,
        text("", "from", lambda row: _source(row[0])),
    )
    notes = dict.fromkeys(tell("{name}: {note}", name=row.name, note=row.note) for row in first if row.note)
    title = tell(
        "Diffraction by the classical constructions for knife edges; {edges}", edges=_edges(first[0])
    )
    return Section(title, (Table("", columns, rows), Words(tuple(notes), listed=True)))


def _column(at: int, service: str) -> Field:
    return number("", service, lambda row: row[at].loss_db, unit=UNITS["db"])


def _edges(chain: Construction) -> str:
    if not chain.edges:
        return "no edge comes near the line"
    places = joined(", ", (tell("{distance_km:.2f}", distance_km=edge.distance_km) for edge in chain.edges))
    return (
        tell("edges at {places} km", places=places)
        if len(chain.edges) > 1
        else tell("one edge, at {places} km", places=places)
    )


def _source(row: Construction) -> str:
    return (
        row.reference
        if row.standing == "read"
        else tell("{reference} ({standing})", reference=row.reference, standing=row.standing)
    )
