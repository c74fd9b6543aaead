"""External noise at an aerial by ITU-R P.372: man-made by surroundings, and that of the galaxy.

Fam = c − d log f(MHz) [dB over kT0B], the median of what a short vertical aerial without losses collects. A
receiving system whose own noise factor is f_r, behind a feeder of loss l_f at T0, has then f_sys = f_r +
(f_a − 1)·η/l_f (derived), so that a field has to be higher by 10 log(f_sys/f_r). Of man-made and galactic
noise the stronger one counts (own choice: both together are 3 dB more at the most, where they are equal).

The lines of the Recommendation are given for 0.3 to 250 MHz and are carried on here. At UHF they are below
kT0B in rural and residential surroundings and nothing is added. An older edition (P.372-8) had a second line
for business areas, 44.3 − 12.3 log f from 129 MHz, which at 600 MHz gives 10 dB; whether the present one
keeps it was not seen, and it is not used.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, get_args

from combe.decibels import db_from_ratio, ratio_from_db
from combe.errors import RangeError, require_range
from combe.standards.cited import Cited, Confidence

NoiseEnvironment = Literal["city", "residential", "rural", "quiet rural", "none"]
"""Surroundings of an aerial; ``none``: the aerial collects the noise of T0 alone."""

FREQUENCY_RANGE_MHZ: Final = (0.3, 3000.0)
LINES_END_MHZ: Final = 250.0
"""Up to where the lines are published."""

P372: Final = "ITU-R P.372, median of external noise"
_READ: Final = f"{P372}, read in a public code of P.372-17"


class NoiseLine(NamedTuple):
    """c and d of Fam = c − d log f."""

    c_db: float
    d_db: float
    reference: str = _READ
    confidence: Confidence = "read"


NOISE_LINES: Final[Mapping[str, NoiseLine]] = MappingProxyType(
    {
        "city": NoiseLine(76.8, 27.7),
        "residential": NoiseLine(72.5, 27.7),
        "rural": NoiseLine(67.2, 27.7),
        "quiet rural": NoiseLine(53.6, 28.6),
        "galactic": NoiseLine(52.0, 23.0),
    }
)


def noise_line_db(name: str, frequency_mhz: float) -> float:
    """Return Fam of one line [dB over kT0B], which may be below 0 where it is weak.

    Raises
    ------
    RangeError
        For an unknown line, or a frequency outside 0.3 to 3000 MHz.

    Examples
    --------
    >>> round(noise_line_db("city", 100.0), 1)
    21.4
    """
    if name not in NOISE_LINES:
        raise RangeError("line of external noise", repr(name), ", ".join(NOISE_LINES))
    require_range("frequency_mhz of external noise", frequency_mhz, *FREQUENCY_RANGE_MHZ)
    line = NOISE_LINES[name]
    return line.c_db - line.d_db * math.log10(frequency_mhz)


def external_noise_db(environment: NoiseEnvironment, frequency_mhz: float) -> float:
    """Return the noise that an aerial collects in some surroundings [dB over kT0B], 0 or more.

    Raises
    ------
    RangeError
        For unknown surroundings, or a frequency outside 0.3 to 3000 MHz.

    Examples
    --------
    >>> round(external_noise_db("rural", 200.0), 2), external_noise_db("rural", 600.0)
    (3.46, 0.0)
    """
    if environment not in get_args(NoiseEnvironment):
        raise RangeError("noise_environment", repr(environment), ", ".join(get_args(NoiseEnvironment)))
    if environment == "none":
        return 0.0
    # Receiving systems are reckoned with T0 at the aerial: what is weaker than that is in them already.
    return max(0.0, *(noise_line_db(name, frequency_mhz) for name in (environment, "galactic")))


def noise_rise_db(
    environment: NoiseEnvironment,
    frequency_mhz: float,
    *,
    noise_figure_db: float,
    feeder_loss_db: float = 0.0,
    efficiency: float = 1.0,
) -> float:
    """Return by how much external noise lifts what a receiver needs [dB]: 10 log(f_sys/f_r).

    Parameters
    ----------
    environment, frequency_mhz
        As :func:`external_noise_db`.
    noise_figure_db
        Of the receiver [dB].
    feeder_loss_db
        Between aerial and receiver [dB].
    efficiency
        η, which part of the noise the aerial collects, 0 to 1.

    Examples
    --------
    >>> round(noise_rise_db("city", 200.0, noise_figure_db=6.0, feeder_loss_db=2.0), 2)
    6.07
    """
    require_range("efficiency of an aerial", efficiency, 0.0, 1.0)
    own = ratio_from_db(noise_figure_db)
    excess = ratio_from_db(external_noise_db(environment, frequency_mhz)) - 1.0
    return db_from_ratio((own + excess * efficiency / ratio_from_db(feeder_loss_db)) / own)


def cited_rise(
    environment: NoiseEnvironment, frequency_mhz: float, *, noise_figure_db: float, feeder_loss_db: float
) -> Cited:
    """Return the rise at an aerial on its surroundings with where it is from; errors as its parts'."""
    rise_db = noise_rise_db(
        environment, frequency_mhz, noise_figure_db=noise_figure_db, feeder_loss_db=feeder_loss_db
    )
    beyond = ", carried on beyond 250 MHz" if frequency_mhz > LINES_END_MHZ else ""
    words = "no external noise" if environment == "none" else f"{P372}, {environment}{beyond}"
    return Cited(rise_db, words, "own choice" if environment == "none" else "computed")
