"""How far people have to keep from a station's aerial, as far as its powers and channels tell."""

from __future__ import annotations

from combe.errors import RangeError
from combe.planning import ComplianceDistance, compliance_distance_m, radiated_powers
from combe.stations import Station


def exposure_of(station: Station) -> tuple[ComplianceDistance | None, str]:
    """Return the distance in free space for the public; or None, and why it cannot be worked out."""
    try:
        return compliance_distance_m(radiated_powers(station.services)), ""
    except RangeError as error:
        return None, str(error)
