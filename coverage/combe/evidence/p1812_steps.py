"""Sub-models of Recommendation ITU-R P.1812-8, fed with published geometry of two paths and single steps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase, Once, Standing
from combe.propagation import PathSummary, effective_radius_km
from combe.propagation.p1812 import (
    P1812Loss,
    P1812Summary,
    angle_factor,
    basic_loss,
    distance_factor,
    ducting_incidence_percent,
    ducting_minimum_db,
    focusing_db,
    free_space_slant_loss_db,
    inland_factor,
    inverse_normal,
    location_correction_db,
    location_sigma_db,
    make_conditions,
    notional_minimum_db,
    with_ducting_db,
    with_troposcatter_db,
)

NAME: Final = "ITU-R P.1812-8"
LOG: Final = "Study Group 3 validation set of P.1812, log"

RADII: Final = (
    # ΔN N-units/km, ae km, standing
    (39.0, 8476.669, "computed"),
    (45.0, 8930.776786, "read"),
    (50.0, 9348.103, "computed"),
)

PATHS: Final = {
    # name of the set: d km, hts hrs m, (hst hsr hst' hsr' m, dlt dlr km, θt θr mrad, hm m, dtm dlm km, ω), φ°
    "b2iseac": (
        (235.1, 814.4, 118.3),
        (79.94772037, -36.51428779, 79.94772037, -36.51428779, 121.1, 46.0, -13.50412507, -5.147057563,
         13.72716582, 17.5, 12.5, 0.9096129307),
        53.68658428,
    ),
    "b2iseac_rural_land_10km": (
        (10.0, 814.4, 257.3),
        (574.05538, 274.52262, 574.05538, 250.3, 6.5, 3.5, -40.05017496, 85.02712119,
         192.685617, 10.0, 10.0, 0.0),
        53.20515067,
    ),
}  # fmt: skip
DELTA_N: Final = 45.0
N0: Final = 326.079979
MHZ: Final = 95.3

PRICED: Final = (
    # set, time %: Lba, Lbs, Lb0p dB
    ("b2iseac", 1.0, 154.5096301, 148.4453017, 114.9896269),
    ("b2iseac", 10.0, 179.6563748, 155.2386935, 117.5896268),
    ("b2iseac", 50.0, 238.5948458, 163.1185082, 119.4069487),
    ("b2iseac_rural_land_10km", 1.0, 154.5673468, 143.0367167, 89.20303586),
    ("b2iseac_rural_land_10km", 10.0, 176.120892, 149.8301084, 90.84654932),
    ("b2iseac_rural_land_10km", 50.0, 235.3394953, 157.7099232, 91.99531592),
)

TIME_FACTORS: Final = ((1.0, 1.0), (10.0, 0.744629294), (50.0, 7.635522669e-10))
"""Time %, Fi of the set b2iseac."""

INCIDENCE: Final = (
    # set, φ°, dtm km, dlm km, β0 %
    ("b2iseac_rural_land_10km", 53.20515067, 10.0, 10.0, 5.523157665),
    ("b2iseac_rural_land_1km_eqdist", 53.1856432, 1.05795, 1.05795, 7.232830417),
    ("b2iseac", 53.68658428, 17.5, 12.5, 4.26330636),
    ("rburg_rural_noclutter", 48.58877214, 96.2, 96.2, 1.442216533),
)

INVERSE_NORMAL: Final = ((0.01, 2.326785), (0.05, 1.645211), (0.1, 1.281729), (0.3, 0.524002))
"""Chance, I(chance) by the rational approximation."""

SIGMAS: Final = ((50.0, 1.598), (100.0, 1.940), (500.0, 3.045))
"""Side m of the square, σL dB at 600 MHz."""


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    standing: Standing
    for delta_n, radius, known in RADII:
        standing = "read" if known == "read" else "computed"
        compute = partial(effective_radius_km, delta_n)
        source = f"{LOG}; P.1812-8 §3.7, eq. (6)" if known == "read" else "P.1812-8 §3.7, eq. (6), worked"
        yield _case(
            source, f"ΔN {delta_n:g}", "effective Earth radius", radius, "km", 0.001, standing, compute
        )
    for name, latitude, land, inland, percent in INCIDENCE:
        compute = partial(_incidence_percent, latitude, land, inland)
        yield _case(f"{LOG} {name}_0", name, "β0", percent, "%", 1e-8, "read", compute)
    yield from _priced()
    yield from _combination()
    yield from _places()


def _case(
    source: str,
    case: str,
    quantity: str,
    expected: float,
    unit: str,
    tolerance: float,
    standing: Standing,
    compute: partial[float],
) -> EvidenceCase:
    return EvidenceCase(NAME, source, case, quantity, expected, unit, tolerance, standing, compute)


def _incidence_percent(latitude_deg: float, land_km: float, inland_km: float) -> float:
    return float(ducting_incidence_percent(latitude_deg, land_km, inland_factor(inland_km)))


def _priced() -> Iterator[EvidenceCase]:
    """Yield what the published geometry is priced at."""
    for name, percent, *losses in PRICED:
        found = Once(partial(_price, name, percent))
        parts = ("ducting_loss_db", "troposcatter_loss_db", "line_of_sight_loss_db")
        for part, symbol, loss in zip(parts, ("Lba", "Lbs", "Lb0p"), losses, strict=True):
            case, quantity = f"geometry of {name}, {percent:g} % of time", f"{symbol}, {part}"
            compute = partial(found.field, part)
            yield _case(f"{LOG} of {name}", case, quantity, loss, "dB", 1e-5, "read", compute)
    for percent, factor in TIME_FACTORS:
        found = Once(partial(_price, "b2iseac", percent))
        case = f"geometry of b2iseac, {percent:g} % of time"
        compute = partial(found.field, "time_factor")
        yield _case(f"{LOG} of b2iseac", case, "Fi", factor, "", 1e-9, "read", compute)


def _price(name: str, time_percent: float) -> P1812Loss:
    """Price published geometry; diffraction, which needs the profile, is left out."""
    (length_km, tx_m, rx_m), drawn, latitude = PATHS[name]
    clear = -math.inf
    path = PathSummary(length_km, tx_m, rx_m, clear, clear, clear, 1e6, 1e6, clear, clear, clear)
    summary = P1812Summary(path, path, *drawn, 500.0, 500.0, 0.0)
    conditions = make_conditions(
        frequency_mhz=MHZ,
        time_percent=time_percent,
        latitude_deg=latitude,
        delta_n=DELTA_N,
        n0=N0,
    )
    loss: P1812Loss = basic_loss(summary, conditions)
    return loss


def _combination() -> Iterator[EvidenceCase]:
    """Yield the combination of the sub-models, step by step, and its weights."""
    case, source = "log values put in", f"{LOG} b2iseac_1"
    notional = partial(
        notional_minimum_db, 117.5896268, 116.6269678, 21.04655309, 160.6866898, 0.9096129307, 0.744629294
    )
    far = partial(_with_ducting_db, 138.6361798, 179.6563748, 235.1)
    for quantity, expected, compute in (
        ("Lminb0p, eq. (59)", 129.2950654, notional),
        ("Lminbap, eq. (60)", 179.6563748, partial(ducting_minimum_db, 179.6563748, 117.5896268)),
        ("Lbda, eq. (61)", 138.6361798, far),
        ("Lbc, eq. (63)", 138.635142, partial(with_troposcatter_db, 155.2386935, 138.6361798)),
    ):
        yield _case(source, case, quantity, expected, "dB", 1e-6, "read", compute)
    for log, case, quantity, expected, compute in (
        (
            "rburg_rural_noclutter_los_0",
            "θ 0.000672798 mrad",
            "Fj",
            0.9917498148,
            partial(angle_factor, 0.000672798176),
        ),
        ("b2iseac_rural_land_10km_0", "10 km", "Fk", 0.8175744762, partial(distance_factor, 10.0)),
        (
            "b2iseac_rural_land_1km_eqdist_0",
            "1.05795 km",
            "Fk",
            0.9448676132,
            partial(distance_factor, 1.05795),
        ),
    ):
        yield _case(f"{LOG} {log}", case, quantity, expected, "", 1e-9, "read", compute)
    compute = partial(free_space_slant_loss_db, 10.0, 814.4, 257.3, 0.0953)
    yield _case(
        f"{LOG} b2iseac_rural_land_10km_0",
        "10 km, 95.3 MHz",
        "Lbfs",
        91.99531592,
        "dB",
        1e-7,
        "read",
        compute,
    )
    for percent, fade in ((1.0, -4.34), (10.0, -1.78)):
        compute = partial(focusing_db, 30.0, 10.0, percent)
        case = f"dlt + dlr = 40 km, {percent:g} % of time"
        yield _case("P.1812-8 §4.2, worked", case, "Es", fade, "dB", 0.005, "computed", compute)


def _with_ducting_db(diffraction_db: float, ducting_db: float, distance_km: float) -> float:
    return float(with_ducting_db(diffraction_db, ducting_db, distance_factor(distance_km)))


def _places() -> Iterator[EvidenceCase]:
    """Yield what concerns the scatter over places."""
    for chance, deviation in INVERSE_NORMAL:
        compute = partial(inverse_normal, chance)
        source = "P.1812-8 Attachment 2, rational approximation worked in double precision"
        yield _case(source, f"I({chance:g})", "inverse normal", deviation, "", 1e-6, "computed", compute)
    for side, sigma in SIGMAS:
        compute = partial(location_sigma_db, 600.0, side)
        yield _case(
            "P.1812-8 §4.7, worked", f"600 MHz, {side:g} m", "σL", sigma, "dB", 0.001, "computed", compute
        )
    compute = partial(location_correction_db, 95.0, 5.5)
    source = "P.1812-8 §4.7, run of the Study Group 3 reference code"
    yield _case(source, "95 % of places, σ 5.5 dB", "Lloc", 9.0487, "dB", 1e-4, "computed", compute)
