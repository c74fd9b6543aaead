"""DTMB planning values: required C/N of the modes of GB 20600, noise bandwidth, receiver; all from memory."""

from __future__ import annotations

from typing import Final

from combe.standards.cited import Cited, Confidence
from combe.standards.dvbt2 import RequiredCn

_MEMORY: Final[Confidence] = "from memory"
_RECEIVERS: Final = "Chinese standard of DTMB receivers (modes of GB 20600-2006), limits of C/N"


def _row(modulation: str, code_rate: str, gaussian: float, ricean: float, rayleigh: float) -> RequiredCn:
    return RequiredCn(modulation, code_rate, gaussian, ricean, rayleigh, _RECEIVERS, _MEMORY)


REQUIRED_CN: Final = (
    _row("4-QAM-NR", "0.8", 2.5, 3.5, 4.5),
    _row("4-QAM", "0.4", 2.5, 3.5, 4.5),
    _row("4-QAM", "0.6", 4.5, 5.0, 7.0),
    _row("4-QAM", "0.8", 7.0, 8.0, 12.0),
    _row("16-QAM", "0.4", 8.0, 9.0, 10.0),
    _row("16-QAM", "0.6", 11.0, 12.0, 14.0),
    _row("16-QAM", "0.8", 14.0, 15.0, 18.0),
    _row("32-QAM", "0.8", 16.0, 17.0, 21.0),
    _row("64-QAM", "0.4", 14.0, 15.0, 16.0),
    _row("64-QAM", "0.6", 17.0, 18.0, 20.0),
    _row("64-QAM", "0.8", 22.0, 23.0, 28.0),
)
"""What a receiver may ask for at most, so that no margin is added; code rates as the standard rounds them."""

NOISE_BANDWIDTH_MHZ: Final = Cited(7.56, "GB 20600-2006, 7.56 million symbols a second", _MEMORY)

NOISE_FIGURE_DB: Final = Cited(7.0, "as for DVB-T, GE06", "own choice")
