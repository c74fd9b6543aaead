"""The public way to one path by ITU-R P.2001-4: terrain profile and air in, loss for a share of time out."""

from __future__ import annotations

import numpy.typing as npt

from combe.propagation.p1812.checks import is_vertical
from combe.propagation.p2001.checks import check_aerial, check_loss, check_number, profile_arrays
from combe.propagation.p2001.clear_air import occurrence_percent
from combe.propagation.p2001.climate import Climate
from combe.propagation.p2001.conditions import make_conditions
from combe.propagation.p2001.ducting import duct_time, ducting
from combe.propagation.p2001.great_circle import latitude_along_deg
from combe.propagation.p2001.normal import normal
from combe.propagation.p2001.path import diffraction_summary, draw_path
from combe.propagation.p2001.result import PathLoss, path_loss
from combe.propagation.p2001.scatter import scatter
from combe.propagation.p2001.sporadic_e import sporadic_e
from combe.propagation.p2001.troposcatter import troposcatter


def predict_path(
    distance_km: npt.ArrayLike,
    height_m: npt.ArrayLike,
    zone: npt.ArrayLike,
    *,
    frequency_mhz: float,
    time_percent: float,
    tx_height_m: float,
    rx_height_m: float,
    tx_longitude_deg: float,
    tx_latitude_deg: float,
    rx_longitude_deg: float,
    rx_latitude_deg: float,
    climate: Climate,
    tx_gain_dbi: float = 0.0,
    rx_gain_dbi: float = 0.0,
    polarization: str = "horizontal",
) -> PathLoss:
    """Return the loss of a path not exceeded for a share of an average year (Recommendation ITU-R P.2001-4).

    Parameters
    ----------
    distance_km
        Distances [km] from the transmitter, shape (n,), n of 11 or more, ascending from 0 to the path length.
    height_m
        Heights [m] of the bare ground above sea level, shape (n,).
    zone
        Radio-climatic zones, shape (n,) or one number: 1 sea, 3 coastal land, 4 inland.
    frequency_mhz
        Frequency [MHz], 30 to 50 000.
    time_percent
        Percentage of an average year [%] for which the loss is not exceeded, 0.00001 to 99.99999.
    tx_height_m, rx_height_m
        Heights [m] of the aerials above the ground, above 0, and up to 8000 above sea level.
    tx_longitude_deg, tx_latitude_deg, rx_longitude_deg, rx_latitude_deg
        Places of the ends [degrees], east and north positive; the length of the path is that of the profile.
    climate
        The air of the path.
    tx_gain_dbi, rx_gain_dbi
        Gains [dBi] of the aerials along the path; for the coupling loss of scatter only.
    polarization
        ``"horizontal"`` or ``"vertical"``.

    Returns
    -------
    PathLoss
        ``basic_transmission_loss_db`` between isotropic aerials, the four sub-models, and every intermediate.

    Raises
    ------
    RangeError
        For a number outside its range, or so short a path that its loss is below 20 dB.
    ProfileError
        For arrays that cannot be used.

    Notes
    -----
    Validity and deviations are in the docstring of the package.

    Examples
    --------
    >>> from combe.propagation.p2001 import Climate
    >>> air = Climate(42, 45, 24, -230, 7.5, 5.5, 3.6, 2.2, 2.2, 8, 5)
    >>> plain = predict_path([3.0 * i for i in range(11)], [100.0] * 11, 4, frequency_mhz=600,
    ...                      time_percent=99.9, tx_height_m=150, rx_height_m=30, tx_longitude_deg=10,
    ...                      tx_latitude_deg=50, rx_longitude_deg=10.4, rx_latitude_deg=50, climate=air)
    >>> round(plain.clear_air_fade_db, 2)
    5.61
    """
    distance, ground, zones = profile_arrays(distance_km, height_m, zone)
    for name, value in (
        ("frequency_mhz", frequency_mhz),
        ("time_percent", time_percent),
        ("tx_longitude_deg", tx_longitude_deg),
        ("tx_latitude_deg", tx_latitude_deg),
        ("rx_longitude_deg", rx_longitude_deg),
        ("rx_latitude_deg", rx_latitude_deg),
        ("tx_gain_dbi", tx_gain_dbi),
        ("rx_gain_dbi", rx_gain_dbi),
    ):
        check_number(name, value)
    check_aerial("tx_height_m", tx_height_m, float(ground[0]))
    check_aerial("rx_height_m", rx_height_m, float(ground[-1]))
    conditions = make_conditions(
        climate,
        frequency_mhz=float(frequency_mhz),
        time_percent=float(time_percent),
        vertical=is_vertical(polarization),
    )
    air, tx_m, rx_m = climate.air, float(tx_height_m), float(rx_height_m)
    path = draw_path(distance, ground, zones, tx_m, rx_m, conditions)
    drawn = diffraction_summary(distance, ground, path, conditions)
    latitude_deg = latitude_along_deg(
        tx_longitude_deg, tx_latitude_deg, rx_longitude_deg, rx_latitude_deg, 0.5 * path.distance_km
    )
    multipath_percent = occurrence_percent(path, conditions, air, latitude_deg)
    near_surface = normal(path, drawn, conditions, air, multipath_percent)
    ducts = duct_time(path, conditions.median_radius_km, latitude_deg)
    scattered = troposcatter(path, conditions, air.troposcatter_climate, float(tx_gain_dbi + rx_gain_dbi))
    found = path_loss(
        path,
        conditions,
        climate,
        latitude_deg,
        multipath_percent,
        near_surface,
        ducts,
        ducting(path, conditions, ducts.duct_time_percent),
        scatter(path, conditions, air, scattered, near_surface.free_space_db),
        sporadic_e(path, conditions, air),
    )
    check_loss(found.basic_transmission_loss_db, path.distance_km)
    return found
