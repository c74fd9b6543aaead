"""Deep fades of Recommendation ITU-R P.2001-4 beside the quick planning method of ITU-R P.530 (from memory).

The two share their roots, and P.530 is made for deep fades alone: for shallow ones its share of time has no
meaning. So the paths and shares here are those on which it asks more than 8 dB, all over a plain at 100 m,
masts 150 and 30 m, 600 MHz, latitude 50°. Of P.2001 the fade in clear air counts, without diffraction.

P.530-17 §2.3.1, quick: K = 10^(−4.6 − 0.0027 dN1); worst month p = K d^3.1 (1 + ε)^−1.29 f^0.8
10^(−0.00089 h − A/10) %; average year 10^(−ΔG/10) of it, ΔG = 10.5 − 5.6 log(1.1 − |cos 2φ|^0.7) − 2.7 log d
+ 1.7 log(1 + ε), at most 10.8 dB.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any, Final

from combe.evidence.case import EvidenceCase
from combe.evidence.p2001_paths import clear_path
from combe.propagation.p2001 import TYPICAL_CLIMATES, predict_path

NAME: Final = "ITU-R P.2001-4 beside P.530"
SOURCE: Final = "P.530-17 §2.3.1, the quick method with the share of the average year, formulas from memory"
TOLERANCE_DB: Final = 2.5
"""Two methods are compared, so this is how far they may lie apart, and no error of arithmetic."""

DEPTHS: Final = (
    # climate, km, share of the average year for which the field stands %, depth A dB by P.530
    ("temperate", 45.0, 99.99, 13.73),
    ("temperate", 60.0, 99.9, 9.21),
    ("temperate", 60.0, 99.99, 19.21),
    ("maritime", 45.0, 99.99, 15.08),
    ("maritime", 60.0, 99.9, 10.56),
    ("maritime", 60.0, 99.99, 20.56),
    ("humid tropical", 30.0, 99.99, 10.96),
    ("humid tropical", 45.0, 99.9, 8.86),
    ("humid tropical", 45.0, 99.99, 18.86),
    ("humid tropical", 60.0, 99.9, 14.34),
    ("humid tropical", 60.0, 99.99, 24.34),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for climate, km, percent, depth_db in DEPTHS:
        compute = partial(clear_air_fade_db, climate, km, percent)
        case, quantity = f"{climate} plain, {km:g} km", f"fade in clear air, {percent:g} %"
        yield EvidenceCase(
            NAME,
            SOURCE,
            case,
            quantity,
            depth_db,
            "dB",
            TOLERANCE_DB,
            "from memory",
            compute,
            "deep fades",
        )


def clear_air_fade_db(climate: str, distance_km: float, time_percent: float) -> float:
    """Return the fade in clear air [dB] over its median on a clear path of P.2001's evidence."""

    def fade_db(percent: float) -> float:
        asked: dict[str, Any] = clear_path("temperate", distance_km, percent)
        return predict_path(**asked | {"climate": TYPICAL_CLIMATES[climate]}).clear_air_fade_db

    return fade_db(time_percent) - fade_db(50.0)
