"""What an analyser should show, asked by ``combe feed`` and ``combe visit --sheet``."""

import html
import math

import pytest

from support_cli import complaint, run, run_json
from support_feed_study import ANALOGUE, DIGITAL
from support_study import write_study


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("study"), DIGITAL)


def levels(spectrum):
    return [each["level_dbm"] for each in spectrum[0]["screens"][0]["signals"] if each["whose"] == "wanted"]


def test_feed_and_sheet_tell_the_same_spectrum(study):
    (relay,) = run_json("feed", study)["relays"]
    (sheet,) = run_json("visit", study, "--sheet")["stations"]
    assert relay["spectrum"] == sheet["spectrum"]
    points = [each["test_point"] for each in relay["spectrum"]]
    assert points == ["feeder", "splitter ports 1 to 3", "output coupler"]
    (first,) = relay["spectrum"][0]["screens"]
    assert first["signals"][0].keys() == {
        "signal", "part", "whose", "frequency_mhz", "width_mhz", "power_dbm", "level_dbm", "noise_dbm",
        "over_noise_db", "peak_sync",
    }  # fmt: skip
    # The feed's table tells the same power at that point.
    told = relay["services"][0]["points"][1]["level_dbm"]
    assert first["signals"][0]["power_dbm"] == pytest.approx(told, abs=0.01)


def test_the_resolution_and_the_analyser_s_noise_are_asked_for(study):
    usual, fine = (
        run_json("feed", study, *words)["relays"][0]["spectrum"] for words in ((), ("--resolution-khz", "10"))
    )
    assert [a - b for a, b in zip(levels(usual), levels(fine), strict=True)] == pytest.approx([10.0] * 3)
    assert fine[0]["resolution_khz"] == 10.0
    quiet = run_json("visit", study, "--sheet", "--analyser-noise-db", "5")["stations"][0]["spectrum"]
    # k·290 K·100 kHz is −123.98 dBm: 5 dB of the analyser over that, and the chain's own 0 dB at the feeder.
    noise = 10.0 * math.log10(10.0**0.5 + 10.0**0.0) - 123.98
    assert quiet[0]["screens"][0]["signals"][0]["noise_dbm"] == pytest.approx(noise, abs=0.02)


def test_an_analyser_that_nobody_has_is_refused(study):
    said = complaint("feed", study, "--resolution-khz", "0")
    assert "resolution_khz of the analyser" in said
    assert "noise_figure_db of the analyser" in complaint(
        "visit", study, "--sheet", "--analyser-noise-db", "99"
    )


def test_pages_show_screens_with_a_table_for_those_who_do_not_see_them(study):
    run("feed", study)
    run("visit", study, "--sheet")
    for name in ("feed", "sheet"):
        page = html.unescape((study.parent / "results" / f"{name}.html").read_text(encoding="utf-8"))
        assert page.count("What an analyser should show") >= 1
        assert "Screen of an analyser at the feeder: Mux A" in page
        assert "Signals at the test points" in page
        assert "a peak detector shows a digital signal some 10 dB higher (common practice)" in page


def test_the_page_of_pictures_says_what_their_carriers_rest_on(tmp_path):
    path = write_study(tmp_path, ANALOGUE)
    told = " ".join(run("feed", path, "--full").stdout.split())
    assert "Vision is told at peak sync." in told
    assert "full colour 16 dB and digital sound 20 dB under peak sync are usual values (from memory)" in told
