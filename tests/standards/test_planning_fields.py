"""Checks that every planning field is itemised and cited, and of the minimum median field, item by item."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError, fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.standards.cited import Citation, memory_note, recalled
from combe.standards.minimum_median import MinimumMedianField, items, minimum_median_field
from combe.standards.systems import TELEVISION_SYSTEMS, planning_field, television_system


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_chain_ends_with_the_median_and_cites_every_item(name: str) -> None:
    field = planning_field(television_system(name), 605.0, 95.0)
    assert len(field.chain) >= 6
    assert field.chain[-1].value == pytest.approx(field.median_field_dbuv_m)
    assert field.chain[-1].unit == "dB(µV/m)"
    assert all(item.reference.strip() for item in field.chain)
    assert len({item.name for item in field.chain}) == len(field.chain)
    expected = field.minimum_field_dbuv_m + field.location_correction_db
    assert field.median_field_dbuv_m == pytest.approx(expected, abs=1e-9)


# Which rows are recalled: EN 300 744, ARIB STD-B31, BT.417-5, the GE06 receiver, P.1546's analogue deviation.
@pytest.mark.parametrize(
    ("name", "note"),
    [
        ("DVB-T2", ""),
        ("DVB-T2 7 MHz", ""),
        (
            "DVB-T",
            "from memory, unverified: C/N of the mode, implementation margin, receiver noise figure F, "
            "required C/N",
        ),
        ("ATSC", ""),
        ("ISDB-T", "from memory, unverified: receiver noise figure F, required C/N"),
        (
            "PAL B/G",
            "from memory, unverified: median field of Band V, location standard deviation σ",
        ),
        ("NTSC M", "from memory, unverified: location standard deviation σ"),
    ],
)
def test_what_is_from_memory(name: str, note: str) -> None:
    chain = planning_field(television_system(name), 605.0).chain
    assert memory_note(Citation(each.name, each.reference, each.confidence) for each in chain) == note


def test_atsc_items_in_the_order_of_the_bulletin() -> None:
    """FCC OET Bulletin 69: E = C/N − Kd − Ka − G + L + Nt + Ns."""
    items = {item.name: item.value for item in planning_field(television_system("ATSC"), 500.0).chain}
    assert items["required C/N"] == 15.0
    assert items["threshold at 615 MHz, computed"] == pytest.approx(40.6)
    assert items["threshold at 615 MHz, printed"] == 41.0
    assert items["dipole adjustment Ka"] == pytest.approx(1.80, abs=0.005)
    assert items["threshold"] == pytest.approx(39.20, abs=0.005)


def test_dvbt_items_show_the_margin() -> None:
    items = {item.name: item.value for item in planning_field(television_system("DVB-T"), 650.0).chain}
    assert (items["C/N of the mode"], items["implementation margin"]) == (17.1, 3.0)
    assert items["required C/N"] == pytest.approx(20.1)


def test_a_system_can_be_sent_to_another_process() -> None:
    system = television_system("DVB-T2")
    assert pickle.loads(pickle.dumps(system)) == system


def test_notes() -> None:
    rows = [Citation("a", "X", "from memory"), Citation("b", "Y", "read"), Citation("a", "Z", "from memory")]
    assert recalled(rows) == ("a",)
    assert memory_note(rows) == "from memory, unverified: a"
    assert memory_note(rows[1:2]) == ""


# The chain worked at 500, 650 and 800 MHz, the printed Emin of Table 13 and configuration 1 of GE06 are cases
# of evidence (combe.evidence.bt2033), which tests/evidence runs.


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
    numbers = {
        getattr(field, each.name)
        for each in fields(MinimumMedianField)
        if each.type == "float" and each.name != "field_height_m"
    }
    assert printed == numbers
    assert items(field)[-1] == ("minimum median field Emed, at 10 m", field.median_field_dbuv_m, "dB(µV/m)")


def test_result_is_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        minimum_median_field(650.0, 20.0).frequency_mhz = 1.0  # type: ignore[misc]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            {"frequency_mhz": 900.0},
            "frequency_mhz of fixed reception is 900.0; allowed: 47 to 120 MHz (Band I), "
            "162 to 240 MHz (Band III), 470 to 862 MHz (Bands IV and V)",
        ),
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
