"""Networks: maps are read when asked, and their people counted."""

import numpy as np
import pyproj
import pytest

from combe.answers.network import count_network
from combe.planning.people_count import take_census
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People

GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 730_000.0, 4_060_000.0, 100.0, 1, 4)
PEOPLE = People(
    counts=np.array([[1.0, 10.0, 100.0, 1000.0]]),
    crs=GRID.crs,
    transform=(100.0, 0.0, 730_000.0, 0.0, -100.0, 4_060_000.0),
    source="invented for this test",
    invented=True,
    nodata_cells=0,
)
MAPS = {
    "margin_db": np.array([[5.0, 2.0, -3.0, -2.0]]),
    "margin_before_db": np.array([[5.0, 4.0, 6.0, -8.0]]),
    "noise_margin_db": np.array([[5.0, 4.0, 6.0, 3.0]]),
    "serving": np.array([[2, 1, 0, 0]], dtype=np.int16),
    "unknown": np.array([[0, 1, 0, 0]], dtype=np.int16),
}


def test_a_network_is_counted_from_its_maps():
    people = count_network("A", MAPS.__getitem__, take_census(PEOPLE, GRID)).people
    assert (people.served, people.served_before, people.lost) == (
        pytest.approx(11.0),
        pytest.approx(111.0),
        pytest.approx(100.0),
    )
    assert (people.served_twice, people.limited_by_interference, people.interference_unknown) == (
        pytest.approx(1.0),
        pytest.approx(1100.0),
        pytest.approx(10.0),
    )


def test_maps_are_read_each_time_they_are_asked():
    asked = []

    def read(name):
        asked.append(name)
        return MAPS[name]

    network = count_network("A", read, None)
    assert (network.people, network.districts) == (None, ())
    asked.clear()
    for name, values in MAPS.items():
        np.testing.assert_array_equal(getattr(network, name), values)
    assert asked == list(MAPS)
