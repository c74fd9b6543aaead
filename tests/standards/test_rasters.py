"""Checks of the channel rasters: frequencies, gaps between bands, and how far channels lie apart."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import ChannelError, RangeError
from combe.standards.rasters import (
    CHANNEL_RASTERS,
    ChannelBlock,
    ChannelRaster,
    centre_frequency_mhz,
    channel_edges_mhz,
    channel_words,
    channels_apart,
)


# From memory but for channel 39 of 6 MHz (620 to 626 MHz, read in a public listing): 8 MHz raster of Bands IV
# and V (GE06), 306 + 8n; 6 MHz: 47 CFR 73.603, 389 + 6n; 7 MHz: Australia, channel 28 526 to 533 MHz.
@pytest.mark.parametrize(
    ("raster", "channel", "lower_mhz", "centre_mhz", "upper_mhz"),
    [
        ("8 MHz UHF", 21, 470.0, 474.0, 478.0),
        ("8 MHz UHF", 34, 574.0, 578.0, 582.0),
        ("8 MHz UHF", 48, 686.0, 690.0, 694.0),
        ("8 MHz UHF", 69, 854.0, 858.0, 862.0),
        ("6 MHz UHF", 14, 470.0, 473.0, 476.0),
        ("6 MHz UHF", 36, 602.0, 605.0, 608.0),
        ("6 MHz UHF", 39, 620.0, 623.0, 626.0),
        ("6 MHz UHF", 51, 692.0, 695.0, 698.0),
        ("6 MHz UHF", 69, 800.0, 803.0, 806.0),
        ("7 MHz UHF", 28, 526.0, 529.5, 533.0),
        # CCIR and OIRT, vision carriers at 48.25, 175.25 and 49.75, 59.25, 175.25 MHz read in a public table.
        ("7 MHz VHF", 2, 47.0, 50.5, 54.0),
        ("7 MHz VHF", 4, 61.0, 64.5, 68.0),
        ("7 MHz VHF", 5, 174.0, 177.5, 181.0),
        ("7 MHz VHF", 12, 223.0, 226.5, 230.0),
        ("8 MHz VHF", 1, 48.5, 52.5, 56.5),
        ("8 MHz VHF", 2, 58.0, 62.0, 66.0),
        ("8 MHz VHF", 5, 92.0, 96.0, 100.0),
        ("8 MHz VHF", 6, 174.0, 178.0, 182.0),
        ("8 MHz VHF", 12, 222.0, 226.0, 230.0),
        ("8 MHz VHF and UHF", 12, 222.0, 226.0, 230.0),
        ("8 MHz VHF and UHF", 21, 470.0, 474.0, 478.0),
        # 47 CFR 73.603.
        ("6 MHz VHF and UHF", 2, 54.0, 57.0, 60.0),
        ("6 MHz VHF and UHF", 5, 76.0, 79.0, 82.0),
        ("6 MHz VHF and UHF", 13, 210.0, 213.0, 216.0),
        ("6 MHz VHF and UHF", 14, 470.0, 473.0, 476.0),
        # Japan: channels 7 and 8 overlap by 2 MHz.
        ("6 MHz VHF and UHF Japan", 1, 90.0, 93.0, 96.0),
        ("6 MHz VHF and UHF Japan", 7, 188.0, 191.0, 194.0),
        ("6 MHz VHF and UHF Japan", 8, 192.0, 195.0, 198.0),
        ("6 MHz VHF and UHF Japan", 12, 216.0, 219.0, 222.0),
        ("6 MHz VHF and UHF Japan", 13, 470.0, 473.0, 476.0),
        # China, vision carriers at 77.25 and 168.25 MHz; from 13 on from memory.
        ("8 MHz VHF and UHF China", 4, 76.0, 80.0, 84.0),
        ("8 MHz VHF and UHF China", 6, 167.0, 171.0, 175.0),
        ("8 MHz VHF and UHF China", 13, 470.0, 474.0, 478.0),
        ("8 MHz VHF and UHF China", 25, 606.0, 610.0, 614.0),
        # Australia, from memory: 12 from 223 to 230 MHz, 9A between 9 and 10.
        ("7 MHz VHF and UHF Australia", 9, 195.0, 198.5, 202.0),
        ("7 MHz VHF and UHF Australia", 10, 209.0, 212.5, 216.0),
        ("7 MHz VHF and UHF Australia", 12, 223.0, 226.5, 230.0),
    ],
)
def test_channel(raster: str, channel: int, lower_mhz: float, centre_mhz: float, upper_mhz: float) -> None:
    assert centre_frequency_mhz(raster, channel) == centre_mhz
    assert channel_edges_mhz(raster, channel) == (lower_mhz, upper_mhz)


def test_the_table_is_the_one_tested() -> None:
    extent = {
        name: (row.width_mhz, channel_words(row.channels), row.confidence)
        for name, row in CHANNEL_RASTERS.items()
    }
    assert extent == {
        "8 MHz UHF": (8.0, "21 to 69", "from memory"),
        "7 MHz UHF": (7.0, "28 to 69", "from memory"),
        "6 MHz UHF": (6.0, "14 to 69", "from memory"),
        "6 MHz UHF ISDB-T": (6.0, "14 to 69", "from memory"),
        "6 MHz UHF ISDB-T Japan": (6.0, "13 to 62", "from memory"),
        "7 MHz VHF": (7.0, "2 to 12", "read"),
        "8 MHz VHF": (8.0, "1 to 12", "read"),
        "8 MHz VHF and UHF": (8.0, "1 to 12, 21 to 69", "from memory"),
        "7 MHz VHF and UHF Australia": (7.0, "6 to 12, 28 to 69", "from memory"),
        "6 MHz VHF and UHF": (6.0, "2 to 69", "read"),
        "6 MHz VHF and UHF ISDB-T": (6.0, "2 to 69", "read"),
        "6 MHz VHF and UHF Japan": (6.0, "1 to 62", "read"),
        "8 MHz VHF and UHF China": (8.0, "1 to 68", "from memory"),
    }
    shifted = [name for name, row in CHANNEL_RASTERS.items() if row.signal_offset_mhz]
    assert shifted == ["6 MHz UHF ISDB-T", "6 MHz UHF ISDB-T Japan", "6 MHz VHF and UHF ISDB-T"]


@pytest.mark.parametrize("channel", [20, 70, -1, 10**6])
def test_unknown_channel(channel: int) -> None:
    with pytest.raises(
        ChannelError, match=rf"^channel {channel} is unknown; allowed: 21 to 69 \(8 MHz UHF\)$"
    ):
        centre_frequency_mhz("8 MHz UHF", channel)


@pytest.mark.parametrize("channel", ["21", 21.0, True, None])
def test_channel_that_is_no_whole_number(channel: object) -> None:
    with pytest.raises(ChannelError, match=r"is unknown; allowed: 21 to 69"):
        centre_frequency_mhz("8 MHz UHF", channel)  # type: ignore[arg-type]


def test_unknown_raster() -> None:
    with pytest.raises(
        RangeError, match="channel raster is '5 MHz'; allowed: 8 MHz UHF, 7 MHz UHF, 6 MHz UHF"
    ):
        centre_frequency_mhz("5 MHz", 21)


@given(st.sampled_from(sorted(CHANNEL_RASTERS)), st.data())
def test_within_a_block_a_channel_begins_where_the_one_under_it_ends(name: str, data: st.DataObject) -> None:
    raster = CHANNEL_RASTERS[name]
    block = data.draw(
        st.sampled_from([each for each in raster.blocks if each.last_channel > each.first_channel])
    )
    channel = data.draw(st.integers(block.first_channel + 1, block.last_channel))
    lower_mhz, upper_mhz = channel_edges_mhz(name, channel)
    assert channel_edges_mhz(name, channel - 1)[1] == pytest.approx(lower_mhz)
    assert lower_mhz < centre_frequency_mhz(name, channel) < upper_mhz
    other = data.draw(st.integers(block.first_channel, block.last_channel))
    assert channels_apart(name, channel, other) == other - channel


@pytest.mark.parametrize(
    ("raster", "wanted", "unwanted", "apart"),
    [
        ("8 MHz VHF", 1, 2, 1),  # 1.5 MHz between them
        ("8 MHz VHF", 2, 1, -1),
        ("8 MHz VHF", 2, 3, 2),  # 10 MHz between them
        ("6 MHz VHF and UHF", 4, 5, 1),  # 4 MHz between them
        ("6 MHz VHF and UHF", 6, 7, 15),
        ("6 MHz VHF and UHF Japan", 7, 8, 0),  # they overlap
        ("6 MHz VHF and UHF Japan", 8, 7, 0),
        ("6 MHz VHF and UHF Japan", 6, 8, 1),
        ("6 MHz VHF and UHF Japan", 7, 7, 0),
        ("8 MHz VHF and UHF", 12, 21, 31),
    ],
)
def test_over_a_gap_channels_lie_apart_by_their_frequencies(
    raster: str, wanted: int, unwanted: int, apart: int
) -> None:
    assert channels_apart(raster, wanted, unwanted) == apart


def test_a_gap_in_a_raster_is_said() -> None:
    with pytest.raises(ChannelError, match=r"^channel 13 is unknown; allowed: 1 to 12, 21 to 69 \("):
        centre_frequency_mhz("8 MHz VHF and UHF", 13)


def test_a_row_needs_a_reference() -> None:
    with pytest.raises(RangeError, match="reference of a table row"):
        ChannelRaster("x", 8.0, (ChannelBlock(21, 69, 470.0),), " ", "read")
