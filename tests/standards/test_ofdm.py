"""Durations of OFDM symbols: the tables of EN 302 755 and EN 300 744, and what does not exist."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards import ofdm_standard, symbol_timing

C_KM_PER_US = 0.299792458


@pytest.mark.parametrize(
    ("size", "guard", "guard_us", "km"),
    [
        ("8k", "1/32", 28.0, 8.394),
        ("8k", "1/8", 112.0, 33.577),
        ("16k", "19/128", 266.0, 79.745),
        ("32k", "1/8", 448.0, 134.307),
        ("32k", "19/128", 532.0, 159.490),
    ],
)
def test_guard_intervals_in_8_mhz_are_those_of_the_tables(
    size: str, guard: str, guard_us: float, km: float
) -> None:
    pattern = "PP2"
    found = symbol_timing("DVB-T2", 8.0, size, guard, pattern)
    assert found.guard_us == pytest.approx(guard_us, abs=1e-9)
    assert found.guard_us * C_KM_PER_US == pytest.approx(km, abs=5e-4)


@pytest.mark.parametrize(
    ("width_mhz", "size", "useful_us"),
    [
        (8.0, "8k", 896.0),
        (7.0, "8k", 1024.0),
        (6.0, "8k", 1194.667),
        (1.7, "2k", 1109.985),
        (10.0, "32k", 2867.2),
    ],
)
def test_the_useful_part_follows_the_width_of_the_channel(
    width_mhz: float, size: str, useful_us: float
) -> None:
    assert symbol_timing("DVB-T2", width_mhz, size, None, "PP2").useful_us == pytest.approx(
        useful_us, abs=5e-4
    )


def test_isdbt_has_its_own_symbols() -> None:
    # STD-B31, mode 3: 1008 µs, guard 1/8 126 µs; pilots bear a third of it, 336 µs.
    found = symbol_timing("ISDB-T", 6.0, "mode 3", "1/8")
    assert found[:3] == pytest.approx((1008.0, 126.0, 336.0))
    assert symbol_timing("ISDB-T", 8.0, "mode 3", "1/8").useful_us == pytest.approx(756.0)


def test_equalised_time_follows_the_pilots() -> None:
    # Review 295: 7/24 of the symbol; DVB-T2: 57/64 of the spacing of pilots, 32k with PP4 266 µs.
    assert symbol_timing("DVB-T", 8.0, "8k", "1/4").equalised_us == pytest.approx(261.333, abs=5e-4)
    assert symbol_timing("DVB-T2", 8.0, "32k", "1/32", "PP4").equalised_us == pytest.approx(266.0)


def test_what_the_guard_interval_allows_is_always_borne() -> None:
    # PP6 alone would bear 133 µs; a guard interval of 1/16, 224 µs, is no shorter for that.
    found = symbol_timing("DVB-T2", 8.0, "32k", "1/16", "PP6")
    assert found.equalised_us == found.guard_us == pytest.approx(224.0)


def test_usual_symbols_are_taken_where_none_is_told() -> None:
    assert symbol_timing("DVB-T2", 8.0).words == "DVB-T2 32k, guard interval 1/8 (448 µs), PP2"
    assert symbol_timing("DVB-T", 8.0).words == "DVB-T 8k, guard interval 1/4 (224 µs)"
    assert symbol_timing("ISDB-T", 6.0).words == "ISDB-T mode 3, guard interval 1/8 (126 µs)"


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("PAL I", 8.0), "standard of a network on one frequency is 'PAL I'"),
        (("DVB-T", 8.0, "32k"), "size of DVB-T is '32k'"),
        (("DVB-T2", 8.0, "32k", "1/4"), "guard interval of DVB-T2 32k is '1/4'"),
        (("DVB-T2", 8.0, "32k", "1/8", "PP1"), "pilot pattern of DVB-T2 32k is 'PP1'"),
        (("DVB-T", 8.0, "8k", "1/4", "PP1"), "pilot pattern of DVB-T is 'PP1'"),
        (("DVB-T", 9.0), "channel width of DVB-T [MHz] is 9"),
        (("ISDB-T", 5.0), "channel width of ISDB-T [MHz] is 5"),
    ],
)
def test_what_does_not_exist_is_refused_in_one_line(asked: tuple[str, ...], words: str) -> None:
    with pytest.raises(RangeError) as caught:
        symbol_timing(*asked)  # type: ignore[arg-type]
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("name", "standard"),
    [
        ("DVB-T", "DVB-T"),
        ("DVB-T 7 MHz", "DVB-T"),
        ("DVB-T2", "DVB-T2"),
        ("ISDB-T", "ISDB-T"),
        ("ATSC", None),
    ],
)
def test_systems_whose_echoes_add(name: str, standard: str | None) -> None:
    assert ofdm_standard(name) == standard
