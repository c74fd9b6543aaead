"""What the server asks of the one object that knows the state of a desk."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, Protocol

Stop = Callable[[], bool]
"""Tells whether the work is to be given up; who asks raises :class:`combe.errors.Cancelled` then."""

Told = Callable[[float], None]
"""Called with the share of long work that is done, 0 to 1, from whatever thread does it."""

Edit = Mapping[str, Any]
"""One change of a study: of a station, a relay more, or a station less."""


class Layer(NamedTuple):
    """The cells of a layer as bytes, and what tells a page how to read them."""

    codes: bytes
    headers: dict[str, str]


class Session(Protocol):
    """A study at work, with its edits, variants and answers.

    Calls come from several threads. Of those that take ``stop``, and of :meth:`keep`, :meth:`forget` and
    :meth:`save`, one comes at a time (a search for hills apart, which may go on beside them); the others come
    at any time, and answer of the last state that was settled. Without ``ranges`` a new state comes without
    those of its people, which take a while to draw. What is wrong with a question is a
    :class:`combe.errors.CombeError`, and leaves everything as it was.
    """

    def page(self) -> str:
        """Return the whole page."""

    def state(self) -> dict[str, Any]:
        """Return what is known of the present state."""

    def edit(self, edit: Edit, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make one edit and return the new state."""

    def undo(self, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Take the last edit back."""

    def redo(self, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make the edit again that was taken back last."""

    def replay(self, edits: Sequence[Edit], stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make these edits on the study of the file."""

    def sketch(self, edit: Edit, stop: Stop) -> Layer:
        """Return a coarse preview of an edit, which is not kept."""

    def layers(self) -> list[dict[str, Any]]:
        """List the layers that can be shown."""

    def layer(self, key: str, variant: str | None) -> Layer:
        """Return one layer, of the present state or of a variant."""

    def marks(self) -> dict[str, Any]:
        """Return how each mark of people stands."""

    def explain(self, longitude_deg: float, latitude_deg: float) -> dict[str, Any]:
        """Explain one place."""

    def feed(self, station: str) -> dict[str, Any]:
        """Return the feed of a relay."""

    def start_hills(self, told: Told, stop: Stop) -> None:
        """Search for hills, and return when that is done."""

    def hills(self) -> dict[str, Any]:
        """Return what is found of hills."""

    def keep(self, name: str) -> dict[str, Any]:
        """Keep the present state as a variant."""

    def show(self, name: str, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make a variant the present state."""

    def forget(self, name: str) -> dict[str, Any]:
        """Remove a variant."""

    def save(self, path: str, overwrite: bool) -> dict[str, Any]:
        """Write the present state as a study file."""
