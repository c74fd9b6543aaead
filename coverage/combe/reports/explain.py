"""The document of one place: which station serves it, what disturbs it, and what would have to change."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from combe.digits import spoken
from combe.publishing.document import Document, Facts, Form, Part, Section, Table, Words
from combe.publishing.fields import Field, Mark, flag, many, number, one, text, texts, whole
from combe.reports.profile import profile_picture
from combe.reports.study import study_named, way_sentence
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.explain import Candidate, Explanation, ServiceExplained

_NEEDED: Final = number(
    "needed_dbuv_m", "needed", meaning="against noise and interference", null="no prediction here"
)


def _feed(candidate: Candidate) -> dict[str, str] | None:
    if candidate.feed is None:
        return None
    return {"verdict": candidate.feed.verdict_of(candidate.service.name), "words": candidate.feed_words}


_NUISANCES: Final = many(
    "nuisances",
    text("station", "", "station.name"),
    text("service", "", "service.name"),
    whole("channel", "ch", "service.channel"),
    text("relation", "relation"),
    text("time", "", "nuisance.time"),
    number("field_dbuv_m", "field", "nuisance.field_dbuv_m", null="no prediction here"),
    number("protection_db", "protection", "nuisance.protection_db"),
    number("off_axis_deg", "off axis", "nuisance.off_axis_deg"),
    number("gain_db", "aerial", "nuisance.gain_db"),
    number(
        "nuisance_dbuv_m",
        "nuisance",
        "nuisance.nuisance_dbuv_m",
        null="not known",
        total=("field_dbuv_m", "protection_db", "gain_db"),
    ),
    number("margin_without_db", "without it", "nuisance.margin_without_db", null="not known", limit=0.0),
    number(
        "lower_by_db",
        "lower by",
        "nuisance.lower_by_db",
        null="not even without it, or not known",
        limit=0.0,
    ),
    text("reference"),
    get="disturbers",
)
_ECHOES: Final = many(
    "echoes",
    text("station", "station", "station.name"),
    number("field_dbuv_m", "field", "echo.field_dbuv_m", null="no prediction here"),
    number("gain_db", "aerial", "echo.gain_db"),
    number("late_us", "late", "echo.late_us", decimals=1),
    number("weight", "used", "echo.weight", meaning="part of its power that a receiver can use", decimals=3,
           null="no prediction here"),
    meaning="of its network on one frequency, the candidate first; empty where it is in none",
)  # fmt: skip
_CANDIDATES: Final = many(
    "candidates",
    text("station", "station", "station.name"),
    text("system", "system", meaning="television system"),
    whole("channel", "ch", "service.channel"),
    number("distance_km", "distance", decimals=1),
    number("bearing_deg", "bearing"),
    number("field_dbuv_m", "field", null="no prediction here", limit=_NEEDED),
    number("minimum_dbuv_m", "for noise alone", meaning="for noise alone"),
    _NEEDED,
    number("noise_margin_db", "over noise", null="no prediction here", limit=0.0),
    number("margin_db", "margin", null="no prediction here", limit=0.0),
    one(
        "feed",
        text("verdict"),
        text("words", meaning="empty where the feed of this service passes"),
        get=_feed,
        meaning="of the best candidate",
        null="it is no relay, or another station is better",
    ),
    _ECHOES,
    _NUISANCES,
)

_WAYS: Final = many(
    "ways",
    text("name", "way of receiving", "way.name"),
    text("station", "station", "station.name"),
    whole("channel", "ch", "service.channel"),
    flag("served", "served", null="no station has a prediction"),
    number(
        "field_dbuv_m", "field", meaning="outdoors, where it is predicted", null="no prediction here",
        limit=_NEEDED,
    ),
    number("minimum_dbuv_m", "for noise alone", meaning="with the losses of the way"),
    _NEEDED,
    number("noise_margin_db", "over noise", null="no prediction here", limit=0.0),
    number("margin_db", "margin", null="no prediction here", limit=0.0),
    meaning="of receiving, with the best station of each; all else is for the first",
)  # fmt: skip

FORM: Final = Form(
    "explain",
    (
        number("longitude_deg", "longitude", decimals=5),
        number("latitude_deg", "latitude", decimals=5),
        number("ground_m", "ground"),
        many(
            "services",
            text("name", "service"),
            flag("served", "served", null="no station has a prediction"),
            text(
                "served_by",
                "by",
                lambda each: each.server.station.name if each.server else None,
                null="not served",
            ),
            texts(
                "interferers_unknown",
                get=lambda each: [f"{one.station.name} {one.service.name}" for one in each.unknown],
                meaning="of the best candidate, without a prediction here: its margin leaves them out",
            ),
            number(
                "share", "served against interference too", meaning="of places served",
                null="nothing can interfere", decimals=2,
            ),
            number(
                "noise_share", "with noise alone", meaning="with noise alone", null="nothing can interfere",
                decimals=2,
            ),
            number(
                "chance_served_percent", "chance of service",
                lambda each: 100.0 * each.chance, meaning="given the error of the prediction",
                null="no station has a prediction", decimals=0,
            ),
            texts("words"),
            _WAYS,
            _CANDIDATES,
        ),
    ),
    files=(("page", "without --html"),),
)  # fmt: skip

_RANKED: Final = _CANDIDATES.only(
    "station", "system", "channel", "distance_km", "bearing_deg", "field_dbuv_m", "needed_dbuv_m",
    "noise_margin_db", "margin_db",
)  # fmt: skip
_DISTURBING: Final = (
    text(
        "",
        "interferer",
        lambda each: tell("{name}, {name_2}", name=each.station.name, name_2=each.service.name),
    ),
    *_NUISANCES.only(
        "channel", "relation", "field_dbuv_m", "protection_db", "gain_db", "nuisance_dbuv_m", "lower_by_db"
    ),
)
_WAY_FIELDS: Final = _WAYS.only(
    "name", "station", "channel", "field_dbuv_m", "needed_dbuv_m", "noise_margin_db", "margin_db"
)
_SHARES: Final = FORM["services"].only("share", "noise_share")
_CHANCE: Final = FORM["services"].only("chance_served_percent")


def document(found: Explanation) -> Document:
    """Return the document of a place."""
    where = tell(
        "{longitude_deg}, {latitude_deg}",
        longitude_deg=spoken(found.longitude_deg, 5),
        latitude_deg=spoken(found.latitude_deg, 5),
    )
    return Document(
        form=FORM,
        answer=found,
        title=tell("the place {where}, ground {ground_m} m", where=where, ground_m=spoken(found.ground_m)),
        headline=(*(each.words[0] for each in found.services), *way_sentence(found.project)),
        parts=(*_profile(found), *(_section(each) for each in found.services)),
        study=study_named(found.project, found.provenance),
        made_by=found.provenance,
    )


def _profile(found: Explanation) -> list[Part]:
    """Return the picture of the way from the best station of the service that stands worst."""
    if found.path is None:
        return []
    (service,) = found.path.services
    return [
        profile_picture(
            found.path, service.service.name, tell("The way from {name}", name=found.path.from_station.name)
        )
    ]


def _ranked(each: ServiceExplained) -> tuple[Field, ...]:
    """Return the columns of the candidates; their systems only where there are several."""
    several = len({candidate.system for candidate in each.candidates}) > 1
    return tuple(column for column in _RANKED if several or column.head != "system")


def _section(each: ServiceExplained) -> Section:
    best = each.candidates[0]
    parts: list[Any] = [
        Words(each.words[1:], brief=True),
        Table("Stations that could serve", _ranked(each), each.candidates, brief=True),
    ]
    if best.echoes:
        title = tell("Signals of the network at an aerial that looks at {name}", name=best.station.name)
        parts.append(Table(title, _ECHOES.fields, best.echoes, brief=True))
    if best.disturbers:
        title = tell("Nuisance fields against {name}, the strongest first", name=best.station.name)
        parts.append(Table(title, _DISTURBING, best.disturbers, brief=True))
    if len(each.ways) > 1:
        note = "fields outdoors; what is needed there holds the losses from there to the aerial"
        parts.append(Table("By way of receiving", _WAY_FIELDS, each.ways, note=note, brief=True))
    if not math.isnan(each.chance):
        parts.append(Facts(_CHANCE, each, title="How sure"))
    if each.share == each.share:
        parts.append(Facts(_SHARES, each, title="Shares of places"))
    return Section(each.name, tuple(parts), verdict=_verdict(each))


def _verdict(each: ServiceExplained) -> Mark:
    if each.served is None:
        return Mark("not judged", "not known")
    return Mark("passes", "served") if each.served else Mark("fails", "not served")
