"""What each kind of document shows beyond its numbers: pictures, verdicts, notes."""

import base64
import re

from combe.publishing.as_html import as_html
from combe.publishing.as_text import as_text
from combe.publishing.document import Table, all_parts
from support_reports import PageReader, samples


def pictures(name):
    """Return the words of the pictures on a page, and the pictures themselves."""
    found = re.findall(
        r'<img class="profile" src="data:image/svg\+xml;base64,([^"]*)" alt="([^"]*)"',
        as_html(samples()[name]),
    )
    return [words for _, words in found], [base64.b64decode(data).decode("utf-8") for data, _ in found]


def test_the_page_of_a_path_shows_its_profile():
    ((words,), (svg,)) = pictures("path")
    assert words.startswith("Profile of the ground from Parent Hill to Combe Relay with the line of sight")
    assert "controlling edge at" in svg
    assert "line of sight at k 0.87, exceeded for 99.9 % of time" in svg
    assert "exceeded for 99.9 % of the time" in words
    assert pictures("path")[1] == [svg], "the same bytes each time"


def test_a_broad_picture_is_scrolled_on_a_phone_and_a_narrow_one_is_not():
    scrolled = '<div class="wide" tabindex="0" role="group" aria-label="picture"><img class="profile"'
    assert [as_html(samples()[name]).count(scrolled) for name in ("path", "aerial")] == [1, 0]


def test_the_page_of_an_aerial_shows_both_patterns():
    words, drawn = pictures("aerial")
    assert [each.split(",")[0] for each in words] == ["The horizontal pattern", "The vertical pattern"]
    assert "elevation, degrees over the horizontal" in drawn[1]


def test_the_page_of_a_place_shows_candidates_and_nuisances():
    document = samples()["explain disturbed"]
    page = as_html(document)
    assert [
        found.count("not served") for found in re.findall(r'<span class="verdict fails">[^<]*', page)
    ] == [1, 1]
    titles = [part.title for part in all_parts(document.parts) if isinstance(part, Table)]
    assert titles[:2] == [
        "Stations that could serve",
        "Nuisance fields against Parent Hill, the strongest first",
    ]
    assert any(line[:1] == ["Combe Relay, Mux 1"] for line in PageReader(page).rows)


def test_a_checked_study_tells_its_notes_before_all_else():
    document = samples()["check analogue"]
    notes = document.answer.report.notes
    assert notes
    assert as_text(document).splitlines()[2].startswith(f"note: {notes[0][:40]}")
    words = PageReader(as_html(document)).words
    assert all(f"note: {note}" in words for note in notes)


def test_evidence_that_is_missed_is_told_first_and_not_folded():
    brief = as_text(samples()["evidence folded"]).splitlines()
    assert brief[3] == "Missed"
    assert "MISSED it was refused" in " ".join(
        " ".join(as_text(samples()["evidence folded"], full=True).split()).split()
    )
    page = as_html(samples()["evidence folded"])
    assert page.partition("<footer")[0].count("<details>") == 1
