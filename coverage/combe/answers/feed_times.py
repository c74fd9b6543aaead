"""How a feed changes with time: the fade to the stated time, and the rise for 1 % of it."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from combe.answers.arrivals import LITTLE_TIME_PERCENT
from combe.answers.path import PathService
from combe.answers.relay_site import RelaySite
from combe.prediction.path import PathPrediction, predict_path
from combe.prediction.time import BeyondMedian, beyond_median, mirrored_percent
from combe.propagation.p1812.zones import INLAND


class Times(NamedTuple):
    """The loss for the stated time, and how far the level for 1 % of time is over the median [dB].

    A model without statistics of time tells nothing of the latter: None.
    """

    later: BeyondMedian
    enhancement_db: float | None


def times_of(site: RelaySite, received: PathService) -> Times:
    """Return fade and rise of a service; a model without statistics of time has its median for both times."""
    percent = site.side.feed.time_percent
    median = received.prediction
    later = beyond_median(median, _at(site, received, mirrored_percent(percent)), percent)
    if median.p1812_steps is None:
        return Times(later, None)
    little = _at(site, received, LITTLE_TIME_PERCENT)
    return Times(later, max(0.0, median.basic_loss_db - little.basic_loss_db))


def _at(site: RelaySite, received: PathService, time_percent: float) -> PathPrediction:
    """Predict the path for a percentage of time; a model without statistics of time gives its median."""
    conditions, path = received.prediction.conditions, site.path
    if conditions.model != "p1812":
        return received.prediction
    return predict_path(
        path.profile,
        tx_height_m=path.tx_height_m,
        rx_height_m=path.rx_height_m,
        frequency_mhz=received.service.frequency_mhz,
        polarization=path.from_station.polarization,
        conditions=replace(conditions, time_percent=time_percent),
        clutter_height_m=path.clutter_height_m,
        zone=INLAND if path.zone is None else path.zone,
    )
