"""Checks of the minimum median field of fixed DVB-T2 reception, item by item."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.standards.minimum_field import MinimumMedianField, items, minimum_median_field

RECOMMENDATION_DB = 0.2
"""Agreement asked with values printed with one decimal and their own roundings."""


# The chain of ITU-R BT.2033-2 Attachment 1 with the aerials of BT.2036-5, 256-QAM 2/3 Ricean (C/N 20.0,
# F 6), worked in double precision with 145.76 dB in place of the printed 145.8; BT.2033-2 Table 13 comes
# to Emin 45.2 at 650 MHz. Last row: reference planning configuration 1 of GE06 (C/N 21, F 7), whose
# planning value is 56 dB(µV/m) at 650 MHz (from memory).
@pytest.mark.parametrize(
    ("frequency_mhz", "required_cn_db", "noise_figure_db", "pn", "ps", "aa", "flux", "emin", "medians"),
    [
        (650.0, 20.0, 6.0, -129.16, -109.16, -4.57, -100.60, 45.17, (48.0, 54.2, 58.0)),
        (500.0, 20.0, 6.0, -129.16, -109.16, -3.29, -102.88, 42.89, (45.7, 51.9, 55.7)),
        (800.0, 20.0, 6.0, -129.16, -109.16, -5.37, -98.79, 46.97, (49.8, 56.0, 59.8)),
        (650.0, 21.0, 7.0, -128.16, -107.16, -4.57, -98.60, 47.17, (50.0, 56.2, 60.0)),
    ],
)
def test_worked_chain(
    frequency_mhz: float,
    required_cn_db: float,
    noise_figure_db: float,
    pn: float,
    ps: float,
    aa: float,
    flux: float,
    emin: float,
    medians: tuple[float, ...],
) -> None:
    for percent, median in zip((70.0, 95.0, 99.0), medians, strict=True):
        field = minimum_median_field(
            frequency_mhz, required_cn_db, location_percent=percent, noise_figure_db=noise_figure_db
        )
        assert field.noise_power_dbw == pytest.approx(pn, abs=0.006)
        assert field.minimum_power_dbw == pytest.approx(ps, abs=0.006)
        assert field.effective_aperture_dbm2 == pytest.approx(aa, abs=0.006)
        assert field.minimum_flux_dbw_m2 == pytest.approx(flux, abs=0.01)
        assert field.minimum_field_dbuv_m == pytest.approx(emin, abs=0.05)
        assert field.median_field_dbuv_m == pytest.approx(median, abs=0.1)


def test_the_recommendations_own_figures() -> None:
    """ITU-R BT.2033-2 Table 13: Emin 45.2 at 650 MHz; GE06 configuration 1: 56 at 650 MHz (from memory)."""
    assert minimum_median_field(650.0, 20.0).minimum_field_dbuv_m == pytest.approx(
        45.2, abs=RECOMMENDATION_DB
    )
    first = minimum_median_field(650.0, 21.0, noise_figure_db=7.0)
    assert first.median_field_dbuv_m == pytest.approx(56.0, abs=0.5)


def test_median_of_half_the_locations_is_the_minimum_itself() -> None:
    field = minimum_median_field(650.0, 20.0, location_percent=50.0)
    assert field.median_field_dbuv_m == pytest.approx(field.minimum_field_dbuv_m, abs=1e-12)
    assert field.location_factor_reference == "exact quantile of the normal distribution"


# σ 5.5 dB (GE06) times the printed factors.
@pytest.mark.parametrize(("percent", "correction_db"), [(70.0, 2.86), (95.0, 9.02), (99.0, 12.815)])
def test_location_correction(percent: float, correction_db: float) -> None:
    field = minimum_median_field(650.0, 20.0, location_percent=percent)
    assert field.location_correction_db == pytest.approx(correction_db, abs=1e-9)
    assert "GE06" in field.location_factor_reference


@given(
    st.floats(470.0, 862.0),
    st.floats(-10.0, 60.0),
    st.floats(1.0, 99.9),
    st.floats(0.0, 30.0),
    st.floats(0.1, 20.0),
)
def test_items_add_up(
    frequency_mhz: float, cn_db: float, percent: float, noise_figure_db: float, bandwidth_mhz: float
) -> None:
    field = minimum_median_field(
        frequency_mhz,
        cn_db,
        location_percent=percent,
        noise_figure_db=noise_figure_db,
        bandwidth_mhz=bandwidth_mhz,
    )
    total = (
        field.noise_power_dbw
        + field.required_cn_db
        - field.effective_aperture_dbm2
        + field.feeder_loss_db
        + 145.8
        + field.man_made_noise_db
        + field.location_factor * field.location_deviation_db
    )
    assert field.median_field_dbuv_m == pytest.approx(total, abs=1e-9)


def test_every_number_of_the_result_can_be_printed() -> None:
    field = minimum_median_field(650.0, 20.0)
    printed = {value for _, value, _ in items(field)}
    numbers = {getattr(field, each.name) for each in fields(MinimumMedianField) if each.type == "float"}
    assert printed == numbers
    assert items(field)[-1] == ("minimum median field Emed, at 10 m", field.median_field_dbuv_m, "dB(µV/m)")


def test_result_is_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        minimum_median_field(650.0, 20.0).frequency_mhz = 1.0  # type: ignore[misc]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"frequency_mhz": 900.0}, "frequency_mhz of fixed UHF reception is 900.0; allowed: 470 to 862"),
        ({"required_cn_db": float("nan")}, "required_cn_db is nan; allowed: -10 to 60"),
        ({"noise_figure_db": -1.0}, "noise_figure_db is -1.0; allowed: 0 to 30"),
        ({"bandwidth_mhz": 0.0}, "bandwidth_mhz is 0.0; allowed: 0.1 to 20"),
        ({"location_percent": 0.0}, "location_percent is 0.0; allowed: 1 to 99.9"),
    ],
)
def test_out_of_range(arguments: dict[str, float], message: str) -> None:
    good = {"frequency_mhz": 650.0, "required_cn_db": 20.0}
    with pytest.raises(RangeError) as caught:
        minimum_median_field(**(good | arguments))  # type: ignore[arg-type]
    assert str(caught.value) == message
