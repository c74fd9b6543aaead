"""A feed that is not judged is told so wherever its relay counts: feed, check, cover, the map, explain."""

import html

import pytest

from combe.answers.feed import standings_of
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_feed_study import DIGITAL, SECOND, untold
from support_study import edited, void_under, write_study

SAME = ('"Mux A", channel = 41', '"Mux A", channel = 22')
COARSE = ("cell_size_m = 300", "cell_size_m = 900")
AT = "-84.2861,36.6108"
WHY = (
    "the relay radiates Mux A on channel 22, which it receives, and the isolation of its aerials is not"
    " known; write isolation_db in a [stations.feed.own_output] table"
)


def study_of(folder, *changes, text=DIGITAL):
    return write_study(folder, edited(COARSE, *changes, text=text))


@pytest.fixture(scope="module")
def unknown(tmp_path_factory):
    return study_of(tmp_path_factory.mktemp("unknown"), SAME, text=untold(DIGITAL))


@pytest.fixture(scope="module")
def covered(unknown):
    return run_json("cover", unknown, "--no-cache")


def one_line(text):
    return " ".join(html.unescape(text.replace("<wbr>", "")).split())


def test_feed_says_so_in_words_json_and_page(unknown):
    result = run("feed", unknown)
    assert result.exit_code == 1
    assert f"Mux A not judged: {WHY} " in one_line(result.stdout)
    unknown_chain = "  - Mux A chain of relays not judged: not every ratio in it is known\n"
    assert unknown_chain in run("feed", unknown, "--full").stdout
    printed = run_json("feed", unknown, code=1)
    first, second, _ = printed["relays"][0]["services"]
    assert (printed["verdict"], printed["relays"][0]["verdict"]) == ("not judged", "not judged")
    assert (first["verdict"], first["causes"], first["not_judged"]) == ("not judged", [], [WHY])
    assert (second["verdict"], second["not_judged"]) == ("passes", [])
    for key in (
        "margin_db",
        "carrier_to_noise_at_time_db",
        "own_output_cost_db",
        "carrier_to_noise_with_own_output_db",
        "mer_at_time_db",
        "loop",
        "relay_chain",
    ):
        assert first[key] is None, key
    assert second["margin_db"] > 6.0
    page = one_line((unknown.parent / "results" / "feed.html").read_text("utf-8"))
    assert f"Mux A not judged: {WHY}" in page
    assert "? not judged" in page


def test_an_oscillating_loop_has_no_ripple_in_words(tmp_path):
    study = study_of(tmp_path, SAME, ("isolation_db = 85.0", "isolation_db = 60.0"))
    result, whole = run("feed", study), run("feed", study, "--full").stdout
    assert result.exit_code == 1
    assert "dB over the isolation: the relay oscillates " in one_line(result.stdout)
    assert "inf" not in result.stdout + whole


def test_the_page_holds_the_figures_of_a_loop(tmp_path):
    study = study_of(tmp_path, SAME, ("isolation_db = 85.0", "isolation_db = 110.0"))
    loop = run_json("feed", study)["relays"][0]["services"][0]["loop"]
    page = one_line((tmp_path / "results" / "feed.html").read_text("utf-8"))
    rows = page[page.index("The loop on a channel that is kept") :]
    cells = [f"{loop[key]:.1f}" for key in ("gain_db", "fade_db", "isolation_db", "canceller_db")]
    assert "".join(f"<td>{cell}</td>" for cell in cells) in rows
    assert "Its own outputs' noise and the loop's echo at that time" in page


def test_check_notes_that_it_cannot_be_judged(unknown, tmp_path):
    words = "Upper Combe radiates on channel 22, which its parent uses as well"
    notes = run_json("check", unknown)["notes"]
    assert (
        f"{words}: its feed cannot be judged without isolation_db in a [stations.feed.own_output] table"
        in notes
    )
    assert (
        f"{words}: its feed is judged with the loop" in run_json("check", study_of(tmp_path, SAME))["notes"]
    )


def test_cover_counts_the_relay_and_says_so(unknown, covered):
    (feed,) = covered["feeds"]
    assert (feed["relay"], feed["parent"], feed["verdict"]) == ("Upper Combe", "Long Moor", "not judged")
    assert feed["words"] == (
        f"the feed of Upper Combe is not judged, and it counts as if it passed (Mux A not judged: {WHY})"
    )
    assert [each["verdict"] for each in feed["services"]] == ["not judged", "passes", "passes"]
    printed = run("cover", unknown, "--no-cache").stdout
    assert "The feed of Upper Combe is not judged, and it counts as if it passed." in printed
    assert feed["words"][1:] in one_line(run("cover", unknown, "--no-cache", "--full").stdout)
    page = one_line((unknown.parent / "results" / "map.html").read_text("utf-8"))
    assert f'<p class="told">T{feed["words"][1:]}.</p>' in page


def test_cover_says_nothing_of_a_feed_that_passes(tmp_path):
    study = study_of(tmp_path)
    result = run("cover", study, "--no-cache")
    assert "as if it passed" not in result.stdout
    (feed,) = run_json("cover", study, "--no-cache")["feeds"]
    assert (feed["verdict"], feed["words"]) == ("passes", "")
    assert 'class="told"' not in (tmp_path / "results" / "map.html").read_text("utf-8")


def test_a_feed_over_unknown_ground_is_not_judged_rather_than_left_out(tmp_path):
    study = study_of(tmp_path, text=DIGITAL + SECOND)
    void_under(study, -84.20, 36.6155)
    feeds = run_json("cover", study, "--no-cache")["feeds"]
    assert [(each["relay"], each["verdict"]) for each in feeds] == [
        ("Lower Combe", "not judged"),
        ("Upper Combe", "not judged"),
    ]
    assert "the quality of what Upper Combe sends is not known" in feeds[0]["words"]
    assert "terrain.tif" in feeds[1]["words"]


def test_explain_says_it_of_the_service_that_it_is_about(unknown):
    result = run("explain", unknown, "--at", AT)
    words = f"Upper Combe's own feed of Mux A is not judged, and it counts as if it passed: {WHY}."
    assert words in one_line(result.stdout)
    assert result.stdout.count("own feed of") == 1
    first, second, _ = run_json("explain", unknown, "--at", AT)["services"]
    assert words in first["words"]
    assert first["candidates"][0]["feed"] == {"verdict": "not judged", "words": words[:-1]}
    assert second["candidates"][0]["feed"] == {"verdict": "passes", "words": ""}
    assert second["candidates"][1]["feed"] is None


def test_standings_take_in_the_relays_that_feed(tmp_path):
    text = untold(edited(SAME, text=DIGITAL)) + SECOND
    study = load_project(write_study(tmp_path, text))
    (found,) = standings_of(study, {"Lower Combe"}).values()
    assert (found.relay, found.verdict, found.verdict_of("Mux A")) == (
        "Lower Combe",
        "not judged",
        "not judged",
    )
    assert "the quality of what Upper Combe sends is not known" in found.words_of("Mux A")
    assert standings_of(study, ()) == {}
