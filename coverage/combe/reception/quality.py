"""What a carrier-to-noise ratio means to picture and multiplex, and how it wears away from relay to relay."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from combe.decibels import db_from_ratio, ratio_from_db
from combe.digits import telling
from combe.errors import RangeError, require_range
from combe.prediction import ShareOfYear
from combe.standards import WEIGHTING_DB, AnalogueSystem, video_sn_over_cn_db
from combe.stations import require_distinct, require_name
from combe.words import tell


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
    # The whole allowance is 1/required; the signal's own error has used 1/MER of it.
    return -db_from_ratio(ratio_from_db(-required_cn_db) - ratio_from_db(-mer_db))


def noise_degradation_db(required_cn_db: float, mer_db: float) -> float:
    """Return the equivalent noise degradation [dB]: by how much the needed C/N rises; errors as above.

    Examples
    --------
    >>> round(noise_degradation_db(20.0, 33.0), 3)
    0.223
    """
    return required_cn_with_mer_db(required_cn_db, mer_db) - required_cn_db


_RATIOS_DB: Final = (-30.0, 120.0)
_ROUNDING_DB: Final = 1e-9


@dataclass(frozen=True)
class Hop:
    """One transmitter of the chain: the parent first, each relay after it.

    Parameters
    ----------
    name : str
    carrier_to_noise_db : float or None
        Of its off-air feed [dB]; None for the parent, which has none.
    equipment_db : float or None
        What its own equipment leaves at best [dB]: modulation error ratio, or for analogue its
        signal-to-noise as C/N; None counts it as perfect.
    carrier_to_interference_db : float or None
        Of its feed, when interference counts like noise [dB].
    regenerates : bool
        True when it demodulates to the bits and modulates anew: the quality before it is forgotten, provided
        that its feed suffices.
    stands_for : ShareOfYear or None
        Share of an average year for which its own feed stands; None for the parent, and where not known.

    Raises
    ------
    RangeError
        Naming the hop and the field.
    """

    name: str
    carrier_to_noise_db: float | None
    equipment_db: float | None = None
    carrier_to_interference_db: float | None = None
    regenerates: bool = False
    stands_for: ShareOfYear | None = None

    def __post_init__(self) -> None:
        require_name("name of a hop", self.name)
        for field in ("carrier_to_noise_db", "equipment_db", "carrier_to_interference_db"):
            value = getattr(self, field)
            if value is not None:
                require_range(f"{field} of hop {self.name!r}", value, *_RATIOS_DB)


class HopQuality(NamedTuple):
    """A hop in its chain.

    ``own_db`` is what it alone would leave, ``received_db`` the ratio at its receiver, everything before it
    counted (inf for the parent), ``sent_db`` the ratio of what it sends; ``cost_db`` is how much better the
    end of the chain were if this hop added nothing. ``stands_for`` is as of :class:`Hop`.
    """

    name: str
    own_db: float
    received_db: float
    sent_db: float
    cost_db: float
    stands_for: ShareOfYear | None = None


@dataclass(frozen=True)
class RelayChain:
    """A chain judged: its hops, the ratio at the end, and the hop that costs most.

    ``end_db`` is what the last hop sends. ``broken_at`` names the first regenerating hop whose feed does not
    suffice, or is None. ``degradation_db`` is by how much the viewers' required C/N rises for the signal's
    finite quality; inf when it does not reach the required one. ``stands_for`` is the share of an average
    year for which the feeds of all hops stand; None where that of one is not known.
    """

    hops: tuple[HopQuality, ...]
    end_db: float
    required_db: float
    margin_db: float
    degradation_db: float
    costliest: str
    broken_at: str | None
    verdict: Literal["passes", "fails"]
    reason: str
    stands_for: ShareOfYear | None = None


def judge_chain(
    hops: Sequence[Hop], *, required_db: float, regeneration_required_db: float | None = None
) -> RelayChain:
    """Judge a chain of relays.

    Parameters
    ----------
    hops : sequence of Hop, (n,)
        In the order of the signal's way; at least one, names each once.
    required_db : float
        Least ratio accepted of what the last hop sends [dB].
    regeneration_required_db : float or None
        Least ratio at the receiver of a regenerating hop [dB]; None takes ``required_db``.

    Returns
    -------
    RelayChain

    Raises
    ------
    RangeError
        For no hop or a name that comes twice.

    Notes
    -----
    Noise powers add, so 1/R = Σ 1/Ri over noise, interference and equipment of all hops (1/MER likewise).
    """
    if not hops:
        raise RangeError("number of hops of the relay chain", 0, "at least one")
    require_distinct("name of a hop", (hop.name for hop in hops))
    require_range("required_db of the relay chain", required_db, *_RATIOS_DB)
    end_db = _sent_db(hops)
    rows = tuple(_hop_quality(hops, index, end_db) for index in range(len(hops)))
    needed_db = required_db if regeneration_required_db is None else regeneration_required_db
    broken_at = _broken_at(hops, rows, needed_db)
    margin_db = end_db - required_db
    most = max(rows, key=lambda row: row.cost_db)
    costliest = most.name
    passes = broken_at is None and margin_db >= -_ROUNDING_DB
    return RelayChain(
        hops=rows,
        end_db=end_db,
        required_db=required_db,
        margin_db=margin_db,
        degradation_db=noise_degradation_db(required_db, end_db) if end_db > required_db else math.inf,
        costliest=costliest,
        broken_at=broken_at,
        verdict="passes" if passes else "fails",
        reason=_reason(broken_at, margin_db, most),
        stands_for=stands_together([hop.stands_for for hop in hops if hop.carrier_to_noise_db is not None]),
    )


def stands_together(shares: Sequence[ShareOfYear | None]) -> ShareOfYear | None:
    """Return for which share of the year feeds one behind another all stand; None where one is not known.

    The shares multiply: fades of different hops are taken as independent of one another. Fades that hops have
    in common, as in one weather over both, are not counted; with these the share would be greater.

    Examples
    --------
    >>> one, other = ShareOfYear(99.9, bounded=False), ShareOfYear(99.0, bounded=False)
    >>> round(stands_together([one, other]).percent, 3)
    98.901
    """
    known = [share for share in shares if share is not None]
    if len(known) < len(shares):
        return None
    fraction = math.prod(share.percent / 100.0 for share in known)
    return ShareOfYear(100.0 * fraction, bounded=any(share.bounded for share in known))


def _feed_ratios_db(hop: Hop) -> list[float]:
    both = (hop.carrier_to_noise_db, hop.carrier_to_interference_db)
    return [ratio for ratio in both if ratio is not None]


def _equipment_ratios_db(hop: Hop) -> list[float]:
    return [] if hop.equipment_db is None else [hop.equipment_db]


def _own_db(hop: Hop) -> float:
    return sum_of_impairments_db([*_feed_ratios_db(hop), *_equipment_ratios_db(hop)])


def _received_db(hops: Sequence[Hop]) -> float:
    """Give the ratio at the receiver of the last of ``hops``."""
    before = [_sent_db(hops[:-1])] if len(hops) > 1 else []
    return sum_of_impairments_db([*before, *_feed_ratios_db(hops[-1])])


def _sent_db(hops: Sequence[Hop]) -> float:
    """Give the ratio of what the last of ``hops`` sends."""
    last = hops[-1]
    # Whoever demodulates to bits sends a new signal, with nothing of the old noise in it.
    before = [] if last.regenerates else [_received_db(hops)]
    return sum_of_impairments_db([*before, *_equipment_ratios_db(last)])


def _hop_quality(hops: Sequence[Hop], index: int, end_db: float) -> HopQuality:
    hop = hops[index]
    # The same chain with this hop made perfect: what it costs is the difference at the end.
    spared = [*hops[:index], Hop(hop.name, None, regenerates=hop.regenerates), *hops[index + 1 :]]
    without_db = _sent_db(spared)
    cost_db = 0.0 if math.isinf(end_db) else without_db - end_db
    so_far = hops[: index + 1]
    found = (_own_db(hop), _received_db(so_far), _sent_db(so_far), cost_db)
    return HopQuality(hop.name, *found, hop.stands_for)


def _broken_at(hops: Sequence[Hop], rows: Sequence[HopQuality], needed_db: float) -> str | None:
    for hop, row in zip(hops, rows, strict=True):
        if hop.regenerates and row.received_db < needed_db - _ROUNDING_DB:
            return hop.name
    return None


def _reason(broken_at: str | None, margin_db: float, most: HopQuality) -> str:
    if broken_at is not None:
        return tell("{broken_at} cannot regenerate: its feed is short of what it needs", broken_at=broken_at)
    blamed = (
        tell("{name} costs most", name=most.name)
        if math.isfinite(most.cost_db)
        else tell("only {name} costs anything", name=most.name)
    )
    side = "over" if margin_db >= -_ROUNDING_DB else "short of"
    return tell(
        "the chain ends {margin_db} dB {side} what is asked; {blamed}",
        margin_db=telling(abs(margin_db), 0.0, 1),
        side=side,
        blamed=blamed,
    )
