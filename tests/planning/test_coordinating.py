"""Fields against triggers: how they stand, what a sector asks of a pattern, sums on one channel."""

from dataclasses import replace

import pytest

from combe.errors import RangeError
from combe.planning import FieldThere, channel_sums, highest_first, sectors_of
from combe.stations import Pattern, Service, Station
from combe.terrain import PlaceAlong

SERVICE = Service("A", 41, 634.0, 100.0)
OTHER = Service("B", 44, 658.0, 100.0)
BEARINGS = tuple(30.0 * step for step in range(12))
PATTERN = Pattern(BEARINGS, tuple(-min(b, 360.0 - b) / 9.0 for b in BEARINGS), "horizontal", "made up")
STATION = Station(
    "Hill", "parent", 0.0, 50.0, 30.0, "horizontal", (SERVICE, OTHER), horizontal_pattern=PATTERN
)
FAR = replace(STATION, name="Far")
PLACE = PlaceAlong("border", 1.0, 50.0)


def there(field, *, number=1, bearing=90.0, service=SERVICE, station=STATION, trigger=20.0, **more):
    return FieldThere(
        number, PLACE, station, service, 30.0, bearing, 10.0, field, trigger_dbuv_m=trigger, **more
    )


@pytest.mark.parametrize(
    ("field", "more", "held", "excess"),
    [
        (20.1, {}, "over", 0.1),
        (20.0, {}, "under", 0.0),
        (-5.0, {}, "under", -25.0),
        (None, {"at_most_dbuv_m": 20.0}, "under even in free space", None),
        (None, {"at_most_dbuv_m": 20.1}, "not judged", None),
        (None, {}, "not judged", None),
        (50.0, {"trigger": None}, "no trigger", None),
        (None, {"trigger": None, "at_most_dbuv_m": -50.0}, "not judged", None),
    ],
)
def test_how_a_field_stands_to_its_trigger(field, more, held, excess):
    found = there(field, **more)
    assert found.held == held
    assert found.excess_db == (None if excess is None else pytest.approx(excess))


def test_the_highest_over_its_trigger_comes_first_and_the_unknown_last():
    fields = [there(None), there(40.0, trigger=30.0), there(35.0, trigger=20.0), there(22.0)]
    assert [each.field_dbuv_m for each in highest_first(fields)] == [35.0, 40.0, 22.0, None]


def test_a_sector_asks_for_the_greatest_excess_of_all_services_and_places():
    fields = [
        there(25.0, bearing=92.0),
        there(47.5, number=2, bearing=99.9, service=OTHER),
        there(None, bearing=90.0),
        there(12.0, number=3, bearing=100.0),
    ]
    first, second = sectors_of(STATION, fields)
    assert (first.from_deg, first.to_deg, first.places, first.not_judged) == (90.0, 100.0, 2, 1)
    assert (first.highest.service, first.excess_db, first.reduction_db) == (OTHER, 27.5, 27.5)
    # The pattern falls from −10 to −20 dB between 90 and 180°: by 1.1 dB at 99.9°.
    assert first.pattern_db == pytest.approx(-11.1)
    assert first.pattern_needed_db == pytest.approx(-38.6)
    assert first.erp_allowed_dbw == pytest.approx(10.0 - 27.5)
    # What is under a trigger asks for nothing, and still shows how far it is under.
    assert (second.from_deg, second.excess_db, second.reduction_db) == (100.0, -8.0, 0.0)
    assert second.pattern_needed_db == second.pattern_db


def test_a_sector_looks_at_the_pattern_as_it_is_turned():
    turned = replace(STATION, bearing_deg=70.0)
    (found,) = sectors_of(turned, [there(25.0, bearing=92.0, station=turned)])
    assert found.pattern_db == pytest.approx(-22.0 / 9.0)


def test_a_sector_of_which_nothing_is_known_says_nothing():
    (found,) = sectors_of(STATION, [there(None, bearing=359.9)])
    assert (found.from_deg, found.not_judged, found.highest) == (350.0, 1, None)
    assert (found.excess_db, found.reduction_db, found.pattern_db, found.pattern_needed_db) == (None,) * 4
    (bounded,) = sectors_of(STATION, [there(None, at_most_dbuv_m=3.0)])
    assert (bounded.not_judged, bounded.reduction_db) == (0, None)
    (loose,) = sectors_of(STATION, [there(50.0, trigger=None)])
    assert (loose.highest.field_dbuv_m, loose.reduction_db, loose.erp_allowed_dbw) == (50.0, None, None)
    with pytest.raises(RangeError, match="station of a field is 'Far'; allowed: 'Hill'"):
        sectors_of(STATION, [there(1.0, station=FAR)])


def test_stations_of_one_channel_are_summed_where_all_are_known():
    fields = [
        there(30.0), there(30.0, station=FAR),
        there(60.0, number=2), there(None, number=2, station=FAR),
        there(28.0, number=3), there(20.0, number=3, station=FAR),
        there(70.0, service=OTHER),
    ]  # fmt: skip
    (found,) = channel_sums(fields)
    assert (found.channel, found.left_out, [each.station.name for each in found.parts]) == (
        41,
        1,
        ["Hill", "Far"],
    )
    assert found.field_dbuv_m == pytest.approx(33.0103, abs=1e-4)
    assert found.excess_db == pytest.approx(13.0103, abs=1e-4)
    assert channel_sums([there(30.0), there(30.0, service=OTHER)]) == ()
