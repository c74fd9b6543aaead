"""Opens the ground cover of a study, and finds what of its seasons does not fit."""

from __future__ import annotations

from combe.standards import class_heights_m, legend_named, read_heights_m
from combe.study.cover_schema import ClutterSection
from combe.study.file import Study, beside
from combe.terrain import COVER_STEP_M, EVERY_CLASS, GroundCover, open_cover


def open_study_cover(study: Study) -> GroundCover | None:
    """Open the study's ground cover, or return None where it has none.

    Raises
    ------
    RasterError, TableError
        A raster or a table of heights that cannot be used.
    """
    section = study.content.clutter
    if section is None:
        return None
    heights = None if section.canopy else _class_heights(study, section)
    looked_at = f"looked at every {COVER_STEP_M:g} m and added between the aerials, not at them"
    words = f"{section.raster}; {_cover_words(section)}; {looked_at}"
    return open_cover(
        [beside(study, section.raster)],
        class_height_m=heights,
        crs=section.crs,
        words=words,
        leafless_factor=_leafless_factors(section),
        season=section.season,
    )


def _class_heights(study: Study, section: ClutterSection) -> dict[int, float]:
    """Return the heights [m] of classes: the legend's, and over them those of the study's own table."""
    shipped = class_heights_m(legend_named(section.legend)) if section.legend else {}
    return shipped | (read_heights_m(beside(study, section.heights)) if section.heights else {})


def _leafless_factors(section: ClutterSection) -> dict[int, float]:
    return {
        EVERY_CLASS if each.class_number is None else each.class_number: each.height_factor
        for each in section.leafless
    }


def _cover_words(section: ClutterSection) -> str:
    """Say where the heights of cover are from."""
    if section.canopy:
        return "heights of the raster, interpolated"
    parts = [f"heights of {section.heights}"] if section.heights else []
    if section.legend:
        parts.append(f"shipped heights for classes of {legend_named(section.legend).title}, a rough guide")
    return ", then ".join(parts) + ", nearest cell"
