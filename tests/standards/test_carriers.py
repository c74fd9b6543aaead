"""Checks of the carriers of analogue channels."""

from __future__ import annotations

import pytest

from combe.errors import ChannelError, RangeError
from combe.standards.carriers import channel_carriers
from combe.standards.channels import CHANNEL_RASTERS, channel_edges_mhz


# From memory: vision carriers 303.25 + 8n MHz, Australian channels 28, 31, 34 at 527.25, 548.25, 569.25 MHz,
# 6 MHz channel 14 at 471.25 MHz; sound 6.0, 5.5, 6.5 and 4.5 MHz above vision for I, B/G, D/K and M.
@pytest.mark.parametrize(
    ("raster", "channel", "system", "vision_mhz", "sound_mhz"),
    [
        ("8 MHz UHF", 21, "I", 471.25, 477.25),
        ("8 MHz UHF", 34, "I", 575.25, 581.25),
        ("8 MHz UHF", 48, "I", 687.25, 693.25),
        ("8 MHz UHF", 69, "I", 855.25, 861.25),
        ("8 MHz UHF", 21, "G", 471.25, 476.75),
        ("8 MHz UHF", 21, "D/K", 471.25, 477.75),
        ("7 MHz UHF", 28, "B", 527.25, 532.75),
        ("7 MHz UHF", 31, "B", 548.25, 553.75),
        ("7 MHz UHF", 34, "B", 569.25, 574.75),
        ("6 MHz UHF", 14, "M", 471.25, 475.75),
    ],
)
def test_vision_and_sound(
    raster: str, channel: int, system: str, vision_mhz: float, sound_mhz: float
) -> None:
    carriers = channel_carriers(raster, channel, system)
    assert carriers.vision_mhz == pytest.approx(vision_mhz, abs=1e-9)
    assert carriers.sound_mhz == pytest.approx(sound_mhz, abs=0.001)


def test_chroma_and_digital_sound() -> None:
    """ITU-R BT.470-6, from memory: colour subcarrier 4.43361875 MHz, digital sound 6.552 MHz over vision."""
    carriers = channel_carriers("8 MHz UHF", 21, "I")
    assert carriers.chroma_mhz == pytest.approx(475.68361875)
    assert carriers.digital_sound_mhz == pytest.approx(477.802)
    assert channel_carriers("8 MHz UHF", 21, "G").digital_sound_mhz is None


def test_carriers_lie_in_their_channel() -> None:
    for channel in range(21, 70):
        low, high = channel_edges_mhz("8 MHz UHF", channel)
        assert all(low < each < high for each in channel_carriers("8 MHz UHF", channel, "I") if each)


def test_refused() -> None:
    with pytest.raises(ChannelError, match="channel 20 is unknown; allowed: 21 to 69"):
        channel_carriers("8 MHz UHF", 20, "I")
    with pytest.raises(
        RangeError, match="channel width of the 8 MHz UHF raster is 8 MHz; allowed: 6 MHz, that of system M"
    ):
        channel_carriers("8 MHz UHF", 21, "M")
    assert len(CHANNEL_RASTERS) == 5
