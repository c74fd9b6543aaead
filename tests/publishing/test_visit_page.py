"""The page of a visit and its trend pictures, and the printable sheet; hostile names do nothing."""

import datetime
import html
import xml.etree.ElementTree as ElementTree
from types import SimpleNamespace

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.visits.judge import judge_log
from combe.planning.visits.readings import SeriesKey
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.publishing.as_html import as_html
from combe.publishing.cautions import CAUTIONS
from combe.publishing.trend_diagram import TrendDrawing, trend_svg
from combe.reports import sheet, visit
from combe.reports.sheet import VISIT_CAUTIONS
from combe.reports.visit import trend_drawing
from support_visits import half_yearly, laid_out, visited

HOSTILE = " <script>alert(1)</script> ${alert(3)} `b` \" ' $x_1$"
YEARS = np.arange(10) / 2.0
STEP = -50.0 - 6.0 * (np.arange(10) >= 6)


def visit_report(word=""):
    station, service = f"Combe Relay{word}"[:80], f"Mux 2{word}"[:80]
    log = (
        *half_yearly(list(-50.0 - YEARS), station=station),
        *half_yearly(list(STEP), station=station, service=service),
        *half_yearly([0.0], station=station, service="", test_point="mast", quantity="aerials and mountings",
                     unit="check"),
    )  # fmt: skip
    about = SimpleNamespace(key="study.toml", title=f"Valley{word}", note=f"Notes{word}")
    return visited(log, {SeriesKey(station, "Mux 1", "feeder", "level"): -49.0}, about)


def visit_page(word=""):
    return as_html(visit.document(visit_report(word)))


def sheet_page(word="", rows=(), **changes):
    site = SheetSite(f"Combe Relay{word}", (f"Mux 1{word}",), splitter_ports=1)
    report = laid_out(site.station, tuple(rows) or sheet_rows(site, {}), word, **changes)
    return as_html(sheet.document(report))


def test_the_page_tells_every_verdict_and_why():
    words = html.unescape(visit_page())
    for text in (
        "✗ out",
        "step of −6.0 dB between 2022-07-02 and 2023-01-01",
        "−1.0 dB",
        "mast, aerials and mountings out: not ok",
        "first visit",
        "−49.0 dBm",
        *CAUTIONS,
    ):
        assert text in words, text
    assert words.count("data:image/svg+xml;base64,") == 2, "a picture for each series of several days"


def test_remarks_and_photographs_stand_on_the_page_of_a_visit():
    note = {"note": "clamp loose", "photos": "IMG_7.jpg", "visit_note": "gate was open"}
    log = half_yearly([-50.0, -50.5], **note)
    words = html.unescape(as_html(visit.document(visited(log))))
    assert "Remarks and photographs" in words
    for text in ("clamp loose", "IMG_7.jpg", "2020-07-02: gate was open"):
        assert text in words, text
    assert "Remarks and photographs" not in as_html(visit.document(visited(half_yearly([-50.0]))))


def test_the_trend_drawing_of_a_step():
    step = trend_drawing(visit_report().judgements[1])
    assert step.steps == ((datetime.date(2022, 7, 2), datetime.date(2023, 1, 1), "step −6.0 dB"),)
    assert step.out == (False,) * 6 + (True,) * 4
    assert (step.lowest, step.highest, step.record) == (-53.0, -47.0, -50.0)
    assert step.line == ()


def test_the_trend_drawing_of_a_drift():
    drift = trend_drawing(visit_report().judgements[0])
    (start, first), (end, last) = drift.line
    assert (start, end) == (datetime.date(2020, 1, 1), drift.dates[-1])
    assert (first, last) == (pytest.approx(-50.0, abs=0.02), pytest.approx(-54.5, abs=0.02))
    assert drift.line_words == "−1.0 dB a year"
    assert drift.expected == -49.0


def test_the_picture_is_the_same_each_time_and_holds_its_words():
    drawing = trend_drawing(visit_report().judgements[1])
    svg = trend_svg(drawing)
    assert svg == trend_svg(drawing)
    text = " ".join(ElementTree.fromstring(svg).itertext())
    for words in ("feeder · level · Mux 2", "dBm", "step −6.0 dB", "within tolerance", "record", "outside"):
        assert words in text


def test_one_reading_alone_and_a_far_tolerance_can_be_drawn():
    day = datetime.date(2020, 1, 1)
    assert "<svg" in trend_svg(TrendDrawing("x", "W", (day,), (0.0,), (False,)))
    far = TrendDrawing("x", "Hz", (day, datetime.date(2021, 1, 1)), (1.0, 1.0), (False, False), -500.0, 500.0)
    assert "<svg" in trend_svg(far)


def test_pictures_that_cannot_be_drawn():
    day = datetime.date(2020, 1, 1)
    with pytest.raises(RangeError, match="readings of a trend picture"):
        TrendDrawing("x", "dB", (day,), (1.0, 2.0), (False,))
    with pytest.raises(RangeError, match="values of a trend picture is not finite"):
        TrendDrawing("x", "dB", (day,), (float("nan"),), (False,))


def test_the_sheet_holds_cautions_distances_readings_and_checks():
    words = html.unescape(sheet_page())
    for text in (
        *CAUTIONS,
        *VISIT_CAUTIONS,
        "the public",
        "trained people at work",
        "1.3",
        "2.0",
        "All 2 services summed",
        "ICNIRP guidelines 2020",
        "within the near field (17.8 m)",
        "≥\u00a036.0",
        "☐",
        "not ok",
        "trees and new buildings on the feed path",
        "@media print",
    ):
        assert text in words, text


def test_a_sheet_without_distances_says_why():
    words = sheet_page(exposure=(), exposure_reflected=(), exposure_fault="198 MHz is too low")
    assert "Not worked out: 198 MHz is too low. Keep clear." in words


@pytest.mark.browser
@pytest.mark.parametrize("make", [lambda: visit_page(HOSTILE), lambda: sheet_page(HOSTILE)])
def test_pages_open_without_network_and_hostile_names_do_nothing(open_html, make):
    opened = open_html(make(), ready=False)
    opened.page.wait_for_load_state()
    assert opened.complaints == []
    assert [url for url in opened.requests if not url.startswith(("file://", "data:"))] == []
    assert opened.page.locator("main script").count() == 0
    assert HOSTILE in opened.page.locator("main").text_content()


@pytest.mark.browser
def test_the_printed_sheet_fits_on_a4_paper(open_html):
    """A4 is 210 mm wide, less margins of 14 mm: 688 of the 96 to the inch that browsers count."""
    site = SheetSite("Combe Relay", ("Multiplex 1", "Multiplex 2", "Multiplex 3"), splitter_ports=3)
    expected = {
        SeriesKey("Combe Relay", name, "output coupler", "ERP"): 1234.5
        for name in ("Multiplex 1", "Multiplex 2")
    }
    log = half_yearly([-50.0, -51.0], service="Multiplex 1")
    rows = sheet_rows(site, expected, judge_log(log, {}))
    tab = open_html(sheet_page(rows=rows), ready=False).page
    tab.emulate_media(media="print")
    tab.set_viewport_size({"width": 688, "height": 1000})
    assert tab.evaluate("document.documentElement.scrollWidth") <= 688


@pytest.mark.browser
def test_a_long_name_of_a_service_leaves_room_to_write(open_html):
    name = "Programme of the whole Upper Combe, public"
    rows = sheet_rows(SheetSite("Combe Relay", (name,), splitter_ports=3), {}, judge_log([], {}))
    tab = open_html(sheet_page(rows=rows), ready=False).page
    tab.emulate_media(media="print")
    tab.set_viewport_size({"width": 688, "height": 1000})
    assert tab.evaluate("document.documentElement.scrollWidth") <= 688


@pytest.mark.browser
def test_on_a_telephone_words_stay_whole_and_remarks_have_room(open_html):
    blank = open_html(sheet_page(), ready=False)
    blank.page.set_viewport_size({"width": 420, "height": 900})
    blank.page.get_by_role("button", name="Show the sheet as it prints").click()
    width = """() => Math.min(...[...document.querySelectorAll('.form:has(.box) .room')]
        .map(each => each.offsetWidth))"""
    assert blank.page.evaluate(width) >= 140
    judged = open_html(visit_page(), ready=False)
    judged.page.set_viewport_size({"width": 420, "height": 900})
    lines = """() => [...document.querySelectorAll('.grid thead th')].map(each => {
        const range = document.createRange(); range.selectNodeContents(each);
        const tops = new Set([...range.getClientRects()].map(box => Math.round(box.top)));
        return [tops.size, each.textContent.split(' ').length]; })"""
    assert all(lines <= words for lines, words in judged.page.evaluate(lines))
