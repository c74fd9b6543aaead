"""How much of an analogue signal a DVB multiplex stands on its channel, by its mode.

A picture's power lies in a few carriers. A strong code mends the subcarriers that they spoil, and the
multiplex then stands a picture stronger than itself; a weak code cannot. So the ratio goes by code rate and
modulation. Published ratios are those of DVB-T. A mode of DVB-T2 is taken to stand as much more or less than
the mode of DVB-T with its code rate, or the next weaker code, as it needs more or less C/N (own choice).
"""

from __future__ import annotations

from typing import Final, NamedTuple

from combe.standards import dvbt, dvbt2
from combe.standards.cited import Cited, Confidence


class ByAnalogue(NamedTuple):
    """Ratios [dB] of a multiplex disturbed by a picture, on its channel and on the next ones."""

    co_channel_db: float
    lower_adjacent_db: float
    upper_adjacent_db: float
    reference: str
    confidence: Confidence


_RATES: Final = ("1/2", "2/3", "3/4", "5/6", "7/8")
_CO_CHANNEL_DB: Final = {
    "QPSK": (-12.0, -8.0, -5.0, 2.0, 6.0),
    "16-QAM": (-8.0, -3.0, 0.0, 9.0, 16.0),
    "64-QAM": (-3.0, 4.0, 9.0, 15.0, 20.0),
}
"""DVB-T by PAL or SECAM, in the order of code rates. Of 64-QAM 2/3 both 3 and 4 dB are told: the greater."""

_ADJACENT_DB: Final = {"QPSK": (-44.0, -47.0), "16-QAM": (-43.0, -43.0), "64-QAM": (-35.0, -35.0)}
"""On the lower and the upper channel, code rate 2/3. Of 64-QAM also -38 dB is told above: the greater."""

_BT1368: Final = "ITU-R BT.1368-13 Annex 2"
_SECOND: Final = f"{_BT1368} of the DVB-T code rate, moved by the C/N of the DVB-T2 mode"


def dvb_by_analogue(second: bool, modulation: str, code_rate: str) -> ByAnalogue | None:
    """Return what a mode of DVB-T, or of DVB-T2 (``second``), stands; None for a mode without any ratio.

    Examples
    --------
    >>> dvb_by_analogue(False, "16-QAM", "3/4").co_channel_db
    0.0
    >>> round(dvb_by_analogue(True, "256-QAM", "2/3").co_channel_db, 1)
    4.2
    """
    if second:
        return _of_second(modulation, code_rate)
    if modulation not in _CO_CHANNEL_DB or code_rate not in _RATES:
        return None
    return _ratios(modulation, _co_channel_db(modulation, code_rate), _BT1368, "from memory")


def _co_channel_db(modulation: str, code_rate: str) -> float:
    return _CO_CHANNEL_DB[modulation][_RATES.index(code_rate)]


def _of_second(modulation: str, code_rate: str) -> ByAnalogue | None:
    own_db = _gaussian_db(dvbt2.REQUIRED_CN, modulation, code_rate)
    # No code of DVB-T is 3/5 or 4/5; the next weaker one stands less, which is the safe side.
    rate = {"3/5": "2/3", "4/5": "5/6"}.get(code_rate, code_rate)
    first_db = _gaussian_db(dvbt.REQUIRED_CN, "64-QAM", rate)
    if own_db is None or first_db is None:
        return None
    # The C/N of DVB-T2 holds for real receivers, that of DVB-T does so with their margin.
    moved_db = own_db - (first_db + dvbt.IMPLEMENTATION_MARGIN_DB.value)
    nearest = modulation if modulation in _CO_CHANNEL_DB else "64-QAM"
    return _ratios(nearest, round(_co_channel_db("64-QAM", rate) + moved_db, 6), _SECOND, "own choice")


def _gaussian_db(rows: tuple[dvbt2.RequiredCn, ...], modulation: str, code_rate: str) -> float | None:
    found = (row.gaussian_db for row in rows if (row.modulation, row.code_rate) == (modulation, code_rate))
    return next(found, None)


def _ratios(modulation: str, co_channel_db: float, reference: str, confidence: Confidence) -> ByAnalogue:
    """Return ratios of which those of the next channels rise with a code weaker than 2/3 (own choice)."""
    over_db = max(0.0, co_channel_db - _co_channel_db(modulation, "2/3"))
    lower_db, upper_db = _ADJACENT_DB[modulation]
    return ByAnalogue(
        co_channel_db, round(lower_db + over_db, 6), round(upper_db + over_db, 6), reference, confidence
    )


NARROWER_DB: Final = Cited(
    1.0, "ITU-R BT.1368-13 Annex 2: 35 and 41 dB by 7 MHz, 34 and 40 by 8", "from memory"
)
"""How much more a picture asks of a multiplex of 7 MHz on its channel than of one of 8 MHz: it is denser."""
