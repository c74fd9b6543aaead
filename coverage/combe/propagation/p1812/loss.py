"""Prices a path summary: the basic transmission loss of ITU-R P.1812-8 with every intermediate.

One scalar kernel for the exact path and for the sweep. Symbols are given beside each number of the result.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import kernel, kernel_part
from combe.propagation.p1812.combination import (
    angle_factor,
    distance_factor,
    ducting_minimum_db,
    notional_minimum_db,
    with_ducting_db,
    with_troposcatter_db,
)
from combe.propagation.p1812.conditions import P1812Conditions
from combe.propagation.p1812.diffraction import beta_diffraction, median_diffraction, time_factor
from combe.propagation.p1812.ducting import ducting_loss
from combe.propagation.p1812.ducting_incidence import ducting_incidence_percent, inland_factor
from combe.propagation.p1812.line_of_sight import focusing_db, free_space_slant_loss_db
from combe.propagation.p1812.summary import P1812Summary
from combe.propagation.p1812.troposcatter import troposcatter_loss_db


class P1812Loss(NamedTuple):
    """Every intermediate of the loss [dB unless said]: symbol of the Recommendation after each."""

    ducting_incidence_percent: float  # β0
    path_angle_mrad: float  # θ
    time_factor: float  # Fi
    angle_factor: float  # Fj
    distance_factor: float  # Fk
    free_space_loss_db: float  # Lbfs
    line_of_sight_loss_db: float  # Lb0p
    line_of_sight_beta_loss_db: float  # Lb0β
    bullington_median_db: float  # Lbulla, ae
    bullington_smooth_median_db: float  # Lbulls, ae
    spherical_median_db: float  # Ldsph, ae
    diffraction_median_db: float  # Ld50
    bullington_beta_db: float  # Lbulla, aβ
    bullington_smooth_beta_db: float  # Lbulls, aβ
    spherical_beta_db: float  # Ldsph, aβ
    diffraction_beta_db: float  # Ldβ
    diffraction_loss_db: float  # Ldp
    basic_diffraction_median_db: float  # Lbd50
    basic_diffraction_db: float  # Lbd
    notional_minimum_db: float  # Lminb0p
    duct_time_percent: float  # β
    ducting_coupling_db: float  # Af
    ducting_attenuation_db: float  # Ad
    ducting_loss_db: float  # Lba
    ducting_minimum_db: float  # Lminbap
    diffraction_with_ducting_db: float  # Lbda
    modified_diffraction_db: float  # Lbam
    troposcatter_loss_db: float  # Lbs
    combined_loss_db: float  # Lbc
    location_correction_db: float  # Lloc
    basic_transmission_loss_db: float  # Lb
    field_strength_dbuv_m: float  # Ep for 1 kW e.r.p.


@kernel_part
def field_strength_dbuv_m(loss_db: float, frequency_ghz: float) -> float:
    """Return E [dB(µV/m)] for 1 kW e.r.p. (P.1812-8 §4.10, eq. 70; the printed constant 199.36)."""
    return 199.36 + 20.0 * math.log10(frequency_ghz) - loss_db


@kernel
def basic_loss(summary: P1812Summary, conditions: P1812Conditions) -> P1812Loss:
    """Return the basic transmission loss not exceeded for p % of time, and all on the way (P.1812-8 §4).

    No ranges are checked here.
    """
    s, c, d = summary, conditions, summary.median.distance_km
    # τ and β0 (eq. 3a and 2 to 5): how often there are ducts along this path at all.
    tau = inland_factor(s.inland_km)
    incidence = ducting_incidence_percent(c.latitude_deg, s.land_km, tau)
    # θ (eq. 82): what the Earth turns between the ends, and both horizons over the level. It is 0 where the
    # ends see one another: each is then the other's horizon, and together they lie as far under the level.
    angle = 1000.0 * d / c.median_radius_km + s.tx_horizon_mrad + s.rx_horizon_mrad
    by_time = time_factor(c.time_percent, c.time_inverse, incidence)
    by_angle, by_distance = angle_factor(angle), distance_factor(d)
    # Lbfs, Lb0p and Lb0β (eq. 8, 10 and 11): free space, and what focusing gives for p and for β0 % of time.
    free = free_space_slant_loss_db(d, s.median.tx_height_m, s.median.rx_height_m, c.frequency_ghz)
    sight = free + focusing_db(s.tx_horizon_km, s.rx_horizon_km, c.time_percent)
    sight_beta = free + focusing_db(s.tx_horizon_km, s.rx_horizon_km, incidence)
    # Ld50 and Ldβ (eq. 39), over the usual Earth and over the flatter one that ducting air makes.
    median, beta = median_diffraction(s, c), beta_diffraction(s, c)
    # Ldp: from Ld50 at 50 % of time to Ldβ at β0 %, by Fi (eq. 40).
    diffracted = median.total_db + by_time * (beta.total_db - median.total_db)
    # Lbd50 and Lbd (eq. 42 and 43): the median has no focusing, for there is none at half of the time.
    basic_median, basic = free + median.total_db, sight + diffracted
    # Eq. 59 to 61: what there is at least, with ducts joined in, and the duct taken up by distance.
    notional = notional_minimum_db(sight, sight_beta, diffracted, basic_median, s.sea_fraction, by_time)
    duct = ducting_loss(s, c, incidence, tau)
    # Lba (eq. 46).
    ducted = duct.coupling_db + duct.attenuation_db
    ducted_minimum = ducting_minimum_db(ducted, sight)
    with_duct = with_ducting_db(basic, ducted_minimum, by_distance)
    # Lbam (eq. 62): inside the horizon, where Fj is 1, the notional minimum; well beyond it, Lbda.
    modified = with_duct + (notional - with_duct) * by_angle
    # Lbs and Lbc (eq. 44 and 63): scatter is a second way beside all others, and that of less loss is taken,
    # with a rounded corner where the two are alike.
    scattered = troposcatter_loss_db(d, angle, c.frequency_ghz, c.time_percent, c.n0)
    combined = with_troposcatter_db(scattered, modified)
    # Over sea places do not differ.
    place = c.location_db * (1.0 - s.rx_at_sea)
    # No loss is below that of the open path.
    total = max(sight, combined + place)
    return P1812Loss(
        incidence,
        angle,
        by_time,
        by_angle,
        by_distance,
        free,
        sight,
        sight_beta,
        median.actual_db,
        median.smooth_db,
        median.spherical_db,
        median.total_db,
        beta.actual_db,
        beta.smooth_db,
        beta.spherical_db,
        beta.total_db,
        diffracted,
        basic_median,
        basic,
        notional,
        duct.duct_time_percent,
        duct.coupling_db,
        duct.attenuation_db,
        ducted,
        ducted_minimum,
        with_duct,
        modified,
        scattered,
        combined,
        place,
        total,
        field_strength_dbuv_m(total, c.frequency_ghz),
    )
