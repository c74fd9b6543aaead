"""The exact path: loss and field between two aerials over one terrain profile."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray, field_from_loss_dbuv_m
from combe.errors import RangeError
from combe.prediction.conditions import Conditions
from combe.propagation import free_space_loss_db, horizon_slopes, largest_fresnel, p1812
from combe.propagation.p526 import check_profile, delta_bullington
from combe.propagation.p1812 import INLAND, coast_distances_km, profile_arrays
from combe.terrain import TerrainProfile


@dataclass(frozen=True)
class PathPrediction:
    """Loss [dB] and field [dB(µV/m)] of one path, and where its ground matters most.

    The basic loss is the sum of its three parts. By P.1812 the diffraction part is Ldp, and the other
    mechanisms are all the rest of Lb: focusing, troposcatter, ducting and the way they are combined, below 0
    where they raise the field. Other models have no other mechanisms.
    """

    distance_km: float
    slant_km: float
    elevation_deg: float
    """Angle of the line from the transmitting to the receiving aerial over the horizontal."""
    free_space_loss_db: float
    diffraction_loss_db: float
    other_mechanisms_db: float
    basic_loss_db: float
    field_strength_1kw_dbuv_m: float
    """What 1 kW e.r.p. towards the receiver makes; a station makes that of its own ERP."""
    line_of_sight: bool
    controlling_index: int | None
    """Profile point of the largest diffraction parameter ν."""
    controlling_km: float | None
    conditions: Conditions
    p1812_steps: p1812.PathLoss | None
    """Every intermediate of P.1812, where that is the model; its field is the Recommendation's, for 1 kW."""


class _Parts(NamedTuple):
    """Parts of a basic transmission loss [dB]."""

    free_space_db: float
    diffraction_db: float
    other_db: float
    basic_db: float
    steps: p1812.PathLoss | None


class _Path(NamedTuple):
    """A checked path: profile with its cover and zones, terminals, frequency, and the air."""

    distance_km: FloatArray
    height_m: FloatArray
    cover_m: FloatArray
    zone: npt.ArrayLike
    latitude_deg: float
    tx_height_m: float
    rx_height_m: float
    frequency_mhz: float
    polarization: str
    conditions: Conditions


def predict_path(
    profile: TerrainProfile,
    *,
    tx_height_m: float,
    rx_height_m: float,
    frequency_mhz: float,
    polarization: str = "horizontal",
    conditions: Conditions | None = None,
    clutter_height_m: npt.ArrayLike | None = None,
    zone: npt.ArrayLike = INLAND,
) -> PathPrediction:
    """Return the prediction over a terrain profile, the median of places.

    Parameters
    ----------
    profile
        Terrain from the transmitter to the receiver; the latitude of its middle point is that of P.1812.
    tx_height_m, rx_height_m
        Aerial heights [m] above ground, above 0.
    frequency_mhz
        Frequency [MHz].
    polarization
        ``"horizontal"`` or ``"vertical"``.
    conditions
        Model and air; the defaults of :class:`Conditions` if not given.
    clutter_height_m
        Height [m] of ground cover above the ground at each point of the profile, shape (n,); added between
        the terminals. For P.1812 only.
    zone
        Radio-climatic zone of each point, shape (n,), or one for all: 1 sea, 3 coastal land, 4 inland. Used
        by P.1812 only, which takes the distances to the coast from it as well.

    Raises
    ------
    ProfileError, RangeError
        For an unusable profile or a value out of range; P.1812 asks for five points or more over 0.25 km or
        more.

    Notes
    -----
    The field follows from the loss by the exact constant 139.366, of which P.1812-8 eq. (70) prints 139.36.
    """
    conditions = conditions or Conditions()
    distance, height = check_profile(profile.distance_km, profile.height_m)
    cover = _cover(conditions, clutter_height_m, distance.size)
    # P.1812 asks for that of the path's centre.
    latitude_deg = float(profile.lat_deg[distance.size // 2])
    path = _Path(
        distance,
        height,
        cover,
        zone,
        latitude_deg,
        tx_height_m,
        rx_height_m,
        frequency_mhz,
        polarization,
        conditions,
    )
    tx_m, rx_m = float(height[0] + tx_height_m), float(height[-1] + rx_height_m)
    length_km = float(distance[-1])
    slant_km = math.hypot(length_km, (tx_m - rx_m) / 1000.0)
    parts = _p1812_parts(path) if conditions.model == "p1812" else _p526_parts(path, slant_km)
    clear, edge = controlling_edge(distance, height + cover, tx_m, rx_m, conditions.effective_radius_km)
    return PathPrediction(
        distance_km=length_km,
        slant_km=slant_km,
        elevation_deg=float(elevation_deg(length_km, tx_m, rx_m, conditions.effective_radius_km)),
        free_space_loss_db=parts.free_space_db,
        diffraction_loss_db=parts.diffraction_db,
        other_mechanisms_db=parts.other_db,
        basic_loss_db=parts.basic_db,
        # 30 dBW is 1 kW.
        field_strength_1kw_dbuv_m=field_from_loss_dbuv_m(30.0, parts.basic_db, frequency_mhz),
        line_of_sight=clear,
        controlling_index=edge,
        controlling_km=None if edge is None else float(distance[edge]),
        conditions=conditions,
        p1812_steps=parts.steps,
    )


def _cover(conditions: Conditions, clutter_height_m: npt.ArrayLike | None, count: int) -> FloatArray:
    """Return the cover [m] of each point, 0 where there is none and at the terminals."""
    if clutter_height_m is None:
        return np.zeros(count)
    if conditions.model != "p1812":
        allowed = f"none with model '{conditions.model}'"
        raise RangeError("clutter_height_m", "given", allowed, "take model 'p1812'")
    cover = np.array(clutter_height_m, dtype=np.float64)
    if cover.shape != (count,):
        raise RangeError("shape of clutter_height_m", cover.shape, f"({count},), that of the profile")
    # Aerials are counted from the bare ground.
    cover[0] = cover[-1] = 0.0
    return cover


def _p526_parts(path: _Path, slant_km: float) -> _Parts:
    """Return free space (P.525) and, unless the model is free space alone, diffraction (P.526)."""
    free_db, diffraction_db = free_space_loss_db(slant_km, path.frequency_mhz), 0.0
    if path.conditions.model == "p526":
        diffraction_db = delta_bullington(
            path.distance_km,
            path.height_m,
            tx_height_m=path.tx_height_m,
            rx_height_m=path.rx_height_m,
            frequency_mhz=path.frequency_mhz,
            effective_radius_km=path.conditions.effective_radius_km,
            polarization=path.polarization,
            sea_fraction=path.conditions.sea_fraction,
        ).total_db
    return _Parts(free_db, diffraction_db, 0.0, free_db + diffraction_db, None)


def _p1812_parts(path: _Path) -> _Parts:
    """Return Lbfs, Ldp and the rest of Lb (P.1812)."""
    *_, zone = profile_arrays(path.distance_km, path.height_m, path.cover_m, path.zone)
    coast = coast_distances_km(path.distance_km, zone)
    steps = p1812.predict_path(
        path.distance_km,
        path.height_m,
        path.cover_m,
        zone,
        frequency_mhz=path.frequency_mhz,
        time_percent=path.conditions.time_percent,
        tx_height_m=path.tx_height_m,
        rx_height_m=path.rx_height_m,
        latitude_deg=path.latitude_deg,
        delta_n=path.conditions.delta_n,
        n0=path.conditions.n0,
        polarization=path.polarization,
        tx_coast_distance_km=coast.tx_km,
        rx_coast_distance_km=coast.rx_km,
    )
    free_db, diffraction_db = steps.free_space_loss_db, steps.diffraction_loss_db
    basic_db = steps.basic_transmission_loss_db
    return _Parts(free_db, diffraction_db, basic_db - free_db - diffraction_db, basic_db, steps)


def elevation_deg(distance_km: Any, tx_m: float, rx_m: Any, effective_radius_km: float) -> Any:
    """Return the elevation angle [degrees] at the transmitter of the line to the receiver, curve included.

    ``distance_km`` and ``rx_m`` may be floats or arrays of one shape, which the result then has.
    """
    drop_m = 500.0 * distance_km * distance_km / effective_radius_km
    return np.degrees(np.arctan2(rx_m - tx_m - drop_m, 1000.0 * distance_km))


def controlling_edge(
    distance_km: FloatArray, height_m: FloatArray, tx_m: float, rx_m: float, effective_radius_km: float
) -> tuple[bool, int | None]:
    """Return (line of sight?, index of the controlling point or None where nothing lies between)."""
    if distance_km.size < 3:
        return True, None
    curvature = 500.0 / effective_radius_km
    tx_slope, _ = horizon_slopes(distance_km, height_m, tx_m, rx_m, curvature)
    clear = tx_slope < (rx_m - tx_m) / float(distance_km[-1])
    _, index = largest_fresnel(distance_km, height_m, tx_m, rx_m, curvature)
    return bool(clear), int(index)
