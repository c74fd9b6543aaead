"""The answer of Recommendation ITU-R P.2001-4 for one path, with every intermediate under a readable name."""

from __future__ import annotations

from dataclasses import dataclass

from combe.propagation.p2001.climate import Climate
from combe.propagation.p2001.combination import joined_db, surface_db
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.ducting import Ducting, DuctTime
from combe.propagation.p2001.gases import total_db
from combe.propagation.p2001.normal import Normal
from combe.propagation.p2001.path import Path
from combe.propagation.p2001.scatter import Scatter
from combe.propagation.p2001.sporadic_e import SporadicE


@dataclass(frozen=True)
class PathLoss:
    """Loss of one path for one share of time by P.2001-4; made by ``predict_path``.

    Losses are in dB, heights above sea level or over a surface in metres, horizon angles in mrad. After each
    name: the symbol of the Recommendation.

    Attributes
    ----------
    basic_transmission_loss_db
        Lb, not exceeded for the time percentage, between isotropic aerials.
    normal_db, anomalous_db, troposcatter_db, sporadic_e_db, surface_db
        Lbm1 to Lbm4 of the four sub-models, and Lbm12 of the first two.
    clear_air_fade_db
        A1, a fade, or below 0 an enhancement, by multipath, focusing and rain; the root of Attachment I is
        found within 0.0025 dB.
    time_percent, exceeded_percent
        p and q, within 1e-5 of what was asked and of the rest of 100.
    gradient_n_km, median_radius_km, time_radius_km
        Nd1kmp, ae, ap.
    distance_km, middle_latitude_deg, middle_ground_m, sea_fraction
        dt, φmn, hmid, ω.
    tx_amsl_m, rx_amsl_m, slope_mrad
        Hts, Hrs, εp.
    line_of_sight
        Whether the ends see each other for the median effective radius.
    tx_horizon_mrad, rx_horizon_mrad, tx_horizon_km, rx_horizon_km
        θt, θr, dlt, dlr; on a line-of-sight path the point of largest ν.
    tx_effective_duct_m, rx_effective_duct_m, roughness_m
        Htea, Hrea, Hm.
    tx_effective_diffraction_m, rx_effective_diffraction_m
        Htep, Hrep.
    tx_volume_km, rx_volume_km, volume_amsl_m
        dtcv, drcv, hcv of the common volume of scatter.
    free_space_loss_db
        Lbfs.
    bullington_db, bullington_smooth_db, spherical_db, diffraction_loss_db
        Ldba, Ldbs, Ldsph, Ld.
    multipath_percent
        Q0ca, which may be above 100 on long paths.
    rain_counted, rain_percent, rain_vapour_factor
        Whether the climate tells of rain; Q0ra and Fwvr, 0 where it does not.
    oxygen_loss_db, vapour_loss_db, vapour_loss_in_rain_db, gas_loss_db
        Aosur, Awsur, Awrsur, Agsur.
    longest_land_km, longest_inland_km, tx_coast_km, rx_coast_km
        dtm, dlm, dct, dcr.
    ducting_incidence_percent, duct_time_percent
        β0, β.
    duct_coupling_db, duct_angle_db, duct_time_db, duct_loss_db
        Aac, Aad, Aat, Lba.
    scatter_angle_mrad, scatter_loss_db, scatter_fade_db, scatter_gas_db
        θ, Lbs (not under Lbfs), A2, Ags.
    foes_mhz, one_hop_db, two_hops_db
        foEs, Lbes1, Lbes2; Lbe is Lbm4.
    """

    basic_transmission_loss_db: float
    normal_db: float
    anomalous_db: float
    troposcatter_db: float
    sporadic_e_db: float
    surface_db: float
    clear_air_fade_db: float
    time_percent: float
    exceeded_percent: float
    gradient_n_km: float
    median_radius_km: float
    time_radius_km: float
    distance_km: float
    middle_latitude_deg: float
    middle_ground_m: float
    sea_fraction: float
    tx_amsl_m: float
    rx_amsl_m: float
    slope_mrad: float
    line_of_sight: bool
    tx_horizon_mrad: float
    rx_horizon_mrad: float
    tx_horizon_km: float
    rx_horizon_km: float
    tx_effective_duct_m: float
    rx_effective_duct_m: float
    roughness_m: float
    tx_effective_diffraction_m: float
    rx_effective_diffraction_m: float
    tx_volume_km: float
    rx_volume_km: float
    volume_amsl_m: float
    free_space_loss_db: float
    bullington_db: float
    bullington_smooth_db: float
    spherical_db: float
    diffraction_loss_db: float
    multipath_percent: float
    rain_counted: bool
    rain_percent: float
    rain_vapour_factor: float
    oxygen_loss_db: float
    vapour_loss_db: float
    vapour_loss_in_rain_db: float
    gas_loss_db: float
    longest_land_km: float
    longest_inland_km: float
    tx_coast_km: float
    rx_coast_km: float
    ducting_incidence_percent: float
    duct_time_percent: float
    duct_coupling_db: float
    duct_angle_db: float
    duct_time_db: float
    duct_loss_db: float
    scatter_angle_mrad: float
    scatter_loss_db: float
    scatter_fade_db: float
    scatter_gas_db: float
    foes_mhz: float
    one_hop_db: float
    two_hops_db: float


def path_loss(
    path: Path,
    conditions: Conditions,
    climate: Climate,
    middle_latitude_deg: float,
    multipath_percent: float,
    normal: Normal,
    duct_time: DuctTime,
    ducting: Ducting,
    scatter: Scatter,
    sporadic: SporadicE,
) -> PathLoss:
    """Join the four sub-models into one loss, and put together all that led to it."""
    anomalous_db = ducting.loss_db + total_db(normal.gases)  # (4.2.1)
    surface_loss_db = surface_db(normal.loss_db, anomalous_db)
    horizon, volume, diffracted = path.horizon, path.volume, normal.diffraction
    return PathLoss(
        basic_transmission_loss_db=joined_db(surface_loss_db, scatter.loss_db, sporadic.loss_db),
        normal_db=normal.loss_db,
        anomalous_db=anomalous_db,
        troposcatter_db=scatter.loss_db,
        sporadic_e_db=sporadic.loss_db,
        surface_db=surface_loss_db,
        clear_air_fade_db=normal.fade_db,
        time_percent=conditions.time_percent,
        exceeded_percent=conditions.exceeded_percent,
        gradient_n_km=conditions.gradient_n_km,
        median_radius_km=conditions.median_radius_km,
        time_radius_km=conditions.time_radius_km,
        distance_km=path.distance_km,
        middle_latitude_deg=middle_latitude_deg,
        middle_ground_m=path.middle_ground_m,
        sea_fraction=path.sea_fraction,
        tx_amsl_m=path.tx_amsl_m,
        rx_amsl_m=path.rx_amsl_m,
        slope_mrad=path.slope_mrad,
        line_of_sight=horizon.line_of_sight,
        tx_horizon_mrad=horizon.tx_mrad,
        rx_horizon_mrad=horizon.rx_mrad,
        tx_horizon_km=horizon.tx_km,
        rx_horizon_km=horizon.rx_km,
        tx_effective_duct_m=path.tx_effective_duct_m,
        rx_effective_duct_m=path.rx_effective_duct_m,
        roughness_m=path.roughness_m,
        tx_effective_diffraction_m=path.tx_effective_diffraction_m,
        rx_effective_diffraction_m=path.rx_effective_diffraction_m,
        tx_volume_km=volume.tx_km,
        rx_volume_km=volume.rx_km,
        volume_amsl_m=volume.amsl_m,
        free_space_loss_db=normal.free_space_db,
        bullington_db=diffracted.actual_db,
        bullington_smooth_db=diffracted.smooth_db,
        spherical_db=diffracted.spherical_db,
        diffraction_loss_db=diffracted.total_db,
        multipath_percent=multipath_percent,
        rain_counted=climate.rain_known,
        rain_percent=normal.rain.rainy_percent,
        rain_vapour_factor=normal.rain.vapour_factor,
        oxygen_loss_db=normal.gases.oxygen_db,
        vapour_loss_db=normal.gases.vapour_db,
        vapour_loss_in_rain_db=normal.gases.vapour_in_rain_db,
        gas_loss_db=total_db(normal.gases),
        longest_land_km=path.longest_land_km,
        longest_inland_km=path.longest_inland_km,
        tx_coast_km=path.tx_coast_km,
        rx_coast_km=path.rx_coast_km,
        ducting_incidence_percent=duct_time.incidence_percent,
        duct_time_percent=duct_time.duct_time_percent,
        duct_coupling_db=ducting.coupling_db,
        duct_angle_db=ducting.angle_db,
        duct_time_db=ducting.time_db,
        duct_loss_db=ducting.loss_db,
        scatter_angle_mrad=scatter.scatter.angle_mrad,
        scatter_loss_db=scatter.basic_db,
        scatter_fade_db=scatter.fade_db,
        scatter_gas_db=total_db(scatter.gases),
        foes_mhz=sporadic.foes_mhz,
        one_hop_db=sporadic.one_hop_db,
        two_hops_db=sporadic.two_hops_db,
    )
