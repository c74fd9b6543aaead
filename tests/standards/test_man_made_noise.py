"""Checks of external noise by ITU-R P.372, and of what it adds to planning fields; no noise counts twice."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.evidence.man_made_noise import LINES, RISES
from combe.standards.man_made_noise import NOISE_LINES, external_noise_db, noise_line_db, noise_rise_db
from combe.standards.minimum_median import minimum_median_field
from combe.standards.planning_fields import noise_item
from combe.standards.portable import portable_terms
from combe.standards.systems import planning_field, sharing_noise_dbuv_m, television_system

# Lines and rises are cases of evidence (combe.evidence.man_made_noise), which tests/evidence runs.


def test_lines_are_those_tested_and_read() -> None:
    """ITU-R P.372: city 76.8 and 27.7, residential 72.5, rural 67.2, quiet rural 53.6 and 28.6."""
    assert len(NOISE_LINES) == len(LINES[0][1])
    assert {row.confidence for row in NOISE_LINES.values()} == {"read"}
    assert len(RISES) == 6


def test_weaker_than_thermal_noise_is_none_at_all() -> None:
    assert noise_line_db("rural", 474.0) < 0.0
    for environment in ("rural", "residential", "quiet rural", "none"):
        assert external_noise_db(environment, 474.0) == 0.0
        assert noise_rise_db(environment, 474.0, noise_figure_db=6.0) == 0.0
    assert external_noise_db("city", 474.0) == pytest.approx(2.68, abs=0.01)
    assert external_noise_db("none", 50.0) == 0.0


def test_far_from_people_the_galaxy_counts() -> None:
    assert external_noise_db("quiet rural", 65.0) == noise_line_db("galactic", 65.0)
    assert external_noise_db("rural", 65.0) == noise_line_db("rural", 65.0)


def test_an_aerial_that_collects_half_the_noise_hears_half_of_it() -> None:
    whole, half = (noise_rise_db("city", 100.0, noise_figure_db=0.0, efficiency=each) for each in (1.0, 0.5))
    # f_a = 21.4 dB = 138.04: 10 log 138.04 and 10 log(1 + 137.04/2); worked.
    assert whole == pytest.approx(21.4, abs=1e-9)
    assert half == pytest.approx(18.42, abs=0.005)


def test_stated_surroundings_take_the_place_of_the_published_allowance() -> None:
    """Band III: 2 dB of BT.2036-5, or the rise of P.372 behind 2 dB of feeder, never both."""
    published = minimum_median_field(200.0, 20.0)
    assert published.man_made_noise_db == 2.0
    for environment, rise in (("city", 6.07), ("residential", 3.08), ("rural", 0.77), ("none", 0.0)):
        found = minimum_median_field(200.0, 20.0, noise_environment=environment)
        assert found.man_made_noise_db == pytest.approx(rise, abs=0.006)
        assert found.median_field_dbuv_m - published.median_field_dbuv_m == pytest.approx(
            rise - 2.0, abs=0.006
        )
    portable = portable_terms(200.0)
    found = minimum_median_field(200.0, 20.0, portable=portable, noise_environment="city")
    assert found.man_made_noise_db == pytest.approx(7.66, abs=0.006)


@pytest.mark.parametrize("environment", ["rural", "residential", "quiet rural", "none"])
def test_at_uhf_rural_and_residential_noise_adds_nothing(environment) -> None:
    for name in ("DVB-T2", "DVB-T", "ISDB-T", "ATSC", "PAL I"):
        system = television_system(name)
        for mhz in (474.0, 600.0, 800.0):
            field = planning_field(system, mhz, noise_environment=environment)
            assert field.median_field_dbuv_m == planning_field(system, mhz).median_field_dbuv_m


def test_the_chain_says_where_the_noise_is_from() -> None:
    system = television_system("DVB-T2 7 MHz")
    item = noise_item(planning_field(system, 201.5))
    assert item is not None
    assert (item.value, item.confidence) == (2.0, "read")
    assert "BT.2036-5" in item.reference
    item = noise_item(planning_field(system, 201.5, noise_environment="city"))
    assert item is not None
    assert item.reference == "ITU-R P.372, median of external noise, city"
    item = noise_item(planning_field(television_system("DVB-T2"), 600.0, noise_environment="city"))
    assert item is not None
    assert "carried on beyond 250 MHz" in item.reference


def test_atsc_has_noise_only_when_asked() -> None:
    """OET Bulletin 69, channels 7-13: F 10 dB, downlead 2 dB; city at 200 MHz 13.06 dB over kT0B; worked."""
    system = television_system("ATSC")
    plain, city = (
        planning_field(system, 200.0, noise_environment=each).minimum_field_dbuv_m for each in (None, "city")
    )
    assert (plain, city - plain) == (36.0, pytest.approx(3.45, abs=0.005))
    assert noise_item(planning_field(system, 200.0)) is None
    beside = [sharing_noise_dbuv_m(system, 200.0, each) for each in (None, "city")]
    assert beside[1] - beside[0] == pytest.approx(city - plain)
    assert beside[1] <= city


def test_published_analogue_fields_hold_their_noise() -> None:
    system = television_system("PAL B 7 MHz")
    plain, city = (planning_field(system, 200.0, noise_environment=each) for each in (None, "city"))
    assert plain == city
    assert noise_item(city) is None


def test_refused() -> None:
    with pytest.raises(RangeError, match="noise_environment is 'suburb'; allowed: city, residential, rural"):
        external_noise_db("suburb", 200.0)  # type: ignore[arg-type]
    with pytest.raises(RangeError, match=r"frequency_mhz of external noise is 0.1; allowed: 0.3 to 3000"):
        noise_line_db("city", 0.1)
    with pytest.raises(RangeError, match="line of external noise is 'none'; allowed: city"):
        noise_line_db("none", 100.0)
    with pytest.raises(RangeError, match=r"efficiency of an aerial is 1.5; allowed: 0 to 1"):
        noise_rise_db("city", 100.0, noise_figure_db=6.0, efficiency=1.5)
