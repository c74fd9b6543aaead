"""Static delays on a flat plain, where it is known by geometry which of them serve a village."""

import math
from dataclasses import replace

import pytest

from combe.answers.cover import cover_report
from combe.answers.delays import delays_report
from combe.errors import RangeError, StudyError
from combe.study.project_of import load_project
from support_cli import complaint, run_json
from support_delays import EQUALISED_US, GUARD_US, KM_PER_US, SFN, VILLAGES, write_networked
from support_flat import write_plain_study

LATER_US = (16.5 - 13.5) / KM_PER_US
"""By how much West comes later than East between them."""

PROCESSING = '\nprocessing_delay_us = {{ "East" = {} }}\nstatic_delay_us = {{ "East" = {} }}\n'


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return load_project(write_networked(tmp_path_factory.mktemp("networked")))


@pytest.fixture(scope="module")
def found(project):
    return delays_report(project)


def served_by_cover(project):
    return cover_report(project).all_services.people.served


def test_the_village_between_is_saved_by_the_least_delay(project, found):
    # Unserved now, since the echo comes later than any that is of use.
    assert LATER_US > EQUALISED_US > GUARD_US
    assert (found.people, found.people_now, found.people_advised) == (180.0, 80.0, 180.0)
    west, east = found.members
    assert (west.kept, west.advised.static_us, west.people_beside) == (True, 0.0, None)
    assert east.advised.static_us == math.ceil(LATER_US - EQUALISED_US) == 2.0
    assert east.people_beside == 80.0
    assert found.changed == (east,)
    assert east.looked.greatest_us == pytest.approx(30.0 / KM_PER_US + GUARD_US, abs=0.1)
    assert east.looked.least_us == -east.looked.greatest_us
    assert (found.exhausted, found.limit, found.people_at_most) == (False, 200, 180.0)
    assert found.trials <= 40


def test_the_coverage_counts_the_same_people(project, found):
    assert served_by_cover(project) == pytest.approx(found.people_now)
    assert found.served_after == pytest.approx(found.people_advised)
    assert found.served_after == served_by_cover(found.advised)
    assert found.advised.networks[0].static_delay_us == {"East": 2.0}


def test_people_of_cells_are_counted_as_coverage_does(tmp_path):
    head = (write_networked(tmp_path / "heads", villages={})).read_text("utf-8")
    everywhere = write_plain_study(tmp_path / "everywhere")
    everywhere.write_text(f'{head}\n[people]\nraster = "people.tif"\n', encoding="utf-8")
    project = load_project(everywhere)
    project = replace(project, grid=replace(project.grid, cell_size_m=900.0))
    assert delays_report(project, 1).people_now == pytest.approx(served_by_cover(project), rel=1e-9)


def test_the_limit_of_trials_ends_the_search(project):
    found = delays_report(project, 1)
    # The first step, a part of the range, is within what serves; nothing finer was tried.
    assert (found.trials, found.exhausted, found.members[1].advised.static_us) == (1, True, 7.0)
    assert found.members[1].people_beside is None
    with pytest.raises(RangeError, match="limit of trials is 0; allowed: 1 to 100000"):
        delays_report(project, 0)


@pytest.mark.parametrize(("processing_us", "advised_us", "served"), [(8.0, 0.0, 150.0), (20.0, 20.0, 50.0)])
def test_a_relay_on_its_parents_channel_can_only_wait(tmp_path, processing_us, advised_us, served):
    # Behind the relay the parent comes earlier by what the relay takes, everywhere.
    villages = {"By West": VILLAGES["By West"], "Behind": (768_500.0, 100)}
    sfn = SFN + PROCESSING.format(processing_us, 20.0)
    # So weak that the parent is heard behind the relay, from the same side.
    study = write_networked(tmp_path, villages=villages, relay=True, east_w=3.0, sfn=sfn)
    found = delays_report(load_project(study))
    _, relay = found.members
    assert relay.now.heard == "West"
    assert (relay.advised.static_us, found.people_advised) == (advised_us, served)
    assert relay.advised.delay_us == pytest.approx(30.0 / KM_PER_US + processing_us + advised_us, abs=0.1)


def test_what_cannot_be_asked_is_told(tmp_path, project):
    with pytest.raises(StudyError, match=r"people: is missing; delays are judged by the people"):
        delays_report(replace(project, people=None))
    with pytest.raises(StudyError, match=r"sfn: is missing; name stations"):
        delays_report(replace(project, networks=()))
    early = SFN + PROCESSING.format(5.0, -3.0)
    repeating = load_project(write_networked(tmp_path / "early", relay=True, sfn=early))
    with pytest.raises(StudyError, match=r"sfn\[0\].static_delay_us: East repeats West, .* not -3"):
        delays_report(repeating)
    apart = write_networked(tmp_path / "apart")
    apart.write_text(apart.read_text("utf-8").replace("channel = 30", "channel = 40", 1), encoding="utf-8")
    with pytest.raises(StudyError, match=r"sfn: network 1 .* so nothing adds; no delays help"):
        delays_report(load_project(apart))
    bare = '\n[[sfn]]\nmembers = ["West", "East"]\n'
    analogue = write_networked(tmp_path / "analogue", sfn=bare, system='system = "PAL I"\n')
    with pytest.raises(StudyError, match=r"echoes of PAL I do not add; each disturbs the others; no delays"):
        delays_report(load_project(analogue))


def test_the_command_says_it(tmp_path):
    study = write_networked(tmp_path)
    printed = run_json("delays", study, "--no-cache")
    assert printed["format"] == "combe/delays/1"
    assert printed["headline"] == [
        "80 of 180 people have every service now; with the advised delays 180. Set: East 2 µs (now 0).",
        "Static delays are set to ±1 µs; measured times decide. Judged by coverage: 180.",
        f"A bounded search, not proved the best: {printed['trials']} sets of delays tried of 200 allowed; "
        "at most 180 could be served.",
    ]
    east = printed["members"][1]
    assert (east["station"], east["static_delay_advised_us"], east["people_one_us_off"]) == (
        "East",
        2.0,
        80.0,
    )
    assert (printed["changed"], printed["limit_reached"]) == (["East"], False)
    assert printed["people_served_after"] == pytest.approx(180.0)
    limited = run_json("delays", study, "--no-cache", "--trials", "1")
    assert limited["limit_reached"]
    assert limited["headline"][2] == (
        "A bounded search, not proved the best: 1 set of delays tried, then the limit ended it; try more "
        "with --trials 2."
    )
    assert "--trials" in complaint("delays", study, "--trials", "0")
