"""Typical climates for Recommendation ITU-R P.2001-4, for a place whose maps are not at hand.

The values are our own, from memory of what the maps of the Recommendation, of P.453 (refractivity), P.836
(vapour) and P.839 (rain height) hold in such parts of the world; none was read. The zones of troposcatter are
those of the Recommendation's table E.1. Rain is left out: under 1 GHz this makes fades deeper by some 0.3 dB.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from combe.propagation.p2001.climate import Climate
from combe.words import tell

TYPICAL_CLIMATES: Final = MappingProxyType(
    {
        # ΔN, its slopes, dN/dh of 65 m; foEs for 0.1, 1, 10, 50 %; 0 °C height, vapour, zone of troposcatter
        "temperate": Climate(42.0, 45.0, 24.0, -230.0, 7.5, 5.5, 3.6, 2.2, 2.2, 8.0, 5),
        "continental": Climate(40.0, 45.0, 25.0, -250.0, 7.5, 5.5, 3.6, 2.2, 2.5, 7.0, 2),
        "maritime": Climate(45.0, 50.0, 22.0, -280.0, 7.0, 5.2, 3.5, 2.2, 2.2, 9.0, 6),
        "humid tropical": Climate(52.0, 70.0, 35.0, -420.0, 9.0, 7.0, 4.6, 3.0, 4.6, 18.0, 1),
        "desert": Climate(40.0, 70.0, 40.0, -450.0, 8.0, 6.0, 4.0, 2.4, 4.2, 8.0, 4),
    }
)
"""Climates by the name that a study gives."""

USUAL_CLIMATE: Final = "temperate"
"""Taken where a study says nothing."""


def typical_words(name: str) -> str:
    """Return how a typical climate is named wherever it was used.

    Examples
    --------
    >>> typical_words("desert")
    'desert climate, typical values from memory'
    """
    return tell("{name} climate, typical values from memory", name=name)
