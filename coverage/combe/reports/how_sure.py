"""How sure a number of people is, in words and tables: between which numbers it lies, and that in a form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from combe.digits import spoken
from combe.publishing.document import Table
from combe.publishing.fields import Field, one, people, text
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.network import Network
    from combe.planning import CountRanges, PeopleRange

OF_TEN: Final = "eight times in ten"
_NOTE: Final = tell(
    "the people lie in the range {of_ten}, by the error of the prediction; the best figure may lie beyond "
    "it, for where many are just over the limit errors take more than they give",
    of_ten=OF_TEN,
)

RANGE: Final = tuple(people(end, null="no people") for end in ("low", "expected", "high"))
RANGES: Final = one(
    "ranges",
    *(
        one(name, *RANGE, like="low, expected and high")
        for name in ("served", "unserved", "served_before", "newly_served", "lost")
    ),
    meaning=f"by the error of the prediction: {OF_TEN} from low to high",
    null="no people",
)


def range_words(found: PeopleRange | None) -> str | None:
    """Return between which numbers people lie; one where rounding leaves no other."""
    if found is None:
        return None
    low, high = spoken(found.low), spoken(found.high)
    return low if low == high else tell("{low} to {high}", low=low, high=high)


def range_sentences(ranges: CountRanges | None, *, relays: bool) -> tuple[str, ...]:
    """Return between which numbers the people served lie, and with relays the newly served; or nothing."""
    if ranges is None:
        return ()
    new = tell(", {range_words} newly", range_words=range_words(ranges.newly_served)) if relays else ""
    return (
        tell(
            "By the prediction's error, {of_ten} {range_words} are served{new}.",
            of_ten=OF_TEN,
            range_words=range_words(ranges.served),
            new=new,
        ),
    )


def range_remarks(network: Network) -> tuple[str, ...]:
    """Return why the best figure of the newly served lies over its own range, where it does."""
    ranges, best = network.ranges, network.people
    counted = best.newly_served if best else None
    if ranges is None or ranges.newly_served is None or counted is None:
        return ()
    if spoken(counted) == spoken(ranges.newly_served.high) or counted < ranges.newly_served.high:
        return ()
    return (
        tell(
            "The {counted} newly served lie over their range: where single places are off, parents "
            "reach some of them.",
            counted=spoken(counted),
        ),
    )


def range_table(title: str, head: str, rows: Sequence[Any], *, lost: bool) -> Table:
    """Return the ranges of rows that have a name and ``ranges``; of people who lose a service if asked."""
    shown = [each for each in _COLUMNS if lost or each.head != "lost"]
    return Table(title, (text("", head, "name"), *shown), tuple(rows), note=_NOTE)


def _range(head: str, name: str) -> Field:
    return text("", head, lambda row: range_words(row.ranges and getattr(row.ranges, name)), right=True)


_COLUMNS: Final = (
    _range("served before", "served_before"),
    _range("newly served", "newly_served"),
    _range("lost", "lost"),
    _range("served", "served"),
    _range("unserved", "unserved"),
)
