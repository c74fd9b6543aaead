"""Puts what an answer says of each cell of the study grid into an ``xarray.Dataset``, with places and units.

Dimensions are y, north to south, and x, west to east: the centres of the cells in metres of the grid's CRS,
as everywhere in Combe. Attributes follow the CF conventions, by which other programs find units and CRS.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from combe.answers.network import ALL_SERVICES, Network
from combe.answers.site_cells import HILL_UNITS, HILL_WORDS
from combe.errors import MissingLibraryError
from combe.planning.siting import people_by_cell
from combe.terrain import cell_centres_m

if TYPE_CHECKING:
    from xarray import Dataset

    from combe.answers.cover import CoverReport, StationCoverage
    from combe.answers.site_report import SiteReport
    from combe.project import Project
    from combe.terrain import StudyGrid

CELLS: Final = ("y", "x")
OF_STATIONS: Final = ("station", "service", *CELLS)
OF_NETWORKS: Final = ("network", *CELLS)

_ADVICE: Final = "install it with: python -m pip install xarray"

Variable = tuple[Sequence[str], npt.NDArray[Any], dict[str, str]]
"""Dimensions, values and attributes, as xarray takes them."""


def cover_dataset(report: CoverReport, stations: Collection[str] | None) -> Dataset:
    """Return the maps of a coverage, the fields of some stations or of all."""
    names = {report.project.station(name).name for name in stations or ()}
    covered = [each for each in report.stations if stations is None or each.station.name in names]
    services = list(dict.fromkeys(one.service for each in covered for one in each.services))
    networks = [report.all_services, *report.services]
    variables = {
        "ground_m": _ground(report.heights_m),
        **_of_stations(covered, services, report.grid),
        **_of_networks(networks, judged=report.interference is not None),
    }
    if report.people is not None:
        counts = people_by_cell(report.grid, report.people).reshape(report.heights_m.shape)
        variables["people"] = CELLS, counts, _words("1", "people who live in the cell")
    where = {
        "station": [each.station.name for each in covered],
        "service": services,
        "network": [each.name for each in networks],
    }
    return _dataset(report.project, report.grid, variables, where, report.provenance)


def _of_stations(
    covered: Sequence[StationCoverage], services: Sequence[str], grid: StudyGrid
) -> dict[str, Variable]:
    """Return what each station's services do by themselves; NaN for a service that it does not radiate."""
    shape = len(covered), len(services), grid.rows, grid.columns
    field_dbuv_m, served = (np.full(shape, np.nan, dtype=np.float32) for _ in range(2))
    for number, each in enumerate(covered):
        for one in each.services:
            at = number, services.index(one.service)
            field_dbuv_m[at] = one.field_map.field_dbuv_m
            served[at] = np.where(np.isnan(field_dbuv_m[at]), np.nan, one.served)
    field_words = "median field strength; NaN: no prediction, or not radiated"
    served_words = "1 where it serves against noise and all other stations, 0 where not; NaN as the field"
    return {
        "field_dbuv_m": (OF_STATIONS, field_dbuv_m, _words("dB(uV/m)", field_words)),
        "served": (OF_STATIONS, served, _words("1", served_words)),
    }


def _of_networks(networks: Sequence[Network], *, judged: bool) -> dict[str, Variable]:
    """Return how each service stands over all stations; of interference nothing unless it is judged."""
    everything = ALL_SERVICES.lower()
    told = {
        "margin_db": ("margin_db", "dB", "margin of the best station, with all on the air"),
        "margin_before_db": (
            "margin_before_db", "dB", "margin with the parents alone; -inf: none of them radiates it"
        ),
        "serving": ("serving", "1", f"stations that serve; of {everything}, the least of them"),
    }  # fmt: skip
    if judged:
        told["noise_margin_db"] = "noise_margin_db", "dB", "margin if nothing interfered"
        told["interferers_unknown"] = (
            "unknown", "1", f"interferers without a prediction; of {everything}, the most of them"
        )  # fmt: skip
    return {
        name: (OF_NETWORKS, np.stack([getattr(each, kept) for each in networks]), _words(units, words))
        for name, (kept, units, words) in told.items()
    }


def site_dataset(report: SiteReport) -> Dataset:
    """Return what each cell is worth as a site, over the ground, and who lacks a service."""
    work = report.work
    unserved = np.zeros(work.area.heights_m.size)
    unserved[work.unserved.cells] = work.unserved.people
    worth = "score per cost" if work.search.has_costs else "people newly served less people harmed"
    variables: dict[str, Variable] = {
        "ground_m": _ground(work.area.heights_m),
        "value": (CELLS, report.read_value(), _words("1", f"{worth}; NaN: not searched or not priced")),
        "people_unserved": (
            CELLS,
            unserved.reshape(work.area.heights_m.shape),
            _words("1", "people in the cell who are known to lack a service"),
        ),
    }
    for key, values in report.read_hills().items():
        told = f"{HILL_WORDS[key]}; NaN: not searched or not known"
        variables[key] = CELLS, values, _words(HILL_UNITS[key], told)
    return _dataset(work.project, report.grid, variables, {}, report.provenance)


def _ground(heights_m: npt.NDArray[Any]) -> Variable:
    return CELLS, heights_m, _words("m", "height of the ground")


def _words(units: str, long_name: str) -> dict[str, str]:
    return {"units": units, "long_name": long_name, "grid_mapping": "spatial_ref"}


def _dataset(
    project: Project,
    grid: StudyGrid,
    variables: Mapping[str, Variable],
    where: Mapping[str, Sequence[str]],
    made_by: Mapping[str, str],
) -> Dataset:
    """Return variables over the grid with the places of its cells; raises MissingLibraryError."""
    try:
        xarray = import_module("xarray")
    except ImportError:
        raise MissingLibraryError("xarray", "to_xarray()", _ADVICE) from None
    x_m, y_m = cell_centres_m(grid)
    wkt, side_m = grid.crs.to_wkt(), grid.cell_size_m
    axis = {"units": "m", "long_name": "centre of the cell"}
    corner = f"{grid.west_m!r} {side_m!r} 0.0 {grid.north_m!r} 0.0 {-side_m!r}"
    coordinates = {
        **where,
        "y": ("y", y_m, {**axis, "standard_name": "projection_y_coordinate"}),
        "x": ("x", x_m, {**axis, "standard_name": "projection_x_coordinate"}),
        "spatial_ref": ((), np.int32(0), {"crs_wkt": wkt, "GeoTransform": corner}),
    }
    made = {name.replace(" ", "_"): words for name, words in made_by.items()}
    attributes = {**made, "title": project.title, "crs_wkt": wkt, "Conventions": "CF-1.8"}
    found: Dataset = xarray.Dataset(dict(variables), coordinates, attributes)
    return found
