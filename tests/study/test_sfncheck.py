"""Sections sfn of a study: what becomes of them, and their faults, each at its place."""

import pytest

from combe.errors import StudyError
from combe.study.project_of import load_project
from support_study import STUDY, write_study

MEMBERS = 'members = ["Parent Hill", "Combe Relay"]\n'


def study_with(folder, *sections, system=""):
    told = "".join(f"\n[[sfn]]\n{each}" for each in sections)
    text = (
        STUDY.replace('modulation = "256-QAM"\ncode_rate = "2/3"', f'system = "{system}"')
        if system
        else STUDY
    )
    return write_study(folder, f"{text}{told}")


def test_a_section_becomes_a_network(tmp_path):
    more = 'size = "8k"\nguard_interval = "1/4"\nwindow = "first signal"\n'
    more += 'static_delay_us = {"Parent Hill" = 12.0}\n'
    (network,) = load_project(study_with(tmp_path, MEMBERS + more)).networks
    assert network.name == "network 1 on one frequency"
    assert network.members == ("Parent Hill", "Combe Relay")
    assert (network.size, network.guard_interval, network.window) == ("8k", "1/4", "first signal")
    assert dict(network.static_delay_us) == {"Parent Hill": 12.0}


def test_a_study_without_sections_has_no_networks(tmp_path):
    assert load_project(write_study(tmp_path)).networks == ()


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ('members = ["Parent Hill"]\n', "sfn[0].members"),
        ('members = ["Parent Hill", "Comb Relay"]\n', 'did you mean "Combe Relay"'),
        ('members = ["Parent Hill", "Parent Hill"]\n', "is a member already"),
        (MEMBERS + 'size = "64k"\n', "sfn[0].size: size of DVB-T2 is '64k'"),
        (
            MEMBERS + 'guard_interval = "1/5"\n',
            "sfn[0].guard_interval: guard interval of DVB-T2 32k is '1/5'",
        ),
        (MEMBERS + 'pilot_pattern = "PP1"\n', "sfn[0].pilot_pattern: pilot pattern of DVB-T2 32k is 'PP1'"),
        (MEMBERS + 'window = "last"\n', "sfn[0].window"),
        (MEMBERS + 'static_delay_us = {"Relay" = 1.0}\n', "is no member of this network"),
        (MEMBERS + 'processing_delay_us = {"Combe Relay" = -1.0}\n', "sfn[0].processing_delay_us"),
    ],
)
def test_faults_stand_at_their_key(tmp_path, section, words):
    with pytest.raises(StudyError) as caught:
        load_project(study_with(tmp_path, section))
    assert words in str(caught.value)
    assert len(caught.value.faults) == 1


def test_a_station_is_in_one_network(tmp_path):
    with pytest.raises(StudyError, match="is a member already") as caught:
        load_project(study_with(tmp_path, MEMBERS, MEMBERS))
    assert len(caught.value.faults) == 2


def test_systems_without_symbols_have_none_told(tmp_path):
    with pytest.raises(StudyError, match="ATSC has no such symbols; take it out"):
        load_project(study_with(tmp_path, MEMBERS + 'size = "8k"\n', system="ATSC"))
