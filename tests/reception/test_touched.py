"""Where a change of fields can matter: the bounds, one by one, at places made for each."""

import numpy as np
import pytest

from combe.reception.emission import Emission
from combe.reception.judges import make_judges
from combe.reception.one_frequency import OneFrequency
from combe.reception.protection_ratios import Channel
from combe.reception.standing import make_roles
from combe.reception.touched import MovedFields, change_of, touched_cells

MINIMUM, MEDIAN = 48.0, 57.0
FAR = -200.0
"""A field that matters to nobody [dB(µV/m)]."""


def emission(station, x_km, mhz=474.0, service="A", **more):
    return Emission(
        station,
        service,
        Channel("DVB", mhz, 8.0),
        "horizontal",
        1000.0 * x_km,
        0.0,
        MINIMUM,
        20.0,
        5.5,
        **more,
    )


def network(*relays, mhz=(474.0, 474.0, 474.0), **more):
    """Return judges and roles of a parent, a second parent, and a relay, all on one channel unless told."""
    names = ("Parent", "Second", "Relay")
    judges = make_judges(
        [emission(name, 10.0 * at, f, **more) for at, (name, f) in enumerate(zip(names, mhz, strict=True))]
    )
    flags = [name in relays for name in names]
    return judges, make_roles(judges, flags, [MEDIAN] * 3)


def touched(judges, roles, before, after, *, margin=5.0, margin_before=5.0, wanted=70.0, moved=2):
    """Return whether one cell is touched when the fields of an emission go from one pair to another."""
    change = change_of(judges, roles, [moved])
    was, now = (
        MovedFields(*(np.full((1, 1, 1), each, dtype=np.float32) for each in pair))
        for pair in (before, after)
    )
    medians = np.full((len(change.wanted), 1, 1), wanted, dtype=np.float32)
    margins = (np.full((1, 1, 1), each, dtype=np.float32) for each in (margin, margin_before))
    return bool(touched_cells(change, was, now, medians, *margins)[0, 0])


@pytest.fixture(scope="module")
def one_channel():
    return network("Relay")


@pytest.fixture(scope="module")
def channels_apart():
    return network("Relay", mhz=(474.0, 474.0, 690.0))


@pytest.mark.parametrize(
    ("field", "margin", "expected"),
    [
        (MEDIAN - 0.1, 5.0, False),
        # It may serve, if never as the best.
        (MEDIAN, 5.0, True),
        # Nobody serves: it may be the best of them from their margin on.
        (MEDIAN - 10.1, -10.0, False),
        (MEDIAN - 10.0, -10.0, True),
        (FAR, 5.0, False),
    ],
)
def test_an_emission_matters_from_where_it_may_serve_or_be_the_best(channels_apart, field, margin, expected):
    for before, after in (((field, field), (FAR, FAR)), ((FAR, FAR), (field, field))):
        assert touched(*channels_apart, before, after, margin=margin, margin_before=margin) == expected


def test_with_the_parents_alone_a_parent_may_be_the_best_earlier(channels_apart):
    judges, roles = network("Second", mhz=(474.0, 690.0, 570.0))
    far = (FAR, FAR)
    field = (MEDIAN - 8.0, MEDIAN - 8.0)
    # The service stands at +5 dB by a relay, and at -10 dB with the parents alone.
    assert touched(judges, roles, far, field, margin=5.0, margin_before=-10.0, moved=2)
    assert not touched(judges, roles, far, field, margin=5.0, margin_before=-7.0, moved=2)
    # A relay is not on the air then.
    assert not touched(*channels_apart, far, field, margin=5.0, margin_before=-10.0)


def limits(judges):
    """Return the median and the rare field from which on the relay counts against the parent."""
    scene = judges.scene
    own = scene.emissions[0]
    (pair,) = (each for each in scene.pairs[own["first_pair"] : own["end_pair"]] if each["partner"] == 2)
    heard = scene.emissions[0]["noise"] * 10.0 / np.log(10.0) + scene.emissions[2]["cut_db"]
    return heard - pair["continuous_db"], heard - pair["tropospheric_db"]


@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize(("over_db", "expected"), [(-0.1, False), (0.1, True)])
def test_an_interferer_matters_from_where_a_judge_counts_it(one_channel, which, over_db, expected):
    field = [FAR, FAR]
    field[which] = limits(one_channel[0])[which] + over_db
    assert touched(*one_channel, (FAR, FAR), tuple(field)) == expected
    assert touched(*one_channel, tuple(field), (FAR, FAR)) == expected


def test_an_interferer_of_one_that_cannot_serve_matters_to_nobody(one_channel):
    strong = (MEDIAN - 20.0, MEDIAN - 20.0)
    assert touched(*one_channel, (FAR, FAR), strong, wanted=MEDIAN)
    assert not touched(*one_channel, (FAR, FAR), strong, wanted=MEDIAN - 0.1)
    assert touched(*one_channel, (FAR, FAR), strong, wanted=MEDIAN - 9.0, margin=-10.0, margin_before=-10.0)


def test_a_prediction_that_comes_or_goes_matters(channels_apart):
    known, unknown = (FAR, FAR), (np.nan, np.nan)
    assert touched(*channels_apart, known, unknown)
    assert touched(*channels_apart, unknown, known)
    assert not touched(*channels_apart, unknown, unknown)
    assert touched(*channels_apart, known, (FAR, np.nan))


def test_in_a_network_on_one_frequency_every_cell_is_touched():
    group = OneFrequency("Net", 0.0, 896.0, 112.0, 224.0, "first signal")
    judges, roles = network("Relay", one_frequency=group)
    assert touched(judges, roles, (FAR, FAR), (FAR, FAR))
