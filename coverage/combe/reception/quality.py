"""What a carrier-to-noise ratio means: video signal-to-noise of a picture, error of a multiplex."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from combe.decibels import db_from_ratio, ratio_from_db
from combe.errors import RangeError
from combe.standards.analogue import WEIGHTING_DB, AnalogueSystem, video_sn_over_cn_db


class PictureQuality(NamedTuple):
    """An analogue picture's noise: C/N at peak sync, and video S/N from blanking to white [dB]."""

    carrier_to_noise_db: float
    unweighted_sn_db: float
    weighted_sn_db: float


class SoundRatio(NamedTuple):
    """Vision carrier (peak sync) over sound carrier [dB], the ratio it should be, and how far off it is."""

    vision_to_sound_db: float
    nominal_db: float
    error_db: float


def picture_quality(system: AnalogueSystem, carrier_to_noise_db: float) -> PictureQuality:
    """Return the video S/N of an analogue picture, unweighted and weighted (7.4 dB more), from its C/N [dB].

    C/N is counted in the system's picture bandwidth; see
    :func:`combe.standards.analogue.video_sn_over_cn_db` for the derivation.
    """
    unweighted_db = carrier_to_noise_db + video_sn_over_cn_db(system)
    return PictureQuality(carrier_to_noise_db, unweighted_db, unweighted_db + WEIGHTING_DB.value)


def cn_for_video_sn_db(system: AnalogueSystem, unweighted_sn_db: float) -> float:
    """Return the C/N that an unweighted video S/N asks [dB]; inverse of :func:`picture_quality`."""
    return unweighted_sn_db - video_sn_over_cn_db(system)


def sound_ratio(vision_dbm: float, sound_dbm: float, nominal_db: float) -> SoundRatio:
    """Return vision over sound [dB] of two levels [dBm]; a positive error is sound too weak."""
    ratio_db = vision_dbm - sound_dbm
    return SoundRatio(ratio_db, nominal_db, ratio_db - nominal_db)


def sum_of_impairments_db(ratios_db: Sequence[float]) -> float:
    """Return the ratio that is left of several [dB]: 1/R = Σ 1/Ri.

    For carrier-to-noise ratios (noise powers add) and for modulation error ratios alike; infinite for none.

    Examples
    --------
    >>> round(sum_of_impairments_db([33.0, 33.0]), 2)
    29.99
    """
    if not ratios_db:
        return math.inf
    return -db_from_ratio(sum(ratio_from_db(-ratio) for ratio in ratios_db))


def required_cn_with_mer_db(required_cn_db: float, mer_db: float) -> float:
    """Return the C/N needed [dB] when the signal itself has a finite modulation error ratio [dB].

    1/needed = 1/required − 1/MER: what the transmitter's error takes of the allowance is missing for noise.

    Raises
    ------
    RangeError
        When the MER is not over the required C/N: then no C/N is enough.
    """
    if not mer_db > required_cn_db:
        raise RangeError(
            "mer_db of the signal", mer_db, f"more than the required C/N of {required_cn_db:g} dB"
        )
    return -db_from_ratio(ratio_from_db(-required_cn_db) - ratio_from_db(-mer_db))


def noise_degradation_db(required_cn_db: float, mer_db: float) -> float:
    """Return the equivalent noise degradation [dB]: by how much the needed C/N rises; errors as above.

    Examples
    --------
    >>> round(noise_degradation_db(20.0, 33.0), 3)
    0.223
    """
    return required_cn_with_mer_db(required_cn_db, mer_db) - required_cn_db
