"""What is said of the study's own relay on a hill: its verdict there, and what would carry its feed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from combe.digits import true_minus
from combe.publishing.document import Part, Table
from combe.publishing.fields import Mark, mark, number, one, text, texts, within
from combe.reports.feed_advice import ADVICE, advice_line, advice_parts
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.site_own_feed import OwnFeed

OWN_FEED: Final = one(
    "own_feed",
    text("relay"),
    text("verdict", meaning="passes, not judged or fails"),
    number("margin_db", meaning="least of its services", null="not known"),
    texts("causes", meaning="what fails it"),
    text("fault", get=lambda own: own.fault or None, meaning="why it cannot be predicted", null="it is"),
    *within("feed", (ADVICE,)),
    get="own_feed",
    meaning="of the study's own relay on the hill, with its aerial and chain as the study states them",
    null="no relay of the study may be moved: none radiates all these services, or they all stay",
)
"""The keys of the study's own relay on a hill."""

_SERVICES: Final = (
    text("", "service", "radiated.name"),
    mark("", "verdict", "verdict"),
    text("", "why", lambda service: true_minus(service.reason)),
)


def own_mark(own: OwnFeed | None) -> Mark:
    """Return the verdict on the study's own relay on a hill."""
    return Mark("noted", "none") if own is None else Mark(own.verdict, own.verdict)


def own_line(own: OwnFeed) -> str:
    """Return in a sentence how the study's own relay would be fed on a hill, and what would carry it."""
    helps = advice_line(own.feed, several=False) if own.feed else ""
    with_it = tell(
        "with {relay}'s own aerial and chain its feed {verdict_words}",
        relay=own.relay,
        verdict_words=true_minus(_verdict_words(own)),
    )
    return tell("{with_it}; {helps}", with_it=with_it, helps=helps) if helps else with_it


def _verdict_words(own: OwnFeed) -> str:
    return tell("is {words}", words=own.words) if own.verdict == "not judged" else own.words


def own_parts(own: OwnFeed | None, instead: str) -> tuple[Part, ...]:
    """Return what a hill's page says of the study's own relay there; nothing without one.

    ``instead`` says how the feed stands with the siting's aerial, and is told where the own does not pass.
    """
    if own is None:
        return ()
    services: tuple[Any, ...] = own.feed.services if own.feed else ()
    told = (
        tell(
            "{relay} of the study, moved here with its aerial turned to the parent, its chain and its "
            "outputs as they are stated, is judged as combe feed judges it.",
            relay=own.relay,
        ),
        own.fault,
        "" if own.verdict == "passes" else instead,
    )
    table = Table(
        tell("Verdict on the feed with {relay}'s own aerial and chain", relay=own.relay),
        _SERVICES,
        services,
        note=joined(" ", filter(None, told)),
        verdict=own_mark(own),
    )
    return (table, *(advice_parts(own.feed) if own.feed else ()))
