"""Checks of the carriers of analogue channels."""

from __future__ import annotations

import pytest

from combe.standards.analogue import analogue_system
from combe.standards.rasters import channel_edges_mhz


def carriers_mhz(raster: str, channel: int, system: str) -> dict[str, float | None]:
    """Return the carriers of an analogue channel, from its lower edge upwards."""
    row = analogue_system(system)
    vision = channel_edges_mhz(raster, channel)[0] + row.vision_over_edge_mhz
    over = {
        "vision": 0.0,
        "chroma": row.chroma_over_vision_mhz,
        "sound": row.sound_over_vision_mhz,
        "digital sound": row.digital_sound_over_vision_mhz,
    }
    return {name: None if each is None else vision + each for name, each in over.items()}


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
        # Read in public tables of channels: CCIR E5, OIRT R1, R4 and R9, China 4 and 6, Americas 2, Japan 1.
        ("7 MHz VHF", 2, "B", 48.25, 53.75),
        ("7 MHz VHF", 5, "B", 175.25, 180.75),
        ("8 MHz VHF", 1, "D/K", 49.75, 56.25),
        ("8 MHz VHF", 4, "D/K", 85.25, 91.75),
        ("8 MHz VHF", 9, "D/K", 199.25, 205.75),
        ("8 MHz VHF and UHF China", 4, "D/K", 77.25, 83.75),
        ("8 MHz VHF and UHF China", 6, "D/K", 168.25, 174.75),
        ("6 MHz VHF and UHF", 2, "M", 55.25, 59.75),
        ("6 MHz VHF and UHF Japan", 1, "M", 91.25, 95.75),
    ],
)
def test_vision_and_sound(
    raster: str, channel: int, system: str, vision_mhz: float, sound_mhz: float
) -> None:
    carriers = carriers_mhz(raster, channel, system)
    assert carriers["vision"] == pytest.approx(vision_mhz, abs=1e-9)
    assert carriers["sound"] == pytest.approx(sound_mhz, abs=0.001)


def test_chroma_and_digital_sound() -> None:
    """ITU-R BT.470-6, from memory: colour subcarrier 4.43361875 MHz, digital sound 6.552 MHz over vision."""
    carriers = carriers_mhz("8 MHz UHF", 21, "I")
    assert carriers["chroma"] == pytest.approx(475.68361875)
    assert carriers["digital sound"] == pytest.approx(477.802)
    assert carriers_mhz("8 MHz UHF", 21, "G")["digital sound"] is None


def test_carriers_lie_in_their_channel() -> None:
    for channel in range(21, 70):
        low, high = channel_edges_mhz("8 MHz UHF", channel)
        assert all(low < each < high for each in carriers_mhz("8 MHz UHF", channel, "I").values() if each)
