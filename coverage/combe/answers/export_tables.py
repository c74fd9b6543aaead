"""Makes the tables of an export: with places for maps, and plain ones of services, people and harm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport
from combe.answers.frames import LONLAT, cover_frame, feed_frame
from combe.answers.network import Network
from combe.answers.people_places import people_places
from combe.geodesy import turned
from combe.planning import lost, newly_served
from combe.reception import predicted_mask, served_mask
from combe.terrain import PeoplePoints, cell_outlines, values_at_points
from combe.words import joined, tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame
    from shapely.geometry.base import BaseGeometry

Row = dict[str, Any]
Rows = list[Row]
Mask = npt.NDArray[np.bool_]

SERVED_CLASSES: Final = (
    "no prediction",
    "served before",
    "newly served",
    "lost",
    "unserved",
    "served, before not known",
)
"""What is said of a cell, by its code: served by the parents alone, and with every station on the air."""

_COUNTS: Final = (
    *("total", "served", "served_before", "newly_served", "lost", "unserved", "served_twice"),
    *("limited_by_interference", "interference_unknown", "without_prediction"),
)
_RANGED: Final = ("served", "newly_served")


def export_tables(report: CoverReport, steps_db: Sequence[float]) -> dict[str, GeoDataFrame]:
    """Return the tables with places of a coverage, by the names of their layers; none without rows.

    All services are apart from each, for a GIS that opens a layer shows all of it. ``steps_db`` are the lower
    edges of the classes of margin, the lowest first.
    """
    every, each_service = [report.all_services], report.services if len(report.services) > 1 else ()
    made = {
        "coverage": _coverage(report, every, steps_db),
        "coverage_by_service": _coverage(report, each_service, steps_db),
        "served_areas": _served(report, every),
        "served_by_service": _served(report, each_service),
        "served_by_station": _served_by_station(report),
        "districts": cover_frame(report, "districts") if report.districts is not None else None,
        "feeds": feed_frame(report.feeds) if report.feeds is not None else None,
        "settlements": _settlements(report),
        "stations": _stations(report),
    }
    return {name: each for name, each in made.items() if each is not None and len(each)}


def _stations(report: CoverReport) -> GeoDataFrame:
    from geopandas import GeoDataFrame, points_from_xy

    rows = [
        {
            "number": number,
            "name": (station := each.station).name,
            "role": station.role,
            "parent": station.parent,
            "longitude_deg": station.longitude_deg,
            "latitude_deg": station.latitude_deg,
            "aerial_height_m": float(station.aerial_height_m),
            "polarization": station.polarization,
            "bearing_deg": float(station.bearing_deg),
            "tilt_deg": float(station.tilt_deg),
            "highest_erp_w": max(service.erp_w for service in station.services),
            "services": joined(
                "; ",
                (
                    tell(
                        "{name} ch {channel} {erp_w:g} W",
                        name=service.name,
                        channel=service.channel,
                        erp_w=service.erp_w,
                    )
                    for service in station.services
                ),
            ),
            "people_served_all_services": _number(each.people.served if each.people else None),
        }
        for number, each in enumerate(report.stations, 1)
    ]
    places = points_from_xy([each["longitude_deg"] for each in rows], [each["latitude_deg"] for each in rows])
    return GeoDataFrame(rows, geometry=places, crs=LONLAT)


def _coverage(
    report: CoverReport, networks: Sequence[Network], steps_db: Sequence[float]
) -> GeoDataFrame | None:
    """Return the cells of each class of margin."""
    rows: Rows = []
    for network in networks:
        margin_db = network.margin_db
        for from_db, below_db in pairwise((*steps_db, math.inf)):
            chosen = (margin_db >= from_db) & (margin_db < below_db)
            bounds = {"from_db": from_db, "below_db": below_db if math.isfinite(below_db) else math.nan}
            rows += _area_row(report, {"service": network.name, **bounds}, chosen)
    return _areas(report, rows)


def _served(report: CoverReport, networks: Sequence[Network]) -> GeoDataFrame | None:
    """Return where services are served before, now, newly and no more."""
    rows: Rows = []
    for network in networks:
        for state, key, chosen in _states(network):
            people = _number(getattr(network.people, key) if network.people else None)
            rows += _area_row(report, {"service": network.name, "state": state, "people": people}, chosen)
    return _areas(report, rows)


def _served_by_station(report: CoverReport) -> GeoDataFrame | None:
    """Return where each service of each station is served by it."""
    rows: Rows = []
    for each in (service for covered in report.stations for service in covered.services):
        people = _number(each.people.served if each.people else None)
        rows += _area_row(
            report, {"station": each.station, "service": each.service, "people": people}, each.served
        )
    return _areas(report, rows)


def _states(network: Network) -> Iterator[tuple[str, str, Mask]]:
    """Yield the states of an area, the count of its people, and its cells."""
    now_db, before_db = network.margin_db, network.margin_before_db
    yield "served before", "served_before", served_mask(before_db, 0.0)
    yield "served now", "served", served_mask(now_db, 0.0)
    yield "newly served", "newly_served", newly_served(now_db, before_db)
    yield "lost", "lost", lost(now_db, before_db)


def served_codes(network: Network) -> npt.NDArray[np.uint8]:
    """Return the code of each cell by SERVED_CLASSES."""
    now_db, before_db = network.margin_db, network.margin_before_db
    served, known_before = served_mask(now_db, 0.0), predicted_mask(before_db)
    codes = np.zeros(now_db.shape, dtype=np.uint8)
    codes[predicted_mask(now_db)] = 4
    codes[lost(now_db, before_db)] = 3
    codes[served & served_mask(before_db, 0.0)] = 1
    codes[newly_served(now_db, before_db)] = 2
    codes[served & ~known_before] = 5
    return codes


def _area_row(report: CoverReport, named: Mapping[str, Any], chosen: Mask) -> Rows:
    """Return the row of an area; none where it has no cell, since a GIS shows nothing of it."""
    if not chosen.any():
        return []
    area_km2 = float(np.count_nonzero(chosen)) * (report.grid.cell_size_m / 1000.0) ** 2
    return [{**named, "area_km2": area_km2, "geometry": cell_outlines(chosen, report.grid)}]


def _areas(report: CoverReport, rows: Rows) -> GeoDataFrame | None:
    from geopandas import GeoDataFrame

    return GeoDataFrame(rows, geometry="geometry", crs=report.grid.crs) if rows else None


def _settlements(report: CoverReport) -> GeoDataFrame | None:
    """Return where people live with the verdict on each place; None where nobody is counted."""
    from geopandas import GeoDataFrame, points_from_xy

    if report.people is None:
        return None
    rows = _of_points(report, report.points) if report.points is not None else _of_cells(report)
    places = points_from_xy(*([each.pop(key) for each in rows] for key in ("longitude_deg", "latitude_deg")))
    return GeoDataFrame(rows, geometry=places, crs=LONLAT)


def _of_points(report: CoverReport, points: PeoplePoints) -> Rows:
    """Return the points of the study; those beyond the grid have no prediction, which is code 0."""
    network = report.all_services
    codes = values_at_points(served_codes(network), report.grid, points).astype(np.intp)
    margin_db = values_at_points(network.margin_db, report.grid, points, beyond=math.nan)
    columns = {
        "name": points.names,
        "people": points.people.tolist(),
        "verdict": [SERVED_CLASSES[code] for code in codes],
        "margin_db": np.where(np.isfinite(margin_db), margin_db, math.nan).tolist(),
        "longitude_deg": points.longitude_deg.tolist(),
        "latitude_deg": points.latitude_deg.tolist(),
    }
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def _of_cells(report: CoverReport) -> Rows:
    assert report.people is not None, "asked of people alone"
    return [
        {
            "people": place.people,
            "verdict": place.state,
            "longitude_deg": place.longitude_deg,
            "latitude_deg": place.latitude_deg,
        }
        for place in people_places(report.people, report.grid, report.all_services)
    ]


def service_rows(report: CoverReport) -> Rows:
    """Return a row for each service of each station: what it radiates, and whom it serves."""
    cell_km2 = (report.grid.cell_size_m / 1000.0) ** 2
    erp_w = {(each.name, one.name): one.erp_w for each in report.project.stations for one in each.services}
    return [
        {
            "station": each.station,
            "service": each.service,
            "channel": each.channel,
            "frequency_mhz": each.frequency_mhz,
            "erp_w": erp_w[each.station, each.service],
            "minimum_field_dbuv_m": each.minimum_field_dbuv_m,
            "area_served_km2": float(np.count_nonzero(each.served)) * cell_km2,
            "people_served": _number(each.people.served if each.people else None),
        }
        for covered in report.stations
        for each in covered.services
    ]


def people_rows(report: CoverReport) -> Rows:
    """Return the people of all services and of each, with their ranges, and the same of each district."""
    rows: Rows = []
    for network in (report.all_services, *report.services):
        ranged = [network.ranges, *network.district_ranges]
        counted = [(None, network.people), *network.districts]
        ranges = ranged if len(ranged) == len(counted) else [None] * len(counted)
        for (district, people), between in zip(counted, ranges, strict=True):
            if people is None:
                continue
            row: Row = {"service": network.name, "district": district}
            row |= {f"people_{key}": _number(getattr(people, key)) for key in _COUNTS}
            for key in _RANGED:
                for end in ("low", "high"):
                    row[f"people_{key}_{end}"] = _number(getattr(getattr(between, key, None), end, None))
            rows.append(row)
    return rows


def harm_rows(report: CoverReport) -> Rows:
    """Return what each relay does to each service of another station that it may disturb at all."""
    return [
        {
            "relay": each.relay,
            "station": each.station,
            "service": each.service,
            "channel": each.channel,
            "cells": each.cells,
            "people_fall_below": _number(each.fall_below),
            "people_served_otherwise": _number(each.served_otherwise),
            "people_left_without": _number(each.left_without),
            "people_not_known": _number(each.not_known),
        }
        for each in report.harm
    ]


def in_lonlat(frame: GeoDataFrame) -> GeoDataFrame:
    """Return a table with places in longitude and latitude, cut where they cross the antimeridian.

    A place that spans it would else be drawn the other way round the globe.
    """
    from pyproj import Transformer
    from shapely import transform

    convert = Transformer.from_crs(frame.crs, LONLAT, always_xy=True).transform

    def whole(corners: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        lon, lat = convert(corners[:, 0], corners[:, 1])
        return np.column_stack([turned(lon, float(lon[0])), lat]) if len(corners) else corners

    places = [None if each is None else _cut(transform(each, whole)) for each in frame.geometry]
    return frame.set_geometry(places, crs=LONLAT)


def _cut(place: BaseGeometry) -> BaseGeometry:
    """Return a place within 180 degrees, what lies beyond put on the other side."""
    from shapely import box, union_all
    from shapely.affinity import translate

    west, _, east, _ = place.bounds if not place.is_empty else (0.0, 0.0, 0.0, 0.0)
    if west >= -180.0 and east <= 180.0:
        return place
    parts = [
        translate(place.intersection(box(-180.0 + turn, -90.0, 180.0 + turn, 90.0)), -turn)
        for turn in (-360.0, 0.0, 360.0)
    ]
    return union_all([each for each in parts if not each.is_empty])


def _number(value: float | None) -> float:
    return math.nan if value is None else float(value)
