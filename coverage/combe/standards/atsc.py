"""ATSC planning values: the factors of the published threshold of each band, co-channel ratio."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.errors import RangeError, require_range
from combe.standards.cited import Cited

_OET69: Final = "FCC OET Bulletin 69 and ISED BPR-10 Appendix 8, UHF planning factors"

REFERENCE_FREQUENCY_MHZ: Final = Cited(615.0, _OET69, "read")
DIPOLE_FACTOR_DB: Final = Cited(-130.8, f"{_OET69}, at 615 MHz", "read")
"""Kd: power [dBm] at the terminals of a half-wave dipole less the field [dB(µV/m)]."""

THERMAL_NOISE_DBM: Final = Cited(-106.2, f"{_OET69}, in 6 MHz", "read")
NOISE_BANDWIDTH_MHZ: Final = Cited(6.0, _OET69, "read")
AERIAL_GAIN_DBD: Final = Cited(10.0, _OET69, "read")
DOWNLEAD_LOSS_DB: Final = Cited(4.0, _OET69, "read")
NOISE_FIGURE_DB: Final = Cited(7.0, _OET69, "read")
REQUIRED_CN_DB: Final = Cited(15.0, _OET69, "read")
THRESHOLD_DBUV_M: Final = Cited(41.0, f"{_OET69}, F(50,90) at 615 MHz, rounded as printed", "read")


class PlanningFactors(NamedTuple):
    """Factors of one band, ``low_mhz`` to ``high_mhz``; Ka is counted at UHF alone, as published."""

    low_mhz: float
    high_mhz: float
    reference_frequency: Cited
    dipole_factor: Cited
    aerial_gain: Cited
    downlead_loss: Cited
    noise_figure: Cited
    threshold: Cited
    adjusted: bool


def _vhf(
    low_mhz: float,
    high_mhz: float,
    middle_mhz: float,
    dipole_db: float,
    gain_dbd: float,
    loss_db: float,
    threshold_dbuv_m: float,
) -> PlanningFactors:
    source = "FCC OET Bulletin 69, VHF planning factors"
    middle, dipole, gain, loss, noise, threshold = (
        Cited(value, source, "from memory")
        for value in (middle_mhz, dipole_db, gain_dbd, loss_db, 10.0, threshold_dbuv_m)
    )
    return PlanningFactors(low_mhz, high_mhz, middle, dipole, gain, loss, noise, threshold, adjusted=False)


PLANNING_FACTORS: Final = (
    _vhf(54.0, 88.0, 69.0, -111.8, 4.0, 1.0, 28.0),
    _vhf(174.0, 216.0, 194.0, -120.8, 6.0, 2.0, 36.0),
    PlanningFactors(
        470.0,
        806.0,
        REFERENCE_FREQUENCY_MHZ,
        DIPOLE_FACTOR_DB,
        AERIAL_GAIN_DBD,
        DOWNLEAD_LOSS_DB,
        NOISE_FIGURE_DB,
        THRESHOLD_DBUV_M,
        adjusted=True,
    ),
)
"""Channels 2 to 6, 7 to 13, and 14 to 69: the geometric middle of the band [MHz], Kd [dB], G [dBd], L [dB],
Ns [dB], and the threshold as printed [dB(µV/m)]."""

MODULATION: Final = "8-VSB"
CODE_RATE: Final = "2/3"
"""The one mode: 8-VSB with its trellis code of rate 2/3 (from memory; nothing is computed from it)."""

STANDING_FIELD: Final = (
    "F(50,90) = 2 F(50,50) − F(50,10), the method of 47 CFR 73.619(b)(1), once 73.625(b)(1) (its place read "
    "in 73.6010(d), the formula from memory)"
)
"""How the rule book makes the field that stands for 90 % of time; see :mod:`combe.prediction.time`."""

STRONG_RATIO_DB: Final = Cited(15.0, "FCC OET Bulletin 69 (2004), where S/N is 28 dB or more", "read")
STRONG_SN_DB: Final = Cited(28.0, "FCC OET Bulletin 69 (2004)", "read")
EDGE_SN_DB: Final = Cited(16.0, "FCC OET Bulletin 69 (2004)", "read")
THRESHOLD_SN_DB: Final = Cited(15.19, "FCC OET Bulletin 69 (2004), co-channel formula", "from memory")
CO_CHANNEL_FORMULA: Final = "FCC OET Bulletin 69 (2004), co-channel ratio by the S/N of the wanted signal"


@dataclass(frozen=True)
class AtscThreshold:
    """Items of E = C/N − Kd − Ka − G + L + Nt + Ns; fields in dB(µV/m)."""

    frequency_mhz: float
    required_cn_db: float
    dipole_factor_db: float
    aerial_gain_dbd: float
    downlead_loss_db: float
    thermal_noise_dbm: float
    noise_figure_db: float
    computed_dbuv_m: float
    """At the reference frequency, where Ka is 0."""
    printed_dbuv_m: float
    """The same as printed, rounded."""
    dipole_adjustment_db: float
    """Ka = 20 log(615/f); 0 at VHF."""
    threshold_dbuv_m: float
    """Printed value less Ka."""


def planning_factors(frequency_mhz: float) -> PlanningFactors:
    """Return the factors of the band in which a frequency lies; RangeError naming the bands outside."""
    for row in PLANNING_FACTORS:
        if row.low_mhz <= frequency_mhz <= row.high_mhz:
            return row
    bands = ", ".join(f"{row.low_mhz:g} to {row.high_mhz:g}" for row in PLANNING_FACTORS)
    raise RangeError("frequency_mhz of ATSC", frequency_mhz, f"{bands} MHz")


def dipole_adjustment_db(frequency_mhz: float) -> float:
    """Return Ka = 20 log(615/f) [dB] at UHF, 0 at VHF; errors as :func:`planning_factors`."""
    factors = planning_factors(frequency_mhz)
    if not factors.adjusted:
        return 0.0
    return 20.0 * math.log10(factors.reference_frequency.value / frequency_mhz)


def atsc_threshold(frequency_mhz: float) -> AtscThreshold:
    """Work out the noise-limited threshold field, item by item.

    Raises
    ------
    RangeError
        Outside the bands.

    Examples
    --------
    >>> round(atsc_threshold(500.0).threshold_dbuv_m, 2)
    39.2
    """
    factors, adjustment_db = planning_factors(frequency_mhz), dipole_adjustment_db(frequency_mhz)
    computed_dbuv_m = (
        REQUIRED_CN_DB.value
        - factors.dipole_factor.value
        - factors.aerial_gain.value
        + factors.downlead_loss.value
        + THERMAL_NOISE_DBM.value
        + factors.noise_figure.value
    )
    return AtscThreshold(
        frequency_mhz=frequency_mhz,
        required_cn_db=REQUIRED_CN_DB.value,
        dipole_factor_db=factors.dipole_factor.value,
        aerial_gain_dbd=factors.aerial_gain.value,
        downlead_loss_db=factors.downlead_loss.value,
        thermal_noise_dbm=THERMAL_NOISE_DBM.value,
        noise_figure_db=factors.noise_figure.value,
        computed_dbuv_m=computed_dbuv_m,
        printed_dbuv_m=factors.threshold.value,
        dipole_adjustment_db=adjustment_db,
        threshold_dbuv_m=factors.threshold.value - adjustment_db,
    )


def sharing_noise_dbuv_m(frequency_mhz: float) -> float:
    """Return the field that noise asks for where interference on the channel is there too [dB(µV/m)].

    With it the power sum of noise and of an interferer 15 dB up asks for just what
    :func:`co_channel_ratio_db` does: with x = S/N − 15.19, D/U ≥ 15 − 10 log(1 − 10^(−x/10)) is, as powers,
    wanted ≥ noise + 15.19 dB and interferer + 15 dB. From S/N 28 dB upwards, where the Bulletin has 15 dB,
    that is up to 0.24 dB more. Errors as :func:`atsc_threshold`.
    """
    threshold = atsc_threshold(frequency_mhz)
    without_signal_dbuv_m = (
        threshold.computed_dbuv_m - threshold.required_cn_db - threshold.dipole_adjustment_db
    )
    return without_signal_dbuv_m + THRESHOLD_SN_DB.value


def ratio_at_sn_db(signal_to_noise_db: float) -> float:
    """Return the co-channel ratio [dB] at any S/N; that of the edge below 16 dB and for NaN, not known."""
    known = EDGE_SN_DB.value if math.isnan(signal_to_noise_db) else signal_to_noise_db
    return co_channel_ratio_db(min(max(known, EDGE_SN_DB.value), 100.0))


def co_channel_ratio_db(signal_to_noise_db: float) -> float:
    """Return the co-channel ratio of two ATSC signals [dB] where the wanted one has a given S/N.

    Noise and interference share what the receiver can bear: 15 + 10 log(1/(1 − 10^(−x/10))) with
    x = S/N − 15.19 (from memory), 15 dB from S/N 28 dB upwards and 23 dB at 16 dB as printed.

    Raises
    ------
    RangeError
        For S/N below 16 dB, where there is no service, or over 100 dB.
    """
    require_range("signal_to_noise_db of ATSC", signal_to_noise_db, EDGE_SN_DB.value, 100.0)
    if signal_to_noise_db >= STRONG_SN_DB.value:
        return STRONG_RATIO_DB.value
    # The part of the allowance that noise takes: all of it at 15.19 dB, where the formula ends.
    spare = 10.0 ** (-(signal_to_noise_db - THRESHOLD_SN_DB.value) / 10.0)
    return STRONG_RATIO_DB.value - 10.0 * math.log10(1.0 - spare)
