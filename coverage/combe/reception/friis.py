"""Noise of stages one behind another: Friis' formula."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from typing import Final, NamedTuple

from combe.decibels import db_from_ratio, ratio_from_db


class NoisyGain(NamedTuple):
    """Gain and noise figure of a stage, or of several together [dB]."""

    gain_db: float
    noise_figure_db: float


NOTHING: Final = NoisyGain(0.0, 0.0)
"""A plain connection: no gain, no noise."""


def passive(loss_db: float) -> NoisyGain:
    """Return a passive stage at T0 = 290 K: its noise figure is its loss [dB]."""
    return NoisyGain(-loss_db, loss_db)


def behind(first: NoisyGain, second: NoisyGain) -> NoisyGain:
    """Return two stages as one: F = F1 + (F2 − 1)/G1.

    Examples
    --------
    >>> round(behind(NoisyGain(20.0, 2.0), passive(7.0)).noise_figure_db, 3)
    2.109
    """
    factor = (
        ratio_from_db(first.noise_figure_db)
        + (ratio_from_db(second.noise_figure_db) - 1.0) / ratio_from_db(first.gain_db)
    )  # fmt: skip
    return NoisyGain(first.gain_db + second.gain_db, db_from_ratio(factor))


def cascade_noise(stages: Iterable[NoisyGain]) -> NoisyGain:
    """Return a chain of stages as one, in the order of the signal's way; nothing for an empty chain.

    Examples
    --------
    >>> round(cascade_noise([passive(3.0), passive(4.0), NoisyGain(0.0, 6.0)]).noise_figure_db, 2)
    13.0
    """
    return reduce(behind, stages, NOTHING)
