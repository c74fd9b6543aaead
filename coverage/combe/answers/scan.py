"""Scans the height of the receiving aerial, and searches its best bearing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from combe.answers.emissions import carrier_of
from combe.answers.on_air import on_air
from combe.answers.relay_site import RelaySite, field_dbuv_m
from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import RangeError, require_range
from combe.prediction import MEDIAN_PERCENT
from combe.reception import BearingChoice, WantedSignal, best_bearing
from combe.stations import Service

MOST_HEIGHTS: Final = 500
HEIGHT_RANGE_M: Final = (1.0, 500.0)

NULL_DB: Final = 3.0
"""A dip this deep against both sides within the scan is called a null (our own choice)."""

LEVEL_DB_PER_M: Final = 0.02
"""A slower change than this is called level (our own choice)."""

NO_REFLECTION: Final = (
    "The prediction has no ray reflected from the ground; over smooth ground or water nulls would stand"
)

Course = Literal["climbing", "level", "falling", "in a null"]


@dataclass(frozen=True)
class ServiceScan:
    """Median field [dB(µV/m)] of a service at each height, and its course at the planned height.

    ``slope_db_per_m`` is that at the planned height, ``best_height_m`` where the field is greatest.
    """

    service: Service
    field_dbuv_m: tuple[float, ...]
    planned_dbuv_m: float
    slope_db_per_m: float
    course: Course
    best_height_m: float
    best_gain_db: float


@dataclass(frozen=True)
class HeightScan:
    """The scan of one relay.

    ``null_spacing_m`` is how far apart nulls would stand with a ray reflected from the ground, by the height
    of the parent's aerial over the straight line fitted through the ground; None where it is not over it.
    """

    relay: str
    height_m: tuple[float, ...]
    planned_height_m: float
    services: tuple[ServiceScan, ...]
    null_spacing_m: float | None

    @property
    def words(self) -> tuple[str, ...]:
        """How the field of each service goes, and what this does not know of nulls."""
        courses = tuple(course_words(self, each) for each in self.services)
        if self.null_spacing_m is None:
            return courses
        return *courses, f"{NO_REFLECTION} {self.null_spacing_m:.1f} m apart"


def course_words(scan: HeightScan, service: ServiceScan) -> str:
    """Say how the field of a service goes at the planned height, and where it is greatest."""
    slope, gain = round(service.slope_db_per_m, 2) + 0.0, round(service.best_gain_db, 1) + 0.0
    best = f"most at {service.best_height_m:g} m, {gain:+.1f} dB" if gain else "nowhere more in this scan"
    return (
        f"{service.service.name}: {service.course} at the planned {scan.planned_height_m:g} m "
        f"({slope:+.2f} dB/m); {best}"
    )


def scan_heights(low_m: float, high_m: float, step_m: float) -> tuple[float, ...]:
    """Return the heights of a scan [m above ground], lowest first, both ends included.

    Raises
    ------
    RangeError
        For an end outside 1 to 500 m, a step that is not over 0, no rise, or more than 500 heights.
    """
    for name, value in (("lowest height of the scan", low_m), ("highest height of the scan", high_m)):
        require_range(name, value, *HEIGHT_RANGE_M)
    if not low_m < high_m:
        raise RangeError("highest height of the scan", high_m, f"more than {low_m:g}")
    if not (math.isfinite(step_m) and step_m > 0.0):
        raise RangeError("step of the scan", step_m, "more than 0")
    count = math.floor((high_m - low_m) / step_m + 1e-9) + 1
    require_range("number of heights of the scan", count, 2, MOST_HEIGHTS, "take another step")
    found = [round(low_m + number * step_m, 6) for number in range(count)]
    return tuple(found if found[-1] >= high_m - 1e-6 else [*found, high_m])


def height_scan(site: RelaySite, heights_m: Sequence[float]) -> HeightScan:
    """Predict the median field of each service of a relay at each height of its receiving aerial."""
    names = {own.name for own in site.relay.services}
    services = [each for each in site.parent.services if each.name in names]
    return HeightScan(
        relay=site.relay.name,
        height_m=tuple(heights_m),
        planned_height_m=site.side.aerial_height_m,
        services=tuple(_service(site, service, heights_m) for service in services),
        null_spacing_m=_null_spacing_m(site, services[0].frequency_mhz),
    )


def _service(site: RelaySite, service: Service, heights_m: Sequence[float]) -> ServiceScan:
    def field(height_m: float) -> float:
        return field_dbuv_m(site.project, site.way, service, height_m, MEDIAN_PERCENT)

    planned_m = site.side.aerial_height_m
    fields, planned = [field(height_m) for height_m in heights_m], field(planned_m)
    slope = field(planned_m + 0.5) - field(max(planned_m - 0.5, 0.5))
    best = int(np.argmax(fields))
    return ServiceScan(
        service=service,
        field_dbuv_m=tuple(fields),
        planned_dbuv_m=planned,
        slope_db_per_m=slope,
        course=_course(heights_m, fields, planned_m, planned, slope),
        best_height_m=heights_m[best],
        best_gain_db=fields[best] - planned,
    )


def _course(
    heights_m: Sequence[float], fields: Sequence[float], planned_m: float, planned: float, slope: float
) -> Course:
    """Say how the field goes at the planned height: in a null when it dips against both sides."""
    below = [field for height, field in zip(heights_m, fields, strict=True) if height < planned_m]
    above = [field for height, field in zip(heights_m, fields, strict=True) if height > planned_m]
    if below and above and min(max(below), max(above)) - planned >= NULL_DB:
        return "in a null"
    if abs(slope) < LEVEL_DB_PER_M:
        return "level"
    return "climbing" if slope > 0.0 else "falling"


def _null_spacing_m(site: RelaySite, frequency_mhz: float) -> float | None:
    """Return λd/(2h): how far apart the nulls of a reflected ray stand at the far end (plane geometry)."""
    profile = site.path.profile
    slope, at_start = np.polyfit(profile.distance_km, profile.height_m, 1)
    del slope
    over_m = float(profile.height_m[0]) + site.path.tx_height_m - float(at_start)
    if over_m <= 0.0:
        return None
    wavelength_m = SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6)
    return wavelength_m * 1000.0 * float(profile.distance_km[-1]) / (2.0 * over_m)


def bearing_search(site: RelaySite) -> BearingChoice | None:
    """Search the best bearing of a relay's receiving aerial; None where no other station disturbs it."""
    names = {own.name for own in site.relay.services}
    wanted = [
        WantedSignal(
            each.service.name,
            on_air(site.project, each.service).channel,
            site.way.arrival_deg,
            site.parent.polarization,
            each.field_strength_dbuv_m,
            site.side.required_cn_db,
            carrier_of(each.service),
        )
        for each in site.path.services
        if each.service.name in names
    ]
    unwanted = [each.signal for each in site.arrivals if each.signal.station != site.parent.name]
    choice = best_bearing(wanted, unwanted, site.side.aerial)
    return None if math.isinf(choice.margin_at_parent_db) else choice


def bearing_words(site: RelaySite, choice: BearingChoice | None) -> str:
    """Say where to turn the receiving aerial."""
    parent_deg = site.way.arrival_deg
    if choice is None:
        return f"{site.relay.name}: nothing disturbs it; look at the parent, {parent_deg:.1f}°"
    return (
        f"{site.relay.name}: best bearing {choice.bearing_deg:.1f}°, the parent is on {parent_deg:.1f}°; "
        f"margin over interference {choice.margin_db:+.1f} dB against {choice.margin_at_parent_db:+.1f} dB, "
        f"wanted field {choice.wanted_loss_db:.1f} dB less"
    )
