"""Tests that profiles follow the geodesic in small enough steps and say where they lack terrain."""

from __future__ import annotations

import numpy as np
import pytest

from combe.errors import RangeError, TerrainGapError
from combe.geodesy import distance_km
from combe.terrain.samples import SRTM_SAMPLE, sample_folder
from combe.terrain.sampling import TerrainProfile, geodesic_profile
from combe.terrain.tiles import open_terrain
from support_terrain import lonlat_plane, plane_tif, write_tif

ENDS = (10.01, 46.96, 10.07, 46.99)


@pytest.fixture
def terrain(tmp_path):
    return open_terrain([plane_tif(tmp_path / "plane.tif")])


def test_plane_along_the_geodesic(terrain):
    profile = geodesic_profile(terrain, *ENDS)
    assert np.allclose(profile.height_m, lonlat_plane(profile.lon_deg, profile.lat_deg), rtol=0, atol=1e-9)
    assert (profile.lon_deg[0], profile.lat_deg[0]) == pytest.approx(ENDS[:2], abs=1e-12)
    assert (profile.lon_deg[-1], profile.lat_deg[-1]) == pytest.approx(ENDS[2:], abs=1e-12)
    assert profile.distance_km[0] == 0.0
    assert profile.distance_km[-1] == pytest.approx(distance_km(*ENDS), abs=1e-12)


def test_steps_are_equal_and_no_longer_than_a_cell(terrain):
    for step_m in (None, 20.0, 5000.0):
        profile = geodesic_profile(terrain, *ENDS, step_m=step_m)
        steps = [
            1000.0 * distance_km(*first, *second)
            for first, second in zip(
                zip(profile.lon_deg[:-1], profile.lat_deg[:-1], strict=True),
                zip(profile.lon_deg[1:], profile.lat_deg[1:], strict=True),
                strict=True,
            )
        ]
        assert max(steps) <= min(terrain.cell_size_m, step_m or 1e9) + 1e-6
        assert max(steps) - min(steps) < 1e-5


def test_middle_of_a_long_path_is_on_the_geodesic_not_the_parallel(tmp_path):
    # On a sphere the great circle's middle has tan(lat) = tan(60) / cos(2.5): 2.63 km north of the parallel.
    terrain = open_terrain([write_tif(tmp_path / "flat.tif", np.zeros((60, 120)), 9.0, 61.0, 0.06, 0.03)])
    profile = geodesic_profile(terrain, 10.0, 60.0, 15.0, 60.0)
    top_deg = np.degrees(np.arctan(np.tan(np.radians(60.0)) / np.cos(np.radians(2.5))))
    assert profile.lat_deg.max() - 60.0 == pytest.approx(top_deg - 60.0, rel=0.01)


def test_there_and_back_are_the_same(terrain):
    there = geodesic_profile(terrain, *ENDS)
    back = geodesic_profile(terrain, *ENDS[2:], *ENDS[:2])
    assert np.allclose(there.height_m, back.height_m[::-1], rtol=0, atol=1e-6)


def test_short_path_keeps_both_ends(terrain):
    profile = geodesic_profile(terrain, 10.03, 46.97, 10.0301, 46.97)
    assert profile.height_m.shape == (2,)


def test_real_ground(terrain):
    real = open_terrain([sample_folder() / SRTM_SAMPLE])
    profile = geodesic_profile(real, -84.4, 36.45, -84.09, 36.72)
    assert 236.0 <= profile.height_m.min() < profile.height_m.max() <= 1076.0
    assert profile.height_m.shape == (550,)


def test_void_on_the_way(tmp_path):
    heights = np.full((10, 10), 50, np.int16)
    heights[5, 5] = -1
    terrain = open_terrain([write_tif(tmp_path / "hill.tif", heights, 10.0, 47.0, 0.01, nodata=-1)])
    with pytest.raises(TerrainGapError) as caught:
        geodesic_profile(terrain, 10.01, 46.945, 10.09, 46.945)
    text = str(caught.value)
    assert caught.value.tile == "hill.tif"
    assert "latitude 46.9450" in text
    assert " km from the start of the path) (tile hill.tif); the tile is void there" in text
    km = float(text.split("(")[1].split(" km")[0])
    # The cell west of the void is centred on 10.045; beyond it the void counts.
    assert km == pytest.approx(distance_km(10.01, 46.945, 10.045, 46.945), abs=terrain.cell_size_m / 1000.0)


def test_path_that_leaves_the_terrain(terrain):
    with pytest.raises(
        TerrainGapError, match=r"\(tile plane\.tif\); the tile is void there or ends"
    ) as caught:
        geodesic_profile(terrain, 10.01, 46.96, 10.2, 46.96)
    # The outermost centre of the raster is at 10.0795.
    km = float(str(caught.value).split("(")[1].split(" km")[0])
    assert 0.0 < km - distance_km(10.01, 46.96, 10.0795, 46.96) < terrain.cell_size_m / 1000.0
    with pytest.raises(
        TerrainGapError, match=r"0\.000 km from the start of the path\) \(tile none\); the terrain"
    ):
        geodesic_profile(terrain, 9.0, 46.96, 10.05, 46.96)


def test_no_path(terrain):
    with pytest.raises(
        RangeError, match=r"length of the path is 0\.0 m; allowed: more than 0; the ends are two places"
    ):
        geodesic_profile(terrain, 10.03, 46.97, 10.03, 46.97)


@pytest.mark.parametrize("step_m", [0.0, -1.0, float("nan")])
def test_step_out_of_range(terrain, step_m):
    with pytest.raises(RangeError, match=r"step_m is .*; allowed: more than 0"):
        geodesic_profile(terrain, *ENDS, step_m=step_m)


def test_too_many_samples(terrain):
    with pytest.raises(RangeError, match="allowed: up to 1000000; take a longer step"):
        geodesic_profile(terrain, *ENDS, step_m=0.001)


def test_profile_arrays_must_agree():
    three, two = np.zeros(3), np.zeros(2)
    with pytest.raises(RangeError, match=r"one shape \(n,\), n >= 2"):
        TerrainProfile(three, two, three, three)
    with pytest.raises(RangeError, match="n >= 2"):
        TerrainProfile(three[:1], three[:1], three[:1], three[:1])
