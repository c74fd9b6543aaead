"""Where a visit measures in the chain of a feed; point n lies ahead of stage n, 0 is the aerial."""

from __future__ import annotations

from typing import Final

from combe.project import Feed

_SPLITTERS: Final = ("passive splitter", "active splitter")


def stage_kinds(feed: Feed | None) -> list[str]:
    """Return the kinds of the stages of a feed in order; those of a first budget where it lists none."""
    return [] if feed is None else [stage.kind for stage in feed.stages]


def splitters(kinds: list[str]) -> list[int]:
    """Return which stages of a chain are splitters."""
    return [index for index, kind in enumerate(kinds) if kind in _SPLITTERS]


def feeder_end(kinds: list[str]) -> int:
    """Return the point of the chain at which the feeder ends.

    It is the last feeder ahead of the splitters. Without one it is the input of the first splitter, or else
    the aerial's terminals.
    """
    ahead = kinds[: splitters(kinds)[0]] if splitters(kinds) else kinds
    feeders = [index for index, kind in enumerate(ahead) if kind == "feeder"]
    if feeders:
        return feeders[-1] + 1
    return len(ahead) if splitters(kinds) else 0
