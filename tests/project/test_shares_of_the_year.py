"""The shares of the year of a feed and of a siting's feed: one or several, the greatest judged."""

from dataclasses import FrozenInstanceError, replace

import pytest

from combe.errors import RangeError
from combe.project import Feed, SitingFeed


def feed(**more):
    return Feed.of_budget(
        "Hill", aerial_height_m=12.0, aerial_gain_dbi=14.0, feeder_loss_db=2.0, noise_figure_db=6.0,
        required_margin_db=10.0, **more,
    )  # fmt: skip


@pytest.mark.parametrize("made", [feed, SitingFeed], ids=["feed", "siting"])
def test_one_share_or_several(made):
    assert (made().time_percent, made().time_percents) == (99.0, (99.0,))
    one = made(time_percent=99.999)
    assert (one.time_percent, one.time_percents) == (99.999, (99.999,))
    several = made(time_percent=(99.9, 99.0, 99.9))
    assert (several.time_percent, several.time_percents) == (99.9, (99.0, 99.9))
    assert made(time_percent=99.9, time_percents=(99.9, 99.0)) == several


def test_a_copy_keeps_them_and_another_share_takes_their_place():
    several = feed(time_percent=(99.0, 99.9))
    assert replace(several, required_margin_db=3.0).time_percents == (99.0, 99.9)
    assert replace(several, time_percent=95.0).time_percents == (95.0,)
    with pytest.raises(FrozenInstanceError):
        several.time_percent = 95.0


@pytest.mark.parametrize(("made", "of"), [(feed, "feed"), (SitingFeed, "siting's feed")])
@pytest.mark.parametrize(
    ("given", "words"),
    [
        (49.9, "is 49.9; allowed: 50 to 99.999"),
        ((99.0, 99.9999), "is 99.9999; allowed: 50 to 99.999"),
        (float("nan"), "is nan; allowed: 50 to 99.999"),
        ((), "is empty; allowed: one share of the year or more"),
    ],
)
def test_what_is_refused(made, of, given, words):
    with pytest.raises(RangeError) as error:
        made(time_percent=given)
    assert str(error.value) == f"time_percent of the {of} {words}"
