"""The loss of loss.py without its intermediates and without steps that cannot count; for area sweeps.

Each step left out is shown by a bound not to change the answer:

- up to the least β0 of the latitude, Fi is 1 and only aβ is priced; at p = 50 %, where Fi is 1e-9, only ae;
- where ``ducting_floor_db``, which no ducting loss is below, is above Lbd, eq. (61) gives Lbda = Lbd, and
  neither β0 nor the roughness is looked at.

It comes in two steps, so that a sweep need find the roughness only where ``ducting_counts`` says so; all else
in the summary must be there from the start. Symbols as in loss.py.
"""

from __future__ import annotations

from typing import NamedTuple

from combe.compiling import kernel_part
from combe.propagation.p526.delta import delta_bullington_kernel
from combe.propagation.p1812.combination import (
    angle_factor,
    distance_factor,
    ducting_minimum_db,
    with_ducting_db,
    with_troposcatter_db,
)
from combe.propagation.p1812.conditions import BETA_RADIUS_KM, P1812Conditions
from combe.propagation.p1812.diffraction import time_factor
from combe.propagation.p1812.ducting import ducting_floor_db, ducting_loss
from combe.propagation.p1812.ducting_incidence import ducting_incidence_percent, inland_factor
from combe.propagation.p1812.line_of_sight import focusing_db, free_space_slant_loss_db
from combe.propagation.p1812.summary import P1812Summary
from combe.propagation.p1812.troposcatter import troposcatter_loss_db
from combe.propagation.summary import PathSummary


class BegunLoss(NamedTuple):
    """What stands before ducts are looked at [dB], and whether they can change it."""

    sight_db: float  # Lb0p
    basic_db: float  # Lbd
    notional_db: float  # Lminb0p
    ducting_counts: bool


@kernel_part
def _diffraction_db(path: PathSummary, radius_km: float, sea: float, c: P1812Conditions) -> float:
    """Return Ld [dB] for one effective radius."""
    frequency_mhz = 1000.0 * c.frequency_ghz
    return delta_bullington_kernel(path, radius_km, frequency_mhz, c.wavelength_m, c.vertical, sea)


@kernel_part
def _incidence_percent(s: P1812Summary, c: P1812Conditions) -> float:
    """Return β0 [%] of the path."""
    return ducting_incidence_percent(c.latitude_deg, s.land_km, inland_factor(s.inland_km))


@kernel_part
def _diffracted(s: P1812Summary, c: P1812Conditions, free: float, sight: float) -> tuple[float, float]:
    """Return Lbd and Lminb0p [dB] (eq. 40 to 43 and 59)."""
    land = 1.0 - s.sea_fraction
    # No path at this latitude has a β0 below the least: Fi is 1 (eq. 40), and ae does not enter.
    if c.time_percent <= c.least_incidence_percent:
        by_duct = _diffraction_db(s.beta, BETA_RADIUS_KM, s.sea_fraction, c)
        return sight + by_duct, sight + land * by_duct
    median = _diffraction_db(s.median, c.median_radius_km, s.sea_fraction, c)
    # Fi is 1e-9: aβ does not enter, Lb0p is free space, and Lminb0p is Lbd50 (eq. 59).
    if c.time_percent >= 50.0:
        return sight + median, free + median
    incidence = _incidence_percent(s, c)
    by_time = time_factor(c.time_percent, c.time_inverse, incidence)
    by_duct = _diffraction_db(s.beta, BETA_RADIUS_KM, s.sea_fraction, c)
    diffracted = median + by_time * (by_duct - median)
    # p does not exceed β0 after all: eq. 59 has its other branch.
    if by_time >= 1.0:
        return sight + diffracted, sight + land * diffracted
    # Lminb0p = Lbd50 + (Lb0β + (1 - ω) Ldp - Lbd50) Fi (eq. 59).
    sight_beta = free + focusing_db(s.tx_horizon_km, s.rx_horizon_km, incidence)
    return sight + diffracted, free + median + (sight_beta + land * diffracted - free - median) * by_time


@kernel_part
def _with_ducting_db(s: P1812Summary, c: P1812Conditions, basic: float, sight: float) -> float:
    """Return Lbda [dB] of Lbd (eq. 46 to 61)."""
    duct = ducting_loss(s, c, _incidence_percent(s, c), inland_factor(s.inland_km))
    least = ducting_minimum_db(duct.coupling_db + duct.attenuation_db, sight)
    return with_ducting_db(basic, least, distance_factor(s.median.distance_km))


@kernel_part
def begin_loss(summary: P1812Summary, conditions: P1812Conditions) -> BegunLoss:
    """Return line of sight and diffraction; roughness may still be NaN (P.1812-8 §4.2, §4.3)."""
    s, c, path = summary, conditions, summary.median
    # Eq. 8 and 10.
    free = free_space_slant_loss_db(path.distance_km, path.tx_height_m, path.rx_height_m, c.frequency_ghz)
    sight = free + focusing_db(s.tx_horizon_km, s.rx_horizon_km, c.time_percent)
    basic, notional = _diffracted(s, c, free, sight)
    # Asked this way round, a floor that is no number lets the duct count.
    return BegunLoss(sight, basic, notional, not ducting_floor_db(s, c) > basic)


@kernel_part
def finish_loss_db(summary: P1812Summary, conditions: P1812Conditions, begun: BegunLoss) -> float:
    """Return Lb [dB]; the roughness is used only where ``begun.ducting_counts`` (P.1812-8 §4.4 to §4.9)."""
    s, c, d = summary, conditions, summary.median.distance_km
    with_duct = begun.basic_db
    if begun.ducting_counts:
        with_duct = _with_ducting_db(s, c, begun.basic_db, begun.sight_db)
    angle = 1000.0 * d / c.median_radius_km + s.tx_horizon_mrad + s.rx_horizon_mrad
    # Lbam (eq. 62): inside the horizon, where Fj is 1, the notional minimum; well beyond it, Lbda.
    modified = with_duct + (begun.notional_db - with_duct) * angle_factor(angle)
    scattered = troposcatter_loss_db(d, angle, c.frequency_ghz, c.time_percent, c.n0)
    combined = with_troposcatter_db(scattered, modified)
    # Over sea places do not differ; and no loss is below that of the open path.
    return max(begun.sight_db, combined + c.location_db * (1.0 - s.rx_at_sea))


@kernel_part
def basic_loss_db(summary: P1812Summary, conditions: P1812Conditions) -> float:
    """Return Lb [dB] of a summarised path: that of ``basic_loss``, within 1e-6 dB (P.1812-8 §4)."""
    return finish_loss_db(summary, conditions, begin_loss(summary, conditions))
