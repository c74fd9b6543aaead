"""What is not known of a relay's own outputs is told by no figure; what is known is in every margin."""

import math

import pytest

from combe.answers.expected_readings import expected_readings
from combe.answers.feed import feed_report
from combe.answers.site_feed import WholeFeed
from combe.planning.visits.readings import SeriesKey
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, FEEDS, SECOND, untold
from support_study import edited, write_study

SAME = ('"Mux A", channel = 41', '"Mux A", channel = 22')
ANALOGUE_SAME = ('"One", channel = 41', '"One", channel = 22')


def report_of(folder, text):
    return feed_report(load_project(write_study(folder, text)))


@pytest.fixture(scope="module")
def chained(tmp_path_factory):
    """Return the feeds of a relay with a loop of unknown isolation, and of the relay that it feeds."""
    text = untold(edited(SAME, text=DIGITAL)) + SECOND
    return report_of(tmp_path_factory.mktemp("chained"), text).relays


def test_no_figure_stands_for_an_unknown_loop(chained):
    first, second, _ = chained[0].services
    assert first.budget.verdict == "not judged"
    for ratio_db in (
        first.budget.margin_db,
        first.budget.carrier_to_noise_at_time_db,
        first.budget.own_output_cost_db,
        first.judged.carrier_to_noise_db,
        first.judged.faded_carrier_to_noise_db,
    ):
        assert math.isnan(ratio_db)
    assert (first.mer_at_time_db, first.hops, first.chain) == (None, None, None)
    assert math.isfinite(first.budget.carrier_to_noise_db)
    noise = next(each for each in first.judged.findings if each.cause == "noise")
    assert "the relay's own outputs not counted" in noise.text
    assert (second.verdict, second.budget.own_output_cost_db) == ("passes", None)
    assert second.mer_at_time_db > 20.0
    assert chained[0].scantiest is first
    assert chained[0].own_output_tells


def test_a_relay_fed_by_one_that_is_not_judged_is_not_judged_either(chained):
    (service,) = chained[1].services
    assert (service.verdict, service.causes) == ("not judged", ())
    assert service.reason == "the quality of what Upper Combe sends is not known, nor is all of its own feed"
    assert service.mer_at_time_db is None
    assert math.isfinite(service.budget.margin_db)


def test_a_hill_of_a_siting_says_what_is_missing(chained):
    whole = WholeFeed(chained[0].verdict, chained[0].services)
    assert (whole.words, whole.causes) == ("not judged", ())
    assert whole.not_judged == chained[0].services[0].judged.not_judged


def test_what_fails_without_its_loop_fails(tmp_path):
    text = edited(("required_margin_db = 6.0", "required_margin_db = 60.0"), SAME, text=DIGITAL)
    service = report_of(tmp_path, untold(text)).relays[0].services[0]
    assert (service.verdict, service.causes) == ("fails", ("noise",))
    assert "; not judged: the relay radiates Mux A on channel 22" in service.reason


def test_another_output_on_a_received_channel_asks_for_the_isolation_too(tmp_path):
    text = untold(edited(('"Mux B", channel = 44', '"Mux B", channel = 22'), text=DIGITAL))
    services = report_of(tmp_path, text).relays[0].services
    assert [each.verdict for each in services] == ["not judged", "passes", "passes"]
    assert services[0].reason.startswith("the relay radiates Mux B on channel 22, which it receives,")


def test_pictures_of_an_unknown_loop_are_not_judged(tmp_path):
    text = edited(ANALOGUE_SAME, text=FEEDS["analogue"])
    first = report_of(tmp_path, untold(text)).relays[0].services[0]
    assert first.verdict == "not judged"
    assert (first.picture, first.picture_at_time, first.mer_at_time_db) == (None, None, None)
    assert first.sound is not None


def test_the_margin_holds_the_echo_of_the_loop(tmp_path):
    """At 44 dB of gain margin the echo is as strong as other noise; the verdict's own margin says so."""
    text = edited(SAME, ("isolation_db = 85.0", "isolation_db = 110.0"), text=DIGITAL)
    service = report_of(tmp_path, text).relays[0].services[0]
    budget, loop = service.budget, service.loop
    before_db = budget.carrier_to_noise_db - budget.fade_db
    faded_db = -10.0 * math.log10(10.0 ** (-before_db / 10.0) + 10.0 ** (-loop.echo_ci_db / 10.0))
    assert service.verdict == "passes"
    assert budget.carrier_to_noise_at_time_db == pytest.approx(faded_db, abs=0.02)
    assert budget.margin_db == pytest.approx(faded_db - 20.0, abs=0.02)
    assert before_db - faded_db > 0.5
    assert f"margin {budget.margin_db:.2f} dB" in service.reason


def test_readings_are_expected_with_the_echo_and_not_where_it_is_unknown(tmp_path):
    key = SeriesKey("Upper Combe", "Mux A", "receiver", "C/N")
    text = edited(SAME, ("isolation_db = 85.0", "isolation_db = 110.0"), text=DIGITAL)
    study = load_project(write_study(tmp_path, text))
    service = feed_report(study).relays[0].services[0]
    assert expected_readings(study).values[key] == service.judged.carrier_to_noise_db
    assert expected_readings(study).values[key] < service.budget.carrier_to_noise_db - 0.3
    unknown = expected_readings(
        load_project(write_study(tmp_path, untold(edited(SAME, text=DIGITAL))))
    ).values
    assert key not in unknown
    assert key._replace(quantity="level") in unknown
