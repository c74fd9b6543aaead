"""People before and after a change: by hand, conserved whatever the masks, with harm that is never hidden."""

import math

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as st_numpy

from combe.decibels import field_from_loss_dbuv_m
from combe.errors import RangeError
from combe.planning.accounts import ELSEWHERE, Account, Districts, account_of, require_conserved, sum_accounts
from combe.planning.change import Reach, all_of, change_codes, never_served, reach_of
from combe.planning.harm import FATES, harm_by_station, judge_change
from combe.propagation.p525 import free_space_loss_db
from combe.reception.emission import Emission
from combe.reception.feed_interference import Channel
from combe.reception.judge_cells import Fields, Rules, judge_cells, make_judges
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People, covered_fraction

SHAPE = (4, 5)
masks = st_numpy.arrays(np.bool_, SHAPE)
counts = st_numpy.arrays(np.float64, SHAPE, elements=st.floats(0.0, 1e6))


def as_points(mask):
    """Carry a mask to people who live one unit to a cell."""
    return mask.astype(np.float64)


def reach(served, predicted=None, twice=None, doubtful=None):
    """Return a reach from rows of 0 and 1."""
    given_masks = [served, predicted, twice, doubtful]
    made = [None if each is None else np.array([each], dtype=bool) for each in given_masks]
    nowhere = np.zeros((1, len(served)), dtype=bool)
    return Reach(made[0], ~nowhere if made[1] is None else made[1],
                 *(nowhere if each is None else each for each in made[2:]))  # fmt: skip


@st.composite
def reaches(draw):
    served, predicted, twice, doubtful = (draw(masks) for _ in range(4))
    served &= predicted
    return Reach(served, predicted, twice & served, doubtful & served)


def test_accounts_by_hand():
    people = np.array([[10.0, 20.0, 30.0, 40.0, 50.0, 60.0]])
    before = reach([1, 1, 0, 0, 0, 1], [1, 1, 1, 1, 0, 1], twice=[1, 0, 0, 0, 0, 0])
    after = reach(
        [1, 0, 1, 0, 1, 0], [1, 1, 1, 1, 1, 0], twice=[1, 0, 1, 0, 0, 0], doubtful=[0, 0, 1, 0, 0, 0]
    )
    row = account_of("A", change_codes(before, after), people, as_points)
    account = row.everybody
    assert (account.total, account.served_before, account.served_after) == (210.0, 90.0, 90.0)
    assert (account.kept, account.newly_served, account.lost) == (10.0, 30.0, 20.0)
    assert (account.unserved_after, account.unknown_before, account.unknown_after) == (60.0, 50.0, 60.0)
    assert (account.twice_before, account.twice_after, account.doubtful) == (10.0, 40.0, 30.0)
    assert row.districts == {}


def test_by_district():
    people = np.array([[10.0, 20.0, 30.0, 40.0]])
    districts = Districts(("Upper", "Lower", "Empty"), np.array([[0, 1, 1, -1]]))
    codes = change_codes(reach([0, 0, 1, 0]), reach([1, 0, 1, 1]))
    row = account_of("A", codes, people, as_points, districts)
    assert list(row.districts) == ["Upper", "Lower", "Empty", ELSEWHERE]
    assert [each.newly_served for each in row.districts.values()] == [10.0, 0.0, 0.0, 40.0]
    assert [each.total for each in row.districts.values()] == [10.0, 50.0, 0.0, 40.0]


@given(counts, reaches(), reaches(), st_numpy.arrays(np.int32, SHAPE, elements=st.integers(-1, 2)))
def test_nobody_is_lost_or_counted_twice(people, before, after, labels):
    districts = Districts(("One", "Two", "Three"), labels)
    row = account_of("A", change_codes(before, after), people, as_points, districts)
    account, near = row.everybody, {"rel": 1e-9, "abs": 1e-6}
    assert account.total == pytest.approx(people.sum(), **near)
    assert account.served_before == pytest.approx(people[before.served].sum(), **near)
    assert account.served_after == pytest.approx(people[after.served].sum(), **near)
    assert account.unknown_after == pytest.approx(people[~after.predicted].sum(), **near)
    assert account.twice_after == pytest.approx(people[after.twice].sum(), **near)
    assert account.doubtful == pytest.approx(people[after.doubtful].sum(), **near)
    gained = account.newly_served - account.lost + account.flows[2, 0] - account.flows[0, 2]
    assert account.served_after - account.served_before == pytest.approx(gained, **near)
    assert account.served_after + account.unserved_after + account.unknown_after == pytest.approx(
        account.total, **near
    )
    summed = sum_accounts(list(row.districts.values()))
    assert np.allclose(summed.flows, account.flows, rtol=1e-9, atol=1e-6)
    assert summed.twice_before == pytest.approx(account.twice_before, **near)


@given(reaches(), reaches())
def test_all_services_serve_no_more_than_the_worst(one, other):
    both = all_of([one, other])
    assert np.array_equal(both.served, one.served & other.served)
    assert not np.any(both.twice & ~one.twice)
    assert not np.any(both.doubtful & ~both.served)
    assert np.array_equal(both.predicted, one.predicted & other.predicted)


def test_a_service_that_nobody_radiated_before():
    codes = change_codes(never_served((1, 2)), reach([1, 0]))
    account = account_of("A", codes, np.array([[10.0, 20.0]]), as_points).everybody
    assert (account.newly_served, account.unserved_after, account.unknown_before) == (10.0, 20.0, 0.0)


GRID = StudyGrid(pyproj.CRS.from_epsg(32632), 500_000.0, 5_300_000.0, 50.0, 120, 160)


def test_on_a_raster_of_another_projection():
    """Population cells of 3 arc seconds, cut by the edge of every mask: the flows still add up."""
    lon, lat = pyproj.Transformer.from_crs(32632, 4326, always_xy=True).transform(504_000.0, 5_297_000.0)
    heads = np.random.default_rng(2).gamma(0.4, 30.0, (50, 60))
    transform = (1 / 1200, 0.0, lon - 30 / 1200, 0.0, -1 / 1200, lat + 25 / 1200)
    people = People(heads, pyproj.CRS.from_epsg(4326), transform, "invented for tests", True, 0)
    row, column = np.mgrid[:120, :160]
    before = never_served((120, 160))._replace(served=np.hypot(row - 50, column - 60) < 40)
    after = never_served((120, 160))._replace(
        served=np.hypot(row - 60, column - 90) < 45, predicted=column < 100
    )
    after = after._replace(served=after.served & after.predicted)
    account = account_of(
        "A", change_codes(before, after), heads, lambda mask: covered_fraction(mask, GRID, people)
    ).everybody
    inside = float(np.sum(heads * covered_fraction(np.ones((120, 160), dtype=bool), GRID, people)))
    assert account.total == pytest.approx(inside, rel=1e-5)
    assert account.served_before == pytest.approx(
        float(np.sum(heads * covered_fraction(before.served, GRID, people))), rel=1e-5
    )
    assert min(account.kept, account.lost, account.newly_served, account.unknown_after) > 0.0


# Harm: a valley of people between two stations, and a newcomer on the channel of one of them.

CHANNEL = Channel("DVB", 602.0, 8.0)


def emission(name, x_m, service="A", channel=CHANNEL):
    return Emission(name, service, channel, "horizontal", x_m, 0.0, 45.0, 20.0, 5.5)


def flat_earth(emissions, erp_dbw):
    x, y = np.arange(-9.75e3, 10e3, 500.0), np.arange(4.75e3, -5e3, -500.0)
    far = [np.hypot(x[None, :] - each.x_m, y[:, None] - each.y_m) / 1000.0 + 0.01 for each in emissions]
    field = [field_from_loss_dbuv_m(erp_dbw, free_space_loss_db(d, 602.0), 602.0) for d in far]
    layers = np.stack(field).astype(np.float32)
    return Fields(x, y, layers, layers)


def test_a_relay_on_a_used_channel_harms_the_counted_people():
    emissions = [emission("Parent", -8e3), emission("Newcomer", 8e3, "B")]
    fields, judges = flat_earth(emissions, 0.0), make_judges(emissions, Rules(70.0))
    people = np.full((20, 40), 3.0)
    change = judge_change(
        judges, fields, "A", before_air=np.array([True, False]), after_air=np.array([True, True])
    )
    (harm,) = harm_by_station(emissions, change.before.server, change.fate, people, as_points)
    served_before, served_after = change.before.served, change.after.served
    assert (harm.station, harm.served_before) == ("Parent", 3.0 * served_before.sum())
    assert harm.lost == 3.0 * np.count_nonzero(served_before & ~served_after) > 300.0
    assert (harm.moved, harm.unknown) == (0.0, 0.0)
    assert harm.kept + harm.harmed == harm.served_before
    account = account_of(
        "A", change_codes(reach_of(change.before), reach_of(change.after)), people, as_points
    ).everybody
    assert (account.lost, account.newly_served) == (harm.lost, 0.0)


def test_a_relay_of_the_same_service_moves_some_of_the_public():
    emissions = [emission("Parent", -8e3), emission("Relay", 8e3)]
    fields, judges = flat_earth(emissions, 0.0), make_judges(emissions, Rules(70.0))
    change = judge_change(
        judges, fields, "A", before_air=np.array([True, False]), after_air=np.array([True, True])
    )
    (harm,) = harm_by_station(emissions, change.before.server, change.fate, np.ones((20, 40)), as_points)
    assert (
        harm.moved
        == np.count_nonzero(change.before.served & change.after.served & (change.after.server == 1))
        > 0
    )
    assert harm.lost == np.count_nonzero(change.before.served & ~change.after.served) > 0
    assert harm.kept + harm.lost + harm.moved == harm.served_before


def test_harm_of_a_station_without_prediction_is_unknown_and_not_none():
    emissions = [emission("Parent", -8e3), emission("Newcomer", 8e3, "B")]
    fields, judges = flat_earth(emissions, 0.0), make_judges(emissions, Rules(70.0))
    fields.median_dbuv_m[1, :, :20] = math.nan
    change = judge_change(
        judges, fields, "A", before_air=np.array([True, False]), after_air=np.array([True, True])
    )
    (harm,) = harm_by_station(emissions, change.before.server, change.fate, np.ones((20, 40)), as_points)
    assert harm.unknown == np.count_nonzero(change.before.served[:, :20]) > 0
    assert np.all(change.fate[:, :20][change.before.served[:, :20]] == FATES.index("unknown"))
    assert np.array_equal(reach_of(change.after).doubtful, change.after.served & (change.after.unknown > 0))
    assert harm.harmed > 0.0


def test_closing_a_station_is_harm_too():
    emissions = [emission("Parent", -8e3), emission("Other", 8e3, channel=Channel("DVB", 690.0, 8.0))]
    fields, judges = flat_earth(emissions, -20.0), make_judges(emissions, Rules(70.0))
    change = judge_change(
        judges, fields, "A", before_air=np.array([True, True]), after_air=np.array([False, True])
    )
    harms = harm_by_station(emissions, change.before.server, change.fate, np.ones((20, 40)), as_points)
    assert [each.station for each in harms] == ["Parent", "Other"]
    assert harms[0].harmed == harms[0].served_before > 0.0
    assert harms[1].harmed == 0.0
    assert harms[1].kept == harms[1].served_before > 0.0


def test_two_services_on_one_grid():
    emissions = [emission("Parent", -8e3), emission("Parent", -8e3, "B", Channel("DVB", 690.0, 8.0))]
    judges, fields = make_judges(emissions), flat_earth(emissions, 0.0)
    both = all_of([reach_of(judge_cells(judges, fields, each)) for each in "AB"])
    assert both.served.sum() == judge_cells(judges, fields, "A").served.sum() > 0


def test_refusals():
    people, codes = np.ones((1, 2)), change_codes(reach([1, 0]), reach([1, 1]))
    with pytest.raises(RangeError, match="people is negative or not finite in 2 of 2 places"):
        account_of("A", codes, -people, as_points)
    with pytest.raises(RangeError, match="shape of the carried fraction is"):
        account_of("A", codes, people, lambda _: np.zeros(7))
    with pytest.raises(RangeError, match="carried fraction is outside 0 to 1 or NaN"):
        account_of("A", codes, people, lambda mask: np.full(mask.shape, math.nan))
    with pytest.raises(RangeError, match=r"sum of the flows of people is 4\.000; allowed: 2\.000"):
        account_of("A", codes, people, lambda mask: np.ones(mask.shape))
    with pytest.raises(RangeError, match="shape of the time after"):
        change_codes(reach([1, 0]), reach([1]))
    with pytest.raises(RangeError, match="number of services is 0"):
        all_of([])
    with pytest.raises(RangeError, match="district names"):
        Districts(("One", "One"), np.zeros(1, dtype=int))
    with pytest.raises(RangeError, match="district label is 1; allowed: -1 to 0"):
        Districts(("One",), np.ones(1, dtype=int))
    with pytest.raises(RangeError, match="shape of the district labels"):
        account_of("A", codes, people, as_points, Districts(("One",), np.zeros(1, dtype=int)))
    with pytest.raises(RangeError, match="shape of the fates"):
        harm_by_station(
            [], np.zeros((1, 2), dtype=np.int16), np.zeros((1, 3), dtype=np.uint8), people, as_points
        )
    with pytest.raises(RangeError, match="sum of the flows"):
        require_conserved(Account(np.ones((3, 3)), 0.0, 0.0, 0.0), 10.0)
