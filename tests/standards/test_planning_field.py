"""Checks that every planning field is itemised, cited, and says what of it is from memory."""

from __future__ import annotations

import pickle

import pytest

from combe.standards.cited import Citation, memory_note, recalled
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
