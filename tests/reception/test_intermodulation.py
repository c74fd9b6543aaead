"""Checks of third-order products: where they fall, how strong they are, and against which limit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.reception.intermodulation import (
    ToneCarrier,
    in_band_product_over_vision_mhz,
    judge_products,
    products_in_band,
    required_oip3_over_peak_sync_db,
    third_order_products,
    three_tone_carriers,
)
from combe.standards.analogue import analogue_system

PAIR = (ToneCarrier("a", 500.0, 30.0), ToneCarrier("b", 508.0, 30.0))


# Sound less chroma over vision: 6.0 - 4.434 and so on, worked from BT.470 carriers.
@pytest.mark.parametrize(
    ("name", "over_mhz"), [("I", 1.566), ("B", 1.066), ("G", 1.066), ("D/K", 2.066), ("M", 0.920)]
)
def test_in_band_product(name: str, over_mhz: float) -> None:
    system = analogue_system(name)
    assert in_band_product_over_vision_mhz(system) == pytest.approx(over_mhz, abs=0.001)
    products = third_order_products(three_tone_carriers(system), 12.0)
    made = {each.made_of: each for each in products}["vision", "sound", "sideband"]
    assert made.frequency_mhz == pytest.approx(over_mhz, abs=0.001)
    assert made.level_dbm == pytest.approx(-8.0 - 10.0 - 16.0 - 24.0 + 6.02, abs=0.005)


# P(a+b-c) = Pa + Pb + Pc - 2 OIP3 + 6 dB with tones of -8, -10 and -16 dB, worked; limits from memory.
@pytest.mark.parametrize(("limit_db", "intercept_db"), [(-51.0, 11.5), (-54.0, 13.0), (-60.0, 16.0)])
def test_intercept_that_a_limit_asks(limit_db: float, intercept_db: float) -> None:
    assert required_oip3_over_peak_sync_db(limit_db) == pytest.approx(intercept_db, abs=0.05)
    products = third_order_products(
        three_tone_carriers(analogue_system("I")), required_oip3_over_peak_sync_db(limit_db)
    )
    verdict = judge_products(products_in_band(products, 1.5, 1.6), reference_dbm=0.0, limit_db=limit_db)
    assert verdict.worst_relative_db == pytest.approx(limit_db)
    assert verdict.verdict == "passes"


def test_two_equal_tones() -> None:
    """Relative level 2(P - OIP3): 30 dBm against 45 dBm is -30 dB; at 2a - b and 2b - a."""
    products = third_order_products(PAIR, 45.0)
    assert [each.frequency_mhz for each in products] == [492.0, 516.0]
    assert [each.level_dbm - 30.0 for each in products] == pytest.approx([-30.0, -30.0])


@given(st.floats(-10.0, 40.0), st.floats(0.1, 6.0))
def test_one_db_of_drive_makes_two_db(level_dbm: float, more_db: float) -> None:
    before, after = (
        third_order_products([replace(each, level_dbm=level) for each in PAIR], 45.0)[0].level_dbm - level
        for level in (level_dbm, level_dbm + more_db)
    )
    assert after - before == pytest.approx(2.0 * more_db, abs=1e-9)


def test_levels_agree_with_a_cubic_amplifier() -> None:
    """Three cosines through x + k x^3; the intercept of two equal tones is k = -4/(3 A^2)."""
    count, places, amplitudes = 4096, (400, 430, 473), (0.02, 0.016, 0.01)
    oip3_db = 10.0
    time = np.arange(count) / count
    wave = sum(a * np.cos(2.0 * np.pi * n * time) for a, n in zip(amplitudes, places, strict=True))
    cubic = wave - 4.0 / (3.0 * 10.0 ** (oip3_db / 10.0)) * wave**3
    spectrum_db = 20.0 * np.log10(np.abs(np.fft.rfft(cubic)) * 2.0 / count + 1e-20)
    carriers = [
        ToneCarrier(str(n), float(n), 20.0 * math.log10(a)) for a, n in zip(amplitudes, places, strict=True)
    ]
    products = third_order_products(carriers, oip3_db)
    assert len(products) == 9
    for product in products:
        assert spectrum_db[round(product.frequency_mhz)] == pytest.approx(product.level_dbm, abs=0.02)


@given(st.integers(2, 8))
def test_how_many(number: int) -> None:
    carriers = [ToneCarrier(f"c{i}", 500.0 + 8.0 * i, 30.0) for i in range(number)]
    products = third_order_products(carriers, 45.0)
    assert sum(each.kind == "2a-b" for each in products) == number * (number - 1)
    assert sum(each.kind == "a+b-c" for each in products) == number * (number - 1) * (number - 2) // 2
    places = [each.frequency_mhz for each in products]
    assert places == sorted(places)
    assert min(places) == 500.0 - 8.0 * (number - 1)


def test_products_of_four_channels_fall_on_one_of_them() -> None:
    """Equal spacing puts products on the channels themselves: on b fall 2c - d, a + c - b and a + d - c."""
    carriers = [ToneCarrier(name, 500.0 + 8.0 * i, 30.0) for i, name in enumerate("abcd")]
    hits = products_in_band(third_order_products(carriers, 45.0), 507.0, 509.0)
    assert {(each.kind, each.made_of) for each in hits} == {
        ("2a-b", ("c", "d")),
        ("a+b-c", ("a", "c", "b")),
        ("a+b-c", ("a", "d", "c")),
    }


def test_verdict_against_a_limit() -> None:
    products = third_order_products(PAIR, 45.0)
    verdict = judge_products(products, reference_dbm=30.0, limit_db=-36.0)
    assert (verdict.verdict, verdict.worst_relative_db) == ("fails", pytest.approx(-30.0))
    assert (verdict.margin_db, verdict.sum_db) == (pytest.approx(-6.0), pytest.approx(-26.99, abs=0.005))
    assert judge_products(products, reference_dbm=30.0, limit_db=-30.0).verdict == "passes"


def test_no_product_no_fault() -> None:
    verdict = judge_products([], reference_dbm=30.0, limit_db=-36.0)
    assert (verdict.worst, verdict.verdict, verdict.margin_db) == (None, "passes", math.inf)


def test_refused() -> None:
    with pytest.raises(RangeError, match="number of carriers is 1; allowed: 2 to 40"):
        third_order_products(PAIR[:1], 45.0)
    with pytest.raises(RangeError, match="name of the carriers is 'a' more than once"):
        third_order_products([PAIR[0], PAIR[0]], 45.0)
    with pytest.raises(RangeError, match=r"limit_db of the intermodulation is 0.0; allowed: -120 to -1"):
        judge_products([], reference_dbm=30.0, limit_db=0.0)
