"""Finds the aerial design of a station of a study."""

from __future__ import annotations

from combe.errors import RangeError, did_you_mean
from combe.project import Project, off_air_advice
from combe.stations import AerialDesign
from combe.words import joined


def design_of(project: Project, station: str | None) -> tuple[AerialDesign, str]:
    """Return the design of a station, or of the only one that has one, and the station's name.

    Raises
    ------
    RangeError
        For a name that the study does not have, a station without a design, or several to choose from.
    """
    designed, names = project.aerials, [each.name for each in project.stations]
    if station is None:
        if not designed:
            raise RangeError("array", "missing at every station", "a [stations.array] table",
                             "write one, or leave out the study and say --kind")  # fmt: skip
        if len(designed) > 1:
            found = joined(", ", designed)
            raise RangeError(
                "station", "not named", f"one with [stations.array]: {found}", "name it with --station"
            )
        station = next(iter(designed))
    chosen = next((name for name in names if name.casefold() == station.casefold()), None)
    if chosen is None:
        advice = off_air_advice(station, project.off_air) or did_you_mean(station, names)
        raise RangeError("station", f'"{station}"', ", ".join(names), advice)
    if chosen not in designed:
        raise RangeError("array of the station", f'missing at "{chosen}"', "a [stations.array] table")
    return designed[chosen], chosen
