"""ATSC is judged as its rule book does: by F(50,90), and with the co-channel ratio that goes by S/N."""

import json
from dataclasses import replace

import numpy as np
import pytest

from combe.answers import site, site_candidates, site_sets
from combe.answers.channel_signals import lay_field, predicted
from combe.answers.cover import cover_report
from combe.answers.emissions import emissions_of, partners_among, rules_of
from combe.answers.feed import feed_report
from combe.answers.people_places import PeopleTargets
from combe.answers.site_report import site_report
from combe.answers.spot import look_at
from combe.planning.grid_tiles import services_of
from combe.prediction.coverage import predict_coverage
from combe.reception.judges import fields_at, judge_emission, make_judges
from combe.reception.protection_ratios import protections
from combe.standards import atsc
from combe.standards.systems import TELEVISION_SYSTEMS, television_system
from combe.study.project_of import load_project
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from support_cli import run
from support_study import SITING, edited, write_study

ATSC = (
    ('modulation = "256-QAM"\ncode_rate = "2/3"\n', 'system = "ATSC"\n'),
    ("cell_size_m = 300", "cell_size_m = 900"),
)
SHARED = ("channel = 41", "channel = 27")
"""The relay on the parent's channel."""


@pytest.fixture(scope="module")
def cover(tmp_path_factory):
    return cover_report(load_project(write_study(tmp_path_factory.mktemp("atsc"), edited(*ATSC, SHARED))))


@pytest.fixture(scope="module")
def project(cover):
    return cover.project


def fields_for(cover, station, percent):
    conditions = replace(cover.run.task.conditions[0], time_percent=percent)
    return [each.field_dbuv_m for each in predict_coverage(cover.run.area, station, conditions=conditions)]


def test_coverage_is_judged_on_what_stands_for_ninety_percent(cover):
    # 47 CFR 73.625(b)(1), from memory: F(50,90) = F(50,50) - [F(50,10) - F(50,50)].
    fell_db = []
    for covered in cover.stations:
        usual, rare = (fields_for(cover, covered.station, percent) for percent in (50.0, 10.0))
        for service, median, seldom in zip(covered.services, usual, rare, strict=True):
            field = service.field_map.field_dbuv_m
            known = np.isfinite(field)
            assert np.allclose(field[known], np.minimum(2.0 * median - seldom, median)[known], atol=1e-3)
            fell_db.append(np.nanmedian(median - field))
    assert min(fell_db) > 0.3
    assert cover.provenance["percentages"].startswith("exceeded for 90 % of time, as twice")
    assert cover.provenance["time of service"].startswith("90 %, by F(50,90) = 2 F(50,50) − F(50,10)")


def test_fewer_are_counted_than_on_medians(cover):
    emission, served, medians = 0, 0, 0
    for covered in cover.stations:
        for service, median in zip(covered.services, fields_for(cover, covered.station, 50.0), strict=True):
            need = service.minimum_field_dbuv_m
            served += np.count_nonzero(service.field_map.field_dbuv_m >= need)
            medians += np.count_nonzero(median >= need)
            emission += 1
    assert 0 < served < medians


def test_a_place_and_the_choice_of_channels_go_by_the_same_fields(cover, project):
    row, column = 12, 20
    x_m, y_m = cell_centres_m(cover.grid)
    place = [float(each) for each in to_lonlat_deg(cover.grid, x_m[column], y_m[row])]
    spot = look_at(project, cover.run.area, *place)
    there = PeopleTargets(*(np.array([each]) for each in (*place, 10.0)), 0.0)
    field = lay_field(project, cover.run.area, there)
    for covered in cover.stations:
        found, _ = predicted(field, covered.station)
        for index, service in enumerate(covered.services):
            mapped = service.field_map.field_dbuv_m[row, column]
            assert found[index, 0] == pytest.approx(mapped, abs=0.5)
            (number,) = (
                n
                for n, each in enumerate(spot.radiated)
                if (each.station.name, each.service.name) == (service.station, service.service)
            )
            assert spot.median_dbuv_m[number] == pytest.approx(found[index, 0], abs=1e-9)


def least_ratio_db(project, grid, signal_to_noise_db):
    """Return the ratio to the other station that the judge of coverage asks for at some S/N [dB]."""
    radiated = services_of(project.stations)
    emissions = [
        replace(each, polarization="horizontal", x_m=0.0, y_m=0.0)
        for each in emissions_of(project, grid, radiated)
    ]
    pairs = partners_among(project, radiated)
    judges = make_judges(emissions, rules_of(project), pairs._replace(crossed=np.zeros_like(pairs.crossed)))
    other = next(n for n, each in enumerate(radiated) if each.service.channel == 27 and n > 0)
    # OET Bulletin 69: E = C/N - Kd - Ka - G + L + Nt + Ns is 40.6 dB(uV/m) for C/N 15 dB at 615 MHz.
    noise_dbuv_m = 25.6 - 20.0 * np.log10(615.0 / radiated[0].service.frequency_mhz)
    wanted_dbuv_m, low, high = noise_dbuv_m + signal_to_noise_db, 0.0, 60.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        layer = np.full((len(radiated), 1), -np.inf, dtype=np.float32)
        layer[0], layer[other] = wanted_dbuv_m, wanted_dbuv_m - middle
        judged = judge_emission(judges, fields_at([1000.0], [0.0], layer, layer), 0)
        low, high = (low, middle) if judged.margin_db[0, 0] >= 0.0 else (middle, high)
    return high


@pytest.mark.parametrize("level_db", [16.0, 17.0, 19.0, 22.0, 25.0, 27.9])
def test_the_ratio_on_one_channel_goes_by_what_noise_leaves(cover, project, level_db):
    # FCC OET Bulletin 69 (2004), co-channel formula; 0.02 dB for interferers neglected and single precision.
    asked_db = least_ratio_db(project, cover.grid, level_db)
    assert asked_db == pytest.approx(atsc.co_channel_ratio_db(level_db), abs=0.02)


@pytest.mark.parametrize("level_db", [28.0, 34.0, 50.0])
def test_strong_signals_ask_for_fifteen_decibels_and_a_trace_of_noise(cover, project, level_db):
    assert 14.99 <= least_ratio_db(project, cover.grid, level_db) <= 15.0 + 0.24


def test_interference_is_added_as_power_unless_the_study_says_otherwise(cover, project, tmp_path):
    assert rules_of(project).method == "power sum"
    assert "power sum" in cover.provenance["interference"]
    asked = ("[people]", '[interference]\nmethod = "log-normal"\n\n[people]')
    assert rules_of(load_project(write_study(tmp_path, edited(*ATSC, asked)))).method == "schwartz-yeh"
    usual = load_project(write_study(tmp_path / "usual"))
    assert rules_of(usual).method == "schwartz-yeh"


def test_where_time_is_not_the_median_both_ratios_of_a_pair_are_one():
    """The judge takes the wanted field for steady interference too, which would be too little of it."""
    for name, family in TELEVISION_SYSTEMS.items():
        if family.wanted_time.value != 50.0:
            rows = protections(television_system(name)).values()
            assert all(row.tropospheric_db == row.continuous_db for row in rows)


def test_a_model_that_knows_no_time_says_so_everywhere(tmp_path):
    plain = (*ATSC, ("[terrain]", 'model = "p526"\n\n[terrain]'))
    study = write_study(tmp_path, edited(*plain))
    words = "not judged for the 90 % that ATSC asks: the model knows nothing of time"
    told = " ".join(run("cover", study, "--out", tmp_path / "out", "--full").output.split())
    assert words in told
    assert words in (tmp_path / "out" / "map.html").read_text(encoding="utf-8")
    for command in (["check"], ["explain", "--at", "-84.3,36.6"], ["channels"]):
        found = json.loads(run(command[0], study, *command[1:], "--json").stdout)
        assert words in found["provenance"]["time of service"], command
    assert words in " ".join(run("check", study).output.split())


def test_a_feed_asks_the_ratio_of_its_own_signal_to_noise(tmp_path):
    third = """
[[stations]]
name = "Far Tower"
role = "parent"
longitude_deg = -84.38
latitude_deg = 36.58
aerial_height_m = 60.0
polarization = "horizontal"

[[stations.services]]
name = "Mux 3"
channel = 27
erp_w = 20.0
"""
    stronger = ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 8000.0")
    study = load_project(write_study(tmp_path, edited(*ATSC, stronger) + third))
    service = feed_report(study).relays[0].services[0]
    (row,) = (each for each in service.interference.rows if each.step == "co-channel")
    level_db = service.judged.carrier_to_noise_db
    assert row.protection_db == pytest.approx(atsc.ratio_at_sn_db(level_db), abs=1e-9)
    assert 16.0 < level_db < 28.0
    assert row.reference.startswith("FCC OET Bulletin 69 (2004), co-channel ratio by the S/N")


def test_sites_are_searched_counted_again_and_fed_onwards_by_the_same_time(tmp_path, monkeypatch):
    asked = []

    def noting(module, name, place):
        done = getattr(module, name)

        def noted(*given, **named):
            conditions = named["conditions"] if place is None else given[place].conditions
            asked.append((module.__name__.rpartition(".")[2], conditions.time_percent))
            return done(*given, **named)

        monkeypatch.setattr(module, name, noted)

    noting(site, "make_problem", 5)
    noting(site_sets, "make_problem", 5)
    noting(site_candidates, "predict_coverage", None)
    onwards = SITING.replace("sites = 2", "sites = 1\nrelays_feed_relays = true")
    onwards = onwards.replace("cell_size_m = 300.0\nlist_length = 4", "cell_size_m = 900.0\nlist_length = 1")
    weak = ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 20.0")
    report = site_report(
        load_project(write_study(tmp_path, edited(*ATSC, weak) + onwards)), tmp_path / "blocks"
    )
    assert report.work.search.problem.setting.standing
    assert set(asked) == {("site", 90.0), ("site_sets", 90.0), ("site_candidates", 90.0)}
    assert report.provenance["time of service"].startswith("90 %")
