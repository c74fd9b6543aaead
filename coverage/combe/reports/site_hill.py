"""What is said of one hill of a siting: its fields, its document, and that of two hills side by side."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.digits import for_terminal, spoken, true_minus
from combe.publishing.document import Document, Facts, Form, Part, Picture, Section, Table, Words
from combe.publishing.fields import (
    Field,
    Mark,
    as_told,
    flag,
    many,
    mark,
    number,
    one,
    people,
    text,
    texts,
    whole,
)
from combe.reports.how_sure import OF_TEN, RANGE, range_words
from combe.reports.profile import profile_picture
from combe.reports.site_own_feed import OWN_FEED, own_line, own_mark, own_parts
from combe.reports.study import study_named
from combe.words import tell

if TYPE_CHECKING:
    from pathlib import Path

    from combe.answers.site_candidates import Candidate, ComparedHills, Lead
    from combe.answers.site_own_feed import OwnFeed
    from combe.answers.site_report import SiteReport


class Hill(NamedTuple):
    """A hill of the list, what the siting counts, among how many hills for how many people, and its page.

    ``lead`` is that of the first of the list over it; None for the first itself. ``own_feed`` is that of the
    study's own relay there, None without one that may be moved.
    """

    candidate: Candidate
    lead: Lead | None
    harm_counted: bool
    has_costs: bool
    searched: int
    unserved: float
    own_feed: OwnFeed | None = None
    page: Path | None = None

    @property
    def name(self) -> str:
        """What the hill is called."""
        return tell("Hill {rank}", rank=self.candidate.rank)


def hill_of(report: SiteReport, number: int, page: Path | None = None) -> Hill:
    """Return a hill of the list, counted from 0."""
    search = report.work.search
    asked = search.harm_counted, search.has_costs, search.hills.size, report.work.unserved.total
    candidate = report.candidates[number]
    return Hill(candidate, report.leads[number], *asked, report.own_feeds.get(candidate.hill), page)


def pattern_words(name: str, azimuth_deg: float) -> str:
    """Return a pattern with its azimuth."""
    return (
        name
        if math.isnan(azimuth_deg)
        else tell("{name} at {azimuth_deg:g}°", name=name, azimuth_deg=azimuth_deg)
    )


def place_words(longitude_deg: float, latitude_deg: float) -> str:
    """Return a place as readers see it."""
    return tell(
        "{longitude_deg}, {latitude_deg}",
        longitude_deg=spoken(longitude_deg, 5),
        latitude_deg=spoken(latitude_deg, 5),
    )


def _feed_mark(hill: Hill) -> Mark:
    feed = hill.candidate.whole_feed
    return Mark(feed.verdict, true_minus(feed.words))


def _public_words(hill: Hill) -> str:
    exposure = hill.candidate.exposure
    if exposure is None:
        return tell("not worked out: {exposure_fault}", exposure_fault=hill.candidate.exposure_fault)
    return tell("{distance_m} m", distance_m=spoken(exposure.distance_m, 1))


_FEED: Final = many(
    "feed",
    text("service", "service"),
    number("input_dbm", "input"),
    number("carrier_to_noise_db", "C/N at time"),
    number("search_margin_db", "search margin", "margin_db"),
    get="candidate.feed",
)
_SERVICES: Final = many(
    "services",
    text("name", "service"),
    whole("channel", "channel"),
    number("frequency_mhz", "frequency"),
    number("erp_w", "ERP"),
    get="candidate.station.services",
)
HILL: Final = many(
    "list",
    whole("rank", "hill", "candidate.rank"),
    number("longitude_deg", "longitude", "candidate.station.longitude_deg", decimals=5),
    number("latitude_deg", "latitude", "candidate.station.latitude_deg", decimals=5),
    number("ground_m", "ground", "candidate.ground_m"),
    number("above_valley_m", "over valley", "candidate.above_valley_m"),
    number("slope_deg", "slope", "candidate.slope_deg", decimals=0),
    number("access_m", "to access", "candidate.access_m", null="the study names no access"),
    text("parent", "hears", "candidate.parent"),
    number("parent_km", "over", "candidate.parent_km", decimals=1),
    number("search_margin_db", "search margin", "candidate.feed_margin_db"),
    _FEED,
    number(
        "judged_margin_db", "margin", "candidate.whole_feed.margin_db",
        meaning="of the feed as combe feed has it", null="it is not judged",
    ),
    text("feed_verdict", get="candidate.whole_feed.verdict", meaning="passes, not judged or fails"),
    texts("feed_causes", get="candidate.whole_feed.causes"),
    texts("feed_not_judged", get="candidate.whole_feed.not_judged"),
    OWN_FEED,
    people("people", "people", "candidate.people", meaning="newly served in all services, by the search"),
    people("people_counted", "counted", "candidate.counted", meaning="by the whole coverage"),
    one("people_range", *RANGE, get="candidate.people_range",
        meaning=f"of the counted, by the error of the prediction: {OF_TEN} from low to high"),
    number("first_leads_fraction", "first leads", "lead.chance", decimals=2,
           meaning="chance that hill 1 is worth more", null="it is hill 1"),
    flag(
        "told_apart", "told apart", "lead.told_apart", meaning="hill 1 leads it by more than the error",
        null="it is hill 1",
    ),
    people("people_alone", "alone", "candidate.alone", meaning="by no other hill of the list"),
    people(
        "people_harmed", "harmed", lambda hill: hill.candidate.harmed if hill.harm_counted else None,
        meaning="lose a service from another station", null="interference is not counted",
    ),
    people("score", "score", "candidate.score", meaning="people less those harmed"),
    number("share_percent", get=lambda hill: 100.0 * hill.candidate.share,
           meaning="people, of all who lack a service"),
    text("pattern", get="candidate.option"),
    number("azimuth_deg", get="candidate.azimuth_deg", null="the pattern has none"),
    _SERVICES,
    number(
        "exposure_m", get=lambda hill: hill.candidate.exposure and hill.candidate.exposure.distance_m,
        meaning="that the public keeps off the main beam", null="not worked out",
    ),
    number("cost", "cost", lambda hill: hill.candidate.cost if hill.has_costs else None,
           null="the study gives none", decimals=0),
    texts("reasons", get=lambda hill: [for_terminal(words) for words in hill.candidate.reasons]),
    text("page", get=lambda hill: hill.page and hill.page.resolve(), meaning="path", null="not written"),
)  # fmt: skip
"""A hill in the JSON of a siting, and all that is shown of it."""

_AMONG: Final = (
    whole("hills", get="searched", meaning="that were searched"),
    people("people_unserved", get="unserved", meaning="who lack a service"),
)
FORM: Final = Form("hill", (*HILL.fields, *_AMONG))
COMPARED: Final = Form(
    "hills",
    (
        many("hills", *HILL.fields, get="hills"),
        people("people_together", get="found.together", meaning="served by the one or the other"),
        people("people_both", get="found.both", meaning="served by either"),
    ),
)

PATTERN: Final = text(
    "", "pattern", lambda hill: pattern_words(hill.candidate.option, hill.candidate.azimuth_deg)
)
FEED: Final = mark("", "feed", _feed_mark)
OWN: Final = mark("", "own relay", lambda hill: own_mark(hill.own_feed))
_JUDGED: Final = (
    text("", "service", "radiated.name"),
    mark("", "verdict", "verdict"),
    text("", "why", lambda service: true_minus(service.reason)),
)


def document(report: SiteReport, number_of_hill: int) -> Document:
    """Return the document of one hill of the list, counted from 0."""
    hill = hill_of(report, number_of_hill)
    facts = Facts(_facts(report), hill)
    return Document(
        form=FORM,
        answer=hill,
        title=tell("hill {rank}", rank=hill.candidate.rank),
        headline=(tell("It {reasons}.", reasons=true_minus(hill.candidate.reasons[0])),),
        parts=(_reasons(hill, 1), facts, *_sheet(report, hill)),
        back=("site.html", "All hills on the map"),
        study=study_named(report.work.project, report.provenance),
        made_by=report.provenance,
    )


class _Compared(NamedTuple):
    hills: tuple[Hill, Hill]
    found: ComparedHills


def comparison(report: SiteReport, found: ComparedHills) -> Document:
    """Return the document of two hills side by side."""
    first, second = (hill_of(report, each.rank - 1) for each in (found.first, found.second))
    together = tell(
        "Together they serve {together} people; {both} are reached by both.",
        together=spoken(found.together),
        both=spoken(found.both),
    )
    sides = tuple(Section(each.name, (_reasons(each, 0), *_sheet(report, each))) for each in (first, second))
    return Document(
        form=COMPARED,
        answer=_Compared((first, second), found),
        title=tell("hills {first} and {second}", first=first.candidate.rank, second=second.candidate.rank),
        headline=(together,),
        parts=(
            Table("Side by side", _facts(report), (first, second), across="name"),
            Section("", sides, beside=True),
        ),
        study=study_named(report.work.project, report.provenance),
        made_by=report.provenance,
    )


def _facts(report: SiteReport) -> tuple[Field, ...]:
    """Return the facts of a hill, those that the study asks for."""
    search = report.work.search
    told = {field.key: field for field in HILL.fields}
    harmed = as_told(told["people_harmed"], "People who lose a service by it")
    if not search.harm_counted:
        harmed = text("", harmed.head, lambda _: "not looked at", right=True)
    facts = [
        text("", "Longitude, latitude", _place, right=True),
        as_told(told["ground_m"], "Ground"),
        as_told(told["above_valley_m"], "Over the lowest ground around"),
        as_told(told["slope_deg"], "Slope"),
        text("", "Hears", "candidate.parent", right=True),
        as_told(told["parent_km"], "Distance to it"),
        as_told(told["search_margin_db"], "Weakest search margin"),
        as_told(told["judged_margin_db"], "Margin of the feed as judged"),
        replace(FEED, head="Feed with the siting's aerial", right=True),
        as_told(told["people"], "People newly served, as scored"),
        harmed,
        as_told(told["people_counted"], "Newly served by the whole coverage"),
        text(
            "",
            tell("The same {of_ten}", of_ten=OF_TEN),
            lambda hill: range_words(hill.candidate.people_range),
            right=True,
        ),
        as_told(told["people_alone"], "Reached by no other of the list"),
        replace(PATTERN, head="Pattern", right=True),
        text("", "Public keeps off the main beam", _public_words, right=True),
    ]
    if own := own_name(report):
        facts.insert(
            9, replace(OWN, head=tell("Feed with {own}'s own aerial and chain", own=own), right=True)
        )
    if report.work.ground.access_m is not None:
        facts.append(as_told(told["access_m"], "To the nearest access"))
    if search.may_harm:
        facts.append(as_told(told["score"], "Score, newly served less harmed"))
    if search.has_costs:
        facts.append(as_told(told["cost"], "Cost"))
    return tuple(facts)


def own_name(report: SiteReport) -> str:
    """Return the name of the study's own relay that was judged on the hills; nothing without one."""
    return next((each.relay for each in report.own_feeds.values()), "")


def _place(hill: Hill) -> str:
    station = hill.candidate.station
    return place_words(station.longitude_deg, station.latitude_deg)


def _reasons(hill: Hill, first: int) -> Words:
    own = (own_line(hill.own_feed),) if hill.own_feed else ()
    told = (*map(true_minus, hill.candidate.reasons[first:]), *own)
    return Words(told, listed=True, brief=True)


def _sheet(report: SiteReport, hill: Hill) -> tuple[Part, ...]:
    """Return whom a hill serves, drawn, its feed as the siting has it and as the study's own relay has it."""
    candidate = hill.candidate
    return (
        Picture(
            lambda: _drawn(report, candidate),
            tell("What hill {rank} newly serves, over the shaded ground", rank=candidate.rank),
            "Ground and people newly served",
            inline=True,
        ),
        *_feed_parts(report, candidate),
        *own_parts(hill.own_feed, _instead(report, candidate)),
        Table("Radiated", _SERVICES.fields, candidate.station.services),
    )


def _feed_parts(report: SiteReport, candidate: Candidate) -> tuple[Part, ...]:
    """Return the verdict on the feed with the siting's aerial, its way, and what the search found."""
    from combe.answers.site_feed import NOT_JUDGED

    feed, asked = candidate.whole_feed, report.work.question
    allowance_db = asked.fade_allowance_db
    allowance = (
        tell(", {allowance_db:g} dB of allowance taken off", allowance_db=allowance_db)
        if allowance_db > 0.0
        else ""
    )
    searched = tell(
        "as the search finds it, by its own samples of the ground, no discrimination by the aerial; "
        "asked: {required_margin_db:g} dB for {time_percent:g} % of time{allowance}; "
        "the input is the median",
        required_margin_db=asked.chain.required_margin_db,
        time_percent=asked.time_percent,
        allowance=allowance,
    )
    weakest = min(candidate.feed, key=lambda each: each.margin_db).service
    way = (profile_picture(feed.path, weakest, "The way of the feed"),) if feed.path else ()
    return (
        Table(
            "Verdict on the feed with the siting's aerial",
            _JUDGED,
            feed.services,
            note=tell(
                "received with an {receiving_words}; {not_judged}",
                receiving_words=receiving_words(report),
                not_judged=NOT_JUDGED,
            ),
            verdict=Mark(feed.verdict, feed.verdict),
        ),
        *way,
        Table(
            tell("Feed from {parent}, as searched", parent=candidate.parent),
            _FEED.fields,
            candidate.feed,
            note=searched,
        ),
    )


def _instead(report: SiteReport, candidate: Candidate) -> str:
    """Return how the feed stands with the siting's aerial, for where the study's own relay fails."""
    feed = candidate.whole_feed
    stands = "passes" if feed.verdict == "passes" else "does not pass either"
    return tell(
        "With the siting's {receiving_words}, it {stands}.",
        receiving_words=receiving_words(report),
        stands=stands,
    )


def receiving_words(report: SiteReport) -> str:
    """Return the receiving side that the siting has on every hill."""
    feed = report.work.siting.feed
    lost_db = feed.feeder_loss_db + feed.splitter_loss_db
    return tell(
        "aerial of {aerial_gain_dbi:g} dBi at {aerial_height_m:g} m, {lost_db:g} dB lost on the "
        "way, noise figure {noise_figure_db:g} dB, as [siting.feed] of the study has it",
        aerial_gain_dbi=feed.aerial_gain_dbi,
        aerial_height_m=feed.aerial_height_m,
        lost_db=lost_db,
        noise_figure_db=feed.noise_figure_db,
    )


def _drawn(report: SiteReport, candidate: Candidate) -> str:
    from combe.reports.site_picture import hill_picture

    return hill_picture(report, candidate)
