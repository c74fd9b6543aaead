"""What a prediction supposes of the air and the ground, and which model it uses."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from combe.constants import EARTH_RADIUS_KM, MEDIAN_EFFECTIVE_RADIUS_KM
from combe.errors import RangeError, require_range
from combe.propagation import CRITICAL_DELTA_N, effective_radius_km
from combe.propagation.p1812 import P1812Conditions, check_number, make_conditions
from combe.words import tell

MODELS: Final = {
    "free-space": "free space, ITU-R P.525-5",
    "p526": "free space, ITU-R P.525-5, and delta-Bullington diffraction, ITU-R P.526-16",
    "p1812": "ITU-R P.1812-8: diffraction, troposcatter, ducting and layer reflection, with their statistics",
}
"""Models to choose, each with the words that name it on maps and reports."""

USUAL_DELTA_N: Final = 45.0
"""Lapse of refractivity [N-units/km] of temperate land, taken for P.1812 where nothing is given.

From memory of the maps of ITU-R P.453; also the value of every profile of the Study Group 3 validation set.
"""

USUAL_N0: Final = 325.0
"""Sea-level surface refractivity [N-units] where nothing is given; from memory of ITU-R P.453."""

MEDIAN_PERCENT: Final = 50.0
_P1812_BEGINS_KM: Final = 0.25
_ONE_PLACE_KM: Final = 0.001
_AGREEMENT: Final = 1e-6


@dataclass(frozen=True)
class Conditions:
    """Model and air of a prediction.

    Parameters
    ----------
    model
        A key of :data:`MODELS`.
    effective_radius_km, delta_n
        Median effective Earth radius [km], and the lapse of refractivity in the lowest kilometre
        [N-units/km, positive]. Either gives the other; without both (NaN) ΔN 45 for ``p1812`` and P.526's
        8500 km for the others.
    sea_fraction
        Share of sea on the paths, 0 to 1; for ``p526`` only, since P.1812 takes it from the zones.
    n0
        Sea-level surface refractivity [N-units].
    time_percent
        Time for which the field is exceeded [%], 1 to 99; other than 50 for ``p1812`` only. P.1812 ends at
        50: coverage beyond it is worked out by :func:`combe.prediction.time.standing_loss_db`.
    clutter
        What ground cover is added to the terrain, in words; empty for none. For ``p1812`` only.

    Raises
    ------
    RangeError
        For an unknown model, a number out of range, or a radius and a lapse that contradict one another.

    Notes
    -----
    Losses are medians over places; statistics of place are applied to the field afterwards.
    """

    model: str = "p526"
    effective_radius_km: float = math.nan
    sea_fraction: float = 0.0
    delta_n: float = math.nan
    n0: float = USUAL_N0
    time_percent: float = MEDIAN_PERCENT
    clutter: str = ""

    def __post_init__(self) -> None:
        if self.model not in MODELS:
            raise RangeError("model", repr(self.model), ", ".join(MODELS))
        radius_km, delta_n = _radius_and_lapse(self.model, self.effective_radius_km, self.delta_n)
        object.__setattr__(self, "effective_radius_km", radius_km)
        object.__setattr__(self, "delta_n", delta_n)
        require_range("sea_fraction", self.sea_fraction, 0.0, 1.0)
        require_range("n0", self.n0, 100.0, 500.0)
        require_range("time_percent", self.time_percent, 1.0, 99.0)
        _check_model_takes(self)


def mirrored(conditions: Conditions) -> Conditions | None:
    """Return the conditions of the time that is mirrored about the median; None up to 50 % of time."""
    if conditions.time_percent <= MEDIAN_PERCENT:
        return None
    return replace(conditions, time_percent=100.0 - conditions.time_percent)


def median_of_time(conditions: Conditions) -> Conditions:
    """Return the same model and air for the median of time."""
    return replace(conditions, time_percent=MEDIAN_PERCENT)


def shortest_path_km(model: str) -> float:
    """Return the least length [km] of an exact path: 0.25 for P.1812 (P.1812-8 §1), else a metre (ours)."""
    return _P1812_BEGINS_KM if model == "p1812" else _ONE_PLACE_KM


def _check_model_takes(conditions: Conditions) -> None:
    """Raise RangeError where something is asked of a model that it does not know."""
    model, advice = conditions.model, "take model 'p1812'"
    if model == "p1812":
        if conditions.sea_fraction:
            raise RangeError("sea_fraction", conditions.sea_fraction, f"0 with model '{model}'", "give zones")
        return
    if conditions.time_percent != MEDIAN_PERCENT:
        allowed = f"50 with model '{model}', which predicts the median in time"
        raise RangeError("time_percent", conditions.time_percent, allowed, advice)
    if conditions.clutter:
        raise RangeError("clutter", repr(conditions.clutter), f"none with model '{model}'", advice)


def _radius_and_lapse(model: str, radius_km: float, delta_n: float) -> tuple[float, float]:
    """Return effective radius [km] and lapse [N-units/km], each from the other where it is NaN."""
    if math.isnan(radius_km) and math.isnan(delta_n) and model != "p1812":
        radius_km = MEDIAN_EFFECTIVE_RADIUS_KM
    if math.isnan(radius_km):
        radius_km = effective_radius_km(USUAL_DELTA_N if math.isnan(delta_n) else delta_n)
    if not radius_km > 0.0:
        raise RangeError("effective_radius_km", radius_km, "above 0 km")
    # Eq. 6 of P.1812-8 §3.7 turned round: radius and lapse say the same thing, and must not say two.
    lapse = CRITICAL_DELTA_N * (1.0 - EARTH_RADIUS_KM / radius_km)
    if math.isnan(delta_n):
        delta_n = lapse
    if abs(delta_n - lapse) > _AGREEMENT * CRITICAL_DELTA_N:
        raise RangeError("delta_n", delta_n, f"{lapse:.6g}, as effective_radius_km says", "take one out")
    if model == "p1812":
        effective_radius_km(delta_n)
    return radius_km, delta_n


def p1812_conditions(
    conditions: Conditions, *, frequency_mhz: float, latitude_deg: float, vertical: bool
) -> P1812Conditions:
    """Return the conditions as the kernels of P.1812 take them, for the median of places.

    Parameters
    ----------
    conditions
        Air and time percentage; of any model.
    frequency_mhz
        Frequency [MHz], 30 to 6000.
    latitude_deg
        Latitude of the path centre [degrees].
    vertical
        Whether the polarization is vertical.

    Raises
    ------
    RangeError
        For a number outside the Recommendation's range.
    """
    check_number("frequency_mhz", frequency_mhz)
    check_number("latitude_deg", latitude_deg)
    check_number("time_percent", conditions.time_percent)
    return make_conditions(
        frequency_mhz=float(frequency_mhz),
        time_percent=conditions.time_percent,
        latitude_deg=latitude_deg,
        delta_n=conditions.delta_n,
        n0=conditions.n0,
        vertical=vertical,
    )


def describe(conditions: Conditions) -> dict[str, str]:
    """Return what made a prediction, in words, for maps and reports."""
    made = {
        "model": MODELS[conditions.model],
        "effective Earth radius": tell(
            "{effective_radius_km:.0f} km", effective_radius_km=conditions.effective_radius_km
        ),
    }
    if conditions.model == "p526":
        made["sea share"] = tell("{sea_fraction:.0%}", sea_fraction=conditions.sea_fraction)
    if conditions.model == "p1812":
        made["refractivity"] = tell(
            "ΔN {delta_n:.3g} N-units/km, N0 {n0:g} N-units", delta_n=conditions.delta_n, n0=conditions.n0
        )
        made["percentages"] = tell(
            "{time_words}, median of places", time_words=_time_words(conditions.time_percent)
        )
        made["clutter"] = conditions.clutter or "none added to the terrain"
    return made


def _time_words(percent: float) -> str:
    if percent <= MEDIAN_PERCENT:
        return tell("exceeded for {percent:g} % of time", percent=percent)
    rare = tell("{percent:g}", percent=100.0 - percent)
    return (
        f"exceeded for {percent:g} % of time, as twice the field of 50 % less that of {rare} %, for P.1812 "
        "ends at 50 %"
    )
