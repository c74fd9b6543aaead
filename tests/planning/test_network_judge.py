"""The planning standard's judge, tile by tile: the same as over the whole grid at once."""

from dataclasses import replace

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.network import network_run, result_array
from combe.planning.tile_judge import (
    DOUBTFUL,
    HARM,
    MAPS,
    PREDICTED,
    SERVED,
    flags_of,
    network_judge,
    with_all,
)
from combe.prediction.coverage import predict_coverage
from combe.reception.harm import harm_entries
from combe.reception.judges import Fields, Rules, make_judges
from combe.reception.standing import make_roles, stand_cells
from combe.terrain.grid import cell_centres_m
from support_network import emissions_of, small_task

PARENTS = ("Station 0", "Station 1")


def ready(judges, parents=PARENTS):
    relays = [each.station not in parents for each in judges.emissions]
    return make_roles(judges, relays, [57.0] * len(judges.emissions))


def judged_task(judges, **changes):
    judge, key = network_judge(judges, ready(judges))
    return small_task(judge=judge, judge_key=key, **changes)


@pytest.fixture(scope="module")
def judges():
    return make_judges(emissions_of(small_task().stations, small_task().area.grid))


def whole_grid(task, judges, offsets_db=(0.0,) * 6):
    """Return standing and harm of the whole grid at once."""
    median, at_time = (
        np.array(
            [
                m.field_dbuv_m + np.float32(offset_db)
                for s, offset_db in zip(task.stations, offsets_db, strict=True)
                for m in predict_coverage(task.area, s, conditions=air)
            ]
        )
        for air in task.conditions
    )
    seen = Fields(*cell_centres_m(task.area.grid), median, at_time)
    standing = stand_cells(judges, ready(judges), seen)
    return seen, standing, harm_entries(judges, ready(judges), seen, standing)


@pytest.mark.parametrize("offsets_db", [(0.0,) * 6, (0.0, 3.5, 0.0, 0.0, -2.25, 0.0)])
def test_tiles_are_judged_as_the_whole_grid(tmp_path, judges, offsets_db):
    task = judged_task(judges, offsets_db=offsets_db)
    result = network_run(task, tmp_path / "out", cache_folder=tmp_path / "cache")
    assert result.tiles > 5
    assert set(result.arrays) == {*MAPS, SERVED, PREDICTED, DOUBTFUL, HARM}
    seen, standing, entries = whole_grid(task, judges, offsets_db)
    for name, record in MAPS.items():
        expected = with_all(name, standing.cells[record])
        np.testing.assert_array_equal(result_array(result, name), expected, name)
    for emission in range(len(judges.emissions)):
        served = flags_of(result_array(result, SERVED), emission)
        np.testing.assert_array_equal(served, standing.served[emission] > 0)
        predicted = flags_of(result_array(result, PREDICTED), emission)
        np.testing.assert_array_equal(predicted, ~np.isnan(seen.median_dbuv_m[emission]))
    found = result_array(result, HARM)
    assert len(found) > 10
    assert sorted(map(tuple, found.tolist())) == sorted(map(tuple, entries.tolist()))
    assert len(np.unique(standing.cells["best"])) > 3


def test_all_services_are_the_worst_of_each_number():
    margins = np.array([[[5.0, -1.0, 2.0]], [[3.0, 4.0, np.nan]]], dtype=np.float32)
    np.testing.assert_array_equal(with_all("margin_db", margins)[0], [[3.0, -1.0, np.nan]])
    np.testing.assert_array_equal(with_all("serving", np.array([[[2, 0]], [[1, 3]]]))[0], [[1, 0]])
    np.testing.assert_array_equal(with_all("unknown", np.array([[[2, 0]], [[1, 3]]]))[0], [[2, 3]])
    np.testing.assert_array_equal(with_all("margin_db", margins)[1:], margins)


def test_only_those_who_disturb_are_predicted_as_interferers(tmp_path, judges):
    task = judged_task(judges, disturbing=frozenset({1, 4}))
    result = network_run(task, tmp_path / "out", cache_folder=tmp_path / "cache")
    assert result.sweeps == 8
    assert len(list((tmp_path / "cache").glob("*.fields"))) == 8
    assert [each.kept.about["station"] for each in result.fields] == [each.name for each in task.stations]
    other = network_run(judged_task(judges), tmp_path / "every", cache_folder=tmp_path / "cache")
    assert (other.sweeps, other.sweeps_from_cache) == (12, 8)
    margins = [result_array(each, "margin_db") for each in (result, other)]
    assert not np.array_equal(*margins)


def test_the_fields_of_a_finished_run_may_be_asked(tmp_path, judges):
    task, cache = judged_task(judges), tmp_path / "cache"
    first = network_run(task, tmp_path / "out", cache_folder=cache)
    assert network_run(task, tmp_path / "out", cache_folder=cache).fields == ()
    again = network_run(task, tmp_path / "out", cache_folder=cache, with_fields=True)
    assert [each.kept.path for each in again.fields] == [each.kept.path for each in first.fields]
    assert all(each.from_cache for each in again.fields)
    first.fields[2].kept.path.unlink()
    told = []
    third = network_run(
        task, tmp_path / "out", cache_folder=cache, with_fields=True, progress=lambda *step: told.append(step)
    )
    assert [each.from_cache for each in third.fields] == [True, True, False, True, True, True]
    assert (third.sweeps_from_cache, third.tiles_from_before) == (11, third.tiles)
    assert told[-1][0] == told[-1][1]


def test_the_key_changes_with_what_is_judged(judges):
    _, key = network_judge(judges, ready(judges))
    one = judges.emissions[0]
    louder = make_judges((replace(one, minimum_dbuv_m=49.0), *judges.emissions[1:]))
    stricter = make_judges(judges.emissions, Rules(location_percent=99.0))
    others = [
        network_judge(louder, ready(louder)),
        network_judge(stricter, ready(stricter)),
        network_judge(judges, ready(judges, PARENTS[:1])),
    ]
    assert len({key, *(other for _, other in others)}) == 4
    same = make_judges(emissions_of(small_task().stations, small_task().area.grid))
    assert network_judge(same, ready(same))[1] == key


def test_emissions_must_be_those_of_the_task(tmp_path, judges):
    task = judged_task(judges)
    task = replace(task, stations=task.stations[::-1])
    with pytest.raises(RangeError, match=r"stations and services of the task is .* those of the emissions"):
        network_run(task, tmp_path / "out", cache_folder=tmp_path / "cache")


def test_an_offset_for_each_station(judges):
    with pytest.raises(RangeError, match="number of offsets is 2; allowed: 6, one a station"):
        judged_task(judges, offsets_db=(0.0, 1.0))
