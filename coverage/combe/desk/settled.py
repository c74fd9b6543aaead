"""A state of the desk that is worked out: the study with its edits, and the coverage that follows from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from combe.answers.cover import CoverReport
from combe.project import Project
from combe.study.file import Study

Edit = Mapping[str, Any]


@dataclass(frozen=True)
class Settled:
    """The study as edits leave it, and its coverage.

    ``edits`` lead from the file to ``table``, the study's table; ``settled_s`` is the time that it took.
    """

    edits: tuple[Edit, ...]
    table: Mapping[str, Any] = field(repr=False)
    study: Study = field(repr=False)
    project: Project = field(repr=False)
    report: CoverReport = field(repr=False)
    settled_s: float


def with_edit(edits: Sequence[Edit], edit: Edit) -> tuple[Edit, ...]:
    """Return edits with one more; of one station in a row only what came of them is kept."""
    last = edits[-1] if edits else {}
    if "station" not in edit or last.get("station") != edit["station"]:
        return (*edits, dict(edit))
    tables = {key: {**last[key], **edit[key]} for key in ("erp_w", "channel") if key in last and key in edit}
    return (*edits[:-1], {**last, **edit, **tables})
