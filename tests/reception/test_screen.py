"""The screen of an analyser against figures worked by hand."""

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.reception.screen import Analyser, Shape, by_band, noise_at_dbm, screen_of, shown_dbm

WIDE = Analyser()


def test_a_block_stands_lower_by_its_width_over_the_resolution():
    # −28.8 dBm over 7.61 MHz in 100 kHz: 10 log 76.1 = 18.81 dB.
    assert shown_dbm(Shape(482.0, 7.61, -28.8), WIDE) == pytest.approx(-47.61, abs=0.01)
    # A tenth of the bandwidth takes 10 dB more.
    assert shown_dbm(Shape(482.0, 7.61, -28.8), Analyser(10.0)) == pytest.approx(-57.61, abs=0.01)


def test_a_carrier_stands_at_its_power_whatever_the_resolution():
    for resolution_khz in (1.0, 30.0, 1000.0):
        assert shown_dbm(Shape(471.25, 0.0, -30.0), Analyser(resolution_khz)) == -30.0


def test_the_noise_of_the_analyser_and_of_the_chain():
    # k·290 K in 100 kHz is −123.98 dBm; a noise figure of 25 dB brings it to −98.98.
    assert WIDE.noise_dbm == pytest.approx(-98.98, abs=0.01)
    assert noise_at_dbm(None, WIDE) == WIDE.noise_dbm
    assert noise_at_dbm(WIDE.noise_dbm, WIDE) == pytest.approx(WIDE.noise_dbm + 3.01, abs=0.01)


@pytest.mark.parametrize(("name", "value"), [("resolution_khz", 0.5), ("noise_figure_db", -1.0)])
def test_an_analyser_that_nobody_has(name, value):
    with pytest.raises(RangeError, match=f"{name} of the analyser"):
        Analyser(**{name: value})


def test_bands_have_screens_of_their_own():
    shapes = [Shape(mhz, 0.0, -50.0) for mhz in (634.0, 198.5, 482.0, 212.5)]
    assert by_band(shapes) == [[1, 3], [2], [0]] or by_band(shapes) == [[1, 3], [2, 0]]
    assert by_band([Shape(mhz, 0.0, -50.0) for mhz in (482.0, 550.0, 634.0)]) == [[0, 1, 2]]


def test_the_screen_holds_all_signals_under_its_upper_edge():
    shapes = [Shape(482.0, 7.61, -28.8), Shape(530.0, 7.61, -32.7)]
    screen = screen_of(shapes, WIDE, WIDE.noise_dbm)
    assert (screen.start_mhz, screen.stop_mhz) == (455.0, 555.0)
    # The strongest stands at −47.6 dBm: with 3 dB of room the next tens above are −40.
    assert screen.reference_dbm == -40.0
    line = dict(zip(screen.frequency_mhz, screen.level_dbm, strict=True))
    assert line[482.0] == pytest.approx(-47.61, abs=0.01)
    assert line[505.0] == pytest.approx(WIDE.noise_dbm, abs=1e-6)


def test_powers_on_one_channel_add_up():
    both = screen_of([Shape(482.0, 7.61, -30.0), Shape(482.0, 7.61, -30.0)], WIDE, -150.0)
    one = screen_of([Shape(482.0, 7.61, -30.0)], WIDE, -150.0)
    assert max(both.level_dbm) - max(one.level_dbm) == pytest.approx(3.01, abs=0.01)


def test_the_line_over_a_block_holds_its_power():
    analyser = Analyser(30.0)
    screen = screen_of([Shape(482.0, 7.61, -30.0)], analyser, -200.0)
    power = np.trapezoid(10.0 ** (np.array(screen.level_dbm) / 10.0), screen.frequency_mhz)
    assert 10.0 * math.log10(power / analyser.resolution_mhz) == pytest.approx(-30.0, abs=0.05)


def test_a_carrier_falls_off_as_the_filter_does():
    analyser = Analyser(1000.0)
    screen = screen_of([Shape(475.0, 0.0, -30.0), Shape(482.0, 0.0, -80.0)], analyser, -200.0)
    step = screen.frequency_mhz[1] - screen.frequency_mhz[0]
    at = screen.frequency_mhz.index(475.0)
    assert screen.level_dbm[at] == pytest.approx(-30.0, abs=1e-6)
    # One resolution bandwidth beyond the point of the carrier: four times 3 dB.
    away = at + round((1.0 + step / 2.0) / step)
    beyond = screen.frequency_mhz[away] - 475.0 - step / 2.0
    assert screen.level_dbm[away] == pytest.approx(-30.0 - 10.0 * math.log10(2.0) * 4.0 * beyond**2, abs=0.01)
