"""What a prediction supposes of the air and the ground, and which model it uses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from combe.constants import MEDIAN_EFFECTIVE_RADIUS_KM
from combe.errors import RangeError

MODELS: Final = {
    "free-space": "free space, ITU-R P.525-5",
    "p526": "free space, ITU-R P.525-5, and delta-Bullington diffraction, ITU-R P.526-16",
}
"""Models to choose, each with the words that name it on maps and reports."""


@dataclass(frozen=True)
class Conditions:
    """Model, effective Earth radius [km] and share of sea on the paths (0 to 1)."""

    model: str = "p526"
    effective_radius_km: float = MEDIAN_EFFECTIVE_RADIUS_KM
    sea_fraction: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an unknown model or numbers out of range."""
        if self.model not in MODELS:
            raise RangeError("model", repr(self.model), ", ".join(MODELS))
        if not self.effective_radius_km > 0.0:
            raise RangeError("effective_radius_km", self.effective_radius_km, "above 0 km")
        if not 0.0 <= self.sea_fraction <= 1.0:
            raise RangeError("sea_fraction", self.sea_fraction, "0 to 1")


def describe(conditions: Conditions) -> dict[str, str]:
    """Return what made a prediction, in words, for maps and reports."""
    return {
        "model": MODELS[conditions.model],
        "effective Earth radius": f"{conditions.effective_radius_km:.0f} km",
        "sea share": f"{conditions.sea_fraction:.0%}",
    }
