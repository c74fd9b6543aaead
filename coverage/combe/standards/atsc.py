"""ATSC planning values: the factors of the published UHF threshold, its dipole factor, co-channel ratio."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from combe.errors import require_range
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
    """At 615 MHz, where Ka is 0."""
    printed_dbuv_m: float
    """The same as printed, rounded."""
    dipole_adjustment_db: float
    """Ka = 20 log(615/f)."""
    threshold_dbuv_m: float
    """Printed value less Ka."""


def dipole_adjustment_db(frequency_mhz: float) -> float:
    """Return Ka = 20 log(615/f) [dB], f in MHz, 470 to 806; raises :class:`RangeError` outside."""
    require_range("frequency_mhz of ATSC in the UHF bands", frequency_mhz, 470.0, 806.0)
    return 20.0 * math.log10(REFERENCE_FREQUENCY_MHZ.value / frequency_mhz)


def atsc_threshold(frequency_mhz: float) -> AtscThreshold:
    """Work out the noise-limited threshold field, item by item.

    Raises
    ------
    RangeError
        Outside 470 to 806 MHz.

    Examples
    --------
    >>> round(atsc_threshold(500.0).threshold_dbuv_m, 2)
    39.2
    """
    adjustment_db = dipole_adjustment_db(frequency_mhz)
    computed_dbuv_m = (
        REQUIRED_CN_DB.value
        - DIPOLE_FACTOR_DB.value
        - AERIAL_GAIN_DBD.value
        + DOWNLEAD_LOSS_DB.value
        + THERMAL_NOISE_DBM.value
        + NOISE_FIGURE_DB.value
    )
    return AtscThreshold(
        frequency_mhz=frequency_mhz,
        required_cn_db=REQUIRED_CN_DB.value,
        dipole_factor_db=DIPOLE_FACTOR_DB.value,
        aerial_gain_dbd=AERIAL_GAIN_DBD.value,
        downlead_loss_db=DOWNLEAD_LOSS_DB.value,
        thermal_noise_dbm=THERMAL_NOISE_DBM.value,
        noise_figure_db=NOISE_FIGURE_DB.value,
        computed_dbuv_m=computed_dbuv_m,
        printed_dbuv_m=THRESHOLD_DBUV_M.value,
        dipole_adjustment_db=adjustment_db,
        threshold_dbuv_m=THRESHOLD_DBUV_M.value - adjustment_db,
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
