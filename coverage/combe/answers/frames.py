"""Makes tables with places of answers, for GIS and geopandas; a GeoPackage of an answer has the same tables.

Each function returns a geopandas ``GeoDataFrame``. Columns are called as the keys of the JSON, with their
units, and numbers are not rounded. What is not known is NaN or None. Places are in EPSG:4326, longitude
first, unless a function says otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, Literal

from combe.errors import RangeError
from combe.geodesy import turned
from combe.reception import served_mask
from combe.words import joined, tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

    from combe.answers.coordinate import CoordinateReport
    from combe.answers.cover import CoverReport
    from combe.answers.explain import Explanation
    from combe.answers.feed import FeedReport
    from combe.answers.path import PathReport
    from combe.answers.site_candidates import Candidate
    from combe.answers.site_report import SiteReport
    from combe.planning import CountRanges, FieldThere, PeopleCount
    from combe.stations import Station

CoverRows = Literal["districts", "stations", "served"]

LONLAT: Final = "EPSG:4326"

_COUNTS: Final = (
    *("served", "served_before", "newly_served", "lost", "served_twice", "unserved"),
    *("limited_by_interference", "interference_unknown", "without_prediction", "total"),
)

_HILL: Final[Mapping[str, Callable[[Candidate], Any]]] = {
    "rank": lambda hill: hill.rank,
    "longitude_deg": lambda hill: hill.station.longitude_deg,
    "latitude_deg": lambda hill: hill.station.latitude_deg,
    "ground_m": lambda hill: hill.ground_m,
    "above_valley_m": lambda hill: hill.above_valley_m,
    "slope_deg": lambda hill: hill.slope_deg,
    "access_m": lambda hill: _number(hill.access_m),
    "parent": lambda hill: hill.parent,
    "parent_km": lambda hill: hill.parent_km,
    "search_margin_db": lambda hill: hill.feed_margin_db,
    "judged_margin_db": lambda hill: hill.whole_feed.margin_db,
    "feed_verdict": lambda hill: hill.whole_feed.verdict,
    "people": lambda hill: hill.people,
    "people_counted": lambda hill: hill.counted,
    "people_alone": lambda hill: hill.alone,
    "people_harmed": lambda hill: hill.harmed,
    "score": lambda hill: hill.score,
    "share_percent": lambda hill: 100.0 * hill.share,
    "pattern": lambda hill: hill.option,
    "azimuth_deg": lambda hill: hill.azimuth_deg,
    "exposure_m": lambda hill: hill.exposure.distance_m if hill.exposure else math.nan,
    "cost": lambda hill: hill.cost,
}


def hill_frame(report: SiteReport) -> GeoDataFrame:
    """Return the hills of the list as points, best first, without what the study does not ask for."""
    search = report.work.search
    left_out = {
        "access_m": report.work.ground.access_m is None,
        "people_harmed": not search.harm_counted,
        "cost": not search.has_costs,
    }
    columns: dict[str, list[Any]] = {
        key: [get(hill) for hill in report.candidates]
        for key, get in _HILL.items()
        if not left_out.get(key, False)
    }
    columns["people_low"] = [hill.people_range.low for hill in report.candidates]
    columns["people_high"] = [hill.people_range.high for hill in report.candidates]
    # The chance that the first is worth more; of itself there is none.
    columns["first_leads_fraction"] = [each.chance if each else math.nan for each in report.leads]
    return _points(columns, [hill.station for hill in report.candidates])


def chosen_frame(report: SiteReport) -> GeoDataFrame:
    """Return the sites of the largest set as points, in the order in which they add most."""
    sites = report.sets.sites
    columns: dict[str, list[Any]] = {
        "site": list(range(1, len(sites) + 1)),
        "adds": [each.adds for each in sites],
        "pattern": [each.option for each in sites],
        "erp_w": [max(each.erp_w) for each in sites],
    }
    return _points(columns, [each.station for each in sites])


def station_frame(stations: Sequence[Station]) -> GeoDataFrame:
    """Return stations as points, with what they radiate in words."""
    columns: dict[str, list[Any]] = {
        "name": [station.name for station in stations],
        "role": [station.role for station in stations],
        "aerial_height_m": [float(station.aerial_height_m) for station in stations],
        "services": [
            joined(
                ", ",
                (
                    tell("ch {channel} {erp_w:g} W", channel=each.channel, erp_w=each.erp_w)
                    for each in station.services
                ),
            )
            for station in stations
        ],
    }
    return _points(columns, stations)


def cover_frame(report: CoverReport, of: CoverRows | None) -> GeoDataFrame:
    """Return the rows of a coverage that are asked for; its districts, or else its stations, if none are.

    Raises
    ------
    RangeError
        Rows that there are not, or districts of a study without any.
    """
    makers = {"districts": _districts, "stations": _stations, "served": _served}
    if of is None:
        of = "districts" if report.districts is not None else "stations"
    if of not in makers:
        raise RangeError("rows of the table", repr(of), ", ".join(map(repr, makers)))
    return makers[of](report)


def _districts(report: CoverReport) -> GeoDataFrame:
    """Return the people of each district in all services; those who live in none have no place."""
    from geopandas import GeoDataFrame

    drawn = report.districts
    if drawn is None:
        raise RangeError("rows of the table", "'districts'", "'stations' or 'served'", "the study has none")
    counted = report.all_services.districts
    columns = {"name": [name for name, _ in counted], **_people([people for _, people in counted])}
    columns |= _ranges(report.all_services.district_ranges)
    elsewhere = [None] * (len(counted) - len(drawn.polygons))
    return GeoDataFrame(columns, geometry=[*drawn.polygons, *elsewhere], crs=drawn.crs)


def _people(counts: Sequence[PeopleCount]) -> dict[str, list[float]]:
    return {f"people_{name}": [_number(getattr(each, name)) for each in counts] for name in _COUNTS}


def _ranges(ranges: Sequence[CountRanges]) -> dict[str, list[float]]:
    """Return between which numbers the served and the newly served lie; nothing where nobody asked."""
    return {
        f"people_{name}_{end}": [_number(getattr(getattr(each, name), end, None)) for each in ranges]
        for name in ("served", "newly_served")
        for end in ("low", "high")
        if ranges
    }


def _stations(report: CoverReport) -> GeoDataFrame:
    frame = station_frame([each.station for each in report.stations])
    people = [_number(each.people.served if each.people else None) for each in report.stations]
    frame.insert(frame.columns.size - 1, "people_served_all_services", people)
    return frame


def _served(report: CoverReport) -> GeoDataFrame:
    """Return where each service, and all, are served, and where each station serves, in the grid's CRS."""
    from geopandas import GeoDataFrame

    from combe.terrain import cell_outlines

    networks = [report.all_services, *report.services]
    covered = [service for station in report.stations for service in station.services]
    places = [served_mask(each.margin_db, 0.0) for each in networks] + [each.served for each in covered]
    counts = [each.people for each in networks] + [each.people for each in covered]
    columns = {
        "service": [each.name for each in networks] + [each.service for each in covered],
        "station": [None for _ in networks] + [each.station for each in covered],
        "area_km2": [float(each.sum()) * (report.grid.cell_size_m / 1000.0) ** 2 for each in places],
        "people_served": [_number(each.served if each else None) for each in counts],
    }
    outlines = [cell_outlines(each, report.grid) for each in places]
    return GeoDataFrame(columns, geometry=outlines, crs=report.grid.crs)


def feed_frame(report: FeedReport) -> GeoDataFrame:
    """Return a line for each service of each relay, from the station that feeds it; not judged over gaps."""
    from geopandas import GeoDataFrame
    from shapely import LineString

    rows, lines = list[dict[str, Any]](), list[LineString]()
    for relay in report.relays:
        profile = relay.path.profile
        along = turned(profile.lon_deg, float(profile.lon_deg[0]))
        for service in relay.services:
            rows.append(
                {
                    "relay": relay.relay.name,
                    "parent": relay.parent.name,
                    "service": service.radiated.name,
                    "verdict": service.verdict,
                    "reason": service.reason,
                    "margin_db": service.budget.margin_db,
                    "field_strength_dbuv_m": service.budget.field_strength_dbuv_m,
                    "distance_km": float(profile.distance_km[-1]),
                }
            )
            lines.append(LineString(list(zip(along.tolist(), profile.lat_deg.tolist(), strict=True))))
    for gap in report.gaps:
        start, end = report.project.station(gap.parent), report.project.station(gap.relay)
        rows.append({"relay": gap.relay, "parent": gap.parent, "verdict": "not judged", "reason": gap.reason})
        far_deg = float(turned(end.longitude_deg, start.longitude_deg))
        ends = (start.longitude_deg, start.latitude_deg), (far_deg, end.latitude_deg)
        lines.append(LineString(ends))
    return GeoDataFrame(rows, geometry=lines, crs=LONLAT)


def profile_frame(report: PathReport) -> GeoDataFrame:
    """Return the points of a path's profile in their order."""
    from geopandas import GeoDataFrame, points_from_xy

    profile = report.profile
    columns: dict[str, Any] = {"distance_km": profile.distance_km, "ground_m": profile.height_m}
    columns |= {} if report.clutter_height_m is None else {"cover_m": report.clutter_height_m}
    columns |= {} if report.zone is None else {"zone": report.zone}
    return GeoDataFrame(columns, geometry=points_from_xy(profile.lon_deg, profile.lat_deg), crs=LONLAT)


def candidate_frame(report: Explanation) -> GeoDataFrame:
    """Return a line from each station that could serve a place to the place, service by service."""
    from geopandas import GeoDataFrame
    from shapely import LineString

    rows = [(service, each) for service in report.services for each in service.candidates]
    levels = "field_dbuv_m", "minimum_dbuv_m", "needed_dbuv_m", "noise_margin_db", "margin_db"
    columns = {
        "service": [service.name for service, _ in rows],
        "station": [each.station.name for _, each in rows],
        "channel": [each.service.channel for _, each in rows],
        **{key: [getattr(each, key) for _, each in rows] for key in ("distance_km", "bearing_deg", *levels)},
    }
    here = report.longitude_deg, report.latitude_deg
    lines = [
        LineString([(float(turned(each.station.longitude_deg, here[0])), each.station.latitude_deg), here])
        for _, each in rows
    ]
    return GeoDataFrame(columns, geometry=lines, crs=LONLAT)


def coordination_frame(report: CoordinateReport) -> GeoDataFrame:
    """Return every service of every station at every place of a coordination, the highest first."""
    from geopandas import GeoDataFrame, points_from_xy

    columns = {key: [get(each) for each in report.fields] for key, get in COORDINATION.items()}
    places = points_from_xy(columns["longitude_deg"], columns["latitude_deg"])
    return GeoDataFrame(columns, geometry=places, crs=LONLAT)


COORDINATION: Final[Mapping[str, Callable[[FieldThere], Any]]] = {
    "place_number": lambda there: there.number,
    "place": lambda there: there.place.words,
    "longitude_deg": lambda there: there.place.longitude_deg,
    "latitude_deg": lambda there: there.place.latitude_deg,
    "station": lambda there: there.station.name,
    "service": lambda there: there.service.name,
    "channel": lambda there: there.service.channel,
    "frequency_mhz": lambda there: there.service.frequency_mhz,
    "distance_km": lambda there: there.distance_km,
    "bearing_deg": lambda there: there.bearing_deg,
    "erp_towards_dbw": lambda there: _number(there.erp_towards_dbw),
    "field_dbuv_m": lambda there: _number(there.field_dbuv_m),
    "at_most_dbuv_m": lambda there: _number(there.at_most_dbuv_m),
    "trigger_dbuv_m": lambda there: _number(there.trigger_dbuv_m),
    "excess_db": lambda there: _number(there.excess_db),
    "held": lambda there: there.held,
    "reason": lambda there: there.reason,
}
"""Columns of a coordination, in a GeoPackage and in a CSV file."""


def _points(columns: Mapping[str, Sequence[Any]], stations: Sequence[Station]) -> GeoDataFrame:
    """Return a table with the places of stations."""
    from geopandas import GeoDataFrame, points_from_xy

    places = points_from_xy(
        [each.longitude_deg for each in stations], [each.latitude_deg for each in stations]
    )
    return GeoDataFrame(columns, geometry=places, crs=LONLAT)


def _number(value: float | None) -> float:
    return math.nan if value is None else float(value)
