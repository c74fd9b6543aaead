"""A transmitting station: site, aerial, services, and the power it sends towards a direction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeVar, get_args

from combe.decibels import FloatArray, dbw_from_watt
from combe.errors import RangeError, require_choice, require_distinct, require_name, require_range
from combe.stations.pattern import Pattern, pattern_gain_db
from combe.words import Name

Angle = TypeVar("Angle", float, FloatArray)
Role = Literal["parent", "relay"]
Polarization = Literal["horizontal", "vertical"]

FREQUENCY_RANGE_MHZ: Final = (30.0, 3000.0)
AERIAL_HEIGHT_RANGE_M: Final = (1.0, 500.0)
HIGHEST_ERP_W: Final = 1e7
HIGHEST_CHANNEL: Final = 999
MOST_TWELFTHS: Final = 12
MOST_OFFSET_KHZ: Final = 10.0
BEARING_RANGE_DEG: Final = (0.0, 360.0)
TILT_RANGE_DEG: Final = (-10.0, 30.0)


@dataclass(frozen=True)
class Service:
    """One programme multiplex on one channel.

    Parameters
    ----------
    name : str
    channel : int
        Channel number, 1 to 999; whether the raster has it is for the television system to say.
    frequency_mhz : float
        Centre of the channel [MHz], 30 to 3000.
    erp_w : float
        Effective radiated power [W], against a half-wave dipole, towards the pattern's maximum; over 0.
    offset_twelfths : int
        Of an analogue vision carrier of 625 lines from its nominal frequency, −12 to 12 twelfths of the line
        frequency.
    precision_offset : bool
        Whether that carrier is held within ±1 Hz.
    offset_khz : float
        Of an analogue vision carrier of 525 lines [kHz], −10 to 10.
    television : str
        By which of a project's televisions it is radiated; empty for the one that the project has for all.

    Raises
    ------
    RangeError
        Naming the service and the field.
    """

    name: str
    channel: int
    frequency_mhz: float
    erp_w: float
    offset_twelfths: int = 0
    precision_offset: bool = False
    offset_khz: float = 0.0
    television: str = ""

    def __post_init__(self) -> None:
        require_name("name of a service", self.name)
        object.__setattr__(self, "name", Name(self.name))
        of = f"of service {self.name!r}"
        if not isinstance(self.channel, int):
            raise RangeError(f"channel {of}", repr(self.channel), f"a whole number, 1 to {HIGHEST_CHANNEL}")
        require_range(f"channel {of}", self.channel, 1, HIGHEST_CHANNEL)
        require_range(f"frequency_mhz {of}", self.frequency_mhz, *FREQUENCY_RANGE_MHZ)
        _require_power(f"erp_w {of}", self.erp_w)
        require_range(f"offset_twelfths {of}", self.offset_twelfths, -MOST_TWELFTHS, MOST_TWELFTHS)
        require_range(f"offset_khz {of}", self.offset_khz, -MOST_OFFSET_KHZ, MOST_OFFSET_KHZ)


@dataclass(frozen=True)
class Station:
    """A parent station or a relay.

    Parameters
    ----------
    name : str
    role : {"parent", "relay"}
    longitude_deg, latitude_deg : float
        WGS 84 [degrees].
    aerial_height_m : float
        Centre of the transmitting aerial above ground [m], 1 to 500.
    polarization : {"horizontal", "vertical"}
    services : tuple of Service
        At least one; names and channels each once.
    horizontal_pattern, vertical_pattern : Pattern or None
        None radiates equally in that plane.
    parent : str or None
        Name of the station that a relay receives; None for a parent.
    bearing_deg : float
        Where the 0° of the horizontal pattern looks, clockwise from true north, 0 to 360.
    tilt_deg : float
        How far the vertical pattern is turned down, −10 to 30, alike in all directions: an electrical tilt.
        An aerial that leans is turned down before it, up behind it, and not at all to its sides.

    Raises
    ------
    RangeError
        Naming the station and the field.
    """

    name: str
    role: Role
    longitude_deg: float
    latitude_deg: float
    aerial_height_m: float
    polarization: Polarization
    services: tuple[Service, ...]
    horizontal_pattern: Pattern | None = None
    vertical_pattern: Pattern | None = None
    parent: str | None = None
    bearing_deg: float = 0.0
    tilt_deg: float = 0.0

    def __post_init__(self) -> None:
        require_name("name of a station", self.name)
        object.__setattr__(self, "name", Name(self.name))
        object.__setattr__(self, "services", tuple(self.services))
        _check_site(self)
        _check_services(self)
        _check_patterns(self)
        _check_parent(self)


def erp_towards_dbw(station: Station, service: Service, bearing_deg: Angle, elevation_deg: Angle) -> Angle:
    """Return the ERP [dBW] that a service sends towards a direction.

    Parameters
    ----------
    station, service
        The service must be one of the station's.
    bearing_deg : float or array
        Degrees clockwise from true north at the station.
    elevation_deg : float or array
        Degrees above the horizontal, positive upwards; broadcasts with ``bearing_deg``.

    Returns
    -------
    float or array
        10 log10 of the ERP in watts, plus both patterns in dB.

    Raises
    ------
    RangeError
        When the station does not radiate that service.
    """
    if service not in station.services:
        names = ", ".join(each.name for each in station.services)
        raise RangeError(f"service of station {station.name!r}", repr(service.name), names)
    # Two cuts stand for the whole: both are 0 dB in the beam, and off both the gain is taken as their sum.
    horizontal = horizontal_gain_db(station, bearing_deg)
    return dbw_from_watt(float(service.erp_w)) + horizontal + vertical_gain_db(station, elevation_deg)


def vertical_gain_db(station: Station, elevation_deg: Angle) -> Angle:
    """Return the gain [dB] of a station's vertical pattern, as it is tilted, against its maximum."""
    # What a tilted aerial sends to some elevation, its table has that much higher; beyond 90° its end holds.
    return pattern_gain_db(station.vertical_pattern, elevation_deg + station.tilt_deg)


def horizontal_gain_db(station: Station, bearing_deg: Angle) -> Angle:
    """Return the gain [dB] of a station's horizontal pattern, as it is turned, against its maximum."""
    return pattern_gain_db(station.horizontal_pattern, bearing_deg - station.bearing_deg)


def _require_power(field: str, power_w: float) -> None:
    allowed = f"more than 0, up to {HIGHEST_ERP_W:g} W"
    try:
        require_range(field, power_w, 0.0, HIGHEST_ERP_W)
    except RangeError as error:
        raise RangeError(field, error.given, allowed) from None
    if power_w == 0.0:
        raise RangeError(field, power_w, allowed, "leave a silent service out")


def _check_site(station: Station) -> None:
    of = f"of station {station.name!r}"
    require_choice(f"role {of}", station.role, get_args(Role))
    require_choice(f"polarization {of}", station.polarization, get_args(Polarization))
    require_range(f"longitude_deg {of}", station.longitude_deg, -180.0, 180.0)
    require_range(f"latitude_deg {of}", station.latitude_deg, -90.0, 90.0)
    require_range(f"aerial_height_m {of}", station.aerial_height_m, *AERIAL_HEIGHT_RANGE_M)


def _check_services(station: Station) -> None:
    of = f"of station {station.name!r}"
    if not station.services:
        raise RangeError(f"services {of}", "empty", "at least one service")
    require_distinct(f"service name {of}", (service.name for service in station.services))
    require_distinct(f"channel {of}", (service.channel for service in station.services))


def _check_patterns(station: Station) -> None:
    for kind, pattern in (("horizontal", station.horizontal_pattern), ("vertical", station.vertical_pattern)):
        if pattern is not None and pattern.kind != kind:
            raise RangeError(f"{kind}_pattern of station {station.name!r}", f"a {pattern.kind} pattern", kind)
    require_range(f"bearing_deg of station {station.name!r}", station.bearing_deg, *BEARING_RANGE_DEG)
    require_range(f"tilt_deg of station {station.name!r}", station.tilt_deg, *TILT_RANGE_DEG)


def _check_parent(station: Station) -> None:
    field = f"parent of station {station.name!r}"
    if station.parent is None:
        return
    require_name(field, station.parent)
    if station.role == "parent":
        raise RangeError(field, repr(station.parent), "none, for its role is parent")
    if station.parent == station.name:
        raise RangeError(field, repr(station.parent), "another station")
