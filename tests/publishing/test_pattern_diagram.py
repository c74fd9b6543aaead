"""The pictures of an aerial's patterns."""

import pytest

from combe.publishing.pattern_diagram import FLOOR_DB, _shown, horizontal_svg, vertical_svg

BEARINGS, LEVELS = (0.0, 90.0, 180.0, 270.0), (0.0, -3.0, -200.0, -3.0)


@pytest.mark.parametrize("draw", [horizontal_svg, vertical_svg])
def test_the_same_pattern_gives_the_same_bytes(draw):
    angles = BEARINGS if draw is horizontal_svg else (-90.0, 0.0, 45.0, 90.0)
    svg = draw(angles, LEVELS)
    assert svg == draw(angles, LEVELS)
    assert svg != draw(angles, (0.0, -9.0, -200.0, -3.0))
    assert "−20" in svg


def test_what_is_below_the_picture_lies_on_its_edge():
    assert list(_shown(LEVELS)) == [0.0, -3.0, FLOOR_DB, -3.0]
