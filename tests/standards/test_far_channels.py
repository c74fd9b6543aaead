"""Checks of the protection ratios of far channels and of where the image lies."""

from __future__ import annotations

import pytest

from combe.standards.far_channels import FAR_RATIOS, IMAGE_RATIOS, far_ratio, image_ratio, image_steps
from combe.standards.frequency_relations import PUBLISHED_SPACINGS

# FCC OET Bulletin 69, analogue disturbed by ATSC, and 47 CFR 74.705(d), all from memory.
BY_ATSC = {
    -8: -32,
    -7: -35,
    -4: -34,
    -3: -30,
    -2: -24,
    2: -28,
    3: -34,
    4: -25,
    7: -43,
    8: -43,
    14: -33,
    15: -31,
}
BY_ANALOGUE = {14: -23, 15: -6}


@pytest.mark.parametrize(("unwanted", "table"), [("ATSC", BY_ATSC), ("analogue 525", BY_ANALOGUE)])
def test_far_ratios(unwanted: str, table: dict[int, float]) -> None:
    found = {
        step: row.ratio_db
        for step in range(-20, 21)
        if (row := far_ratio("analogue 525", unwanted, step))  # type: ignore[arg-type]
    }
    assert found == table


def test_every_row_is_tested_and_marked() -> None:
    assert len(FAR_RATIOS) == len(BY_ATSC) + len(BY_ANALOGUE)
    assert {row.confidence for row in (*FAR_RATIOS, *IMAGE_RATIOS)} == {"from memory"}


def test_far_steps_are_those_of_the_published_list() -> None:
    """47 CFR 73.698 Table II has each of these steps, under the same relation."""
    published = {(row.relation, step) for row in PUBLISHED_SPACINGS for step in row.channel_steps}
    assert {(row.relation, row.channel_step) for row in FAR_RATIOS} <= published


# ITU-R BT.655-7: -1 to -13 dB by system; BT.1368-13 and IEC 62216: all from memory, with little confidence.
@pytest.mark.parametrize(
    ("wanted", "unwanted", "tropospheric_db", "continuous_db"),
    [("analogue 625", "analogue 625", -1, 9), ("analogue 625", "DVB", -16, -11), ("DVB", "DVB", -31, -31)],
)
def test_image_ratios(wanted: str, unwanted: str, tropospheric_db: float, continuous_db: float) -> None:
    row = image_ratio(wanted, unwanted)  # type: ignore[arg-type]
    assert row is not None
    assert (row.tropospheric_db, row.continuous_db) == (tropospheric_db, continuous_db)
    assert "little confidence" in row.reference
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
