"""Scans the height of the receiving aerial in the median and in the fade, and searches its best bearing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from combe.answers.emissions import carrier_of
from combe.answers.feed_service import service_feed
from combe.answers.feed_time import times_of
from combe.answers.on_air import on_air
from combe.answers.path import PathService, predict_between
from combe.answers.receiving import receiving_side, required_cn_db
from combe.answers.relay_site import RelaySite, field_dbuv_m, way_of
from combe.answers.scan_ground import GroundRay, ground_rays
from combe.constants import SPEED_OF_LIGHT_M_S
from combe.digits import telling
from combe.errors import RangeError, require_range
from combe.prediction import MEDIAN_PERCENT, fitted_line
from combe.reception import BearingChoice, FeedBudget, WantedSignal, best_bearing
from combe.stations import Service
from combe.words import joined, tell

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
    """Field [dB(µV/m)] of a service at each height, in the median and in the fade, and what is left there.

    ``margin_db`` is that of the feed's budget for the time that is judged, of which other stations are no
    part; None where what it enters is not known. ``planned`` is the budget at the planned height, where
    ``slope_db_per_m`` and the course are told too; ``best_height_m`` is where the median is greatest.
    """

    service: Service
    field_dbuv_m: tuple[float, ...]
    fade_db: tuple[float, ...]
    margin_db: tuple[float, ...] | None
    planned: FeedBudget
    planned_dbuv_m: float
    slope_db_per_m: float
    course: Course
    best_height_m: float
    best_gain_db: float

    @property
    def field_at_time_dbuv_m(self) -> tuple[float, ...]:
        """Field for the time that is judged, at each height."""
        return tuple(field - fade for field, fade in zip(self.field_dbuv_m, self.fade_db, strict=True))


@dataclass(frozen=True)
class HeightScan:
    """The scan of one relay.

    ``null_spacing_m`` is how far apart nulls would stand with a ray reflected from the ground, by the height
    of the parent's aerial over the straight line fitted through the ground; None where it is not over it.
    ``ground_rays`` has that ray for each service whose path is clear.
    """

    relay: str
    height_m: tuple[float, ...]
    planned_height_m: float
    services: tuple[ServiceScan, ...]
    null_spacing_m: float | None
    ground_rays: tuple[GroundRay, ...]

    @property
    def time_percent(self) -> float:
        """Time for which the margins stand."""
        return self.services[0].planned.time_percent

    @property
    def least_margin_db(self) -> tuple[float, ...] | None:
        """The least margin of all services at each height; None where one is not known."""
        margins = [each.margin_db for each in self.services if each.margin_db is not None]
        return tuple(map(min, zip(*margins, strict=True))) if len(margins) == len(self.services) else None

    @property
    def ground_ray(self) -> GroundRay | None:
        """The reflected ray of the lowest frequency, whose ground may be the least even; None if hidden."""
        return max(self.ground_rays, key=lambda each: each.ray.allowed_relief_m, default=None)

    @property
    def short_words(self) -> tuple[str, ...]:
        """How the field goes with height, what is left of it, and what is to be thought of nulls."""
        names = dict[str, list[str]]()
        for each in self.services:
            names.setdefault(_course_alone(self, each), []).append(each.service.name)
        courses = (
            tell("{item}: {course}", item=joined(", ", each), course=course) for course, each in names.items()
        )
        if self.null_spacing_m is None:
            return *courses, margin_words(self)
        ground = tell("; {short}", short=self.ground_ray.short) if self.ground_ray else ""
        return (
            *courses,
            margin_words(self),
            tell(
                "{no_reflection} {null_spacing_m:.1f} m apart{ground}",
                no_reflection=NO_REFLECTION,
                null_spacing_m=self.null_spacing_m,
                ground=ground,
            ),
        )

    @property
    def words(self) -> tuple[str, ...]:
        """The same, with the whole of what is known of the reflected ray; nulls where any are expected."""
        nulls = tuple(each.null_words for each in self.ground_rays if each.ray.expected)
        return *self.short_words, *((self.ground_ray.words, *nulls) if self.ground_ray else ())


def margin_words(scan: HeightScan) -> str:
    """Say what is left for the time that is judged, at the planned height and over the scan."""
    time = tell("For {time_percent:g} % of time", time_percent=scan.time_percent)
    margins_db, asked_db = scan.least_margin_db, scan.services[0].planned.required_margin_db
    if margins_db is None:
        return tell("{time} the margin is not known", time=time)
    planned_db = min(each.planned.margin_db for each in scan.services)
    planned, least, most = (
        telling(each, asked_db, 1) for each in (planned_db, min(margins_db), max(margins_db))
    )
    return tell(
        "{time} the least margin is {planned} dB at the planned {planned_height_m:g} m; "
        "{least} dB in this scan",
        time=time,
        planned=planned,
        planned_height_m=scan.planned_height_m,
        least=least if least == most else tell("{least} to {most}", least=least, most=most),
    )


def course_words(scan: HeightScan, service: ServiceScan) -> str:
    """Say how the field of a service goes at the planned height, and where it is greatest."""
    return tell(
        "{name}: {course_alone}", name=service.service.name, course_alone=_course_alone(scan, service)
    )


_COURSE_WORDS: Final[Mapping[Course, str]] = {
    "climbing": "climbing at the planned {planned_height_m:g} m ({slope:+.2f} dB/m); {best}",
    "level": "level at the planned {planned_height_m:g} m ({slope:+.2f} dB/m); {best}",
    "falling": "falling at the planned {planned_height_m:g} m ({slope:+.2f} dB/m); {best}",
    "in a null": "in a null at the planned {planned_height_m:g} m ({slope:+.2f} dB/m); {best}",
}


def _course_alone(scan: HeightScan, service: ServiceScan) -> str:
    slope, gain = round(service.slope_db_per_m, 2) + 0.0, round(service.best_gain_db, 1) + 0.0
    best = (
        tell("most at {best_height_m:g} m, {gain:+.1f} dB", best_height_m=service.best_height_m, gain=gain)
        if gain
        else "nowhere more in this scan"
    )
    return tell(
        _COURSE_WORDS[service.course],
        planned_height_m=scan.planned_height_m,
        slope=slope,
        best=best,
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
    """Predict each service of a relay at each height of its receiving aerial, in median and fade."""
    names = {own.name for own in site.relay.services}
    received = [each for each in site.path.services if each.service.name in names]
    sites = [_at_height(site, height_m) for height_m in heights_m]
    return HeightScan(
        relay=site.relay.name,
        height_m=tuple(heights_m),
        planned_height_m=site.side.aerial_height_m,
        services=tuple(_service(site, each, heights_m, sites) for each in received),
        null_spacing_m=_null_spacing_m(site, received[0].service.frequency_mhz),
        ground_rays=ground_rays(site.path, received, heights_m),
    )


def _at_height(site: RelaySite, height_m: float) -> RelaySite:
    """Return the site with its aerial at another height; without other stations, which no budget counts."""
    feed = site.side.feed
    feed = replace(feed, aerial=replace(feed.aerial, height_m=height_m))
    path = predict_between(site.project, site.parent, site.relay, height_m)
    side = receiving_side(site.project, feed, site.parent, site.relay, site.way.arrival_deg)
    return replace(site, path=path, way=way_of(path, site.relay), side=side, arrivals=())


def _budget(site: RelaySite, name: str) -> tuple[PathService, FeedBudget]:
    """Return a service over the path, and its budget for the time that is judged."""
    received = next(each for each in site.path.services if each.service.name == name)
    radiated = next(each for each in site.relay.services if each.name == name)
    return received, service_feed(site, radiated, received, None).budget


def _service(
    site: RelaySite, received: PathService, heights_m: Sequence[float], sites: Sequence[RelaySite]
) -> ServiceScan:
    service, planned_m = received.service, site.side.aerial_height_m

    def field(height_m: float) -> float:
        return field_dbuv_m(site.project, site.way, service, height_m, MEDIAN_PERCENT)

    found = [_budget(each, service.name) for each in sites]
    fields, margins = [each.field_strength_dbuv_m for each, _ in found], [each.margin_db for _, each in found]
    planned = received.field_strength_dbuv_m
    slope = field(planned_m + 0.5) - field(max(planned_m - 0.5, 0.5))
    best = int(np.argmax(fields))
    return ServiceScan(
        service=service,
        field_dbuv_m=tuple(fields),
        fade_db=tuple(each.fade_db for _, each in found),
        margin_db=None if any(map(math.isnan, margins)) else tuple(margins),
        planned=_budget(replace(site, arrivals=()), service.name)[1],
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
    line = fitted_line(profile.distance_km, profile.height_m, float(profile.distance_km[-1]))
    over_m = float(profile.height_m[0]) + site.path.tx_height_m - line.start_m
    if over_m <= 0.0:
        return None
    wavelength_m = SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6)
    return wavelength_m * 1000.0 * float(profile.distance_km[-1]) / (2.0 * over_m)


def bearing_search(site: RelaySite) -> BearingChoice | None:
    """Search the best bearing of a relay's receiving aerial; None where no other station disturbs it."""
    radiated = {own.name: own for own in site.relay.services}
    wanted = [
        WantedSignal(
            each.service.name,
            on_air(site.project, each.service).channel,
            site.way.arrival_deg,
            site.parent.polarization,
            each.field_strength_dbuv_m,
            required_cn_db(site.project, site.side.feed, site.relay, radiated[each.service.name]),
            carrier_of(each.service),
            fade_db=times_of(site, each).fade_db,
        )
        for each in site.path.services
        if each.service.name in radiated
    ]
    unwanted = [each.signal for each in site.arrivals if each.signal.station != site.parent.name]
    choice = best_bearing(wanted, unwanted, site.side.aerial)
    return None if math.isinf(choice.margin_at_parent_db) else choice


def bearing_words(site: RelaySite, choice: BearingChoice | None) -> str:
    """Say where to turn the receiving aerial."""
    parent_deg = site.way.arrival_deg
    if choice is None:
        return tell(
            "{name}: nothing disturbs it; look at the parent, {parent_deg:.1f}°",
            name=site.relay.name,
            parent_deg=parent_deg,
        )
    return tell(
        "{name}: best bearing {bearing_deg:.1f}°, the parent is on {parent_deg:.1f}°; "
        "margin over interference {margin_db:+.1f} dB against {margin_at_parent_db:+.1f} dB, "
        "wanted field {wanted_loss_db:.1f} dB less",
        name=site.relay.name,
        bearing_deg=choice.bearing_deg,
        parent_deg=parent_deg,
        margin_db=choice.margin_db,
        margin_at_parent_db=choice.margin_at_parent_db,
        wanted_loss_db=choice.wanted_loss_db,
    )
