"""The receiving side of a relay: aerial, feeder, splitter, receiver, and what the receiver needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from combe.errors import require_range

_RANGES: Final = {
    "aerial_height_m": (1.0, 500.0),
    "aerial_gain_dbi": (-80.0, 52.0),
    "feeder_loss_db": (0.0, 60.0),
    "splitter_loss_db": (0.0, 60.0),
    "other_gain_db": (-100.0, 100.0),
    "noise_figure_db": (0.0, 30.0),
    "bandwidth_mhz": (0.1, 20.0),
    "required_cn_db": (-10.0, 60.0),
    "required_margin_db": (0.0, 60.0),
    "noise_ahead_db": (0.0, 120.0),
}
"""What is plausible for each item; guards against a wrong unit, not against a bad design."""


@dataclass(frozen=True)
class FeedChain:
    """Receive aerial to receiver input, and the quality asked of it.

    Parameters
    ----------
    aerial_height_m : float
        Centre of the receive aerial above ground [m].
    aerial_gain_dbi : float
        Towards the parent, over an isotropic aerial [dBi]; dBd + 2.15.
    feeder_loss_db, splitter_loss_db : float
        Passive losses ahead of the receiver [dB].
    noise_figure_db : float
        Of the receiver, at its input [dB].
    bandwidth_mhz : float
        Noise bandwidth [MHz].
    required_cn_db : float
        Carrier-to-noise ratio that the television system needs [dB].
    required_margin_db : float
        What must be left over it, for fading and ageing [dB].
    other_gain_db : float
        Of amplifiers, less the loss of filters and attenuators, ahead of the receiver [dB].
    noise_ahead_db : float
        By how much the noise of those stages raises the noise at the receiver's input [dB].

    Raises
    ------
    RangeError
        Naming the field.
    """

    aerial_height_m: float
    aerial_gain_dbi: float
    feeder_loss_db: float
    splitter_loss_db: float
    noise_figure_db: float
    bandwidth_mhz: float
    required_cn_db: float
    required_margin_db: float
    other_gain_db: float = 0.0
    noise_ahead_db: float = 0.0

    def __post_init__(self) -> None:
        for name, (low, high) in _RANGES.items():
            require_range(f"{name} of the feed chain", getattr(self, name), low, high)
