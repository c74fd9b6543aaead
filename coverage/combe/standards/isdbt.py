"""ISDB-T planning values: required C/N by mode, noise bandwidth, receiver, contours."""

from __future__ import annotations

from typing import Final, NamedTuple

from combe.standards.cited import Cited, Confidence

_STD_B31: Final = "ARIB STD-B31, required C/N of the modes, Gaussian channel"
_MEMORY: Final[Confidence] = "from memory"

SEGMENTS: Final = 13
SEGMENT_MHZ: Final = 6.0 / 14.0


class GaussianCn(NamedTuple):
    """Required carrier-to-noise ratio [dB] of one mode in the Gaussian channel; no other is known here."""

    modulation: str
    code_rate: str
    gaussian_db: float
    reference: str = _STD_B31
    confidence: Confidence = _MEMORY


REQUIRED_CN: Final = (
    GaussianCn("QPSK", "1/2", 4.9),
    GaussianCn("QPSK", "2/3", 6.6),
    GaussianCn("QPSK", "3/4", 7.5),
    GaussianCn("QPSK", "5/6", 8.5),
    GaussianCn("QPSK", "7/8", 9.1),
    GaussianCn("16-QAM", "1/2", 11.5),
    GaussianCn("16-QAM", "2/3", 13.5),
    GaussianCn("16-QAM", "3/4", 14.6),
    GaussianCn("16-QAM", "5/6", 15.6),
    GaussianCn("16-QAM", "7/8", 16.2),
    GaussianCn("64-QAM", "1/2", 16.5),
    GaussianCn("64-QAM", "2/3", 18.7),
    GaussianCn("64-QAM", "3/4", 20.1),
    GaussianCn("64-QAM", "5/6", 21.3),
    GaussianCn("64-QAM", "7/8", 22.0),
)

NOISE_BANDWIDTH_MHZ: Final = Cited(
    SEGMENTS * SEGMENT_MHZ, "13 segments of 6/14 MHz; 5.57 MHz printed by its makers", "read"
)


def noise_bandwidth_mhz(channel_width_mhz: float) -> Cited:
    """Return the noise bandwidth [MHz] in channels of a width [MHz]: 13 of its 14 parts.

    Examples
    --------
    >>> round(noise_bandwidth_mhz(8.0).value, 2)
    7.43
    """
    if channel_width_mhz == 14.0 * SEGMENT_MHZ:
        return NOISE_BANDWIDTH_MHZ
    reference = f"13 segments of {channel_width_mhz:g}/14 MHz, after those of 6 MHz"
    return Cited(SEGMENTS * channel_width_mhz / 14.0, reference, "computed")


NOISE_FIGURE_DB: Final = Cited(7.0, "ITU-R BT.1368-13 Annex 3, ISDB-T receiver", _MEMORY)


class ProtectedContour(NamedTuple):
    """Field [dB(µV/m)] within which an administration protects ISDB-T in the UHF bands."""

    administration: str
    field_dbuv_m: float
    reference: str
    confidence: Confidence


PROTECTED_CONTOURS: Final = (
    ProtectedContour("Brazil", 51.0, "technical rules of the administration, UHF", _MEMORY),
    ProtectedContour("Japan", 60.0, "technical rules of the administration, 1 mV/m", _MEMORY),
)
