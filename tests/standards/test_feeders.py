"""Checks of the feeder table: each row as read, and interpolated."""

from __future__ import annotations

import math

import pytest

from combe.errors import RangeError
from combe.standards.feeders import (
    CONNECTOR_LOSS_DB,
    FEEDERS,
    connector_loss_db,
    feeder_exponent,
    feeder_loss_db,
    feeder_loss_db_per_100m,
)

# Generic 50 ohm feeders, public attenuation tables at 450 and 850 MHz; between them a power law, computed.
AT_MHZ = (450, 500, 600, 700, 800, 850)
TABLE = {
    "1/2 in foam": (5.2, 5.4, 5.9, 6.3, 6.6, 6.8),
    "7/8 in foam": (2.6, 2.8, 3.1, 3.3, 3.6, 3.7),
    "1-5/8 in foam": (1.7, 1.8, 1.9, 2.1, 2.2, 2.3),
    "10 mm braided, solid polyethylene": (16.3, None, None, None, None, 24.7),
}


@pytest.mark.parametrize("name", TABLE)
def test_loss_of_a_size(name: str) -> None:
    for frequency_mhz, loss_db in zip(AT_MHZ, TABLE[name], strict=True):
        if loss_db is not None:
            tolerance_db = 1e-9 if frequency_mhz in (450, 850) else 0.0505
            assert feeder_loss_db_per_100m(name, frequency_mhz) == pytest.approx(loss_db, abs=tolerance_db)


def test_the_table_is_the_one_tested() -> None:
    assert set(FEEDERS) == set(TABLE)
    assert all(row.confidence == "read" for row in FEEDERS.values())


# Loss goes about as the square root of the frequency and a little faster.
@pytest.mark.parametrize("name", TABLE)
def test_exponent(name: str) -> None:
    ratio = feeder_loss_db_per_100m(name, 800.0) / feeder_loss_db_per_100m(name, 400.0)
    assert 0.40 <= math.log2(ratio) <= 0.70


@pytest.mark.parametrize("name", TABLE)
def test_at_vhf_loss_goes_as_the_square_root_of_the_frequency(name: str) -> None:
    read_db = TABLE[name][0]
    assert feeder_loss_db_per_100m(name, 450.0 / 9.0) == pytest.approx(read_db / 3.0)
    assert feeder_loss_db_per_100m(name, 200.0) == pytest.approx(read_db * 2.0 / 3.0)
    assert (feeder_exponent(name, 200.0), feeder_exponent(name, 600.0) > 0.4) == (0.5, True)


def test_length() -> None:
    assert feeder_loss_db("7/8 in foam", 450.0, 50.0) == pytest.approx(1.3)
    assert feeder_loss_db("7/8 in foam", 450.0, 0.0) == 0.0


# A published training guide allows 0.5 dB per connection at 450 and 0.6 dB at 850 MHz, on the safe side.
@pytest.mark.parametrize(
    ("frequency_mhz", "loss_db"),
    [(50.0, 0.5), (400.0, 0.5), (450.0, 0.5), (650.0, 0.55), (850.0, 0.6), (900.0, 0.6)],
)
def test_connection(frequency_mhz: float, loss_db: float) -> None:
    assert connector_loss_db(frequency_mhz) == pytest.approx(loss_db)
    assert {row.confidence for row in CONNECTOR_LOSS_DB.values()} == {"read"}


def test_refused() -> None:
    with pytest.raises(
        RangeError, match="feeder is '3/8 in'; allowed: 1/2 in foam, 7/8 in foam, 1-5/8 in foam"
    ):
        feeder_loss_db_per_100m("3/8 in", 600.0)
    with pytest.raises(RangeError, match=r"frequency_mhz of a feeder is 39.0; allowed: 40 to 900"):
        feeder_loss_db_per_100m("1/2 in foam", 39.0)
    with pytest.raises(RangeError, match=r"length_m of a feeder is -1.0; allowed: 0 to 500"):
        feeder_loss_db("1/2 in foam", 600.0, -1.0)
    with pytest.raises(RangeError, match="frequency_mhz of a connector is nan; allowed: 40 to 900"):
        connector_loss_db(math.nan)
