"""Tests of layers that show the share of places served, in the page's own script and as rasters."""

import dataclasses

import numpy as np
import pytest
import rasterio
from scipy.special import ndtr

import support_map_page as support
from combe.errors import RangeError
from combe.publishing.content import ShareScale
from combe.publishing.geotiff import write_share_raster
from combe.publishing.map_page import page_data, render_map

NEED, DEVIATION = 44.8, 5.5
SCALE = ShareScale(
    NEED,
    DEVIATION,
    95.0,
    tuple((p, NEED + DEVIATION * z) for p, z in ((50.0, 0.0), (70.0, 0.52), (95.0, 1.64), (99.0, 2.33))),
)
"""Need at a place and deviation [dB]; factors as GE06 prints them."""


@pytest.fixture(scope="module")
def page():
    plain = support.map_page()
    field = plain.layers[1].field_dbuv_m
    layer = dataclasses.replace(
        plain.layers[1],
        key="share-0",
        title="All services, share of places",
        shares=SCALE,
        field_dbuv_m=field,
    )
    return dataclasses.replace(plain, layers=(*plain.layers, layer))


@pytest.fixture(scope="module")
def rendered(page):
    return render_map(page)


def test_the_page_knows_classes_and_colours_of_shares(page):
    data = page_data(page)
    shares = data["layers"][-1]["shares"]
    assert (shares["need_dbuv_m"], shares["deviation_db"], shares["percent"]) == (44.8, 5.5, 95.0)
    assert [one["percent"] for one in shares["classes"]] == [50.0, 70.0, 95.0, 99.0]
    assert len(set(data["colours"]["shares"])) == 4
    assert {layer["shares"] for layer in data["layers"][:-1]} == {None}
    assert page_data(support.map_page())["colours"]["shares"] == ()


def test_a_layer_costs_the_page_little(page, rendered):
    assert len(rendered) - len(render_map(support.map_page())) < 2000


def test_scales_that_are_none():
    with pytest.raises(RangeError, match=r"deviation over places is 0\.0; allowed: over 0 dB"):
        dataclasses.replace(SCALE, deviation_db=0.0)
    with pytest.raises(
        RangeError, match=r"classes of shares is .*; allowed: one or more, with rising fields"
    ):
        dataclasses.replace(SCALE, classes=SCALE.classes[::-1])


def test_shares_as_a_raster(tmp_path):
    grid = support.ridge_grid(rows=40, columns=30)
    share = np.linspace(0.0, 1.0, 1200).reshape(40, 30)
    share[0, 0] = np.nan
    write_share_raster(tmp_path / "s.tif", share, grid, tags={"location_deviation_db": "5.5"})
    with rasterio.open(tmp_path / "s.tif") as raster:
        assert raster.units == ("1",)
        assert raster.tags()["location_deviation_db"] == "5.5"
        np.testing.assert_allclose(raster.read(1), share, atol=5.1e-5)
    with pytest.raises(RangeError, match=r"share of places is 95\.0; allowed: 0 to 1"):
        write_share_raster(tmp_path / "s.tif", np.full((40, 30), 95.0), grid, tags={})


@pytest.mark.browser
def test_the_first_view_is_as_before(page, rendered, open_html):
    opened = open_html(rendered)
    assert opened.complaints == []
    assert opened.page.evaluate("combe.state.key") == "story"
    options = opened.page.eval_on_selector_all("#show option", "all => all.map((one) => one.value)")
    assert options[-1] == "share-0"
    groups = opened.page.eval_on_selector_all("#show optgroup", "all => all.map((one) => one.label)")
    assert groups[-1] == "Share of places served"


@pytest.mark.browser
def test_the_normal_scatter_of_the_script(rendered, open_html):
    tab = open_html(rendered).page
    z = np.linspace(-6.0, 6.0, 241)
    read = tab.evaluate("(all) => all.map(combe.normalShare)", z.tolist())
    np.testing.assert_allclose(read, ndtr(z), atol=1.5e-7)


@pytest.mark.browser
def test_legend_tally_and_readout_speak_of_places(page, rendered, open_html):
    tab = open_html(rendered).page
    tab.evaluate("combe.show('share-0')")
    assert tab.locator("#legend-title").inner_text() == "Share of places served"
    legend = tab.locator("#legend li").all_inner_texts()
    assert [line.split("\n")[0] for line in legend] == [
        "99 % and more", "95 to 99 %", "70 to 95 %", "50 to 70 %", "under 50 % (bare)", "No prediction",
    ]  # fmt: skip
    assert "served from here" in legend[1]
    layer = page.layers[-1]
    cells = int((layer.field_dbuv_m >= layer.threshold_dbuv_m).sum())
    km2 = cells * page.grid.cell_size_m**2 / 1e6
    tally = tab.locator("#tally").inner_text()
    assert tally.startswith("Ground served in 95 % of places or more: ")
    assert float(tally.split(": ")[1].split("\u00a0")[0]) == pytest.approx(km2, rel=0.02)
    words = tab.evaluate(
        "(all) => all.map((value) => combe.shareWords(combe.shareOf(combe.layerOf('share-0'), value)))",
        [NEED - 20.0, NEED, NEED + 0.52 * DEVIATION, NEED + 1.64 * DEVIATION, NEED + 20.0],
    )
    assert words == [
        "under 1 % of places", "50 % of places", "70 % of places", "95 % of places", "99 % of places or more",
    ]  # fmt: skip


@pytest.mark.browser
def test_the_slider_asks_for_more_field(page, rendered, open_html):
    tab = open_html(rendered).page
    area = []
    for excess in (0, 6):
        tab.evaluate("(excess) => combe.show('share-0', excess)", excess)
        area.append(float(tab.locator("#tally").inner_text().split(": ")[1].split("\u00a0")[0]))
    assert area[1] < area[0]
    assert "with +6.0 dB over what the receiver needs" in tab.locator("#legend").inner_text()
