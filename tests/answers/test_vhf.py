"""A study in Band III, in channels of 7 MHz: path, feed, coverage, places and channels as at UHF."""

from __future__ import annotations

import numpy as np
import pytest

from combe.answers.channels import channels_report
from combe.answers.cover import cover_report
from combe.answers.explain import explain_place
from combe.answers.feed import feed_report
from combe.answers.path import path_report
from combe.answers.site_harm import at_risk
from combe.answers.visit import sheet_report
from combe.decibels import field_from_loss_dbuv_m
from combe.errors import StudyError
from combe.planning.siting.template import RelayTemplate, pattern_options
from combe.project import minimum_field
from combe.standards.bt419 import DIRECTIVITY_BAND_III, curve_number
from combe.stations.transmitter import Service
from combe.study.project_of import load_project
from combe.study.template import study_text
from support_pycraf import pycraf_parts
from support_study import BAND_III, edited, write_study

CITY = ('system = "DVB-T2 7 MHz"', 'noise_environment = "city"\nsystem = "DVB-T2 7 MHz"')


def project_in(folder, *changes):
    return load_project(write_study(folder, edited(*BAND_III, *changes)))


@pytest.fixture(scope="module")
def band_iii(tmp_path_factory):
    return project_in(tmp_path_factory.mktemp("vhf"))


def test_channels_lie_where_the_plan_puts_them(band_iii):
    """GE06, Band III of 7 MHz: 177.5 + 7(n - 5) MHz."""
    frequencies = [service.frequency_mhz for each in band_iii.stations for service in each.services]
    assert frequencies == [184.5, 198.5, 212.5, 226.5]


def test_the_path_is_that_of_the_recommendation_at_200_mhz(band_iii):
    """Diffraction as pycraf 2.1 has it (P.452-16, whose median is P.1812's), and the field that follows.

    The validation set of P.1812 has VHF too, at 95.3 and 98.2 MHz: combe.evidence.p1812_set.
    """
    pathprof, units = pycraf_parts()
    report = path_report(band_iii, "Parent Hill", "Combe Relay")
    found = report.of_service("Mux 2")
    profile, steps = report.profile, found.prediction.p1812_steps
    path = pathprof.PathProp(
        0.1985 * units.GHz, 290 * units.K, 1013 * units.hPa,
        0 * units.deg, 45 * units.deg, 0.3 * units.deg, 45 * units.deg,
        60 * units.m, 12 * units.m, 1 * units.m, 50 * units.percent,
        delta_N=45.0 / units.km, N0=325.0 * units.dimensionless_unscaled,
        hprof_dists=profile.distance_km * units.km, hprof_heights=profile.height_m * units.m,
        hprof_bearing=0 * units.deg, hprof_backbearing=0 * units.deg,
    )  # fmt: skip
    diffraction_db = float(pathprof.loss_diffraction(path)[0].value)
    assert diffraction_db > 30.0
    assert steps.diffraction_median_db == pytest.approx(diffraction_db, abs=0.02)
    # 92.4 + 20 log(0.1985) + 20 log d, and on a blocked path of 16 km nothing else but diffraction.
    free_db = 92.4 + 20.0 * np.log10(0.1985) + 20.0 * np.log10(profile.distance_km[-1])
    field = field_from_loss_dbuv_m(30.0, free_db + diffraction_db, 198.5)
    assert found.field_strength_dbuv_m == pytest.approx(field, abs=0.1)


def test_a_feed_counts_the_noise_of_its_surroundings(band_iii, tmp_path):
    """P.372 at 184.5 MHz, rural unless stated, behind 2 + 3.5 dB and a receiver of 6 dB; worked.

    67.2 - 27.7 log 184.5 = 4.43 dB, 1.77 over T0: 10 log((3.981 + 1.773/3.548)/3.981) = 0.51 dB. City:
    14.03 dB, 24.29 over T0: 4.34 dB.
    """
    stated = [project_in(tmp_path / each, environment(each)) for each in ("none", "city")]
    chains = [feed_report(each).relays[0] for each in (band_iii, *stated)]
    rural, none, city = (each.services[0].budget for each in chains)
    assert none.noise_dbm == pytest.approx(-174.0 + 10.0 * np.log10(6.66e6) + 0.02 + 6.0, abs=0.02)
    assert rural.noise_dbm - none.noise_dbm == pytest.approx(0.51, abs=0.01)
    assert city.noise_dbm - none.noise_dbm == pytest.approx(4.34, abs=0.01)
    assert none.margin_db - city.margin_db == pytest.approx(4.34, abs=0.01)
    assert "noise" in chains_provenance(band_iii)
    words = chains_provenance(stated[1])["noise"]
    assert words.startswith("at 184.5 MHz, for viewers ")
    assert "relays' receive aerials 14.0 dB over kT0B (city" in words


def test_what_costs_most_is_named_in_words(tmp_path):
    """P.372 in a city at 184.5 MHz: 14 dB over kT0B, more than any stage of the chain."""
    relay = feed_report(project_in(tmp_path, environment("city"))).relays[0]
    assert "within the chain, the noise of the surroundings costs most" in relay.services[0].reason


AS_BUILT = """\
[stations.feed]
from = "Parent Hill"
required_margin_db = 10.0

[stations.feed.aerial]
height_m = 12.0
gain_dbi = 12.0

[[stations.feed.stages]]
kind = "feeder"
size = "7/8 in foam"
length_m = 100.0

[[stations.feed.stages]]
kind = "receiver"
noise_figure_db = 6.0

[stations.output]
aerial_gain_dbd = 10.0

[[stations.output.stages]]
name = "feeder"
size = "7/8 in foam"
length_m = 100.0
"""


def test_feeders_by_size_lose_less_at_vhf(tmp_path):
    """7/8 in foam, 2.6 dB at 450 MHz, by the square root at 198.5 MHz: 1.73 dB in 100 m; worked."""
    text = edited(*BAND_III)
    text = text[: text.index("[stations.feed]")] + AS_BUILT
    relay = feed_report(load_project(write_study(tmp_path, text))).relays[0]
    assert relay.services[1].budget.feeder_loss_db == pytest.approx(1.727, abs=0.001)
    # The output on 226.5 MHz: 1.85 dB.
    assert relay.output.services[1].budget.total_loss_db == pytest.approx(1.845, abs=0.001)


def environment(name):
    return ('system = "DVB-T2 7 MHz"', f'noise_environment = "{name}"\nsystem = "DVB-T2 7 MHz"')


def chains_provenance(project):
    return feed_report(project).provenance


def test_the_minimum_field_has_the_published_allowance_or_the_stated_noise(band_iii, tmp_path):
    """BT.2036-5: 2 dB in Band III; P.372 in a city at 184.5 MHz 14.03 dB behind 2 dB of feeder: 6.86 dB."""
    published = minimum_field(band_iii, 184.5).median_dbuv_m
    city = minimum_field(project_in(tmp_path, CITY), 184.5).median_dbuv_m
    assert city - published == pytest.approx(6.86 - 2.0, abs=0.01)


@pytest.fixture(scope="module")
def covered(band_iii):
    return cover_report(band_iii)


def test_coverage_place_and_channels(band_iii, covered):
    report = covered
    people = report.all_services.people
    assert 0.0 < people.served_before < people.served < people.total
    assert "2.0 dB in the minimum field" in report.provenance["noise"]
    place = explain_place(band_iii, -84.30, 36.68)
    assert [each.served for each in place.services] == [True, True]
    best = place.services[0].candidates[0]
    assert best.minimum_dbuv_m == pytest.approx(minimum_field(band_iii, 184.5).median_dbuv_m)
    plan = channels_report(band_iii).plan
    assert plan is not None
    assert set(plan.channels) <= set(range(2, 13))


def test_an_interferer_behind_the_aerial_is_12_db_weaker(tmp_path):
    """ITU-R BT.419-3, Band III, from memory; 16 dB in Bands IV and V."""
    beside = (("channel = 12", "channel = 8"), ('polarization = "vertical"', 'polarization = "horizontal"'))
    place = explain_place(project_in(tmp_path, *beside), -84.22, 36.615)
    nuisances = [
        each.nuisance
        for service in place.services
        for candidate in service.candidates
        for each in candidate.disturbers
        if each.relation == "co-channel"
    ]
    assert nuisances
    for each in nuisances:
        assert each.off_axis_deg > 60.0
        assert each.gain_db == pytest.approx(-12.0, abs=1e-6)


def test_whom_a_hill_may_harm_has_aerials_of_the_band(band_iii, covered):
    services = (Service("Mux 1", 8, 198.5, 50.0),)
    options = pattern_options([("omni", None)], services, azimuth_step_deg=90.0)
    template = RelayTemplate(20.0, "horizontal", services, options)
    found = at_risk(band_iii, covered.run, covered.people, template, band_iii.stations)
    assert found.victims.cells.size
    assert set(found.victims.curve.tolist()) == {curve_number(198.5)} == {1}


def test_a_relays_receive_aerial_is_of_the_parents_band(band_iii):
    assert feed_report(band_iii).relays[0].side.aerial.curve is DIRECTIVITY_BAND_III


def test_the_sheet_of_a_visit_has_distances_at_vhf(band_iii, tmp_path):
    """ICNIRP 2020, 2 W/m² for the public: 20 W twice, 65.6 W e.i.r.p. over 4π·2 = 2.61 m²; worked."""
    (sheet,) = sheet_report(band_iii, tmp_path / "log.gpkg").sheets
    assert (sheet.station.name, sheet.exposure_fault) == ("Combe Relay", "")
    public = next(each for each in sheet.exposure if each.audience == "public")
    assert public.distance_m == pytest.approx(1.616, abs=0.002)


def test_channels_between_the_bands_are_refused_with_the_bands(tmp_path):
    changes = ('channel_raster = "7 MHz VHF"', 'channel_raster = "7 MHz UHF"')
    with pytest.raises(StudyError, match=r"channel 6 is unknown; allowed: 28 to 69 \(7 MHz UHF\)"):
        project_in(tmp_path, changes)
    with pytest.raises(StudyError, match=r'noise_environment: .*"suburb"'):
        project_in(tmp_path / "b", environment("suburb"))


def test_the_key_is_written_back(tmp_path):
    from combe.study.file import load_study

    study = load_study(write_study(tmp_path, edited(*BAND_III, CITY)))
    again = tmp_path / "again.toml"
    again.write_text(study_text(study.content), encoding="utf-8")
    assert load_study(again).content == study.content
