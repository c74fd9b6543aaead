"""The answer of Recommendation ITU-R P.1812-8 for one path, with every intermediate under a readable name."""

from __future__ import annotations

from dataclasses import dataclass

from combe.propagation.p1812.conditions import P1812Conditions
from combe.propagation.p1812.loss import P1812Loss
from combe.propagation.p1812.summary import P1812Summary


@dataclass(frozen=True)
class PathLoss:
    """Loss and field strength of one path by P.1812-8; made by ``predict_path``.

    Losses are in dB, heights of surfaces in metres above sea level, horizon angles in mrad. After each name:
    the symbol of the Recommendation.

    Attributes
    ----------
    basic_transmission_loss_db
        Lb, not exceeded for the time percentage and the location percentage.
    field_strength_dbuv_m
        Ep, dB(µV/m) for 1 kW e.r.p.
    distance_km, tx_amsl_m, rx_amsl_m
        d, hts, hrs.
    effective_radius_km
        ae, median.
    ducting_incidence_percent, longest_land_km, longest_inland_km, sea_fraction
        β0, dtm, dlm, ω.
    tx_horizon_km, rx_horizon_km, tx_horizon_mrad, rx_horizon_mrad, path_angle_mrad
        dlt, dlr, θt, θr, θ.
    smooth_tx_m, smooth_rx_m
        hst, hsr of the fitted surface.
    duct_tx_m, duct_rx_m, tx_effective_duct_m, rx_effective_duct_m, roughness_m
        hst, hsr not above the ground; hte, hre; hm.
    diffraction_tx_m, diffraction_rx_m, tx_effective_diffraction_m, rx_effective_diffraction_m
        hstd, hsrd; terminal heights over that surface (h′te, h′re).
    time_factor, angle_factor, distance_factor
        Fi, Fj, Fk.
    free_space_loss_db, line_of_sight_loss_db, line_of_sight_beta_loss_db
        Lbfs, Lb0p, Lb0β.
    bullington_median_db, bullington_smooth_median_db, spherical_median_db, diffraction_median_db
        Lbulla, Lbulls, Ldsph, Ld50 for ae.
    bullington_beta_db, bullington_smooth_beta_db, spherical_beta_db, diffraction_beta_db
        Lbulla, Lbulls, Ldsph, Ldβ for aβ.
    diffraction_loss_db, basic_diffraction_median_db, basic_diffraction_db
        Ldp, Lbd50, Lbd.
    troposcatter_loss_db
        Lbs.
    duct_time_percent, ducting_coupling_db, ducting_attenuation_db, ducting_loss_db
        β, Af, Ad, Lba.
    notional_minimum_db, ducting_minimum_db
        Lminb0p, Lminbap.
    diffraction_with_ducting_db, modified_diffraction_db, combined_loss_db
        Lbda, Lbam, Lbc.
    location_correction_db
        Lloc.
    """

    basic_transmission_loss_db: float
    field_strength_dbuv_m: float
    distance_km: float
    tx_amsl_m: float
    rx_amsl_m: float
    effective_radius_km: float
    ducting_incidence_percent: float
    longest_land_km: float
    longest_inland_km: float
    sea_fraction: float
    tx_horizon_km: float
    rx_horizon_km: float
    tx_horizon_mrad: float
    rx_horizon_mrad: float
    path_angle_mrad: float
    smooth_tx_m: float
    smooth_rx_m: float
    duct_tx_m: float
    duct_rx_m: float
    tx_effective_duct_m: float
    rx_effective_duct_m: float
    roughness_m: float
    diffraction_tx_m: float
    diffraction_rx_m: float
    tx_effective_diffraction_m: float
    rx_effective_diffraction_m: float
    time_factor: float
    angle_factor: float
    distance_factor: float
    free_space_loss_db: float
    line_of_sight_loss_db: float
    line_of_sight_beta_loss_db: float
    bullington_median_db: float
    bullington_smooth_median_db: float
    spherical_median_db: float
    diffraction_median_db: float
    bullington_beta_db: float
    bullington_smooth_beta_db: float
    spherical_beta_db: float
    diffraction_beta_db: float
    diffraction_loss_db: float
    basic_diffraction_median_db: float
    basic_diffraction_db: float
    troposcatter_loss_db: float
    duct_time_percent: float
    ducting_coupling_db: float
    ducting_attenuation_db: float
    ducting_loss_db: float
    notional_minimum_db: float
    ducting_minimum_db: float
    diffraction_with_ducting_db: float
    modified_diffraction_db: float
    combined_loss_db: float
    location_correction_db: float


def path_loss(summary: P1812Summary, conditions: P1812Conditions, loss: P1812Loss) -> PathLoss:
    """Put together what was drawn from the path and what it was priced at."""
    path = summary.median
    return PathLoss(
        distance_km=path.distance_km,
        tx_amsl_m=path.tx_height_m,
        rx_amsl_m=path.rx_height_m,
        effective_radius_km=conditions.median_radius_km,
        longest_land_km=summary.land_km,
        longest_inland_km=summary.inland_km,
        sea_fraction=summary.sea_fraction,
        tx_horizon_km=summary.tx_horizon_km,
        rx_horizon_km=summary.rx_horizon_km,
        tx_horizon_mrad=summary.tx_horizon_mrad,
        rx_horizon_mrad=summary.rx_horizon_mrad,
        smooth_tx_m=summary.smooth_tx_m,
        smooth_rx_m=summary.smooth_rx_m,
        duct_tx_m=summary.duct_tx_m,
        duct_rx_m=summary.duct_rx_m,
        tx_effective_duct_m=path.tx_height_m - summary.duct_tx_m,
        rx_effective_duct_m=path.rx_height_m - summary.duct_rx_m,
        roughness_m=summary.roughness_m,
        diffraction_tx_m=path.tx_height_m - path.tx_effective_m,
        diffraction_rx_m=path.rx_height_m - path.rx_effective_m,
        tx_effective_diffraction_m=path.tx_effective_m,
        rx_effective_diffraction_m=path.rx_effective_m,
        **loss._asdict(),
    )
