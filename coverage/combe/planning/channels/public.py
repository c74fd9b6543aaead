"""The public at scattered places: with what margin it gets a service, whoever else is on the air.

The kernels that judge maps are used, so that a place here and a cell there are judged alike. Since they take
places on a grid, the home aerial is counted into the interfering fields beforehand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.reception.emission import Emission, Partners, pair_protection
from combe.reception.judge_cells import Fields, Rules, make_judges, margin_of_named
from combe.reception.nuisance import ORTHOGONAL_GAIN_DB, off_axis_deg
from combe.reception.protection import Protection
from combe.standards.bt419 import directivity_db
from combe.standards.dvbt2 import location_factor

FloatArray = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_FAR_UNDER_NOISE_DB: Final = 40.0
"""An interferer so far under the noise lifts it by 0.0004 dB."""

_NOBODY: Final = -300.0
"""A field [dB(µV/m)] that stands for an interferer without prediction, which is counted apart."""


@dataclass(frozen=True)
class Signal:
    """A service of a station on a channel, with its fields at the places.

    ``emission`` says all else of it; ``median_dbuv_m`` and ``at_time_dbuv_m`` (n,) are its fields for the
    time of wanted and of interfering signals, NaN without prediction.
    """

    emission: Emission
    channel: int
    median_dbuv_m: FloatArray
    at_time_dbuv_m: FloatArray


@dataclass(frozen=True)
class Public:
    """Places with people and the rules by which they are judged.

    ``x_m``, ``y_m`` (n,) in the coordinates of the emissions, ``people`` (n,). ``cross_polarization`` tells
    whether home aerials hold off the other polarization.
    """

    x_m: FloatArray
    y_m: FloatArray
    people: FloatArray
    rules: Rules
    cross_polarization: bool = True


class Margin(NamedTuple):
    """Margin [dB] at each place (n,), NaN without prediction; where an interferer has none, ``unknown``."""

    margin_db: FloatArray
    unknown: Mask


class Service(NamedTuple):
    """Who serves a service: index of the best signal (n,), −1 for none; and whether it serves."""

    server: npt.NDArray[np.int64]
    served: Mask


def related(wanted: Signal, unwanted: Signal) -> bool:
    """Tell whether one signal may disturb another: of another station, on a channel with a ratio."""
    one, other = wanted.emission, unwanted.emission
    return other.station != one.station and pair_protection(one, other) is not None


def margins(public: Public, wanted: Signal, on_air: Sequence[Signal]) -> Margin:
    """Return the margin of a signal with others on the air; those that cannot disturb it do not matter."""
    others = [each for each in on_air if related(wanted, each) and _matters(wanted, each)]
    nothing = np.zeros(public.people.shape, dtype=np.bool_)
    if not others:
        return Margin(noise_margin_db(public, wanted), nothing)
    heard = [_heard(public, wanted, each) for each in others]
    unknown = np.any([np.isnan(median) | np.isnan(at_time) for median, at_time in heard], axis=0)
    layers = [
        [wanted.median_dbuv_m, *(np.nan_to_num(each[which], nan=_NOBODY) for each in heard)]
        for which in (0, 1)
    ]
    median, at_time = (np.stack(each).astype(np.float32)[:, :, None] for each in layers)
    emissions = [_named(wanted, 0), *(_named(each, index + 1) for index, each in enumerate(others))]
    judges = make_judges(emissions, public.rules, _partners(wanted, others))
    places = np.zeros(public.people.size, dtype=np.float64)
    fields = Fields(np.zeros(1), places, median, at_time)
    margin, _ = margin_of_named(judges, fields, np.zeros((places.size, 1), dtype=np.int16))
    found = np.minimum(margin[:, 0].astype(np.float64), noise_margin_db(public, wanted))
    return Margin(found, unknown & ~np.isnan(found))


def noise_margin_db(public: Public, signal: Signal) -> FloatArray:
    """Return the margin against noise alone [dB] (n,)."""
    emission = signal.emission
    return signal.median_dbuv_m - emission.minimum_dbuv_m - _factor(public.rules) * emission.sigma_db


def best_servers(public: Public, signals: Sequence[Signal], service: str) -> Service:
    """Return who serves a service best with all signals on the air; the first of equals."""
    best = np.full(public.people.shape, -np.inf)
    server = np.full(public.people.shape, -1, dtype=np.int64)
    for index, signal in enumerate(signals):
        if signal.emission.service == service:
            found = np.nan_to_num(margins(public, signal, signals).margin_db, nan=-np.inf)
            server = np.where(found > best, index, server)
            best = np.maximum(found, best)
    return Service(server, best >= 0.0)


def at_places(public: Public, chosen: Mask) -> Public:
    """Return the public of some places only."""
    return replace(public, x_m=public.x_m[chosen], y_m=public.y_m[chosen], people=public.people[chosen])


def signal_at(signal: Signal, chosen: Mask) -> Signal:
    """Return a signal at some places only."""
    return replace(
        signal,
        median_dbuv_m=signal.median_dbuv_m[chosen],
        at_time_dbuv_m=signal.at_time_dbuv_m[chosen],
    )


def _protection(wanted: Signal, unwanted: Signal) -> Protection:
    found = pair_protection(wanted.emission, unwanted.emission)
    assert found is not None, "asked of related signals only"
    return found


def _factor(rules: Rules) -> float:
    return location_factor(rules.location_percent).value


def _matters(wanted: Signal, unwanted: Signal) -> bool:
    """Tell whether an interferer comes within 40 dB of the noise anywhere, or is not known somewhere."""
    ratio = _protection(wanted, unwanted)
    nuisance = np.maximum(
        unwanted.at_time_dbuv_m + ratio.tropospheric_db, unwanted.median_dbuv_m + ratio.continuous_db
    )
    return not bool(np.all(nuisance < wanted.emission.minimum_dbuv_m - _FAR_UNDER_NOISE_DB))


def _heard(public: Public, wanted: Signal, unwanted: Signal) -> tuple[FloatArray, FloatArray]:
    """Return the fields of an interferer as the home aerial hears them, with one fixed gain left to add."""
    one, other = wanted.emission, unwanted.emission
    if public.cross_polarization and one.polarization != other.polarization:
        gain = np.full(public.people.shape, ORTHOGONAL_GAIN_DB)
    else:
        angle = off_axis_deg(public.x_m, public.y_m, (one.x_m, one.y_m), (other.x_m, other.y_m))
        gain = directivity_db(angle)
    shift = gain - ORTHOGONAL_GAIN_DB
    return unwanted.median_dbuv_m + shift, unwanted.at_time_dbuv_m + shift


def _partners(wanted: Signal, others: Sequence[Signal]) -> Partners:
    """Return the pairs of a wanted signal with each of the others; these are not judged themselves."""
    ratios = [_protection(wanted, each) for each in others]
    count = len(others)
    return Partners(
        start=np.array([0, *[count] * (count + 1)], dtype=np.int64),
        emission=np.arange(1, count + 1, dtype=np.int64),
        tropospheric_db=np.array([each.tropospheric_db for each in ratios], dtype=np.float64),
        continuous_db=np.array([each.continuous_db for each in ratios], dtype=np.float64),
        crossed=np.ones(count, dtype=np.bool_),
    )


def _named(signal: Signal, index: int) -> Emission:
    """Return an emission under a name of its own, since a station may be tried on several channels."""
    return replace(signal.emission, station=f"{index} {signal.emission.station}"[:80])
