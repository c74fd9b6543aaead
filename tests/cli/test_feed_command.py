"""``combe feed`` on feeds as built: what it prints, its JSON and its page, scans, searches, failures."""

import base64
import html
import re

import pytest

from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.template import study_text
from support_cli import complaint, run, run_json
from support_feed_study import DIGITAL, FAR_STATION, FEEDS, SECOND, spoilt
from support_study import write_study

OLD_KEYS = {
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
NEW_KEYS = {
    "points",
    "window",
    "interference",
    "causes",
    "findings",
    "image_and_oscillator",
    "own_output",
    "loop",
    "intermodulation",
    "picture",
    "sound",
    "relay_chain",
    "enhancement_db",
    "mer_at_time_db",
}


@pytest.fixture(scope="module", params=FEEDS)
def study(request, tmp_path_factory):
    return write_study(tmp_path_factory.mktemp(request.param), FEEDS[request.param])


@pytest.fixture(scope="module")
def digital(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("feed"), DIGITAL)


def test_the_whole_chain_in_json(study):
    printed = run_json("feed", study)
    (relay,) = printed["relays"]
    assert printed["verdict"] == relay["verdict"] == "passes"
    assert relay["receiving_aerial"]["count"] == 2
    for service in relay["services"]:
        assert set(service) >= OLD_KEYS | NEW_KEYS
        points = service["points"]
        assert [point["point"] for point in points][:2] == ["aerial terminals", "jumper"]
        assert points[0]["level_dbuv_50"] == pytest.approx(points[0]["level_dbm"] + 106.990, abs=0.001)
        assert points[0]["level_dbuv_75"] == pytest.approx(points[0]["level_dbm"] + 108.751, abs=0.001)
        assert points[-2]["level_dbm"] == pytest.approx(service["receiver_input_dbm"])
        assert points[-1]["carrier_to_noise_db"] == pytest.approx(service["carrier_to_noise_db"])
        assert points[-2]["headroom_db"] > 0.0
        assert service["window"]["state"] == "held"
        assert service["causes"] == []
        assert (service["picture"] is None) == (service["mer_at_time_db"] is not None)
    assert [each["name"] for each in relay["output"]] == [each["name"] for each in relay["services"]]


def test_the_whole_chain_in_words(study):
    result = run("feed", study, "--full")
    assert result.exit_code == 0, result.output
    for words in (
        "Levels at every point of the chain\n  Medians of time",
        "passive splitter",
        "Receiver's window −62 to −26 dBm, muted under −74 dBm",
        "The relay's own outputs at the receiving aerial",
        "Output side\n  Power, losses and gain",
    ):
        assert words in result.stdout
    assert ("Pictures\n  Video signal" in result.stdout) == ("Four" in result.stdout)


@pytest.mark.parametrize("kind", FEEDS)
@pytest.mark.parametrize("cause", ["noise", "overload", "AGC floor", "co-channel", "own output"])
def test_a_failure_is_named_in_words_json_and_page(tmp_path, kind, cause):
    study = write_study(tmp_path, spoilt(kind, cause))
    result = run("feed", study)
    assert result.exit_code == 1
    assert f" fails: {cause}: " in result.stdout
    first = run_json("feed", study, code=1)["relays"][0]["services"][0]
    assert first["causes"] == [cause]
    assert [each["cause"] for each in first["findings"] if each["spare_db"] < 0.0] == [cause]
    page = html.unescape((tmp_path / "results" / "feed.html").read_text("utf-8"))
    assert f"{first['name']} fails: {cause}: " in page


def test_the_page_shows_waterfall_window_and_tables(tmp_path):
    study = write_study(tmp_path, DIGITAL + FAR_STATION.format(channel=22, erp_w=0.01))
    result = run("feed", study, "--receive-height", "5:30:5", "--full")
    assert result.exit_code == 0
    words = " ".join(result.stdout.split())
    assert "protection ratios of ITU-R BT.1368-13 Annex 2 (from memory, unverified)" in words
    assert re.search("television: DVB-T2.* from memory, unverified: locations to be served", words)
    text = (tmp_path / "results" / "feed.html").read_text("utf-8")
    page = html.unescape(text)
    for title in (
        "Levels through the chain",
        "Feed budget",
        "Levels at every point of the chain",
        "The receiver's window",
        "Other stations at the receiving aerial",
        "Levels in the receiver's window",
        "The relay's own outputs at the receiving aerial",
        "Output side",
        "Field by height of the receiving aerial",
    ):
        assert f"<h3>{title}</h3>" in page
    told = re.sub(r"<style.*?</style>|<script.*?</script>", "", page, flags=re.DOTALL)
    assert re.search(r"the faded input −\d", told)
    assert not re.search(r"[\s(]-\d", told), "a minus before a number is a true one"
    assert "Far Top Other" in page
    assert "ITU-R BT.1368-13 Annex 2 (from memory, unverified)" in page
    pictures = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', text)
    drawn = [base64.b64decode(each).decode("utf-8") for each in pictures]
    screens = ("dBm in 100 kHz",) * 3
    shown = ("distance", "limit of all", *screens, "output held", "planned")
    assert [words in svg for words, svg in zip(shown, drawn, strict=True)] == [True] * 7


def test_scans_of_height(digital):
    printed = run_json("feed", digital, "--receive-height", "5:20:5")
    scan = printed["relays"][0]["height_scan"]
    assert scan["height_m"] == [5.0, 10.0, 15.0, 20.0]
    assert (scan["planned_height_m"], len(scan["services"])) == (15.0, 3)
    planned = printed["relays"][0]["services"][0]["field_strength_dbuv_m"]
    assert scan["services"][0]["field_strength_dbuv_m"][2] == pytest.approx(planned, abs=1e-9)
    told = run("feed", digital, "--receive-height", "5:20:5").stdout
    assert "Mux A, Mux B, Mux C: level at the planned 15 m" in told, "said once of all"
    assert "The prediction has no ray reflected from the ground" in told
    assert "is too uneven" in told


def test_scans_of_height_in_the_fade(digital):
    relay = run_json("feed", digital, "--receive-height", "5:20:5")["relays"][0]
    scan = relay["height_scan"]
    assert scan["time_percent"] == 99.0
    for found, service in zip(scan["services"], relay["services"], strict=True):
        assert found["margin_db"][2] == pytest.approx(service["margin_db"], abs=1e-6)
        assert found["fade_db"][2] == pytest.approx(service["fade_db"], abs=1e-6)
        at_time = service["field_strength_at_time_dbuv_m"]
        assert found["field_strength_at_time_dbuv_m"][2] == pytest.approx(at_time, abs=1e-6)
    told = run("feed", digital, "--receive-height", "5:20:5", "--full").stdout
    assert "Margin at each height of the receiving aerial, 99 % of time" in told
    least_db = min(each["margin_db"] for each in relay["services"])
    assert f"For 99 % of time the least margin is {least_db:.1f} dB at the planned 15 m" in told


def test_the_reflected_ray_in_json(digital):
    rays = run_json("feed", digital, "--receive-height", "5:40:5")["relays"][0]["height_scan"][
        "ground_reflection"
    ]
    assert [each["service"] for each in rays] == ["Mux A", "Mux B", "Mux C"]
    for each in rays:
        assert each["fresnel_from_km"] < each["distance_km"] < each["fresnel_to_km"]
        assert each["relief_m"] > each["allowed_relief_m"]
        assert (each["nulls_expected"], each["zone"]) == (False, None)
        assert each["null_height_m"] == sorted(each["null_height_m"])
    assert rays[0]["allowed_relief_m"] > rays[2]["allowed_relief_m"], "a longer wave sees less"


def test_advice_stands_where_a_feed_fails_unless_it_is_not_wanted(digital, tmp_path):
    study = write_study(tmp_path, spoilt("digital", "noise"))
    height, gain, parent = run_json("feed", study, code=1)["relays"][0]["advice"]
    assert [each["kind"] for each in (height, gain, parent)] == ["height", "gain", "parent"]
    assert [each["helps"] for each in (height, gain, parent)] == [False, True, False]
    assert 5.0 < gain["added_gain_db"] <= 12.0
    assert gain["height_m"] is gain["parent"] is None
    assert gain["margin_db"] > 6.0
    assert height["margin_db"] is parent["margin_db"] is None
    assert height["tried"] == "15 to 60 m above ground"
    assert f"would pass with {gain['added_gain_db']:g} dB more gain" in run("feed", study).stdout
    assert run_json("feed", study, "--no-advice", code=1)["relays"][0]["advice"] is None
    assert run_json("feed", digital)["relays"][0]["advice"] == []


def test_the_best_bearing(digital, tmp_path):
    assert run_json("feed", digital, "--best-bearing")["relays"][0]["best_bearing"] is None
    assert "nothing disturbs it; look at the parent, 86.5°" in run("feed", digital, "--best-bearing").stdout
    study = write_study(tmp_path, spoilt("digital", "co-channel"))
    choice = run_json("feed", study, "--best-bearing", code=1)["relays"][0]["best_bearing"]
    assert choice["margin_db"] >= choice["margin_at_parent_db"]
    assert "best bearing " in run("feed", study, "--best-bearing").stdout


def test_what_is_not_asked_for_is_null_and_not_told(digital):
    relay = run_json("feed", digital)["relays"][0]
    assert (relay["height_scan"], relay["best_bearing"]) == (None, None)
    told = run("feed", digital, "--full").stdout
    assert "nothing disturbs it" not in told
    assert "at the planned" not in told


def test_the_time_of_the_margin(digital):
    most, less = (
        run_json("feed", digital, "--time-percent", percent)["relays"][0]["services"][0]
        for percent in (99, 90)
    )
    assert (most["time_percent"], less["time_percent"]) == (99.0, 90.0)
    assert most["fade_db"] > less["fade_db"] > 0.0


def test_several_shares_of_the_year(digital):
    ways = (("--time-percent", "99,99.9,99.95"), ("--time-percent", "99.9, 99", "--time-percent", "99.95"))
    for way in ways:
        service = run_json("feed", digital, *way)["relays"][0]["services"][0]
        assert service["time_percent"] == 99.95
        told = {each["time_percent"]: each for each in service["times"]}
        assert [share for share, each in told.items() if each["asked"]] == [99.0, 99.9, 99.95]
        assert told[99.95]["margin_db"] == service["margin_db"]
        assert told[99.9]["minutes_a_year_without"] == pytest.approx(525.96)


def test_the_year_in_json_and_words(digital):
    relay = run_json("feed", digital)["relays"][0]
    service = relay["services"][0]
    assert [each["time_percent"] for each in service["times"]] == [50.0, 99.0, 99.9, 99.99]
    assert (service["stands_for_percent"], service["stands_for_bounded"]) == (99.999, True)
    assert service["minutes_a_year_without"] == pytest.approx(5.2596)
    # ITU-R P.841, from memory: 0.001 % of the year is 0.007 % of the worst month.
    assert service["worst_month_without_percent"] == pytest.approx(0.006996, abs=1e-6)
    assert [each["time_percent"] for each in service["enhancements"]] == [1.0, 0.1]
    assert service["enhancement_percent"] == 1.0
    assert service["enhancement_db"] == service["enhancements"][0]["enhancement_db"]
    assert abs(service["median_differs_db"]) < 1.0
    when = {each["item"]: (each["wanted_at"], each["unwanted_at"]) for each in relay["judged_when"]}
    assert when["others, continuous"] == ("fade, 99 % of the year", "median")
    assert when["others, tropospheric"] == ("median", "1 % of time")
    assert when["overload"][0] == "enhancement, 1 %"
    told = run("feed", digital).stdout
    assert "stands for more than 99.999 % of an average year; less than 5.3 min without" in told
    full = run("feed", digital, "--full").stdout
    for title in ("Over the year", "Share by share of the year", "What is judged when"):
        assert f"\n{title}\n" in full
    assert all(len(line) <= 100 for line in full.splitlines())


def test_a_chain_tells_its_share_of_the_year(tmp_path):
    relays = run_json("feed", write_study(tmp_path, DIGITAL + SECOND))["relays"]
    chain = relays[1]["services"][0]["relay_chain"]
    assert [hop["available_percent"] for hop in chain["hops"]] == [None, 99.999, 99.999]
    assert chain["available_percent"] == pytest.approx(99.998, abs=1e-6)
    assert chain["available_bounded"] is True
    assert chain["minutes_a_year_without"] == pytest.approx(10.52, abs=0.01)


def test_what_it_refuses(digital):
    assert "is no FROM:TO:STEP in metres; write for example 5:30:1" in complaint(
        "feed", digital, "--receive-height", "5-30"
    )
    assert "highest height of the scan is 5.0; allowed: more than 30" in complaint(
        "feed", digital, "--receive-height", "30:5:1"
    )
    assert complaint("feed", digital, "--time-percent", 10) == (
        "time_percent of the feed is 10.0; allowed: 50 to 99.999"
    )
    assert "'99;95' is no share of the year in %; write for example 99 or 99,99.9" in complaint(
        "feed", digital, "--time-percent", "99;95"
    )


def test_a_feed_as_built_survives_a_new_study(study, tmp_path):
    content = load_study(study).content
    again = study.parent / "again.toml"
    again.write_text(study_text(content), encoding="utf-8")
    assert load_study(again).content == content
    made = load_study(new_study(tmp_path / "new", study)).content
    assert made.stations[1].feed == content.stations[1].feed
    assert made.stations[1].output == content.stations[1].output


def test_the_pattern_of_the_receive_aerial_comes_along(tmp_path):
    rows = "\n".join(
        f"{bearing},{0.0 if bearing < 30 or bearing > 330 else -20.0}" for bearing in range(0, 360, 10)
    )
    folder = tmp_path / "a"
    folder.mkdir()
    (folder / "receive.csv").write_text(f"bearing_deg,relative_db\n{rows}\n", encoding="utf-8")
    text = DIGITAL.replace("count = 2", 'count = 2\npattern = "receive.csv"') + FAR_STATION.format(
        channel=22, erp_w=1.0
    )
    study = write_study(folder, text)
    made = new_study(tmp_path / "new", study)
    assert (made.parent / "receive.csv").is_file()
    (row,) = run_json("feed", made)["relays"][0]["services"][0]["interference"]
    assert row["discrimination_db"] == 20.0, "its own pattern, and not BT.419"
