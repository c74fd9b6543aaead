"""The loop of an on-channel relay: how near its gain comes to the isolation of its aerials.

The gain control holds the output, so the gain rises by as much as the input fades. The loop is judged at the
gain of the fade for which the feed's margin has to stand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from combe.digits import telling
from combe.errors import require_range

REQUIRED_GAIN_MARGIN_DB: Final = 10.0
"""Margin kept for the isolation's change with time: common practice."""


@dataclass(frozen=True)
class LoopResult:
    """What the loop does to the signal in the fade for which it is judged.

    ``gain_db`` is that in the fade, ``fade_db`` of it more than in the median of time. ``gain_margin_db`` is
    isolation (and the canceller's help) less gain; ``loop_gain_fraction`` is the voltage that returns,
    ``ripple_db`` the peak-to-peak ripple of the response, ``echo_ci_db`` the carrier over all echoes that go
    round. A loop without margin oscillates: its ripple is inf, its ratio −inf.
    """

    gain_db: float
    fade_db: float
    isolation_db: float
    canceller_db: float
    gain_margin_db: float
    loop_gain_fraction: float
    ripple_db: float
    echo_ci_db: float
    required_margin_db: float
    verdict: Literal["passes", "fails"]
    reason: str

    @property
    def median_echo_ci_db(self) -> float:
        """The carrier over all echoes [dB] at the gain of the median of time."""
        return echo_ci_db(self.gain_margin_db + self.fade_db)


def loop_result(
    gain_db: float,
    isolation_db: float,
    *,
    fade_db: float = 0.0,
    canceller_db: float = 0.0,
    required_margin_db: float = REQUIRED_GAIN_MARGIN_DB,
) -> LoopResult:
    """Work out the loop of an on-channel relay.

    Parameters
    ----------
    gain_db : float
        From the receive aerial's terminals to the transmitting aerial's, median of time [dB], 0 to 160.
    isolation_db : float
        Between those terminals, through the air [dB], 0 to 200.
    fade_db : float
        By how much the gain control raises the gain in the fade [dB], 0 to 100.
    canceller_db : float
        By how much an echo canceller lowers the returned signal [dB], 0 to 60.
    required_margin_db : float
        Least gain margin accepted [dB], 0 to 60.

    Returns
    -------
    LoopResult

    Raises
    ------
    RangeError
        Outside those ranges.

    Examples
    --------
    >>> round(loop_result(60.0, 80.0).ripple_db, 2)
    1.74
    """
    require_range("gain_db of the relay", gain_db, 0.0, 160.0)
    require_range("fade_db of the loop", fade_db, 0.0, 100.0)
    require_range("isolation_db of the aerials", isolation_db, 0.0, 200.0)
    require_range("canceller_db of the relay", canceller_db, 0.0, 60.0)
    require_range("required_margin_db of the loop", required_margin_db, 0.0, 60.0)
    margin_db = isolation_db + canceller_db - gain_db - fade_db
    return LoopResult(
        gain_db=gain_db + fade_db,
        fade_db=fade_db,
        isolation_db=isolation_db,
        canceller_db=canceller_db,
        gain_margin_db=margin_db,
        loop_gain_fraction=10.0 ** (-margin_db / 20.0),
        ripple_db=ripple_db(margin_db),
        echo_ci_db=echo_ci_db(margin_db),
        required_margin_db=required_margin_db,
        verdict="passes" if margin_db > 0.0 and margin_db >= required_margin_db else "fails",
        reason=_reason(margin_db, required_margin_db, fade_db),
    )


def ripple_db(gain_margin_db: float) -> float:
    """Return the peak-to-peak ripple [dB] of a gain margin [dB]: 20 log((1 + m)/(1 − m)), m = 10^(−GM/20)."""
    if gain_margin_db <= 0.0:
        return math.inf
    returned = 10.0 ** (-gain_margin_db / 20.0)
    return 20.0 * math.log10((1.0 + returned) / (1.0 - returned))


def echo_ci_db(gain_margin_db: float) -> float:
    """Return the carrier over all echoes together [dB]: −10 log(m²/(1 − m²)), m² + m⁴ + … summed."""
    if gain_margin_db <= 0.0:
        return -math.inf
    returned = 10.0 ** (-gain_margin_db / 10.0)
    return -10.0 * math.log10(returned / (1.0 - returned))


def _reason(margin_db: float, required_margin_db: float, fade_db: float) -> str:
    at = f", with {fade_db:.1f} dB more of it in the fade," if fade_db > 0.0 else ""
    if margin_db <= 0.0:
        return f"the gain{at} is {telling(-margin_db, 0.0, 1)} dB over the isolation: the relay oscillates"
    asked = f"the {required_margin_db:g} dB asked"
    spare_db = margin_db - required_margin_db
    side = "over" if spare_db >= 0.0 else "short of"
    in_fade = " in the fade" if fade_db > 0.0 else ""
    return (
        f"the gain margin of {telling(margin_db, required_margin_db, 1)} dB{in_fade} is"
        f" {telling(abs(spare_db), 0.0, 1)} dB {side} {asked}"
    )
