"""The form of a brief: its fields, most of them those of the answers that it gathers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from combe.digits import for_terminal
from combe.publishing.document import Form
from combe.publishing.fields import flag, many, mark, number, one, people, text, texts, whole
from combe.publishing.text import shortened
from combe.reports.cover_form import FORM as COVER
from combe.reports.cover_form import HARM, UNSERVED, Settlement
from combe.reports.site_hill import place_words
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport, FeedOfService
    from combe.answers.brief_people import MeasuringPlace
    from combe.stations import Service, Station


@dataclass(frozen=True)
class Briefed:
    """A brief with its rows numbered as readers see them."""

    report: BriefReport

    @property
    def unserved(self) -> tuple[Settlement, ...] | None:
        """The settlements that lack a service."""
        found = self.report.cover.unserved
        return None if found is None else tuple(Settlement(n, each) for n, each in enumerate(found, 1))

    @property
    def stations(self) -> tuple[Station, ...]:
        """The stations of the study."""
        return self.report.project.stations


class Radiated(NamedTuple):
    """A service with the station that radiates it."""

    station: Station
    service: Service


LONGEST_NAME: Final = 36
"""Of a name on the two sheets, where a row is to stay a line or two; the appendix and JSON have it whole."""

LIMITS: Final = {
    "noise": "noise",
    "own output noise": "noise of its own output",
    "overload": "overload by all signals together",
    "AGC floor": "lowest input of the receiver",
    "AGC top": "highest input of the receiver",
    "co-channel": "a station on the same channel",
    "adjacent channel": "a station on the next channel",
    "image": "a station on the image",
    "own output": "its own output",
    "loop": "the loop from its output to its input",
    "intermodulation": "intermodulation",
    "relay chain": "quality at the end of the chain",
}
"""What limits a feed, in plain words."""


def _limit(each: FeedOfService) -> str:
    return LIMITS[each.limit]


def reading_name(number: int) -> str:
    """Return what a place to measure at is called on the map, and before its place in the table: a letter."""
    return chr(ord("A") + number)


def place_name(place: MeasuringPlace) -> str:
    """Return what readers call a place: a settlement's name, or where it is."""
    where = place_words(place.longitude_deg, place.latitude_deg)
    return (
        tell("{name}, {where}", name=shortened(place.name, LONGEST_NAME), where=where)
        if place.name
        else where
    )


_ASKED: Final = number("required_margin_db", "asked", "service.budget.required_margin_db")
FEEDS: Final = many(
    "feeds",
    text("relay", "relay"),
    text("parent", "hears"),
    text("service", "service", "service.received.name"),
    whole("channel", "ch", "service.received.channel"),
    mark("verdict", "verdict", "service.verdict"),
    number("field_strength_dbuv_m", "field", "service.budget.field_strength_dbuv_m"),
    number("receiver_input_dbm", "level", "service.budget.receiver_input_dbm"),
    number("margin_db", "margin", "service.budget.margin_db", null="it is not known", limit=_ASKED),
    _ASKED,
    number("time_percent", "of the year", "service.budget.time_percent", decimals=1,
           meaning="the most demanding share that is asked"),
    text("limited_by", "limited by", _limit, meaning="what leaves least to spare"),
    number("spare_db", "to spare", meaning="of what limits it; negative is short", null="it is not known",
           limit=0.0),
    text("stands_for", "stands for", "service.year.share", meaning="share of the year", null="not known"),
    text("reason", "why", lambda each: for_terminal(each.service.reason)),
    get="report.feeds",
    meaning="of every service, those that do not pass first",
)  # fmt: skip
SETTLEMENTS: Final = many(
    "settlements",
    text("name", "settlement"),
    people("people", "people"),
    people("served", "served"),
    people("newly_served", "newly"),
    people("lost", "lost", meaning="served before, not now"),
    people("unserved", "unserved"),
    people("without_prediction", "no prediction"),
    get="report.settlements",
    meaning="with names, in all services",
    null="people come without names",
)
IN_DOUBT: Final = many(
    "districts_in_doubt",
    text("name", "district"),
    people("low", "served at least"),
    people("high", "served at most"),
    people("total", "people"),
    get="report.in_doubt",
    meaning="with the widest ranges; empty without districts",
)
COSTS: Final = one(
    "costs",
    many("relays", text("relay", "relay"),
         number("yearly", "a year", decimals=0, null="the study states none")),
    number("total", "together", decimals=0, null="a relay has none"),
    number("each_person", "a person newly served", decimals=2, null="no cost, or nobody"),
    number("sites", decimals=0, meaning="to build them, once", null="[siting] gives none"),
    number("sites_each_person", decimals=2, null="no cost, or nobody"),
    get="report.costs",
    meaning="in a year, in the currency of the study",
)  # fmt: skip
_OTHERS: Final = many(
    "others",
    whole("rank", "hill", "hill.rank"),
    number("longitude_deg", "longitude", "hill.station.longitude_deg", decimals=5),
    number("latitude_deg", "latitude", "hill.station.latitude_deg", decimals=5),
    people("people", "newly served", "hill.people", meaning="by the search"),
    one("people_range", people("low"), people("expected"), people("high"), get="hill.people_range"),
    people("people_harmed", "harmed", "hill.harmed"),
    mark("feed_verdict", "feed", "hill.whole_feed.verdict"),
    number("judged_margin_db", "margin", "hill.whole_feed.margin_db", null="it is not judged"),
    number("cost", "cost", "hill.cost", decimals=0, meaning="1 where the study gives none"),
    people("fewer", "fewer than now", "fewer", signed=True,
           meaning="than at the relay's own place; negative where more",
           null="the own place was not priced"),
    number("own_leads_fraction", decimals=2, meaning="chance that the own place is worth more",
           null="the own place was not priced"),
    text("words", "against the relay's own place", lambda each: for_terminal(each.words)),
    get="others",
)  # fmt: skip
ALTERNATIVES: Final = one(
    "alternatives",
    one(
        "own",
        text("name", "relay"),
        people("people", "newly served", meaning="by the search"),
        people("people_harmed", "harmed", "harmed"),
        number("search_margin_db", "search margin", "feed_margin_db"),
        number("cost", "cost", decimals=0),
        null="the search did not price it",
    ),
    text("own_words", get=lambda each: for_terminal(each.own_words)),
    _OTHERS,
    get="report.alternatives",
    null="not asked for, or the study has no [siting]",
)
OTHERS: Final = _OTHERS
MEASURING: Final = many(
    "measure_at",
    text("name", get="name", meaning="of a settlement near; empty without"),
    text("place", "place", place_name),
    number("longitude_deg"),
    number("latitude_deg"),
    people("people", "people"),
    people("people_in_doubt", "in doubt",
           meaning="twice those whom the prediction is expected to count wrongly"),
    number("margin_db", "margin", signed=True),
    get="report.measuring",
    meaning="where a measurement tells most",
)  # fmt: skip
EXPOSURES: Final = many(
    "exposures",
    text("relay", "relay"),
    number("distance_m", "public keeps off", decimals=1, null="not worked out"),
    text("fault", meaning="why there is none"),
    get="report.exposures",
)


def _held(how: str) -> Any:
    return lambda found: len(found.held(how))


COORDINATION: Final = one(
    "coordination",
    whole("places", get=lambda found: len(found.places)),
    whole("fields", get=lambda found: len(found.fields), meaning="of the stations meant, at all places"),
    whole("over", get=_held("over"), meaning="fields over their trigger"),
    whole("not_judged", get=_held("not judged")),
    flag("has_triggers", get=lambda found: bool(found.asked.triggers)),
    number("highest_excess_db", get="highest.excess_db", null="no trigger, or no field is judged"),
    text("highest_station", get="highest.station.name", null="no field is judged"),
    text("highest_place", get="highest.place.words", null="no field is judged"),
    number("time_percent", get="asked.time_percent"),
    get="report.coordination",
    null="the study has no [coordination], or it cannot be asked",
)
_EVEN: Final = "it radiates equally"


def _pattern(plane: str) -> Any:
    """Return how the source of a pattern is read, without the folders of one machine."""

    def found(station: Station) -> str | None:
        pattern = getattr(station, plane)
        return None if pattern is None else PurePath(pattern.source).name

    return found


STATIONS: Final = many(
    "stations",
    text("name", "station"),
    text("role", "role"),
    number("longitude_deg", "longitude", decimals=5),
    number("latitude_deg", "latitude", decimals=5),
    number("aerial_height_m", "aerial", decimals=1),
    text("polarization", "polarization"),
    text("parent", "hears", null="it is a parent"),
    text("horizontal_pattern", "pattern", _pattern("horizontal_pattern"), null=_EVEN),
    text("vertical_pattern", "vertical", _pattern("vertical_pattern"), null=_EVEN),
    many(
        "services",
        text("name", "service"),
        whole("channel", "ch"),
        number("frequency_mhz", "frequency", decimals=3),
        number("erp_w", "ERP", decimals=3),
    ),
)
SETTINGS: Final = many("settings", text("name", "part"), text("value", "values"), get="report.settings")
FILES: Final = many(
    "inputs",
    text("name", "file"),
    whole("bytes", "bytes", null="it is not there"),
    text("sha256", "SHA-256"),
    get="report.files",
    meaning="files that the study names, and itself",
)

FORM: Final = Form(
    "brief",
    (
        flag("invented", get="report.project.invented"),
        replace(COVER["all_services"], get="report.cover.all_services"),
        replace(COVER["prediction_error"], get="report.cover.error"),
        text("feed_verdict", get="report.feed_verdict", null="no relay"),
        FEEDS,
        texts("feeds_lack", get="report.lacking", meaning="what is not known of them, in words"),
        replace(
            HARM,
            get=lambda asked: None if asked.report.cover.interference is None else asked.report.cover.harm,
        ),
        SETTLEMENTS,
        UNSERVED,
        IN_DOUBT,
        COSTS,
        ALTERNATIVES,
        MEASURING,
        EXPOSURES,
        COORDINATION,
        text("coordination_fault", get=lambda asked: for_terminal(asked.report.coordination_fault),
             meaning="why it cannot be asked; empty where it can"),
        STATIONS,
        SETTINGS,
        FILES,
    ),
    files=(("page", "without --html"), ("pdf", "without --pdf"), ("index", "with --html")),
)  # fmt: skip
