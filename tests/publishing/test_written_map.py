"""The map that ``combe cover`` writes, opened as it lies on the disk: it tells what its rasters hold."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import rasterio
from scipy.special import ndtr

from combe.answers.class_maps import harm_map
from combe.answers.cover import CoverReport, cover_report
from combe.study.project_of import load_project
from support_cli import run_json
from support_study import edited, write_study

pytestmark = pytest.mark.browser

CELLS = 200
LOWEST_DBUV_M, LOWEST_MARGIN_DB = -100.0, -150.0
"""The page goes no lower."""

DISTURBED = edited(
    ("channel = 41\nerp_w = 20.0", "channel = 27\nerp_w = 2000.0"),
    ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 20000.0"),
    ("channel = 31\nerp_w = 1000.0", "channel = 31\nerp_w = 20000.0"),
)
"""The relay sends one service on the parent's own channel, so that interference counts."""

POINT = "([lon, lat]) => { const p = combe.map.latLngToContainerPoint([lat, lon]); return [p.x, p.y]; }"


@dataclass(frozen=True)
class Written:
    """What the command wrote and printed, the report it rests on, and some random cells with their places."""

    study: Path
    printed: dict[str, Any]
    report: CoverReport
    row: np.ndarray
    column: np.ndarray
    places_deg: list[tuple[float, float]]

    def raster(self, name: str) -> np.ndarray:
        """Return the values of a written raster in the cells, as 64-bit numbers."""
        with rasterio.open(name) as raster:
            return raster.read(1)[self.row, self.column].astype(np.float64)

    def services(self) -> dict[str, tuple[int, int, dict[str, Any]]]:
        """Return station and number of each service by the key of its layer."""
        return {
            f"s{s}-{k}": (s, k, service)
            for s, station in enumerate(self.printed["stations"])
            for k, service in enumerate(station["services"])
        }


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("cover")
    study, cache = write_study(folder, DISTURBED), folder / "cache"
    printed = run_json("cover", study, "--probability", "--cache", cache)
    report = cover_report(load_project(study), lambda *_: None, cache_folder=cache)
    with rasterio.open(printed["stations"][0]["services"][0]["raster"]) as raster:
        chance = np.random.default_rng(17)
        row, column = chance.integers(raster.height, size=CELLS), chance.integers(raster.width, size=CELLS)
        x_m, y_m = rasterio.transform.xy(raster.transform, row, column)
        to_degrees = pyproj.Transformer.from_crs(raster.crs, "EPSG:4326", always_xy=True)
    places = list(
        zip(*(each.tolist() for each in to_degrees.transform(np.array(x_m), np.array(y_m))), strict=True)
    )
    return Written(study, printed, report, row, column, places)


@pytest.fixture
def opened(written, open_html):
    return open_html(Path(written.printed["map"]))


def shown(values: np.ndarray, lowest: float = -np.inf) -> list[float | None]:
    """Return numbers as a page shows them: rounded down to tenths, None where there is no prediction."""
    return [None if np.isnan(v) else float(np.floor(max(v, lowest) * 10.0) / 10.0) for v in values]


def read(opened: Any, written: Written, key: str) -> list[float | None]:
    """Return what the page's own function says of the cells."""
    return opened.page.evaluate(
        "([places, key]) => places.map(([lon, lat]) => combe.valueAt(lon, lat, key))",
        [written.places_deg, key],
    )


def test_it_opens_alone_and_has_every_layer(written, opened):
    assert opened.complaints == []
    assert [url for url in opened.requests if url != Path(written.printed["map"]).as_uri()] == []
    keys = opened.page.evaluate("combe.data.layers.map((layer) => layer.key)")
    shares = ["share-0", "share-1", "share-2"]
    classes = [
        f"{kind}-{n}" for kind, count in (("served", 3), ("best", 2), ("overlap", 3)) for n in range(count)
    ]
    assert keys == ["before", "after", "interference", *written.services(), *shares, *classes, "harm"]
    assert opened.page.locator(".station-name b").all_text_contents() == ["Parent Hill", "Combe Relay"]
    assert opened.page.locator(".leaflet-feeds-pane path").count() > 0


def test_fields_of_stations_are_those_of_the_rasters(written, opened):
    for key, (_, _, service) in written.services().items():
        want = shown(written.raster(service["raster"]), LOWEST_DBUV_M)
        assert read(opened, written, key) == want, key
        assert len(set(want)) > CELLS // 3, "the cells differ"


def test_margins_are_those_of_the_report(written, opened):
    network, cells = written.report.all_services, (written.row, written.column)
    for key, margin_db in (("before", network.margin_before_db), ("after", network.margin_db)):
        assert read(opened, written, key) == shown(margin_db[cells].astype(np.float64), LOWEST_MARGIN_DB)
    missing = read(opened, written, "interference")
    noise_db, margin_db = (each[cells] for each in (network.noise_margin_db, network.margin_db))
    limited = (margin_db < 0.0) & (noise_db >= 0.0)
    assert 0 < limited.sum() < CELLS
    known = ~np.isnan(margin_db)
    assert [value is None for value in missing] == (~known).tolist()
    assert [value is not None and value >= 0.0 for value in missing] == limited.tolist()


def test_the_margin_before_follows_from_the_parents_rasters_alone(written, opened):
    """One parent, undisturbed without its relay: the worst of its services over its minimum."""
    over = [
        written.raster(service["raster"]) - service["minimum_field_dbuv_m"]
        for station, _, service in written.services().values()
        if station == 0
    ]
    told = np.array(read(opened, written, "before"), dtype=np.float64)
    np.testing.assert_allclose(told, np.min(over, axis=0) - 0.05, atol=0.06)
    assert np.isfinite(told).sum() > CELLS // 2


def test_shares_follow_the_share_rasters(written, opened):
    """Shown from a field rounded down by up to 0.1 dB, which is 0.8 % of places at most for 5.5 dB."""
    by_service = [
        np.fmax(
            *(
                written.raster(service["probability_raster"])
                for _, k, service in written.services().values()
                if k == number
            )
        )
        for number in (0, 1)
    ]
    layers = {"share-0": np.minimum(*by_service), "share-1": by_service[0], "share-2": by_service[1]}
    for key, share in layers.items():
        scale = opened.page.evaluate("(key) => combe.layerOf(key).shares", key)
        field = np.array(read(opened, written, key), dtype=np.float64)
        told = ndtr((field - scale["need_dbuv_m"]) / scale["deviation_db"])
        assert np.array_equal(np.isnan(share), np.isnan(told))
        assert np.nanmin(share - told) > -2e-4, key
        assert np.nanmax(share - told) < 8e-3, key


def test_classes_are_those_of_the_rasters_of_an_export(written, opened, tmp_path):
    exported = {each["file"]: each["path"] for each in run_json(
        "export", written.study, "--cache", written.study.parent / "cache", "--out", tmp_path
    )["files"]}  # fmt: skip
    nobody, stations = 255, ["Parent Hill", "Combe Relay"]
    best = {0: None, nobody: "served by no station", **dict(enumerate(stations, 1))}
    changes = dict(enumerate((None, "served, as before", "newly served", "lost", "unserved")))
    pairs = {
        "served-0": ("served_all-services.tif", changes),
        "served-1": ("served_mux-1.tif", changes),
        "served-2": ("served_mux-2.tif", changes),
        "best-0": ("best-station_mux-1.tif", best),
        "best-1": ("best-station_mux-2.tif", best),
    }
    for key, (name, words) in pairs.items():
        want = [words[int(code)] for code in written.raster(exported[name])]
        said = opened.page.evaluate(
            """([places, key]) => places.map(([lon, lat]) => {
                const code = combe.valueAt(lon, lat, key), { classes } = combe.layerOf(key);
                return code === null ? null : classes.find((one) => one.code === code).words;
            })""",
            [written.places_deg, key],
        )
        assert said == want, key
        assert len(set(want)) >= 3, key


def test_overlap_and_harm_are_those_of_the_report(written, opened):
    cells = written.row, written.column
    networks = (written.report.all_services, *written.report.services)
    for number, network in enumerate(networks):
        serving = np.where(np.isnan(network.margin_db), np.nan, network.serving + 1.0)[cells]
        assert read(opened, written, f"overlap-{number}") == shown(serving)
    codes = harm_map(written.report, ("Combe Relay",)).read()[cells].astype(np.float64)
    harm = read(opened, written, "harm")
    assert harm == shown(np.where(codes == 0.0, np.nan, codes))
    assert {1.0, 3.0} <= set(harm)


def test_the_pointer_reads_the_rasters(written, opened):
    """The real pointer over the real map, a few cells in each layer."""
    tab, moved = opened.page, 0
    box = tab.locator(".folium-map").bounding_box()
    for number, (key, (_, _, service)) in enumerate(written.services().items()):
        tab.select_option("#show", key)
        values = shown(written.raster(service["raster"]), LOWEST_DBUV_M)
        for place, value in list(zip(written.places_deg, values, strict=True))[5 * number : 5 * number + 5]:
            x, y = tab.evaluate(POINT, place)
            tab.mouse.move(box["x"] + x, box["y"] + y)
            line = tab.locator(".read-field")
            assert line.get_attribute("data-key") == key
            words = "no prediction" if value is None else f"{value:.1f} dB(µV/m)".replace("-", "−")
            assert words in line.inner_text()
            moved += value is not None
    assert 15 <= moved <= 20
