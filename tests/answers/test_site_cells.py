"""What is known of every hill is the search's own, laid over the grid, and unknown where it is not known."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from combe.answers.site_cells import HILL_UNITS, hill_values, over_grid

SHAPE = (3, 4)
HILLS = np.array([1, 6, 11])


def work(**changes):
    """Return as much of a siting as is asked: three hills on twelve cells."""
    cells = np.arange(12.0).reshape(SHAPE)
    search = {
        "hills": HILLS,
        "people": np.array([10.0, 30.0, np.nan]),
        "harmed": np.array([0.0, 5.0, np.nan]),
        "score": np.array([10.0, 25.0, np.nan]),
        "feed_margin_db": np.array([11.0, 12.0, 13.0]),
        "cost": np.array([1.0, np.inf, 3.0]),
        "may_harm": True,
        "harm_counted": True,
        "has_costs": True,
    }
    slope = cells + 200.0
    slope[1, 2] = np.nan
    ground = SimpleNamespace(above_valley_m=cells + 100.0, slope_deg=slope, access_m=cells + 300.0)
    return SimpleNamespace(
        search=SimpleNamespace(**{**search, **changes}),
        ground=ground,
        area=SimpleNamespace(heights_m=np.zeros(SHAPE)),
    )


def test_each_value_is_that_of_its_hill() -> None:
    found = hill_values(work())
    assert list(found) == list(HILL_UNITS)
    expected = {
        "score": [10.0, 25.0, np.nan],
        "people": [10.0, 30.0, np.nan],
        "people_harmed": [0.0, 5.0, np.nan],
        "search_margin_db": [11.0, 12.0, 13.0],
        "above_valley_m": [101.0, 106.0, 111.0],
        "slope_deg": [201.0, np.nan, 211.0],
        "access_m": [301.0, 306.0, 311.0],
        "cost": [1.0, np.nan, 3.0],
    }
    for key, values in expected.items():
        np.testing.assert_array_equal(found[key], values)


def test_what_the_study_does_not_ask_for_is_not_there() -> None:
    bare = work(may_harm=False, has_costs=False)
    bare.ground.access_m = None
    assert list(hill_values(bare)) == ["score", "people", "search_margin_db", "above_valley_m", "slope_deg"]
    assert "people_harmed" not in hill_values(work(harm_counted=False))


def test_no_road_on_the_grid_is_access_that_is_not_known() -> None:
    far = work()
    far.ground.access_m = np.full(SHAPE, np.inf)
    assert np.isnan(hill_values(far)["access_m"]).all()


def test_over_the_grid_only_hills_have_values() -> None:
    found = over_grid(work(), np.array([1.0, 2.0, 3.0]))
    assert found.shape == SHAPE
    assert np.flatnonzero(~np.isnan(found)).tolist() == HILLS.tolist()
    assert found.ravel()[HILLS].tolist() == [1.0, 2.0, 3.0]
