"""Model and air of a prediction."""

import dataclasses

import pytest

from combe.errors import RangeError
from combe.prediction.conditions import Conditions, describe, p1812_conditions


def test_radius_and_lapse_give_each_other():
    # ITU-R P.1812-8 eq. (6): ΔN 45 is an effective radius of 8930.777 km, ΔN 39 one of 8476.669 km.
    assert Conditions(delta_n=45.0).effective_radius_km == pytest.approx(8930.777, abs=1e-3)
    assert Conditions(effective_radius_km=8476.669).delta_n == pytest.approx(39.0, abs=1e-4)


def test_each_model_has_its_usual_air():
    assert Conditions().effective_radius_km == 8500.0
    assert Conditions(model="free-space").effective_radius_km == 8500.0
    assert Conditions(model="p1812").delta_n == pytest.approx(45.0, abs=1e-9)
    assert Conditions(model="p1812", effective_radius_km=8500.0).effective_radius_km == 8500.0


def test_a_changed_copy_keeps_its_air():
    conditions = Conditions(model="p1812", delta_n=50.0)
    assert dataclasses.replace(conditions, time_percent=1.0).delta_n == conditions.delta_n


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"model": "guess"}, "model is 'guess'; allowed: free-space, p526, p1812"),
        ({"effective_radius_km": 0.0}, "effective_radius_km is 0.0; allowed: above 0 km"),
        ({"delta_n": 200.0}, "delta_n is 200.0; allowed: 0 to below 157"),
        ({"delta_n": 45.0, "effective_radius_km": 8500.0}, "delta_n is 45.0; allowed: 39.3239, as effective"),
        ({"model": "p1812", "effective_radius_km": 6000.0}, "delta_n is -9.7"),
        ({"sea_fraction": 2.0}, "sea_fraction is 2.0; allowed: 0 to 1"),
        ({"model": "p1812", "sea_fraction": 0.5}, "sea_fraction is 0.5; allowed: 0 with model 'p1812'"),
        ({"time_percent": 10.0}, "time_percent is 10.0; allowed: 50 with model 'p526'"),
        ({"model": "p1812", "time_percent": 99.5}, "time_percent is 99.5; allowed: 1 to 99"),
        ({"clutter": "cover.tif"}, "clutter is 'cover.tif'; allowed: none with model 'p526'"),
        ({"model": "p1812", "n0": 10.0}, "n0 is 10.0; allowed: 100 to 500"),
    ],
)
def test_refusals(given, words):
    with pytest.raises(RangeError) as caught:
        Conditions(**given)
    assert words in str(caught.value)


def test_what_the_kernels_of_p1812_are_given():
    conditions = Conditions(model="p1812", time_percent=1.0)
    given = p1812_conditions(conditions, frequency_mhz=600.0, latitude_deg=50.0, vertical=True)
    assert (given.frequency_ghz, given.time_percent, given.n0, given.vertical) == (0.6, 1.0, 325.0, True)
    assert given.location_db == 0.0
    assert given.median_radius_km == pytest.approx(8930.777, abs=1e-3)
    with pytest.raises(RangeError, match=r"frequency_mhz is 9000\.0; allowed: 30 to 6000 MHz"):
        p1812_conditions(conditions, frequency_mhz=9000.0, latitude_deg=50.0, vertical=True)
    with pytest.raises(RangeError, match="latitude_deg"):
        p1812_conditions(conditions, frequency_mhz=600.0, latitude_deg=95.0, vertical=True)


def test_in_words():
    words = describe(Conditions())
    assert "P.526-16" in words["model"]
    assert words["effective Earth radius"] == "8500 km"
    assert "percentages" not in words
    words = describe(Conditions(model="p1812", time_percent=10.0, clutter="trees of cover.tif"))
    assert "P.1812-8" in words["model"]
    assert words["refractivity"] == "ΔN 45 N-units/km, N0 325 N-units"
    assert words["percentages"] == "exceeded for 10 % of time, median of places"
    assert words["clutter"] == "trees of cover.tif"
