"""The simplified multiplication method: the chances of standing each interferer alone are multiplied.

Every interferer is taken as independent of the others. The usable field is the median for which the product
is the wanted share of places: with n equal interferers, and half of the places, σ√2·z(0.5^(1/n)) over one.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final, NamedTuple

import numpy as np

from combe.compiling import kernel, kernel_part
from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.reception.service import Field
from combe.reception.summation import checked_sigmas
from combe.reception.summing import LARGEST_SIGMA_DB

_MOST_STEPS: Final = 50
_CLOSE: Final = 1e-7
_ROOT_TWO_PI: Final = math.sqrt(2.0 * math.pi)


class Wanted(NamedTuple):
    """A wanted level: deviation, and its covariance with the scatter that all signals share."""

    sigma: float
    load: float


@kernel_part
def normal_share(spare: float, sigma: float) -> float:
    """Return Φ(spare/σ); for σ = 0 a step that is 1 from 0 upwards."""
    if sigma > 0.0:
        return 0.5 * math.erfc(-spare / (sigma * math.sqrt(2.0)))
    return 1.0 if spare >= 0.0 else 0.0


@kernel_part
def ratio_sigma(wanted: Wanted, variance: float, load: float) -> float:
    """Return the deviation of the ratio of a wanted level to another one."""
    # σ² of a difference: what both share with all other signals falls out of it, twice the product of the
    # loads.
    return math.sqrt(max(wanted.sigma * wanted.sigma + variance - 2.0 * wanted.load * load, 0.0))


@kernel_part
def product_share(
    level: float, wanted: Wanted, means: FloatArray, sigmas: FloatArray, loads: FloatArray, count: int
) -> float:
    """Return the product of the shares of places in which a wanted median stands each signal."""
    share = 1.0
    for i in range(count):
        share *= normal_share(level - means[i], ratio_sigma(wanted, sigmas[i] * sigmas[i], loads[i]))
    return share


@kernel_part
def product_level(
    factor: float, wanted: Wanted, means: FloatArray, sigmas: FloatArray, loads: FloatArray, count: int
) -> float:
    """Return the wanted median for which the product is Φ(``factor``).

    Starts where the worst signal alone would allow that share. The logarithm of the product is concave and
    rising, so Newton's steps from there come up to the answer and never pass it.
    """
    if count == 0:
        return -math.inf
    level = -math.inf
    for i in range(count):
        # Every factor of the product is at most 1, so no level below this one can do.
        level = max(level, means[i] + factor * ratio_sigma(wanted, sigmas[i] * sigmas[i], loads[i]))
    goal = math.log(normal_share(factor, 1.0))
    for _ in range(_MOST_STEPS):
        excess, slope = -goal, 0.0
        for i in range(count):
            sigma = ratio_sigma(wanted, sigmas[i] * sigmas[i], loads[i])
            # A signal that does not scatter is stood from here on, in all places: it adds nothing to the
            # logarithm.
            if sigma > 0.0:
                z = (level - means[i]) / sigma
                share = normal_share(z, 1.0)
                excess += math.log(share)
                slope += math.exp(-0.5 * z * z) / (sigma * share * _ROOT_TWO_PI)
        # Newton's next step would be excess/slope: under a ten-millionth there is nothing left to gain.
        if slope == 0.0 or excess > -_CLOSE * slope:
            break
        # The logarithm of a normal share is concave: from below no step of Newton's goes past the root, and
        # every one comes nearer.
        level -= excess / slope
    return level


def multiplied_field_dbuv_m(
    fields_dbuv_m: Field,
    sigma_db: Field | float,
    *,
    wanted_sigma_db: float,
    share: float = 0.5,
    correlation: float = 0.0,
) -> FloatArray:
    """Return the usable field of the simplified multiplication method [dB(µV/m)].

    Parameters
    ----------
    fields_dbuv_m : array (n, ...)
        Nuisance fields of each place [dB(µV/m)]; −inf for one that does not arrive.
    sigma_db : float or array (n,)
        Deviation of each over places [dB], 0 to 18.
    wanted_sigma_db : float
        Of the wanted field [dB].
    share : float
        Share of places to be served, 0.01 to 0.999.
    correlation : float
        ρ of the wanted and each interfering field, 0 to 1.

    Returns
    -------
    array (...)
        NaN where any field is, −inf where nothing arrives.

    Raises
    ------
    RangeError
        For values out of those ranges.

    Examples
    --------
    >>> round(float(multiplied_field_dbuv_m(np.zeros(2), 8.3, wanted_sigma_db=8.3)), 2)
    6.4
    """
    require_range("wanted_sigma_db", wanted_sigma_db, 0.0, LARGEST_SIGMA_DB)
    require_range("share of places", share, 0.01, 0.999)
    require_range("correlation", correlation, 0.0, 1.0)
    fields = np.asarray(fields_dbuv_m, dtype=np.float64)
    if fields.ndim == 0 or fields.shape[0] == 0:
        raise RangeError("number of fields to sum", 0, "at least one")
    sigmas = checked_sigmas(sigma_db, fields.shape[0])
    flat = np.ascontiguousarray(fields.reshape(fields.shape[0], -1))
    usable = np.empty(flat.shape[1])
    root = math.sqrt(correlation)
    wanted = Wanted(float(wanted_sigma_db), root * wanted_sigma_db)
    _usable_of_places(flat, sigmas, root * sigmas, wanted, NormalDist().inv_cdf(share), usable)
    return usable.reshape(fields.shape[1:])


@kernel
def _usable_of_places(
    fields: FloatArray,
    sigmas: FloatArray,
    loads: FloatArray,
    wanted: Wanted,
    factor: float,
    usable: FloatArray,
) -> None:
    """Solve every place of fields (n, places)."""
    signals = fields.shape[0]
    levels, spreads, shared = np.empty(signals), np.empty(signals), np.empty(signals)
    for place in range(fields.shape[1]):
        count, unknown = 0, False
        for i in range(signals):
            unknown = unknown or math.isnan(fields[i, place])
            if fields[i, place] > -math.inf:
                levels[count], spreads[count], shared[count] = fields[i, place], sigmas[i], loads[i]
                count += 1
        level = product_level(factor, wanted, levels, spreads, shared, count)
        usable[place] = math.nan if unknown else level
