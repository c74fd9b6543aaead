"""The feed over the shares of an average year: median of the study's model, fades and rises of P.2001-4."""

import math

import pytest

from combe.answers.feed import feed_report
from combe.answers.feed_time import rare_percent, share_words, standing_words
from combe.decibels import power_dbm_from_field, power_sum_db
from combe.digits import spoken
from combe.errors import RangeError
from combe.prediction.over_time import PathOverTime, ShareOfYear
from combe.propagation.p841 import worst_month_percent
from combe.propagation.p1812 import INLAND
from combe.publishing.document import Table, all_parts
from combe.publishing.fields import cells
from combe.reports.feed import document
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, FAR_STATION, SECOND, untold
from support_study import edited, write_study

TIME = "required_margin_db = 10.0"
SAME = ('"Mux A", channel = 41', '"Mux A", channel = 22')
SHARES = (99.0, 99.9, 99.99)


def budget_of(folder, *changes):
    report = feed_report(load_project(write_study(folder, edited(*changes))))
    return report, report.relays[0].services[0]


def relays_of(folder, text, **asked):
    return feed_report(load_project(write_study(folder, text)), **asked).relays


def over_time_of(relay, service):
    """Return the path of a service over time, made anew of what the report says of it."""
    path = relay.path
    return PathOverTime(
        path.profile,
        path.tx_height_m,
        path.rx_height_m,
        service.received.frequency_mhz,
        relay.parent.polarization,
        relay.site.project.climate,
        INLAND if path.zone is None else path.zone,
    )


def test_the_margin_is_judged_after_the_fade_of_p2001(tmp_path):
    report, service = budget_of(tmp_path)
    budget = service.budget
    assert budget.time_percent == 99.0
    assert budget.fade_db == over_time_of(report.relays[0], service).fade_db(99.0) > 1.0
    assert budget.field_strength_at_time_dbuv_m == pytest.approx(
        budget.field_strength_dbuv_m - budget.fade_db
    )
    assert budget.margin_db == pytest.approx(budget.carrier_to_noise_db - budget.fade_db - 20.0)
    assert budget.reason.startswith("for 99 % of time, ")
    assert service.prediction.conditions.time_percent == 50.0


def test_the_method_names_recommendation_climate_and_model(tmp_path):
    report, service = budget_of(tmp_path)
    words = service.budget.time_method
    assert report.provenance["time of the margin"] == words
    assert "ITU-R P.2001-4 over the bare ground of the path" in words
    assert report.project.climate_words in words
    assert words.endswith("the median is that of the study's model, p1812")


def test_the_three_parts_of_the_loss_make_the_median(tmp_path):
    _, service = budget_of(tmp_path)
    budget = service.budget
    parts = budget.free_space_loss_db + budget.diffraction_loss_db + budget.other_mechanisms_db
    assert parts == pytest.approx(service.prediction.p1812_steps.basic_transmission_loss_db, abs=1e-9)


def test_time_of_paths_and_maps_does_not_touch_the_feed(tmp_path):
    _, plain = budget_of(tmp_path)
    report, other = budget_of(tmp_path, ("[people]", "[air]\ntime_percent = 10.0\n\n[people]"))
    assert other.budget == plain.budget
    assert report.provenance["percentages"].startswith("exceeded for 50 % of time")


def test_less_time_asks_less(tmp_path):
    _, most = budget_of(tmp_path)
    _, less = budget_of(tmp_path, (TIME, f"{TIME}\ntime_percent = 90.0"))
    _, half = budget_of(tmp_path, (TIME, f"{TIME}\ntime_percent = 50.0"))
    assert most.budget.fade_db > less.budget.fade_db > half.budget.fade_db == 0.0
    assert not half.budget.reason.startswith("for ")


def test_every_model_has_statistics_of_time(tmp_path):
    _, plain = budget_of(tmp_path)
    _, service = budget_of(tmp_path, ("[terrain]", 'model = "p526"\n\n[terrain]'))
    assert service.budget.time_percent == 99.0
    assert service.budget.fade_db == plain.budget.fade_db
    assert service.budget.time_method.endswith("the study's model, p526")


def test_of_several_shares_the_greatest_is_judged_and_all_are_told(tmp_path):
    several = (TIME, f"{TIME}\ntime_percent = [99.9, 99.0, 99.95]")
    report, service = budget_of(tmp_path, several)
    assert service.budget.time_percent == 99.95
    told = {each.time_percent: each for each in service.year.shares}
    assert list(told) == [50.0, 99.0, 99.9, 99.95, 99.99]
    assert [share for share, each in told.items() if each.asked] == [99.0, 99.9, 99.95]
    over = over_time_of(report.relays[0], service)
    for share, each in told.items():
        assert each.fade_db == over.fade_db(share)
        assert each.carrier_to_noise_db == pytest.approx(service.budget.carrier_to_noise_db - each.fade_db)
        assert each.margin_db == pytest.approx(each.carrier_to_noise_db - 20.0)
        assert each.minutes_without == pytest.approx((100.0 - share) / 100.0 * 365.25 * 24.0 * 60.0)
    judged = told[99.95]
    assert (judged.margin_db, judged.verdict) == (
        pytest.approx(service.budget.margin_db),
        service.budget.verdict,
    )


def test_shares_may_be_asked_in_place_of_those_of_the_study(tmp_path):
    study = load_project(write_study(tmp_path))
    one, several = (feed_report(study, time_percent=asked).relays[0].services[0] for asked in (99.9, SHARES))
    assert (one.budget.time_percent, several.budget.time_percent) == (99.9, 99.99)
    with pytest.raises(RangeError, match=r"time_percent of the feed is 99.9999; allowed: 50 to 99.999"):
        feed_report(study, time_percent=(99.0, 99.9999))


def test_it_stands_for_the_share_at_which_no_margin_is_left(tmp_path):
    """With the margin all spent at 99.7 %: what is required is C/N less the fade of that share."""
    report, service = budget_of(tmp_path)
    fade_db = over_time_of(report.relays[0], service).fade_db(99.7)
    needed = service.budget.carrier_to_noise_db - fade_db
    _, tight = budget_of(tmp_path, (TIME, f"required_margin_db = 0.0\nrequired_cn_db = {needed!r}"))
    year = tight.year
    assert year.stands_for.percent == pytest.approx(99.7, abs=0.005)
    assert not year.stands_for.bounded
    assert year.minutes_without == pytest.approx(0.003 * 525_960.0, rel=0.02)
    assert year.worst_month_percent == worst_month_percent(100.0 - year.stands_for.percent)
    at = {each.time_percent: each.verdict for each in year.shares}
    assert (at[99.0], at[99.9]) == ("passes", "fails")
    assert year.words.startswith("stands for 99.7")
    assert year.words.endswith(" without")


def test_more_than_is_sought_is_told_so(tmp_path):
    (relay,) = relays_of(tmp_path, DIGITAL)
    year = relay.services[0].year
    assert year.stands_for == ShareOfYear(99.999, bounded=True)
    assert year.words == "stands for more than 99.999 % of an average year; less than 5.3 min without"
    assert (year.share, year.year_without) == ("over 99.999 %", "under 5.3 min")
    _, short = budget_of(tmp_path, (TIME, f"{TIME}\nrequired_cn_db = 60.0"))
    assert short.year.stands_for == ShareOfYear(50.0, bounded=True)
    assert short.year.words == "stands for less than half of an average year"
    assert (short.year.share, short.year.year_without) == ("under half", "over 182 days 15 h")


def test_the_loop_is_in_the_share_for_which_it_stands(tmp_path):
    """Found anew by trying shares: the echo rises with the gain, so the loop ends before the noise does."""
    loop = "[stations.feed.on_channel]\ngain_db = 55.0\nrequired_margin_db = 0.0\n\n[stations.output]"
    text = edited(
        SAME, ("isolation_db = 85.0", "isolation_db = 80.0"), ("[stations.output]", loop), text=DIGITAL
    )
    (relay,) = relays_of(tmp_path, text)
    service = relay.services[0]
    over, year = over_time_of(relay, service), service.year
    assert service.loop.gain_margin_db == pytest.approx(25.0 - service.budget.fade_db)
    quiet_db = -power_sum_db(
        -service.budget.carrier_to_noise_db,
        *(-row.carrier_to_noise_db for row in service.own_outputs if row.carrier_to_noise_db),
    )

    def ratio_db(share):
        fade_db = over.fade_db(share)
        returned = 10.0 ** (-(25.0 - fade_db) / 10.0)
        echo_db = -10.0 * math.log10(returned / (1.0 - returned))
        return -power_sum_db(-(quiet_db - fade_db), -echo_db)

    assert 99.0 < year.stands_for.percent < 99.99
    assert not year.stands_for.bounded
    assert ratio_db(year.stands_for.percent) == pytest.approx(20.0, abs=0.01)


def test_where_the_ratio_is_not_known_nothing_is_told(tmp_path):
    (relay,) = relays_of(tmp_path, untold(edited(SAME, text=DIGITAL)))
    year = relay.services[0].year
    assert (year.stands_for, year.minutes_without, year.worst_month_percent) == (None, None, None)
    assert (year.share, year.year_without, year.month_without) == (None, None, None)
    assert {each.verdict for each in year.shares} == {"not judged"}
    assert all(math.isnan(each.margin_db) for each in year.shares)
    assert year.words == "for which share of the year it stands is not known"


@pytest.mark.parametrize(("share", "rare"), [(50.0, 1.0), (99.0, 1.0), (99.9, 0.1), (99.999, 0.001)])
def test_the_window_s_top_is_judged_as_rarely_as_its_bottom(tmp_path, share, rare):
    assert rare_percent(share) == rare
    (relay,) = relays_of(tmp_path, DIGITAL, time_percent=share)
    service = relay.services[0]
    over = over_time_of(relay, service)
    assert (service.enhancement_db, service.year.rare_percent) == (over.enhancement_db(rare), rare)
    assert service.window.enhanced_dbm == pytest.approx(service.window.median_dbm + service.enhancement_db)
    told = {each.time_percent: each.enhancement_db for each in service.year.enhancements}
    assert told == {each: over.enhancement_db(each) for each in dict.fromkeys((1.0, 0.1, rare))}


def test_overload_is_judged_with_all_of_the_parent_enhanced(tmp_path):
    """All three multiplexes rise together; the far station and the relay's own outputs do not."""
    text = DIGITAL + FAR_STATION.format(channel=40, erp_w=1000.0)
    (relay,) = relays_of(tmp_path, text, time_percent=99.9)
    service = relay.services[0]
    rise_db = service.enhancement_db
    assert rise_db > 2.0
    at_aerial = {load.point: load for load in service.enhanced.loads}["aerial terminals"]
    gain_dbi = relay.side.aerial_gain_dbi
    parent = [
        power_dbm_from_field(each.field_strength_dbuv_m, each.service.frequency_mhz, gain_dbi) + rise_db
        for each in relay.path.services
    ]
    (far,) = (each for each in relay.site.arrivals if each.signal.station == "Far Top")
    heard_dbm = power_dbm_from_field(far.signal.median_dbuv_m, 626.0, gain_dbi - 16.0)
    own = [row.level_dbm for row in service.own_outputs]
    assert at_aerial.total_dbm == pytest.approx(power_sum_db(*parent, heard_dbm, *own), abs=1e-6)
    headroom_db = min(load.headroom_db for load in service.enhanced.loads if load.headroom_db is not None)
    (finding,) = (each for each in service.judged.findings if each.cause == "overload")
    assert finding.spare_db == headroom_db
    assert "in the enhancement" in finding.text


def test_a_limit_between_median_and_enhancement_fails_the_feed(tmp_path):
    (relay,) = relays_of(tmp_path, DIGITAL)
    service = relay.services[0]
    usual, risen = (
        {load.point: load for load in cascade.loads}["channel filter"].total_dbm
        for cascade in (service.cascade, service.enhanced)
    )
    limit = ("input_limit_dbm = -15.0", f"input_limit_dbm = {0.5 * (usual + risen):.3f}")
    (relay,) = relays_of(tmp_path, edited(limit, text=DIGITAL))
    assert relay.services[0].causes == ("overload",)


def test_own_outputs_are_held_against_the_faded_signal(tmp_path):
    """Next to the wanted channel: −30 dB is allowed (BT.1368), less by the fade than against the median."""
    text = edited(('"Mux A", channel = 41', '"Mux A", channel = 23'), text=DIGITAL)
    rows = {}
    for share in (50.0, 99.9):
        (relay,) = relays_of(tmp_path, text, time_percent=share)
        service = relay.services[0]
        rows[share] = (service.own_outputs[0], service.budget.fade_db)
    (usual, none), (faded, fade_db) = rows[50.0], rows[99.9]
    assert none == 0.0 < fade_db
    assert usual.margin_db == pytest.approx(30.0 - usual.over_wanted_db)
    assert faded.margin_db == pytest.approx(usual.margin_db - fade_db)
    assert faded.over_wanted_db == usual.over_wanted_db


def test_usual_interference_stands_against_the_faded_signal(tmp_path):
    """A near station's field hardly rises, so its median against the fade leaves less than its 1 % field."""
    text = DIGITAL + FAR_STATION.format(channel=22, erp_w=1.0)
    (relay,) = relays_of(tmp_path, text, time_percent=99.99)
    service = relay.services[0]
    (row,) = service.interference.rows
    (far,) = (each.signal for each in relay.site.arrivals if each.signal.station == "Far Top")
    assert far.one_percent_dbuv_m - far.median_dbuv_m < service.budget.fade_db
    assert (row.wanted_at, row.time) == ("fade", "continuous")
    wanted = service.budget.field_strength_dbuv_m - service.budget.fade_db
    assert row.wanted_dbuv_m == pytest.approx(wanted)
    assert row.margin_db == pytest.approx(wanted - (far.median_dbuv_m - 16.0) - 20.0)
    assert service.interference.margin_db == pytest.approx(row.margin_db)
    assert service.interference.reason.startswith("the faded wanted field is ")


def test_the_best_bearing_is_sought_for_the_same_times(tmp_path):
    """Looking at the parent, the margin of the search is that of the judge: in the fade here."""
    text = DIGITAL + FAR_STATION.format(channel=22, erp_w=1.0)
    study = load_project(write_study(tmp_path, text))
    (relay,) = feed_report(study, time_percent=99.99, best_bearing=True).relays
    report = relay.services[0].interference
    assert report.wanted_at == "fade"
    assert relay.bearing.margin_at_parent_db == pytest.approx(report.margin_db)


def test_the_medians_of_both_models_are_held_against_each_other(tmp_path):
    report, service = budget_of(tmp_path)
    over = over_time_of(report.relays[0], service)
    differs_db = over.at(50.0).basic_transmission_loss_db - service.prediction.basic_loss_db
    assert service.year.median_differs_db == pytest.approx(differs_db)
    # Free space sees no hill, P.2001 sees it: 8 dB and more of diffraction on this path.
    _, free = budget_of(tmp_path, ("[terrain]", 'model = "free-space"\n\n[terrain]'))
    assert free.year.median_differs_db > 6.0
    assert "dB more than that of the study's model" in free.year.median_words
    assert (abs(differs_db) <= 6.0) == (service.year.median_words == "")


def test_feeds_one_behind_another_stand_together(tmp_path):
    """The shares multiply; each hop has its own, and the head has none."""
    tight = ("required_margin_db = 6.0\n", "required_margin_db = 6.0\nrequired_cn_db = 51.0\n")
    upper, lower = relays_of(tmp_path, edited(tight, text=DIGITAL) + SECOND)
    own = [each.services[0].year.stands_for for each in (upper, lower)]
    chain = lower.services[0].chain
    assert [hop.stands_for for hop in chain.hops] == [None, *own]
    assert own[0].percent < 99.99
    assert chain.stands_for.percent == pytest.approx(own[0].percent * own[1].percent / 100.0)
    words = "all hops together stand for more than "
    parts = [str(part) for part in all_parts(document(feed_report(lower.site.project)).parts)]
    assert any(words in part for part in parts)


def test_the_budget_names_the_recommendation(tmp_path):
    report, service = budget_of(tmp_path)
    (table,) = (
        part
        for part in all_parts(document(report).parts)
        if isinstance(part, Table) and part.title == "Feed budget"
    )
    shown = dict(zip((field.head for field in table.fields), cells(table.fields, service), strict=True))
    assert shown["Fade from the median to that time, ITU-R P.2001-4"] == spoken(service.budget.fade_db, 1)
    assert shown["Time for which the margin has to stand"] == "99.0"
    assert shown["Margin at that time"] == spoken(service.budget.margin_db, 1)


def test_shares_are_told_with_the_digits_of_what_is_left():
    assert standing_words(ShareOfYear(99.9731, bounded=False)).startswith(
        "99.973 % of an average year; 2 h 21 min"
    )
    assert standing_words(ShareOfYear(98.4, bounded=True)).startswith("more than 98.4 % ")
    assert share_words(ShareOfYear(71.26, bounded=False)) == "71.3 %"
