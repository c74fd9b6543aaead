"""The budget of an off-air feed: every item from the parent's power to the margin, and a verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from combe.decibels import dbuv_from_dbm, field_from_loss_dbuv_m, power_dbm_from_field, thermal_noise_dbm
from combe.digits import telling
from combe.errors import RangeError, require_range
from combe.prediction import MEDIAN_PERCENT, SHARES_PERCENT
from combe.words import tell

_CHAIN_RANGES: Final = {
    "aerial_height_m": (1.0, 500.0),
    "aerial_gain_dbi": (-80.0, 52.0),
    "feeder_loss_db": (0.0, 60.0),
    "splitter_loss_db": (0.0, 60.0),
    "other_gain_db": (-100.0, 100.0),
    "noise_figure_db": (0.0, 30.0),
    "bandwidth_mhz": (0.1, 20.0),
    "required_cn_db": (-10.0, 60.0),
    "required_margin_db": (0.0, 60.0),
    "noise_ahead_db": (0.0, 120.0),
}
"""What is plausible for each item; guards against a wrong unit, not against a bad design."""


@dataclass(frozen=True)
class FeedChain:
    """Receive aerial to receiver input, and the quality asked of it.

    Parameters
    ----------
    aerial_height_m : float
        Centre of the receive aerial above ground [m].
    aerial_gain_dbi : float
        Towards the parent, over an isotropic aerial [dBi]; dBd + 2.15.
    feeder_loss_db, splitter_loss_db : float
        Passive losses ahead of the receiver [dB].
    noise_figure_db : float
        Of the receiver, at its input [dB].
    bandwidth_mhz : float
        Noise bandwidth [MHz].
    required_cn_db : float
        Carrier-to-noise ratio that the television system needs [dB].
    required_margin_db : float
        What must be left over it, for fading and ageing [dB].
    other_gain_db : float
        Of amplifiers, less the loss of filters and attenuators, ahead of the receiver [dB].
    noise_ahead_db : float
        By how much the noise of those stages raises the noise at the receiver's input [dB].

    Raises
    ------
    RangeError
        Naming the field.
    """

    aerial_height_m: float
    aerial_gain_dbi: float
    feeder_loss_db: float
    splitter_loss_db: float
    noise_figure_db: float
    bandwidth_mhz: float
    required_cn_db: float
    required_margin_db: float
    other_gain_db: float = 0.0
    noise_ahead_db: float = 0.0

    def __post_init__(self) -> None:
        for name, (low, high) in _CHAIN_RANGES.items():
            require_range(f"{name} of the feed chain", getattr(self, name), low, high)


RECEIVER_IMPEDANCE_OHM: Final = 75.0
_ROUNDING_DB: Final = 1e-9

BudgetVerdict = Literal["passes", "not judged", "fails"]


@dataclass(frozen=True)
class FeedBudget:
    """Items of a feed budget in the order of the signal's way; all ratios in dB.

    Field, levels and carrier-to-noise ratio are medians of time. The field that is exceeded for
    ``time_percent`` of time is ``fade_db`` lower, by the ``time_method`` named, and so is the ratio at that
    time. ``margin_db`` is the ratio at that time less the required one; the verdict is ``passes`` when it is
    at least ``required_margin_db``, and ``reason`` says so in one plain sentence. ``receiver_input_dbuv`` is
    across a matched 75 Ω load. ``noise_dbm`` is k·T0·B plus the noise figure, at the receiver's input.
    ``own_output_cost_db`` is what the relay's own outputs take from the ratio at that time, None where
    nothing is stated of them, and nothing is counted. Where it is needed and not known (NaN), neither are
    that ratio and the margin, and the verdict is ``not judged``.
    """

    frequency_mhz: float
    erp_towards_site_dbw: float
    distance_km: float
    free_space_loss_db: float
    diffraction_loss_db: float
    other_mechanisms_db: float
    field_strength_dbuv_m: float
    time_percent: float
    fade_db: float
    field_strength_at_time_dbuv_m: float
    time_method: str
    aerial_gain_dbi: float
    aerial_output_dbm: float
    feeder_loss_db: float
    splitter_loss_db: float
    other_gain_db: float
    receiver_input_dbm: float
    receiver_input_dbuv: float
    noise_dbm: float
    carrier_to_noise_db: float
    own_output_cost_db: float | None
    carrier_to_noise_at_time_db: float
    required_cn_db: float
    margin_db: float
    required_margin_db: float
    verdict: BudgetVerdict
    reason: str


def feed_budget(
    *,
    erp_towards_site_dbw: float,
    distance_km: float,
    frequency_mhz: float,
    free_space_loss_db: float,
    diffraction_loss_db: float,
    chain: FeedChain,
    other_mechanisms_db: float = 0.0,
    time_percent: float = 50.0,
    fade_db: float = 0.0,
    time_method: str = "",
    own_output_cost_db: float | None = None,
) -> FeedBudget:
    """Work out the feed budget of one service.

    Parameters
    ----------
    erp_towards_site_dbw : float
        ERP of the parent towards the receive aerial, patterns counted [dBW].
    distance_km, frequency_mhz : float
        Of the path [km] and the centre of the channel [MHz]; over 0.
    free_space_loss_db, diffraction_loss_db, other_mechanisms_db : float
        Parts of the basic transmission loss, median of time [dB].
    chain : FeedChain
        The receiving side.
    time_percent, fade_db, time_method : float, float, str
        Share of the year for which the margin is judged [%], how far its field is under the median [dB], and
        by what method it is known, in words.
    own_output_cost_db : float or None
        By how much the noise of the relay's own outputs and the echo of its loop lower C/N at that time
        [dB], 0 or more; None to count nothing, NaN where it counts and is not known.

    Returns
    -------
    FeedBudget

    Raises
    ------
    RangeError
        When an item is not a finite number, distance or frequency is not over 0, or the fade is under 0.

    Notes
    -----
    A passive loss at T0 ahead of the receiver takes from the carrier and leaves the noise at the receiver's
    input as it is, k·T0·B plus the noise figure (Friis).
    """
    _require_finite("erp_towards_site_dbw", erp_towards_site_dbw)
    _require_positive("distance_km", distance_km)
    _require_positive("frequency_mhz", frequency_mhz)
    _require_finite("free_space_loss_db", free_space_loss_db)
    _require_finite("diffraction_loss_db", diffraction_loss_db)
    _require_finite("other_mechanisms_db", other_mechanisms_db)
    require_range("time_percent of the feed", time_percent, *SHARES_PERCENT)
    require_range("fade_db of the feed", fade_db, 0.0, 500.0)
    own_db = own_output_cost_db or 0.0
    if not math.isnan(own_db):
        require_range("own_output_cost_db of the feed", own_db, 0.0, 500.0)
    loss_db = free_space_loss_db + diffraction_loss_db + other_mechanisms_db
    field = field_from_loss_dbuv_m(erp_towards_site_dbw, loss_db, frequency_mhz)
    aerial_output_dbm = power_dbm_from_field(field, frequency_mhz, chain.aerial_gain_dbi)
    input_dbm = aerial_output_dbm - chain.feeder_loss_db - chain.splitter_loss_db + chain.other_gain_db
    noise_dbm = thermal_noise_dbm(chain.bandwidth_mhz) + chain.noise_figure_db + chain.noise_ahead_db
    carrier_to_noise_db = input_dbm - noise_dbm
    at_time_db = carrier_to_noise_db - fade_db - own_db
    verdict, reason = judge(at_time_db, chain.required_cn_db, chain.required_margin_db)
    return FeedBudget(
        frequency_mhz=frequency_mhz,
        erp_towards_site_dbw=erp_towards_site_dbw,
        distance_km=distance_km,
        free_space_loss_db=free_space_loss_db,
        diffraction_loss_db=diffraction_loss_db,
        other_mechanisms_db=other_mechanisms_db,
        field_strength_dbuv_m=field,
        time_percent=time_percent,
        fade_db=fade_db,
        field_strength_at_time_dbuv_m=field - fade_db,
        time_method=time_method,
        aerial_gain_dbi=chain.aerial_gain_dbi,
        aerial_output_dbm=aerial_output_dbm,
        feeder_loss_db=chain.feeder_loss_db,
        splitter_loss_db=chain.splitter_loss_db,
        other_gain_db=chain.other_gain_db,
        receiver_input_dbm=input_dbm,
        receiver_input_dbuv=dbuv_from_dbm(input_dbm, RECEIVER_IMPEDANCE_OHM),
        noise_dbm=noise_dbm,
        carrier_to_noise_db=carrier_to_noise_db,
        own_output_cost_db=own_output_cost_db,
        carrier_to_noise_at_time_db=at_time_db,
        required_cn_db=chain.required_cn_db,
        margin_db=at_time_db - chain.required_cn_db,
        required_margin_db=chain.required_margin_db,
        verdict=verdict,
        reason=reason
        if time_percent == MEDIAN_PERCENT
        else tell("for {time_percent:g} % of time, {reason}", time_percent=time_percent, reason=reason),
    )


def judge(
    carrier_to_noise_db: float, required_cn_db: float, required_margin_db: float
) -> tuple[BudgetVerdict, str]:
    """Return the verdict on a carrier-to-noise ratio [dB], and the reason in one plain sentence."""
    if math.isnan(carrier_to_noise_db):
        return "not judged", "C/N is not known"
    margin_db = carrier_to_noise_db - required_cn_db
    spare_db = margin_db - required_margin_db
    asked = tell("the {required_margin_db:g} dB asked", required_margin_db=required_margin_db)
    short_db = telling(abs(spare_db), 0.0, 2)
    # What is just met must not fail by the last digit of a sum.
    if spare_db >= -_ROUNDING_DB:
        return "passes", tell(
            "margin {margin_db:.2f} dB, {short_db} dB more than {asked}",
            margin_db=margin_db,
            short_db=short_db,
            asked=asked,
        )
    if margin_db >= 0.0:
        margin = telling(margin_db, required_margin_db, 2)
        return "fails", tell(
            "margin {margin} dB is {short_db} dB short of {asked}",
            margin=margin,
            short_db=short_db,
            asked=asked,
        )
    return "fails", (
        tell(
            "C/N {carrier_to_noise_db:.2f} dB is {margin_db} dB short of the"
            " {required_cn_db:g} dB required and {short_db} dB short with the margin of"
            " {required_margin_db:g} dB asked",
            carrier_to_noise_db=carrier_to_noise_db,
            margin_db=telling(-margin_db, 0.0, 2),
            required_cn_db=required_cn_db,
            short_db=short_db,
            required_margin_db=required_margin_db,
        )
    )


def _require_finite(name: str, value: float) -> None:
    if not math.isfinite(value):
        raise RangeError(f"{name} of the feed", value, "a finite number", "check the path for terrain gaps")


def _require_positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise RangeError(f"{name} of the feed", value, "more than 0")
