"""The form of a coverage: its fields, and the rows that they are read from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from combe.publishing.document import Form
from combe.publishing.fields import UNITS, Field, flag, many, number, one, people, text, whole
from combe.reports.filled_ground import FILLED
from combe.reports.forecast import FORECAST
from combe.reports.how_sure import RANGES
from combe.reports.season import OTHER_SEASON
from combe.words import tell

if TYPE_CHECKING:
    from pathlib import Path

    from combe.answers.cover import CoverReport, ServiceCoverage, StationCoverage
    from combe.answers.forecast import Forecast
    from combe.answers.network import Network
    from combe.answers.season_change import SeasonChange
    from combe.answers.ways import WayCoverage
    from combe.planning import CountRanges, PeopleCount, UnservedSettlement
    from combe.reports.cover_files import CoverFiles
    from combe.stations import Service


@dataclass(frozen=True)
class Covered:
    """A coverage with the files that it left, if any were written."""

    report: CoverReport
    files: CoverFiles | None
    other_season: SeasonChange | None = None
    forecast: Forecast | None = None

    @property
    def stations(self) -> tuple[_Station, ...]:
        """Each station with its rasters."""
        return tuple(_Station(each, self.files) for each in self.report.stations)

    @property
    def map_left_out(self) -> str:
        """Which fields the map does not hold."""
        return self.files.left_out if self.files else ""

    @property
    def unserved(self) -> tuple[Settlement, ...] | None:
        """The settlements that lack a service, where they were asked for."""
        found = self.report.unserved
        return None if found is None else tuple(Settlement(n, each) for n, each in enumerate(found, 1))


@dataclass(frozen=True)
class _Station:
    covered: StationCoverage
    files: CoverFiles | None

    @property
    def services(self) -> tuple[_Service, ...]:
        radiated = self.covered.station.services
        pairs = zip(self.covered.services, radiated, strict=True)
        return tuple(_Service(each, service, self.files) for each, service in pairs)


class _Service(NamedTuple):
    """One service of one station with its rasters."""

    covered: ServiceCoverage
    radiated: Service
    files: CoverFiles | None


class _Counted(NamedTuple):
    """The people of a district, as those of a service stand in a network."""

    name: str
    people: PeopleCount
    ranges: CountRanges | None


class Settlement(NamedTuple):
    """A settlement, numbered by the people who lack a service."""

    number: int
    found: UnservedSettlement

    @property
    def name(self) -> str:
        """What readers call it."""
        return self.found.name or tell("group {number}", number=self.number)


def districts_of(network: Network) -> list[_Counted] | None:
    """Return the people of each district by its name; None where there are no districts."""
    ranges = network.district_ranges or (None,) * len(network.districts)
    pairs = zip(network.districts, ranges, strict=True)
    return [_Counted(*each, found) for each, found in pairs] or None


def _at(percent: float, fields: Mapping[float, float]) -> float:
    return fields[percent]


def _raster(kind: str) -> Any:
    """Return how the path of a raster of a service is read."""

    def path(each: _Service) -> Path | None:
        if each.files is None:
            return None
        found: Path | None = getattr(each.files, kind).get((each.covered.station, each.covered.service))
        return found and found.resolve()

    return path


def _people(key: str, head: str, get: str = "", **more: Any) -> Field:
    return people(key, head, get, **{"null": "no people", **more})


def _count(key: str, head: str, name: str, meaning: str = "", null: str = "") -> Field:
    return _people(key, head, f"people.{name}", meaning=meaning, null=null or "no people")


def _way_words(covered: WayCoverage) -> str:
    from combe.reception import way_words

    return way_words(covered.way)


_UNCOUNTED: Final = "no people, or interference is not counted"
_PEOPLE: Final = (
    _count("people_served", "served", "served"),
    _count("people_served_before", "served before", "served_before", "by parents alone"),
    _count("people_newly_served", "newly served", "newly_served"),
    _count("people_lost", "lost", "lost", "served before, not now"),
    _count("people_served_twice", "served twice", "served_twice", "by a second station too"),
    _count("people_unserved", "unserved", "unserved"),
    _count(
        "people_limited_by_interference", "by interference", "limited_by_interference",
        "of the unserved: noise alone would leave them served", _UNCOUNTED,
    ),
    _count(
        "people_interference_unknown", "interferer unknown", "interference_unknown",
        "served as far as known: an interferer has no prediction there", _UNCOUNTED,
    ),
    _count("people_without_prediction", "no prediction", "without_prediction"),
    _people(
        "people_total", "in all", "people.total",
        total=("people_served", "people_unserved", "people_without_prediction"),
    ),
)  # fmt: skip
COLUMNS: Final = (
    *("people_served_before", "people_newly_served", "people_lost", "people_served", "people_served_twice"),
    *("people_unserved", "people_limited_by_interference", "people_interference_unknown"),
    *("people_without_prediction", "people_total"),
)
MAY_LACK: Final = ("lost", "served twice", "by interference", "interferer unknown")
_DISTRICTS: Final = many(
    "districts",
    text("name", "district"),
    *_PEOPLE,
    RANGES,
    get=districts_of,
    null="the people have none",
    like="name, and the same",
)
SERVICE: Final = many(
    "services",
    text("name", "service", "covered.service"),
    whole("channel", "ch", "covered.channel"),
    number("frequency_mhz", "frequency", "covered.frequency_mhz"),
    number("erp_w", "ERP", "radiated.erp_w"),
    number("minimum_field_dbuv_m", "minimum", "covered.minimum_field_dbuv_m"),
    one(
        "required_fields_dbuv_m",
        *(
            number(f"{percent}", get=partial(_at, percent), unit=UNITS["dbuv_m"])
            for percent in (50, 70, 95, 99)
        ),
        get="covered.required_fields_dbuv_m",
        meaning="median for so many % of places",
    ),
    whole("cells", "cells", "covered.cells", meaning="with a prediction"),
    number("sweep_s", get="covered.sweep_s", meaning="of the sweep that all services of the station share"),
    _people("people_served", "people served", "covered.people.served"),
    text("raster", get=_raster("rasters"), meaning="path", null="not written"),
    number(
        "field_at_a_place_dbuv_m", get="covered.minimum.at_a_place_dbuv_m",
        meaning="that a receiver needs at one place",
    ),
    number(
        "location_deviation_db", get="covered.minimum.location_deviation_db",
        meaning="scatter of the field over places",
    ),
    text(
        "probability_raster", get=_raster("share_rasters"), meaning="path, against noise alone",
        null="without --probability",
    ),
    text(
        "probability_with_interference_raster", get=_raster("judged_rasters"), meaning="path",
        null="without --probability, and where no station may disturb",
    ),
)  # fmt: skip
WAYS: Final = many(
    "ways",
    text("name", "way of receiving"),
    text("words", get=_way_words, meaning="with its height loss and building"),
    *_PEOPLE,
    many("services", text("name"), *_PEOPLE, get="services", like="name, and as all_services"),
    get="report.ways",
    meaning="of receiving, people with all services; all else is for the first",
    like="name, words, services, and as all_services",
)
HARM: Final = many(
    "harm",
    text("relay", "relay"),
    text("station", "harmed"),
    text("service", "service"),
    whole("channel", "ch"),
    whole("cells", "cells"),
    _people("people_fall_below", "fall below", "fall_below"),
    _people("people_served_otherwise", "served otherwise", "served_otherwise"),
    _people("people_left_without", "left without", "left_without"),
    _people("people_not_known", "not known", "not_known"),
    get=lambda asked: None if asked.report.interference is None else asked.report.harm,
    null="the study does not count interference",
)
MEMBERS: Final = many(
    "members",
    text("station", "station"),
    number("delay_us", "radiated after", "radiated.delay_us", decimals=1,
           meaning="the time of the network"),
    number("path_us", "way", "radiated.path_us", decimals=1,
           meaning="from the member that it repeats"),
    number("processing_us", "processing", "radiated.processing_us", decimals=1),
    number("static_us", "static delay", "radiated.static_us", decimals=1),
    text("heard", "repeats", "radiated.heard", meaning="empty where it gets the signal another way"),
)  # fmt: skip
ON_ONE_FREQUENCY: Final = many(
    "on_one_frequency",
    text("network", "network"),
    text("service", "service"),
    whole("channel", "ch"),
    text("symbols"),
    whole("cells_served_by_sum", "cells by the sum"),
    whole("cells_hurt", "cells hurt"),
    _people("people_served_by_sum", "served by the sum", meaning="and not by the best station's field alone"),
    _people("people_hurt", "hurt", meaning="unserved by echoes that receivers cannot use"),
    number("gain_db", "gain", decimals=1, meaning="median over served cells", null="nothing is served"),
    number("spread_us", "spread", decimals=1, meaning="that 99 % of served cells keep",
           null="nothing is served"),
    MEMBERS,
    get="report.on_one_frequency",
    meaning="services of networks on one frequency; empty without",
)  # fmt: skip
BY_SYSTEM: Final = many(
    "by_system",
    text("system", "system"),
    text("service", "service", meaning="all services that it radiates, then each of several"),
    whole("stations", "stations"),
    whole("cells_served", "cells served"),
    _people("people_served", "served", "people.served"),
    _people("people_unserved", "unserved", "people.unserved"),
    _people("people_without_prediction", "no prediction", "people.without_prediction"),
    get="report.by_system",
    meaning="with receivers of one television system alone; empty where the study has one",
)
UNSERVED: Final = many(
    "unserved",
    text("name", "settlement", "found.name", meaning="its own, or near what; empty without either"),
    number("longitude_deg", "longitude", "found.longitude_deg", decimals=4),
    number("latitude_deg", "latitude", "found.latitude_deg", decimals=4),
    _people("people", "people", "found.people", null=""),
    _people("people_unserved", "unserved", "found.unserved", null=""),
    _people("people_without_prediction", "no prediction", "found.unknown", null=""),
    number("missing_db", "missing", "found.missing_db", meaning="would serve half of the unserved"),
    number("worst_missing_db", "at worst", "found.worst_missing_db", meaning="would serve all of them"),
    meaning="settlements, of all services",
    null="without --unserved, or no people",
)
FORM: Final = Form(
    "cover",
    (
        flag("invented", get="report.project.invented"),
        one(
            "grid",
            text("crs", get="crs_name"), number("cell_size_m"), whole("rows"), whole("columns"),
            get="report.grid",
        ),
        many(
            "stations",
            text("name", "station", "covered.station.name"),
            text("role", "role", "covered.station.role"),
            flag("from_cache", get="covered.from_cache"),
            _people("people_served_all_services", "served with all", "covered.people.served"),
            SERVICE,
        ),
        one("all_services", *_PEOPLE, RANGES, _DISTRICTS, get="report.all_services"),
        many(
            "services", text("name"), *_PEOPLE, RANGES, _DISTRICTS,
            get="report.services", like="name, and as all_services",
        ),
        one(
            "prediction_error", number("common_db"), number("place_db"), text("source"), get="report.error",
            meaning="standard deviations: common to all wanted fields, and of each place",
        ),
        one(
            "taken_up",
            whole("sweeps"), whole("sweeps_from_before"), whole("tiles"), whole("tiles_from_before"),
            get="report.taken_up",
            meaning="what an earlier run of this study left, finished or not",
        ),
        many(
            "feeds",
            text("relay", "relay"), text("parent", "parent"),
            text("verdict", "verdict", meaning="passes, not judged or fails"),
            text("words", meaning="empty where it passes"),
            many("services", text("service", "service"), text("verdict", "verdict"), text("reason", "why")),
            get="report.standings",
        ),
        flag(
            "interference", get="report.interference",
            meaning="whether any two stations may disturb one another", null="the study does not count it",
        ),
        WAYS,
        HARM,
        ON_ONE_FREQUENCY,
        BY_SYSTEM,
        UNSERVED,
        OTHER_SEASON,
        FILLED,
        FORECAST,
        text("map_left_out", meaning="fields that the map does not hold, in words; empty where it has all"),
    ),
    files=(("map", "not written"), ("page", "without --html"), ("index", "not written")),
)  # fmt: skip
