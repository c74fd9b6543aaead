"""The pages of the guide: all are listed, each says what it is for, and an unknown topic is told."""

import re
from pathlib import Path

import pytest

import combe.guide
from combe.errors import RangeError
from combe.guide import PARTS, guide_page, guide_picture, topics

FOLDER = Path(combe.guide.__file__).parent
LONGEST_PURPOSE = 100


def test_every_page_is_listed_once():
    assert sorted(topics()) == sorted(path.stem for path in FOLDER.glob("*.md"))


@pytest.mark.parametrize("topic", topics())
def test_a_page_opens_with_a_title_and_a_sentence_that_says_what_it_is_for(topic):
    page = guide_page(topic)
    assert page.markdown.startswith(f"# {page.title}\n\n{page.purpose[:20]}")
    assert re.fullmatch(r"[A-Z].*[.?]", page.purpose)
    assert len(page.purpose) <= LONGEST_PURPOSE


@pytest.mark.parametrize("topic", ["start", "coverage", "channels", "siting", "aerials", "visits", "feed"])
def test_a_page_on_work_that_can_hurt_warns_and_leads_to_the_dangers(topic):
    warnings = re.findall(r"^> \*\*", guide_page(topic).markdown, re.MULTILINE)
    assert warnings
    if topic not in ("coverage", "aerials"):
        assert "(cautions.md)" in guide_page(topic).markdown


COURSE = [topic for names in PARTS[1].chapters.values() for topic in names]
SHORTEST, LONGEST = 60, 110


def test_the_course_has_twelve_chapters_numbered_in_their_order():
    assert [guide_page(topic).title.partition(". ")[0] for topic in COURSE] == [str(n) for n in range(1, 13)]


@pytest.mark.parametrize("topic", COURSE)
def test_a_chapter_is_short_shows_a_picture_and_ends_with_an_exercise_and_its_answer(topic):
    markdown = guide_page(topic).markdown
    assert SHORTEST <= len(markdown.splitlines()) <= LONGEST
    assert re.findall(r"^## .*$", markdown, re.MULTILINE)[-2:] == ["## Exercise", "## Answer"]
    questions, answers = (part.count("\n1. ") for part in markdown.split("## Exercise")[1].split("## Answer"))
    assert questions == answers == 1
    assert re.search(r"^!\[.{80,}\]\(course_\w+\.svg\)$", markdown, re.MULTILINE)


@pytest.mark.parametrize("topic", ["stations", "levels", "relays", "hill", "routine", "analyser"])
def test_a_chapter_on_work_that_can_hurt_leads_to_safety(topic):
    assert "(safety.md)" in guide_page(topic).markdown


def test_the_chapter_on_safety_warns_of_each_danger_and_leads_to_the_cautions():
    page = guide_page("safety").markdown
    assert len(re.findall(r"^> \*\*", page, re.MULTILINE)) == 3
    assert "(cautions.md)" in page


def test_the_purpose_is_the_first_sentence_alone():
    assert guide_page("feed").purpose == (
        "Does the hill hear the parent well enough, and for how much of the time?"
    )


def test_pictures_are_drawings():
    assert guide_picture("relay.svg").startswith("<svg ")


@pytest.mark.parametrize(("topic", "advice"), [("fed", "did you mean feed?"), ("xyz", "combe guide")])
def test_an_unknown_topic_is_told_with_advice(topic, advice):
    with pytest.raises(RangeError, match=r"^topic of the guide is") as caught:
        guide_page(topic)
    assert str(caught.value).endswith(advice)
    assert "allowed: start, study" in str(caught.value)
