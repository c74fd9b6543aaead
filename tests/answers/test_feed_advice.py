"""What would carry a feed that fails, held against the feeds of studies that are written with the change."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from combe.answers.feed import feed_report
from combe.answers.feed_advice import _least, with_advice
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, SECOND, spoilt, untold
from support_study import edited, write_study

SHORT = (("aerial_gain_dbi = 14.0", "aerial_gain_dbi = 22.0"), ("margin_db = 10.0", "margin_db = 0.0"))
"""Changes after which the blocked path of the study is a little short of passing."""

SAME_SERVICES = """
[[stations]]
name = "{name}"
role = "parent"
longitude_deg = {longitude_deg}
latitude_deg = 36.60
aerial_height_m = 100.0
polarization = "{polarization}"
services = [{{ name = "Mux A", channel = 32, erp_w = {erp_w} }}, \
{{ name = "Mux B", channel = 35, erp_w = {erp_w} }}, {{ name = "Mux C", channel = 38, erp_w = {erp_w} }}]
"""
NEAR = SAME_SERVICES.format(name="Near Top", longitude_deg=-84.36, polarization="vertical", erp_w=2000.0)
FAINT = SAME_SERVICES.format(name="Faint Top", longitude_deg=-84.33, polarization="vertical", erp_w=1e-5)


def report_of(folder, text):
    return feed_report(load_project(write_study(folder, text)))


def advice_of(folder, text, relay=0):
    return with_advice(report_of(folder, text)).relays[relay].advice


def of_kind(advice, kind):
    return [each for each in advice if each.kind == kind]


def least_margin_db(relay):
    return min(service.budget.margin_db for service in relay.services)


def written(folder, *changes):
    """Return the relay of the short study written with changes."""
    return report_of(folder, edited(*changes, text=edited(*SHORT))).relays[0]


def test_the_height_found_is_the_least_that_passes(tmp_path):
    (found,) = of_kind(advice_of(tmp_path, edited(*SHORT)), "height")
    assert found.helps
    assert 16.0 < found.height_m < 56.0
    assert (found.height_m - 12.0) % 0.5 == 0.0
    at, below = (
        written(tmp_path, ("height_m = 12.0", f"height_m = {height_m}"))
        for height_m in (found.height_m, found.height_m - 0.5)
    )
    assert (at.verdict, below.verdict) == ("passes", "fails")
    assert found.margin_db == pytest.approx(least_margin_db(at), abs=1e-9)
    assert found.words.startswith(
        f"a receiving aerial {found.height_m - 12.0:g} m higher, {found.height_m:g} m above ground, passes "
    )
    assert found.tried == "12 to 60 m above ground"


def test_the_gain_found_is_the_least_that_passes(tmp_path):
    (found,) = of_kind(advice_of(tmp_path, edited(*SHORT)), "gain")
    assert found.helps
    gains_dbi = 22.0 + found.added_gain_db, 22.0 + found.added_gain_db - 0.5
    at, below = (written(tmp_path, ("gain_dbi = 22.0", f"gain_dbi = {gain_dbi}")) for gain_dbi in gains_dbi)
    assert (at.verdict, below.verdict) == ("passes", "fails")
    assert found.margin_db == pytest.approx(least_margin_db(at), abs=1e-9)
    assert "narrows the beam" in found.words


def test_a_high_aerial_is_tried_forty_metres_higher_and_gain_up_to_its_bound(tmp_path):
    text = edited(("height_m = 12.0", "height_m = 30.0"), ("gain_dbi = 14.0", "gain_dbi = 35.0"))
    height, gain, _ = advice_of(tmp_path, text.replace("margin_db = 10.0", "margin_db = 60.0"))
    assert (height.tried, gain.tried) == ("30 to 70 m above ground", "0 to 5 dB more than 35 dBi")
    assert not height.helps
    assert not gain.helps


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        (spoilt("digital", "overload"), "overload"),
        (spoilt("digital", "co-channel"), "co-channel"),
        (edited(('A", channel = 41', 'A", channel = 22'), ("isolation_db = 85.0", "isolation_db = 60.0"),
                text=DIGITAL), "loop"),
    ],
)  # fmt: skip
def test_what_neither_height_nor_gain_can_mend_is_said(tmp_path, text, cause):
    height, gain, parent = advice_of(tmp_path, text)
    assert height.words == f"no height up to 60 m above ground makes it pass: {cause} stays at each"
    assert gain.words == f"no gain up to 12 dB more makes it pass: {cause} stays at each"
    assert parent.words.startswith("no other station radiates all of its services")
    for each in (height, gain, parent):
        assert not each.helps
        assert (each.height_m, each.added_gain_db, each.parent, each.margin_db) == (None,) * 4


def test_a_relay_that_fails_through_the_one_before_it_cannot_mend_that_itself(tmp_path):
    """The chain is counted in each try: taken for the head of it, more gain would do."""
    text = DIGITAL + SECOND.replace("margin_db = 6.0", "margin_db = 45.0")
    gain = of_kind(advice_of(tmp_path, text, relay=1), "gain")
    assert [each.words for each in gain] == [
        "no gain up to 12 dB more makes it pass: relay chain stays at each"
    ]


def test_other_parents_are_judged_as_if_the_study_named_them_the_best_first(tmp_path):
    text = edited(("gain_dbi = 10.0", "gain_dbi = 10.0\nbearing_deg = 86.5"), text=spoilt("digital", "noise"))
    text += FAINT + NEAR
    near, faint = of_kind(advice_of(tmp_path, text), "parent")
    assert (near.parent, near.helps, faint.parent, faint.helps) == ("Near Top", True, "Faint Top", False)
    turned = edited(('from = "Long Moor"', 'from = "Near Top"'), ("bearing_deg = 86.5\n", ""), text=text)
    there = report_of(tmp_path, turned).relays[0]
    assert there.verdict == "passes"
    assert near.margin_db == pytest.approx(least_margin_db(there), abs=1e-9)
    assert near.words.startswith("Near Top as parent, 6.7")
    assert faint.words == "Faint Top as parent, 4.11 km away, fails: co-channel, noise, AGC floor"
    assert faint.margin_db < 0.0
    assert near.tried == "all that radiate its services"


def test_a_station_that_the_relay_feeds_is_no_parent_for_it(tmp_path):
    fed = SECOND.replace('{ name = "Mux A", channel = 51, erp_w = 5.0 }', ", ".join(
        f'{{ name = "Mux {name}", channel = {channel}, erp_w = 5.0 }}'
        for name, channel in (("A", 51), ("B", 54), ("C", 57))
    ))  # fmt: skip
    text = spoilt("digital", "noise") + fed
    assert [each.parent for each in of_kind(advice_of(tmp_path, text), "parent")] == [None]
    assert [each.parent for each in of_kind(advice_of(tmp_path, text + NEAR), "parent")] == ["Near Top"]


def test_no_more_than_the_eight_nearest_are_tried(tmp_path):
    tops = [
        SAME_SERVICES.format(
            name=f"Top {number}", longitude_deg=-84.30 - 0.01 * number, polarization="vertical", erp_w=0.01
        )
        for number in range(9)
    ]
    found = of_kind(advice_of(tmp_path, spoilt("digital", "noise") + "".join(reversed(tops))), "parent")
    assert sorted(each.parent for each in found) == [f"Top {number}" for number in range(8)]
    assert {each.tried for each in found} == {"the nearest 8 of 9 that radiate its services"}


def test_a_parent_over_unknown_ground_is_told_and_no_error(tmp_path):
    beyond = NEAR.replace("-84.36", "-80.0")
    (found,) = of_kind(advice_of(tmp_path, spoilt("digital", "noise") + beyond), "parent")
    assert (found.parent, found.helps, found.margin_db) == ("Near Top", False, None)
    assert found.words.startswith("Near Top as parent cannot be predicted: ")


def test_a_feed_that_passes_has_no_advice_and_one_that_is_not_judged_none(tmp_path):
    assert advice_of(tmp_path / "passes", DIGITAL) == ()
    kept = edited(('"Mux A", channel = 41', '"Mux A", channel = 22'), text=untold(DIGITAL))
    report = report_of(tmp_path / "unknown", kept)
    assert report.relays[0].verdict == "not judged"
    assert with_advice(report).relays[0].advice is None
    assert report_of(tmp_path / "fails", spoilt("digital", "noise")).relays[0].advice is None, "not asked"


def judge(passes):
    """Return a judge of numbers, and the numbers that it was asked."""
    asked = []

    def judged(value):
        asked.append(value)
        return SimpleNamespace(verdict="passes" if passes(value) else "fails", value=value)

    return judged, asked


@pytest.mark.parametrize("least", [0.3, 4.0, 4.1, 17.5, 43.6])
def test_the_least_is_found_to_half_a_step(least):
    judged, _ = judge(lambda value: value >= least)
    found = _least(judged, 0.0, 45.0, 4.0)
    assert found.value - 0.5 < least <= found.value
    assert found.best.value == found.value
    assert found.fails_again_at is None


def test_a_feed_that_fails_again_higher_up_is_told():
    judged, asked = judge(lambda value: 10.0 <= value < 20.0)
    found = _least(judged, 0.0, 30.0, 4.0)
    assert (found.value, found.fails_again_at) == (10.0, 20.0)
    assert max(asked) == 30.0


def test_nothing_that_passes_and_no_room():
    judged, asked = judge(lambda _: False)
    found = _least(judged, 0.0, 12.0, 2.0)
    assert (found.value, sorted(found.missed)) == (None, [2.0, 4.0, 6.0, 8.0, 10.0, 12.0])
    assert _least(judged, 40.0, 40.0, 2.0).missed == {}
    assert len(asked) == 6


def test_the_project_and_the_report_stay_as_they_were(tmp_path):
    report = report_of(tmp_path, spoilt("digital", "noise") + NEAR)
    advised = with_advice(report)
    assert report.relays[0].advice is None
    assert replace(advised.relays[0], advice=None) == report.relays[0]
    assert advised.project is report.project
