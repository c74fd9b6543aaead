"""A fetch of open data as it is reported, and the words of a small one with all that it needs."""

from __future__ import annotations

from pathlib import Path

import combe.reports.ground_fetch
from combe.ground import Ask, Fetched, GroundReport, known_sources
from combe.publishing.document import Document
from combe.study.ground_entries import Entered
from support_mirror import write_hgt
from support_study import write_study

DIGEST = "0123456789abcdef" * 4


def fetched_ground(folder: Path) -> Document:
    """Return the document of a fetch that brought heights of two kinds, people and missing tiles."""
    table = known_sources()
    rows = (
        ("terrain.tif", "copernicus-30", ("Copernicus_DSM_COG_10_N36_00_W086_00_DEM.tif",)),
        ("terrain_2.tif", "usgs-10", ()),
        ("people.tif", "ghs-pop", ()),
    )
    rasters = tuple(
        Fetched(table[name].kind, table[name], folder / file, 1_234_567, DIGEST, 2, missing)
        for file, name, missing in rows
    )
    ask = Ask((-84.4, 36.47, -84.1, 36.72), {each.kind: each.source.name for each in rasters})
    entered = Entered(
        ("terrain.tiles", "people.raster"),
        ("the study says that something in it is invented; the people that were fetched are not",),
    )
    return combe.reports.ground_fetch.document(
        GroundReport(ask, rasters, 12_345_678, 9), folder / "study.toml", entered
    )


def small_fetch(folder: Path) -> tuple[object, ...]:
    """Return the words of a fetch that is quickly done, with all that it needs."""
    for west in (-85, -84):
        write_hgt(folder / "mirror" / f"N36W{-west:03}.hgt", west, 36)
    study = write_study(folder / "fetched")
    options = (
        "--people",
        "none",
        "--elevation",
        "srtm",
        "--from",
        folder / "mirror",
        "--cache",
        folder / "cache",
    )
    return ("ground", "fetch", study, *options)
