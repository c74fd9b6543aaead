"""Areas side by side look unlike for every eye."""

import numpy as np
import pytest

from combe.publishing.area_colours import LOOKS, area_looks
from combe.publishing.colours import rgb_of, station_colours


def lightness(colour):
    """Return the CIE lightness of a colour, 0 to 100, by IEC 61966-2-1 (from memory)."""
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in np.array(rgb_of(colour)) / 255.0
    ]
    return 116.0 * np.cbrt(np.dot([0.2126, 0.7152, 0.0722], linear)) - 16.0


def test_a_few_areas_have_the_colours_of_rasters():
    looks = area_looks(np.zeros((1, 1), dtype=int), 8)
    assert tuple(colour for colour, _ in looks) == station_colours(8)


def test_no_two_of_as_many_areas_as_there_are_looks_share_one():
    looks = area_looks(np.zeros((1, 1), dtype=int), LOOKS)
    assert len(set(looks)) == LOOKS == 32


@pytest.mark.parametrize("count", [8, 32])
def test_where_colours_are_as_light_as_one_another_patterns_differ(count):
    """Who sees no hue at all tells them apart still."""
    looks = area_looks(np.zeros((1, 1), dtype=int), count)
    for at, (one, pattern) in enumerate(looks):
        for other, beside in looks[at + 1 :]:
            assert pattern != beside or abs(lightness(one) - lightness(other)) > 5.0


def test_with_many_areas_no_two_that_touch_look_alike():
    random = np.random.default_rng(3)
    # Places nearest to one of many points: each area has its neighbours all around it.
    points = random.uniform(0.0, 90.0, (200, 2))
    y, x = np.mgrid[0:90, 0:90]
    codes = 1 + np.argmin((y[..., None] - points[:, 0]) ** 2 + (x[..., None] - points[:, 1]) ** 2, axis=-1)
    codes[:3] = 65535
    looks = area_looks(codes, 200)
    assert len(looks) == 200
    met = 0
    for one, other in ((codes[:, :-1], codes[:, 1:]), (codes[:-1], codes[1:])):
        for a, b in zip(one.ravel(), other.ravel(), strict=True):
            if a != b and max(a, b) <= 200:
                assert looks[a - 1] != looks[b - 1]
                met += 1
    assert met > 500
