"""Normal propagation near the surface, the first sub-model of Recommendation ITU-R P.2001-4: §4.1.

Symbols: Lbfs free space, Ld diffraction, A1 fade in clear air and rain exceeded for q % of time, Q0ca share
of multipath, Agsur gases, Awrsur − Awsur what vapour absorbs more in rain, Fwvr its weight, Lbm1 their sum.
"""

from __future__ import annotations

from typing import NamedTuple

from combe.propagation.p2001.clear_air import occurrence_percent, surface_chance_percent
from combe.propagation.p2001.climate import Climate
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.diffraction import Diffraction, diffraction
from combe.propagation.p2001.fade_search import fade_exceeded_db
from combe.propagation.p2001.free_space import free_space_db, slant_km
from combe.propagation.p2001.gases import GasLoss, surface_path_gases
from combe.propagation.p2001.path import Path
from combe.propagation.p2001.rain import Rain, rain_on


class Normal(NamedTuple):
    """The parts of Lbm1."""

    free_space_db: float  # Lbfs
    diffraction: Diffraction  # Ld
    multipath_percent: float  # Q0ca
    rain: Rain  # Q0ra, Fwvr
    fade_db: float  # A1
    gases: GasLoss  # Agsur

    @property
    def loss_db(self) -> float:
        """Lbm1 [dB] (4.1.4)."""
        more_vapour = self.gases.vapour_in_rain_db - self.gases.vapour_db
        return (
            self.free_space_db
            + self.diffraction.total_db
            + self.fade_db
            + self.rain.vapour_factor * more_vapour
            + self.gases.total_db
        )


def normal(path: Path, conditions: Conditions, climate: Climate, middle_latitude_deg: float) -> Normal:
    """Return the parts of the loss near the surface."""
    length_km = slant_km(path.distance_km, path.tx_amsl_m, path.rx_amsl_m)
    multipath = occurrence_percent(path, conditions, climate, middle_latitude_deg)
    low_m, high_m = sorted((path.tx_amsl_m, path.rx_amsl_m))
    rain = rain_on(climate, conditions, low_m, high_m, path.distance_km)

    def chance_percent(fade_db: float) -> float:
        return rain.joined_percent(fade_db, surface_chance_percent(fade_db, multipath))

    return Normal(
        free_space_db=free_space_db(conditions.frequency_ghz, length_km),
        diffraction=diffraction(path.diffraction, path.sea_fraction, conditions),
        multipath_percent=multipath,
        rain=rain,
        fade_db=fade_exceeded_db(chance_percent, conditions.exceeded_percent),
        gases=surface_path_gases(
            conditions.frequency_ghz,
            path.distance_km,
            climate.water_vapour_g_m3,
            path.middle_ground_m,
            0.5 * (path.tx_amsl_m + path.rx_amsl_m),
        ),
    )
