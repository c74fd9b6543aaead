"""The drawing of sectors: the same bytes, the limit as a ring, what is over it hatched."""

from combe.publishing.sector_diagram import SectorBar, sectors_svg

BARS = [SectorBar(230.0, 240.0, 12.0), SectorBar(240.0, 250.0, -7.0), SectorBar(250.0, 260.0, None)]


def test_the_same_sectors_are_the_same_bytes():
    assert sectors_svg(BARS) == sectors_svg(BARS)


def test_what_is_over_is_hatched_and_the_unknown_is_not_drawn():
    assert "<pattern" in sectors_svg(BARS[:1])
    assert "<pattern" not in sectors_svg(BARS[1:])
    assert sectors_svg(BARS[1:]) == sectors_svg(BARS[1:2])
    assert "0 dB" in sectors_svg(BARS)
    assert "+10" in sectors_svg(BARS)


def test_no_sector_at_all_is_a_ring():
    assert sectors_svg([]).count("<path") > 2
