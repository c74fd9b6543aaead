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
        ("DVB-T", "PAL I", 0, CarrierOffset(), "co-channel", 4, 4),
        ("DVB-T", "PAL I", -1, CarrierOffset(), "lower adjacent", -35, -35),
        # 256-QAM 2/3 needs 19.7 dB, 64-QAM 2/3 of DVB-T 16.5 and 3 for the receiver: 0.2 dB more.
        ("DVB-T2", "PAL I", 0, CarrierOffset(), "co-channel", 4.2, 4.2),
        ("DVB-T2", "PAL I", -1, CarrierOffset(), "lower adjacent", -34.8, -34.8),
        ("DVB-T2", "PAL I", 9, CarrierOffset(), "image", -31, -31),
        ("PAL B 7 MHz", "DVB-T 7 MHz", 0, CarrierOffset(), "co-channel", 35, 41),
        ("NTSC M", "ISDB-T", 0, CarrierOffset(), "co-channel", 34, 34),
        ("ISDB-T", "PAL M", 0, CarrierOffset(), "co-channel", 7, 7),
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
    assert steps_that_count("DVB-T2", "PAL I") == (-1, 0, 1, 9)
    assert steps_that_count("NTSC M", "NTSC M") == (-1, 0, 1, 14, 15)
    assert steps_that_count("ATSC", "ATSC") == (-1, 0, 1)


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_the_table_of_a_system_is_what_the_look_up_gives_of_its_channels(name: str) -> None:
    table = protections(television_system(name))
    assert tuple(table) == steps_that_count(name, name)
    assert all(row == between(name, name, step) for step, row in table.items())


def test_channels_of_two_widths_count_by_what_they_touch_and_on_the_image() -> None:
    """The image of an 8 MHz channel lies on the ninth above it; 6 MHz about 618 MHz are within that."""
    wide = Channel("DVB", 546.0, 8.0)
    found = [protection(wide, Channel("DVB", centre, 6.0), 20.0) for centre in (552.0, 553.0, 560.0, 618.0)]
    assert [row and row.relation for row in found] == ["overlapping", "upper adjacent", None, "image"]


def test_multiplexes_that_overlap_in_part_ask_for_as_much_less() -> None:
    """GE06 Annex 2, from memory: PR + 10 lg(BO/BW), and not less than of the next channel (-30 dB)."""
    wide = Channel("DVB", 546.0, 8.0, occupied_mhz=7.61)

    def apart(mhz: float, width_mhz: float = 8.0, occupied_mhz: float = 7.61) -> float:
        other = Channel("DVB", 546.0 + mhz, width_mhz, occupied_mhz=occupied_mhz)
        found = protection(wide, other, 21.0)
        assert found is not None
        return found.tropospheric_db

    # 1 MHz of 7.61 lies under the other: 21 - 8.81 dB. All of 5.71 MHz: 21 - 1.25 dB.
    assert apart(6.61) == apart(-6.61) == pytest.approx(12.19, abs=0.005)
    assert apart(0.0, 6.0, 5.71) == pytest.approx(19.75, abs=0.005)
    # The corners of the channels touch, and nothing of the signals does.
    assert apart(7.9) == -30.0
    assert apart(0.0) == 21.0


def test_a_multiplex_beside_the_middle_of_its_channel_is_on_its_channel_all_the_same() -> None:
    """ISDB-T lies 1/7 MHz over the middle: the picture one channel lower is beside it and not on it."""
    multiplex, picture = (television_system(name) for name in ("ISDB-T", "NTSC M"))
    below = protection(channel_of(multiplex, 623.0 + 1.0 / 7.0), channel_of(picture, 617.0), 20.1)
    above = protection(channel_of(picture, 617.0), channel_of(multiplex, 623.0 + 1.0 / 7.0), 0.0)
    assert (below and below.relation, above and above.relation) == ("lower adjacent", "upper adjacent")


@pytest.mark.parametrize(
    ("modulation", "code_rate", "ratio_db"),
    [("QPSK", "1/2", -12.0), ("16-QAM", "7/8", 16.0), ("64-QAM", "5/6", 15.0)],
)
def test_a_multiplex_stands_a_picture_by_its_mode(modulation: str, code_rate: str, ratio_db: float) -> None:
    """ITU-R BT.1368-13 Annex 2, from memory."""
    mode = television_system("DVB-T", modulation, code_rate)
    here = channel_of(mode, 602.0)
    found = protection(here, channel_of(television_system("PAL I"), 602.0), mode.required_cn_db or 0.0)
    assert found is not None and found.continuous_db == ratio_db
    # A picture is disturbed alike by a multiplex of any mode.
    other = protection(channel_of(television_system("PAL I"), 602.0), here, 0.0)
    assert other is not None and (other.tropospheric_db, other.continuous_db) == (34.0, 40.0)


def test_of_signals_that_no_table_pairs_nothing_is_said_to_be_harmless() -> None:
    """On the channel, beside it, and on the image where a table would have to tell."""
    picture, multiplex = (television_system(name) for name in ("PAL I", "ATSC"))
    for mhz in (602.0, 608.0, 602.0 + 9 * 8.0):
        with pytest.raises(RangeError, match="protection ratio is analogue 625 by ATSC"):
            protection(channel_of(picture, 602.0), channel_of(multiplex, mhz), 0.0)


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
