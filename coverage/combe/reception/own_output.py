"""The relay's own outputs on its receive aerial, through the isolation between the two aerials."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import require_range
from combe.propagation.p525 import free_space_loss_db
from combe.reception.cascade import FeedSignal
from combe.reception.protection import Channel, channel_relation, protection
from combe.standards.cited import describe
from combe.standards.protection import ChannelStep
from combe.stations.checks import require_name

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

    ``step``, ``protection_db`` and ``margin_db`` are None when the output's channel does not touch the wanted
    one; ``noise_dbm`` and ``carrier_to_noise_db`` (wanted over the output's noise in the wanted channel) are
    None when that noise was not stated.
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
    return tuple(_row(wanted, wanted_channel, each, isolation_db, required_cn_db) for each in outputs)


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
        loss_db = float(free_space_loss_db(separation_m / 1000.0, frequency_mhz))
        return loss_db - transmit_gain_dbi - receive_gain_dbi
    wavelength_m = SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6)
    constant_db, slope_db = VERTICAL_ISOLATION
    return constant_db + slope_db * math.log10(separation_m / wavelength_m)


def _row(
    wanted: FeedSignal, wanted_channel: Channel, output: OwnOutput, isolation_db: float, required_cn_db: float
) -> OwnOutputRow:
    level_dbm = output.power_dbm - isolation_db
    over_db = level_dbm - wanted.level_dbm
    step = channel_relation(wanted_channel, output.channel)
    protection_db, reference = _protection(wanted_channel, output.channel, step, required_cn_db)
    noise_dbm = None if output.out_of_channel_db is None else level_dbm - output.out_of_channel_db
    return OwnOutputRow(
        service=output.service,
        wanted=wanted.name,
        level_dbm=level_dbm,
        over_wanted_db=over_db,
        step=step,
        protection_db=protection_db,
        margin_db=None if protection_db is None else -over_db - protection_db,
        noise_dbm=noise_dbm,
        carrier_to_noise_db=None if noise_dbm is None else wanted.level_dbm - noise_dbm,
        reference=reference,
    )


def _protection(
    wanted: Channel, output: Channel, step: ChannelStep | None, required_cn_db: float
) -> tuple[float | None, str]:
    row = None if step in (None, "co-channel") else protection(wanted, output, required_cn_db)
    return (None, "") if row is None else (row.continuous_db, describe(row.reference, row.confidence))
