"""Reference levels for people in radio fields: ICNIRP guidelines 2020, 10 MHz to 6 GHz.

In the far field any one of power flux density, electric and magnetic field is enough to judge by. Nearer,
where the field still radiates, it is the flux, or both fields; in the reactive near field both fields, and
the flux says nothing (from memory). Levels of the whole body and local ones both have to be kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, get_args

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import RangeError, require_range
from combe.standards.cited import Confidence, require_citation

Audience = Literal["public", "occupational"]
Averaging = Literal["whole body", "local"]

FREQUENCY_RANGE_MHZ: Final = (10.0, 6000.0)

STANDARD: Final = "ICNIRP guidelines 2020, reference levels"

_TABLE: Final = "ICNIRP guidelines 2020"


class Limit(NamedTuple):
    """A limit that goes as a power of the frequency: factor × f^exponent, f in MHz."""

    factor: float
    exponent: float
    confidence: Confidence

    def at(self, frequency_mhz: float) -> float:
        """Return the limit at a frequency [MHz], in the limit's own unit."""
        return float(self.factor * frequency_mhz**self.exponent)


@dataclass(frozen=True)
class ReferenceLevel:
    """Limits over ``low_mhz`` up to ``high_mhz``; None where the guidelines have none.

    ``flux`` in W/m², ``electric`` in V/m and ``magnetic`` in A/m (r.m.s.).
    """

    audience: Audience
    averaging: Averaging
    low_mhz: float
    high_mhz: float
    flux: Limit | None
    electric: Limit | None
    magnetic: Limit | None
    reference: str

    def __post_init__(self) -> None:
        for limit in (self.flux, self.electric, self.magnetic):
            if limit is not None:
                require_citation(self.reference, limit.confidence)


_WHOLE: Final = f"{_TABLE}, whole body, 30 minutes; flux read in a public code"
_LOCAL: Final = f"{_TABLE}, local, 6 minutes; read in a textbook's copy"
_READ: Final[Confidence] = "read"
_MEMORY: Final[Confidence] = "from memory"
_WHOLE_BODY: Final[Averaging] = "whole body"


def _whole(
    audience: Audience,
    band_mhz: tuple[float, float],
    flux: tuple[float, float] | None,
    electric: tuple[float, float] | None,
    magnetic: tuple[float, float] | None,
    field_confidence: Confidence = _MEMORY,
) -> ReferenceLevel:
    return ReferenceLevel(
        audience,
        _WHOLE_BODY,
        *band_mhz,
        Limit(*flux, _READ) if flux else None,
        Limit(*electric, field_confidence) if electric else None,
        Limit(*magnetic, _MEMORY) if magnetic else None,
        _WHOLE,
    )


def _local(
    audience: Audience, band_mhz: tuple[float, float], *limits: tuple[float, float] | None
) -> ReferenceLevel:
    flux, electric, magnetic = (Limit(*each, _READ) if each else None for each in limits)
    return ReferenceLevel(audience, "local", *band_mhz, flux, electric, magnetic, _LOCAL)


_HF: Final = (0.1, 30.0)
_VHF: Final = (30.0, 400.0)
_UHF: Final = (400.0, 2000.0)
_SHF: Final = (2000.0, 6000.0)

REFERENCE_LEVELS: Final = (
    _whole("public", _HF, None, (300.0, -0.7), (2.2, -1.0)),
    _whole("public", _VHF, (2.0, 0.0), (27.7, 0.0), (0.073, 0.0)),
    _whole("public", _UHF, (1 / 200, 1.0), (1.375, 0.5), (0.0037, 0.5)),
    _whole("public", _SHF, (10.0, 0.0), None, None),
    _whole("occupational", _HF, None, (660.0, -0.7), (4.9, -1.0)),
    _whole("occupational", _VHF, (10.0, 0.0), (61.0, 0.0), (0.16, 0.0)),
    _whole("occupational", _UHF, (1 / 40, 1.0), (3.0, 0.5), (0.008, 0.5), _READ),
    _whole("occupational", _SHF, (50.0, 0.0), None, None),
    _local("public", _HF, None, (671.0, -0.7), (4.9, -1.0)),
    _local("public", _VHF, (10.0, 0.0), (62.0, 0.0), (0.163, 0.0)),
    _local("public", _UHF, (0.058, 0.86), (4.72, 0.43), (0.0123, 0.43)),
    _local("public", _SHF, (40.0, 0.0), None, None),
    _local("occupational", _HF, None, (1504.0, -0.7), (10.8, -1.0)),
    _local("occupational", _VHF, (50.0, 0.0), (139.0, 0.0), (0.36, 0.0)),
    _local("occupational", _UHF, (0.29, 0.86), (10.58, 0.43), (0.0274, 0.43)),
    _local("occupational", _SHF, (200.0, 0.0), None, None),
)
"""Over 2 GHz the flux alone has a limit, up to 30 MHz the two fields alone, of which both have to be kept."""


def reference_level(audience: str, averaging: str, frequency_mhz: float) -> ReferenceLevel:
    """Return the row of the table for a frequency [MHz]; :class:`RangeError` naming what there is."""
    for field, given, choices in (
        ("audience", audience, get_args(Audience)),
        ("averaging", averaging, get_args(Averaging)),
    ):
        if given not in choices:
            raise RangeError(f"{field} of exposure limits", repr(given), " or ".join(choices))
    require_range("frequency_mhz of exposure limits", frequency_mhz, *FREQUENCY_RANGE_MHZ)
    return next(
        row
        for row in REFERENCE_LEVELS
        if (row.audience, row.averaging) == (audience, averaging) and frequency_mhz <= row.high_mhz
    )


def flux_limit_w_m2(frequency_mhz: float, audience: str, averaging: str = _WHOLE_BODY) -> float:
    """Return the limit of the power flux density [W/m²].

    Parameters
    ----------
    frequency_mhz : float
        Over 30, up to 6000.
    audience : {"public", "occupational"}
    averaging : {"whole body", "local"}

    Raises
    ------
    RangeError
        For a value that is not allowed, or a frequency at which the flux has no limit.

    Examples
    --------
    >>> flux_limit_w_m2(600.0, "public"), flux_limit_w_m2(200.0, "public")
    (3.0, 2.0)
    """
    row = reference_level(audience, averaging, frequency_mhz)
    return _known(row.flux, "flux", frequency_mhz, "over 30 to 6000")


def field_limit_v_m(frequency_mhz: float, audience: str, averaging: str = _WHOLE_BODY) -> float:
    """Return the limit of the electric field [V/m], 10 to 2000 MHz; as :func:`flux_limit_w_m2`."""
    row = reference_level(audience, averaging, frequency_mhz)
    return _known(row.electric, "electric field", frequency_mhz, "10 to 2000")


def magnetic_limit_a_m(frequency_mhz: float, audience: str, averaging: str = _WHOLE_BODY) -> float:
    """Return the limit of the magnetic field [A/m], 10 to 2000 MHz; as :func:`flux_limit_w_m2`."""
    row = reference_level(audience, averaging, frequency_mhz)
    return _known(row.magnetic, "magnetic field", frequency_mhz, "10 to 2000")


def reactive_distance_m(frequency_mhz: float) -> float:
    """Return λ/2π [m], within which an aerial's field is mostly reactive and the flux says nothing.

    Examples
    --------
    >>> round(reactive_distance_m(50.0), 2)
    0.95
    """
    require_range("frequency_mhz of exposure limits", frequency_mhz, *FREQUENCY_RANGE_MHZ)
    return SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6) / (2.0 * math.pi)


def _known(limit: Limit | None, what: str, frequency_mhz: float, allowed: str) -> float:
    if limit is None:
        raise RangeError(f"frequency_mhz of exposure limits of the {what}", frequency_mhz, allowed)
    return limit.at(frequency_mhz)
