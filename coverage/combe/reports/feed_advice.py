"""What is said of the ways to mend a feed that fails: a line of the answer, a list, and the keys of JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from combe.publishing.document import Part, Words
from combe.publishing.fields import flag, many, number, text
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.feed import RelayFeed

ADVICE: Final = many(
    "advice",
    text("kind", meaning="height, gain or parent"),
    flag("helps", meaning="the feed passes with it"),
    text("words"),
    text("tried"),
    number("height_m", null="another kind, or no height helps"),
    number("added_gain_db", null="another kind, or no gain helps"),
    text("parent", null="another kind, or no other station radiates all of its services"),
    number("margin_db", null="it does not help, or the margin is not known"),
    get="advice",
    meaning="what was tried where the feed fails; empty where it passes",
    null="not asked for, or the feed is not judged",
)
"""The keys of what was tried."""


def advice_line(relay: RelayFeed, *, several: bool) -> str:
    """Return in a line what would carry a feed that fails; nothing where nothing was tried."""
    if not relay.advice:
        return ""
    whose = tell("{name} ", name=relay.relay.name) if several else ""
    helps, vain = joined(" or ", _shorts(relay, helps=True)), joined(", ", _shorts(relay, helps=False))
    if not helps:
        return tell("{whose}tried in vain: {vain}", whose=whose, vain=vain)
    return tell(
        "{whose}would pass with {helps}{vain}",
        whose=whose,
        helps=helps,
        vain=tell("; not with {vain}", vain=vain) if vain else "",
    )


def _shorts(relay: RelayFeed, *, helps: bool) -> list[str]:
    return [each.short for each in relay.advice or () if each.short and each.helps is helps]


def advice_parts(relay: RelayFeed) -> list[Part]:
    """Return all that was tried, first what helps."""
    if not relay.advice:
        return []
    words = tuple(each.words for each in sorted(relay.advice, key=lambda each: not each.helps))
    return [Words(words, "What would carry it, tried and judged as the feed is", listed=True)]
