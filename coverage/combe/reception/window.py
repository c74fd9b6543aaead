"""The receiver's window: the range of input in which automatic gain control holds the output."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from combe.digits import apart, telling
from combe.errors import RangeError, require_range
from combe.words import tell

State = Literal["held", "output falls", "muted", "overloaded"]

_LEVELS_DBM: Final = (-130.0, 40.0)
_ROUNDING_DB: Final = 1e-9


@dataclass(frozen=True)
class AgcWindow:
    """Inputs between which the output is constant.

    Parameters
    ----------
    lowest_dbm, highest_dbm : float
        Ends of the window at the receiver's input, per service [dBm]; under the lowest the output falls dB by
        dB, over the highest it is overloaded.
    mute_dbm : float
        Input under which the relay goes off the air [dBm]; at most ``lowest_dbm``.

    Raises
    ------
    RangeError
        Naming the field.
    """

    lowest_dbm: float
    highest_dbm: float
    mute_dbm: float

    def __post_init__(self) -> None:
        for name in ("lowest_dbm", "highest_dbm", "mute_dbm"):
            require_range(f"{name} of the AGC window", getattr(self, name), *_LEVELS_DBM)
        if not self.lowest_dbm < self.highest_dbm:
            raise RangeError(
                "highest_dbm of the AGC window", self.highest_dbm, f"more than {self.lowest_dbm:g}"
            )
        if self.mute_dbm > self.lowest_dbm:
            raise RangeError("mute_dbm of the AGC window", self.mute_dbm, f"{self.lowest_dbm:g} or less")


@dataclass(frozen=True)
class WindowPlace:
    """Where one service sits in the window, at the median and with its fade and its enhancement.

    ``place_fraction`` is 0 at the lowest input and 1 at the highest, of the median. ``reserve_db`` is how
    much further the faded input may fall before the output does, ``reserve_at_median_db`` the same of the
    median, ``mute_reserve_db`` how much further the faded input may fall before the relay mutes,
    ``headroom_db`` how much further the enhanced input may rise; all negative when passed. Where the
    enhancement is not known ``enhanced_dbm`` is None, and the headroom is that of the median.
    ``output_fall_db`` is by how much the output is down at the faded input; infinite when muted.
    """

    service: str
    median_dbm: float
    faded_dbm: float
    enhanced_dbm: float | None
    place_fraction: float
    reserve_at_median_db: float
    reserve_db: float
    mute_reserve_db: float
    headroom_db: float
    output_fall_db: float
    state: State
    reason: str


def output_fall_db(window: AgcWindow, input_dbm: float) -> float:
    """Return how far the output is under its constant level at an input [dBm]; infinite when muted.

    Examples
    --------
    >>> output_fall_db(AgcWindow(-60.0, -20.0, -70.0), -63.5)
    3.5
    """
    if input_dbm < window.mute_dbm - _ROUNDING_DB:
        return float("inf")
    return max(0.0, window.lowest_dbm - input_dbm)


def place_in_window(
    window: AgcWindow, service: str, median_dbm: float, *, fade_db: float, enhancement_db: float | None = None
) -> WindowPlace:
    """Say where a service sits in the window.

    Parameters
    ----------
    window : AgcWindow
    service : str
    median_dbm : float
        At the receiver's input, exceeded for half of the time [dBm].
    fade_db : float
        Median less the level exceeded for the share of time that is judged [dB], 0 to 100.
    enhancement_db : float or None
        Level exceeded for a time as rare as the fade less the median [dB], 0 to 100; None where it is not
        known.

    Returns
    -------
    WindowPlace
        ``state`` is the worst of the two ends: muted, overloaded, output falls, held.

    Raises
    ------
    RangeError
        Naming the argument.
    """
    require_range(f"median_dbm of service {service!r}", median_dbm, -200.0, 60.0)
    require_range(f"fade_db of service {service!r}", fade_db, 0.0, 100.0)
    if enhancement_db is not None:
        require_range(f"enhancement_db of service {service!r}", enhancement_db, 0.0, 100.0)
    faded_dbm, highest_dbm = median_dbm - fade_db, median_dbm + (enhancement_db or 0.0)
    state = _state(window, faded_dbm, highest_dbm)
    called = "median" if enhancement_db is None else "enhanced"
    return WindowPlace(
        service=service,
        median_dbm=median_dbm,
        faded_dbm=faded_dbm,
        enhanced_dbm=None if enhancement_db is None else highest_dbm,
        place_fraction=(median_dbm - window.lowest_dbm) / (window.highest_dbm - window.lowest_dbm),
        reserve_at_median_db=median_dbm - window.lowest_dbm,
        reserve_db=faded_dbm - window.lowest_dbm,
        mute_reserve_db=faded_dbm - window.mute_dbm,
        headroom_db=window.highest_dbm - highest_dbm,
        output_fall_db=output_fall_db(window, faded_dbm),
        state=state,
        reason=_reason(window, faded_dbm, highest_dbm, state, called),
    )


def _state(window: AgcWindow, faded_dbm: float, highest_dbm: float) -> State:
    if faded_dbm < window.mute_dbm - _ROUNDING_DB:
        return "muted"
    if highest_dbm > window.highest_dbm + _ROUNDING_DB:
        return "overloaded"
    return "output falls" if faded_dbm < window.lowest_dbm - _ROUNDING_DB else "held"


def _reason(window: AgcWindow, faded_dbm: float, highest_dbm: float, state: State, called: str) -> str:
    if state == "overloaded":
        highest, top, over = _beside(highest_dbm, window.highest_dbm)
        return tell(
            "the {called} input {highest} dBm is {over} dB over the window's top {top} dBm",
            called=called,
            highest=highest,
            over=over,
            top=top,
        )
    if state == "muted":
        faded, mute, under = _beside(faded_dbm, window.mute_dbm)
        return tell(
            "the faded input {faded} dBm is {under} dB under the mute level {mute} dBm",
            faded=faded,
            under=under,
            mute=mute,
        )
    faded, low, distance = _beside(faded_dbm, window.lowest_dbm)
    side = "under" if state == "output falls" else "over"
    return tell(
        "the faded input {faded} dBm is {distance} dB {side} the least that holds the output, {low} dBm",
        faded=faded,
        distance=distance,
        side=side,
        low=low,
    )


def _beside(input_dbm: float, edge_dbm: float) -> tuple[str, str, str]:
    """Return an input, a limit and the distance between them, with digits that agree with each other."""
    distance = telling(abs(input_dbm - edge_dbm), 0.0, 1)
    decimals = len(distance.partition(".")[2])
    return (*apart(input_dbm, edge_dbm, decimals), distance)
