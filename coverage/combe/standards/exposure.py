"""Reference levels for people in radio fields: ICNIRP guidelines 2020, 400 to 2000 MHz."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

from combe.errors import RangeError, require_range
from combe.standards.cited import Confidence, require_citation

Audience = Literal["public", "occupational"]
Averaging = Literal["whole body", "local"]

FREQUENCY_RANGE_MHZ: Final = (400.0, 2000.0)

STANDARD: Final = "ICNIRP guidelines 2020, reference levels for 400-2000 MHz"

_TABLE: Final = "ICNIRP guidelines 2020"


@dataclass(frozen=True)
class ReferenceLevel:
    """A limit that goes as a power of the frequency: factor × f^exponent, f in MHz."""

    audience: Audience
    averaging: Averaging
    flux_factor: float
    flux_exponent: float
    flux_confidence: Confidence
    field_factor: float
    field_exponent: float
    field_confidence: Confidence
    reference: str

    def __post_init__(self) -> None:
        require_citation(self.reference, self.flux_confidence)
        require_citation(self.reference, self.field_confidence)


_WHOLE: Final = f"{_TABLE}, whole body, 30 minutes; flux read in the table of 1998, which 2020 keeps"
_LOCAL: Final = f"{_TABLE}, local, 6 minutes; read in a secondary copy"

REFERENCE_LEVELS: Final = (
    ReferenceLevel("public", "whole body", 1 / 200, 1.0, "read", 1.375, 0.5, "from memory", _WHOLE),
    ReferenceLevel("occupational", "whole body", 1 / 40, 1.0, "read", 3.0, 0.5, "read", _WHOLE),
    ReferenceLevel("public", "local", 0.058, 0.86, "read", 4.72, 0.43, "read", _LOCAL),
    ReferenceLevel("occupational", "local", 0.29, 0.86, "read", 10.58, 0.43, "read", _LOCAL),
)
"""Flux in W/m², field in V/m (r.m.s.). That 2020 keeps the whole-body flux of 1998 is from memory."""


def reference_level(audience: str, averaging: str = "whole body") -> ReferenceLevel:
    """Return a row of the table, or raise :class:`RangeError` naming what there is."""
    for field, given, choices in (
        ("audience", audience, get_args(Audience)),
        ("averaging", averaging, get_args(Averaging)),
    ):
        if given not in choices:
            raise RangeError(f"{field} of exposure limits", repr(given), " or ".join(choices))
    return next(row for row in REFERENCE_LEVELS if (row.audience, row.averaging) == (audience, averaging))


def flux_limit_w_m2(frequency_mhz: float, audience: str, averaging: str = "whole body") -> float:
    """Return the limit of the power flux density [W/m²].

    Parameters
    ----------
    frequency_mhz : float
        400 to 2000.
    audience : {"public", "occupational"}
    averaging : {"whole body", "local"}

    Raises
    ------
    RangeError
        For a value that is not allowed.

    Examples
    --------
    >>> flux_limit_w_m2(600.0, "public")
    3.0
    """
    row = reference_level(audience, averaging)
    _require_frequency(frequency_mhz)
    return float(row.flux_factor * frequency_mhz**row.flux_exponent)


def field_limit_v_m(frequency_mhz: float, audience: str, averaging: str = "whole body") -> float:
    """Return the limit of the electric field [V/m]; parameters and errors as :func:`flux_limit_w_m2`."""
    row = reference_level(audience, averaging)
    _require_frequency(frequency_mhz)
    return float(row.field_factor * frequency_mhz**row.field_exponent)


def _require_frequency(frequency_mhz: float) -> None:
    require_range("frequency_mhz of exposure limits", frequency_mhz, *FREQUENCY_RANGE_MHZ)
