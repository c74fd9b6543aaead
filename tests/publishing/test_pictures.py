"""Tests of shading, colours and packing."""

import base64
import zlib

import numpy as np
import pytest

from combe.errors import RangeError
from combe.publishing.colours import RAMPS, class_colours, hillshade, ramp_colour
from combe.publishing.map_grid import in_steps, pack, pack_alike


def unpack(text: str, shape: tuple[int, int]) -> np.ndarray:
    """Undo the packing, written apart from it."""
    planes = (
        np.frombuffer(zlib.decompress(base64.b64decode(text)), dtype=np.uint8).reshape(2, *shape).astype(int)
    )
    folded = planes[0] + 256 * planes[1]
    difference = np.where(folded % 2, -(folded + 1) // 2, folded // 2)
    first = np.cumsum(difference[:, 0])
    rest = np.cumsum(difference[:, 1:], axis=1)
    return np.concatenate([first[:, None], first[:, None] + rest], axis=1) % 65536


def test_flat_ground_is_evenly_lit_and_voids_are_nought():
    heights = np.full((5, 6), 100.0)
    heights[2, 3] = np.nan
    shade = hillshade(heights, 50.0)
    assert shade[2, 3] == 0
    assert len(np.unique(np.delete(shade.ravel(), 2 * 6 + 3))) == 1
    assert (hillshade(np.full((3, 3), np.nan), 50.0) == 0).all()


def test_slopes_to_the_north_west_are_bright():
    y, x = np.mgrid[0:20, 0:20] * 50.0
    facing_nw, facing_se = hillshade((x + y) * 0.4, 50.0), hillshade(-(x + y) * 0.4, 50.0)
    assert facing_nw[10, 10] > 180 > 90 > facing_se[10, 10]


@pytest.mark.parametrize("ramp", RAMPS)
def test_ramps_keep_their_order_in_grey(ramp):
    def luminance(colour):
        parts = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
        return float(
            np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
            @ [0.2126, 0.7152, 0.0722]
        )

    lightness = [116 * luminance(colour) ** (1 / 3) - 16 for colour in class_colours(ramp, 5)]
    assert (np.diff(lightness) < -6).all()


# Fabio Crameri, Scientific colour maps, doi:10.5281/zenodo.1243862: batlow at ten equal steps. A table of ten
# shares only its ends with the thirteen colours that the ramp interpolates, so this checks those between,
# within the ten levels (of 255) that straight lines between thirteen colours cost.
BATLOW_TEN = (
    "011959",
    "103f60",
    "1c5a62",
    "3c6d56",
    "687b3e",
    "9c882b",
    "d19243",
    "f7a07b",
    "fcb6bb",
    "f9cbf9",
)


@pytest.mark.parametrize(("step", "want"), list(enumerate(BATLOW_TEN)))
def test_batlow_between_its_anchors(step, want):
    got = bytes.fromhex(ramp_colour("batlow", step / 9)[1:])
    assert max(abs(a - b) for a, b in zip(got, bytes.fromhex(want), strict=True)) <= 10


def test_unknown_ramp():
    with pytest.raises(RangeError, match="colour ramp is jet; allowed: batlow, viridis, cividis"):
        class_colours("jet")


def test_values_are_rounded_down_to_steps():
    grid = in_steps(np.array([[49.99, 50.0, -0.01, np.nan, 50.09]]), 10)
    values = (grid.codes.astype(int) - 1 + grid.base) / 10
    assert values[0, [0, 1, 2, 4]].tolist() == [49.9, 50.0, -0.1, 50.0]
    assert grid.codes[0, 3] == 0


def test_packing_keeps_every_code():
    rng = np.random.default_rng(5)
    values = rng.normal(0, 800, (40, 33))
    values[rng.random(values.shape) < 0.1] = np.nan
    grid = in_steps(values, 10)
    np.testing.assert_array_equal(unpack(pack(grid), values.shape), grid.codes)


def test_alike_grids_pack_against_each_other():
    rng = np.random.default_rng(6)
    base = rng.normal(50, 15, (60, 60)).round(1)
    grids = {
        "a": in_steps(base, 10),
        "b": in_steps(base - 3.0, 10),
        "c": in_steps(rng.normal(50, 15, (60, 60)), 10),
    }
    packed = {one["key"]: one for one in pack_alike(grids)}
    assert [packed[key]["like"] for key in "abc"] == [None, "a", None]
    assert len(packed["b"]["packed"]) < 0.2 * len(packed["a"]["packed"])
    got = (unpack(packed["b"]["packed"], base.shape) + grids["a"].codes) % 65536
    np.testing.assert_array_equal(got, grids["b"].codes)


def test_too_wide_a_span():
    with pytest.raises(RangeError, match="use coarser steps"):
        in_steps(np.array([[0.0, 7000.0]]), 10)
