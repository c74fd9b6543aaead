"""Tests of the map page, as a text and in a browser without a network."""

import dataclasses
import html
import re

import numpy as np
import pytest

import support_map_page as support
from combe.publishing.cautions import CAUTIONS
from combe.publishing.map_page import render_map

HOSTILE = " <script>alert(1)</script><img src=x onerror=alert(2)> ${alert(3)} `b` \\ \" ' {{7*7}} [[data]]"


@pytest.fixture(scope="module")
def page():
    return support.map_page()


@pytest.fixture(scope="module")
def rendered(page):
    return render_map(page)


def test_page_prints_cautions_provenance_and_counts(page, rendered):
    words = html.unescape(rendered)
    for text in (*CAUTIONS, *page.provenance, page.title, page.subtitle, page.invented_note):
        assert text in words
    _, people = page.people_rows[0]
    assert f"<b>{people.newly_served:,.0f}</b>".replace(",", "\u202f") in words


def test_page_is_the_same_each_time(page, rendered):
    assert render_map(page) == rendered


def test_page_names_no_host_unless_street_tiles_are_asked_for(page, rendered):
    policy = re.search(r'content="(default-src[^"]*)"', rendered).group(1)
    assert "http" not in policy
    assert "tile.openstreetmap.org" not in rendered
    streets = render_map(dataclasses.replace(page, street_tiles=True))
    policy = re.search(r'content="(default-src[^"]*)"', streets).group(1)
    assert re.findall(r"https?://\S+", policy) == ["https://tile.openstreetmap.org;"]


def test_page_of_400_by_400_cells_stays_under_2_mb():
    rng = np.random.default_rng(2)
    page = support.map_page(grid=support.ridge_grid(rows=400, columns=400, cell_size_m=75.0))
    rough = [
        dataclasses.replace(
            layer, field_dbuv_m=layer.field_dbuv_m + rng.normal(0, 0.5, layer.field_dbuv_m.shape)
        )
        for layer in page.layers[:1]
    ]
    text = render_map(dataclasses.replace(page, layers=(*rough, *page.layers[1:])))
    assert len(text.encode()) < 2_000_000


def test_wide_grids_are_thinned_for_the_page():
    from combe.publishing.map_page import page_data, thinned_words

    page = support.map_page(grid=support.ridge_grid(rows=1700, columns=60, cell_size_m=20.0))
    cells = page_data(page)["cells"]
    assert (cells["rows"], cells["columns"], cells["every"]) == (850, 30, 2)
    assert thinned_words(page.grid).startswith("This page shows one of 2 cells each way")
    assert thinned_words(support.ridge_grid()) == ""
    assert cells["area_km2"] == pytest.approx(0.0016)


@pytest.mark.browser
def test_page_opens_without_network_or_complaint(rendered, open_html):
    opened = open_html(rendered)
    assert len(opened.requests) == 1
    assert opened.requests[0].startswith("file://")
    assert opened.complaints == []


@pytest.mark.browser
def test_layers_and_marks_are_there(page, rendered, open_html):
    tab = open_html(rendered).page
    options = tab.eval_on_selector_all("#show option", "all => all.map((one) => one.value)")
    assert options == ["story", *(layer.key for layer in page.layers)]
    assert tab.locator("canvas.ground").count() == 1
    assert tab.locator("canvas.coverage").count() == 1
    assert tab.locator(".station-name b").all_text_contents() == ["Highmoor", "Lowgate"]
    assert tab.locator(".leaflet-feeds-pane path").count() == 2
    assert tab.evaluate("combe.marks.people.getLayers().length") == len(page.people)
    assert tab.locator(".leaflet-control-scale-line").inner_text().endswith("km")
    assert tab.locator("#legend li").count() == 4
    assert tab.locator(".stations li").all_inner_texts() == [
        "Highmoor, parent, aerial 60 m\nch 21, 24, 27",
        "Lowgate, relay, aerial 20 m\nch 21, 24, 27",
    ]


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1400, 900), (800, 600)])
def test_names_of_close_stations_do_not_cover_each_other(page, open_html, width, height):
    west, east = page.stations
    close = dataclasses.replace(
        east, longitude_deg=west.longitude_deg + 0.004, latitude_deg=west.latitude_deg
    )
    tab = open_html(render_map(dataclasses.replace(page, stations=(west, close), feeds=()))).page
    tab.set_viewport_size({"width": width, "height": height})
    boxes = [one.bounding_box() for one in tab.locator(".station-name").all()]
    first, second = sorted(boxes, key=lambda box: box["x"])
    apart = first["x"] + first["width"] <= second["x"] or abs(first["y"] - second["y"]) >= first["height"] - 1
    assert apart


@pytest.mark.browser
def test_a_crowd_of_stations_is_folded_and_names_that_would_cover_others_wait(page, open_html):
    west = page.stations[0]
    rng = np.random.default_rng(4)
    crowd = tuple(
        dataclasses.replace(
            west,
            name=f"Station {k}",
            longitude_deg=west.longitude_deg + 0.03 * rng.uniform(-1.0, 1.0),
            latitude_deg=west.latitude_deg + 0.02 * rng.uniform(-1.0, 1.0),
        )
        for k in range(30)
    )
    html = render_map(
        dataclasses.replace(page, stations=crowd, feeds=(), left_out="Some fields are left out.")
    )
    tab = open_html(html).page
    assert "Some fields are left out." in tab.locator(".panel").inner_text()
    assert tab.locator("details summary", has_text="30 stations").count() == 1
    assert not tab.locator(".stations li").first.is_visible()
    boxes = [one.bounding_box() for one in tab.locator(".station:not(.unnamed) .station-name").all()]
    assert 3 < len(boxes) < 30
    for k, one in enumerate(boxes):
        for other in boxes[k + 1 :]:
            wide = min(one["x"] + one["width"], other["x"] + other["width"]) - max(one["x"], other["x"])
            high = min(one["y"] + one["height"], other["y"] + other["height"]) - max(one["y"], other["y"])
            assert max(wide, 0.0) * max(high, 0.0) <= 0.06 * one["width"] * one["height"]
    assert "Zoom in for the names" in tab.locator("#mark-legend").inner_text()


@pytest.mark.browser
def test_value_at_100_random_cells_equals_the_raster(page, rendered, open_html):
    tab = open_html(rendered).page
    rng = np.random.default_rng(11)
    for layer in page.layers[:3]:
        rows, columns = rng.integers(page.grid.rows, size=100), rng.integers(page.grid.columns, size=100)
        places = [support.lonlat(page.grid, row, column) for row, column in zip(rows, columns, strict=True)]
        read = tab.evaluate(
            "([places, key]) => places.map(([lon, lat]) => combe.valueAt(lon, lat, key))", [places, layer.key]
        )
        field = layer.field_dbuv_m[rows, columns]
        want = [None if np.isnan(value) else np.floor(value * 10) / 10 for value in field]
        assert read == want
        assert sum(value is not None for value in want) > 80
    heights = tab.evaluate("(places) => places.map(([lon, lat]) => combe.heightAt(lon, lat))", places)
    assert heights == np.round(page.heights_m[rows, columns]).tolist()


@pytest.mark.browser
def test_a_layer_of_margins_is_told_in_db_and_not_as_a_field(page, open_html):
    first = page.layers[0]
    margin_db = first.field_dbuv_m - first.threshold_dbuv_m
    margins = dataclasses.replace(first, field_dbuv_m=margin_db, threshold_dbuv_m=0.0, shows="margin")
    tab = open_html(render_map(dataclasses.replace(page, layers=(margins, *page.layers[1:])))).page
    tab.select_option("#show", first.key)
    assert tab.locator("#legend-title").inner_text() == "Margin over the minimum, dB"
    assert tab.locator("#tally").inner_text().startswith("Ground with a margin of +0.0 dB or more: ")
    row, column = np.argwhere(margin_db > 3.0)[0]
    lon, lat = support.lonlat(page.grid, row, column)
    line = tab.evaluate("([lon, lat]) => combe.readLines(lon, lat).fields[0]", [lon, lat])
    value = np.floor(margin_db[row, column] * 10) / 10
    assert (line["text"], line["margin"]) == (f"{value:+.1f} dB margin", "")


@pytest.mark.browser
def test_readout_under_the_pointer_equals_the_raster(page, rendered, open_html):
    tab = open_html(rendered).page
    layer = next(layer for layer in page.layers if layer.key == "relay-2")
    tab.select_option("#show", layer.key)
    box = tab.locator(".folium-map").bounding_box()
    for row, column in ((70, 90), (40, 40), (100, 120)):
        lon, lat = support.lonlat(page.grid, row, column)
        x, y = tab.evaluate(
            "([lon, lat]) => { const p = combe.map.latLngToContainerPoint([lat, lon]); return [p.x, p.y]; }",
            [lon, lat],
        )
        tab.mouse.move(box["x"] + x, box["y"] + y)
        value = np.floor(layer.field_dbuv_m[row, column] * 10) / 10
        line = tab.locator(".read-field")
        assert float(line.get_attribute("data-value")) == value
        assert f"{value:.1f} dB(µV/m)".replace("-", "−") in line.inner_text()
        assert f"{value - layer.threshold_dbuv_m:+.1f} dB margin".replace("-", "−") in line.inner_text()
        assert f"ground {page.heights_m[row, column]:.0f} m" == tab.locator("#read-ground").inner_text()


@pytest.mark.browser
def test_outside_the_study_and_without_prediction(page, rendered, open_html):
    tab = open_html(rendered).page
    lon, lat = support.lonlat(page.grid, page.grid.rows - 2, 2)
    assert tab.evaluate("([lon, lat]) => combe.valueAt(lon, lat, 'parent-1')", [lon, lat]) is None
    assert tab.evaluate("([lon, lat]) => combe.heightAt(lon, lat)", [lon, lat]) is not None
    assert tab.evaluate("combe.heightAt(10, 10)") is None


@pytest.mark.browser
def test_threshold_repaints_and_never_overstates(page, rendered, open_html):
    tab = open_html(rendered).page
    layer = page.layers[1]
    for excess in (-7.5, 0.0, 12.0):
        painted = tab.evaluate(
            """([key, excess]) => { combe.show(key, excess); const grid = combe.grids[key];
            const least = combe.codeAtLeast(grid, combe.layerOf(key).threshold_dbuv_m + excess);
            return grid.codes.reduce((sum, code) => sum + (code >= least), 0); }""",
            [layer.key, excess],
        )
        served = int((layer.field_dbuv_m >= layer.threshold_dbuv_m + excess).sum())
        assert 0.97 * served <= painted <= served
    assert f"{layer.threshold_dbuv_m + 12:.1f}" in tab.locator("#legend").inner_text()
    assert tab.locator("#counted").is_visible()


@pytest.mark.browser
def test_story_colours_cells_by_who_serves_them(page, rendered, open_html):
    tab = open_html(rendered).page
    fields = {layer.key: layer for layer in page.layers}
    before, after = (fields[key].field_dbuv_m >= 53.8 for key in ("parent-all", "relay-all"))
    unknown = np.isnan(fields["parent-all"].field_dbuv_m)
    counts = tab.evaluate("combe.paintStory(combe.coverage, 0)")
    want = {
        "before": before,
        "newly": after & ~before,
        # These layers after tell of what the relay alone reaches.
        "lost": np.zeros_like(before),
        "unserved": ~after & ~before & ~unknown,
        "unknown": unknown,
    }
    assert counts == {name: pytest.approx(int(mask.sum()), abs=12) for name, mask in want.items()}
    assert sum(counts.values()) == page.grid.rows * page.grid.columns


@pytest.mark.browser
def test_hostile_names_are_shown_and_do_nothing(open_html):
    opened = open_html(render_map(support.map_page(word=HOSTILE)))
    tab = opened.page
    tab.select_option("#show", "parent-1")
    tab.mouse.move(800, 400)
    tab.wait_for_timeout(100)
    assert opened.complaints == []
    assert len(opened.requests) == 1
    assert tab.title() == f"Lowgate relay{HOSTILE}"
    assert tab.locator("h1").text_content() == f"Lowgate relay{HOSTILE}"
    assert tab.locator(".station-name b").first.text_content() == f"Highmoor{HOSTILE}"
    assert HOSTILE.strip() in tab.locator(".counts").text_content()
    assert tab.locator("main script, main img, .foot script, .foot img").count() == 0


@pytest.mark.browser
def test_the_policy_stops_a_script_that_got_past_the_encoder(rendered, open_html):
    assert "</main>" in rendered
    opened = open_html(rendered.replace("</main>", "<script>window.broken = 1</script></main>", 1))
    assert opened.page.evaluate("window.broken") is None
    assert any("Content Security Policy" in line for line in opened.complaints)


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1400, 900), (800, 600)])
def test_nothing_overflows_its_frame(rendered, open_html, width, height):
    tab = open_html(rendered).page
    tab.set_viewport_size({"width": width, "height": height})
    for frame in (".panel", ".foot", "body"):
        assert tab.eval_on_selector(frame, "one => one.scrollWidth - one.clientWidth") <= 0
    shown = tab.evaluate("[combe.map.getBounds().contains(combe.latticeBounds())]")
    assert width < 1400 or shown == [True]


@pytest.mark.browser
def test_print_shows_the_whole_map_and_the_cautions(rendered, open_html):
    opened = open_html(rendered)
    tab = opened.page
    tab.evaluate("combe.map.setZoom(combe.map.getZoom() + 2, { animate: false })")
    zoom = tab.evaluate("combe.map.getZoom()")
    tab.evaluate("dispatchEvent(new Event('beforeprint'))")
    tab.emulate_media(media="print")
    assert tab.evaluate("combe.map.getBounds().contains(combe.latticeBounds())")
    assert tab.locator(".foot li").first.is_visible()
    assert not tab.locator("#excess").is_visible()
    tab.emulate_media(media="screen")
    tab.evaluate("dispatchEvent(new Event('afterprint'))")
    assert tab.evaluate("combe.map.getZoom()") == zoom
    assert opened.complaints == []


@pytest.mark.browser
def test_street_tiles_are_fetched_only_when_switched_on(page, open_html):
    opened = open_html(render_map(dataclasses.replace(page, street_tiles=True)))
    assert len(opened.requests) == 1
    opened.page.check("#mark-streets")
    opened.page.wait_for_timeout(200)
    hosts = {url.split("/")[2] for url in opened.requests[1:]}
    assert hosts == {"tile.openstreetmap.org"}


@pytest.mark.browser
def test_on_a_phone_the_value_stands_beside_the_map_and_the_page_zooms(rendered, open_html):
    tab = open_html(rendered).page
    tab.set_viewport_size({"width": 390, "height": 844})
    map_box, readout = (tab.locator(place).bounding_box() for place in (".folium-map", ".readout"))
    assert abs(map_box["y"] + map_box["height"] - readout["y"]) < 2.0
    assert readout["y"] + readout["height"] < 844
    assert readout["width"] == pytest.approx(390, abs=1)
    assert re.findall(r'<meta name="viewport" content="([^"]*)"', rendered) == [
        "width=device-width, initial-scale=1"
    ]
