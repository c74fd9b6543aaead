"""A feed over the year: how far its field falls and rises, for which share of the year it stands, and when.

The median is that of the study's model. What it falls or rises by is the change of the loss of ITU-R P.2001-4
over the same path; see :class:`combe.prediction.PathOverTime`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from combe.answers.path import PathService
from combe.answers.relay_site import LITTLE_TIME_PERCENT, RelaySite
from combe.digits import duration, rest_telling
from combe.prediction import MEDIAN_PERCENT, PathOverTime, ShareOfYear
from combe.project import Feed
from combe.propagation import MONTH_MINUTES, worst_month_percent
from combe.propagation.p1812 import INLAND
from combe.reception import Verdict, judge
from combe.words import tell

SHOWN_PERCENT: Final = (50.0, 99.0, 99.9, 99.99)
"""Shares of the year that are always told, beside those asked."""

RARE_PERCENT: Final = (1.0, 0.1)
"""Shares of the year whose enhancement is always told."""

NOTED_DB: Final = 6.0
"""By as much the two models' medians may differ without a note (our own choice)."""

_MOST_DB: Final = 100.0
"""No fade and no rise counts for more, here and in the judges."""


@dataclass(frozen=True)
class Times:
    """What the path takes from a service for the share of the year that is judged, and what it adds.

    ``fade_db`` is down from the median, ``enhancement_db`` up from it, for the time ``rare_percent`` that is
    as rare as the fade. ``median_differs_db`` is how much more loss P.2001 has at its median than the study's
    model.
    """

    path: PathOverTime
    time_percent: float
    fade_db: float
    rare_percent: float
    enhancement_db: float
    median_differs_db: float
    method: str

    def rise_db(self, time_percent: float) -> float:
        """Return the enhancement for a small share of the year [dB]."""
        return min(self.path.enhancement_db(time_percent), _MOST_DB)

    def fall_db(self, time_percent: float) -> float:
        """Return the fade for a share of the year [dB]."""
        return min(self.path.fade_db(time_percent), _MOST_DB)


def rare_percent(time_percent: float) -> float:
    """Return the time that is as rare as the fade of a share of the year, and 1 % at most.

    Examples
    --------
    >>> rare_percent(99.9), rare_percent(99.0), rare_percent(50.0)
    (0.1, 1.0, 1.0)
    """
    return min(LITTLE_TIME_PERCENT, round(100.0 - time_percent, 9))


def times_of(site: RelaySite, received: PathService) -> Times:
    """Return fade and rise of a service of the parent over the path to the relay's aerial."""
    percent, path, median = site.side.feed.time_percent, site.path, received.prediction
    over = PathOverTime(
        profile=path.profile,
        tx_height_m=path.tx_height_m,
        rx_height_m=path.rx_height_m,
        frequency_mhz=received.service.frequency_mhz,
        polarization=site.parent.polarization,
        climate=site.project.climate,
        zone=INLAND if path.zone is None else path.zone,
    )
    rare = rare_percent(percent)
    return Times(
        path=over,
        time_percent=percent,
        fade_db=min(over.fade_db(percent), _MOST_DB),
        rare_percent=rare,
        enhancement_db=min(over.enhancement_db(rare), _MOST_DB),
        median_differs_db=over.at(MEDIAN_PERCENT).basic_transmission_loss_db - median.basic_loss_db,
        method=method_words(site),
    )


def method_words(site: RelaySite) -> str:
    """Say by what the time of a margin is known."""
    model = site.project.conditions.model
    return tell(
        "share of an average year, fades by ITU-R P.2001-4 over the bare ground of the path, "
        "{climate_words}; the median is that of the study's model, {model}",
        climate_words=site.project.climate_words,
        model=model,
    )


@dataclass(frozen=True)
class YearShare:
    """A service for one share of an average year.

    ``carrier_to_noise_db`` counts own outputs and the echo of a loop, as the budget does; NaN with the margin
    where it is not known, and the verdict is "not judged" then. Other stations are not in it.
    """

    time_percent: float
    asked: bool
    fade_db: float
    field_dbuv_m: float
    carrier_to_noise_db: float
    margin_db: float
    verdict: Verdict

    @property
    def minutes_without(self) -> float:
        """Minutes of an average year that are left out of this share."""
        return ShareOfYear(self.time_percent, bounded=False).minutes_without

    @property
    def without(self) -> str:
        """The same in words."""
        return duration(self.minutes_without)


@dataclass(frozen=True)
class Enhancement:
    """How far the field rises over its median for a small share of an average year."""

    time_percent: float
    enhancement_db: float


@dataclass(frozen=True)
class FeedYear:
    """A service over the shares of an average year; ``stands_for`` is None where its C/N is not known.

    It stands for a share where its C/N in the fade is that required or more, with no margin over it.
    """

    shares: tuple[YearShare, ...]
    enhancements: tuple[Enhancement, ...]
    stands_for: ShareOfYear | None
    rare_percent: float
    median_differs_db: float

    @property
    def minutes_without(self) -> float | None:
        """Minutes of an average year for which C/N is short of that required."""
        return None if self.stands_for is None else self.stands_for.minutes_without

    @property
    def spread_db(self) -> tuple[float, float]:
        """How far the field falls for 99 % of the year, and rises for 1 % [dB]."""
        fall_db = next(each.fade_db for each in self.shares if each.time_percent == 99.0)
        rise_db = next(each.enhancement_db for each in self.enhancements if each.time_percent == 1.0)
        return fall_db, rise_db

    @property
    def worst_month_percent(self) -> float | None:
        """Percentage of the worst month for which C/N is short of that required; ITU-R P.841, from memory."""
        return None if self.stands_for is None else worst_month_percent(100.0 - self.stands_for.percent)

    @property
    def words(self) -> str:
        """For which share of the year it stands, and how long it does not."""
        if self.stands_for is None:
            return "for which share of the year it stands is not known"
        return tell("stands for {standing_words}", standing_words=standing_words(self.stands_for))

    @property
    def share(self) -> str | None:
        """For which share of the year it stands, in few words."""
        return None if self.stands_for is None else share_words(self.stands_for)

    @property
    def year_without(self) -> str | None:
        """How long it does not stand in an average year, in words."""
        return self._bounded(self.minutes_without)

    @property
    def month_without(self) -> str | None:
        """How long it does not stand in the worst month, in words; ITU-R P.841, from memory."""
        percent = self.worst_month_percent
        return None if percent is None else self._bounded(percent / 100.0 * MONTH_MINUTES)

    def _bounded(self, minutes: float | None) -> str | None:
        """Return a time in words, less or more than it where the share was not sought further."""
        share = self.stands_for
        if share is None or minutes is None:
            return None
        if not share.bounded:
            return duration(minutes)
        told = duration(minutes)
        if share.percent > MEDIAN_PERCENT:
            return tell("under {minutes}", minutes=told)
        return tell("over {minutes}", minutes=told)

    @property
    def median_words(self) -> str:
        """What a great difference between the medians of the two models means; nothing without one."""
        if abs(self.median_differs_db) <= NOTED_DB:
            return ""
        more = "more" if self.median_differs_db > 0.0 else "less"
        return tell(
            "the median loss of ITU-R P.2001-4 over bare ground is {median_differs_db:.1f} dB"
            " {more} than that of the study's model: its fades are those of another path than the model"
            " sees; trust the share of the year less",
            median_differs_db=abs(self.median_differs_db),
            more=more,
        )


def standing_words(share: ShareOfYear) -> str:
    """Return a share of the year, with how long of it is left, in words.

    Examples
    --------
    >>> standing_words(ShareOfYear(99.97, bounded=False))
    '99.970 % of an average year; 2 h 38 min without'
    >>> standing_words(ShareOfYear(99.999, bounded=True))
    'more than 99.999 % of an average year; less than 5.3 min without'
    """
    left = duration(share.minutes_without)
    if not share.bounded:
        return tell(
            "{percent} % of an average year; {left} without", percent=rest_telling(share.percent), left=left
        )
    if share.percent > MEDIAN_PERCENT:
        return tell(
            "more than {percent:g} % of an average year; less than {left} without",
            percent=share.percent,
            left=left,
        )
    return "less than half of an average year"


def share_words(share: ShareOfYear) -> str:
    """Return a share of the year as tables tell it.

    Examples
    --------
    >>> share_words(ShareOfYear(99.73, bounded=False)), share_words(ShareOfYear(50.0, bounded=True))
    ('99.73 %', 'under half')
    """
    if not share.bounded:
        return tell("{percent} %", percent=rest_telling(share.percent))
    return (
        tell("over {percent:g} %", percent=share.percent) if share.percent > MEDIAN_PERCENT else "under half"
    )


def feed_year(
    times: Times,
    feed: Feed,
    *,
    field_dbuv_m: float,
    required_cn_db: float,
    faded_cn_db: Callable[[float], float],
    holds: Callable[[float], bool],
) -> FeedYear:
    """Return a service over the shares of a year.

    Parameters
    ----------
    field_dbuv_m
        Median at the aerial [dB(µV/m)].
    faded_cn_db
        C/N in a fade [dB of dB], all counted that the budget counts; NaN where it is not known.
    holds
        Whether the loop keeps its margin in a fade [dB]; true without a loop.
    """

    def row(share: float) -> YearShare:
        fade_db = times.fall_db(share)
        ratio_db = faded_cn_db(fade_db)
        verdict, _ = judge(ratio_db, required_cn_db, feed.required_margin_db)
        return YearShare(
            time_percent=share,
            asked=share in feed.time_percents,
            fade_db=fade_db,
            field_dbuv_m=field_dbuv_m - fade_db,
            carrier_to_noise_db=ratio_db,
            margin_db=ratio_db - required_cn_db,
            verdict=verdict if holds(fade_db) else "fails",
        )

    known = not math.isnan(faded_cn_db(0.0))
    rare = dict.fromkeys((*RARE_PERCENT, times.rare_percent))
    return FeedYear(
        shares=tuple(row(share) for share in sorted({*SHOWN_PERCENT, *feed.time_percents})),
        enhancements=tuple(Enhancement(each, times.rise_db(each)) for each in rare),
        stands_for=times.path.share_for(lambda fade_db: faded_cn_db(min(fade_db, _MOST_DB)) >= required_cn_db)
        if known
        else None,
        rare_percent=times.rare_percent,
        median_differs_db=times.median_differs_db,
    )
