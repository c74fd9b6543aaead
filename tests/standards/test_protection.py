"""Checks of the protection ratios, row by row, near and far, and of where the image lies."""

from __future__ import annotations

from collections import Counter
from typing import get_args

import pytest

from combe.errors import RangeError
from combe.evidence.protection import FAR, IMAGES, OFFSETS, RATIOS
from combe.standards.channels import PUBLISHED_SPACINGS
from combe.standards.protection import (
    ANALOGUE_OFFSET_RATIOS,
    FAR_RATIOS,
    IMAGE_RATIOS,
    PROTECTION_RATIOS,
    ChannelStep,
    SignalKind,
    far_ratio,
    image_ratio,
    image_steps,
    offset_ratio,
    protection_ratio,
    ratio_db,
)
from support_evidence import confidence_in_table

# The ratios themselves are cases of evidence (combe.evidence.protection), which tests/evidence runs.


@pytest.mark.parametrize("twelfths", range(13))
@pytest.mark.parametrize("precision", [False, True])
def test_offsets_either_way_are_alike_and_marked(twelfths: int, precision: bool) -> None:
    row = offset_ratio(twelfths, precision=precision)
    assert offset_ratio(-twelfths, precision=precision) == row
    assert row.confidence == "from memory"


def test_every_offset_row_is_tested() -> None:
    """A row more would be without a case of evidence."""
    assert len(ANALOGUE_OFFSET_RATIOS) == 26
    assert {len(ratios) for _, _, ratios in OFFSETS} == {13}
    assert len(OFFSETS) == 4


def test_usual_summary() -> None:
    """Usual summary, from memory: 45 without, 30 with two thirds of the line, 22 with precision offset."""
    assert offset_ratio(0, precision=False).tropospheric_db == 45.0
    assert offset_ratio(8, precision=False).tropospheric_db == 30.0
    assert offset_ratio(8, precision=True).tropospheric_db == 22.0


def test_every_row_is_tested_and_marked() -> None:
    known = {(row.wanted, row.unwanted, row.step): row.confidence for row in PROTECTION_RATIOS}
    published = {pair: confidence for pair, confidence in known.items() if confidence != "own choice"}
    assert published == {row[:3]: confidence_in_table(row[-1]) for row in RATIOS}
    assert Counter(known.values()) == {"read": 6, "from memory": 25, "own choice": 21}


@pytest.mark.parametrize(
    ("pair", "like"),
    [
        (("DTMB", "DTMB"), ("DVB", "DVB")),
        (("DTMB", "DVB"), ("DVB", "DVB")),
        (("DVB", "DTMB"), ("DVB", "DVB")),
        (("DTMB", "analogue 625"), ("DVB", "analogue 625")),
        (("analogue 625", "DTMB"), ("analogue 625", "DVB")),
        (("DVB", "analogue 525"), ("ISDB-T", "analogue 525")),
        (("analogue 525", "DVB"), ("analogue 525", "ISDB-T")),
    ],
)
def test_pairs_without_a_table_take_that_of_like_signals_and_say_so(pair, like) -> None:
    for step in get_args(ChannelStep):
        row, other = protection_ratio(*pair, step), protection_ratio(*like, step)
        assert row[3:5] == other[3:5]
        assert (row.confidence, row.reference.startswith("as ")) == ("own choice", True)


def test_continuous_interference_is_never_less_strict() -> None:
    for row in (*ANALOGUE_OFFSET_RATIOS, *PROTECTION_RATIOS):
        assert ratio_db(row, "continuous", 20.0) >= ratio_db(row, "tropospheric", 20.0)


def test_refused() -> None:
    with pytest.raises(
        RangeError, match="offset in twelfths of the line frequency is 13; allowed: whole, -12 to 12"
    ):
        offset_ratio(13, precision=False)
    with pytest.raises(RangeError, match="protection ratio is DVB by ATSC, co-channel; allowed: analogue"):
        protection_ratio("DVB", "ATSC", "co-channel")
    with pytest.raises(RangeError, match="kind of time is 'often'; allowed: tropospheric or continuous"):
        ratio_db(PROTECTION_RATIOS[0], "often", 20.0)  # type: ignore[arg-type]


# The ratios themselves are cases of evidence (combe.evidence.protection), which tests/evidence runs.


@pytest.mark.parametrize("unwanted", FAR)
def test_no_other_step_has_a_ratio(unwanted: SignalKind) -> None:
    found = {step for step in range(-20, 21) if far_ratio("analogue 525", unwanted, step) is not None}
    assert found == set(FAR[unwanted][1])


def test_another_multiplex_of_six_megahertz_is_taken_for_as_strong_on_the_far_channels() -> None:
    assert [far_ratio("analogue 525", "ISDB-T", step) for step in range(-20, 21)] == [
        far_ratio("analogue 525", "ATSC", step) for step in range(-20, 21)
    ]


def test_every_far_row_is_tested_and_marked() -> None:
    assert len(FAR_RATIOS) == sum(len(ratios) for _, ratios in FAR.values())
    published = [row for row in IMAGE_RATIOS if row.confidence != "own choice"]
    assert {(row.wanted, row.unwanted) for row in published} == {row[:2] for row in IMAGES}
    assert {row.confidence for row in (*FAR_RATIOS, *published)} == {"from memory"}


def test_far_steps_are_those_of_the_published_list() -> None:
    """47 CFR 73.698 Table II has each of these steps, under the same relation."""
    published = {(row.relation, step) for row in PUBLISHED_SPACINGS for step in row.channel_steps}
    assert {(row.relation, row.channel_step) for row in FAR_RATIOS} <= published


def test_image_ratios_say_how_little_they_are_trusted() -> None:
    """ITU-R BT.655-7: -1 to -13 dB by system; BT.1368-13 and IEC 62216: all from memory."""
    published = [row for row in IMAGE_RATIOS if row.confidence != "own choice"]
    assert all("little confidence" in row.reference for row in published)
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
