"""Targets only: the field of a station at a list of places, by the same sweep as an area, without its cells.

Rays are laid to the targets alone; rays without one are not walked. So the cost grows with the number of rays
that hold targets and their length, not with the area: what siting needs, which prices a hill at the places
where people live unserved.
"""

from __future__ import annotations

import math
import os
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray, field_from_loss_dbuv_m
from combe.errors import RangeError, TerrainGapError
from combe.geodesy import ellipsoid
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import ray_density, station_losses
from combe.prediction.path import elevation_deg
from combe.prediction.rays import Rays, origin_on_ground, ray_count, ray_geodesics
from combe.stations import Station, erp_towards_dbw
from combe.terrain import height_at, sample_heights, to_cells


@dataclass(frozen=True)
class Targets:
    """Places to be priced, each array of shape (n,): degrees, cells of the study grid, ground height [m]."""

    longitude_deg: FloatArray
    latitude_deg: FloatArray
    row: FloatArray
    column: FloatArray
    height_m: FloatArray


def find_targets(area: Area, longitude_deg: npt.ArrayLike, latitude_deg: npt.ArrayLike) -> Targets:
    """Return targets at places [degrees], with their ground from the terrain.

    Raises
    ------
    RangeError
        For arrays of different length or none at all, or places off the grid.
    TerrainGapError
        For a place without a height.
    """
    lon, lat = np.atleast_1d(np.asarray(longitude_deg, float)), np.atleast_1d(np.asarray(latitude_deg, float))
    if lon.ndim != 1 or lon.shape != lat.shape or lon.size == 0:
        raise RangeError("targets", f"shapes {lon.shape} and {lat.shape}", "one shape (n,), n at least 1")
    row, column = to_cells(area.grid, lon, lat)
    off = (row < -0.5) | (row > area.grid.rows - 0.5) | (column < -0.5) | (column > area.grid.columns - 0.5)
    if off.any():
        first = int(np.flatnonzero(off)[0])
        raise RangeError(f"target {first}", f"{lon[first]:.5f}, {lat[first]:.5f}", "on the study grid")
    height = sample_heights(area.terrain, lon, lat)
    if np.isnan(height).any():
        first = int(np.flatnonzero(np.isnan(height))[0])
        # Asked for alone, a void is told with its tile and what to do.
        height_at(area.terrain, float(lon[first]), float(lat[first]), f"target {first}")
        raise TerrainGapError("unknown", f"target {first}")
    return Targets(lon, lat, row, column, height)


def lay_rays_to(area: Area, station: Station, targets: Targets) -> Rays:
    """Lay rays from a station to targets, each to its nearest ray of the set that an area would have.

    Raises
    ------
    RangeError
        For a station beyond the ground that was read.
    """
    row, column = origin_on_ground(area, station.longitude_deg, station.latitude_deg)
    north, east = row - targets.row, targets.column - column
    away = np.hypot(north, east)
    far = max(float(away.max()), 2.0) + 1.0
    count = ray_count(far, ray_density(area))
    ray = np.round(np.arctan2(east, north) * (count / (2.0 * math.pi))).astype(np.int64) % count
    order = np.lexsort((away, ray))
    first_cell = np.zeros(count + 1, dtype=np.int64)
    np.cumsum(np.bincount(ray, minlength=count), out=first_cell[1:])
    used = np.unique(ray)
    scale, azimuth = np.ones(count), np.zeros(count)
    # Geodesics cost more than rays: only for those that hold a target.
    scale[used], azimuth[used] = ray_geodesics(
        area.grid,
        station.longitude_deg,
        station.latitude_deg,
        used.astype(np.float64) * (2.0 * math.pi / count),
        far * area.grid.cell_size_m,
    )
    places = np.vstack((targets.row, targets.column, targets.height_m))
    return Rays(row, column, scale, azimuth, ray.astype(np.int32), order.astype(np.int32), first_cell, places)


def predict_targets(
    area: Area,
    station: Station,
    targets: Targets,
    *,
    conditions: Conditions | None = None,
    rx_height_m: float = 10.0,
    threads: int | None = None,
) -> FloatArray:
    """Return the field [dB(µV/m)] of a station's services at targets, shape (services, n).

    NaN where a void lies on the way. Arguments and errors are those of
    :func:`combe.prediction.coverage.predict_coverage`.
    """
    conditions = conditions or Conditions()
    rays = lay_rays_to(area, station, targets)
    ground_m = height_at(area.terrain, station.longitude_deg, station.latitude_deg, f"station {station.name}")
    workers = threads or os.cpu_count() or 1
    losses = station_losses(area, rays, station, conditions, ground_m, rx_height_m, threads=workers)
    bearing, elevation = _directions(station, targets, ground_m, rx_height_m, conditions)
    return np.stack(
        [
            field_from_loss_dbuv_m(
                erp_towards_dbw(station, service, bearing, elevation), loss, service.frequency_mhz
            )
            for service, loss in zip(station.services, losses, strict=True)
        ]
    )


def _directions(
    station: Station, targets: Targets, ground_m: float, rx_height_m: float, conditions: Conditions
) -> tuple[FloatArray, FloatArray]:
    """Return (true bearing, elevation) [degrees] from the station to each target."""
    here = np.full(targets.longitude_deg.size, station.longitude_deg)
    azimuth, _, length_m = ellipsoid().inv(
        here, np.full(here.size, station.latitude_deg), targets.longitude_deg, targets.latitude_deg
    )
    distance_km = np.maximum(np.asarray(length_m) / 1000.0, 0.001)
    elevation = elevation_deg(
        distance_km,
        ground_m + station.aerial_height_m,
        targets.height_m + rx_height_m,
        conditions.effective_radius_km,
    )
    return np.asarray(azimuth) % 360.0, elevation
