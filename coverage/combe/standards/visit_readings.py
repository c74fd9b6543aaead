"""The routine readings of a relay station: where each is taken, in which unit, and what change is usual.

No single standard lists them. Where no source is named a row is common practice, recalled and not read.
Three comparisons are made of a reading and each has its own column: with the value at commissioning
(``tolerance``), with the last visit (``repeat``), and with the prediction (``prediction_tolerance``).
Terrain predictions err by 6 to 9 dB from place to place and a repeated reading by 1 to 2 dB (from memory),
hence 10 dB and 2 dB.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

from combe.errors import RangeError
from combe.standards.cited import Confidence, describe, require_citation

Scale = Literal["decibel", "power", "linear", "check"]
"""How two values are compared: their difference in dB, that of 10 log of powers, their difference in the
unit, or good against not good."""

Side = Literal["both", "fall", "rise"]
"""Which change counts: any, only a fall, only a rise."""

OFDM: Final = ("DVB-T", "DVB-T2", "ISDB-T", "DTMB")
DIGITAL: Final = (*OFDM, "ATSC")
ANALOGUE: Final = "analogue"
FAMILIES: Final = (*DIGITAL, ANALOGUE)
"""Families of television systems; a reading is of those in whose receivers it exists."""

PREDICTION_TOLERANCE_DB: Final = 10.0
REPEAT_DB: Final = 2.0
PRACTICE: Final = "common practice, no source"

_QEF: Final = "EN 300 744 and ITU-R BT.1306, quasi error free: 2e-4 before the outer decoder"
_QEF_T2: Final = "EN 302 755 and ETSI TS 102 831, quasi error free: 1e-7 before the BCH decoder"
_TOV: Final = "ATSC A/74, threshold of visibility: 1.93e-4 segments with errors"
_A64: Final = "ATSC A/64, signal to noise of what is radiated: at least 27 dB"
_FCC: Final = "47 CFR 74.795"


@dataclass(frozen=True)
class RoutineReading:
    """One routine reading; ``families`` are those of the systems that have it.

    ``numbered`` test points carry a number in use, such as "splitter port 2". Tolerances are in dB for the
    scales decibel and power, else in the unit. ``lowest`` and ``highest`` are limits that hold at any
    visit, in the unit. Where ``expected_is_limit`` the study's value is the licensed one, and more is out
    at any visit.
    """

    test_point: str
    quantity: str
    unit: str
    where: str
    scale: Scale = "decibel"
    side: Side = "both"
    tolerance: float | None = None
    alarm: float | None = None
    repeat: float | None = None
    prediction_tolerance: float | None = None
    lowest: float | None = None
    highest: float | None = None
    per_service: bool = True
    numbered: bool = False
    families: tuple[str, ...] = FAMILIES
    expected_is_limit: bool = False
    reference: str = PRACTICE
    confidence: Confidence = "from memory"

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)
        for field, given, choices in (
            ("scale", self.scale, get_args(Scale)),
            ("side", self.side, get_args(Side)),
            *(("family", family, FAMILIES) for family in self.families),
        ):
            if given not in choices:
                raise RangeError(f"{field} of a routine reading", repr(given), " or ".join(choices))

    @property
    def compared_in(self) -> str:
        """Unit of a difference of two values."""
        return "dB" if self.scale in ("decibel", "power") else self.unit


def _check(test_point: str, quantity: str, where: str, **more: str) -> RoutineReading:
    reference, confidence = more.get("reference", PRACTICE), "read" if more else "from memory"
    return RoutineReading(
        test_point,
        quantity,
        "check",
        where,
        scale="check",
        per_service=False,
        reference=reference,
        confidence="read" if confidence == "read" else "from memory",
    )


_LEVEL: Final = PREDICTION_TOLERANCE_DB

ROUTINE_READINGS: Final = (
    RoutineReading(
        "feeder", "level", "dBm", "lower end of the receive aerial's feeder, into a matched meter",
        tolerance=3.0, alarm=6.0, repeat=REPEAT_DB, prediction_tolerance=_LEVEL,
    ),
    RoutineReading(
        "splitter port", "level", "dBm", "each output of the splitter",
        tolerance=1.0, repeat=REPEAT_DB, prediction_tolerance=_LEVEL, numbered=True,
    ),
    RoutineReading(
        "receiver", "level", "dBm", "input as the receiver indicates it",
        tolerance=3.0, alarm=6.0, repeat=REPEAT_DB, prediction_tolerance=_LEVEL,
    ),
    RoutineReading(
        "receiver", "AGC voltage", "V", "control voltage; not at an end of its range", scale="linear",
    ),
    RoutineReading(
        "receiver", "C/N", "dB", "carrier-to-noise ratio at the receiver",
        side="fall", tolerance=2.0, repeat=REPEAT_DB, prediction_tolerance=_LEVEL,
    ),
    RoutineReading(
        "receiver", "MER", "dB", "modulation error ratio at the receiver",
        side="fall", tolerance=2.0, repeat=1.0, families=OFDM,
    ),
    RoutineReading(
        "receiver", "S/N", "dB", "signal to noise of the eight levels, as the receiver shows it",
        side="fall", tolerance=2.0, repeat=1.0, families=("ATSC",),
    ),
    RoutineReading(
        "receiver", "BER after inner decoding", "ratio", "bit error ratio after the inner (Viterbi) decoder",
        scale="linear", side="rise", highest=2e-4, families=("DVB-T", "ISDB-T"), reference=_QEF,
    ),
    RoutineReading(
        "receiver", "BER after LDPC", "ratio", "bit error ratio after the LDPC decoder, before BCH",
        scale="linear", side="rise", highest=1e-7, families=("DVB-T2",), reference=_QEF_T2,
    ),
    RoutineReading(
        "receiver", "segment error ratio", "ratio", "segments with errors after the Reed-Solomon decoder",
        scale="linear", side="rise", highest=1.93e-4, families=("ATSC",), reference=_TOV,
    ),
    RoutineReading(
        "receiver", "uncorrected errors", "count", "packets marked in error during the reading",
        scale="linear", side="rise", highest=0.0, families=DIGITAL,
    ),
    RoutineReading(
        "output coupler", "output power", "W", "forward coupler; mean if digital, peak sync if analogue",
        scale="power", tolerance=0.5, repeat=0.5, prediction_tolerance=0.5, expected_is_limit=True,
    ),
    RoutineReading(
        "output coupler", "ERP", "W", "worked out from output power, losses and aerial gain",
        scale="power", tolerance=0.5, repeat=0.5, prediction_tolerance=0.5, expected_is_limit=True,
    ),
    RoutineReading(
        "output coupler", "reflected power", "W", "reverse coupler", scale="linear", per_service=False,
    ),
    RoutineReading(
        "output coupler", "return loss", "dB", "from forward and reflected power",
        side="fall", tolerance=3.0, repeat=3.0, lowest=20.0, per_service=False,
    ),
    RoutineReading(
        "output coupler", "intermodulation", "dB",
        "strongest product over the reference power, below 0; of three tones if analogue",
        side="rise", tolerance=2.0, repeat=2.0, highest=-51.0,
    ),
    RoutineReading(
        "output coupler", "shoulders", "dB", "shoulder attenuation beside the channel, a positive number",
        side="fall", tolerance=2.0, repeat=2.0, lowest=36.0, families=DIGITAL,
    ),
    RoutineReading(
        "output coupler", "MER", "dB", "modulation error ratio of the output",
        side="fall", tolerance=2.0, repeat=1.0, lowest=33.0, families=OFDM,
    ),
    RoutineReading(
        "output coupler", "S/N", "dB", "signal to noise of the eight levels of the output",
        side="fall", tolerance=2.0, repeat=1.0, lowest=27.0, families=("ATSC",), reference=_A64,
    ),
    RoutineReading(
        "output coupler", "vision-to-sound ratio", "dB", "or as licensed",
        tolerance=1.0, repeat=1.0, lowest=9.0, highest=11.0, families=(ANALOGUE,),
    ),
    RoutineReading(
        "output coupler", "frequency error", "Hz",
        "vision carrier, pilot or centre of the channel less its nominal frequency",
        scale="linear", tolerance=500.0, lowest=-500.0, highest=500.0,
    ),
    RoutineReading(
        "local oscillator", "frequency error", "Hz", "oscillator less its nominal frequency",
        scale="linear", lowest=-10_000.0, highest=10_000.0, reference=_FCC, confidence="read",
    ),
    RoutineReading(
        "demodulated output", "video S/N", "dB", "luminance to weighted noise",
        side="fall", tolerance=2.0, repeat=REPEAT_DB, families=(ANALOGUE,),
    ),
    RoutineReading(
        "equipment", "supply voltage", "V", "within the label", scale="linear", per_service=False,
    ),
    RoutineReading(
        "equipment", "temperature", "degC", "within the label", scale="linear", per_service=False,
    ),
    _check("receiver", "shut-down on loss of input", "take the input away: must mute, and restore itself",
           reference=_FCC),
    _check("equipment", "batteries and standby supply", "charge, terminals, a start on load"),
    _check("equipment", "fans, filters and doors", "turning, clean, sealed"),
    _check("equipment", "alarms and telemetry", "each alarm raised once and seen at the far end"),
    _check("mast", "aerials and mountings", "straight, tight, whole; a photograph"),
    _check("mast", "feeders and connectors", "clamped, dry, unkinked"),
    _check("mast", "earths and lightning protection", "bonded, uncorroded"),
    _check("site", "damp and corrosion", "cabin, cabinets, glands"),
    _check("site", "trees and new buildings on the feed path", "seen from the receive aerial; a photograph"),
    _check("site", "fence, notices and access", "locked, legible, RF warning in place"),
)  # fmt: skip
"""In the order in which a visit goes through the station."""


def test_points() -> tuple[str, ...]:
    """Return the names of the test points, each once, numbered ones without their number."""
    return tuple(dict.fromkeys(row.test_point for row in ROUTINE_READINGS))


def family_of(system: str, *, analogue: bool) -> str:
    """Return the family of a television system by its name, such as ``DVB-T2`` of ``DVB-T2 7 MHz``.

    Raises
    ------
    RangeError
        A digital system of no family, of which nothing is known to be read.
    """
    if analogue:
        return ANALOGUE
    for family in DIGITAL:
        if system == family or system.startswith(f"{family} "):
            return family
    raise RangeError("system of routine readings", repr(system), f"one of {', '.join(DIGITAL)}")


def source_words(row: RoutineReading) -> str:
    """Return where the limits and tolerances of a row are from, in words for print."""
    return row.reference if row.reference == PRACTICE else describe(row.reference, row.confidence)


def reading_row(test_point: str, quantity: str) -> RoutineReading | None:
    """Return the row of a test point (with its number, if it takes one) and quantity, letter case aside."""
    for row in ROUTINE_READINGS:
        if row.quantity.casefold() == quantity.casefold() and is_at(row, test_point):
            return row
    return None


def is_at(row: RoutineReading, test_point: str) -> bool:
    """Tell whether a test point as written is that of the row: "splitter port 2" for "splitter port"."""
    given = " ".join(test_point.casefold().split())
    name = row.test_point.casefold()
    if not row.numbered:
        return given == name
    stem, _, number = given.rpartition(" ")
    return stem == name and number.isdecimal() and number.isascii() and 1 <= int(number) <= 32
