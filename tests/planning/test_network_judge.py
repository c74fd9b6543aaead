"""The planning standard's judge, tile by tile: the same as over the whole grid at once."""

from dataclasses import replace

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.network_judge import MAPS, services_in, standard_judge
from combe.planning.network_run import network_run, result_array
from combe.prediction.coverage import predict_coverage
from combe.reception.judge_cells import Fields, Rules, judge_cells, make_judges
from combe.terrain.grid import cell_centres_m
from support_network import emissions_of, small_task


def judged_task(judges, situations, **changes):
    judge, key = standard_judge(judges, situations)
    return small_task(judge=judge, judge_key=key, **changes)


@pytest.fixture(scope="module")
def judges():
    return make_judges(emissions_of(small_task().stations, small_task().area.grid))


def test_tiles_are_judged_as_the_whole_grid(tmp_path, judges):
    parents = np.array([each.station in ("Station 0", "Station 1") for each in judges.emissions])
    situations = {"before": parents, "after": None}
    task = judged_task(judges, situations)
    result = network_run(task, tmp_path / "out", cache_folder=tmp_path / "cache")
    assert result.tiles > 5
    assert set(result.arrays) == {f"{name}_{when}" for name in MAPS for when in situations}
    median, at_time = (
        np.array(
            [m.field_dbuv_m for s in task.stations for m in predict_coverage(task.area, s, conditions=air)]
        )
        for air in task.conditions
    )
    seen = Fields(*cell_centres_m(task.area.grid), median, at_time)
    for k, service in enumerate(services_in(judges)):
        for when, on_air in situations.items():
            whole = judge_cells(judges, seen, service, on_air)
            for name in MAPS:
                np.testing.assert_array_equal(
                    result_array(result, f"{name}_{when}")[k], getattr(whole, name), name
                )
    after = result_array(result, "server_after")
    assert len(np.unique(after)) > 3
    before = result_array(result, "margin_db_before") >= 0.0
    assert not np.array_equal(before, result_array(result, "margin_db_after") >= 0.0)


def test_services_keep_their_order(judges):
    assert services_in(judges) == ("service 0", "service 1", "service 2")


def test_the_key_changes_with_what_is_judged(judges):
    _, key = standard_judge(judges, {"after": None})
    one = judges.emissions[0]
    louder = make_judges((replace(one, minimum_dbuv_m=49.0), *judges.emissions[1:]))
    stricter = make_judges(judges.emissions, Rules(location_percent=99.0))
    silent = np.arange(len(judges.emissions)) > 0
    others = [
        standard_judge(louder, {"after": None}),
        standard_judge(stricter, {"after": None}),
        standard_judge(judges, {"after": silent}),
        standard_judge(judges, {"before": None}),
    ]
    assert len({key, *(other for _, other in others)}) == 5
    assert (
        standard_judge(
            make_judges(emissions_of(small_task().stations, small_task().area.grid)), {"after": None}
        )[1]
        == key
    )


def test_emissions_must_be_those_of_the_task(tmp_path, judges):
    task = judged_task(judges, {"after": None})
    task = replace(task, stations=task.stations[::-1])
    with pytest.raises(RangeError, match=r"stations and services of the task is .* those of the emissions"):
        network_run(task, tmp_path / "out", cache_folder=tmp_path / "cache")


def test_a_situation_must_be_named(judges):
    with pytest.raises(RangeError, match="number of situations is 0; allowed: 1 or more"):
        standard_judge(judges, {})
