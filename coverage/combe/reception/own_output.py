"""The relay's own outputs on its receive aerial, through the isolation between the two aerials.

An output on the channel that the relay receives closes a loop: the question is how near its gain comes to
the isolation. The gain control holds the output, so the gain rises by as much as the input fades. The loop
is judged at the gain of the fade for which the feed's margin has to stand.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.digits import telling
from combe.errors import require_range
from combe.propagation import free_space_loss_db
from combe.reception.cascade import FeedSignal
from combe.reception.protection_ratios import Channel, channel_relation, protection
from combe.standards import ChannelStep, describe
from combe.stations import require_name
from combe.words import tell

Arrangement = Literal["side by side", "one above the other"]

VERTICAL_ISOLATION: Final = (28.0, 40.0)
"""a + b log(d/λ) [dB] of aerials one above the other: common practice, no source; from memory."""


@dataclass(frozen=True)
class OwnOutput:
    """One output of the relay.

    Parameters
    ----------
    service : str
    channel : Channel
        On which the relay sends.
    power_dbm : float
        At the transmitting aerial's terminals [dBm], −30 to 80.
    out_of_channel_db : float or None
        Its emission in the wanted channel under its power [dB], output filter included, 20 to 200; None
        leaves that noise out.
    """

    service: str
    channel: Channel
    power_dbm: float
    out_of_channel_db: float | None = None

    def __post_init__(self) -> None:
        require_name("service of an own output", self.service)
        require_range(f"power_dbm of own output {self.service!r}", self.power_dbm, -30.0, 80.0)
        if self.out_of_channel_db is not None:
            name = f"out_of_channel_db of own output {self.service!r}"
            require_range(name, self.out_of_channel_db, 20.0, 200.0)


class OwnOutputRow(NamedTuple):
    """One output as a wanted service hears it, at the receive aerial's terminals.

    ``over_wanted_db`` is over the wanted one's median; ``margin_db`` is that of the wanted one in its fade,
    for the output never fades. ``step``, ``protection_db`` and ``margin_db`` are None when the output's
    channel does not touch the wanted one; ``noise_dbm`` and ``carrier_to_noise_db`` (wanted over the output's
    noise in the wanted channel) are None when that noise was not stated.
    """

    service: str
    wanted: str
    level_dbm: float
    over_wanted_db: float
    step: ChannelStep | None
    protection_db: float | None
    margin_db: float | None
    noise_dbm: float | None
    carrier_to_noise_db: float | None
    reference: str


def own_output_rows(
    wanted: FeedSignal,
    wanted_channel: Channel,
    outputs: Iterable[OwnOutput],
    *,
    isolation_db: float,
    required_cn_db: float,
    fade_db: float = 0.0,
) -> tuple[OwnOutputRow, ...]:
    """Judge the relay's outputs against one wanted service.

    Parameters
    ----------
    wanted : FeedSignal
        At the receive aerial's terminals.
    wanted_channel : Channel
    outputs : iterable of OwnOutput
        An output on the wanted channel itself belongs to an on-channel relay; see its loop.
    isolation_db : float
        From the transmitting aerial's terminals to the receiving one's, measured or estimated [dB], 0 to 200.
    required_cn_db : float
        Of the wanted service [dB].
    fade_db : float
        How far the wanted one falls under its median in the fade that is judged [dB], 0 to 100.

    Returns
    -------
    tuple of OwnOutputRow
        In the order of the outputs. The continuous protection ratio counts, for the output never ceases.

    Raises
    ------
    RangeError
        For an isolation out of range, or a pair without a protection ratio.
    """
    require_range("isolation_db of the aerials", isolation_db, 0.0, 200.0)
    require_range("fade_db of the wanted service", fade_db, 0.0, 100.0)
    return tuple(
        _row(wanted, wanted_channel, output, isolation_db, required_cn_db, fade_db) for output in outputs
    )


def own_output_signal(output: OwnOutput, isolation_db: float, bandwidth_mhz: float) -> FeedSignal:
    """Return an output as a signal at the receive aerial, to load the chain with."""
    return FeedSignal(
        f"own {output.service}", output.channel.centre_mhz, output.power_dbm - isolation_db, bandwidth_mhz
    )


def estimated_isolation_db(
    separation_m: float,
    frequency_mhz: float,
    *,
    arrangement: Arrangement,
    transmit_gain_dbi: float = 0.0,
    receive_gain_dbi: float = 0.0,
) -> float:
    """Estimate the isolation between two aerials [dB]; a measurement is always better.

    Parameters
    ----------
    separation_m : float
        Between their centres [m], 0.5 to 1000.
    frequency_mhz : float
        30 to 3000 [MHz].
    arrangement : {"side by side", "one above the other"}
        Side by side: free space (P.525) less both gains; one above the other: 28 + 40 log(d/λ), which counts
        the aerials' poor gain upwards and downwards itself, so that the gains are left out.
    transmit_gain_dbi, receive_gain_dbi : float
        Towards each other [dBi].

    Raises
    ------
    RangeError
        Outside those ranges.
    """
    require_range("separation_m of the aerials", separation_m, 0.5, 1000.0)
    require_range("frequency_mhz of the aerials", frequency_mhz, 30.0, 3000.0)
    if arrangement == "side by side":
        # A far-field formula a few wavelengths away: hence a measurement is better.
        loss_db = float(free_space_loss_db(separation_m / 1000.0, frequency_mhz))
        return loss_db - transmit_gain_dbi - receive_gain_dbi
    wavelength_m = SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6)
    constant_db, slope_db = VERTICAL_ISOLATION
    return constant_db + slope_db * math.log10(separation_m / wavelength_m)


def _row(
    wanted: FeedSignal,
    wanted_channel: Channel,
    output: OwnOutput,
    isolation_db: float,
    required_cn_db: float,
    fade_db: float,
) -> OwnOutputRow:
    level_dbm = output.power_dbm - isolation_db
    over_db = level_dbm - wanted.level_dbm
    step = channel_relation(wanted_channel, output.channel)
    # On the very channel it is no interference to be told by a ratio, but the loop of an on-channel relay.
    protection_db, reference = _protection(wanted_channel, output.channel, step, required_cn_db)
    noise_dbm = None if output.out_of_channel_db is None else level_dbm - output.out_of_channel_db
    return OwnOutputRow(
        service=output.service,
        wanted=wanted.name,
        level_dbm=level_dbm,
        over_wanted_db=over_db,
        step=step,
        protection_db=protection_db,
        margin_db=None if protection_db is None else -over_db - fade_db - protection_db,
        noise_dbm=noise_dbm,
        carrier_to_noise_db=None if noise_dbm is None else wanted.level_dbm - noise_dbm,
        reference=reference,
    )


def _protection(
    wanted: Channel, output: Channel, step: ChannelStep | None, required_cn_db: float
) -> tuple[float | None, str]:
    row = None if step in (None, "co-channel") else protection(wanted, output, required_cn_db)
    return (None, "") if row is None else (row.continuous_db, describe(row.reference, row.confidence))


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
    # In a fade the gain control opens up, and the loop with it: isolation stays what it was.
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
        reason=_loop_reason(margin_db, required_margin_db, fade_db),
    )


def ripple_db(gain_margin_db: float) -> float:
    """Return the peak-to-peak ripple [dB] of a gain margin [dB]: 20 log((1 + m)/(1 − m)), m = 10^(−GM/20)."""
    if gain_margin_db <= 0.0:
        return math.inf
    # Response 1/(1 - m e^jφ) swings between 1/(1 - m) and 1/(1 + m) as the phase turns with frequency.
    returned = 10.0 ** (-gain_margin_db / 20.0)
    return 20.0 * math.log10((1.0 + returned) / (1.0 - returned))


def echo_ci_db(gain_margin_db: float) -> float:
    """Return the carrier over all echoes together [dB]: −10 log(m²/(1 − m²)), m² + m⁴ + … summed."""
    if gain_margin_db <= 0.0:
        return -math.inf
    # A geometric series of powers: each turn round the loop is m² of the one before.
    returned = 10.0 ** (-gain_margin_db / 10.0)
    return -10.0 * math.log10(returned / (1.0 - returned))


def _loop_reason(margin_db: float, required_margin_db: float, fade_db: float) -> str:
    at = tell(", with {fade_db:.1f} dB more of it in the fade,", fade_db=fade_db) if fade_db > 0.0 else ""
    if margin_db <= 0.0:
        return tell(
            "the gain{at} is {margin_db} dB over the isolation: the relay oscillates",
            at=at,
            margin_db=telling(-margin_db, 0.0, 1),
        )
    asked = tell("the {required_margin_db:g} dB asked", required_margin_db=required_margin_db)
    spare_db = margin_db - required_margin_db
    side = "over" if spare_db >= 0.0 else "short of"
    in_fade = " in the fade" if fade_db > 0.0 else ""
    return tell(
        "the gain margin of {margin_db} dB{in_fade} is {spare_db} dB {side} {asked}",
        margin_db=telling(margin_db, required_margin_db, 1),
        in_fade=in_fade,
        spare_db=telling(abs(spare_db), 0.0, 1),
        side=side,
        asked=asked,
    )
