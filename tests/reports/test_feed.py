"""The document of feeds: what stands first of several relays, and feeds that cannot be predicted."""

from combe.answers.feed import feed_report
from combe.publishing.as_text import as_text
from combe.reports.feed import document
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, SECOND
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
