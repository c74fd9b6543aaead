"""A path over the shares of an average year: how far its field falls, or rises, against the median.

The median field is that of the study's model, so that path, coverage and feed speak of one field. How far it
falls or rises for a share of the year is what the loss of ITU-R P.2001-4 changes by, over the same exact
profile: L(p) − L(50 %). P.2001 knows no ground cover, and is asked for the change alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy.typing as npt

from combe.errors import require_range
from combe.prediction.conditions import MEDIAN_PERCENT
from combe.propagation import p2001
from combe.propagation.p1812 import INLAND
from combe.propagation.p2001 import Climate
from combe.terrain import TerrainProfile

SHARES_PERCENT: Final = (50.0, 99.999)
"""Shares of an average year [%] for which a feed may be asked to stand."""

RAREST_PERCENT: Final = 0.001
"""Least share of a year [%] for which an enhancement may be asked."""

YEAR_MINUTES: Final = 525_960.0
"""Minutes of an average year of 365.25 days."""

_FINENESS_PERCENT: Final = 1e-4
"""Part of the rest of the year within which a share is found."""


class ShareOfYear(NamedTuple):
    """The greatest share of an average year [%] for which something stands.

    ``bounded`` tells that it was not sought further: it stands for this share at least, at 99.999 %, or for
    less than this share, at 50 %.
    """

    percent: float
    bounded: bool

    @property
    def minutes_without(self) -> float:
        """Minutes of an average year for which it does not stand."""
        return (100.0 - self.percent) / 100.0 * YEAR_MINUTES


@dataclass(frozen=True)
class PathOverTime:
    """One exact path through all shares of an average year, by P.2001-4; losses are worked out when asked.

    Parameters
    ----------
    profile
        Bare ground from the transmitter to the receiver, eleven points or more.
    tx_height_m, rx_height_m
        Aerials above ground [m].
    frequency_mhz
        Frequency [MHz].
    polarization
        ``"horizontal"`` or ``"vertical"``.
    climate
        The air of the path.
    zone
        Radio-climatic zone of each point, shape (n,), or one for all: 1 sea, 3 coastal land, 4 inland.
    """

    profile: TerrainProfile
    tx_height_m: float
    rx_height_m: float
    frequency_mhz: float
    polarization: str
    climate: Climate
    zone: npt.ArrayLike = INLAND
    _known: dict[float, p2001.PathLoss] = field(default_factory=dict, repr=False, compare=False)

    def at(self, time_percent: float) -> p2001.PathLoss:
        """Return the loss not exceeded for a share of an average year, with every intermediate.

        Raises
        ------
        RangeError
            For a share outside 0.001 to 99.999 %, or so short a path that its loss is below 20 dB.
        ProfileError
            For a profile that cannot be used.
        """
        require_range("time_percent", time_percent, RAREST_PERCENT, SHARES_PERCENT[1])
        if time_percent not in self._known:
            ends = self.profile.lon_deg, self.profile.lat_deg
            self._known[time_percent] = p2001.predict_path(
                self.profile.distance_km,
                self.profile.height_m,
                self.zone,
                frequency_mhz=self.frequency_mhz,
                time_percent=time_percent,
                tx_height_m=self.tx_height_m,
                rx_height_m=self.rx_height_m,
                tx_longitude_deg=float(ends[0][0]),
                tx_latitude_deg=float(ends[1][0]),
                rx_longitude_deg=float(ends[0][-1]),
                rx_latitude_deg=float(ends[1][-1]),
                climate=self.climate,
                polarization=self.polarization,
            )
        return self._known[time_percent]

    def fade_db(self, time_percent: float) -> float:
        """Return how far the field exceeded for a share of the year is under its median [dB], 0 or more.

        Raises
        ------
        RangeError
            For a share under 50 %, which an enhancement is asked for; and as :meth:`at`.
        """
        require_range("time_percent of a fade", time_percent, *SHARES_PERCENT)
        return max(0.0, self._over_median_db(time_percent))

    def enhancement_db(self, time_percent: float) -> float:
        """Return how far the field exceeded for a small share of the year is over its median [dB], 0 or more.

        Raises
        ------
        RangeError
            For a share over 50 %, which a fade is asked for; and as :meth:`at`.
        """
        require_range("time_percent of an enhancement", time_percent, RAREST_PERCENT, MEDIAN_PERCENT)
        return max(0.0, -self._over_median_db(time_percent))

    def share_within(self, fade_db: float) -> ShareOfYear:
        """Return the greatest share of the year for which the field falls by no more than ``fade_db``."""
        return self.share_for(lambda fallen_db: fallen_db <= fade_db)

    def share_for(self, stands: Callable[[float], bool]) -> ShareOfYear:
        """Return the greatest share of the year for which something stands the fade.

        Parameters
        ----------
        stands
            Whether it stands a fade [dB, 0 or more]; what stands one stands every lesser one.

        Notes
        -----
        The share is sought between 50 and 99.999 % by halving the rest of the year in proportion, since fades
        grow with its logarithm.
        """
        low, high = (100.0 - share for share in SHARES_PERCENT)
        if not stands(0.0):
            return ShareOfYear(SHARES_PERCENT[0], bounded=True)
        if stands(self.fade_db(SHARES_PERCENT[1])):
            return ShareOfYear(SHARES_PERCENT[1], bounded=True)
        # ``low`` is the rest of the year for which it stands, ``high`` that for which it does not.
        while low / high > 1.0 + _FINENESS_PERCENT:
            middle = (low * high) ** 0.5
            if stands(self.fade_db(100.0 - middle)):
                low = middle
            else:
                high = middle
        return ShareOfYear(100.0 - low, bounded=False)

    def _over_median_db(self, time_percent: float) -> float:
        median = self.at(MEDIAN_PERCENT)
        return self.at(time_percent).basic_transmission_loss_db - median.basic_transmission_loss_db
