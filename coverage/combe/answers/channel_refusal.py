"""Says why no set of channels is possible: whose channels are used up, and what excludes one another.

Only outputs of one relay can exclude one another. Relays that disturb each other cost people, which is
counted and forbids nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from typing import Final

from combe.answers.channel_plan import Output, conflicts, costs_of, without_products
from combe.answers.channel_signals import Field
from combe.answers.relay_channels import inputs_of
from combe.planning.channels.assignment import assign

TOP_REASONS: Final = 3
_NOT_FOUND: Final = "none was found that keeps what must be kept; try with fewer relays, or more channels"


def why_no_plan(field: Field, outputs: Sequence[Output]) -> tuple[str, ...]:
    """Return a line for each output that has no channel left, or else for what excludes one another."""
    used_up = [_used_up(each) for each in outputs if not each.ranking.ranked]
    return tuple(used_up or _exclusions(field, outputs)) or (_NOT_FOUND,)


def _used_up(output: Output) -> str:
    rejected, who = output.ranking.rejected, f"{output.relay.name}, {output.service.name}"
    reasons = [_kind(reason) for why in rejected.values() for reason in dict.fromkeys(why)]
    return (
        f"{who}: no channel is left; rejected are all {len(rejected)} that may be used: {_counted(reasons)}"
    )


def _kind(reason: str) -> str:
    """Return a reason without the level that differs from channel to channel."""
    return reason.partition(" arrives with")[0]


def _counted(reasons: Iterable[str]) -> str:
    """Return the reasons that hold most often, each with its number."""
    counts = Counter(reasons).most_common()
    said = ", ".join(f"{reason} ({count})" for reason, count in counts[:TOP_REASONS])
    return said + (f" and {len(counts) - TOP_REASONS} more reasons" if len(counts) > TOP_REASONS else "")


def _exclusions(field: Field, outputs: Sequence[Output]) -> Iterator[str]:
    """Yield a line for each relay whose own outputs have no set that can stand together."""
    for relay in dict.fromkeys(each.relay.name for each in outputs):
        own = [each for each in outputs if each.relay.name == relay]
        pairs = [words for one, other in combinations(own, 2) if (words := _pair(field, one, other))]
        if pairs:
            yield from pairs
        elif together := _set(field, own):
            yield f"{relay}: {together}"


def _pair(field: Field, one: Output, other: Output) -> str:
    """Say that two outputs exclude one another on every pair of channels; nothing where they do not."""
    costs = costs_of([one, other])
    found = conflicts(field, [one, other], costs)
    count = len(costs[0]) * len(costs[1])
    if len(found) < count:
        return ""
    kinds = Counter(found.values()).most_common(TOP_REASONS)
    return (
        f"{one.relay.name}: {one.service.name} and {other.service.name} exclude one another on "
        f"{'the only pair' if count == 1 else f'all {count} pairs'} of channels left to them: "
        f"{', '.join(words for words, _ in kinds)}{', ...' if len(set(found.values())) > TOP_REASONS else ''}"
    )


def _set(field: Field, own: Sequence[Output]) -> str:
    """Say why the outputs of a relay have no set, though any two of them have; nothing where they have."""
    costs = costs_of(own)
    forbidden = list(conflicts(field, own, costs))
    if assign(costs, {}, forbidden) is None:
        return f"its {len(own)} outputs cannot all stand together on the channels left, though any two can"
    if without_products(field, own, costs, {}, forbidden, own_outputs=False) is not None:
        return ""
    inputs = ", ".join(str(service.channel) for service in inputs_of(field, own[0].relay))
    return (
        f"a third-order product of every set of channels tried for its {len(own)} outputs falls on its "
        f"inputs ({inputs})"
    )
