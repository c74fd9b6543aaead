"""Checks of the channel rasters, row by row."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import ChannelError, RangeError
from combe.standards.channels import (
    CHANNEL_RASTERS,
    ChannelRaster,
    centre_frequency_mhz,
    channel_edges_mhz,
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
    ],
)
def test_channel(raster: str, channel: int, lower_mhz: float, centre_mhz: float, upper_mhz: float) -> None:
    assert centre_frequency_mhz(raster, channel) == centre_mhz
    assert channel_edges_mhz(raster, channel) == (lower_mhz, upper_mhz)


def test_the_table_is_the_one_tested() -> None:
    extent = {
        name: (row.width_mhz, row.first_channel, row.last_channel) for name, row in CHANNEL_RASTERS.items()
    }
    assert extent == {
        "8 MHz UHF": (8.0, 21, 69),
        "7 MHz UHF": (7.0, 28, 69),
        "6 MHz UHF": (6.0, 14, 69),
        "6 MHz UHF ISDB-T": (6.0, 14, 69),
        "6 MHz UHF ISDB-T Japan": (6.0, 13, 62),
    }
    assert {row.confidence for row in CHANNEL_RASTERS.values()} == {"from memory"}
    shifted = [name for name, row in CHANNEL_RASTERS.items() if row.signal_offset_mhz]
    assert shifted == ["6 MHz UHF ISDB-T", "6 MHz UHF ISDB-T Japan"]


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
def test_a_channel_begins_where_the_one_under_it_ends(name: str, data: st.DataObject) -> None:
    raster = CHANNEL_RASTERS[name]
    channel = data.draw(st.integers(raster.first_channel + 1, raster.last_channel))
    lower_mhz, upper_mhz = channel_edges_mhz(name, channel)
    assert channel_edges_mhz(name, channel - 1)[1] == pytest.approx(lower_mhz)
    assert lower_mhz < centre_frequency_mhz(name, channel) < upper_mhz


def test_a_row_needs_a_reference() -> None:
    with pytest.raises(RangeError, match="reference of a table row"):
        ChannelRaster("x", 8.0, 306.0, 21, 69, " ", "read")
