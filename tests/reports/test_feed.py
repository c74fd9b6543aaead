"""The document of feeds: what stands first of several relays, and feeds that cannot be predicted."""

from combe.answers.feed import feed_report
from combe.answers.feed_advice import with_advice
from combe.publishing.as_text import as_text
from combe.publishing.document import Words, all_parts
from combe.reports.feed import document
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, SECOND, spoilt
from support_study import void_under, write_study

FAILING = SECOND.replace("required_margin_db = 6.0", "required_margin_db = 58.0")


def test_the_verdict_on_every_relay_stands_before_any_reason(tmp_path):
    found = document(feed_report(load_project(write_study(tmp_path, DIGITAL + FAILING))))
    first, second, third, *_ = found.headline
    assert first.startswith("Lower Combe from Upper Combe: fails; "), "those that do not pass come first"
    assert second.startswith("Upper Combe from Long Moor: passes; ")
    assert third.startswith("Lower Combe, Mux A fails: ")
    assert as_text(found).splitlines()[1] == first
    assert (found.verdict.look, len(found.parts)) == ("fails", 2)


def test_a_feed_over_unknown_ground_is_told(tmp_path):
    study = write_study(tmp_path, DIGITAL)
    void_under(study, -84.20, 36.6155)
    found = document(feed_report(load_project(study), over_gaps=True))
    (line,) = found.headline
    assert line.startswith("Upper Combe from Long Moor: not judged; ")
    assert "terrain.tif" in line
    assert (found.verdict.look, found.parts) == ("not judged", ())


def test_what_would_carry_a_failing_feed_stands_before_the_reasons(tmp_path):
    found = document(with_advice(feed_report(load_project(write_study(tmp_path, DIGITAL + FAILING)))))
    line = "Lower Combe tried in vain: heights up to 60 m, gain up to 12 dB more, Long Moor as parent"
    reason = next(each for each in found.headline if each.startswith("Lower Combe, Mux A fails: "))
    assert 2 <= found.headline.index(line) < found.headline.index(reason)
    assert line in as_text(found).splitlines(), "in the twelve lines"
    listed = [each.title for each in all_parts(found.parts) if isinstance(each, Words)]
    assert listed.count("What would carry it, tried and judged as the feed is") == 1


def test_what_helps_is_named_before_what_does_not(tmp_path):
    study = load_project(write_study(tmp_path, spoilt("digital", "noise")))
    report = with_advice(feed_report(study))
    found, (_, gain, _) = document(report), report.relays[0].advice
    assert (
        f"would pass with {gain.added_gain_db:g} dB more gain; not with heights up to 60 m" in found.headline
    )
    assert "no other station radiates all of its services" in as_text(found, full=True)


def test_without_advice_nothing_is_said_of_it(tmp_path):
    found = document(feed_report(load_project(write_study(tmp_path, spoilt("digital", "noise")))))
    assert "would carry" not in as_text(found, full=True)
    assert not any("would pass" in each or "in vain" in each for each in found.headline)
