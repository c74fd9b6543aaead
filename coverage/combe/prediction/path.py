"""The exact path: loss and field between two aerials over one terrain profile."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from combe.decibels import field_from_loss_dbuv_m
from combe.prediction.conditions import Conditions
from combe.propagation.p525 import free_space_loss_db
from combe.propagation.p526 import delta_bullington
from combe.propagation.p526.delta import check_profile
from combe.propagation.summary import horizon_slopes, largest_fresnel
from combe.terrain.profile import TerrainProfile

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PathPrediction:
    """Loss [dB] and field [dB(µV/m)] of one path, and where its ground matters most."""

    distance_km: float
    slant_km: float
    elevation_deg: float
    """Angle of the line from the transmitting to the receiving aerial over the horizontal."""
    free_space_loss_db: float
    diffraction_loss_db: float
    basic_loss_db: float
    field_strength_dbuv_m: float
    """For 1 kW e.r.p. towards the receiver."""
    line_of_sight: bool
    controlling_index: int | None
    """Profile point of the largest diffraction parameter ν."""
    controlling_km: float | None
    conditions: Conditions


def predict_path(
    profile: TerrainProfile,
    *,
    tx_height_m: float,
    rx_height_m: float,
    frequency_mhz: float,
    polarization: str = "horizontal",
    conditions: Conditions | None = None,
) -> PathPrediction:
    """Return the prediction over a terrain profile.

    Parameters
    ----------
    profile
        Terrain from the transmitter to the receiver.
    tx_height_m, rx_height_m
        Aerial heights [m] above ground, above 0.
    frequency_mhz
        Frequency [MHz].
    polarization
        ``"horizontal"`` or ``"vertical"``.
    conditions
        Model and air; the defaults of :class:`Conditions` if not given.

    Raises
    ------
    ProfileError, RangeError
        For an unusable profile or a value out of range.
    """
    conditions = conditions or Conditions()
    distance, height = check_profile(profile.distance_km, profile.height_m)
    diffraction_db = 0.0
    if conditions.model == "p526":
        diffraction_db = delta_bullington(
            distance,
            height,
            tx_height_m=tx_height_m,
            rx_height_m=rx_height_m,
            frequency_mhz=frequency_mhz,
            effective_radius_km=conditions.effective_radius_km,
            polarization=polarization,
            sea_fraction=conditions.sea_fraction,
        ).total_db
    tx_m, rx_m = float(height[0] + tx_height_m), float(height[-1] + rx_height_m)
    length_km = float(distance[-1])
    slant_km = math.hypot(length_km, (tx_m - rx_m) / 1000.0)
    free_db = free_space_loss_db(slant_km, frequency_mhz)
    clear, edge = controlling_edge(distance, height, tx_m, rx_m, conditions.effective_radius_km)
    return PathPrediction(
        distance_km=length_km,
        slant_km=slant_km,
        elevation_deg=elevation_deg(length_km, tx_m, rx_m, conditions.effective_radius_km),
        free_space_loss_db=free_db,
        diffraction_loss_db=diffraction_db,
        basic_loss_db=free_db + diffraction_db,
        field_strength_dbuv_m=field_from_loss_dbuv_m(30.0, free_db + diffraction_db, frequency_mhz),
        line_of_sight=clear,
        controlling_index=edge,
        controlling_km=None if edge is None else float(distance[edge]),
        conditions=conditions,
    )


def elevation_deg(distance_km: float, tx_m: float, rx_m: float, effective_radius_km: float) -> float:
    """Return the elevation angle [degrees] at the transmitter of the line to the receiver, curve included."""
    drop_m = 500.0 * distance_km * distance_km / effective_radius_km
    return math.degrees(math.atan2(rx_m - tx_m - drop_m, 1000.0 * distance_km))


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
