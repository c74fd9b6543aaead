"""``combe cover --probability``: the share of places served as rasters, in the JSON and in the map."""

import numpy as np
import pytest
import rasterio

from combe.answers.cover import cover_report
from combe.publishing.map_page import page_data
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_study import edited, write_study


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("shares"))


@pytest.fixture(scope="module")
def covered(study):
    return run_json("cover", study, "--probability", "--no-cache")


def test_a_raster_for_each_service_of_each_station(covered):
    for station in covered["stations"]:
        for service in station["services"]:
            with (
                rasterio.open(service["raster"]) as fields,
                rasterio.open(service["probability_raster"]) as shares,
            ):
                field, share, tags = fields.read(1), shares.read(1), shares.tags()
                assert (shares.units, shares.dtypes) == (("1",), ("float32",))
                assert shares.descriptions == (
                    f"share of places served of {service['name']} from {station['name']}",
                )
            assert float(tags["location_deviation_db"]) == service["location_deviation_db"] == 5.5
            need = service["field_at_a_place_dbuv_m"]
            assert float(tags["required_field_dbuv_m"]) == pytest.approx(need, abs=0.006)
            assert "against noise alone" in tags["share"]
            np.testing.assert_array_equal(np.isnan(share), np.isnan(field))
            known = share[~np.isnan(share)]
            assert (known.min() >= 0.0, known.max() <= 1.0) == (True, True)
            # The normal distribution: half the places where the median is just enough, Φ(1) one deviation up.
            for spare_db, expected in ((0.0, 0.5), (5.5, 0.8413), (-5.5, 0.1587)):
                near = np.abs(field - need - spare_db) < 0.05
                assert near.any()
                assert share[near] == pytest.approx(expected, abs=0.004)


def test_without_the_option_nothing_is_added(study, tmp_path):
    printed = run_json("cover", study, "--no-cache", "--out", tmp_path)
    assert {s["probability_raster"] for each in printed["stations"] for s in each["services"]} == {None}
    assert not list(tmp_path.glob("share_*"))


def test_layers_of_the_map_stand_behind_the_others(study):
    report = cover_report(load_project(study))
    plain, page = map_content(report), map_content(report, shares=True)
    levels, more = ([layer for layer in each.layers if not layer.classes] for each in (plain, page))
    assert [layer.key for layer in more[: len(levels)]] == [layer.key for layer in levels]
    shares = more[len(levels) :]
    assert [layer.title for layer in shares] == [
        f"{name}, share of places" for name in ("All services", "Mux 1", "Mux 2")
    ]
    assert (page.before_keys, page.after_keys) == (plain.before_keys, plain.after_keys)
    for layer in shares:
        assert [percent for percent, _ in layer.shares.classes] == [50.0, 70.0, 95.0, 99.0]
        assert layer.shares.planning_percent == 95.0
        assert dict(layer.shares.classes)[95.0] == pytest.approx(layer.threshold_dbuv_m, abs=1e-9)
    packed = {one["key"]: one for one in page_data(page)["grids"]}
    whole, added = (sum(len(packed[layer.key]["packed"]) for layer in some) for some in (page.layers, shares))
    assert added < 0.2 * whole, "shares are packed against the fields that they are made of"


def test_with_interference_the_share_is_a_raster_of_its_own(tmp_path):
    text = edited(("channel = 41", "channel = 31"), ("cell_size_m = 300", "cell_size_m = 600"))
    covered = run_json("cover", write_study(tmp_path, text), "--probability", "--no-cache")
    found = {
        (station["name"], service["name"]): service
        for station in covered["stations"]
        for service in station["services"]
    }
    disturbed = {name for name, each in found.items() if each["probability_with_interference_raster"]}
    # The relay's Mux 1 on the channel of the parent's Mux 2: these two disturb one another, and no other.
    assert disturbed == {("Parent Hill", "Mux 2"), ("Combe Relay", "Mux 1")}
    assert len(list((tmp_path / "results").glob("share_with_interference_*.tif"))) == 2
    report = cover_report(load_project(tmp_path / "study.toml"))
    for number, (station, service) in enumerate((("Parent Hill", 1), ("Combe Relay", 0))):
        each = found[station, f"Mux {service + 1}"]
        with (
            rasterio.open(each["probability_with_interference_raster"]) as judged,
            rasterio.open(each["probability_raster"]) as alone,
        ):
            share, without, tags = judged.read(1), alone.read(1), judged.tags()
            assert judged.descriptions[0].endswith(f"from {station}, with interference")
        assert "noise and the interference of all other stations" in tags["share"]
        known = ~np.isnan(without)
        np.testing.assert_array_equal(np.isnan(share), ~known)
        assert (share[known] <= without[known] + 1e-4).all()
        assert (share[known] < without[known] - 0.05).any()
        # 95 % of places is what counts as served (GE06: μ 1.64).
        margin_db = report.stations[number].services[service].judged_margin_db
        assert share[known & (margin_db > 0.02)].min() > 0.949
        assert share[known & (margin_db < -0.02)].max() < 0.951


def test_the_text_says_what_the_shares_count(study, tmp_path):
    words = run("cover", study, "--no-cache", "--probability", "--out", tmp_path, "--full").stdout
    assert "share_*.tif and the map's shares of places count noise alone" in words
    assert "share_with_interference" not in words
