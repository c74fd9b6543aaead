"""A network in memory that follows changes: the very arrays of a run that begins anew."""

from dataclasses import replace

import numpy as np
import pytest

from combe.errors import Cancelled
from combe.planning.held_network import HeldNetwork
from combe.planning.network import NetworkResult, network_run, result_array
from combe.planning.tile_judge import HARM, NetworkJudge, network_judge
from combe.prediction.field_store import FieldMemory
from combe.reception.judges import make_judges
from combe.reception.standing import make_roles
from support_network import emissions_of, small_task

PARENTS = ("Station 0", "Station 1")
SIX = small_task().stations
LARGEST_BYTES = 64 << 20


def task_of(stations, changed=(), parents=PARENTS, **changes):
    """Return the judged task of some stations; ``changed`` are fields of their emissions."""
    area = changes.setdefault("area", small_task().area)
    emissions = [replace(each, **dict(changed)) for each in emissions_of(stations, area.grid)]
    judges = make_judges(emissions)
    relays = [each.station not in parents for each in judges.emissions]
    judge, key = network_judge(judges, make_roles(judges, relays, [57.0] * len(emissions)))
    return small_task(stations=stations, judge=judge, judge_key=key, **changes)


def moved(stations, number, random, *, by=0.02):
    """Return the stations with one at another place, of another height and power."""
    old = stations[number]
    services = tuple(replace(each, erp_w=each.erp_w * 10 ** random.uniform(-1, 1)) for each in old.services)
    new = replace(
        old,
        longitude_deg=SIX[number].longitude_deg + random.uniform(-by, by),
        latitude_deg=SIX[number].latitude_deg + random.uniform(-by, by),
        aerial_height_m=float(random.uniform(10.0, 60.0)),
        services=services,
    )
    return (*stations[:number], new, *stations[number + 1 :])


def arrays_of(result: NetworkResult) -> dict[str, np.ndarray]:
    """Return the arrays of a result, the rows of harm in one order."""
    found = {name: np.array(result_array(result, name)) for name in result.arrays}
    found[HARM] = found[HARM][np.lexsort(found[HARM].T)]
    return found


def assert_alike(held: NetworkResult, anew: NetworkResult) -> None:
    one, other = arrays_of(held), arrays_of(anew)
    assert one.keys() == other.keys()
    for name in one:
        np.testing.assert_array_equal(one[name], other[name], err_msg=name)


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def memory():
    return FieldMemory(small_task().area, LARGEST_BYTES)


@pytest.fixture
def judged_cells(monkeypatch):
    """How many cells are judged, call by call."""
    counts = []
    plain = NetworkJudge.judge_fields

    def counting(self, fields, first_row=0, *, before=True):
        counts.append(fields.median_dbuv_m[0].size)
        return plain(self, fields, first_row, before=before)

    monkeypatch.setattr(NetworkJudge, "judge_fields", counting)
    return counts


@pytest.mark.parametrize("seed", range(4))
def test_after_each_change_the_arrays_are_those_of_a_run_that_begins_anew(tmp_path, cache, memory, seed):
    random, held, stations = np.random.default_rng(seed), HeldNetwork(memory), SIX
    held.run(task_of(stations))
    for step in range(5):
        stations = moved(stations, int(random.integers(6)), random, by=(0.005, 0.03)[step % 2])
        task = task_of(stations)
        assert_alike(held.run(task), network_run(task, tmp_path / str(step), cache_folder=cache, threads=2))


def weak(stations, number, erp_w=0.01):
    """Return the stations with one so weak that it matters near its mast alone."""
    old = stations[number]
    new = replace(old, services=tuple(replace(each, erp_w=erp_w) for each in old.services))
    return (*stations[:number], new, *stations[number + 1 :])


def test_of_a_weak_station_only_the_cells_around_it_are_judged_again(tmp_path, cache, memory, judged_cells):
    held, stations = HeldNetwork(memory), weak(SIX, 3)
    held.run(task_of(stations))
    del judged_cells[:]
    there = replace(stations[3], aerial_height_m=stations[3].aerial_height_m + 5.0)
    task = task_of((*stations[:3], there, *stations[4:]))
    found = held.run(task)
    grid = task.area.grid
    assert 0 < sum(judged_cells) < 0.6 * grid.rows * grid.columns
    assert_alike(found, network_run(task, tmp_path, cache_folder=cache))


def test_a_network_that_did_not_change_is_not_judged(memory, judged_cells):
    held = HeldNetwork(memory)
    first = held.run(task_of(SIX))
    del judged_cells[:]
    again = held.run(task_of(SIX))
    assert judged_cells == []
    assert again.arrays is first.arrays
    assert (again.sweeps_from_cache, again.sweeps) == (12, 12)


def test_only_the_station_that_moved_is_predicted(memory):
    held = HeldNetwork(memory)
    held.run(task_of(SIX))
    found = held.run(task_of(moved(SIX, 2, np.random.default_rng(1))))
    assert [each.from_cache for each in found.fields] == [True, True, False, True, True, True]
    assert found.sweeps - found.sweeps_from_cache == 2


def test_what_was_undone_is_known(memory):
    held = HeldNetwork(memory)
    held.run(task_of(SIX))
    held.run(task_of(moved(SIX, 2, np.random.default_rng(1))))
    assert held.run(task_of(SIX)).sweeps_from_cache == 12


@pytest.mark.parametrize(
    "other",
    [
        {"changed": {"minimum_dbuv_m": 52.0}},
        {"changed": {"required_cn_db": 14.0}},
        {"parents": PARENTS[:1]},
        {"stations": SIX[:5]},
    ],
)
def test_where_more_than_fields_changes_all_is_judged(tmp_path, cache, memory, judged_cells, other):
    held = HeldNetwork(memory)
    held.run(task_of(SIX))
    del judged_cells[:]
    task = task_of(**({"stations": SIX} | other))
    found = held.run(task)
    assert sum(judged_cells) == task.area.grid.rows * task.area.grid.columns
    assert_alike(found, network_run(task, tmp_path, cache_folder=cache))


def test_corrections_count_as_changes_of_fields(tmp_path, cache, memory):
    held, grid = HeldNetwork(memory), small_task().area.grid
    held.run(task_of(SIX))
    by_cell = np.linspace(-6.0, 6.0, grid.rows * grid.columns).reshape(grid.rows, grid.columns)
    for offsets in ((0.0, 0.0, 3.5, 0.0, 0.0, 0.0), (0.0, by_cell, 0.0, 0.0, 0.0, 0.0)):
        task = task_of(SIX, offsets_db=offsets)
        again = network_run(task, tmp_path / str(len(str(offsets))), cache_folder=cache)
        assert_alike(held.run(task), again)


def test_a_run_that_is_given_up_loses_nothing(memory):
    held, told = HeldNetwork(memory), []
    first = held.run(task_of(SIX))
    other = task_of(moved(SIX, 2, np.random.default_rng(1)))

    def until(limit):
        def tell(done, steps, what):
            told.append(what)
            if done >= limit * steps:
                raise Cancelled

        return tell

    for limit in (0.0, 0.5, 0.86, 0.93):
        with pytest.raises(Cancelled):
            held.run(other, until(limit))
        assert held.run(task_of(SIX)).arrays is first.arrays
    assert told[-1] == "judging the cells"


def test_the_memory_drops_what_was_not_used_for_longest():
    task = task_of(SIX)
    grid = task.area.grid
    of_a_sweep = 3 * grid.rows * grid.columns * 4
    held = HeldNetwork(FieldMemory(task.area, 12 * of_a_sweep))
    held.run(task)
    held.run(task_of(moved(SIX, 2, np.random.default_rng(1))))
    # The moved station took the room of the one that was asked for first.
    again = held.run(task)
    assert again.sweeps - again.sweeps_from_cache > 0


def test_nobody_can_change_the_arrays(memory):
    found = HeldNetwork(memory).run(task_of(SIX))
    for name in found.arrays:
        assert not result_array(found, name).flags.writeable
    with pytest.raises(ValueError, match="read-only"):
        found.fields[0].kept.arrays["field_dbuv_m"][0, 0, 0] = 1.0
