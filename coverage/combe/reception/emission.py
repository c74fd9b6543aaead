"""What a station radiates on one channel, as its neighbours and its public see it, and who disturbs whom."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.reception.one_frequency import OneFrequency
from combe.reception.protection_ratios import Channel, Protection, protection
from combe.reception.receive_aerial import Polarization
from combe.reception.summing import LARGEST_SIGMA_DB
from combe.standards import NO_OFFSET, CarrierOffset
from combe.stations import require_choice, require_name

_FIELDS_DBUV_M: Final = (-200.0, 200.0)


@dataclass(frozen=True)
class Emission:
    """One service of one station.

    Parameters
    ----------
    station, service : str
        Emissions of one service name carry the same programme, and a place needs one of them.
    channel : Channel
    polarization : {"horizontal", "vertical"}
    x_m, y_m : float
        Place of the station in the coordinates of the cells [m].
    minimum_dbuv_m : float
        Field that its receivers need without interference at their place [dB(µV/m)], with no allowance for
        places.
    required_cn_db : float
        Of its mode [dB]; the protection ratio against a digital signal of its own kind.
    sigma_db : float
        Deviation of its field over places [dB], 0 to 18.
    carrier : CarrierOffset
        Of its vision carrier from the nominal frequency, when it is analogue.
    location_percent : float
        Share of the places that must be served [%], 1 to 99.9; NaN, as unless given, for that of the rules.
    noise_dbuv_m : float
        Field that noise asks for where it shares with interference what the receiver bears [dB(µV/m)], not
        above the minimum; the minimum unless given.
    one_frequency : OneFrequency or None
        What it does as one of a network on one frequency.
    directional : bool
        Whether its viewers' aerials hold off what comes from elsewhere, or in the other polarization.

    Raises
    ------
    RangeError
        Naming the field.
    """

    station: str
    service: str
    channel: Channel
    polarization: Polarization
    x_m: float
    y_m: float
    minimum_dbuv_m: float
    required_cn_db: float
    sigma_db: float
    carrier: CarrierOffset = NO_OFFSET
    noise_dbuv_m: float = math.nan
    one_frequency: OneFrequency | None = None
    location_percent: float = math.nan
    directional: bool = True

    def __post_init__(self) -> None:
        require_name("station of an emission", self.station)
        require_name("service of an emission", self.service)
        of = f"of {self.station} {self.service}"
        require_choice(f"polarization {of}", self.polarization, ("horizontal", "vertical"))
        require_range(f"x_m {of}", self.x_m, -1e9, 1e9)
        require_range(f"y_m {of}", self.y_m, -1e9, 1e9)
        require_range(f"minimum_dbuv_m {of}", self.minimum_dbuv_m, *_FIELDS_DBUV_M)
        if math.isnan(self.noise_dbuv_m):
            # Unless told otherwise, noise asks for the minimum field.
            object.__setattr__(self, "noise_dbuv_m", self.minimum_dbuv_m)
        require_range(f"noise_dbuv_m {of}", self.noise_dbuv_m, _FIELDS_DBUV_M[0], self.minimum_dbuv_m)
        require_range(f"required_cn_db {of}", self.required_cn_db, -10.0, 60.0)
        require_range(f"sigma_db {of}", self.sigma_db, 0.0, LARGEST_SIGMA_DB)
        if not math.isnan(self.location_percent):
            require_range(f"location_percent {of}", self.location_percent, 1.0, 99.9)


class Disturber(NamedTuple):
    """An emission that disturbs another, by its place, with its protection ratios [dB].

    ``echo`` tells that both are of one network on one frequency: only what the receiver cannot use disturbs.
    """

    emission: int
    tropospheric_db: float
    continuous_db: float
    crossed: bool
    echo: bool = False


class Partners(NamedTuple):
    """Who disturbs whom, as arrays for the kernels.

    Of emission i, those from ``start[i]`` to before ``start[i + 1]`` are disturbers: ``emission`` is which,
    with the two protection ratios [dB]; ``crossed`` tells that its polarization is the other one, ``echo``
    that it is an echo of the same network.
    """

    start: npt.NDArray[np.int64]
    emission: npt.NDArray[np.int64]
    tropospheric_db: FloatArray
    continuous_db: FloatArray
    crossed: npt.NDArray[np.bool_]
    echo: npt.NDArray[np.bool_]


def are_echoes(wanted: Emission, unwanted: Emission) -> bool:
    """Return whether two emissions are of one network on one frequency, and so add to one another."""
    one, other = wanted.one_frequency, unwanted.one_frequency
    return (
        one is not None
        and other is not None
        and (one.network, wanted.service) == (other.network, unwanted.service)
        and wanted.channel == unwanted.channel
    )


def pair_protection(wanted: Emission, unwanted: Emission) -> Protection | None:
    """Return the protection ratio of a wanted against an unwanted emission, None where it cannot disturb.

    Noise is judged beside interference, as a power. Errors as :func:`protection`.
    """
    carriers = (wanted.carrier, unwanted.carrier)
    return protection(wanted.channel, unwanted.channel, wanted.required_cn_db, carriers=carriers)


def partners_of(emissions: Sequence[Emission]) -> Partners:
    """Return every pair of emissions of which one may disturb the other, once for all tiles of a map.

    Raises
    ------
    RangeError
        As :func:`pair_protection`, or for a station that radiates one service twice.
    """
    names = [(emission.station, emission.service) for emission in emissions]
    for name in names:
        if names.count(name) > 1:
            raise RangeError("emission", f"{name[0]} {name[1]} more than once", "each once only")
    return partners_from(
        [
            Disturber(
                index,
                pair.tropospheric_db,
                pair.continuous_db,
                wanted.directional and wanted.polarization != unwanted.polarization,
                are_echoes(wanted, unwanted),
            )
            for index, unwanted in enumerate(emissions)
            if wanted is not unwanted and (pair := pair_protection(wanted, unwanted)) is not None
        ]
        for wanted in emissions
    )


def partners_from(disturbers: Iterable[Sequence[Disturber]]) -> Partners:
    """Return the arrays for the kernels from the disturbers of each emission, in the order of emissions."""
    listed = [list(of_emission) for of_emission in disturbers]
    # All rows one after the other; where each emission's begin is kept apart, for kernels take no lists of
    # lists.
    columns = list(zip(*(row for of_emission in listed for row in of_emission), strict=True)) or [()] * 5
    return Partners(
        np.cumsum([0, *map(len, listed)], dtype=np.int64),
        np.array(columns[0], dtype=np.int64),
        np.array(columns[1], dtype=np.float64),
        np.array(columns[2], dtype=np.float64),
        np.array(columns[3], dtype=np.bool_),
        np.array(columns[4], dtype=np.bool_),
    )
