"""How a relay receives, and what stands behind its power: the chains of a station as they are given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from combe.errors import RangeError, require_range
from combe.prediction import SHARES_PERCENT
from combe.stations import Pattern, Polarization

StageKind = Literal[
    "feeder",
    "masthead amplifier",
    "passive splitter",
    "active splitter",
    "attenuator",
    "channel filter",
    "receiver",
]
Arrangement = Literal["side by side", "one above the other"]

_FEED_RANGES: Final = {"required_margin_db": (0.0, 60.0)}
_AERIAL_RANGES: Final = {
    "height_m": (1.0, 500.0),
    "gain_dbi": (-10.0, 40.0),
    "stacking_loss_db": (0.0, 6.0),
    "cross_polar_db": (0.0, 60.0),
}


@dataclass(frozen=True)
class FeedAerial:
    """The receiving aerial, one or a stack; what it does not say is its parent's or ITU-R BT.419's.

    Heights are above ground; ``bearing_deg`` None looks at the parent, ``polarization`` None is the parent's,
    ``pattern`` None is BT.419-3.
    """

    height_m: float
    gain_dbi: float
    count: int = 1
    stacking_loss_db: float = 0.0
    bearing_deg: float | None = None
    polarization: Polarization | None = None
    pattern: Pattern | None = None
    cross_polar_db: float = 16.0

    def __post_init__(self) -> None:
        for name, (low, high) in _AERIAL_RANGES.items():
            require_range(f"{name} of the receiving aerial", getattr(self, name), low, high)
        require_range("count of the receiving aerial", self.count, 1, 16)


@dataclass(frozen=True)
class FeedStage:
    """One stage of a feed by its kind; which of the other values it has, the kind decides.

    ``loss_db`` of a passive splitter stands in place of ``ways`` where only the loss is known.
    """

    kind: StageKind
    name: str | None = None
    size: str | None = None
    length_m: float | None = None
    loss_db: float | None = None
    at_mhz: float | None = None
    ways: int | None = None
    excess_loss_db: float | None = None
    gain_db: float | None = None
    noise_figure_db: float | None = None
    output_limit_dbm: float | None = None
    input_limit_dbm: float | None = None
    passband: Literal["channel"] | None = None
    passband_mhz: tuple[float, float] | None = None
    rejection_db: float | None = None
    image_rejection_db: float | None = None
    intermediate_frequency_mhz: float | None = None


@dataclass(frozen=True)
class InputWindow:
    """The range of input, each service by itself [dBm], over which gain control holds the output."""

    lowest_dbm: float
    highest_dbm: float
    mute_dbm: float


@dataclass(frozen=True)
class AerialIsolation:
    """How far a relay's own output is off its receiving aerial: as measured, or by the aerials' distance."""

    isolation_db: float | None = None
    separation_m: float | None = None
    arrangement: Arrangement | None = None
    transmit_gain_dbi: float | None = None
    receive_gain_dbi: float | None = None
    out_of_channel_db: float | None = None

    def __post_init__(self) -> None:
        estimated = self.separation_m is not None and self.arrangement is not None
        if self.isolation_db is None and not estimated:
            raise RangeError(
                "isolation_db", "missing", "a measured isolation, or separation_m and arrangement"
            )


@dataclass(frozen=True)
class LoopDemands:
    """What is known and asked of the loop of a relay that keeps its channel [dB]."""

    gain_db: float | None = None
    canceller_db: float = 0.0
    required_margin_db: float = 10.0


def asked_shares(
    time_percent: float | Sequence[float], known: Sequence[float] = (), of: str = "feed"
) -> tuple[float, ...]:
    """Return all shares of an average year [%] for which a feed has to stand, the least first.

    Parameters
    ----------
    time_percent
        One share, or several.
    known
        Shares that are known already; they hold as long as the one share is the greatest of them.
    of : str
        Whose they are, for an error.

    Raises
    ------
    RangeError
        For no share, or one outside 50 to 99.999 %.

    Examples
    --------
    >>> asked_shares((99.9, 99.0)), asked_shares(99.9, (99.0, 99.9)), asked_shares(95.0, (99.0, 99.9))
    ((99.0, 99.9), (99.0, 99.9), (95.0,))
    """
    if isinstance(time_percent, Sequence):
        found = tuple(sorted(set(time_percent)))
    else:
        kept = bool(known) and max(known) == time_percent
        found = tuple(sorted(set(known))) if kept else (time_percent,)
    if not found:
        raise RangeError(f"time_percent of the {of}", "empty", "one share of the year or more")
    for share in found:
        require_range(f"time_percent of the {of}", share, *SHARES_PERCENT)
    return found


@dataclass(frozen=True)
class Feed:
    """The receiving side of a relay.

    Parameters
    ----------
    parent : str
        The station that is received.
    aerial : FeedAerial
    stages : tuple of FeedStage
        In the order of the signal's way, the receiver last.
    required_margin_db : float
        Margin that has to stand over the required C/N [dB].
    time_percent : float
        Share of an average year for which it has to stand [%], 50 to 99.999. Of several, given as a tuple, it
        is the greatest, for which the feed is judged.
    time_percents : tuple of float
        All shares that are asked, the least first; without it ``time_percent`` alone.
    required_cn_db : float or None
        C/N of the receiver [dB]; None takes that of the television mode.
    as_built : bool
        Whether the stages are those of a chain as it is built; a first budget is False.

    Raises
    ------
    RangeError
        Naming the value.

    Examples
    --------
    >>> feed = Feed.of_budget("Parent Hill", aerial_height_m=12.0, aerial_gain_dbi=14.0, feeder_loss_db=2.0,
    ...                       noise_figure_db=6.0, required_margin_db=10.0)
    >>> [stage.kind for stage in feed.stages]
    ['feeder', 'receiver']
    """

    parent: str
    aerial: FeedAerial
    stages: tuple[FeedStage, ...]
    required_margin_db: float
    time_percent: float = 99.0
    time_percents: tuple[float, ...] = ()
    required_cn_db: float | None = None
    window: InputWindow | None = None
    own_output: AerialIsolation | None = None
    on_channel: LoopDemands | None = None
    as_built: bool = True

    def __post_init__(self) -> None:
        for name, (low, high) in _FEED_RANGES.items():
            require_range(f"{name} of the feed", getattr(self, name), low, high)
        # One share is judged, whichever way they were given; a copy with another share drops the rest.
        shares = asked_shares(self.time_percent, self.time_percents)
        object.__setattr__(self, "time_percents", shares)
        object.__setattr__(self, "time_percent", shares[-1])
        kinds = [stage.kind for stage in self.stages]
        if kinds.count("receiver") != 1 or kinds[-1] != "receiver":
            raise RangeError("stages of the feed", ", ".join(kinds) or "empty", "one receiver, at the end")

    @classmethod
    def of_budget(
        cls,
        parent: str,
        *,
        aerial_height_m: float,
        aerial_gain_dbi: float,
        feeder_loss_db: float,
        noise_figure_db: float,
        required_margin_db: float,
        splitter_loss_db: float = 0.0,
        **others: object,
    ) -> Feed:
        """Return a feed of which only the lumps of a first budget are known; ``others`` as of the class."""
        splitter = (FeedStage("passive splitter", "splitter", loss_db=splitter_loss_db),)
        return cls(
            parent,
            FeedAerial(aerial_height_m, aerial_gain_dbi),
            (
                FeedStage("feeder", "feeder", loss_db=feeder_loss_db),
                *(splitter if splitter_loss_db else ()),
                FeedStage("receiver", "receiver", noise_figure_db=noise_figure_db),
            ),
            required_margin_db,
            as_built=False,
            **others,  # type: ignore[arg-type]
        )


@dataclass(frozen=True)
class OutputPiece:
    """A passive piece between amplifier and transmitting aerial: by its loss [dB], or by size and length."""

    name: str
    loss_db: float | None = None
    size: str | None = None
    length_m: float | None = None


@dataclass(frozen=True)
class Output:
    """The output side of a station: amplifier, what stands behind it, and the gain that makes it an ERP.

    ``power_w`` at the amplifier, one for each service in order; None takes what the ERP needs.
    ``equipment_db`` is the modulation error ratio (analogue: C/N) that the station's own equipment leaves.
    """

    aerial_gain_dbd: float
    power_w: tuple[float, ...] | None = None
    common_amplifier: bool = False
    oip3_dbm: float | None = None
    intermodulation_limit_db: float | None = None
    equipment_db: float | None = None
    regenerates: bool = False
    stages: tuple[OutputPiece, ...] = ()
