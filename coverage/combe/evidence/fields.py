"""Field, power, voltage and noise of a receiving aerial: figures worked from ITU-R P.525 and circuit laws."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe import decibels
from combe.constants import DIPOLE_GAIN_DBI
from combe.evidence.case import EvidenceCase

NAME: Final = "Field, power and noise"

RECEIVED: Final = (
    # field dB(µV/m), MHz, gain dBi; power dBm, voltage dBµV at 50 Ω and 75 Ω
    (70.0, 474.0, 12.15, -48.582, 58.41, 60.17),
    (60.0, 600.0, 14.15, -58.629, 48.36, 50.12),
    (50.0, 800.0, 10.15, -75.128, 31.86, 33.62),
    (64.0, 858.0, 16.15, -55.736, 51.25, 53.01),
    (106.92, 600.0, 0.0, -25.859, 81.13, 82.89),
)

ANTENNA_FACTORS: Final = (
    # MHz, Ω, dB/m of a half-wave dipole
    (474.0, 50.0, 21.592),
    (600.0, 50.0, 23.639),
    (858.0, 50.0, 26.746),
    (474.0, 75.0, 19.831),
    (600.0, 75.0, 21.878),
    (858.0, 75.0, 24.985),
)

NOISE: Final = (
    # MHz, dBm
    (5.0, -106.99),
    (5.5, -106.57),
    (6.0, -106.20),
    (7.61, -105.16),
    (8.0, -104.95),
)

SUMS: Final = (
    # levels, their sum
    ((60.0, 60.0), 63.010),
    ((60.0, 55.0, 50.0), 61.511),
    ((60.0, 60.0, 60.0, 60.0), 66.021),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    yield from _received()
    for mhz, ohm, factor in ANTENNA_FACTORS:
        compute = partial(decibels.antenna_factor_db_m, mhz, DIPOLE_GAIN_DBI, ohm)
        case, source = f"half-wave dipole, {mhz:g} MHz, {ohm:g} Ω", "AF = 20 log f − G − 29.774 at 50 Ω"
        yield EvidenceCase(NAME, source, case, "antenna factor", factor, "dB/m", 0.001, "computed", compute)
    compute = partial(decibels.power_flux_dbw_m2_from_field, 0.0)
    source, case = "BT.2033-2 and the GE06 Final Acts print 145.8", "power flux density of 0 dB(µV/m)"
    yield EvidenceCase(NAME, source, case, "flux", -145.8, "dB(W/m²)", 0.05, "read", compute)
    for mhz, dbm in NOISE:
        compute = partial(decibels.thermal_noise_dbm, mhz)
        case, source = f"{mhz:g} MHz at 290 K", "k T0 B, worked in double precision"
        yield EvidenceCase(NAME, source, case, "thermal noise", dbm, "dBm", 0.01, "computed", compute)
    compute = partial(decibels.thermal_noise_dbm, 6.0)
    source = "FCC OET Bulletin 69, thermal noise of 6 MHz"
    yield EvidenceCase(NAME, source, "6 MHz", "thermal noise", -106.2, "dBm", 0.05, "read", compute)
    for levels, total in SUMS:
        compute = partial(decibels.power_sum_db, *levels)
        case = " and ".join(f"{level:g}" for level in levels)
        source = "10 log Σ 10^(E/10), worked in double precision"
        yield EvidenceCase(NAME, source, case, "power sum", total, "dB", 0.001, "computed", compute)


def _received() -> Iterator[EvidenceCase]:
    for field, mhz, gain, power, volts_50, volts_75 in RECEIVED:
        case = f"{field:g} dB(µV/m), {mhz:g} MHz, {gain:g} dBi"
        source = "P = E − 20 log f + G − 77.216, matched aerial; U = P + 90 + 10 log R"
        compute = partial(decibels.power_dbm_from_field, field, mhz, gain)
        yield EvidenceCase(NAME, source, case, "received power", power, "dBm", 0.001, "computed", compute)
        for ohm, volts in ((50.0, volts_50), (75.0, volts_75)):
            compute = partial(_voltage_dbuv, field, mhz, gain, ohm)
            quantity = f"voltage at {ohm:g} Ω"
            yield EvidenceCase(NAME, source, case, quantity, volts, "dBµV", 0.006, "computed", compute)


def _voltage_dbuv(field_dbuv_m: float, frequency_mhz: float, gain_dbi: float, ohm: float) -> float:
    return decibels.dbuv_from_dbm(decibels.power_dbm_from_field(field_dbuv_m, frequency_mhz, gain_dbi), ohm)
