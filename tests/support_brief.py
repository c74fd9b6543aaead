"""A study of which a brief has all to tell: named settlements, districts, costs, a siting, a border."""

from __future__ import annotations

from pathlib import Path

import geopandas
import numpy as np
from shapely.geometry import box

from combe.answers.brief import BriefReport, brief_report
from combe.study.named_files import files_of
from combe.study.project_of import load_project
from support_study import SITING, STUDY, edited, write_study

VILLAGES = tuple(f"Upper Village {number}" for number in range(1, 15))
DISTRICTS = tuple(f"District of the Northern Combes {number}" for number in range(1, 10))
COORDINATION = """
[coordination]
points = "border.geojson"
spacing_km = 4.0
trigger_dbuv_m = 30.0
"""


def write_whole_study(folder: Path) -> Path:
    """Write a study that has all that a brief can tell, of large cells."""
    folder.mkdir(parents=True, exist_ok=True)
    chance = np.random.default_rng(7)
    lon, lat = -84.42 + 0.34 * chance.random(140), 36.45 + 0.3 * chance.random(140)
    rows = [
        f"{x:.5f},{y:.5f},{20 + number},{VILLAGES[number % len(VILLAGES)]}"
        for number, (x, y) in enumerate(zip(lon, lat, strict=True))
    ]
    (folder / "people.csv").write_text("\n".join(["longitude_deg,latitude_deg,people,name", *rows]), "utf-8")
    _squares().to_file(folder / "districts.geojson")
    line = geopandas.GeoDataFrame(
        {"name": ["Border"]}, geometry=[box(-84.35, 36.5, -84.34, 36.7).boundary], crs="EPSG:4326"
    )
    line.to_file(folder / "border.geojson")
    text = edited(
        ("cell_size_m = 300", "cell_size_m = 600"),
        ('raster = "people.tif"', 'points = "people.csv"\ndistricts = "districts.geojson"'),
        ('polarization = "vertical"', 'polarization = "vertical"\nrunning_cost = 1200.0'),
        ("cell_size_m = 300.0", "cell_size_m = 900.0\ncost_per_site = 40.0"),
        text=STUDY + SITING,
    )
    return write_study(folder, text + COORDINATION)


def _squares() -> geopandas.GeoDataFrame:
    """Return nine districts that cover the ground."""
    squares = [
        box(-84.45 + 0.13 * column, 36.38 + 0.13 * row, -84.32 + 0.13 * column, 36.51 + 0.13 * row)
        for row in range(3)
        for column in range(3)
    ]
    return geopandas.GeoDataFrame({"name": list(DISTRICTS)}, geometry=squares, crs="EPSG:4326")


def whole_brief(folder: Path) -> BriefReport:
    """Return the brief of that study, other places and files included."""
    project = load_project(write_whole_study(folder / "whole"))
    return brief_report(project, siting_folder=folder / "blocks", files=files_of(project))
