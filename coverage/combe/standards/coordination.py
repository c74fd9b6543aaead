"""Fields over which agreements between administrations ask for coordination: their trigger values by band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.errors import RangeError, require_range
from combe.standards.cited import Confidence, describe, require_citation

FIELD_RANGE_DBUV_M: Final = (-50.0, 150.0)


@dataclass(frozen=True)
class TriggerBand:
    """A trigger value and the band in which it stands.

    Parameters
    ----------
    from_mhz, to_mhz : float
        Edges of the band [MHz]; a service is in it where the centre of its channel is.
    field_dbuv_m : float
        Field strength [dB(µV/m)] over which coordination is asked for.
    reference : str
        Agreement and place in it.
    confidence : {"read", "computed", "from memory", "own choice"}
    digital_only : bool
        Whether the value is of digital television alone.

    Raises
    ------
    RangeError
        A band that has no inside, or a field that no agreement has.
    """

    from_mhz: float
    to_mhz: float
    field_dbuv_m: float
    reference: str = "as given"
    confidence: Confidence = "read"
    digital_only: bool = False

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)
        require_range("field_dbuv_m of a trigger", self.field_dbuv_m, *FIELD_RANGE_DBUV_M)
        if not 0.0 <= self.from_mhz < self.to_mhz:
            allowed = "two edges [MHz], 0 or more, the first below the second"
            raise RangeError("band of a trigger", f"{self.from_mhz:g} to {self.to_mhz:g} MHz", allowed)


_GE06: Final = "GE06 Agreement, Annex 4: protection of broadcasting, at 10 m, 1 % of time, 50 % of places"

TRIGGER_TABLES: Final = {
    "GE06": (
        TriggerBand(174.0, 230.0, 17.0, _GE06, "from memory", digital_only=True),
        TriggerBand(470.0, 582.0, 21.0, _GE06, "from memory", digital_only=True),
        TriggerBand(582.0, 718.0, 23.0, _GE06, "from memory", digital_only=True),
        TriggerBand(718.0, 862.0, 25.0, _GE06, "from memory", digital_only=True),
    ),
}
"""Published tables to choose: those of GE06 are of DVB-T, in 8 MHz, at VHF in 7 MHz."""


def trigger_table(name: str) -> tuple[TriggerBand, ...]:
    """Return a published table by its name, or raise :class:`RangeError` naming what there is."""
    if name not in TRIGGER_TABLES:
        raise RangeError("table of triggers", repr(name), ", ".join(TRIGGER_TABLES))
    return TRIGGER_TABLES[name]


def trigger_at(bands: Sequence[TriggerBand], frequency_mhz: float, *, analogue: bool) -> float | None:
    """Return the trigger value [dB(µV/m)] at the centre of a channel; None where no band has one.

    Examples
    --------
    >>> trigger_at(TRIGGER_TABLES["GE06"], 634.0, analogue=False)
    23.0
    """
    for band in bands:
        if band.from_mhz <= frequency_mhz < band.to_mhz and not (analogue and band.digital_only):
            return band.field_dbuv_m
    return None


def trigger_words(bands: Sequence[TriggerBand]) -> str:
    """Return where trigger values are from, with a mark where they were not read; empty without any."""
    told = (describe(band.reference, band.confidence) for band in bands)
    return "; ".join(dict.fromkeys(told))
