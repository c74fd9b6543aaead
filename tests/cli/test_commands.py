"""Each command on a good study: what it prints, its JSON keys, its files, its exit code."""

import json

import numpy as np
import pytest
import rasterio

from combe.publishing.cautions import CAUTIONS
from support_cli import remarks, run, run_json
from support_study import edited, write_study

FREE_SPACE = edited(("invented = true", 'invented = true\nmodel = "free-space"'))


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("study"))


@pytest.fixture(scope="module")
def covered(study):
    return run_json("cover", study)


def words_of(result):
    return " ".join(result.stdout.split())


def test_check_sums_up(study):
    result = run("check", study)
    assert result.exit_code == 0
    assert "no faults in" in result.stdout
    assert "Parent Hill" in result.stdout
    assert "The stations of this study are invented" in result.stdout


def test_check_json(study):
    printed = run_json("check", study)
    assert printed["valid"] is True
    assert printed["faults"] == []
    assert printed["stations"][0]["services"][0].keys() == {
        "name",
        "channel",
        "frequency_mhz",
        "erp_w",
        "minimum_field_dbuv_m",
        "offset_twelfths",
        "precision_offset",
        "offset_khz",
        "system",
    }
    assert printed["grid"] == {
        "crs": "WGS 84 / UTM zone 16N",
        "cell_size_m": 300.0,
        "rows": 110,
        "columns": 104,
    }


def test_check_json_lists_the_faults_of_a_bad_study(tmp_path):
    path = write_study(tmp_path, edited(("erp_w = 1000.0", "erp_w = -1.0"), ("channel = 31", "channel = 99")))
    result = run("check", path, "--json")
    assert result.exit_code == 2
    printed = json.loads(result.stdout)
    assert printed["valid"] is False
    assert [fault.partition(":")[0] for fault in printed["faults"]] == [
        "stations[0].services[0].erp_w",
        "stations[0].services[1].channel",
    ]
    assert result.stderr.count("\n") == 1


def test_check_prints_the_schema():
    result = run("check", "--schema")
    assert result.exit_code == 0
    assert json.loads(result.stdout)["properties"].keys() >= {"study", "terrain", "stations"}


def test_path_json(study):
    printed = run_json("path", study, "--from", "Parent Hill", "--to", "combe relay")
    assert (printed["from"], printed["to"]) == ("Parent Hill", "Combe Relay")
    assert printed["distance_km"] == pytest.approx(16.07, abs=0.01)
    for service in printed["services"]:
        total = service["free_space_loss_db"] + service["diffraction_loss_db"]
        assert service["basic_loss_db"] == pytest.approx(total, abs=1e-9)
    assert printed["cautions"] == list(CAUTIONS)


def test_path_json_sets_the_constructions_side_by_side(study):
    printed = run_json("path", study, "--from", "Parent Hill", "--to", "Combe Relay")
    for service in printed["services"]:
        found = {each["name"]: each for each in service["constructions"]}
        assert len(found) == 7
        for each in found.values():
            assert each.keys() == {"name", "loss_db", "edges", "reference", "standing", "note"}
        edges = found["Epstein-Peterson"]["edges"]
        assert edges[0].keys() == {"distance_km", "height_m", "nu", "loss_db"}
        total = sum(edge["loss_db"] for edge in edges)
        assert found["Epstein-Peterson"]["loss_db"] == pytest.approx(total, abs=1e-9)
        assert found["Bullington"]["loss_db"] < found["Bullington with correction"]["loss_db"]


def test_path_table_sets_the_constructions_side_by_side(study):
    words = words_of(run("path", study, "--from", "Parent Hill", "--to", "Combe Relay", "--full"))
    assert "Diffraction by the classical constructions for knife edges; edges at" in words
    assert "Epstein and Peterson, Proc. IRE 41, 1953 (from memory)" in words
    assert (
        words.index("Epstein-Peterson") < words.index("Deygout") < words.index("Bullington with correction")
    )


def test_path_table(study):
    result = run("path", study, "--from", "Parent Hill", "--to", "Combe Relay", "--full")
    assert result.exit_code == 0
    assert "path from Parent Hill to Combe Relay\n16.07 km, bearing 133.6°" in result.stdout
    assert all(" ".join(caution.split()) in words_of(result).replace("- ", "") for caution in CAUTIONS)


def test_feed_fails_with_1_and_says_why(study, tmp_path):
    result = run("feed", study, "--out", tmp_path)
    assert result.exit_code == 1
    assert remarks(result) == []
    assert "Combe Relay from Parent Hill: fails; 16.07 km, blocked" in result.stdout
    assert "short of the 20 dB required" in words_of(result)
    whole = words_of(run("feed", study, "--out", tmp_path, "--full")).replace("- ", "")
    assert all(" ".join(caution.split()) in whole for caution in CAUTIONS)


def test_feed_passes_with_0(tmp_path):
    result = run("feed", write_study(tmp_path, FREE_SPACE))
    assert result.exit_code == 0
    assert "Combe Relay from Parent Hill: passes" in result.stdout
    assert (tmp_path / "results" / "feed.html").is_file(), "beside the study unless another folder is named"


def test_feed_json_keys(study, tmp_path):
    printed = run_json("feed", study, "--out", tmp_path / "new" / "folder", code=1)
    assert printed["verdict"] == "fails"
    service = printed["relays"][0]["services"][0]
    assert service.keys() >= {
        "name",
        "channel",
        "frequency_mhz",
        "free_space_loss_db",
        "diffraction_loss_db",
        "field_strength_dbuv_m",
        "receiver_input_dbm",
        "carrier_to_noise_db",
        "margin_db",
        "verdict",
    }
    assert (service["name"], service["channel"], service["radiated_channel"]) == ("Mux 1", 27, 41)
    page = (tmp_path / "new" / "folder" / "feed.html").read_text(encoding="utf-8")
    assert printed["page"] == str(tmp_path / "new" / "folder" / "feed.html")
    for text in (
        "Combe Relay",
        "Free-space loss",
        "Diffraction loss",
        "The stations of this study are invented",
    ):
        assert text in page


def test_cover_json_keys(covered):
    assert [station["name"] for station in covered["stations"]] == ["Parent Hill", "Combe Relay"]
    for station in covered["stations"]:
        for service in station["services"]:
            assert service.keys() >= {"name", "channel", "cells", "sweep_s", "people_served", "raster"}
            assert service["cells"] > 10_000
            assert service["sweep_s"] > 0.0
    assert covered["all_services"].keys() == {
        "people_served",
        "people_served_before",
        "people_newly_served",
        "people_lost",
        "people_served_twice",
        "people_unserved",
        "people_limited_by_interference",
        "people_interference_unknown",
        "people_without_prediction",
        "people_total",
        "ranges",
        "districts",
    }
    assert covered["all_services"]["districts"] is None
    assert 0.0 < covered["all_services"]["people_served"] < covered["all_services"]["people_total"]
    assert covered["cautions"] == list(CAUTIONS)
    assert covered["invented"] is True


def test_cover_writes_the_rasters_it_names(covered):
    names = set()
    for station in covered["stations"]:
        for service in station["services"]:
            names.add(service["raster"])
            with rasterio.open(service["raster"]) as dataset:
                field = dataset.read(1)
                assert dataset.units == ("dB(uV/m)",)
                assert np.isnan(dataset.nodata)
                assert dataset.tags()["station"] == station["name"]
                assert "P.1812" in dataset.tags()["model"]
            assert int(np.isfinite(field).sum()) == service["cells"]
            assert 0.0 < np.nanmedian(field) < 120.0
    assert len(names) == 4


def test_cover_draws_the_map(covered, study):
    page = (study.parent / "results" / "map.html").read_text(encoding="utf-8")
    assert covered["map"] == str(study.parent / "results" / "map.html")
    for text in ("Relay for Long Combe", "Parent Hill", "Combe Relay", "invented"):
        assert text in page
    assert not list((study.parent / "results").glob("*.part*"))


def test_cover_table(study, tmp_path):
    result = run("cover", study, "--out", tmp_path, "--full")
    assert result.exit_code == 0
    assert "All services" in result.stdout
    assert "newly served" in result.stdout
    assert f"written: {tmp_path / 'map.html'}" in result.stdout
    assert all(" ".join(caution.split()) in words_of(result).replace("- ", "") for caution in CAUTIONS)


def test_cover_without_people_and_relays(tmp_path):
    text = edited(('[people]\nraster = "people.tif"\n', ""))
    text = text[: text.index('[[stations]]\nname = "Combe Relay"')]
    path = write_study(tmp_path, text)
    printed = run_json("cover", path)
    assert printed["all_services"]["people_served"] is None
    assert printed["stations"][0]["services"][0]["people_served"] is None
    assert "nobody is counted" in run("cover", path).stdout
