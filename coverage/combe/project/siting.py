"""Where should a relay stand: what it radiates, how it receives, and where a mast may be."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from combe.errors import RangeError, require_range
from combe.project.feed import asked_shares
from combe.project.given import Given
from combe.stations import Pattern, Polarization, require_distinct
from combe.terrain import Features

OMNI: Final = "omni"
"""What a pattern is called that radiates alike in all directions."""

_RANGES: Final = {
    "aerial_height_m": (1.0, 500.0),
    "azimuth_step_deg": (1.0, 180.0),
    "reach_km": (1.0, 300.0),
    "list_length": (1, 100),
    "apart_m": (0.0, 100_000.0),
    "sites": (1, 50),
    "above_valley_m": (0.0, 3000.0),
    "valley_radius_m": (50.0, 20_000.0),
}


@dataclass(frozen=True)
class SitingService:
    """One service that the relay radiates: the parent's name of it, output channel, greatest ERP [W].

    ``television`` is as that of :class:`combe.stations.Service`.
    """

    name: str
    channel: int
    erp_w: float
    television: str = ""


@dataclass(frozen=True)
class SitingLimit:
    """The most that may be radiated into a sector of true bearings, clockwise [degrees, W]."""

    from_deg: float
    to_deg: float
    erp_w: float


@dataclass(frozen=True)
class SitingFeed:
    """The receiving side of the relay, wherever it stands; no ``parents`` are all that radiate everything.

    ``time_percent`` and ``time_percents`` are as those of a feed: hills are judged for the greatest share.
    ``fade_allowance_db`` comes on top of the fade.
    """

    parents: tuple[str, ...] = ()
    aerial_height_m: float = 12.0
    aerial_gain_dbi: float = 14.0
    feeder_loss_db: float = 2.0
    splitter_loss_db: float = 0.0
    noise_figure_db: float = 6.0
    required_margin_db: float = 10.0
    time_percent: float = 99.0
    fade_allowance_db: float = 0.0
    required_cn_db: float | None = None
    time_percents: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        shares = asked_shares(self.time_percent, self.time_percents, "siting's feed")
        object.__setattr__(self, "time_percents", shares)
        object.__setattr__(self, "time_percent", shares[-1])
        both_db = self.required_margin_db + self.fade_allowance_db
        require_range("required_margin_db and fade_allowance_db of the siting together", both_db, 0.0, 60.0)


@dataclass(frozen=True)
class Siting:
    """The question of a site.

    ``patterns`` are names with their patterns, None for omni, each tried at every ``azimuth_step_deg``.
    ``inside``, ``outside`` and ``border`` are polygons, ``access`` roads or lines. Lengths are in metres,
    but ``reach_km``.

    Raises
    ------
    RangeError
        Naming the value.
    """

    services: tuple[SitingService, ...]
    aerial_height_m: float = 20.0
    polarization: Polarization = "vertical"
    patterns: tuple[tuple[str, Pattern | None], ...] = ((OMNI, None),)
    vertical_pattern: Pattern | None = None
    azimuth_step_deg: float = 15.0
    keep_power: bool = False
    cell_size_m: float | None = None
    reach_km: float = 60.0
    before: Literal["parents", "all stations"] = "parents"
    search: Literal["every hill", "best first"] = "every hill"
    list_length: int = 10
    apart_m: float = 1000.0
    sites: int = 3
    share_percent: float | None = None
    relays_feed_relays: bool = False
    above_valley_m: float = 30.0
    valley_radius_m: float = 1000.0
    steepest_deg: float | None = None
    keep_off_m: float = 0.0
    inside: Given[Features] | None = None
    outside: Given[Features] | None = None
    border: Given[Features] | None = None
    access: Given[Features] | None = None
    access_within_m: float | None = None
    cost_per_site: float = 0.0
    cost_per_access_km: float = 0.0
    feed: SitingFeed = field(default_factory=SitingFeed)
    limits: tuple[SitingLimit, ...] = ()

    def __post_init__(self) -> None:
        if not self.services:
            raise RangeError("services of the siting", "none", "one or more")
        require_distinct("service name of the siting", (each.name for each in self.services))
        require_distinct("channel of the siting", (each.channel for each in self.services))
        for name, (low, high) in _RANGES.items():
            require_range(f"{name} of the siting", getattr(self, name), low, high)
