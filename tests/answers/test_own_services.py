"""Services of one station do not disturb one another: their powers are set against each other by design."""

from combe.answers.emissions import disturbers, partners_among
from combe.planning.grid_tiles import services_of
from combe.study.project_of import load_project
from support_study import edited, write_study


def test_a_neighbouring_channel_of_the_same_station_counts_for_nothing(tmp_path):
    neighbours = edited(("channel = 31\nerp_w = 1000.0", "channel = 28\nerp_w = 1000.0"))
    project = load_project(write_study(tmp_path, neighbours))
    radiated = services_of(project.stations)
    names = [(each.station.name, each.service.channel) for each in radiated]
    assert names[:2] == [("Parent Hill", 27), ("Parent Hill", 28)]
    against = disturbers(partners_among(project, radiated))
    assert 1 not in against[0]
    assert 0 not in against[1]


def test_the_same_channel_of_another_station_does_count(tmp_path):
    project = load_project(write_study(tmp_path, edited(("channel = 41", "channel = 27"))))
    radiated = services_of(project.stations)
    against = disturbers(partners_among(project, radiated))
    relay = next(i for i, each in enumerate(radiated) if each.station.name == "Combe Relay")
    assert relay in against[0]
    assert 0 in against[relay]
