"""Opens the elevation of a study: its tiles, those beyond them, and the fills of their voids."""

from __future__ import annotations

from combe.project import GridWish
from combe.study.file import Study, beside
from combe.study.schema import GridSection
from combe.study.terrain_schema import ElevationSection
from combe.terrain import Terrain, join_terrains, open_terrains, with_fill


def open_study_terrain(study: Study) -> Terrain:
    """Open all elevation rasters of a study as one terrain, the first with a height winning.

    Raises
    ------
    RasterError, RangeError
        A tile that cannot be used, or a fill that looks too far.
    """
    section = study.content.terrain
    return join_terrains([each for part in (section, *section.beyond) for each in _terrains(study, part)])


def grid_wish(section: GridSection) -> GridWish:
    """Return the cells that a study asks."""
    return GridWish(section.cell_size_m, None if section.crs == "auto" else section.crs, section.area_deg)


def _terrains(study: Study, section: ElevationSection) -> tuple[Terrain, ...]:
    """Open the tiles of one section: a terrain for each lattice on which they lie."""
    opened = open_terrains(
        [beside(study, tile) for tile in section.tiles],
        crs=section.crs,
        vertical_datum=section.vertical_datum,
        surface_model=section.surface_model,
        credit=section.credit,
        sea_floor=section.sea_floor,
    )
    within_m = section.fill_within_m
    if section.fill_voids is None or within_m is None:
        return opened
    return tuple(with_fill(each, within_m) for each in opened)
