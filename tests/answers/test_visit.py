"""Visits of a study: expected readings from its feed, storing, judging, and the sheet with its distances."""

import datetime
from pathlib import Path

import pytest

from combe.answers.expected_readings import expected_readings, sheet_sites
from combe.answers.feed import feed_report
from combe.answers.visit import log_report, sheet_report, visit_report
from combe.errors import RangeError, StudyError, TableError
from combe.planning.visits.air import AirSpread
from combe.planning.visits.log import read_log
from combe.planning.visits.readings import SeriesKey
from combe.study.file import default_log
from combe.study.project_of import load_project
from support_study import STUDY, edited, write_study
from support_visits import HEADER, TODAY, row, write_table

FREE_SPACE = edited(("invented = true", 'invented = true\nmodel = "free-space"'))


@pytest.fixture
def study(tmp_path):
    return load_project(write_study(tmp_path, FREE_SPACE))


def log_of(study):
    """Return the log beside a study."""
    return default_log(study.key)


def take(study, *rows, header=HEADER, **settings):
    path = write_table(Path(study.key).parent / "readings.csv", *rows, header=header)
    return visit_report(study, path, settings.pop("log", log_of(study)), today=TODAY, **settings)


def test_expected_readings_are_those_of_the_feed(study):
    expected = expected_readings(study).values
    relay = feed_report(study).relays[0]
    for number, service in enumerate(relay.services, start=1):
        budget, name = service.budget, service.radiated.name
        at_feeder = expected["Combe Relay", name, "feeder", "level"]
        assert at_feeder == pytest.approx(budget.receiver_input_dbm + budget.splitter_loss_db)
        assert expected["Combe Relay", name, f"splitter port {number}", "level"] == budget.receiver_input_dbm
        assert expected["Combe Relay", name, "receiver", "level"] == budget.receiver_input_dbm
        assert expected["Combe Relay", name, "receiver", "C/N"] == budget.carrier_to_noise_db
    assert expected["Combe Relay", "Mux 1", "output coupler", "ERP"] == 20.0
    assert expected["Parent Hill", "Mux 2", "output coupler", "ERP"] == 1000.0


def test_the_air_of_the_readings_is_that_of_the_path(study):
    found = expected_readings(study)
    for service in feed_report(study).relays[0].services:
        fall_db = {each.time_percent: each.fade_db for each in service.year.shares}[99.0]
        rise_db = {each.time_percent: each.enhancement_db for each in service.year.enhancements}[1.0]
        assert fall_db > 1.0 < rise_db
        for place, quantity in (("feeder", "level"), ("receiver", "level"), ("receiver", "C/N")):
            key = SeriesKey("Combe Relay", service.radiated.name, place, quantity)
            assert found.air[key] == AirSpread(fall_db, rise_db)
    assert not [key for key in found.air if key.quantity == "ERP"]
    level = found.values["Combe Relay", "Mux 1", "feeder", "level"]
    (judgement,) = take(study, row(value=f"{level:.1f}")).judgements
    assert judgement.air == found.air[judgement.key]
    (sheet,) = sheet_report(study, log_of(study)).sheets
    assert sheet.rows[0].air == judgement.air


CHAIN = """\
aerial_height_m = 12.0
aerial_gain_dbi = 14.0
required_margin_db = 10.0

[[stations.feed.stages]]
kind = "masthead amplifier"
gain_db = 15.0
noise_figure_db = 2.0

[[stations.feed.stages]]
kind = "feeder"
loss_db = 3.0

[[stations.feed.stages]]
kind = "passive splitter"
ways = 2

[[stations.feed.stages]]
kind = "attenuator"
loss_db = 6.0

[[stations.feed.stages]]
kind = "receiver"
noise_figure_db = 7.0

[stations.output]
aerial_gain_dbd = 10.0

[[stations.output.stages]]
name = "combiner"
loss_db = 1.0
"""


def test_expected_readings_of_the_chain_as_it_is_built(tmp_path):
    text = FREE_SPACE[: FREE_SPACE.index("aerial_height_m = 12.0")] + CHAIN
    study = load_project(write_study(tmp_path, text))
    expected = expected_readings(study).values
    aerial_dbm = feed_report(study).relays[0].services[1].budget.aerial_output_dbm
    levels = {
        key.test_point: value for key, value in expected.items() if key[1:] == ("Mux 2", key[2], "level")
    }
    # Passive division by two is 3.01 dB.
    assert levels == {
        "feeder": pytest.approx(aerial_dbm + 15.0 - 3.0),
        "splitter port 2": pytest.approx(aerial_dbm + 12.0 - 3.01, abs=0.001),
        "receiver": pytest.approx(aerial_dbm + 12.0 - 9.01, abs=0.001),
    }
    # 20 W ERP over 10 dBd less 1 dB: 9 dB under it at the amplifier.
    power_w = expected["Combe Relay", "Mux 2", "output coupler", "output power"]
    assert power_w == pytest.approx(20.0 / 10.0**0.9)
    (site,) = sheet_sites(study)
    assert site.splitter_ports == 2


PAD = """\
[[stations.feed.stages]]
kind = "attenuator"
loss_db = 10.0

"""
SPLITTER = CHAIN[CHAIN.index('[[stations.feed.stages]]\nkind = "passive splitter"') :]


def test_the_feeder_is_read_ahead_of_a_pad(tmp_path):
    chain = CHAIN.replace(SPLITTER, PAD + SPLITTER)
    text = FREE_SPACE[: FREE_SPACE.index("aerial_height_m = 12.0")] + chain
    study = load_project(write_study(tmp_path, text))
    expected = expected_readings(study).values
    aerial_dbm = feed_report(study).relays[0].services[0].budget.aerial_output_dbm
    assert expected["Combe Relay", "Mux 1", "feeder", "level"] == pytest.approx(aerial_dbm + 15.0 - 3.0)
    assert expected["Combe Relay", "Mux 1", "receiver", "level"] == pytest.approx(
        aerial_dbm + 12.0 - 19.01, abs=0.001
    )


def test_an_analogue_study_has_the_analogue_readings(tmp_path):
    text = edited(
        ('modulation = "256-QAM"\ncode_rate = "2/3"', 'system = "PAL I"'),
        ("required_margin_db = 10.0", "required_margin_db = 10.0\nrequired_cn_db = 36.0"),
        text=FREE_SPACE,
    )
    study = load_project(write_study(tmp_path, text))
    assert sheet_sites(study)[0].family == "analogue"
    (sheet,) = sheet_report(study, log_of(study)).sheets
    assert {"vision-to-sound ratio", "video S/N"} <= {row.row.quantity for row in sheet.rows}
    level = expected_readings(study).values["Combe Relay", "Mux 1", "receiver", "level"]
    assert level == pytest.approx(feed_report(study).relays[0].services[0].budget.receiver_input_dbm)


def test_sites_are_the_relays_or_all_stations(study, tmp_path):
    (site,) = sheet_sites(study)
    assert (site.station, site.services, site.splitter_ports) == ("Combe Relay", ("Mux 1", "Mux 2"), 2)
    assert (site.receives, site.family) == (True, "DVB-T2")
    lone = load_project(
        write_study(tmp_path / "lone", STUDY[: STUDY.index('[[stations]]\nname = "Combe Relay"')])
    )
    (parent,) = sheet_sites(lone)
    assert (parent.station, parent.receives, parent.splitter_ports) == ("Parent Hill", False, 0)
    assert set(expected_readings(lone).values) == {
        SeriesKey("Parent Hill", name, "output coupler", "ERP") for name in ("Mux 1", "Mux 2")
    }


def test_readings_are_stored_and_judged(study):
    level = expected_readings(study).values["Combe Relay", "Mux 1", "feeder", "level"]
    power = row(value="25", test_point="output coupler", quantity="ERP", unit="W")
    first = take(study, row(value=f"{level + 1.0:.1f}"), power)
    assert [each.status for each in first.judgements] == ["within tolerance", "out"]
    assert (first.status, first.stored, first.log) == ("out", True, log_of(study))
    assert len(read_log(first.log)) == 2
    later = take(study, row(value=f"{level - 2.5:.1f}", date="2026-05-20"))
    (judgement,) = later.judgements
    assert judgement.reason == "-3.5 dB from the record, allowed ±3 dB"
    assert len(read_log(first.log)) == 3
    whole = log_report(study, log_of(study))
    assert [each.key.quantity for each in whole.judgements] == ["level", "ERP"]
    assert (whole.taken, whole.stored, whole.status) == ((), False, "out")


def test_a_dry_run_judges_and_stores_nothing(study):
    report = take(study, row(), store=False)
    assert report.judgements[0].latest.value == -52.3
    assert not report.log.exists()


def test_a_malformed_file_leaves_the_log_as_it_was(study):
    log = take(study, row()).log
    before = log.read_bytes()
    bad = (
        row(date="2026-05-02", unit=""),
        row(date="2026-05-02", test_point="nowhere"),
        row(),
        row(date="2026-05-02", value='"-52,3"'),
        row(date="2.5.2026"),
        row(date="2026-05-03"),
    )
    with pytest.raises(TableError, match="5 faults, nothing was taken: row 2: unit is missing"):
        take(study, *bad)
    assert log.read_bytes() == before


def test_the_same_file_from_two_who_come_at_once_is_stored_once(study, monkeypatch):
    """The second has read the log before the first wrote it, and is told so when it may write."""
    take(study, row())
    monkeypatch.setattr("combe.answers.visit.read_log", lambda _: ())
    with pytest.raises(
        TableError, match="1 of its readings came into the log meanwhile, the first is level at"
    ):
        take(study, row())
    assert len(read_log(log_of(study))) == 1


def test_there_is_no_log_to_judge(study):
    with pytest.raises(StudyError, match=r"no reading is in the log .*visits\.gpkg yet; take some in with"):
        log_report(study, log_of(study))


def test_the_sheet_has_the_distances_of_all_services_together(study):
    (sheet,) = sheet_report(study, log_of(study)).sheets
    public, work = sheet.exposure
    assert (public.audience, work.audience) == ("public", "occupational")
    # ICNIRP 2020: f/200 and f/40 W/m2; 20 W at 634 and 20 W at 666 MHz, e.i.r.p. 1.6406 times as much.
    flux = (1.6406 * 20.0 / (634.0 / 200.0) + 1.6406 * 20.0 / (666.0 / 200.0)) / (4.0 * 3.14159265)
    assert public.distance_m == pytest.approx(flux**0.5, abs=0.001)
    assert work.distance_m == pytest.approx((flux / 5.0) ** 0.5, abs=0.001)
    assert sheet.exposure_reflected[0].distance_m == pytest.approx(1.6 * public.distance_m)
    assert len(public.shares) == 2
    assert public.near_field_m is None
    (sized,) = sheet_report(study, log_of(study), aerial_size_m=2.0).sheets
    assert sized.exposure[0].in_near_field
    with pytest.raises(RangeError, match=r"aerial_size_m is 0\.0"):
        sheet_report(study, log_of(study), aerial_size_m=0.0)


def test_the_sheet_knows_the_log(study):
    take(study, row())
    (sheet,) = sheet_report(study, log_of(study)).sheets
    first = sheet.rows[0]
    assert (first.record_value, first.last_value, first.lowest, first.highest) == (-52.3, -52.3, -55.3, -49.3)
    assert first.record.date == datetime.date(2026, 5, 1)


def test_another_log(study, tmp_path):
    report = take(study, row(), log=tmp_path / "other.gpkg")
    assert report.log == tmp_path / "other.gpkg"
    assert len(read_log(tmp_path / "other.gpkg")) == 1
    assert not log_of(study).exists()
