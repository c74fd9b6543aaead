"""What a map shows beside the study's own: places, roads, waters, borders, by which one knows the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

from combe.errors import RangeError
from combe.project.given import Given
from combe.terrain import Features

ContextKind = Literal["place", "road", "water", "border", "other"]
CONTEXT_KINDS: Final[tuple[ContextKind, ...]] = get_args(ContextKind)


@dataclass(frozen=True)
class ContextLayer:
    """A vector layer for the map; nothing is worked out of it.

    Parameters
    ----------
    kind : ContextKind
        What its features are, and so how they are drawn.
    layer : Given of Features
    label : str or None
        The field that names its features; None where they have no names.
    credit : str
        Owner and licence, printed on the map.
    """

    kind: ContextKind
    layer: Given[Features]
    label: str | None = None
    credit: str = ""

    def __post_init__(self) -> None:
        if self.kind not in CONTEXT_KINDS:
            raise RangeError("kind of context", repr(self.kind), ", ".join(CONTEXT_KINDS))
