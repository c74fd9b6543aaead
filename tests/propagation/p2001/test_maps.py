"""The maps of P.2001-4 as arrays, in the form of the public code of WP 3M: where a place lies in them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.propagation.p2001 import MAP_FORMS, RAIN_MAPS, DigitalMaps
from combe.propagation.p2001.maps import bilinear_value, nearest_value
from support_maps import LOW_HIGH, ZONES, made_up_maps, value_at

VALUES = made_up_maps()
MAPS = DigitalMaps(VALUES)
CORNERS = [(east, north) for east in (-180.0, 0.0, 180.0, 360.0) for north in (90.0, -90.0)]
PLACES = [
    (-2.1, 51.3),
    (2.1, -51.3),
    (-0.3, 10.2),
    (359.7, 10.2),
    (179.9, -33.0),
    (-179.9, -33.0),
    (89.2, 0.4),
]


def changed(**maps):
    return DigitalMaps({**VALUES, **maps})


@pytest.mark.parametrize("place", CORNERS + PLACES, ids=str)
def test_each_number_is_that_of_the_place(place):
    climate = MAPS.at(*place)
    for name in LOW_HIGH:
        assert getattr(climate, name) == pytest.approx(value_at(name, *place), abs=1e-9), name


@settings(deadline=None, max_examples=200)
@given(st.floats(-180.0, 360.0), st.floats(-90.0, 90.0))
def test_between_points_a_map_is_even(east_deg, north_deg):
    for name in ("median_dn", "rain_mm_per_year"):
        found = bilinear_value(VALUES[name], MAP_FORMS[name].step_deg, east_deg, north_deg)
        assert found == pytest.approx(value_at(name, east_deg, north_deg), rel=1e-9)


def test_the_first_row_is_the_north_pole_and_the_last_column_the_first():
    values = np.zeros((121, 241))
    values[0, 0] = values[0, 240] = 1.0
    # Steps of 1.5°: half way down, half way beside, and both, by hand.
    for place, expected in {
        (0.0, 90.0): 1.0, (0.0, 89.25): 0.5, (0.75, 90.0): 0.5, (0.75, 89.25): 0.25, (-0.75, 89.25): 0.25,
        (359.25, 89.25): 0.25, (360.0, 90.0): 1.0, (0.0, 88.5): 0.0, (1.5, 90.0): 0.0, (0.0, -90.0): 0.0,
    }.items():  # fmt: skip
        assert bilinear_value(values, 1.5, *place) == pytest.approx(expected, abs=1e-12), place


@pytest.mark.parametrize(
    ("place", "row", "column"),
    [
        ((-179.75, 89.75), 0, 0),
        ((-180.0, 90.0), 0, 0),
        ((180.0, -90.0), 359, 719),
        ((179.75, -89.75), 359, 719),
        ((-179.5, 89.5), 0, 0),  # as near to four points: the northern and western
        ((-179.49, 89.49), 1, 1),
        ((0.0, 0.0), 179, 359),
        ((0.01, -0.01), 180, 360),
        ((358.1, 51.3), 77, 356),  # 1.9° west: 178.1° east of the antimeridian
        ((-1.9, 51.3), 77, 356),
    ],
)
def test_the_zone_is_that_of_the_nearest_point(place, row, column):
    values = np.zeros((360, 720))
    values[row, column] = 5.0
    assert nearest_value(values, *place) == 5.0


def test_the_zone_enters_the_climate():
    assert MAPS.at(-1.9, 51.3).troposcatter_climate == (77 + 2 * 356) % 7


def test_rain_is_told_by_all_three_maps_or_not():
    assert MAPS.rain_known
    assert MAPS.at(10.0, 50.0).rain_known
    for left_out in RAIN_MAPS:
        some = DigitalMaps({name: each for name, each in VALUES.items() if name != left_out})
        assert not some.rain_known
        assert not some.at(10.0, 50.0).rain_known


def test_maps_are_kept_as_they_were():
    mine = {name: values.copy() for name, values in VALUES.items()}
    maps = DigitalMaps(mine)
    mine["median_dn"][:] = 99.0
    assert maps.at(10.0, 50.0) == MAPS.at(10.0, 50.0)
    with pytest.raises(ValueError, match="read-only"):
        maps.values["median_dn"][0, 0] = 1.0


def spoilt(name, value):
    values = VALUES[name].copy()
    values[2, 4] = value
    return {name: values}


@pytest.mark.parametrize(
    ("maps", "words"),
    [
        ({"foes": VALUES["foes_1_mhz"]}, r"name of a map is 'foes'; allowed: median_dn, .*"),
        ({"sub_slope": np.zeros((241, 121))}, "shape of the map sub_slope is 241 x 121; allowed: 121 x 241"),
        ({"rain_mm_per_year": np.zeros((121, 241))}, r"rain_mm_per_year is 121 x 241; allowed: 161 x 321"),
        ({ZONES: np.zeros((361, 720))}, f"shape of the map {ZONES} is 361 x 720; allowed: 360 x 720"),
        (spoilt("median_dn", np.nan), "map median_dn is nan in row 3, column 5; allowed: finite numbers"),
        (spoilt("median_dn", np.inf), "map median_dn is inf in row 3, column 5; allowed: finite numbers"),
        (spoilt(ZONES, 7.0), f"map {ZONES} is 7 in row 3, column 5; allowed: 0 .sea., 1, 2, 3, 4, 5 or 6"),
        (spoilt(ZONES, 2.5), f"map {ZONES} is 2.5 in row 3, column 5; allowed: 0 .sea., 1"),
    ],
)
def test_what_is_no_map_is_refused(maps, words):
    with pytest.raises(RangeError, match=words):
        changed(**maps)


def test_a_map_may_not_be_missing():
    with pytest.raises(RangeError, match=r"maps is given without sub_slope; allowed: median_dn, "):
        DigitalMaps({name: each for name, each in VALUES.items() if name != "sub_slope"})


def test_a_number_that_no_climate_has_is_refused_at_its_place():
    values = VALUES["median_dn"].copy()
    values[0, :] = 400.0
    maps = changed(median_dn=values)
    assert maps.at(10.0, 50.0) == MAPS.at(10.0, 50.0)
    with pytest.raises(RangeError, match=r"median_dn is 400.0; allowed: 0 to 156 N-units/km"):
        maps.at(10.0, 90.0)


@pytest.mark.parametrize("place", [(-180.1, 0.0), (360.1, 0.0), (0.0, 90.1), (0.0, -90.1), (np.nan, 0.0)])
def test_no_place_on_earth_is_refused(place):
    with pytest.raises(RangeError, match="allowed: -"):
        MAPS.at(*place)
