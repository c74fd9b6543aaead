"""The document of a survey: fields measured around the site, held against the prediction at those places."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from combe.digits import true_minus
from combe.publishing.document import Document, Form, Table, Words
from combe.publishing.fields import UNITS, Field, flag, many, number, one, text, texts, whole
from combe.reports.study import study_named
from combe.words import joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.survey import SurveyReport

_DB: Final = UNITS["db"]
_PERCENTS: Final = (10, 50, 90)


def _at(percent: int) -> Callable[[Mapping[float, float]], float]:
    return lambda found: found[percent]


_STATISTICS: Final = (
    text("label", "points"),
    whole("count", "readings"),
    whole("places", "places"),
    number("mean_db", "mean"),
    number("deviation_db", "deviation", null="one reading alone"),
    number("rms_db", "r.m.s."),
    one(
        "percentiles_db",
        *(number(f"{percent}", unit=_DB, get=_at(percent)) for percent in _PERCENTS),
        meaning="by the percent of readings whose error is smaller",
    ),
)

FORM: Final = Form(
    "survey",
    (
        text("points", get="source.key", meaning="path"),
        one("all", *_STATISTICS, get="whole", meaning="measured less predicted"),
        many("by_station", *_STATISTICS, get="stations"),
        many("by_distance", *_STATISTICS, get="distances"),
        many("by_obstruction", *_STATISTICS, get="obstructions"),
        many(
            "corrections",
            text("station", "station"),
            number("offset_db", "correction", signed=True, meaning="added to the predicted field"),
            number("mean_error_db", "mean error of places", signed=True),
            whole("places", "places"),
            number("weight", "weight", decimals=2, meaning="with which the mean error counts"),
            text("source"),
            meaning="that could be made",
        ),
        many(
            "kriged",
            text("station", "station"),
            whole("places", "places"),
            text("taken", "taken", "kind", meaning="kriged, mean, or none where it does not help"),
            number("mean_error_db", "mean error", signed=True, meaning="expected of the station"),
            number("smooth_db", "hangs together", meaning="deviation of what hangs together"),
            number("length_km", "over", meaning="distance over which it fades to 1/e"),
            number("alone_db", "each alone", meaning="deviation of each place's own"),
            number("left_out_db", "left out", meaning="r.m.s., each place predicted from all others"),
            number("mean_left_out_db", meaning="the same by the mean alone"),
            number("uncorrected_db", "uncorrected", meaning="r.m.s. without any correction"),
            meaning='in a study with apply_correction = "kriged"',
        ),
        texts("refusals", meaning="why one could not"),
        flag("applied", meaning="to the maps"),
        many(
            "errors",
            whole("row", "row", "point.row"),
            text("station", "station", "point.station"),
            text("service", "service", "point.service"),
            number("longitude_deg", "", "point.longitude_deg"),
            number("latitude_deg", "", "point.latitude_deg"),
            number("height_m", "", "point.height_m"),
            number("measured_dbuv_m", "measured", "point.field_dbuv_m"),
            number("predicted_dbuv_m", "predicted"),
            number("error_db", "error", signed=True),
            number("distance_km", "distance"),
            flag("line_of_sight", "line of sight"),
            number("diffraction_loss_db", "diffraction"),
        ),
    ),
    files=(("page", ""), ("index", "not written")),
)


def _percentile(percent: int) -> Field:
    return number(
        "", tell("{percent} %", percent=percent), lambda found: found.percentiles_db[percent], unit=_DB
    )


_ERRORS: Final = (
    *FORM["all"].only("label", "count", "places", "mean_db", "deviation_db", "rms_db"),
    *map(_percentile, _PERCENTS),
)
_CORRECTIONS: Final = FORM["corrections"].only("station", "offset_db", "mean_error_db", "places", "weight")
_KRIGED: Final = FORM["kriged"].only(
    "station", "places", "taken", "mean_error_db", "smooth_db", "length_km", "alone_db", "left_out_db",
    "uncorrected_db",
)  # fmt: skip
_LEFT_OUT: Final = (
    "left out: error (r.m.s.) of each place as predicted from all others; where it is no smaller than "
    "uncorrected, nothing is corrected"
)
_POINTS: Final = FORM["errors"].only(
    "row", "station", "service", "distance_km", "line_of_sight", "diffraction_loss_db", "measured_dbuv_m",
    "predicted_dbuv_m", "error_db",
)  # fmt: skip


def document(report: SurveyReport) -> Document:
    """Return the document of a survey."""
    groups = (report.stations, report.distances, report.obstructions)
    rows = (report.whole, *(each for group in groups for each in group))
    return Document(
        form=FORM,
        answer=report,
        title=tell("measured less predicted, {name}", name=report.source.name),
        headline=_headline(report),
        parts=(
            Table(
                "Errors of the prediction", _ERRORS, rows, brief=True, strong=lambda row: row is report.whole
            ),
            *_corrected(report),
            Table(
                "Points", _POINTS, report.errors, note="Measured less predicted, in the order of the table."
            ),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


def _headline(report: SurveyReport) -> tuple[str, ...]:
    found = report.whole
    spread = (
        "" if found.count == 1 else tell(", deviation {deviation_db:.1f} dB", deviation_db=found.deviation_db)
    )
    readings = tell_number(found.count, "{count} reading", "{count} readings")
    places = tell_number(found.places, "{count} place", "{count} places")
    error = tell(
        "Mean error {mean_db:+.1f} dB{spread}: {readings} at {places}.",
        mean_db=found.mean_db,
        spread=spread,
        readings=readings,
        places=places,
    )
    if report.kriged:
        applied = "applied to the maps" if report.applied else "not applied"
        return (
            error,
            *(
                tell("Kriged, {applied}: {words}.", applied=applied, words=true_minus(each.words))
                for each in report.kriged
            ),
        )
    if not report.corrections:
        return (error,)
    applied = "applied to the maps" if report.applied else "not applied; write apply_correction = true"
    offsets = joined(
        "; ",
        (
            tell("{station} {offset_db:+.1f} dB", station=each.station, offset_db=each.offset_db)
            for each in report.corrections
        ),
    )
    return error, tell("Local correction, {applied}: {offsets}.", applied=applied, offsets=offsets)


def _corrected(report: SurveyReport) -> tuple[Any, ...]:
    """Return the corrections that could be made, and why others could not."""
    refused = tuple(tell("no local correction: {words}", words=words) for words in report.refusals)
    return (
        *((Table("Local corrections", _CORRECTIONS, report.corrections),) if report.corrections else ()),
        *((Table("Kriged errors", _KRIGED, report.kriged, note=_LEFT_OUT),) if report.kriged else ()),
        *((Words(refused, "Refused", listed=True, brief=True),) if refused else ()),
    )
