"""DVB-T planning values: required C/N by mode, implementation margin, receiver, GE06 configurations."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple, get_args

from combe.errors import RangeError, require_range
from combe.standards.cited import Cited, Confidence
from combe.standards.dvbt2 import UHF_RANGE_MHZ, RequiredCn

_EN300744: Final = "ETSI EN 300 744 Annex A, non-hierarchical modes"
_GE06: Final = "GE06 Final Acts, Chapter 3 to Annex 2"
_MEMORY: Final[Confidence] = "from memory"


def _row(modulation: str, code_rate: str, gaussian: float, ricean: float, rayleigh: float) -> RequiredCn:
    return RequiredCn(modulation, code_rate, gaussian, ricean, rayleigh, _EN300744, _MEMORY)


REQUIRED_CN: Final = (
    _row("QPSK", "1/2", 3.1, 3.6, 5.4),
    _row("QPSK", "2/3", 4.9, 5.7, 8.4),
    _row("QPSK", "3/4", 5.9, 6.8, 10.7),
    _row("16-QAM", "1/2", 8.8, 9.6, 11.2),
    _row("16-QAM", "2/3", 11.1, 11.6, 14.2),
    _row("16-QAM", "3/4", 12.5, 13.0, 16.7),
    _row("16-QAM", "5/6", 13.5, 14.4, 19.3),
    _row("16-QAM", "7/8", 13.9, 15.0, 22.8),
    _row("64-QAM", "1/2", 14.4, 14.7, 16.0),
    _row("64-QAM", "2/3", 16.5, 17.1, 19.3),
    _row("64-QAM", "3/4", 18.0, 18.6, 21.7),
    _row("64-QAM", "5/6", 19.3, 20.0, 25.3),
    _row("64-QAM", "7/8", 20.1, 21.0, 27.9),
)
"""By simulation of a perfect receiver; :data:`IMPLEMENTATION_MARGIN_DB` is to be added."""

IMPLEMENTATION_MARGIN_DB: Final = Cited(3.0, "usual margin of a receiver over the simulated C/N", _MEMORY)

NOISE_FIGURE_DB: Final = Cited(7.0, f"{_GE06}, DVB-T receiver", _MEMORY)


class ReferenceConfiguration(NamedTuple):
    """A reference planning configuration of GE06: the median field it asks for at ``frequency_mhz``.

    ``slope_db_per_decade`` carries it to another frequency of Bands IV and V.
    """

    name: str
    reception: Literal["fixed", "portable outdoor", "portable indoor"]
    required_cn_db: float
    frequency_mhz: float
    median_field_dbuv_m: float
    slope_db_per_decade: float
    reference: str
    confidence: Confidence


REFERENCE_CONFIGURATIONS: Final = (
    ReferenceConfiguration("RPC 1", "fixed", 21.0, 650.0, 56.0, 20.0, _GE06, _MEMORY),
    ReferenceConfiguration("RPC 2", "portable outdoor", 19.0, 650.0, 78.0, 30.0, _GE06, _MEMORY),
    ReferenceConfiguration("RPC 3", "portable indoor", 17.0, 650.0, 88.0, 30.0, _GE06, _MEMORY),
)

Name = Literal["RPC 1", "RPC 2", "RPC 3"]


def reference_configuration(name: str) -> ReferenceConfiguration:
    """Return a configuration by name, or raise :class:`RangeError` naming those there are."""
    for row in REFERENCE_CONFIGURATIONS:
        if row.name == name:
            return row
    raise RangeError("reference planning configuration", repr(name), ", ".join(get_args(Name)))


def frequency_correction_db(configuration: ReferenceConfiguration, frequency_mhz: float) -> float:
    """Return what to add to a configuration's field at another frequency [dB].

    20 log(f/650 MHz) for fixed, 30 log(f/650 MHz) for portable reception (GE06, from memory).

    Raises
    ------
    RangeError
        Outside 470 to 862 MHz.

    Examples
    --------
    >>> round(frequency_correction_db(reference_configuration("RPC 1"), 500.0), 2)
    -2.28
    """
    require_range("frequency_mhz of a reference planning configuration", frequency_mhz, *UHF_RANGE_MHZ)
    return configuration.slope_db_per_decade * math.log10(frequency_mhz / configuration.frequency_mhz)


def reference_field_dbuv_m(name: str, frequency_mhz: float) -> float:
    """Return the median field [dB(µV/m)] of a GE06 configuration at a frequency; errors as its parts'."""
    configuration = reference_configuration(name)
    return configuration.median_field_dbuv_m + frequency_correction_db(configuration, frequency_mhz)
