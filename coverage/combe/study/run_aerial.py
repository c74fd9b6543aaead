"""Finds the aerial design of a station of a study."""

from __future__ import annotations

from combe.errors import RangeError
from combe.stations.design import AerialDesign
from combe.study.array_schema import aerial_design
from combe.study.faults import did_you_mean
from combe.study.file import Study


def design_of(study: Study, station: str | None) -> tuple[AerialDesign, str]:
    """Return the design of a station, or of the only one that has one, and the station's name.

    Raises
    ------
    RangeError
        For a name that the study does not have, a station without a design, or several to choose from.
    """
    designed = {each.name: each for each in study.content.stations if each.array is not None}
    names = [each.name for each in study.content.stations]
    if station is None:
        if not designed:
            raise RangeError("array", "missing at every station", "a [stations.array] table",
                             "write one, or leave out the study and say --kind")  # fmt: skip
        if len(designed) > 1:
            found = ", ".join(designed)
            raise RangeError(
                "station", "not named", f"one with [stations.array]: {found}", "name it with --station"
            )
        station = next(iter(designed))
    chosen = next((name for name in names if name.casefold() == station.casefold()), None)
    if chosen is None:
        raise RangeError("station", f'"{station}"', ", ".join(names), did_you_mean(station, names))
    if chosen not in designed:
        raise RangeError("array of the station", f'missing at "{chosen}"', "a [stations.array] table")
    section = designed[chosen]
    assert section.array is not None, "only stations with a design are here"
    return aerial_design(section.array, section.polarization), chosen
