"""Works out every case of evidence at the time it is asked, with the package as it is installed."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from combe.errors import CombeError, RangeError
from combe.evidence import (
    aerials,
    analogue,
    analogue_planning,
    atsc,
    bt419,
    bt2033,
    building_entry,
    channels,
    coordination,
    dvbt,
    exposure,
    fields,
    isdbt,
    man_made_noise,
    one_frequency,
    p526,
    p530_fades,
    p1812_set,
    p1812_steps,
    p1812_vhf,
    p2001_paths,
    p2001_set,
    people_served,
    place_statistics,
    portable,
    protection,
    relays,
)
from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing

REFERENCE_VARIABLE: Final = "COMBE_REFERENCE_DATA"
"""Names a folder with p1812/profiles, p1812/logs, delta_bullington and p2001 of reference data."""

_ROUNDING: Final = 1e-12
"""Relative to the expected figure: what the last digits of double precision may lose."""

_TABLES: Final = (
    fields,
    p526,
    p1812_steps,
    p1812_vhf,
    p2001_paths,
    p530_fades,
    building_entry,
    bt419,
    bt2033,
    dvbt,
    portable,
    man_made_noise,
    atsc,
    isdbt,
    analogue_planning,
    channels,
    protection,
    coordination,
    place_statistics,
    people_served,
    analogue,
    one_frequency,
    relays,
    aerials,
    exposure,
)


@dataclass(frozen=True)
class EvidenceRow:
    """A case with what the engine made of it; NaN, and the reason, where it made nothing."""

    case: EvidenceCase
    computed: float
    problem: str = ""

    @property
    def difference(self) -> float:
        """Computed less expected."""
        return self.computed - self.case.expected

    @property
    def within(self) -> bool:
        """Whether the difference is within the tolerance."""
        allowed = self.case.tolerance + _ROUNDING * max(1.0, abs(self.case.expected))
        return abs(self.difference) <= allowed


def reference_folder() -> Path | None:
    """Return the folder of reference data that the environment names, or None.

    Raises
    ------
    RangeError
        COMBE_REFERENCE_DATA names something that is not a folder.
    """
    named = os.environ.get(REFERENCE_VARIABLE)
    return check_folder(Path(named), REFERENCE_VARIABLE) if named else None


def check_folder(folder: Path, named_by: str) -> Path:
    """Return the folder, or raise RangeError when it is none or holds no reference data."""
    if not any((folder / part).is_dir() for part in ("p1812", "delta_bullington", "p2001")):
        allowed = "a folder that holds p1812, delta_bullington or p2001"
        raise RangeError(named_by, folder, allowed, f"{p1812_set.PUBLIC_SOURCE} has the files")
    return folder


def all_cases(folder: Path | None = None) -> tuple[EvidenceCase, ...]:
    """Return every case; with a folder of reference data also those that need its files."""
    cases = [case for table in _TABLES for case in table.cases()]
    if folder is not None:
        for table in (p526, p1812_set, p2001_set):
            cases += table.file_cases(folder)
    order = list(dict.fromkeys(case.recommendation for case in cases))
    return tuple(sorted(cases, key=lambda case: order.index(case.recommendation)))


def run_case(case: EvidenceCase) -> EvidenceRow:
    """Work one case out."""
    try:
        return EvidenceRow(case, float(case.compute()))
    except (CombeError, ArithmeticError, ValueError, OSError) as problem:
        return EvidenceRow(case, math.nan, " ".join(str(problem).split()))


def of_recommendation(cases: Iterable[EvidenceCase], word: str) -> tuple[EvidenceCase, ...]:
    """Return the cases whose Recommendation holds a word, in any case of letters.

    Raises
    ------
    RangeError
        When none does.
    """
    every = tuple(cases)
    found = tuple(case for case in every if word.casefold() in case.recommendation.casefold())
    if not found:
        names = ", ".join(dict.fromkeys(case.recommendation for case in every))
        raise RangeError("recommendation", repr(word), names, "a part of a name will do")
    return found


def run_evidence(folder: Path | None = None, word: str = "") -> tuple[EvidenceRow, ...]:
    """Work out the cases, those of a Recommendation alone if asked, and return the rows, grouped by it."""
    return tuple(run_case(case) for case in of_recommendation(all_cases(folder), word))


def checked_rows(rows: Iterable[EvidenceRow]) -> list[EvidenceRow]:
    """Return the rows that check something: all but look-ups that were typed twice from memory."""
    return [row for row in rows if row.case.checked]


def count_by_standing(rows: Iterable[EvidenceRow]) -> dict[Standing, tuple[int, int]]:
    """Return for each standing how many figures there are and how many of them are met."""
    counts: dict[Standing, tuple[int, int]] = {}
    for row in rows:
        there, met = counts.get(row.case.standing, (0, 0))
        counts[row.case.standing] = (there + 1, met + row.within)
    return counts


@dataclass(frozen=True)
class EvidenceReport:
    """Every row that was asked for, and the folder of reference data that was read, None without one."""

    rows: tuple[EvidenceRow, ...]
    reference_data: Path | None

    @property
    def checked(self) -> tuple[int, int]:
        """How many figures check something, and how many of them are met."""
        rows = checked_rows(self.rows)
        return len(rows), sum(row.within for row in rows)

    @property
    def by_standing(self) -> dict[Standing, tuple[int, int]]:
        """How many figures of each standing there are, and how many of them are met."""
        return count_by_standing(self.rows)

    @property
    def typed_twice(self) -> tuple[int, int]:
        """How many look-ups were typed twice, and how many are alike; these are no figures that check."""
        return self.by_standing.get(TYPED_TWICE, (0, 0))

    @property
    def missed(self) -> tuple[EvidenceRow, ...]:
        """The rows that are not within their tolerance, of whatever standing."""
        return tuple(row for row in self.rows if not row.within)


def evidence_report(folder: Path | None = None, word: str = "") -> EvidenceReport:
    """Work out the cases as :func:`run_evidence` does, and return them as one answer."""
    return EvidenceReport(run_evidence(folder, word), folder)
