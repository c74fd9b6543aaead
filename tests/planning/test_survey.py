"""Survey errors: their statistics by hand, their bands, and the correction drawn towards nought."""

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.survey import (
    SurveyError,
    SurveyPoint,
    by_distance,
    by_obstruction,
    by_station,
    error_statistics,
    local_correction,
)


def error(value, *, place=0, service="Mux 1", station="Relay", km=3.0, loss=0.0, clear=True):
    point = SurveyPoint(2, -84.0 + place / 1000.0, 36.0, station, service, 60.0 + value, 10.0)
    return SurveyError(point, 60.0, km, loss, clear)


def test_statistics_by_hand():
    found = error_statistics([error(value, place=place) for place, value in enumerate((1.0, 2.0, 6.0))])
    assert (found.count, found.places, found.mean_db) == (3, 3, pytest.approx(3.0))
    assert found.deviation_db == pytest.approx(math.sqrt((4.0 + 1.0 + 9.0) / 2.0))
    assert found.rms_db == pytest.approx(math.sqrt(41.0 / 3.0))
    assert found.percentiles_db[50.0] == pytest.approx(2.0)
    assert found.percentiles_db[10.0] == pytest.approx(1.2)


def test_one_point_has_no_deviation_and_none_has_no_statistics():
    assert math.isnan(error_statistics([error(1.0)]).deviation_db)
    with pytest.raises(RangeError, match="number of survey points is 0; allowed: 1 or more"):
        error_statistics([])


def test_bands_of_distance():
    errors = [error(place, place=place, km=km) for place, km in enumerate((0.5, 1.0, 1.9, 7.0, 60.0))]
    assert [(each.label, each.count) for each in by_distance(errors)] == [
        ("under 1 km", 1),
        ("1 to 2 km", 2),
        ("5 to 10 km", 1),
        ("50 km or more", 1),
    ]


def test_bands_of_obstruction():
    errors = [
        error(0.0),
        error(1.0, clear=False, loss=3.0),
        error(2.0, clear=False, loss=10.0),
        error(3.0, clear=False, loss=31.0),
        error(4.0, clear=False, loss=25.0),
    ]
    assert [(each.label, each.mean_db) for each in by_obstruction(errors)] == [
        ("line of sight", 0.0),
        ("under 10 dB diffraction", 1.0),
        ("10 to 20 dB diffraction", 2.0),
        ("20 dB diffraction or more", 3.5),
    ]


def test_stations_apart():
    errors = [error(1.0, station="A"), error(3.0, station="B"), error(3.0, station="A")]
    assert [(each.label, each.mean_db) for each in by_station(errors)] == [("A", 2.0), ("B", 3.0)]


def test_the_correction_is_drawn_towards_nought():
    errors = [error(4.0, place=place) for place in range(5)]
    found = local_correction("Relay", errors, "points.csv")
    assert (found.mean_error_db, found.weight, found.offset_db) == (4.0, 0.5, 2.0)
    assert found.words == (
        "Relay +2.0 dB (mean error +4.0 dB at 5 survey places of points.csv, weighted 0.50)"
    )
    many = local_correction("Relay", [error(4.0, place=place) for place in range(95)], "points.csv")
    assert many.offset_db == pytest.approx(3.8)
    assert local_correction("Relay", errors, "x", shrinkage=0.0).offset_db == 4.0


def test_a_place_counts_once_whatever_its_services():
    errors = [error(2.0, place=place) for place in range(5)]
    errors += [error(12.0, place=0, service=f"Mux {number}") for number in range(2, 6)]
    found = local_correction("Relay", errors, "points.csv", shrinkage=0.0)
    assert found.places == 5
    assert found.offset_db == pytest.approx((10.0 + 4 * 2.0) / 5.0)


def test_the_weight_is_the_best_one_for_what_it_assumes():
    """Areas err by 3 dB, places in them by 7: n/(n + 49/9) then leaves least error; 5 comes within 1 %."""
    random = np.random.default_rng(5)
    area = random.normal(0.0, 3.0, 40_000)
    means = area + random.normal(0.0, 7.0 / math.sqrt(8.0), area.size)

    def left(n0):
        return np.sqrt(np.mean((area - means * 8.0 / (8.0 + n0)) ** 2))

    assert left(5.0) < min(left(0.0), left(30.0))
    assert left(5.0) < 1.01 * left(49.0 / 9.0)


def test_too_few_places_or_too_large_an_error():
    with pytest.raises(
        RangeError, match=r"survey places of Relay in p\.csv is 4; allowed: 5 or more for a corr"
    ):
        local_correction("Relay", [error(1.0, place=place) for place in range(4)], "p.csv")
    with pytest.raises(RangeError, match=r"survey places of Other in p\.csv is 0"):
        local_correction("Other", [error(1.0)], "p.csv")
    with pytest.raises(
        RangeError, match=r"local correction of Relay is \+12\.0 dB; allowed: up to 10 dB; so large"
    ):
        local_correction("Relay", [error(24.0, place=place) for place in range(5)], "p.csv")
    with pytest.raises(RangeError, match="shrinkage of a local correction is -1"):
        local_correction("Relay", [error(1.0)], "p.csv", shrinkage=-1.0)
