"""Networks on one frequency as coverage tells them: sentence, tables, JSON, map; and who knows of none."""

import json

import numpy as np
import pytest

import combe
from combe.publishing.as_json import as_json
from combe.publishing.as_text import as_text
from combe.reports.cover import document
from combe.reports.cover_map import map_content
from combe.reports.study import network_sentence
from combe.study.project_of import load_project
from support_delays import write_networked
from support_study import write_study


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return combe.cover(load_project(write_networked(tmp_path_factory.mktemp("networks"), relay=True)))


def test_sentence_and_tables(report):
    (effect,) = report.on_one_frequency
    told = document(report)
    (said,) = [each for each in told.headline if each.startswith("On one frequency")]
    assert f"leave {effect.people_hurt:.0f} unserved" in said
    text = as_text(told, full=True)
    assert "DVB-T2 1k, guard interval 1/16 (7 µs), PP5" in text
    assert "When their stations radiate" in text
    assert "West" in text.partition("When their stations radiate")[2]


def test_json_has_what_each_service_gains_and_loses(report):
    (effect,) = report.on_one_frequency
    (row,) = json.loads(as_json(document(report)))["on_one_frequency"]
    assert (row["service"], row["channel"], row["cells_hurt"]) == ("A", 30, effect.cells_hurt)
    assert row["people_hurt"] == pytest.approx(effect.people_hurt, abs=1e-3)
    west, east = row["members"]
    assert (west["station"], west["delay_us"], west["heard"]) == ("West", 0.0, "")
    # 30 km are 100 µs, and a relay takes 8.
    assert (east["heard"], east["processing_us"]) == ("West", 8.0)
    assert east["delay_us"] == pytest.approx(30.0 / 0.299792458 + 8.0, abs=0.2)


def test_the_map_has_what_is_hurt_and_what_gains(report):
    layers = {layer.key: layer for layer in map_content(report).layers}
    (effect,) = report.on_one_frequency
    assert layers["hurt-0"].shows == "missing"
    assert (layers["hurt-0"].field_dbuv_m > 0.0).sum() == effect.cells_hurt > 0
    if "gain-0" in layers:
        assert layers["gain-0"].shows == "gain"
        assert (layers["gain-0"].field_dbuv_m >= 1.0).sum() == (effect.gain_map_db >= 1.0).sum()
    else:
        assert not np.any(effect.gain_map_db >= 1.0)


def test_gain_and_spread_are_rasters(report, tmp_path):
    from combe.reports.cover_files import write_cover_files

    files = write_cover_files(report, tmp_path)
    ((gain, spread),) = files.network_rasters.values()
    assert gain in files.written and spread.name.startswith("delay_spread_")
    import rasterio

    with rasterio.open(gain) as raster:
        assert raster.units == ("dB",)
        np.testing.assert_allclose(raster.read(1), report.on_one_frequency[0].gain_map_db, atol=1e-4)
    with rasterio.open(spread) as raster:
        assert raster.units == ("us",)


def test_a_study_without_networks_has_none_of_it(tmp_path):
    report = combe.cover(load_project(write_study(tmp_path)))
    assert report.on_one_frequency == ()
    assert "one frequency" not in as_text(document(report))
    assert network_sentence(report.project) == ()


def test_channels_say_that_they_know_of_no_networks(tmp_path):
    project = load_project(write_networked(tmp_path, relay=True))
    (said,) = network_sentence(project)
    assert said in combe.report(combe.channels(project)).text()
