"""Networks and people by hand: four cells in a row, two stations, two services."""

import numpy as np
import pyproj
import pytest

from combe.stations.transmitter import Service, Station
from combe.study.network import StationMargins, all_services, network_of, network_on_air
from combe.study.people_count import count_people, take_census
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
NAN = np.nan


def station(name, role):
    parent = "P" if role == "relay" else None
    return Station(
        name, role, -84.2, 36.6, 20.0, "horizontal", (Service("A", 27, 522.0, 1.0),), parent=parent
    )


P, R = station("P", "parent"), station("R", "relay")


def row(*margins):
    return np.array([margins])


def test_each_place_takes_the_best_station():
    network = network_of("A", [(P, row(5.0, -1.0, -9.0, NAN)), (R, row(1.0, 2.0, -3.0, NAN))], None)
    np.testing.assert_array_equal(network.margin_db, row(5.0, 2.0, -3.0, NAN))
    np.testing.assert_array_equal(network.margin_before_db, row(5.0, -1.0, -9.0, NAN))


def test_people_are_counted_before_and_after():
    census = take_census(PEOPLE, GRID)
    network = network_of("A", [(P, row(5.0, -1.0, -9.0, NAN)), (R, row(1.0, 2.0, -3.0, NAN))], census)
    people = network.people
    assert people.total == pytest.approx(1111.0)
    assert people.served_before == pytest.approx(1.0)
    assert people.newly_served == pytest.approx(10.0)
    assert people.served == pytest.approx(11.0)
    assert people.unserved == pytest.approx(100.0)
    assert people.without_prediction == pytest.approx(1000.0)


def test_a_margin_of_nought_serves():
    assert count_people(take_census(PEOPLE, GRID), row(0.0, -0.001, NAN, NAN)).served == pytest.approx(1.0)


def test_all_services_want_every_one_from_whichever_station():
    first = network_of("A", [(P, row(5.0, 5.0, -9.0, 5.0)), (R, row(-1.0, -1.0, 2.0, -1.0))], None)
    second = network_of("B", [(P, row(5.0, -5.0, -9.0, NAN)), (R, row(-1.0, 1.0, 3.0, NAN))], None)
    both = all_services([first, second], take_census(PEOPLE, GRID))
    np.testing.assert_array_equal(both.margin_db, row(5.0, 1.0, 2.0, NAN))
    assert both.people.served == pytest.approx(111.0)
    assert both.people.served_before == pytest.approx(1.0)
    assert both.people.newly_served == pytest.approx(110.0)
    assert both.people.without_prediction == pytest.approx(1000.0)


def test_a_service_that_no_parent_radiates_is_new_everywhere():
    network = network_of("A", [(R, row(1.0, -1.0, 2.0, NAN))], take_census(PEOPLE, GRID))
    assert network.people.served_before == 0.0
    assert network.people.newly_served == pytest.approx(101.0)


def test_people_outside_the_grid_are_not_counted():
    wide = People(
        counts=np.array([[7.0, 1.0, 10.0, 100.0, 1000.0, 7.0]]),
        crs=GRID.crs,
        transform=(100.0, 0.0, 729_900.0, 0.0, -100.0, 4_060_000.0),
        source="invented for this test",
        invented=True,
        nodata_cells=0,
    )
    people = count_people(take_census(wide, GRID), row(1.0, 1.0, -1.0, NAN))
    assert (people.total, people.served) == (pytest.approx(1111.0), pytest.approx(11.0))
    assert people.without_prediction == pytest.approx(1000.0)


def test_nobody_is_counted_without_a_census():
    assert take_census(None, GRID) is None
    assert count_people(None, row(1.0, 1.0, 1.0, 1.0)) is None


def test_what_interference_takes_is_told_apart():
    census = take_census(PEOPLE, GRID)
    nothing, one = np.zeros((1, 4), dtype=np.int16), np.array([[0, 1, 0, 0]], dtype=np.int16)
    parent = StationMargins(
        P, row(5.0, 2.0, -3.0, -8.0), row(5.0, 4.0, 6.0, -8.0), row(5.0, 4.0, 6.0, -8.0), one
    )
    relay = StationMargins(R, row(1.0, -1.0, -4.0, -2.0), None, row(1.0, 1.0, -4.0, 3.0), nothing)
    network = network_on_air("A", [parent, relay], census)
    people = network.people
    # Cell by cell 1, 10, 100 and 1000 people: served twice, served, lost, and kept off by interference.
    assert (people.served, people.served_before, people.newly_served, people.lost) == (
        11.0,
        111.0,
        0.0,
        100.0,
    )
    assert people.served_twice == 1.0
    assert people.limited_by_interference == 1100.0
    assert people.interference_unknown == 10.0
    assert network.serving.tolist() == [[2, 1, 0, 0]]
    both = all_services([network, network_of("B", [(P, row(1.0, 1.0, 1.0, 1.0))], census)], census)
    assert (both.people.lost, both.people.served_twice) == (100.0, 0.0)
