"""Checks of the protection ratios of far channels and of where the image lies."""

from __future__ import annotations

import pytest

from combe.evidence.protection import FAR, IMAGES
from combe.standards.far_channels import FAR_RATIOS, IMAGE_RATIOS, far_ratio, image_ratio, image_steps
from combe.standards.frequency_relations import PUBLISHED_SPACINGS
from combe.standards.protection import SignalKind

# The ratios themselves are cases of evidence (combe.evidence.protection), which tests/evidence runs.


@pytest.mark.parametrize("unwanted", FAR)
def test_no_other_step_has_a_ratio(unwanted: SignalKind) -> None:
    found = {step for step in range(-20, 21) if far_ratio("analogue 525", unwanted, step) is not None}
    assert found == set(FAR[unwanted][1])


def test_every_row_is_tested_and_marked() -> None:
    assert len(FAR_RATIOS) == sum(len(ratios) for _, ratios in FAR.values())
    assert {(row.wanted, row.unwanted) for row in IMAGE_RATIOS} == {row[:2] for row in IMAGES}
    assert {row.confidence for row in (*FAR_RATIOS, *IMAGE_RATIOS)} == {"from memory"}


def test_far_steps_are_those_of_the_published_list() -> None:
    """47 CFR 73.698 Table II has each of these steps, under the same relation."""
    published = {(row.relation, step) for row in PUBLISHED_SPACINGS for step in row.channel_steps}
    assert {(row.relation, row.channel_step) for row in FAR_RATIOS} <= published


def test_image_ratios_say_how_little_they_are_trusted() -> None:
    """ITU-R BT.655-7: -1 to -13 dB by system; BT.1368-13 and IEC 62216: all from memory."""
    assert all("little confidence" in row.reference for row in IMAGE_RATIOS)
    assert image_ratio("ATSC", "ATSC") is None


# By the rule image = 2 LO − f: n+9 and n+10 for I, n+9 for G, n+8 and n+9 for D/K, n+14 and n+15 for M.
@pytest.mark.parametrize(
    ("name", "width_mhz", "steps"),
    [
        ("I", 8.0, (9, 10)),
        ("G", 8.0, (9,)),
        ("D/K", 8.0, (8, 9)),
        ("B", 7.0, (10, 11)),
        ("M", 6.0, (14, 15)),
        (None, 8.0, (9,)),
    ],
)
def test_image_steps(name: str | None, width_mhz: float, steps: tuple[int, ...]) -> None:
    assert image_steps(name, width_mhz) == steps
