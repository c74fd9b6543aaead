"""The air of a path: what the digital maps of Recommendation ITU-R P.2001-4 say of the place.

Symbols: SΔN SΔN,sup SΔN,sub fall of the refractivity in the lowest kilometre, its median and its slopes
towards small and large shares of time; Nd65m1 gradient of the lowest 65 m; foEs critical frequency of the
sporadic E layer; h0 height of the 0 °C isotherm; ρsur water vapour at the surface; Pr6 MT βrain rain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.errors import RangeError

_RANGES: Final[dict[str, tuple[float, float, str]]] = {
    "median_dn": (0.0, 156.0, "0 to 156 N-units/km, a fall being positive"),
    "super_slope": (0.0, 1000.0, "0 to 1000 N-units/km"),
    "sub_slope": (0.0, 1000.0, "0 to 1000 N-units/km"),
    "dn_65m_1_percent": (-2000.0, 0.0, "-2000 to 0 N-units/km, a fall being negative"),
    "foes_0_1_mhz": (0.01, 30.0, "0.01 to 30 MHz"),
    "foes_1_mhz": (0.01, 30.0, "0.01 to 30 MHz"),
    "foes_10_mhz": (0.01, 30.0, "0.01 to 30 MHz"),
    "foes_50_mhz": (0.01, 30.0, "0.01 to 30 MHz"),
    "rain_height_km": (-5.0, 10.0, "-5 to 10 km"),
    "water_vapour_g_m3": (0.0, 100.0, "0 to 100 g/m³"),
}
_RAIN: Final[dict[str, tuple[float, float, str]]] = {
    "rain_six_hours_percent": (0.0, 100.0, "0 to 100 %"),
    "rain_mm_per_year": (0.0, 20_000.0, "0 to 20000 mm"),
    "convective_rain_share": (0.0, 1.0, "0 to 1"),
}
# Guards against a wrong unit or sign. At a fall of 157 N-units/km rays follow the Earth, and no median air of
# the maps does.


class Air(NamedTuple):
    """A climate as kernels take it, in plain numbers; noughts for rain that is not known."""

    median_dn: float
    super_slope: float
    sub_slope: float
    dn_65m_1_percent: float
    foes_0_1_mhz: float
    foes_1_mhz: float
    foes_10_mhz: float
    foes_50_mhz: float
    rain_height_km: float
    water_vapour_g_m3: float
    troposcatter_climate: int
    rain_six_hours_percent: float
    rain_mm_per_year: float
    convective_rain_share: float


@dataclass(frozen=True)
class Climate:
    """The numbers of the maps at a path, with the signs they have there; one climate stands for all of it.

    Attributes
    ----------
    median_dn
        SΔN [N-units/km], median fall of the refractivity in the lowest kilometre, positive (DN_Median).
    super_slope, sub_slope
        SΔN,sup and SΔN,sub [N-units/km], positive (DN_SupSlope, DN_SubSlope).
    dn_65m_1_percent
        Nd65m1 [N-units/km], gradient of the lowest 65 m exceeded for 1 % of an average year, negative
        (dndz_01).
    foes_0_1_mhz, foes_1_mhz, foes_10_mhz, foes_50_mhz
        foEs [MHz] exceeded for 0.1, 1, 10 and 50 % of an average year.
    rain_height_km
        h0 [km], mean height of the 0 °C isotherm above sea level.
    water_vapour_g_m3
        ρsur [g/m³], median density of water vapour at the surface (surfwv_50_fixed).
    troposcatter_climate
        Climatic zone of troposcatter, 0 to 6; 0 is the sea (TropoClim).
    rain_six_hours_percent, rain_mm_per_year, convective_rain_share
        Pr6 [%], chance of rain within six hours; MT [mm], rain of a year; βrain, the share of it that is
        convective. All three or none: None is not known, and rain is not counted then.

    Raises
    ------
    RangeError
        For a number that no map can hold, or some of the three numbers of rain.

    Examples
    --------
    >>> hills = Climate(
    ...     median_dn=42.0, super_slope=45.0, sub_slope=24.0, dn_65m_1_percent=-230.0,
    ...     foes_0_1_mhz=7.5, foes_1_mhz=5.5, foes_10_mhz=3.6, foes_50_mhz=2.2,
    ...     rain_height_km=2.2, water_vapour_g_m3=8.0, troposcatter_climate=5,
    ... )
    >>> hills.rain_known
    False
    """

    median_dn: float
    super_slope: float
    sub_slope: float
    dn_65m_1_percent: float
    foes_0_1_mhz: float
    foes_1_mhz: float
    foes_10_mhz: float
    foes_50_mhz: float
    rain_height_km: float
    water_vapour_g_m3: float
    troposcatter_climate: int
    rain_six_hours_percent: float | None = None
    rain_mm_per_year: float | None = None
    convective_rain_share: float | None = None

    def __post_init__(self) -> None:
        """Check the fields."""
        for name in _RANGES:
            self._check(name, *_RANGES[name])
        if self.troposcatter_climate not in range(7):
            raise RangeError("troposcatter_climate", self.troposcatter_climate, "0 (sea), 1, 2, 3, 4, 5 or 6")
        given = [name for name in _RAIN if getattr(self, name) is not None]
        if given and len(given) < len(_RAIN):
            allowed = f"{', '.join(_RAIN)} together, or none of them"
            raise RangeError("rain of the climate", f"given by {', '.join(given)} alone", allowed)
        for name in given:
            self._check(name, *_RAIN[name])

    def _check(self, name: str, low: float, high: float, allowed: str) -> None:
        value = getattr(self, name)
        if not (low <= value <= high and math.isfinite(value)):
            raise RangeError(name, value, f"{allowed} (maps of P.2001-4)")

    @property
    def rain_known(self) -> bool:
        """Whether rain is counted."""
        return self.rain_six_hours_percent is not None

    @property
    def air(self) -> Air:
        """The same in plain numbers; rain that is not known falls for no time."""
        return Air(
            median_dn=float(self.median_dn),
            super_slope=float(self.super_slope),
            sub_slope=float(self.sub_slope),
            dn_65m_1_percent=float(self.dn_65m_1_percent),
            foes_0_1_mhz=float(self.foes_0_1_mhz),
            foes_1_mhz=float(self.foes_1_mhz),
            foes_10_mhz=float(self.foes_10_mhz),
            foes_50_mhz=float(self.foes_50_mhz),
            rain_height_km=float(self.rain_height_km),
            water_vapour_g_m3=float(self.water_vapour_g_m3),
            troposcatter_climate=int(self.troposcatter_climate),
            rain_six_hours_percent=float(self.rain_six_hours_percent or 0.0),
            rain_mm_per_year=float(self.rain_mm_per_year or 0.0),
            convective_rain_share=float(self.convective_rain_share or 0.0),
        )
