"""Errors of a survey kriged: a station's common error, and what hangs together from place to place.

Measured less predicted at places x is b + s(x) + e: an error b common to the station, drawn from the prior of
the study; a part s that fades with distance as σs² exp(−d/L), the autocorrelation of shadowing (Gudmundson
1991, from memory); and a part e of each place alone. σs, L and the deviation of e are fitted to the survey by
the greatest likelihood, L within bounds. What is expected of b + s(x), given the errors measured, is the
correction: near places measured it follows them, and far from all of them only what is known of b is left.
How unsure each of the two still is makes the range of the people served.

A correction has to earn its place: each measured place is predicted from all others (leave one out). Where
that leaves no less error than no correction does, by a twentieth, there is none; where the mean alone does as
well as the kriged errors, the mean alone is taken.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Final, NamedTuple

import numpy as np

from combe.decibels import FloatArray
from combe.errors import MissingLibraryError, RangeError
from combe.planning.survey import GREATEST_OFFSET_DB, SurveyError, errors_by_place, require_places
from combe.words import tell

FEWEST_KRIGED: Final = 10
"""Places below which nothing can be said of how errors hang together (our own choice)."""

LENGTH_BOUNDS_KM: Final = (0.05, 10.0)
"""Between which L is sought: that of shadowing is tens to hundreds of metres, of ground some kilometres."""

_WORTH: Final = 0.95
"""By chance alone a fit leaves a little less error (our own choice)."""

_START_KM: Final = 0.5
_START_DB: Final = 5.0
_BOUNDS_DB: Final = (0.1, 20.0)
_CHUNK: Final = 20_000

_ADVICE: Final = "install Combe with its extra: combe[kriging]"


@dataclass(frozen=True)
class KrigedErrors:
    """What the survey tells of a station's errors.

    ``prior_db`` is how unsure the common error was; ``smooth_db``, ``length_km`` and ``alone_db`` are σs, L
    and the deviation of e. ``left_out_db`` is the error (r.m.s.) of each place predicted from the others, by
    the mean alone in ``mean_left_out_db``, and ``uncorrected_db`` that without any correction. ``kind`` says
    what is taken of it: "kriged", "mean" or "none".
    """

    station: str
    source: str
    x_km: FloatArray = field(repr=False, compare=False)
    y_km: FloatArray = field(repr=False, compare=False)
    error_db: FloatArray = field(repr=False, compare=False)
    prior_db: float
    smooth_db: float
    length_km: float
    alone_db: float
    left_out_db: float
    mean_left_out_db: float
    uncorrected_db: float
    kind: str

    @property
    def places(self) -> int:
        """At how many places the station was measured."""
        return int(self.error_db.size)

    @property
    def corrects(self) -> bool:
        """Whether the survey corrects the station at all."""
        return self.kind != "none"

    @property
    def mean_error_db(self) -> float:
        """What is expected of the common error [dB]."""
        weights = _solve(self, np.full(self.places, self.prior_db**2))
        return float(weights @ self.error_db)

    @property
    def words(self) -> str:
        """What every map made with it says."""
        found = f"{self.places} survey places of {self.source}"
        left = tell(
            "{left_out_db:.1f} dB left where each place is predicted from the others",
            left_out_db=self.left_out_db,
        )
        before = tell("{uncorrected_db:.1f} dB uncorrected", uncorrected_db=self.uncorrected_db)
        if not self.corrects:
            return tell(
                "{station} not corrected, since it does not help ({found}: {left}, {before})",
                station=self.station,
                found=found,
                left=left,
                before=before,
            )
        part = tell("{mean_error_db:+.1f} dB", mean_error_db=self.mean_error_db)
        if self.kind == "kriged":
            part += tell(" and errors kriged over {length_km:.2g} km", length_km=self.length_km)
        return tell(
            "{station} {part} ({found}; {left}, {before})",
            station=self.station,
            part=part,
            found=found,
            left=left,
            before=before,
        )

    def correction_db(self, x_m: Any, y_m: Any) -> FloatArray:
        """Return the correction [dB] at places of the grid [m]: what is expected of b + s."""
        weights = _solve(self, self.error_db)
        return _by_parts(x_m, y_m, lambda x_km, y_km: _covariance(self, x_km, y_km) @ weights)

    def deviation_db(self, x_m: Any, y_m: Any) -> FloatArray:
        """Return how unsure b + s still is at places of the grid [m], as a standard deviation [dB]."""
        return _by_parts(x_m, y_m, lambda x_km, y_km: _deviation(self, x_km, y_km))

    def in_common_db(self, x_m: FloatArray, y_m: FloatArray) -> float:
        """Return what the errors of some places (n,) that are left have in common, as a deviation [dB].

        The mean covariance of b + s between any two of them: what of their errors does not average out.
        """
        x_km, y_km = x_m / 1000.0, y_m / 1000.0
        to_measured = _covariance(self, x_km, y_km)
        between = _between(self, x_km, y_km, x_km, y_km) - to_measured @ _solve(self, to_measured.T)
        return float(np.sqrt(max(float(between.mean()), 0.0)))

    @cached_property
    def factor(self) -> Any:
        """The covariance of the errors measured, factored."""
        # Imported where they are needed: few studies have a survey, and these take a tenth of a second.
        from scipy.linalg import cho_factor

        whole = _covariance(self, self.x_km, self.y_km)
        whole[np.diag_indices(self.places)] += self.alone_db**2
        return cho_factor(whole, lower=True)


def krige_errors(
    station: str,
    errors: Sequence[SurveyError],
    places_m: dict[tuple[float, float], tuple[float, float]],
    prior_db: float,
    source: str,
) -> KrigedErrors:
    """Return what a survey tells of the errors of a station.

    Parameters
    ----------
    errors
        Of any stations.
    places_m
        Where on the grid each place of the survey lies [m].
    prior_db
        Standard deviation of the error common to the station, before anything is measured [dB].
    source
        What the points were read from, for words.

    Raises
    ------
    RangeError
        Fewer than ten places, or a mean error over 10 dB.
    MissingLibraryError
        scikit-learn is not installed; it comes with the extra ``kriging``.
    """
    found = errors_by_place(errors, station)
    values = np.array(list(found.values()))
    require_places(station, values.size, source, FEWEST_KRIGED)
    if abs(float(values.mean())) > GREATEST_OFFSET_DB:
        raise RangeError(
            f"mean error of {station}", f"{values.mean():+.1f} dB", f"up to {GREATEST_OFFSET_DB:g} dB",
            "so large an error has another cause; check ERP, aerial and survey",
        )  # fmt: skip
    x, y = (np.array([places_m[place] for place in found]) / 1000.0).T
    fitted = [_fitted(x, y, values, prior_db, smooth=smooth) for smooth in (True, False)]
    kriged, mean = (
        KrigedErrors(station, source, x, y, values, prior_db, *each, 0.0, 0.0, 0.0, "") for each in fitted
    )
    return _chosen(kriged, mean)


def _chosen(kriged: KrigedErrors, mean: KrigedErrors) -> KrigedErrors:
    """Return whichever of the two leaves less error where each place is left out, or no correction."""
    left, mean_left = _left_out_db(kriged), _left_out_db(mean)
    uncorrected = float(np.sqrt(np.mean(kriged.error_db**2)))
    best, kind = (kriged, "kriged") if left <= _WORTH * mean_left else (mean, "mean")
    left = left if best is kriged else mean_left
    if left > _WORTH * uncorrected:
        kind = "none"
    return replace(
        best,
        left_out_db=left,
        mean_left_out_db=mean_left,
        uncorrected_db=uncorrected,
        kind=kind,
    )


class _Fit(NamedTuple):
    smooth_db: float
    length_km: float
    alone_db: float


def _fitted(
    x_km: FloatArray, y_km: FloatArray, error_db: FloatArray, prior_db: float, *, smooth: bool
) -> _Fit:
    """Return σs, L and the deviation of e by the greatest likelihood; without the smooth part σs is 0."""
    try:
        from sklearn.gaussian_process import GaussianProcessRegressor, kernels
    except ImportError:
        raise MissingLibraryError("scikit-learn", 'apply_correction = "kriged"', _ADVICE) from None
    bounds = tuple(each**2 for each in _BOUNDS_DB)
    common = kernels.ConstantKernel(max(prior_db, 1e-3) ** 2, "fixed")
    alone = kernels.WhiteKernel(_START_DB**2, bounds)
    near = kernels.ConstantKernel(_START_DB**2, bounds) * kernels.Matern(_START_KM, LENGTH_BOUNDS_KM, nu=0.5)
    kernel = common + near + alone if smooth else common + alone
    places = np.stack([x_km, y_km], axis=1)
    with _quiet():
        found = GaussianProcessRegressor(kernel, alpha=0.0).fit(places, error_db).kernel_
    if not smooth:
        return _Fit(0.0, _START_KM, float(np.sqrt(found.k2.noise_level)))
    return _Fit(
        float(np.sqrt(found.k1.k2.k1.constant_value)),
        float(found.k1.k2.k2.length_scale),
        float(np.sqrt(found.k2.noise_level)),
    )


@contextmanager
def _quiet() -> Iterator[None]:
    """Leave out warnings of a fit at a bound: a part is not there then, or L beyond what is sought."""
    from sklearn.exceptions import ConvergenceWarning

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)
        yield


def _covariance(found: KrigedErrors, x_km: FloatArray, y_km: FloatArray) -> FloatArray:
    """Return the covariance of b + s between some places (n,) and those measured (n, m)."""
    return _between(found, x_km, y_km, found.x_km, found.y_km)


def _between(
    found: KrigedErrors, x_km: FloatArray, y_km: FloatArray, other_x_km: FloatArray, other_y_km: FloatArray
) -> FloatArray:
    """Return the covariance of b + s between places (n,) and others (m,), nothing measured: (n, m)."""
    away = np.hypot(x_km[:, None] - other_x_km, y_km[:, None] - other_y_km)
    between: FloatArray = found.prior_db**2 + found.smooth_db**2 * np.exp(-away / found.length_km)
    return between


def _solve(found: KrigedErrors, right: FloatArray) -> FloatArray:
    """Return the inverse of the covariance of the errors measured, times columns."""
    from scipy.linalg import cho_solve

    solved: FloatArray = cho_solve(found.factor, right)
    return solved


def _deviation(found: KrigedErrors, x_km: FloatArray, y_km: FloatArray) -> FloatArray:
    to_measured = _covariance(found, x_km, y_km)
    told = np.sum(to_measured * _solve(found, to_measured.T).T, axis=1)
    left: FloatArray = np.sqrt(np.maximum(found.prior_db**2 + found.smooth_db**2 - told, 0.0))
    return left


def _by_parts(x_m: Any, y_m: Any, work_out: Callable[[FloatArray, FloatArray], FloatArray]) -> FloatArray:
    """Work something out for places of any one shape, some of them at a time for the sake of memory."""
    x, y = np.broadcast_arrays(np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64))
    found = np.empty(x.size)
    for first in range(0, x.size, _CHUNK):
        part = slice(first, first + _CHUNK)
        found[part] = work_out(x.ravel()[part] / 1000.0, y.ravel()[part] / 1000.0)
    return found.reshape(x.shape)


def _left_out_db(found: KrigedErrors) -> float:
    """Return the r.m.s. error [dB] of places each predicted from all others, by the kernel as fitted."""
    inverse = _solve(found, np.eye(found.places))
    residual = (inverse @ found.error_db) / np.diag(inverse)
    return float(np.sqrt(np.mean(residual**2)))
