"""Every exception of the package: one root, and each child also a builtin that carries its values.

Beside them stand the checks that objects make of what they are given.
"""

from __future__ import annotations

import difflib
import json
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from numbers import Real
from pathlib import Path
from typing import Final


class CombeError(Exception):
    """Root of all errors that Combe raises on purpose; its text is one line fit for a user."""


class RangeError(CombeError, ValueError):
    """A number outside the range in which a function or a Recommendation is valid."""

    def __init__(self, name: str, given: object, allowed: str, advice: str = "") -> None:
        self.name, self.given, self.allowed = name, given, allowed
        super().__init__(f"{name} is {given}; allowed: {allowed}" + (f"; {advice}" if advice else ""))


class ProfileError(CombeError, ValueError):
    """A terrain profile whose arrays cannot be used (length, order, voids)."""


class RasterError(CombeError, OSError):
    """A raster that cannot be opened or lacks what is needed of it (a CRS, a band, a driver)."""

    def __init__(self, path: Path | str, problem: str, advice: str = "") -> None:
        self.path, self.problem = Path(path), problem
        super().__init__(f"raster {path}: {problem}" + (f"; {advice}" if advice else ""))


class TerrainGapError(CombeError, LookupError):
    """Terrain is asked for where the tiles hold none: a void, or beyond their edge."""

    def __init__(self, tile: str, place: str, advice: str = "") -> None:
        self.tile, self.place = tile, place
        super().__init__(f"no terrain height at {place} (tile {tile})" + (f"; {advice}" if advice else ""))


class PatternError(CombeError, ValueError):
    """An aerial pattern table that leaves a gap or cannot be read."""

    def __init__(self, source: Path | str, problem: str, advice: str = "") -> None:
        self.source, self.problem = source, problem
        super().__init__(f"aerial pattern {source}: {problem}" + (f"; {advice}" if advice else ""))


class TableError(CombeError, ValueError):
    """A table in a text file that cannot be read."""

    def __init__(self, source: Path | str, problem: str, advice: str = "") -> None:
        self.source, self.problem = source, problem
        super().__init__(f"table {source}: {problem}" + (f"; {advice}" if advice else ""))


class ChannelError(CombeError, ValueError):
    """A channel that the channel raster of the television system does not have."""

    def __init__(self, channel: object, allowed: str) -> None:
        self.channel, self.allowed = channel, allowed
        super().__init__(f"channel {channel} is unknown; allowed: {allowed}")


class StudyError(CombeError, ValueError):
    """A study file with faults: every one of them, each with its path in the file."""

    def __init__(self, path: Path | str, faults: Sequence[str]) -> None:
        self.path, self.faults = Path(path), tuple(faults)
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        super().__init__(f"study {path} has {count}: " + " | ".join(self.faults))


class OutputError(CombeError, OSError):
    """A folder or file that cannot be written; nothing was left half-written."""

    def __init__(self, path: Path | str, problem: str, advice: str = "") -> None:
        self.path, self.problem = Path(path), problem
        super().__init__(f"cannot write {path}: {problem}" + (f"; {advice}" if advice else ""))


class StoreError(CombeError, OSError):
    """A stored intermediate result that is gone or was changed while a run uses it."""

    def __init__(self, path: Path | str, problem: str, advice: str = "") -> None:
        self.path, self.problem = Path(path), problem
        super().__init__(f"stored result {path}: {problem}" + (f"; {advice}" if advice else ""))


class MissingLibraryError(CombeError, ImportError):
    """A library that Combe can use and does not need is not installed."""

    def __init__(self, library: str, wanted_for: str, advice: str) -> None:
        self.library = library
        super().__init__(f"{wanted_for} needs {library}, which is not installed; {advice}")


class MemoryNeedError(CombeError, MemoryError):
    """Work that takes more memory than the machine has, refused before it begins."""

    def __init__(self, what: str, needed_mib: float, has_mib: float, advice: str) -> None:
        self.needed_mib, self.has_mib = needed_mib, has_mib
        super().__init__(
            f"{what}: would take about {needed_mib:.0f} MiB of memory; allowed: {has_mib:.0f}, "
            f"all that this machine has; {advice}"
        )


class FetchError(CombeError, OSError):
    """A file of open data that could not be fetched, or is not what it should be; nothing of it is kept."""

    def __init__(self, address: Path | str, problem: str, advice: str = "") -> None:
        self.address, self.problem = str(address), problem
        super().__init__(f"cannot fetch {address}: {problem}" + (f"; {advice}" if advice else ""))


class InUseError(CombeError, OSError):
    """Something that only one may work at, and another one has."""

    def __init__(self, what: str, where: str, advice: str = "") -> None:
        self.what, self.where = what, where
        super().__init__(f"{what} is in use {where}" + (f"; {advice}" if advice else ""))


class Cancelled(CombeError, RuntimeError):  # noqa: N818 (nothing is wrong where it is raised)
    """Work that was given up because its asker no longer wants the answer; it left everything as it was."""

    def __init__(self, what: str = "the work") -> None:
        super().__init__(f"{what} was given up, for nobody waits for it any more")


class PageError(CombeError, RuntimeError):
    """A page that could not be made self-contained, for example for an unknown link."""


def require_range(name: str, value: object, low: float, high: float, advice: str = "") -> None:
    """Raise :class:`RangeError` unless ``value`` is a number from ``low`` to ``high``, both included."""
    number = isinstance(value, Real) and not isinstance(value, bool)
    if not (number and low <= value <= high):  # type: ignore[operator]
        raise RangeError(name, value if number else repr(value), f"{low:g} to {high:g}", advice)


LONGEST_NAME: Final = 80
LONGEST_SIGNAL_NAME: Final = 200
"""Of a signal, which may be named by station, service and what of it is meant."""


def require_name(field: str, name: object, longest: int = LONGEST_NAME) -> None:
    """Raise :class:`RangeError` unless ``name`` is text on one line of 1 to ``longest`` signs."""
    good = isinstance(name, str) and len(name.strip()) > 0 and len(name) <= longest and name.isprintable()
    if not good:
        shown = repr(name) if len(repr(name)) <= LONGEST_NAME else repr(name)[:LONGEST_NAME] + "..."
        raise RangeError(field, shown, f"1 to {longest} printable characters, not only spaces")


def require_choice(field: str, given: object, choices: Sequence[str]) -> None:
    """Raise :class:`RangeError` unless ``given`` is one of ``choices``."""
    if given not in choices:
        raise RangeError(field, repr(given), " or ".join(choices))


def require_distinct(field: str, values: Iterable[Hashable]) -> None:
    """Raise :class:`RangeError` when a value comes twice."""
    twice = [value for value, count in Counter(values).items() if count > 1]
    if twice:
        raise RangeError(field, f"{twice[0]!r} more than once", "each once only", "rename or remove one")


def quoted(text: str) -> str:
    """Return text in quotes on one line, whatever signs it holds."""
    return json.dumps(text, ensure_ascii=not text.isprintable())


def nearest(given: str, allowed: Iterable[str]) -> str | None:
    """Return the allowed word that a given one may stand for, letter case aside; None where none is near."""
    folded = {word.casefold(): word for word in allowed}
    near = difflib.get_close_matches(given.casefold(), folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else None


def did_you_mean(given: str, allowed: Iterable[str]) -> str:
    """Return ``did you mean …?`` with the nearest allowed word, or the list of allowed words."""
    words = list(allowed)
    near = nearest(given, words)
    if near is not None:
        return f"did you mean {quoted(near)}?"
    listed = ", ".join(word if word.isprintable() else quoted(word) for word in words)
    return f"allowed: {listed}" if words else "nothing is allowed here"
