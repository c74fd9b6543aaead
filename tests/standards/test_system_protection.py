"""Checks of the protection ratio of one system against another at a channel offset."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards.carrier_offset import OFFSET_KHZ, CarrierOffset, between_carriers
from combe.standards.system_protection import (
    interfering_steps,
    protection_between,
    protection_citation,
)
from combe.standards.systems import TELEVISION_SYSTEMS, television_system


# ITU-R BT.655-7 Table 1 and BT.1368-13 from memory; OET Bulletin 69; 47 CFR 74.705(d) and 74.710(b).
@pytest.mark.parametrize(
    ("wanted", "unwanted", "step", "offset", "relation", "tropospheric_db", "continuous_db"),
    [
        ("PAL I", "PAL I", 0, CarrierOffset(), "co-channel", 45, 52),
        ("PAL I", "PAL B/G", 0, CarrierOffset(twelfths=8), "co-channel", 30, 40),
        ("PAL B/G", "SECAM D/K", 0, CarrierOffset(twelfths=-8, precision=True), "co-channel", 22, 27),
        ("PAL I", "PAL I", -1, CarrierOffset(), "lower adjacent", -6, 4),
        ("PAL I", "PAL I", 1, CarrierOffset(), "upper adjacent", -12, -2),
        ("PAL I", "PAL I", 9, CarrierOffset(), "image", -1, 9),
        ("SECAM D/K", "PAL I", 8, CarrierOffset(), "image", -1, 9),
        ("PAL I", "DVB-T", 0, CarrierOffset(), "co-channel", 34, 40),
        ("PAL I", "DVB-T2", 1, CarrierOffset(), "upper adjacent", -8, -5),
        ("PAL I", "DVB-T", 10, CarrierOffset(), "image", -16, -11),
        ("DVB-T2", "PAL I", 0, CarrierOffset(), "co-channel", 4, 4),
        ("DVB-T2", "PAL I", -1, CarrierOffset(), "lower adjacent", -35, -35),
        ("DVB-T2", "DVB-T", 0, CarrierOffset(), "co-channel", 20.0, 20.0),
        ("DVB-T", "DVB-T2", 0, CarrierOffset(), "co-channel", 20.1, 20.1),
        ("DVB-T", "DVB-T2", -1, CarrierOffset(), "lower adjacent", -30, -30),
        ("DVB-T", "DVB-T2", 9, CarrierOffset(), "image", -31, -31),
        ("ATSC", "ATSC", 0, CarrierOffset(), "co-channel", 15, 15),
        ("ATSC", "ATSC", 1, CarrierOffset(), "upper adjacent", -26, -26),
        ("ATSC", "NTSC M", 0, CarrierOffset(), "co-channel", 21, 21),
        ("ATSC", "NTSC M", -1, CarrierOffset(), "lower adjacent", -48, -48),
        ("NTSC M", "ATSC", 1, CarrierOffset(), "upper adjacent", -17, -17),
        ("NTSC M", "NTSC M", 0, CarrierOffset(), "co-channel", 45, 45),
        ("NTSC M", "PAL M", 0, CarrierOffset(khz=-10.0), "co-channel", 28, 28),
        ("NTSC M", "NTSC M", 1, CarrierOffset(), "upper adjacent", -15, -15),
        ("NTSC M", "NTSC M", 14, CarrierOffset(), "image of sound", -23, -23),
        ("NTSC M", "NTSC M", 15, CarrierOffset(), "image of vision", -6, -6),
        ("ISDB-T", "ISDB-T", 0, CarrierOffset(), "co-channel", 20.1, 20.1),
        ("ISDB-T", "ISDB-T", 1, CarrierOffset(), "upper adjacent", -29, -29),
    ],
)
def test_protection(
    wanted: str,
    unwanted: str,
    step: int,
    offset: CarrierOffset,
    relation: str,
    tropospheric_db: float,
    continuous_db: float,
) -> None:
    found = protection_between(television_system(wanted), television_system(unwanted), step, offset)
    assert found is not None
    assert (found.channel_step, found.relation) == (step, relation)
    assert found.tropospheric_db == pytest.approx(tropospheric_db)
    assert found.continuous_db == pytest.approx(continuous_db)
    assert found.reference.strip()


@pytest.mark.parametrize("step", [-9, -2, 2, 5, 20])
def test_far_channels_do_not_count(step: int) -> None:
    pal = television_system("PAL I")
    assert protection_between(pal, pal, step) is None


def test_steps_that_count() -> None:
    """Usual list, from memory: the channel, its neighbours and the image for 8 MHz systems."""
    systems = {name: television_system(name) for name in TELEVISION_SYSTEMS}
    assert interfering_steps(systems["PAL I"], systems["PAL I"]) == (-1, 0, 1, 9, 10)
    assert interfering_steps(systems["DVB-T2"], systems["DVB-T2"]) == (-1, 0, 1, 9)
    assert interfering_steps(systems["DVB-T2"], systems["PAL I"]) == (-1, 0, 1)
    assert interfering_steps(systems["NTSC M"], systems["NTSC M"]) == (-1, 0, 1, 14, 15)
    assert interfering_steps(systems["ATSC"], systems["ATSC"]) == (-1, 0, 1)


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_every_system_is_protected_against_its_own_kind(name: str) -> None:
    system = television_system(name)
    for step in (-1, 0, 1):
        found = protection_between(system, system, step)
        assert found is not None
        assert found.continuous_db >= found.tropospheric_db


def test_the_source_can_be_printed() -> None:
    pal = television_system("PAL I")
    found = protection_between(pal, pal, 9)
    assert found is not None
    what, reference, confidence = protection_citation(found)
    assert (what, confidence) == ("image ratio", "from memory")
    assert "BT.655-7" in reference


def test_refused() -> None:
    systems = {name: television_system(name) for name in TELEVISION_SYSTEMS}
    with pytest.raises(RangeError, match="channel width of NTSC M against PAL I is 6 MHz; allowed: 8 MHz"):
        protection_between(systems["PAL I"], systems["NTSC M"], 0)
    with pytest.raises(RangeError, match="protection ratio is ISDB-T by ATSC, co-channel; allowed: analogue"):
        protection_between(systems["ISDB-T"], systems["ATSC"], 0)
    with pytest.raises(
        RangeError, match=r"offset in kHz of two 525-line carriers is 5.0; allowed: 0, 10 or 20, either way"
    ):
        protection_between(systems["NTSC M"], systems["NTSC M"], 0, CarrierOffset(khz=5.0))
    with pytest.raises(RangeError, match="offset in twelfths of the line frequency is 13"):
        protection_between(systems["PAL I"], systems["PAL I"], 0, CarrierOffset(twelfths=13))
    assert set(OFFSET_KHZ) == {0.0, 10.0, 20.0}


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    # Carriers 8/12 above and below are 16/12 apart, which counts as 4/12; 24/12 as 12/12, not as none.
    [(0, 8, 8), (-8, 0, 8), (8, 8, 0), (-8, 8, 4), (-12, 12, 12), (-12, 1, 1)],
)
def test_how_far_two_carriers_are_apart(one: int, other: int, apart: int) -> None:
    assert between_carriers(CarrierOffset(one), CarrierOffset(other)) == CarrierOffset(apart)
    held = CarrierOffset(one, precision=True)
    assert not between_carriers(held, CarrierOffset(other)).precision
    assert between_carriers(held, CarrierOffset(other, precision=True)).precision
    pal = television_system("PAL I")
    assert protection_between(pal, pal, 0, between_carriers(held, CarrierOffset(other))) is not None


def test_the_offset_is_said_with_the_source() -> None:
    pal, ntsc = television_system("PAL I"), television_system("NTSC M")
    said = [
        protection_between(pal, pal, 0, CarrierOffset(*each)) for each in ((0, False), (8, False), (8, True))
    ]
    assert [row and row.reference.partition("lines, ")[2] for row in said] == [
        "without offset", "offset of 8/12 line", "offset of 8/12 line with precision",
    ]  # fmt: skip
    assert "20 kHz" in str(protection_between(ntsc, ntsc, 0, CarrierOffset(khz=20.0)))
