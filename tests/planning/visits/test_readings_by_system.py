"""Readings go by system: what the sheet of each of the five families asks, and what is taken from it."""

from __future__ import annotations

import pytest

from combe.errors import RangeError, TableError
from combe.planning.visits.reading_file import read_readings
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.standards.systems import TELEVISION_SYSTEMS
from combe.standards.visit_readings import FAMILIES, ROUTINE_READINGS, family_of, source_words
from support_visits import STATIONS, TODAY, row, write_table

ALL = {
    ("feeder", "level"), ("splitter port", "level"), ("receiver", "level"), ("receiver", "AGC voltage"),
    ("receiver", "C/N"), ("output coupler", "output power"), ("output coupler", "ERP"),
    ("output coupler", "reflected power"), ("output coupler", "return loss"),
    ("output coupler", "intermodulation"), ("output coupler", "frequency error"),
    ("local oscillator", "frequency error"), ("equipment", "supply voltage"), ("equipment", "temperature"),
}  # fmt: skip
DIGITAL = {("receiver", "uncorrected errors"), ("output coupler", "shoulders")}
OFDM = DIGITAL | {("receiver", "MER"), ("output coupler", "MER")}
VITERBI = ("receiver", "BER after inner decoding")
OWN = {
    "DVB-T": OFDM | {VITERBI},
    "DVB-T2": OFDM | {("receiver", "BER after LDPC")},
    "ISDB-T": OFDM | {VITERBI},
    "DTMB": OFDM,
    "ATSC": DIGITAL | {("receiver", "segment error ratio"), ("receiver", "S/N"), ("output coupler", "S/N")},
    "analogue": {("output coupler", "vision-to-sound ratio"), ("demodulated output", "video S/N")},
}


def asked(family):
    rows = sheet_rows(SheetSite("A", ("One",), family=family, splitter_ports=1), {})
    return {(each.row.test_point, each.row.quantity) for each in rows if each.row.scale != "check"}


@pytest.mark.parametrize("family", FAMILIES)
def test_a_sheet_asks_for_what_its_family_has(family):
    assert asked(family) == ALL | OWN[family]


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_each_system_is_of_a_family(name):
    system = TELEVISION_SYSTEMS[name]
    found = family_of(name, analogue=system.analogue_name is not None)
    assert found == ("analogue" if system.analogue_name else name.split()[0])
    assert len(asked(found)) >= len(ALL) + 2


def test_a_system_of_no_family_has_no_empty_sheet():
    with pytest.raises(RangeError, match="system of routine readings is 'DVB-T3'; allowed: one of DVB-T,"):
        family_of("DVB-T3", analogue=False)
    with pytest.raises(RangeError, match="family of a sheet's system is 'DVB-T2 7 MHz'"):
        SheetSite("A", ("One",), family="DVB-T2 7 MHz")


VITERBI_ROW = row(test_point="receiver", quantity="BER after inner decoding", value="1e-6", unit="ratio")


def test_a_reading_that_the_system_does_not_have_is_refused(tmp_path):
    path = write_table(tmp_path / "readings.csv", VITERBI_ROW)
    words = (
        "row 2: BER after inner decoding at receiver is a reading of DVB-T and ISDB-T, not of DVB-T2; "
        "see the blank sheet"
    )
    with pytest.raises(TableError, match=words):
        read_readings(path, STATIONS, today=TODAY, family="DVB-T2")
    (reading,) = read_readings(path, STATIONS, today=TODAY, family="ISDB-T").readings
    assert reading.quantity == "BER after inner decoding"


@pytest.mark.parametrize("row", ROUTINE_READINGS, ids=lambda row: f"{row.test_point}, {row.quantity}")
def test_each_row_names_a_source_or_says_that_it_has_none(row):
    words = source_words(row)
    if row.confidence == "from memory":
        assert words == "common practice, no source" or words.endswith("(from memory, unverified)")
    else:
        assert (row.confidence, words) == ("read", "47 CFR 74.795")


@pytest.mark.parametrize(
    ("place", "quantity", "limit", "source"),
    [
        # Quasi error free, from memory: 2e-4 before the outer decoder; 1e-7 before BCH.
        ("receiver", "BER after inner decoding", 2e-4, "EN 300 744"),
        ("receiver", "BER after LDPC", 1e-7, "EN 302 755"),
        # Threshold of visibility, from memory.
        ("receiver", "segment error ratio", 1.93e-4, "ATSC A/74"),
    ],
)
def test_the_errors_that_are_too_many(place, quantity, limit, source):
    row = next(each for each in ROUTINE_READINGS if (each.test_point, each.quantity) == (place, quantity))
    assert row.highest == limit
    assert source in row.reference


def test_the_signal_of_atsc_at_the_output():
    """ATSC A/64, from memory: at least 27 dB."""
    row = next(each for each in ROUTINE_READINGS if each.quantity == "S/N" and each.lowest is not None)
    assert (row.lowest, row.families, "A/64" in row.reference) == (27.0, ("ATSC",), True)
