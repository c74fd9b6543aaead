"""The search for delays, over people that are counted by a formula."""

import pytest

from combe.errors import RangeError
from combe.planning.delay_search import Freedom, freedom_of, search_delays


def between(low, high, people=100.0, others=50.0):
    """Return people of whom some are served while the first delay is within bounds."""
    return lambda delays: others + (people if low <= delays[0] <= high else 0.0)


WIDE = Freedom(0.0, -100.0, 100.0, 8.0)


@pytest.mark.parametrize(
    ("low", "high", "best"),
    [(37.0, 53.0, 37.0), (-53.0, -37.0, -37.0), (5.0, 90.0, 5.0), (-3.0, 3.0, 0.0), (101.0, 130.0, 0.0)],
)
def test_of_delays_that_serve_as_many_the_least_changed_is_found(low, high, best):
    found = search_delays([WIDE], between(low, high), 200)
    assert found.best == (best,)
    assert found.people == (50.0 if best == 0.0 and low > 0.0 else 150.0)
    assert not found.exhausted


def test_both_of_two_delays_are_found_and_only_whole_steps_are_tried():
    asked = []

    def people_of(delays):
        asked.append(delays)
        return between(20.0, 40.0)(delays) + between(-33.0, -21.0)(delays[1:])

    found = search_delays([WIDE, WIDE._replace(now_us=2.5)], people_of, 200)
    assert found.best == (20.0, -21.5)
    assert found.people == 300.0
    assert len(asked) == len(set(asked)) == found.trials + 1
    assert all(first % 1.0 == 0.0 and second % 1.0 == 0.5 for first, second in asked)
    assert search_delays([WIDE, WIDE._replace(now_us=2.5)], people_of, 200) == found


def test_less_than_half_a_person_is_no_reason_to_change():
    assert search_delays([WIDE], between(5.0, 90.0, people=0.4), 200).best == (0.0,)
    assert search_delays([WIDE], between(5.0, 90.0, people=0.6), 200).best == (5.0,)


def test_small_losses_do_not_add_up_on_the_way_back():
    # Each step back towards the present loses 0.4 people: none is taken.
    found = search_delays([WIDE], lambda delays: min(max(delays[0], 0.0), 64.0) * 0.4, 200)
    assert found.best == (64.0,)


def test_the_limit_ends_it_and_what_was_found_stays():
    found = search_delays([WIDE], between(37.0, 53.0), 9)
    assert (found.trials, found.exhausted, found.best) == (9, True, (40.0,))
    assert found.beside == (None,)
    with pytest.raises(RangeError, match="limit of trials is 0"):
        search_delays([WIDE], between(0.0, 1.0), 0)
    with pytest.raises(RangeError, match="number of delays is 0"):
        search_delays([], between(0.0, 1.0), 10)


def test_where_all_are_served_nothing_is_tried():
    told = []
    found = search_delays([WIDE], between(-9.0, 9.0), 200, at_most=150.0, told=told.append)
    assert (found.trials, found.best, told) == (0, (0.0,), [])
    assert search_delays([WIDE], between(9.0, 20.0), 200, at_most=150.0, told=told.append).trials == len(told)
    assert told == list(range(1, len(told) + 1)) != []


def test_a_microsecond_off_tells_the_fewest_people():
    assert search_delays([WIDE], between(37.0, 53.0), 200).beside == (50.0,)
    assert search_delays([WIDE._replace(least_us=0.0)], between(-9.0, 20.0), 200, at_most=400.0).beside == (
        150.0,
    )


def test_a_delay_is_looked_for_where_it_can_matter():
    # Stations 100.2 µs apart that radiate at once with a delay of 10 µs.
    assert freedom_of(10.0, 0.0, 224.0, 100.2, only_later=False) == (10.0, -314.2, 334.2, 112.0)
    # One that radiates 60 µs too late comes back to the others, however short the guard interval is.
    assert freedom_of(60.0, 124.0, 7.0, 56.0, only_later=True) == (60.0, 0.0, 60.0, 4.0)
    assert freedom_of(60.0, 60.0, 7.0, 56.0, only_later=False) == (60.0, -63.0, 63.0, 4.0)
    assert freedom_of(0.0, 200.0, 7.0, 56.0, only_later=False) == (0.0, -263.0, 0.0, 9.0)
    # Of a long way no more than 32 places.
    assert freedom_of(0.0, 0.0, 7.0, 313.0, only_later=False).step_us == 20.0
    assert freedom_of(0.0, 0.0, 0.5, 1.0, only_later=False).step_us == 1.0
