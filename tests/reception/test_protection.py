"""Checks of the protection ratio of one signal against another, however their channels and carriers lie."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.reception.protection_ratios import (
    Channel,
    Protection,
    channel_of,
    protection,
    protection_citation,
    protections,
)
from combe.standards.protection import NO_OFFSET, OFFSET_KHZ, CarrierOffset, between_carriers
from combe.standards.systems import TELEVISION_SYSTEMS, television_system


def between(
    wanted: str, unwanted: str, step: int, one: CarrierOffset = NO_OFFSET, other: CarrierOffset = NO_OFFSET
) -> Protection | None:
    """Return the ratio of two systems on one raster, ``step`` channels apart."""
    system, middle = television_system(wanted), channel_of(television_system(wanted), 602.0)
    there = channel_of(television_system(unwanted), 602.0 + step * middle.width_mhz)
    return protection(middle, there, system.required_cn_db or 0.0, carriers=(one, other))


def steps_that_count(wanted: str, unwanted: str) -> tuple[int, ...]:
    return tuple(step for step in range(-20, 21) if between(wanted, unwanted, step) is not None)


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
    one = CarrierOffset(precision=offset.precision)
    found = between(wanted, unwanted, step, one, offset)
    assert found is not None
    assert (found.channel_step, found.relation) == (step, relation)
    assert found.tropospheric_db == pytest.approx(tropospheric_db)
    assert found.continuous_db == pytest.approx(continuous_db)
    assert found.reference.strip()


@pytest.mark.parametrize("step", [-9, -2, 2, 5, 20])
def test_far_channels_do_not_count(step: int) -> None:
    assert between("PAL I", "PAL I", step) is None


def test_steps_that_count() -> None:
    """Usual list, from memory: the channel, its neighbours and the image for 8 MHz systems."""
    assert steps_that_count("PAL I", "PAL I") == (-1, 0, 1, 9, 10)
    assert steps_that_count("DVB-T2", "DVB-T2") == (-1, 0, 1, 9)
    assert steps_that_count("DVB-T2", "PAL I") == (-1, 0, 1)
    assert steps_that_count("NTSC M", "NTSC M") == (-1, 0, 1, 14, 15)
    assert steps_that_count("ATSC", "ATSC") == (-1, 0, 1)


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_the_table_of_a_system_is_what_the_look_up_gives_of_its_channels(name: str) -> None:
    table = protections(television_system(name))
    assert tuple(table) == steps_that_count(name, name)
    assert all(row == between(name, name, step) for step, row in table.items())


def test_channels_of_two_widths_count_by_what_they_touch_and_no_farther() -> None:
    wide = Channel("DVB", 546.0, 8.0)
    found = [protection(wide, Channel("DVB", centre, 6.0), 20.0) for centre in (552.0, 553.0, 560.0, 618.0)]
    assert [row and row.relation for row in found] == ["co-channel", "upper adjacent", None, None]


def test_a_picture_of_unknown_system_has_no_image_channel() -> None:
    known = Channel("analogue 625", 546.0, 8.0, "I")
    unknown, image = Channel("analogue 625", 546.0, 8.0), Channel("analogue 625", 618.0, 8.0)
    assert protection(known, image, 0.0) is not None
    assert protection(unknown, image, 0.0) is None


def test_atsc_goes_by_the_noise_it_is_told_of() -> None:
    """FCC OET Bulletin 69 (2004): 15 dB from S/N 28 dB upwards, 23 dB at 16 dB; beside noise always 15."""
    channel = Channel("ATSC", 575.0, 6.0)
    told = [
        protection(channel, channel, 15.19, signal_to_noise_db=level) for level in (40.0, 16.0, float("nan"))
    ]
    told.append(protection(channel, channel, 15.19))
    assert [row and round(row.continuous_db) for row in told] == [15, 23, 23, 15]


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_every_system_is_protected_against_its_own_kind(name: str) -> None:
    for step in (-1, 0, 1):
        found = between(name, name, step)
        assert found is not None
        assert found.continuous_db >= found.tropospheric_db


def test_the_source_can_be_printed() -> None:
    found = between("PAL I", "PAL I", 9)
    assert found is not None
    what, reference, confidence = protection_citation(found)
    assert (what, confidence) == ("image ratio", "from memory")
    assert "BT.655-7" in reference


def test_refused() -> None:
    with pytest.raises(RangeError, match="protection ratio is analogue 625 by analogue 525, co-channel"):
        between("PAL I", "NTSC M", 0)
    with pytest.raises(RangeError, match="protection ratio is ISDB-T by ATSC, co-channel; allowed: analogue"):
        between("ISDB-T", "ATSC", 0)
    with pytest.raises(
        RangeError, match=r"offset in kHz of two 525-line carriers is 5.0; allowed: 0, 10 or 20, either way"
    ):
        between("NTSC M", "NTSC M", 0, other=CarrierOffset(khz=5.0))
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
    assert between("PAL I", "PAL I", 0, held, CarrierOffset(other)) is not None


def test_the_offset_is_said_with_the_source() -> None:
    said = [
        between("PAL I", "PAL I", 0, CarrierOffset(0, held), CarrierOffset(twelfths, held))
        for twelfths, held in ((0, False), (8, False), (8, True))
    ]
    assert [row and row.reference.partition("lines, ")[2] for row in said] == [
        "without offset", "offset of 8/12 line", "offset of 8/12 line with precision",
    ]  # fmt: skip
    assert "20 kHz" in str(between("NTSC M", "NTSC M", 0, CarrierOffset(khz=-10.0), CarrierOffset(khz=10.0)))
