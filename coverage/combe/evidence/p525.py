"""Free space: figures of Recommendation ITU-R P.525-5 and P.1546-6 Annex 5."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.decibels import dbw_from_watt, field_from_loss_dbuv_m
from combe.evidence.case import EvidenceCase
from combe.propagation import free_space_loss_db

NAME: Final = "ITU-R P.525-5"
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
    """Yield the cases of this table."""
    for mhz, km, exact_db, printed_db in LOSSES:
        compute = partial(free_space_loss_db, km, mhz)
        case, quantity = f"{mhz:g} MHz over {km:g} km", "free-space loss"
        yield EvidenceCase(NAME, EXACT, case, quantity, exact_db, "dB", 0.001, "computed", compute)
        yield EvidenceCase(NAME, PRINTED, case, quantity, printed_db, "dB", 0.049, "computed", compute)
    source = "P.525-5 §2.1, e = √(30 p)/d with e.i.r.p. 2.15 dB over e.r.p.; 120π Ω there is 0.003 dB more"
    for erp_w, km, field in FIELDS:
        compute = partial(free_space_field_dbuv_m, erp_w, km)
        case = f"{erp_w:g} W e.r.p. at {km:g} km"
        yield EvidenceCase(NAME, source, case, "field", field, "dB(µV/m)", 0.004, "computed", compute)
    compute = partial(free_space_field_dbuv_m, 1000.0 / 10.0**0.215, 1.0)
    case = "1 kW e.i.r.p. at 1 km, 173 mV/m"
    yield EvidenceCase(NAME, "P.525-5 §2.1", case, "field", 104.771, "dB(µV/m)", 0.004, "computed", compute)
    for km, field in PRINTED_FIELDS:
        compute = partial(free_space_field_dbuv_m, 1000.0, km)
        case = f"1 kW e.r.p. at {km:g} km"
        source = "P.1546-6, free-space column of the tabulated curves"
        yield EvidenceCase(P1546, source, case, "field", field, "dB(µV/m)", 0.03, "read", compute)
    for constant, name, source, tolerance in CONSTANTS:
        compute = partial(field_from_loss_dbuv_m, 30.0, 0.0, 1.0)
        case, quantity = "1 kW e.r.p., no loss, 1 MHz", "constant between loss and field"
        yield EvidenceCase(name, source, case, quantity, constant, "dB", tolerance, "read", compute)
