"""Rules for where a mast may stand, costs, and vector layers over the grid."""

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from combe.errors import RangeError, TableError
from combe.planning.siting.constraints import (
    Rule,
    apply_rules,
    away_from,
    height_above_valley_m,
    site_cost,
    slope_deg,
)
from combe.terrain.features import cells_inside, distance_to_layer_m, read_features
from combe.terrain.grid import to_lonlat_deg
from support_prediction import flat_area


def test_rules_are_told_one_by_one() -> None:
    start = np.array([[True, True, True, False]])
    funnel = apply_rules(
        start,
        [
            Rule("high", np.array([[True, True, False, True]])),
            Rule("dry", np.array([[True, False, True, True]])),
        ],
    )
    assert funnel.allowed.tolist() == [[True, False, False, False]]
    assert funnel.steps == (("high", 2), ("dry", 1))
    assert start.sum() == 3
    with pytest.raises(RangeError, match=r"shape of rule 'odd' is \(2,\); allowed: \(1, 4\)"):
        apply_rules(start, [Rule("odd", np.array([True, False]))])


def test_height_above_the_valley() -> None:
    heights = np.full((30, 30), 100.0)
    heights[15, 15], heights[15, 20], heights[2, 2] = 160.0, 40.0, np.nan
    above = height_above_valley_m(heights, 100.0, 600.0)
    assert above[15, 15] == 120.0
    assert height_above_valley_m(heights, 100.0, 300.0)[15, 15] == 60.0
    assert np.isnan(above[2, 2])
    assert above[2, 4] == 0.0
    with pytest.raises(RangeError, match="valley_radius_m is 10"):
        height_above_valley_m(heights, 100.0, 10.0)


def test_slope_of_a_plane() -> None:
    row, column = np.indices((10, 12), dtype=float)
    plane = 30.0 * column + 40.0 * row
    assert np.allclose(slope_deg(plane, 50.0), 45.0)


def test_away_from_stations() -> None:
    free = away_from(20, 20, [(5.0, 5.0)], 100.0, 450.0)
    assert not free[5, 9]
    assert free[5, 10]
    assert not free[8, 8]


def test_costs_of_sites() -> None:
    plain, given = site_cost(3, 0.0, 0.0, None)
    assert plain.tolist() == [1.0, 1.0, 1.0]
    assert not given
    cost, given = site_cost(3, 100.0, 20.0, np.array([0.0, 500.0, np.inf]))
    assert cost.tolist() == [100.0, 110.0, np.inf]
    assert given
    with pytest.raises(RangeError, match=r"name siting\.access"):
        site_cost(3, 100.0, 20.0, None)
    with pytest.raises(RangeError, match="cost of a site is 0"):
        site_cost(1, 0.0, 20.0, np.array([5.0]))


def layer(path: Path, kind: str, cells: list[tuple[float, float]]) -> Path:
    """Write a GeoJSON of one line or polygon through places (row, column) of the flat grid's cell corners."""
    grid = flat_area().grid
    points = []
    for row, column in cells:
        lon, lat = to_lonlat_deg(grid, grid.west_m + 100.0 * column, grid.north_m - 100.0 * row)
        points.append([float(lon), float(lat)])
    shape = {"type": kind, "coordinates": [points] if kind == "Polygon" else points}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [
        {"type": "Feature", "properties": {}, "geometry": shape}]}))  # fmt: skip
    return path


def given(path: Path) -> SimpleNamespace:
    return SimpleNamespace(name=path.name, read=lambda: read_features(path))


def test_cells_inside_a_polygon(tmp_path: Path) -> None:
    square = layer(tmp_path / "allowed.json", "Polygon", [(10, 20), (10, 40), (30, 40), (30, 20), (10, 20)])
    inside = cells_inside(given(square), flat_area().grid)
    assert inside.sum() == 400
    assert inside[10:30, 20:40].all()


def test_distance_to_a_road(tmp_path: Path) -> None:
    road = layer(tmp_path / "road.json", "LineString", [(50.5, -5), (50.5, 125)])
    away = distance_to_layer_m(given(road), flat_area().grid)
    assert away[50].max() == 0.0
    assert away[60, 30] == pytest.approx(1000.0)
    far = layer(tmp_path / "far.json", "LineString", [(500, 500), (500, 510)])
    assert np.isinf(distance_to_layer_m(given(far), flat_area().grid)).all()


def test_a_layer_without_areas_is_told(tmp_path: Path) -> None:
    road = layer(tmp_path / "road.json", "LineString", [(50.5, -5), (50.5, 125)])
    with pytest.raises(TableError, match="it holds no polygon; give areas as polygons"):
        cells_inside(given(road), flat_area().grid)
