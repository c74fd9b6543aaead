"""Makes the demo's invented people and villages: ``python terrain_samples/make_demo.py``, from the checkout.

Nobody was counted. The places are invented villages, each a number of people spread around a point of the
sample terrain, and some scattered farms; whoever lives on this ground in truth is not in it. The same script
gives the same bytes for one version of GDAL and numpy.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_bounds

WEST, SOUTH, EAST, NORTH = -84.41, 36.45, -84.08, 36.73
CELL_DEG = 0.002

VILLAGES = [
    # name, longitude, latitude, people, spread in km: in the combe west of the ridge, which the relay is for
    ("Brindlatch", -84.3520, 36.6152, 260, 0.22),
    ("Larkcombe", -84.3430, 36.6155, 410, 0.25),
    ("Upper Larkcombe", -84.3340, 36.6146, 320, 0.25),
    ("Sallowmead", -84.3245, 36.6100, 180, 0.20),
    ("Wrenlatch", -84.3150, 36.6095, 240, 0.20),
    ("Thornquill", -84.3065, 36.6205, 150, 0.20),
    ("Cobhollow", -84.3350, 36.6035, 120, 0.20),
    # further down the river, which nobody serves
    ("Larkmouth", -84.3755, 36.6195, 300, 0.30),
    ("Fennquill", -84.3800, 36.6020, 170, 0.25),
    ("Ashlatch", -84.3660, 36.5740, 90, 0.20),
    # on the plain, under the parent
    ("Tarnmarket", -84.1500, 36.6200, 5200, 0.90),
    ("Millquill", -84.1850, 36.5900, 2400, 0.60),
    ("Oxlatch", -84.1300, 36.5800, 1300, 0.50),
    ("Ridgequill", -84.2050, 36.6250, 900, 0.40),
    ("Tarnfold", -84.1200, 36.6600, 1800, 0.60),
    # on the plateau and in the trench below the ridge
    ("Hollowlatch", -84.1700, 36.6600, 400, 0.40),
    ("Trenchfold", -84.2600, 36.6620, 220, 0.30),
    ("Plateau End", -84.2000, 36.7050, 260, 0.40),
]
FARM_PEOPLE = 480

TAGS = {
    "AREA_OR_POINT": "Area",
    "TIFFTAG_IMAGEDESCRIPTION": "Invented people for a demonstration; persons per cell",
    "TIFFTAG_COPYRIGHT": "Invented by the Combe authors; MIT licence",
    "INVENTED": "yes",
}


def people_counts() -> np.ndarray:
    """Return whole persons per cell, float32 (rows, columns), row 0 north."""
    columns, rows = round((EAST - WEST) / CELL_DEG), round((NORTH - SOUTH) / CELL_DEG)
    lon = WEST + (np.arange(columns) + 0.5) * CELL_DEG
    lat = NORTH - (np.arange(rows) + 0.5) * CELL_DEG
    rng = np.random.default_rng(1947)
    counts = np.zeros((rows, columns))
    for _, place_lon, place_lat, people, spread_km in VILLAGES:
        east_km = (lon - place_lon)[None, :] * 111.32 * np.cos(np.radians(place_lat))
        north_km = (lat - place_lat)[:, None] * 111.13
        weight = np.exp(-(east_km**2 + north_km**2) / (2.0 * spread_km**2))
        counts += rng.multinomial(people, (weight / weight.sum()).ravel()).reshape(rows, columns)
    farms = rng.integers(0, rows * columns, FARM_PEOPLE // 4)
    np.add.at(counts.ravel(), farms, 4.0)
    return counts.astype(np.float32)


def make_people(folder: Path) -> Path:
    """Write ``people.tif`` into the folder and return its path."""
    counts = people_counts()
    rows, columns = counts.shape
    path = folder / "people.tif"
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=columns,
        height=rows,
        count=1,
        dtype="float32",
        nodata=-99999.0,
        crs="EPSG:4326",
        transform=from_bounds(WEST, SOUTH, EAST, NORTH, columns, rows),
        compress="DEFLATE",
        predictor=3,
        zlevel=9,
    ) as dataset:
        dataset.update_tags(**TAGS)
        dataset.write(counts, 1)
    return path


def make_places(folder: Path) -> Path:
    """Write ``places.geojson``, the villages with the most people first, into the folder; return its path."""
    features = [
        {
            "type": "Feature",
            "properties": {"name": name, "people": people},
            "geometry": {"type": "Point", "coordinates": [longitude, latitude]},
        }
        for name, longitude, latitude, people, _ in sorted(VILLAGES, key=lambda each: -each[3])
    ]
    rows = ",\n".join("  " + json.dumps(each) for each in features)
    what = "Invented for the demonstration; nobody was counted, and no such villages are there"
    path = folder / "places.geojson"
    path.write_text(
        f'{{"type": "FeatureCollection", "description": "{what}", "features": [\n{rows}\n]}}\n',
        encoding="utf-8",
    )
    return path


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "demo"
    make_people(where)
    make_places(where)
