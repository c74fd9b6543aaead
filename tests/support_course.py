"""What the guide's course rests on: answers of the sample, and a chapter whose figures are looked for."""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

import combe
from combe.answers.expected_readings import expected_readings
from combe.answers.output_side import output_side
from combe.answers.path import FieldOver, Way, field_over, way_between
from combe.answers.spectrum import PointSpectrum, spectra_of
from combe.constants import DIPOLE_GAIN_DBI
from combe.decibels import ratio_from_db
from combe.guide import guide_page
from combe.planning.visits import Judgement, Reading, judge_log
from combe.prediction import Clearance, PathOverTime
from combe.prediction.clearance import clearance_at
from combe.project import minimum_field
from combe.reception import Analyser, ServiceLevel, waterfall
from combe.standards.rasters import centre_frequency_mhz
from combe.terrain import people_on_grid

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport
    from combe.answers.explain import Candidate
    from combe.answers.feed import RelayFeed
    from combe.answers.path import PathReport
    from combe.project import Project

RELAY, PARENT = "Larkcombe", "Tarnbeacon"
HOUSE_DEG = (-84.34, 36.61)
"""A house of the village behind the ridge, of which the course speaks again and again."""

WATTS = (1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0)
"""Powers of the relay that the chapter on the hill tries."""


@cache
def valley() -> Project:
    return combe.demo()


@cache
def path() -> PathReport:
    return combe.path(valley(), PARENT, RELAY)


@cache
def feed() -> RelayFeed:
    return combe.feed(valley()).relays[0]


@cache
def covered() -> CoverReport:
    return combe.cover(valley())


def levels(number: int = 0) -> list[ServiceLevel]:
    """Return a service at every point of the feed's chain."""
    service = feed().services[number]
    return list(waterfall(service.cascade, service.received.name))


@cache
def way_to_house(station: str) -> Way:
    return way_between(valley(), valley().station(station), *HOUSE_DEG)


@cache
def at_house(station: str, number: int = 0) -> FieldOver:
    """Return the field of a service of a station at the house, 10 m over the ground."""
    sender = valley().station(station)
    return field_over(valley(), sender, sender.services[number], way_to_house(station), 10.0)


@cache
def heard_at_house(station: str, number: int = 0) -> Candidate:
    """Return a service of a station as ``combe explain`` has it at the house."""
    found = combe.explain(valley(), *HOUSE_DEG).services[number].candidates
    return next(each for each in found if each.station.name == station)


@cache
def clearance_to_house() -> Clearance:
    """Return how far the line from the parent to the house is blocked, on the parent's first channel."""
    return clearance_at(
        way_to_house(PARENT).profile,
        tx_height_m=valley().station(PARENT).aerial_height_m,
        rx_height_m=10.0,
        frequency_mhz=valley().station(PARENT).services[0].frequency_mhz,
        effective_radius_km=valley().conditions.effective_radius_km,
    )


def missing_db(share: float) -> float:
    """Return how much field is lacking, at the most, to a share of those whom the parent does not serve."""
    report = covered()
    assert report.people is not None
    margins = report.all_services.margin_before_db
    left = (margins < 0.0) & np.isfinite(margins)
    people, lacking = people_on_grid(report.grid, report.people)[left], -margins[left]
    order = np.argsort(lacking)
    so_far = np.cumsum(people[order])
    return float(lacking[order][np.searchsorted(so_far, share * so_far[-1])])


@cache
def screen_at_feeder() -> PointSpectrum:
    """Return what an analyser of 30 kHz should show at the end of the feeder."""
    return spectra_of(valley(), valley().station(RELAY), feed(), Analyser(resolution_khz=30.0))[0]


def output_dbm(number: int = 0) -> float:
    """Return the power of a service at the terminals of the relay's transmitting aerial."""
    side = output_side(valley(), valley().station(RELAY))
    assert side is not None
    return side.services[number].budget.points[-1].power_dbm


@cache
def on_channel() -> RelayFeed:
    """Return the feed of the relay put on its parent's channels."""
    parent, relay = valley().stations
    by_name = {each.name: each for each in parent.services}
    services = tuple(
        replace(each, channel=by_name[each.name].channel, frequency_mhz=by_name[each.name].frequency_mhz)
        for each in relay.services
    )
    return combe.feed(replace(valley(), stations=(parent, replace(relay, services=services)))).relays[0]


@cache
def over_the_year(number: int = 0) -> PathOverTime:
    """Return the feed's path over all shares of the year, of a service."""
    way = path()
    return PathOverTime(
        way.profile,
        tx_height_m=way.tx_height_m,
        rx_height_m=way.rx_height_m,
        frequency_mhz=way.services[number].service.frequency_mhz,
        polarization=way.from_station.polarization,
        climate=valley().climate,
    )


@cache
def newly_served(erp_w: float) -> float:
    """Return the people newly served where the relay's stronger services have an ERP, the weaker in step."""
    parent, relay = valley().stations
    most = max(each.erp_w for each in relay.services)
    services = tuple(replace(each, erp_w=each.erp_w * erp_w / most) for each in relay.services)
    changed = replace(valley(), stations=(parent, replace(relay, services=services)), outputs={})
    return float(combe.cover(changed).all_services.people.newly_served)


FEEDER_DBM = (-29.1, -29.6, -30.0, -30.8, -31.3, -31.7, -32.4)
"""Invented levels of Mux A at the end of the feeder, one a year."""


@cache
def judged_readings() -> Judgement:
    """Return what is said of these levels."""
    expected = expected_readings(valley())
    readings = [
        Reading(
            date=datetime.date(2019 + number, 5, 14), station=RELAY, service="Mux A", test_point="feeder",
            quantity="level", value=level, unit="dBm", meter="Meter 7", who="A. Hand",
        )
        for number, level in enumerate(FEEDER_DBM)
    ]  # fmt: skip
    (judged,) = judge_log(readings, expected.values, air=expected.air)
    return judged


def least_field_dbuv_m(frequency_mhz: float) -> float:
    """Return the field that serves half of the places, of a channel with this centre."""
    return minimum_field(valley(), frequency_mhz).at_a_place_dbuv_m


def flux_w_m2(away_m: float) -> float:
    """Return the flux of all services of the relay in its beam, e.i.r.p. over the sphere [W/m²]."""
    erp_w = sum(each.erp_w for each in valley().station(RELAY).services)
    return float(ratio_from_db(DIPOLE_GAIN_DBI)) * erp_w / (4.0 * math.pi * away_m**2)


def channel_mhz(number: int) -> float:
    return centre_frequency_mhz("8 MHz UHF", number)


_LISTING = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)
_LINK = re.compile(r"\]\([^)]*\)")
_NAME = re.compile(
    r"ITU-R [A-Z]+\.\d+(-\d+)?|\b[PB]T?\.\d{3,4}(-\d+)?|DVB-T2|256-QAM 2/3|47 CFR\s+[\d.]+"
    r"|EN \d+ \d+|IEC \d+|Friis 1944"
    r"|ICNIRP\s+guidelines\s+2020|GE06|^#+ .*$|§[\d.]+|^ *\d+\. ",
    re.MULTILINE,
)
_FIGURE = re.compile(r"[−-]?\d+(?: \d{3}\b)*(?:\.\d+)?")


class Chapter:
    """A chapter: what it says is held to what is worked out, and no figure in it may be left over."""

    def __init__(self, topic: str) -> None:
        self.markdown = guide_page(topic).markdown
        bare = _NAME.sub(lambda found: "#" * len(found.group()), _LISTING.sub("", self.markdown))
        self.text = " ".join(_LINK.sub("]", bare).split())
        self._seen = [False] * len(self.text)

    def says(self, words: str, *values: float) -> None:
        """Demand that the page says these words with the values in place of the braces.

        Digits stand only where a value is, so nobody writes a figure here in place of working it out.
        """
        assert not re.search(r"\d", re.sub(r"\{[^}]*\}", "", words)), f"a figure in: {words}"
        self._mark(words.format(*map(_Spoken, values)))

    def given(self, *words: str) -> None:
        """Take words as what is given: by the study, by the exercise, or by definition."""
        for each in words:
            self._mark(each)

    def left_over(self) -> list[str]:
        """Return each figure that nothing was said of, with what stands about it."""
        return [
            self.text[max(found.start() - 30, 0) : found.end() + 20]
            for found in _FIGURE.finditer(self.text)
            if not all(self._seen[found.start() : found.end()])
        ]

    def _mark(self, words: str) -> None:
        places = [found.start() for found in re.finditer(re.escape(words), self.text)]
        assert places, f"the page does not say: {words}"
        for start in places:
            self._seen[start : start + len(words)] = [True] * len(words)


class _Spoken(float):
    """A number as pages write it: a true minus, spaces between thousands."""

    def __format__(self, form: str) -> str:
        said = float.__format__(self, form or ",.0f").replace(",", " ").replace("-", "−")
        return "0" if said == "−0" else said
