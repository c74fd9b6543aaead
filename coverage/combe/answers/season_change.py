"""What the other season changes in a coverage: fields of each station, and the people."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from combe.answers.cover import CoverReport, Progress, cover_report
from combe.answers.model_change import StationChange, station_change
from combe.planning import PeopleCount
from combe.terrain import Season


@dataclass(frozen=True)
class SeasonChange:
    """A coverage in the other season.

    ``people`` are those of all services, None where the study has none. ``stations`` tell by how much the
    fields of each are over those of the study's own season [dB].
    """

    season: Season
    people: PeopleCount | None
    stations: tuple[StationChange, ...]


def season_change(
    cover: CoverReport, progress: Progress | None = None, *, cache_folder: Path | None = None
) -> SeasonChange:
    """Predict and judge the study of a report in the other season; tell the difference.

    Raises
    ------
    RangeError
        A study without ground cover, or whose cover has no leafless factors.
    CombeError
        As :func:`combe.answers.cover.cover_report` does.
    """
    other = cover.project.in_other_season()
    assert other.cover is not None, "a season is of cover"
    there = cover_report(other.received_by(other.way), progress, cache_folder=cache_folder)
    return SeasonChange(
        other.cover.season,
        there.all_services.people,
        tuple(
            station_change(one, (each.field_map for each in two.services))
            for one, two in zip(there.stations, cover.stations, strict=True)
        ),
    )
