"""The routine readings: every row whole, and the values of the trade and of the rules."""

import pytest

from combe.errors import RangeError
from combe.standards.visit_readings import ROUTINE_READINGS, RoutineReading, is_at, reading_row, test_points

points = test_points
del test_points  # pytest would take it for a test


@pytest.mark.parametrize("row", ROUTINE_READINGS, ids=lambda row: f"{row.test_point}, {row.quantity}")
def test_a_row_is_whole(row):
    assert reading_row(f"{row.test_point} 1" if row.numbered else row.test_point, row.quantity) is row
    assert row.where
    assert row.reference
    if row.alarm is not None:
        assert row.alarm > row.tolerance
    if row.scale == "check":
        assert (row.unit, row.per_service) == ("check", False)


@pytest.mark.parametrize(
    ("place", "quantity", "field", "value"),
    [
        # Common practice, no source (from memory).
        ("feeder", "level", "tolerance", 3.0),
        ("feeder", "level", "alarm", 6.0),
        ("feeder", "level", "prediction_tolerance", 10.0),
        ("splitter port 3", "level", "tolerance", 1.0),
        ("receiver", "MER", "tolerance", 2.0),
        # Quasi error free of EN 300 744, of EN 302 755; threshold of visibility of ATSC A/74 (from memory).
        ("receiver", "BER after inner decoding", "highest", 2e-4),
        ("receiver", "BER after LDPC", "highest", 1e-7),
        ("receiver", "segment error ratio", "highest", 1.93e-4),
        ("output coupler", "output power", "tolerance", 0.5),
        ("output coupler", "return loss", "lowest", 20.0),
        ("output coupler", "return loss", "tolerance", 3.0),
        ("output coupler", "intermodulation", "highest", -51.0),
        ("output coupler", "intermodulation", "tolerance", 2.0),
        ("output coupler", "shoulders", "lowest", 36.0),
        ("output coupler", "MER", "lowest", 33.0),
        ("output coupler", "vision-to-sound ratio", "lowest", 9.0),
        ("output coupler", "vision-to-sound ratio", "highest", 11.0),
        ("output coupler", "frequency error", "highest", 500.0),
        # 47 CFR 74.795: local oscillator of an up-converter within 10 kHz.
        ("local oscillator", "frequency error", "highest", 10_000.0),
    ],
)
def test_the_values_of_the_trade(place, quantity, field, value):
    assert getattr(reading_row(place, quantity), field) == value


def test_muting_on_loss_of_input_is_the_rule_of_47_cfr_74_795():
    row = reading_row("receiver", "Shut-down on loss of input")
    assert (row.scale, row.reference, row.confidence) == ("check", "47 CFR 74.795", "read")


def test_no_two_rows_are_of_the_same_thing():
    names = [(row.test_point, row.quantity.casefold()) for row in ROUTINE_READINGS]
    assert len(set(names)) == len(names)
    assert points()[:3] == ("feeder", "splitter port", "receiver")


@pytest.mark.parametrize(
    "text", ["splitter port", "splitter port 0", "splitter port 33", "splitter port ²", "port 1"]
)
def test_a_splitter_port_has_its_number(text):
    assert reading_row(text, "level") is None


def test_spaces_and_case_do_not_matter():
    row = reading_row("Splitter  Port 02", "LEVEL")
    assert row.test_point == "splitter port"
    assert is_at(row, "SPLITTER PORT 2")


def test_a_row_that_is_not_possible():
    with pytest.raises(
        RangeError, match="side of a routine reading is 'left'; allowed: both or fall or rise"
    ):
        RoutineReading("x", "y", "dB", "z", side="left")
