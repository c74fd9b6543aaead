"""The sheet filled in on its page: judged as the command judges, kept, and taken in as it was typed."""

import datetime
import json
import random
from importlib.resources import files

import pypdfium2
import pytest

from combe.errors import RangeError
from combe.planning.visits.judge import judge_log, judge_series
from combe.planning.visits.reading_file import read_readings
from combe.planning.visits.readings import Reading, SeriesKey
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.planning.visits.units import units_of
from combe.publishing.as_html import as_html
from combe.reports import sheet
from support_cli import run, run_json
from support_study import edited, write_study
from support_visits import half_yearly, laid_out

pytestmark = pytest.mark.browser

RULES = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
HOSTILE = " <script>alert(1)</script> \" ' `b`"
SERVICES = ("Mux 1", "Mux 2")
SITE = SheetSite("Combe Relay", SERVICES, splitter_ports=2)
EXPECTED = {
    SeriesKey("Combe Relay", service, point, quantity): value
    for service in SERVICES
    for point, quantity, value in (
        ("feeder", "level", -50.0),
        ("receiver", "C/N", 38.0),
        ("output coupler", "ERP", 20.0),
        ("output coupler", "output power", 5.0),
    )
}
LOG = (
    *half_yearly([-50.0, -50.5]),
    *half_yearly([20.0, 21.0], test_point="output coupler", quantity="ERP", unit="W", service="Mux 2"),
    *half_yearly([33.5, 34.0], test_point="output coupler", quantity="MER", unit="dB"),
    *half_yearly([120.0, 90.0], test_point="output coupler", quantity="frequency error", unit="Hz"),
)
"""Readings of two visits; of two a series no drift is judged."""


def rows(log=LOG, site=SITE):
    return sheet_rows(site, EXPECTED, judge_log(log, EXPECTED))


def page(word="", log=LOG):
    site = SheetSite(f"Combe Relay{word}", tuple(f"{name}{word}" for name in SERVICES), splitter_ports=2)
    return as_html(sheet.document(laid_out(site.station, rows(log, site), word)))


def card(tab, name):
    return tab.get_by_role("group", name=name, exact=True)


def visit_filled(tab):
    tab.get_by_label("Date of the visit").fill("2026-05-01")
    tab.get_by_label("Who takes the readings").fill("A. Hand")
    tab.get_by_label("Meter, type and number").fill("Meter 7")


def saved(tab, tmp_path):
    with tab.expect_download() as caught:
        tab.get_by_role("button", name="Save the table (CSV)").click()
    path = tmp_path / caught.value.suggested_filename
    caught.value.save_as(path)
    return path


def python_status(row, value, unit, visit):
    """Return what the command says of a value that is taken in after those of the log."""
    key = row.key
    before = tuple(each for each in LOG if (each.service, each.test_point, each.quantity) == key[1:])
    try:
        new = Reading(datetime.date(2026, 5, 1), *key, value=value, unit=unit, visit=visit)
    except RangeError:
        return "fault"
    return judge_series((*before, new), EXPECTED.get(key)).status


def random_value(random_of, row, unit):
    """Return a value about the bounds of a row, as often inside as outside, or anywhere."""
    bounds = [each for each in (row.lowest, row.highest) if each is not None]
    if not bounds or random_of.random() < 0.2 or unit != row.row.unit:
        return random_of.choice([-1.0, 1.0]) * 10.0 ** random_of.uniform(-7.0, 4.0)
    if row.last_value is not None and row.row.repeat:
        change_db = random_of.uniform(-2.0, 2.0) * row.row.repeat
        change = 10.0 ** (change_db / 10.0) * row.last_value
        return round(change if row.row.scale == "power" else row.last_value + change_db, 6)
    edge = random_of.choice(bounds)
    return round(
        edge + random_of.choice([-1.0, 1.0]) * abs(edge or 1.0) * 10.0 ** random_of.uniform(-4.0, 0), 6
    )


JUDGED = """(given) => given.map(([id, value, unit, visit]) => {
  const row = fill.rowsOf(fill.forms[0]).find((one) => one.id === id);
  return fill.judge(row, { value, unit }, visit).status;
})"""


def test_the_verdicts_of_the_page_are_those_of_the_command(open_html):
    tab, random_of = open_html(page(), ready=False).page, random.Random(7)
    read = [each for each in rows() if each.row.scale != "check"]
    logged, asked = [each for each in read if each.last], []
    for _ in range(600):
        row, visit = (
            random_of.choice(random_of.choice([read, logged])),
            random_of.choice(["routine", "commissioning"]),
        )
        unit = random_of.choice(units_of(row.row))
        asked.append((row, random_value(random_of, row, unit), unit, visit))
    given = [["\n".join(row.key[1:]), str(value), unit, visit] for row, value, unit, visit in asked]
    found = tab.evaluate(JUDGED, given)
    told = [python_status(row, value, unit, visit) for row, value, unit, visit in asked]
    assert found == told
    assert {*told} == {"within tolerance", "out", "drifting", "not judged", "fault"}
    assert told.count("drifting") >= 3


@pytest.mark.parametrize(
    ("typed", "status", "words"),
    [
        ("-50,4", "within tolerance", "✓ within tolerance"),
        ("\u221253.2", "out", "✗ out: 0.2 dB under \u221253.0"),
        ("-46.9", "out", "✗ out: 0.1 dB over \u221247.0"),
        ("50.2", "out", "is the sign right?"),
        ("-53.04", "out", "✗ out: 0.040 dB under"),
        ("-520", "fault", "not believed: \u2212200 to 100 dBm"),
        ("fifty", "fault", "fifty is no number; write it as"),
    ],
)
def test_what_is_said_while_one_types(open_on_phone, typed, status, words):
    tab = open_on_phone(page(), ready=False).page
    one = card(tab, "feeder: level, Mux 1")
    one.get_by_label("feeder: level, Mux 1", exact=True).fill(typed)
    assert one.get_attribute("data-status") == status
    assert words in one.locator(".fill-verdict").inner_text()


def test_nothing_is_judged_where_nothing_is_expected(open_on_phone):
    tab = open_on_phone(page(), ready=False).page
    one = card(tab, "receiver: AGC voltage, Mux 1")
    one.get_by_role("textbox").first.fill("2.5")
    assert one.locator(".fill-verdict").inner_text() == "– not judged: nothing is expected"


def test_the_sign_is_turned_by_a_key_for_phones_whose_numbers_have_none(open_on_phone):
    tab = open_on_phone(page(), ready=False).page
    one = card(tab, "feeder: level, Mux 1")
    one.get_by_label("feeder: level, Mux 1", exact=True).fill("50.2")
    one.get_by_role("button", name="turn the sign of feeder: level, Mux 1").click()
    assert one.get_attribute("data-status") == "within tolerance"


def test_the_command_takes_in_what_was_typed(open_on_phone, tmp_path):
    study = write_study(tmp_path, edited(("invented = true", 'invented = true\nmodel = "free-space"')))
    assert run("visit", study, "--sheet").exit_code == 0
    (laid,) = run_json("visit", study, "--sheet")["stations"]
    expected = {each["service"]: each["expected"] for each in laid["rows"] if each["test_point"] == "feeder"}
    watch = open_on_phone(study.parent / "results" / "sheet.html", ready=False)
    tab = watch.page
    visit_filled(tab)
    tab.get_by_label("Weather").fill("dry, windy")
    tab.get_by_label("Remark on the visit").fill("gate open\nkey at the farm")
    typed = f"{expected['Mux 1']:.1f}".replace(".", ",")
    one = card(tab, "feeder: level, Mux 1")
    one.get_by_label("feeder: level, Mux 1", exact=True).fill(typed)
    one.locator("summary").click()
    one.get_by_label("Remark", exact=True).fill('clamp "loose", see photo')
    picture = tmp_path / "IMG_7.jpg"
    picture.write_bytes(b"no picture")
    one.get_by_label("Take the name of a photograph from this device").set_input_files(picture)
    assert one.get_by_label("Names of photographs").input_value() == "IMG_7.jpg"
    card(tab, "mast: aerials and mountings").get_by_role(
        "button", name="mast: aerials and mountings: not ok"
    ).click()
    path = saved(tab, tmp_path)
    assert path.name == "visit-combe-relay-2026-05-01.csv"
    printed = run_json("visit", study, path, code=1)
    assert (printed["taken"], printed["rows_left_blank"], printed["stored"]) == (2, 42, True)
    found = {each["quantity"]: each for each in printed["judgements"]}
    level = found["level"]
    assert level["value"] == pytest.approx(float(typed.replace(",", ".")))
    assert (level["note"], level["photos"]) == ('clamp "loose", see photo', "IMG_7.jpg")
    assert (level["date"], level["visit_note"]) == ("2026-05-01", "gate open key at the farm")
    assert (level["status"], found["aerials and mountings"]["status"]) == ("within tolerance", "out")
    assert watch.complaints == []
    assert [url for url in watch.requests if not url.startswith(("file://", "data:", "blob:"))] == []


def test_names_that_want_to_act_come_through_as_they_are(open_html, tmp_path):
    watch = open_html(page(HOSTILE), ready=False)
    tab = watch.page
    visit_filled(tab)
    tab.locator(".fill-value").first.fill("-50.2")
    names = {f"Combe Relay{HOSTILE}": tuple(f"{name}{HOSTILE}" for name in SERVICES)}
    (reading,) = read_readings(saved(tab, tmp_path), names, today=datetime.date(2026, 6, 1)).readings
    assert (reading.station, reading.service) == (f"Combe Relay{HOSTILE}", f"Mux 1{HOSTILE}")
    assert watch.complaints == []
    assert HOSTILE.strip() in tab.locator(".filling").text_content()


def test_what_the_reader_would_refuse_is_told_before_it_is_saved(open_html, tmp_path):
    tab = open_html(page(), ready=False).page
    tab.get_by_label("Date of the visit").fill("")
    one = card(tab, "feeder: level, Mux 1")
    one.get_by_label("feeder: level, Mux 1", exact=True).fill("-520")
    one.locator("summary").click()
    one.get_by_label("Remark", exact=True).fill("=SUM(A1)")
    saved(tab, tmp_path)
    told = tab.locator(".fill-faults").inner_text()
    for words in (
        "Date is empty",
        "Who took the readings is empty",
        "Meter is empty",
        "not believed",
        "formula",
    ):
        assert words in told, words
    tab.locator(".fill-fault", has_text="not believed").click()
    assert tab.evaluate("document.activeElement.value") == "-520"


def test_a_reload_restores_what_was_typed_and_another_visit_begins_empty(open_html, tmp_path):
    tab = open_html(page(), ready=False).page
    tab.get_by_label("Weather").fill("dry")
    card(tab, "feeder: level, Mux 1").get_by_label("feeder: level, Mux 1", exact=True).fill("-50,4")
    card(tab, "equipment: fans, filters and doors").get_by_role("button", name="ok").first.click()
    tab.reload()
    assert tab.get_by_label("Weather").input_value() == "dry"
    assert (
        card(tab, "feeder: level, Mux 1").get_by_label("feeder: level, Mux 1", exact=True).input_value()
        == "-50,4"
    )
    assert card(tab, "equipment: fans, filters and doors").get_attribute("data-status") == "within tolerance"
    assert tab.locator(".fill-count").inner_text() == "2 of 44 filled in"
    later = tmp_path / "page.html"
    later.write_text(page(log=(*LOG, *half_yearly([-50.0, -50.0, -50.1]))), encoding="utf-8")
    tab.reload()
    assert tab.get_by_label("Weather").input_value() == ""


def test_it_is_cleared_only_when_asked_twice(open_html):
    tab = open_html(page(), ready=False).page
    tab.get_by_label("Weather").fill("dry")
    clear = tab.get_by_role("button", name="Clear this visit")
    clear.click()
    assert tab.get_by_label("Weather").input_value() == "dry"
    tab.keyboard.press("Escape")
    clear.click()
    tab.get_by_role("button", name="Yes, clear it").click()
    assert tab.get_by_label("Weather").input_value() == ""
    tab.reload()
    assert tab.get_by_label("Weather").input_value() == ""


@pytest.mark.parametrize("broken", ["getItem", "setItem"])
def test_a_browser_that_keeps_nothing_is_told(open_html, broken):
    tab = open_html(page(), ready=False).page
    assert tab.locator("[role=alert]").inner_text() == ""
    tab.add_init_script(f"Storage.prototype.{broken} = () => {{ throw new Error('full'); }};")
    tab.reload()
    assert (
        "This browser keeps nothing here (full). Save the table" in tab.locator("[role=alert]").inner_text()
    )
    tab.get_by_label("Weather").fill("dry")
    assert tab.evaluate("dispatchEvent(new Event('beforeunload', { cancelable: true }))") is False


CONTRASTS = """() => {
  const parse = (text) => text.match(/[\\d.]+/g).map(Number);
  const linear = (part) => {
    const share = part / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  };
  const light = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const ground = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const colour = parse(getComputedStyle(at).backgroundColor);
      if (colour.length < 4 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  };
  const found = [], texts = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const node = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim() || !node.checkVisibility()) continue;
    const [a, b] = [light(parse(getComputedStyle(node).color)), light(ground(node))];
    found.push([(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), texts.currentNode.data.slice(0, 40)]);
  }
  return found;
}"""
"""Contrast of each text with what lies behind it, by WCAG 2.2 (relative luminance)."""


def every_verdict(tab):
    """Fill in something of each verdict, and open what is folded."""
    for name, value in (
        ("feeder: level, Mux 1", "-50"),
        ("feeder: level, Mux 2", "-80"),
        ("output coupler: MER, Mux 1", "32.5"),
    ):
        card(tab, name).get_by_role("textbox").first.fill(value)
    card(tab, "receiver: AGC voltage, Mux 1").get_by_role("textbox").first.fill("2.5")
    card(tab, "receiver: C/N, Mux 1").get_by_role("textbox").first.fill("x")
    card(tab, "site: damp and corrosion").get_by_role("button").first.click()
    tab.evaluate("document.querySelectorAll('.filling details').forEach((each) => { each.open = true; })")
    tab.get_by_role("button", name="Clear this visit").click()


def test_it_can_be_read_in_the_sun(open_on_phone):
    tab = open_on_phone(page(), ready=False).page
    every_verdict(tab)
    found = tab.evaluate(CONTRASTS)
    assert len(found) > 200
    assert [each for each in found if each[0] < 7.0] == []


def test_each_key_is_as_large_as_a_finger_and_fits_a_phone(open_on_phone):
    tab = open_on_phone(page(), ready=False).page
    every_verdict(tab)
    sizes = tab.eval_on_selector_all(
        ".filling :is(input, select, textarea, button, summary, a)",
        "all => all.map((one) => [one.getBoundingClientRect(), one.outerHTML.slice(0, 80)])"
        ".map(([box, html]) => [Math.min(box.width, box.height), html])",
    )
    assert len(sizes) > 200
    assert [each for each in sizes if each[0] < 44.0] == []
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_filled_form_has_no_fault_for_those_who_hear_it(open_on_phone):
    tab = open_on_phone(page(), ready=False).page
    every_verdict(tab)
    tab.context.new_cdp_session(tab).send("Runtime.evaluate", {"expression": RULES})
    found = tab.evaluate("axe.run()")
    faults = [(rule["id"], rule["impact"]) for rule in found["violations"] if rule["impact"] != "minor"]
    assert faults == []


def test_a_verdict_is_announced_once_a_reading_is_left(open_html):
    tab = open_html(page(), ready=False).page
    one = card(tab, "feeder: level, Mux 1").get_by_label("feeder: level, Mux 1", exact=True)
    one.focus()
    tab.keyboard.type("-60")
    assert tab.locator("[role=status]").inner_text() == ""
    tab.keyboard.press("Tab")
    assert tab.locator("[role=status]").inner_text() == "feeder: level, Mux 1: out: 7.0 dB under \u221253.0"


def printed_words(tab):
    document = pypdfium2.PdfDocument(tab.pdf(prefer_css_page_size=True))
    return len(document), " ".join(each.get_textpage().get_text_range() for each in document)


def test_an_empty_form_prints_as_the_sheet_alone_and_a_filled_one_with_its_readings(open_html):
    watch = open_html(page(), ready=False)
    count, words = printed_words(watch.page)
    context = watch.page.context.browser.new_context(java_script_enabled=False, offline=True)
    bare = context.new_page()
    bare.goto(watch.page.url)
    assert (count, words) == printed_words(bare)
    assert "Fill in" not in words
    context.close()
    visit_filled(watch.page)
    card(watch.page, "feeder: level, Mux 1").get_by_label("feeder: level, Mux 1", exact=True).fill("-51,4")
    card(watch.page, "site: damp and corrosion").get_by_role(
        "button", name="site: damp and corrosion: not ok"
    ).click()
    again, filled = printed_words(watch.page)
    assert again == count
    for text in ("-51,4", "Meter 7", "A. Hand", "2026-05-01"):
        assert text in filled and text not in words, text
    assert (words.count("☒"), filled.count("☒")) == (0, 1)


def test_the_data_of_the_form_are_those_of_the_document(open_html):
    told = json.loads(json.dumps(open_html(page(), ready=False).page.evaluate("fill.forms[0].groups")))
    bounds = {row["id"]: row["routine"] for group in told for row in group["rows"]}
    assert bounds == {"\n".join(row.key[1:]): [row.lowest, row.highest] for row in rows()}
