"""One place of a study by each way of receiving: who serves there, and by how much."""

from __future__ import annotations

import math
from dataclasses import dataclass

from combe.answers.spot import Spot, noise_margin_db, seen_by, spot_margin_db
from combe.prediction import Area
from combe.project import Project
from combe.reception import WayOfReceiving
from combe.stations import Service, Station


@dataclass(frozen=True)
class WayExplained:
    """The best station of a service by one way of receiving; margins as those of a candidate.

    Fields are outdoors, at the height for which they are predicted: what is needed there holds the losses
    between there and the aerial.
    """

    way: WayOfReceiving
    station: Station
    service: Service
    field_dbuv_m: float
    minimum_dbuv_m: float
    noise_margin_db: float
    margin_db: float

    @property
    def needed_dbuv_m(self) -> float:
        """Median that serves against noise and interference together [dB(µV/m)]."""
        return self.field_dbuv_m - self.margin_db

    @property
    def served(self) -> bool | None:
        """Whether any station serves; None where none has a prediction."""
        return None if math.isnan(self.margin_db) else self.margin_db >= 0.0


def spots_by_way(project: Project, area: Area, first: Spot) -> tuple[Spot, ...]:
    """Return a place as each way of a project has it; as the first has it, is known.

    Errors as :func:`combe.answers.spot.look_at`.
    """
    return (first, *(seen_by(first, project, area, way) for way in project.ways[1:]))


def explain_ways(project: Project, spots: tuple[Spot, ...], service: str) -> tuple[WayExplained, ...]:
    """Return the best station of a service by each way."""
    return tuple(_explained(way, spot, service) for way, spot in zip(project.ways, spots, strict=True))


def _explained(way: WayOfReceiving, spot: Spot, service: str) -> WayExplained:
    emissions = [index for index, each in enumerate(spot.radiated) if each.service.name == service]
    margins = {index: spot_margin_db(spot, index) for index in emissions}
    best = max(emissions, key=lambda index: -math.inf if math.isnan(margins[index]) else margins[index])
    return WayExplained(
        way,
        *spot.radiated[best],
        field_dbuv_m=float(spot.median_dbuv_m[best]),
        minimum_dbuv_m=float(spot.minimum_dbuv_m[best]),
        noise_margin_db=noise_margin_db(spot, best),
        margin_db=margins[best],
    )
