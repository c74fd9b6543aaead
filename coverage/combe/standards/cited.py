"""How a table of published values says where each value is from and how far to trust it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple, get_args

from combe.errors import RangeError
from combe.words import chain, joined, tell

Confidence = Literal["read", "computed", "from memory", "own choice"]
"""``read`` in a public text or copy of it, ``computed`` from read values, recalled ``from memory``, or the
``own choice`` of this program, which no source gives."""


@dataclass(frozen=True)
class Cited:
    """One published value.

    Parameters
    ----------
    value : float
        In the unit that the table's name says.
    reference : str
        Publication and place in it.
    confidence : {"read", "computed", "from memory", "own choice"}
    """

    value: float
    reference: str
    confidence: Confidence

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)


def require_citation(reference: str, confidence: str) -> None:
    """Raise :class:`RangeError` for a row without a reference or with an unknown confidence."""
    if not reference.strip():
        raise RangeError("reference of a table row", repr(reference), "the publication and the place in it")
    if confidence not in get_args(Confidence):
        raise RangeError("confidence of a table row", repr(confidence), " or ".join(get_args(Confidence)))


def describe(reference: str, confidence: Confidence) -> str:
    """Return the reference for print, with a mark where it was not read."""
    marks = {
        "read": "",
        "computed": " (computed)",
        "from memory": " (from memory, unverified)",
        "own choice": " (own choice, no source)",
    }
    return chain(reference, marks[confidence]) if marks[confidence] else reference


class Citation(NamedTuple):
    """Where one of the values behind a result is from: ``what`` names it in words."""

    what: str
    reference: str
    confidence: Confidence


def recalled(citations: Iterable[Citation]) -> tuple[str, ...]:
    """Return what among the values behind a result is from memory, each once, in their order."""
    return tuple(
        dict.fromkeys(citation.what for citation in citations if citation.confidence == "from memory")
    )


def memory_note(citations: Iterable[Citation]) -> str:
    """Return the words with which an output says what it takes from memory; empty when nothing is.

    Examples
    --------
    >>> memory_note([Citation("noise figure", "ITU-R X", "from memory")])
    'from memory, unverified: noise figure'
    """
    names = recalled(citations)
    return tell("from memory, unverified: {names}", names=joined(", ", names)) if names else ""
