"""Harm counted by hand: people between two stations, and a newcomer on the channel of one of them."""

import math

import numpy as np
import pyproj
import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.planning.people_count import take_census
from combe.planning.tile_judge import Victim, count_harm, flags_of
from combe.propagation.p525 import free_space_loss_db
from combe.reception.harm import harm_entries
from combe.reception.judges import Fields, Rules, make_judges
from combe.reception.standing import make_roles, stand_cells
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People
from support_judging import emission, judged_map

SHAPE = (20, 40)
GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 730_000.0, 4_060_000.0, 500.0, *SHAPE)
PEOPLE = People(
    np.full(SHAPE, 3.0),
    GRID.crs,
    (500.0, 0.0, GRID.west_m, 0.0, -500.0, GRID.north_m),
    "invented for this test",
    True,
    0,
)
CENSUS = take_census(PEOPLE, GRID)
MINIMUM_DBUV_M = 45.0 + 0.52 * 5.5


def flat_earth(emissions, erp_dbw):
    x, y = np.arange(-9.75e3, 10e3, 500.0), np.arange(4.75e3, -5e3, -500.0)
    far = [np.hypot(x[None, :] - each.x_m, y[:, None] - each.y_m) / 1000.0 + 0.01 for each in emissions]
    field = [field_from_loss_dbuv_m(erp_dbw, free_space_loss_db(d, 602.0), 602.0) for d in far]
    layers = np.stack(field).astype(np.float32)
    return Fields(x, y, layers, layers)


def harmed(emissions, fields, census=CENSUS):
    """Return judges and harm, where the first station is a parent and the others are relays."""
    judges = make_judges(emissions, Rules(70.0))
    roles = make_roles(judges, [i > 0 for i in range(len(emissions))], [MINIMUM_DBUV_M] * len(emissions))
    standing = stand_cells(judges, roles, fields)
    public = np.stack(
        [
            (standing.cells["best"][roles.table["service"][i]] == i)
            & (standing.served[i] > 0)
            & (standing.cells["unknown"][roles.table["service"][i]] > 0)
            for i in range(len(emissions))
        ]
    )
    doubtful = np.packbits(public, axis=0, bitorder="little")
    np.testing.assert_array_equal(flags_of(doubtful, 0), public[0])
    victims = tuple(Victim(each.station, each.service, 37) for each in emissions)
    entries = harm_entries(judges, roles, fields, standing)
    return judges, {
        each.station: each for each in count_harm(roles.pairs, victims, entries, doubtful, census)
    }


def before_after(judges, fields):
    alone = np.array([True, *[False] * (len(judges.emissions) - 1)])
    return judged_map(judges, fields, "A", alone), judged_map(judges, fields, "A")


def test_a_relay_on_a_used_channel_harms_the_counted_people():
    emissions = [emission("Parent", -8e3), emission("Newcomer", 8e3, service="B")]
    fields = flat_earth(emissions, 0.0)
    judges, harm = harmed(emissions, fields)
    before, after = before_after(judges, fields)
    lost = np.count_nonzero(before.served & ~after.served)
    found = harm["Parent"]
    assert (found.relay, found.service, found.channel) == ("Newcomer", "A", 37)
    assert found.cells == lost > 100
    assert found.fall_below == found.left_without == pytest.approx(3.0 * lost)
    assert (found.served_otherwise, found.not_known) == (0.0, 0.0)


def test_a_relay_of_the_same_service_serves_some_of_those_whom_it_takes():
    emissions = [emission("Parent", -8e3), emission("Relay", 8e3)]
    fields = flat_earth(emissions, 0.0)
    judges, harm = harmed(emissions, fields)
    before, after = before_after(judges, fields)
    found = harm["Parent"]
    # Where the relay is best now, the parent may serve all the same: those people have not fallen below.
    _, alone = harmed(emissions, fields, None)
    assert alone["Parent"].fall_below is None
    assert alone["Parent"].cells == found.cells
    lost = np.count_nonzero(before.served & ~after.served)
    assert found.left_without == pytest.approx(3.0 * lost)
    assert found.served_otherwise > 0.0
    assert found.fall_below == pytest.approx(found.served_otherwise + found.left_without)
    assert found.fall_below == pytest.approx(3.0 * found.cells)


def test_harm_of_a_station_without_prediction_is_unknown_and_not_none():
    emissions = [emission("Parent", -8e3), emission("Newcomer", 8e3, service="B")]
    fields = flat_earth(emissions, 0.0)
    fields.median_dbuv_m[1, :, :20] = math.nan
    judges, harm = harmed(emissions, fields)
    before, _ = before_after(judges, fields)
    assert harm["Parent"].not_known == pytest.approx(3.0 * np.count_nonzero(before.served[:, :20]))
    assert harm["Parent"].fall_below > 0.0


def test_who_may_be_harmed_and_is_not_is_listed_with_nought():
    emissions = [emission("Parent", -8e3), emission("Newcomer", 8e3, service="B")]
    fields = flat_earth(emissions, 0.0)
    fields.median_dbuv_m[1] -= 100.0
    _, harm = harmed(emissions, fields)
    found = harm["Parent"]
    assert (found.cells, found.fall_below, found.not_known) == (0, 0.0, 0.0)
