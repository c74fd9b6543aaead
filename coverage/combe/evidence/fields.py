"""Free space, and the field, power, voltage and noise of a receiving aerial.

Figures of Recommendation ITU-R P.525-5 and of P.1546-6 Annex 5, and figures worked from P.525 and from
circuit laws.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe import decibels
from combe.constants import DIPOLE_GAIN_DBI
from combe.decibels import dbw_from_watt, field_from_loss_dbuv_m
from combe.evidence.case import EvidenceCase
from combe.propagation import free_space_loss_db

FREE_SPACE: Final = "ITU-R P.525-5"
P1546: Final = "ITU-R P.1546-6"
EXACT: Final = "P.525-5 §2.2, worked with the exact speed of light"
PRINTED: Final = "P.525-5 §2.2 with the printed constant 32.4; Combe keeps the exact one, 0.048 dB above"

LOSSES: Final = (
    # frequency MHz, distance km, exact dB, with the printed constant dB
    (474.0, 1.0, 85.963, 85.916),
    (600.0, 10.0, 108.011, 107.963),
    (634.0, 20.0, 114.510, 114.462),
    (858.0, 50.0, 125.097, 125.049),
)

FIELDS: Final = (
    # e.r.p. W, distance km, dB(µV/m)
    (1000.0, 1.0, 106.921),
    (1000.0, 10.0, 86.921),
    (100.0, 5.0, 82.942),
    (10.0, 20.0, 60.901),
    (1.0, 1.0, 76.921),
)

PRINTED_FIELDS: Final = (
    # distance km, dB(µV/m) of 1 kW e.r.p. in the free-space column of the tabulation
    (1.0, 106.9),
    (2.0, 100.8794),
    (10.0, 86.9),
    (20.0, 80.8794),
    (50.0, 72.9206),
    (100.0, 66.9),
)

CONSTANTS: Final = (
    # published constant between loss and field of 1 kW e.r.p. at 1 MHz, where, tolerance dB
    (139.3, P1546, "P.1546-6 Annex 5, as printed", 0.07),
    (139.36, "ITU-R P.1812-8", "P.1812-8 §4.10, eq. (70), 199.36 with the frequency in GHz", 0.01),
)


def free_space_field_dbuv_m(erp_w: float, distance_km: float, frequency_mhz: float = 600.0) -> float:
    """Return the field [dB(µV/m)] of an e.r.p. in free space, by way of the loss."""
    loss_db = free_space_loss_db(distance_km, frequency_mhz)
    return field_from_loss_dbuv_m(dbw_from_watt(erp_w), loss_db, frequency_mhz)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of both."""
    yield from _free_space_cases()
    yield from _receiving_cases()


def _free_space_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of free space."""
    for mhz, km, exact_db, printed_db in LOSSES:
        compute = partial(free_space_loss_db, km, mhz)
        case, quantity = f"{mhz:g} MHz over {km:g} km", "free-space loss"
        yield EvidenceCase(FREE_SPACE, EXACT, case, quantity, exact_db, "dB", 0.001, "computed", compute)
        yield EvidenceCase(FREE_SPACE, PRINTED, case, quantity, printed_db, "dB", 0.049, "computed", compute)
    source = "P.525-5 §2.1, e = √(30 p)/d with e.i.r.p. 2.15 dB over e.r.p.; 120π Ω there is 0.003 dB more"
    for erp_w, km, field in FIELDS:
        compute = partial(free_space_field_dbuv_m, erp_w, km)
        case = f"{erp_w:g} W e.r.p. at {km:g} km"
        yield EvidenceCase(FREE_SPACE, source, case, "field", field, "dB(µV/m)", 0.004, "computed", compute)
    compute = partial(free_space_field_dbuv_m, 1000.0 / 10.0**0.215, 1.0)
    case = "1 kW e.i.r.p. at 1 km, 173 mV/m"
    yield EvidenceCase(
        FREE_SPACE, "P.525-5 §2.1", case, "field", 104.771, "dB(µV/m)", 0.004, "computed", compute
    )
    for km, field in PRINTED_FIELDS:
        compute = partial(free_space_field_dbuv_m, 1000.0, km)
        case = f"1 kW e.r.p. at {km:g} km"
        source = "P.1546-6, free-space column of the tabulated curves"
        yield EvidenceCase(P1546, source, case, "field", field, "dB(µV/m)", 0.03, "read", compute)
    for constant, name, source, tolerance in CONSTANTS:
        compute = partial(field_from_loss_dbuv_m, 30.0, 0.0, 1.0)
        case, quantity = "1 kW e.r.p., no loss, 1 MHz", "constant between loss and field"
        yield EvidenceCase(name, source, case, quantity, constant, "dB", tolerance, "read", compute)


RECEIVING: Final = "Field, power and noise"

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


def _receiving_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of a receiving aerial."""
    yield from _received()
    for mhz, ohm, factor in ANTENNA_FACTORS:
        compute = partial(decibels.antenna_factor_db_m, mhz, DIPOLE_GAIN_DBI, ohm)
        case, source = f"half-wave dipole, {mhz:g} MHz, {ohm:g} Ω", "AF = 20 log f − G − 29.774 at 50 Ω"
        yield EvidenceCase(
            RECEIVING, source, case, "antenna factor", factor, "dB/m", 0.001, "computed", compute
        )
    compute = partial(decibels.power_flux_dbw_m2_from_field, 0.0)
    source, case = "BT.2033-2 and the GE06 Final Acts print 145.8", "power flux density of 0 dB(µV/m)"
    yield EvidenceCase(RECEIVING, source, case, "flux", -145.8, "dB(W/m²)", 0.05, "read", compute)
    for mhz, dbm in NOISE:
        compute = partial(decibels.thermal_noise_dbm, mhz)
        case, source = f"{mhz:g} MHz at 290 K", "k T0 B, worked in double precision"
        yield EvidenceCase(RECEIVING, source, case, "thermal noise", dbm, "dBm", 0.01, "computed", compute)
    compute = partial(decibels.thermal_noise_dbm, 6.0)
    source = "FCC OET Bulletin 69, thermal noise of 6 MHz"
    yield EvidenceCase(RECEIVING, source, "6 MHz", "thermal noise", -106.2, "dBm", 0.05, "read", compute)
    for levels, total in SUMS:
        compute = partial(decibels.power_sum_db, *levels)
        case = " and ".join(f"{level:g}" for level in levels)
        source = "10 log Σ 10^(E/10), worked in double precision"
        yield EvidenceCase(RECEIVING, source, case, "power sum", total, "dB", 0.001, "computed", compute)


def _received() -> Iterator[EvidenceCase]:
    for field, mhz, gain, power, volts_50, volts_75 in RECEIVED:
        case = f"{field:g} dB(µV/m), {mhz:g} MHz, {gain:g} dBi"
        source = "P = E − 20 log f + G − 77.216, matched aerial; U = P + 90 + 10 log R"
        compute = partial(decibels.power_dbm_from_field, field, mhz, gain)
        yield EvidenceCase(
            RECEIVING, source, case, "received power", power, "dBm", 0.001, "computed", compute
        )
        for ohm, volts in ((50.0, volts_50), (75.0, volts_75)):
            compute = partial(_voltage_dbuv, field, mhz, gain, ohm)
            quantity = f"voltage at {ohm:g} Ω"
            yield EvidenceCase(RECEIVING, source, case, quantity, volts, "dBµV", 0.006, "computed", compute)


def _voltage_dbuv(field_dbuv_m: float, frequency_mhz: float, gain_dbi: float, ohm: float) -> float:
    return decibels.dbuv_from_dbm(decibels.power_dbm_from_field(field_dbuv_m, frequency_mhz, gain_dbi), ohm)
