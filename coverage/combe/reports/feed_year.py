"""A feed over the year: its shares, how long it does not stand, and what is judged at which of its times."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.publishing.document import Part, Table, Words
from combe.publishing.fields import UNITS, Field, flag, many, mark, number, text
from combe.reports.feed_rows import Row, rows_of
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.feed import RelayFeed
    from combe.answers.feed_service import ServiceFeed

_MEDIAN_PERCENT: Final = 50.0
_UNKNOWN: Final = "C/N is not known"
_ASKED: Final = number("", "asked", "service.budget.required_margin_db", unit=UNITS["db"])

_TIMES: Final = many(
    "times",
    text(
        "",
        "share of the year",
        lambda row: tell("{time_percent:g} %", time_percent=row.found.time_percent),
        right=True,
    ),
    number("time_percent", get="found.time_percent"),
    flag("asked", get="found.asked", meaning="by the study or the command"),
    text("", "beyond it, a year", "found.without", right=True),
    number("minutes_a_year_without", get="found.minutes_without"),
    number("fade_db", "fade", "found.fade_db"),
    number("field_strength_dbuv_m", "field", "found.field_dbuv_m"),
    number("carrier_to_noise_db", "C/N", "found.carrier_to_noise_db", null=_UNKNOWN),
    number("margin_db", "margin", "found.margin_db", limit=_ASKED, null=_UNKNOWN),
    mark("verdict", "verdict", "found.verdict", meaning="of the margin and the loop alone"),
    get=rows_of("year.shares"),
    meaning="own outputs and loop counted, other stations not",
)

YEAR: Final = (
    number(
        "enhancement_percent", get="year.rare_percent", meaning="as rare as the judged fade, 1 at most"
    ),
    many("enhancements", number("time_percent"), number("enhancement_db"), get="year.enhancements"),
    _TIMES,
    number(
        "stands_for_percent", get="year.stands_for.percent", null=_UNKNOWN,
        meaning="share of an average year for which C/N is that required or more, no margin left",
    ),
    flag(
        "stands_for_bounded", get="year.stands_for.bounded", null=_UNKNOWN,
        meaning="it is more than 99.999 %, or less than 50 %, and was not sought further",
    ),
    number("minutes_a_year_without", get="year.minutes_without", null=_UNKNOWN),
    number(
        "worst_month_without_percent", get="year.worst_month_percent", null=_UNKNOWN,
        meaning="share of the worst month without, ITU-R P.841 from memory",
    ),
    number(
        "median_differs_db", get="year.median_differs_db",
        meaning="loss of P.2001-4 at its median over bare ground, less that of the study's model",
    ),
)  # fmt: skip
"""Fields of a service."""


def _rise(percent: float) -> Callable[[ServiceFeed], float]:
    """Return how the enhancement for a small share of the year is read."""

    def found(service: ServiceFeed) -> float:
        return next(each.enhancement_db for each in service.year.enhancements if each.time_percent == percent)

    return found


class JudgedWhen(NamedTuple):
    """At what the wanted signal counts for an item, and at what that which stands against it."""

    item: str
    wanted_at: str
    unwanted_at: str


def judged_when(relay: RelayFeed) -> tuple[JudgedWhen, ...]:
    """Return what is judged at which time, for the share of the year that a relay's feed is asked."""
    percent = relay.services[0].budget.time_percent
    fade = (
        "median" if percent == _MEDIAN_PERCENT else tell("fade, {percent:g} % of the year", percent=percent)
    )
    rise = tell("enhancement, {rare_percent:g} %", rare_percent=relay.services[0].year.rare_percent)
    return (
        JudgedWhen("noise", fade, "as it always is, that of own outputs too"),
        JudgedWhen("loop", fade, "own output held: its gain is up by the fade"),
        JudgedWhen("own outputs", fade, "held, they never fade"),
        JudgedWhen("others, continuous", fade, "median"),
        JudgedWhen("others, tropospheric", "median", "1 % of time"),
        JudgedWhen("parent's other services", "median", "median: over one path they fade alike"),
        JudgedWhen("window, bottom and mute", fade, "–"),
        JudgedWhen("window, top", rise, "–"),
        JudgedWhen("overload", rise, "the parent's rise too; others and own at the median"),
        JudgedWhen("output amplifier", "output held", "products of what it carries itself"),
        JudgedWhen("chain of relays", "fade of each hop", "–"),
    )


_WHEN: Final = (text("item", "item"), text("wanted_at", "wanted at"), text("unwanted_at", "against it"))
JUDGED_WHEN: Final = many("judged_when", *_WHEN, get=judged_when)

_STANDING: Final = (
    text("", "service", "received.name"),
    text("", "stands for", "year.share", right=True),
    text("", "a year without", "year.year_without", right=True),
    text("", "in the worst month", "year.month_without", right=True),
    *(
        number("", tell("rises, {percent:g} %", percent=percent), _rise(percent), unit=UNITS["db"])
        for percent in (1.0, 0.1)
    ),
    number("", "medians", "year.median_differs_db", unit=UNITS["db"], signed=True),
)
_NOTE: Final = (
    "Share of an average year for which C/N is that required or more, no margin left; noise, own outputs and"
    " the loop counted, other stations not. Worst month by ITU-R P.841, from memory. Rises: of the field over"
    " its median. Medians: loss of P.2001 over bare ground less that of the study's model, a check."
)


def over_the_year(relay: RelayFeed) -> list[Part]:
    """Return how a relay's services stand over the year, and what is judged when."""
    rows = tuple(Row(service, share) for service in relay.services for share in service.year.shares)
    columns: tuple[Field, ...] = tuple(
        each for each in (*_TIMES.fields[:-1], _ASKED, _TIMES.fields[-1]) if each.head
    )
    asked = joined(", ", (tell("{share:g}", share=share) for share in relay.side.feed.time_percents))
    doubts = [
        tell("{name}: {median_words}", name=each.received.name, median_words=each.year.median_words)
        for each in relay.services
        if each.year.median_words
    ]
    return [
        Table("Over the year", _STANDING, relay.services, _NOTE),
        *([Words(tuple(doubts), listed=True)] if doubts else []),
        Table(
            "Share by share of the year",
            columns,
            rows,
            tell(
                "Asked for {asked} %, judged at the greatest; the margin is over the required C/N.",
                asked=asked,
            ),
            group="service.received.name",
        ),
        Table(
            "What is judged when",
            _WHEN,
            judged_when(relay),
            "Fades and interference from afar do not come at the same time: the worse of the two is told.",
        ),
    ]
