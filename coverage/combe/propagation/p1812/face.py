"""The public way to one path by ITU-R P.1812-8: a terrain profile in, loss and field strength out."""

from __future__ import annotations

import numpy.typing as npt

from combe.propagation.p1812.checks import check_number, is_vertical, profile_arrays
from combe.propagation.p1812.conditions import make_conditions
from combe.propagation.p1812.loss import basic_loss
from combe.propagation.p1812.result import PathLoss, path_loss
from combe.propagation.p1812.summary import summarise_exact


def predict_path(
    distance_km: npt.ArrayLike,
    height_m: npt.ArrayLike,
    clutter_height_m: npt.ArrayLike,
    zone: npt.ArrayLike,
    *,
    frequency_mhz: float,
    time_percent: float,
    tx_height_m: float,
    rx_height_m: float,
    latitude_deg: float,
    delta_n: float,
    n0: float,
    polarization: str = "horizontal",
    location_percent: float = 50.0,
    location_sigma_db: float = 0.0,
    tx_coast_distance_km: float = 500.0,
    rx_coast_distance_km: float = 500.0,
) -> PathLoss:
    """Return loss and field strength of a path by Recommendation ITU-R P.1812-8 (09/2025), Annex 1.

    Parameters
    ----------
    distance_km
        Distances [km] from the transmitter, shape (n,), n of 5 or more, ascending from 0 to the path length.
    height_m
        Ground heights [m] above sea level, shape (n,).
    clutter_height_m
        Heights [m] of ground cover above the ground, shape (n,) or one number; added between the terminals
        only.
    zone
        Radio-climatic zones, shape (n,) or one number: 1 sea, 3 coastal land, 4 inland.
    frequency_mhz
        Frequency [MHz], 30 to 6000.
    time_percent
        Percentage of time [%] for which the field is exceeded, 1 to 50.
    tx_height_m, rx_height_m
        Heights [m] of the aerials above the ground, 1 to 3000.
    latitude_deg
        Latitude [degrees] of the path centre.
    delta_n
        Lapse of the refractive index in the lowest kilometre [N-units/km], positive, below 157.
    n0
        Sea-level surface refractivity [N-units] at the path centre.
    polarization
        ``"horizontal"`` or ``"vertical"``.
    location_percent, location_sigma_db
        Percentage of places [%], 1 to 99, and the standard deviation over places [dB].
    tx_coast_distance_km, rx_coast_distance_km
        Distances [km] over land from the aerials to the coast along the path; 500 stands for far inland.

    Returns
    -------
    PathLoss
        ``basic_transmission_loss_db``, ``field_strength_dbuv_m`` for 1 kW e.r.p., and every intermediate.

    Raises
    ------
    RangeError
        For a number outside its range.
    ProfileError
        For arrays that cannot be used.

    Notes
    -----
    Validity and deviations are in the docstring of the package.

    Examples
    --------
    >>> flat = predict_path([0, 2, 4, 6, 8, 10], [0, 0, 0, 0, 0, 0], 0, 4, frequency_mhz=600, time_percent=50,
    ...                     tx_height_m=300, rx_height_m=10, latitude_deg=50, delta_n=45, n0=325)
    >>> round(flat.free_space_loss_db, 3)
    107.967
    """
    distance, ground, cover, zones = profile_arrays(distance_km, height_m, clutter_height_m, zone)
    for name, value in (
        ("frequency_mhz", frequency_mhz),
        ("time_percent", time_percent),
        ("tx_height_m", tx_height_m),
        ("rx_height_m", rx_height_m),
        ("latitude_deg", latitude_deg),
        ("n0", n0),
        ("tx_coast_distance_km", tx_coast_distance_km),
        ("rx_coast_distance_km", rx_coast_distance_km),
    ):
        check_number(name, value)
    conditions = make_conditions(
        frequency_mhz=float(frequency_mhz),
        time_percent=time_percent,
        latitude_deg=latitude_deg,
        delta_n=delta_n,
        n0=n0,
        vertical=is_vertical(polarization),
        location_percent=location_percent,
        location_sigma_db=location_sigma_db,
    )
    summary = summarise_exact(
        distance,
        ground,
        cover,
        zones,
        float(tx_height_m),
        float(rx_height_m),
        conditions.median_radius_km,
        float(tx_coast_distance_km),
        float(rx_coast_distance_km),
    )
    return path_loss(summary, conditions, basic_loss(summary, conditions))
