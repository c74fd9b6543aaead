"""DVB-T2 planning values: required C/N by mode, receiver, fixed aerials, location.

Sources: ITU-R BT.2033-2, BT.2036-5 and the GE06 Final Acts, named again at each row.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from statistics import NormalDist
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, get_args

from combe.errors import RangeError, require_range
from combe.standards.cited import Cited, Confidence

ChannelModel = Literal["gaussian", "ricean", "rayleigh"]

_TABLE_2: Final = "ITU-R BT.2033-2 Table 2, read in a public copy"
_ATTACHMENT_1: Final = "ITU-R BT.2033-2 Attachment 1, read in a public copy"
_GE06: Final = "GE06 Final Acts, Chapter 3 to Annex 2, read in a public copy"
_BT2036: Final = "ITU-R BT.2036-5, fixed reception, read in a public copy"


class RequiredCn(NamedTuple):
    """Required carrier-to-noise ratio [dB] of one mode in three channel models."""

    modulation: str
    code_rate: str
    gaussian_db: float
    ricean_db: float
    rayleigh_db: float
    reference: str = _TABLE_2
    confidence: Confidence = "read"


REQUIRED_CN: Final = (
    RequiredCn("QPSK", "1/2", 2.4, 2.6, 3.4),
    RequiredCn("QPSK", "3/5", 3.6, 3.8, 4.9),
    RequiredCn("QPSK", "2/3", 4.5, 4.8, 6.3),
    RequiredCn("QPSK", "3/4", 5.5, 5.8, 7.6),
    RequiredCn("QPSK", "4/5", 6.1, 6.5, 8.5),
    RequiredCn("QPSK", "5/6", 6.6, 7.0, 9.3),
    RequiredCn("16-QAM", "1/2", 7.6, 7.8, 9.1),
    RequiredCn("16-QAM", "3/5", 9.0, 9.2, 10.7),
    RequiredCn("16-QAM", "2/3", 10.3, 10.5, 12.2),
    RequiredCn("16-QAM", "3/4", 11.4, 11.8, 13.9),
    RequiredCn("16-QAM", "4/5", 12.2, 12.6, 15.1),
    RequiredCn("16-QAM", "5/6", 12.7, 13.1, 15.9),
    RequiredCn("64-QAM", "1/2", 11.9, 12.2, 14.0),
    RequiredCn("64-QAM", "3/5", 13.8, 14.1, 15.8),
    RequiredCn("64-QAM", "2/3", 15.1, 15.4, 17.2),
    RequiredCn("64-QAM", "3/4", 16.6, 16.9, 19.3),
    RequiredCn("64-QAM", "4/5", 17.6, 18.1, 20.9),
    RequiredCn("64-QAM", "5/6", 18.2, 18.7, 21.8),
    RequiredCn("256-QAM", "1/2", 15.9, 16.3, 18.3),
    RequiredCn("256-QAM", "3/5", 18.2, 18.4, 20.5),
    RequiredCn("256-QAM", "2/3", 19.7, 20.0, 22.1),
    RequiredCn("256-QAM", "3/4", 21.7, 22.0, 24.6),
    RequiredCn("256-QAM", "4/5", 23.1, 23.6, 26.6),
    RequiredCn("256-QAM", "5/6", 23.9, 24.4, 28.0),
)

NOISE_BANDWIDTH_MHZ: Final[Mapping[float, Cited]] = MappingProxyType(
    {
        8.0: Cited(7.61, _ATTACHMENT_1, "read"),
        7.0: Cited(6.66, _ATTACHMENT_1, "read"),
        6.0: Cited(5.71, f"{_ATTACHMENT_1}: that of 8 MHz by the width of the channel", "computed"),
    }
)
"""Noise bandwidth [MHz] by channel width [MHz]."""

NOISE_FIGURE_DB: Final = Cited(6.0, _ATTACHMENT_1, "read")
BOLTZMANN_J_K: Final = Cited(1.38e-23, _ATTACHMENT_1, "read")
NOISE_TEMPERATURE_K: Final = Cited(290.0, _ATTACHMENT_1, "read")
DIPOLE_POWER_RATIO: Final = Cited(1.64, _ATTACHMENT_1, "read")
FIELD_OVER_FLUX_DB: Final = Cited(145.8, _ATTACHMENT_1, "read")
"""Field [dB(µV/m)] less power flux density [dB(W/m²)], as printed (exactly 145.76)."""

MAN_MADE_NOISE_DB: Final = Cited(0.0, f"{_BT2036}: rooftop, UHF, urban and rural", "read")
LOCATION_DEVIATION_DB: Final = Cited(5.5, _GE06, "read")
"""Standard deviation of the field over locations, digital wide-band signals."""

LOCATION_FACTORS: Final[Mapping[float, Cited]] = MappingProxyType(
    {70.0: Cited(0.52, _GE06, "read"), 95.0: Cited(1.64, _GE06, "read"), 99.0: Cited(2.33, _GE06, "read")}
)
"""Printed factor μ of the location correction Cl = μσ by percentage of locations."""

EXACT_QUANTILE: Final = "exact quantile of the normal distribution"


class FixedAerial(NamedTuple):
    """Receiving aerial and feeder of fixed reception at a listed frequency."""

    frequency_mhz: float
    gain_dbd: float
    feeder_loss_db: float
    reference: str = _BT2036
    confidence: Confidence = "read"


FIXED_AERIALS: Final = (
    FixedAerial(500.0, 10.0, 3.0),
    FixedAerial(650.0, 11.0, 4.0),
    FixedAerial(800.0, 12.0, 5.0),
)

UHF_RANGE_MHZ: Final = (470.0, 862.0)
"""Bands IV and V, in which these fixed aerials hold."""


class FixedBand(NamedTuple):
    """Fixed reception in one band [MHz]: aerials and feeders, and the published allowance for noise [dB]."""

    name: str
    low_mhz: float
    high_mhz: float
    aerials: tuple[FixedAerial, ...]
    man_made_noise: Cited


_CHESTER: Final = "Chester 1997 agreement, fixed reception at 65 MHz"

FIXED_BANDS: Final = (
    FixedBand(
        "Band I", 47.0, 120.0, (FixedAerial(65.0, 3.0, 1.0, _CHESTER, "from memory"),),
        Cited(6.0, _CHESTER, "from memory"),
    ),
    FixedBand(
        "Band III", 162.0, 240.0, (FixedAerial(200.0, 7.0, 2.0),),
        Cited(2.0, f"{_BT2036}: rooftop, Band III, urban and rural", "read"),
    ),
    FixedBand("Bands IV and V", *UHF_RANGE_MHZ, FIXED_AERIALS, MAN_MADE_NOISE_DB),
)  # fmt: skip
"""Channels up to 108 MHz, over Band I, are counted with it (own choice)."""


def required_cn(modulation: str, code_rate: str) -> RequiredCn:
    """Return the row of a mode, or raise :class:`RangeError` naming the modulations and code rates."""
    for row in REQUIRED_CN:
        if (row.modulation, row.code_rate) == (modulation, code_rate):
            return row
    modulations = ", ".join(dict.fromkeys(row.modulation for row in REQUIRED_CN))
    rates = ", ".join(dict.fromkeys(row.code_rate for row in REQUIRED_CN))
    raise RangeError("DVB-T2 mode", f"{modulation!r} {code_rate!r}", f"{modulations} with {rates}")


def required_cn_db(modulation: str, code_rate: str, channel_model: str) -> float:
    """Return the required C/N [dB] of a mode in a channel model (BT.2033-2 Table 2).

    Raises
    ------
    RangeError
        For a mode or channel model that the table does not have.

    Examples
    --------
    >>> required_cn_db("256-QAM", "2/3", "ricean")
    20.0
    """
    if channel_model not in get_args(ChannelModel):
        raise RangeError("channel model", repr(channel_model), ", ".join(get_args(ChannelModel)))
    row = required_cn(modulation, code_rate)
    return {"gaussian": row.gaussian_db, "ricean": row.ricean_db, "rayleigh": row.rayleigh_db}[channel_model]


def fixed_band(frequency_mhz: float) -> FixedBand:
    """Return the band in which a frequency lies, or raise :class:`RangeError` naming those there are."""
    for band in FIXED_BANDS:
        if band.low_mhz <= frequency_mhz <= band.high_mhz:
            return band
    bands = ", ".join(f"{band.low_mhz:g} to {band.high_mhz:g} MHz ({band.name})" for band in FIXED_BANDS)
    raise RangeError("frequency_mhz of fixed reception", frequency_mhz, bands)


def fixed_aerial(frequency_mhz: float) -> FixedAerial:
    """Return aerial gain [dBd] and feeder loss [dB] of fixed reception at a frequency [MHz].

    Linear in the logarithm of the frequency between the listed frequencies (BT.2036-5); beyond them, to
    the ends of the band, the nearest listed values hold (our own choice).

    Raises
    ------
    RangeError
        Outside the bands.
    """
    listed = fixed_band(frequency_mhz).aerials
    if len(listed) == 1:
        return listed[0]._replace(frequency_mhz=frequency_mhz)
    # Beyond the listed frequencies nothing is known of the trend: the nearest values stand.
    inside = min(max(frequency_mhz, listed[0].frequency_mhz), listed[-1].frequency_mhz)
    low, high = next(pair for pair in itertools.pairwise(listed) if inside <= pair[1].frequency_mhz)
    part = math.log(inside / low.frequency_mhz) / math.log(high.frequency_mhz / low.frequency_mhz)
    return FixedAerial(
        frequency_mhz,
        low.gain_dbd + part * (high.gain_dbd - low.gain_dbd),
        low.feeder_loss_db + part * (high.feeder_loss_db - low.feeder_loss_db),
        confidence="computed",
    )


def location_factor(location_percent: float) -> Cited:
    """Return the factor μ for a percentage of locations: as printed where it is, else the exact quantile.

    Raises
    ------
    RangeError
        Outside 1 to 99.9 per cent.
    """
    require_range("location_percent", location_percent, 1.0, 99.9)
    if location_percent in LOCATION_FACTORS:
        return LOCATION_FACTORS[location_percent]
    return Cited(NormalDist().inv_cdf(location_percent / 100.0), EXACT_QUANTILE, "computed")
