"""Makes a small invented study for tests of pages: ridges, a parent, a relay and people."""

from __future__ import annotations

import numpy as np
import pyproj

from combe.planning.people_count import PeopleCount
from combe.publishing.content import FeedPath, MapLayer, MapPage, PeopleMark, StationMark
from combe.terrain.grid import StudyGrid


def ridge_grid(rows: int = 120, columns: int = 150, cell_size_m: float = 90.0) -> StudyGrid:
    return StudyGrid(pyproj.CRS("EPSG:32617"), 195_000.0, 4_070_000.0, cell_size_m, rows, columns)


def ridge_heights(grid: StudyGrid, seed: int = 7) -> np.ndarray:
    """Ridges across the grid with some roughness [m]."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0 : grid.rows, 0 : grid.columns] * grid.cell_size_m / 1000.0
    rough = rng.normal(size=(grid.rows, grid.columns)).cumsum(0).cumsum(1)
    rough = 60 * (rough - rough.min()) / np.ptp(rough)
    return 420 + 160 * np.sin((x + 0.6 * y) / 1.6) + 40 * np.cos(y / 2.3) + rough


def shadowed_field(
    heights_m: np.ndarray, grid: StudyGrid, row: int, column: int, *, erp_dbw: float, mast_m: float
) -> np.ndarray:
    """Stand in for a prediction: free space, and less for ground under the line of sight."""
    y, x = np.mgrid[0 : grid.rows, 0 : grid.columns]
    distance = np.maximum(np.hypot(y - row, x - column) * grid.cell_size_m / 1000.0, 0.05)
    top = heights_m[row, column] + mast_m
    worst = np.full(heights_m.shape, -np.inf)
    for share in np.linspace(0.02, 0.98, 60):
        at = heights_m[
            np.round(row + share * (y - row)).astype(int), np.round(column + share * (x - column)).astype(int)
        ]
        worst = np.maximum(worst, at - (top + share * (heights_m + 10 - top)))
    loss = np.where(worst > 0, 10 + 30 * np.sqrt(np.maximum(worst, 0) / 60), 0.0)
    return 106.9 + erp_dbw - 20 * np.log10(distance) - loss


def lonlat(grid: StudyGrid, row: float, column: float) -> tuple[float, float]:
    to = pyproj.Transformer.from_crs(grid.crs, "EPSG:4326", always_xy=True)
    lon, lat = to.transform(
        grid.west_m + (column + 0.5) * grid.cell_size_m, grid.north_m - (row + 0.5) * grid.cell_size_m
    )
    return float(lon), float(lat)


def to_grid(grid: StudyGrid, lon: np.ndarray, lat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return places [degrees] in metres of the grid's system."""
    x, y = pyproj.Transformer.from_crs("EPSG:4326", grid.crs, always_xy=True).transform(lon, lat)
    return np.asarray(x), np.asarray(y)


def map_page(
    *,
    grid: StudyGrid | None = None,
    heights_m: np.ndarray | None = None,
    word: str = "",
    street_tiles: bool = False,
) -> MapPage:
    """Make a page with a parent and a relay; ``word`` goes into every text that a user can write."""
    grid = grid or ridge_grid()
    heights = ridge_heights(grid) if heights_m is None else heights_m
    sites = {
        "parent": (f"Highmoor{word}", int(grid.rows * 0.2), int(grid.columns * 0.12), 24.0, 60.0),
        "relay": (f"Lowgate{word}", int(grid.rows * 0.55), int(grid.columns * 0.62), 12.0, 20.0),
    }
    layers = [
        layer for role, site in sites.items() for layer in station_layers(role, site, heights, grid, word)
    ]
    fields = {layer.key: layer for layer in layers}
    people = people_marks(fields, grid, word)
    places = [lonlat(grid, site[1], site[2]) for site in sites.values()]
    return MapPage(
        title=f"Lowgate relay{word}",
        subtitle=f"Three multiplexes over the Low Valley, before and after{word}",
        grid=grid,
        heights_m=heights,
        layers=tuple(layers),
        before_keys=("parent-all",),
        after_keys=("relay-all",),
        people=people,
        people_rows=people_rows(people, word),
        stations=tuple(
            StationMark(name, role, *lonlat(grid, row, column), mast, f"ch 21, 24, 27{word}")
            for role, (name, row, column, _, mast) in sites.items()
        ),
        feeds=(
            FeedPath(
                f"Highmoor{word}",
                f"Lowgate{word}",
                tuple(p[0] for p in places),
                tuple(p[1] for p in places),
                "passes",
            ),
        ),
        provenance=(
            f"Terrain: invented ridges{word}",
            "Field: free space less a made-up shadow, for tests only",
        ),
        credits=(f"ground: invented ridges{word}",),
        invented_note=f"Stations and people are invented{word}.",
        street_tiles=street_tiles,
    )


def station_layers(role: str, site: tuple, heights: np.ndarray, grid: StudyGrid, word: str) -> list[MapLayer]:
    name, row, column, erp_dbw, mast_m = site
    made, lowest = [], None
    for number, minimum in ((1, 53.1), (2, 53.4), (3, 53.8)):
        field = shadowed_field(heights, grid, row, column, erp_dbw=erp_dbw - number * 0.7, mast_m=mast_m)
        field[-6:, : grid.columns // 8] = np.nan
        lowest = field if lowest is None else np.minimum(lowest, field)
        title = f"Multiplex {number}{word}"
        made.append(
            MapLayer(
                f"{role}-{number}", title, name, role, title, field, minimum, f"ch {18 + 3 * number}{word}"
            )
        )
    weakest = MapLayer(
        f"{role}-all", "All services", name, role, "All services", lowest, 53.8, "The weakest of the three"
    )
    return [weakest, *made]


def people_marks(layers: dict[str, MapLayer], grid: StudyGrid, word: str) -> tuple[PeopleMark, ...]:
    rng = np.random.default_rng(3)
    marks = []
    for number in range(60):
        row, column = int(rng.integers(grid.rows)), int(rng.integers(grid.columns))
        before, after = (layers[key].field_dbuv_m[row, column] for key in ("parent-all", "relay-all"))
        state = "served before" if before >= 53.8 else "newly served" if after >= 53.8 else "unserved"
        state = "no prediction" if np.isnan(before) else state
        marks.append(
            PeopleMark(
                *lonlat(grid, row, column), float(rng.integers(20, 900)), state, f"Hamlet {number}{word}"
            )
        )
    return tuple(marks)


def people_rows(people: tuple[PeopleMark, ...], word: str) -> tuple[tuple[str, PeopleCount], ...]:
    before, new, unserved, unknown = (
        sum(one.people for one in people if one.state == state)
        for state in ("served before", "newly served", "unserved", "no prediction")
    )
    count = PeopleCount(
        before + new + unserved + unknown,
        before + new,
        unserved,
        unknown,
        served_before=before,
        newly_served=new,
        lost=0.0,
    )
    names = ("All services", "Multiplex 1", "Multiplex 2", "Multiplex 3")
    return tuple((f"{name}{word}", count) for name in names)
