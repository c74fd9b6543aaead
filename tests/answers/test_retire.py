"""Which relays could go, on a flat plain in free space where it can be seen who serves whom."""

from dataclasses import replace

import numpy as np
import pytest

import combe
from combe.answers.retire import retire_report
from combe.errors import RangeError, StudyError
from combe.study.project_of import load_project
from combe.terrain import people_on_grid
from support_cli import complaint, run_json
from support_flat import HEAD, lonlat_of, station_text, write_plain_study

PLACES = {"Mast": 735_000.0, "Near": 745_000.0, "Far": 755_000.0, "End": 765_000.0}
NORTH_M = 4_040_000.0
REACH_W = 0.005
"""Serves some kilometres about a station, and no place of another."""


def study(folder, *, costs=None, far_from="Mast", services="AB"):
    """Write a study of a mast and three relays in a row, too weak to reach one another's people."""
    stations = []
    parents = {"Mast": None, "Near": "Mast", "Far": far_from, "End": "Far"}
    for number, (name, parent) in enumerate(parents.items()):
        radiated = [(service, 21 + 3 * number + 12 * k, REACH_W) for k, service in enumerate(services)]
        text = station_text(name, PLACES[name], NORTH_M, radiated, parent=parent)
        cost = (costs or {}).get(name)
        stations.append(
            text.replace("role =", f"running_cost = {cost}\nrole =") if cost is not None else text
        )
    return write_plain_study(folder, *stations, head=HEAD, people=False)


def with_people(project, **heads):
    """Put people beside stations, and nowhere else."""
    lon, lat = np.array([lonlat_of(PLACES[name] + 400.0, NORTH_M) for name in heads]).T
    counts = np.array(list(heads.values()), dtype=float)
    points = combe.PeoplePoints(lon, lat, counts, tuple(heads), "made up", True)
    return replace(project, people=combe.PeopleInMemory(points=points))


@pytest.fixture
def project(tmp_path):
    return with_people(load_project(study(tmp_path)), Mast=1000, Near=5, Far=40, End=100)


def test_each_relay_leaves_those_without_whom_it_alone_serves(project):
    found = retire_report(project, 99.0)
    assert [(each.station.name, round(each.without)) for each in found.relays] == [
        ("Near", 5),
        ("End", 100),
        ("Far", 140),
    ]
    assert found.relays[-1].followers == ("End",)
    assert found.people == pytest.approx(1145.0)


@pytest.mark.parametrize(
    ("keep", "closed", "left"),
    [(100.0, (), None), (99.5, ("Near",), 1140.0), (90.0, ("Near", "End"), 1040.0), (80.0, None, 1000.0)],
)
def test_the_largest_set_closes_and_is_judged_anew(project, keep, closed, left):
    found = retire_report(project, keep)
    assert found.closed == (("Near", "End", "Far") if closed is None else closed)
    assert found.served_after == (None if left is None else pytest.approx(left))
    assert found.closing.people >= keep / 100.0 * found.people - 1e-6
    assert found.closing.gap == pytest.approx(0.0, abs=1e-6)


def test_costs_decide_where_they_are_stated(tmp_path):
    costs = {"Near": 10.0, "Far": 10.0, "End": 900.0}
    priced = with_people(load_project(study(tmp_path, costs=costs)), Mast=1000, Near=60, Far=40, End=100)
    found = retire_report(priced, 90.0)
    # Both sets of one are allowed; the costlier one goes.
    assert (found.closed, found.closing.spared, found.by_cost) == (("End",), 900.0, True)
    assert {each.station.name: each.spared for each in found.relays} == {"Near": 10, "Far": 910, "End": 900}


def test_a_network_that_lacks_a_service_without_the_set_is_not_judged_anew(project):
    def renamed(station):
        services = tuple(replace(each, name=each.name.replace("B", "Z")) for each in station.services)
        return replace(station, services=services, parent=None) if station.role == "relay" else station

    with pytest.raises(RangeError, match='service of Near, fed by Mast is "Z"; allowed: A, B'):
        replace(project, stations=(project.stations[0], *(replace(renamed(each), parent=each.parent)
                                                          for each in project.stations[1:])))  # fmt: skip
    other = replace(project, stations=tuple(map(renamed, project.stations)), feeds={})
    found = retire_report(other, 0.0)
    # Nobody has A, B and Z.
    assert (found.people, found.served_after) == (0.0, None)
    assert set(found.closed) == {"Near", "Far", "End"}


def test_a_relay_on_which_single_services_hang_closes_with_a_word(tmp_path):
    """Whom Near serves never had B: nobody loses every service, and five lose A."""
    path = study(tmp_path)
    whole = with_people(load_project(path), Mast=1000, Near=5)
    near = whole.station("Near")
    only_a = replace(near, services=near.services[:1])
    found = retire_report(whole.with_station(only_a, feed=whole.feeds["Near"]).without("Far"))
    assert (found.closed, found.people, found.served_after) == (("Near",), 1000.0, 1000.0)
    assert found.losses == (("A", pytest.approx(1005.0), pytest.approx(1000.0)),)
    text = " ".join(combe.report(found).text().split())
    assert "Fewer have single services then: A 1 000, now 1 005." in text


def test_sets_that_leave_nobody_without_a_service_have_no_losses(project):
    assert retire_report(project, 100.0).losses == ()


def test_what_cannot_be_asked_is_told(tmp_path, project):
    with pytest.raises(RangeError, match=r"share of people to be kept, in percent is 101"):
        retire_report(project, 101.0)
    with pytest.raises(StudyError, match="people: is missing"):
        retire_report(replace(project, people=None))
    with pytest.raises(StudyError, match="no relay is there that could go"):
        retire_report(project.only(["Mast"]))
    some = load_project(study(tmp_path / "some", costs={"Near": 10.0}))
    with pytest.raises(StudyError, match=r"stations\[2\].running_cost: is missing; other relays have one"):
        retire_report(with_people(some, Mast=1))


def test_costs_go_with_their_stations(tmp_path):
    priced = load_project(study(tmp_path, costs={"Near": 10.0, "Far": 0.0, "End": 900.0}))
    assert priced.running_costs == {"Near": 10.0, "Far": 0.0, "End": 900.0}
    assert priced.without("Far").running_costs == {"Near": 10.0}
    with pytest.raises(RangeError, match="running_cost of Near is -1"):
        replace(priced, running_costs={"Near": -1.0})


def test_people_on_the_grid_are_all_of_them(project):
    report = combe.cover(project)
    spread = people_on_grid(report.grid, report.people)
    assert spread.shape == (report.grid.rows, report.grid.columns)
    assert spread.sum() == pytest.approx(1145.0)


def test_the_command_says_it(tmp_path):
    path = study(tmp_path)
    lon, lat = lonlat_of(PLACES["Mast"] + 400.0, NORTH_M)
    (tmp_path / "heads.csv").write_text(
        f"longitude_deg,latitude_deg,people,name\n{lon},{lat},50,Town\n", encoding="utf-8"
    )
    path.write_text(path.read_text(encoding="utf-8") + '\n[people]\npoints = "heads.csv"\n', encoding="utf-8")
    printed = run_json("retire", path, "--keep", "100", "--no-cache")
    assert printed["headline"][0].startswith("3 of 3 relays can close: ")
    assert printed["headline"][1] == "Judged anew without them, 50 people have every service."
    assert [each["people_without"] for each in printed["relays"]] == [0.0, 0.0, 0.0]
    assert "--keep" in complaint("retire", path, "--keep", "120")
