"""Television systems in a study: analogue and digital, modes, rasters, and what is from memory."""

from dataclasses import replace

import pytest

from combe.answers.check import check_report
from combe.answers.provenance import television_words
from combe.answers.receiving import required_cn_db
from combe.errors import RangeError, StudyError
from combe.project import minimum_field
from combe.study.project_of import load_project
from support_study import SITING, edited, write_study

MODE = 'modulation = "256-QAM"\ncode_rate = "2/3"'
FEED_CN = ("required_margin_db = 10.0", "required_margin_db = 10.0\nrequired_cn_db = 40.0")


def study_with(folder, television, *changes):
    return load_project(write_study(folder, edited((MODE, television), *changes)))


def faults(folder, television, *changes):
    with pytest.raises(StudyError) as caught:
        study_with(folder, television, *changes)
    return list(caught.value.faults)


def test_an_analogue_study_has_no_mode(tmp_path):
    project = study_with(tmp_path, 'system = "PAL I"', FEED_CN)
    assert project.television.analogue_name == "I"
    assert project.location_percent == 50.0
    # ITU-R BT.417-5, from memory: 65 dB(uV/m) in Band IV, 70 in Band V; P.1546, sigma 9.5.
    assert minimum_field(project, 522.0) == (65.0, 65.0, 9.5)
    assert minimum_field(project, 634.0) == (70.0, 70.0, 9.5)
    relay, feed = project.fed[0]
    assert required_cn_db(project, feed, relay, relay.services[0]) == 40.0
    assert project.television.bandwidth_mhz == 5.5


def test_an_analogue_feed_needs_its_own_ratio(tmp_path):
    assert faults(tmp_path, 'system = "PAL B/G"') == [
        "stations[1].feed.required_cn_db: is missing; planning of PAL B/G states a field and no C/N: "
        "write the C/N [dB] that the relay's picture needs"
    ]
    given = edited((MODE, 'system = "PAL I"'), FEED_CN)
    with pytest.raises(StudyError) as caught:
        load_project(write_study(tmp_path, given + SITING))
    assert caught.value.faults == (
        "siting.feed.required_cn_db: is missing; planning of PAL I states a field and no C/N: "
        "write the C/N [dB] that the relay's picture needs",
    )
    asked = load_project(write_study(tmp_path, f"{given}{SITING}\n[siting.feed]\nrequired_cn_db = 40.0\n"))
    assert asked.siting.feed.required_cn_db == 40.0
    (relay, own), question = asked.fed[0], asked.siting
    lacking = replace(
        asked,
        feeds={relay.name: replace(own, required_cn_db=None)},
        siting=replace(question, feed=replace(question.feed, required_cn_db=None)),
    )
    with pytest.raises(StudyError) as caught:
        check_report(lacking)
    assert caught.value.faults == tuple(
        f"{place}.feed.required_cn_db: is missing; PAL I has no usual one, write it"
        for place in ("stations[1]", "siting")
    )
    assert check_report(asked).people_total == 8960.0
    project = study_with(tmp_path, 'system = "PAL B/G"', FEED_CN)
    relay, feed = project.fed[0]
    feed = replace(feed, required_cn_db=None)
    with pytest.raises(
        RangeError, match="required_cn_db of the feed is missing; allowed: a C/N in dB; PAL B/G states none"
    ):
        required_cn_db(project, feed, relay, relay.services[0])


def test_what_is_from_memory_is_printed(tmp_path):
    words = television_words(study_with(tmp_path, 'system = "SECAM D/K"', FEED_CN))
    assert words.startswith("SECAM D/K; served in 50 % of locations, aerials at 10 m; ITU-R BT.417-5")
    assert "from memory, unverified: median field of the bands, noise bandwidth" in words
    digital = television_words(study_with(tmp_path, 'system = "DVB-T"'))
    assert "DVB-T, 64-QAM 2/3, ricean channel, C/N 20.1 dB with 3 dB for the receiver" in digital
    assert "from memory, unverified: required C/N, implementation margin, receiver noise figure" in digital


# FCC OET Bulletin 69: 41 - 20 log(615/f) for ATSC; ISDB-T lies 1/7 MHz above the middle of its channel.
@pytest.mark.parametrize(
    ("system", "frequency_mhz", "mode"),
    [
        ("ATSC", 551.0, ("8-VSB", "2/3", "gaussian")),
        ("ISDB-T", 551.0 + 1.0 / 7.0, ("64-QAM", "3/4", "gaussian")),
        ("DVB-T", 522.0, ("64-QAM", "2/3", "ricean")),
        ("DVB-T2", 522.0, ("256-QAM", "2/3", "ricean")),
    ],
)
def test_the_usual_mode_and_the_raster_are_the_systems(tmp_path, system, frequency_mhz, mode):
    project = study_with(tmp_path, f'system = "{system}"')
    found = project.television
    assert (found.modulation, found.code_rate, found.channel_model) == mode
    assert project.stations[0].services[0].frequency_mhz == pytest.approx(frequency_mhz)


def test_a_field_for_most_of_the_time_is_noted(tmp_path):
    report = check_report(study_with(tmp_path, 'system = "ATSC"'))
    assert [note for note in report.notes if note.startswith("time of service: 90 %, by F(50,90) = ")]
    usual = check_report(study_with(tmp_path, 'system = "DVB-T"'))
    assert not [note for note in usual.notes if "time of service" in note]


FAULTS = {
    "mode of an analogue system": (
        'system = "PAL I"\nmodulation = "64-QAM"',
        'television.modulation: stands beside system "PAL I", which is analogue and has no modes; '
        "take it out",
    ),
    "modulation of another system": (
        'system = "ISDB-T"\nmodulation = "256-QAM"',
        'television.modulation: "256-QAM" is unknown to ISDB-T; did you mean "64-QAM"?',
    ),
    "code rate of another modulation": (
        'system = "DVB-T"\nmodulation = "QPSK"\ncode_rate = "7/8"',
        'television.code_rate: "7/8" is no code rate of QPSK; allowed: 1/2, 2/3, 3/4',
    ),
    "channel model without values": (
        'system = "ISDB-T"\nchannel_model = "ricean"',
        'television.channel_model: "ricean" is unknown to ISDB-T; allowed: gaussian',
    ),
    "raster of another width": (
        'system = "DVB-T"\nchannel_raster = "6 MHz UHF"',
        'television.channel_raster: "6 MHz UHF" has channels of 6 MHz, and DVB-T is 8 MHz wide; '
        'write "8 MHz UHF"',
    ),
}


@pytest.mark.parametrize(("television", "fault"), FAULTS.values(), ids=FAULTS.keys())
def test_a_fault_of_the_television_section(tmp_path, television, fault):
    assert faults(tmp_path, television, FEED_CN) == [fault]


def test_the_share_of_places_may_be_written(tmp_path):
    project = study_with(tmp_path, 'system = "PAL I"\nlocation_percent = 70.0', FEED_CN)
    assert project.location_percent == 70.0
    # ITU-R BT.417-5 and P.1546, from memory: 65 dB(uV/m) and 0.52 times 9.5 dB.
    assert minimum_field(project, 522.0).median_dbuv_m == pytest.approx(65.0 + 0.52 * 9.5)
