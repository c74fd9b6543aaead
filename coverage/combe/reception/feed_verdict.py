"""The verdict on one service's feed: everything that can spoil it, and the cause that does."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, get_args

from combe.digits import telling
from combe.errors import require_range
from combe.reception.cascade import AERIAL_POINT, Cascade, chain_quality, least_headroom, noisiest_stage
from combe.reception.feed_interference import InterferenceReport
from combe.reception.intermodulation import ProductVerdict
from combe.reception.own_output import LoopResult, OwnOutputRow
from combe.reception.quality import RelayChain, sum_of_impairments_db
from combe.reception.traps import Trap
from combe.reception.window import WindowPlace
from combe.words import joined, tell

Cause = Literal[
    "noise", "own output noise", "overload", "AGC floor", "AGC top", "co-channel", "adjacent channel",
    "image", "own output", "loop", "intermodulation", "relay chain",
]  # fmt: skip

Verdict = Literal["passes", "not judged", "fails"]
VERDICTS: Final[tuple[Verdict, ...]] = get_args(Verdict)
"""From the best to the worst."""

NO_RECEPTION_DB: Final = -30.0
"""Stands for the ratio of a signal that a loop without margin drowns."""

_ROUNDING_DB: Final = 1e-9


class Finding(NamedTuple):
    """One thing examined: by how much it is right [dB] (negative: short), and one plain sentence."""

    cause: Cause
    spare_db: float
    text: str


@dataclass(frozen=True)
class Demands:
    """What is asked of a service's feed.

    Parameters
    ----------
    required_cn_db : float
        Of its system and mode [dB].
    required_margin_db : float
        Over it, for the faded signal [dB].
    fade_db : float
        Median less the level exceeded for the stated time [dB]; the faded signal must stand the margin.
    required_headroom_db : float
        To be kept to the tightest limit of any stage [dB].
    image_ratio_db : float
        Least ratio to an image behind the receiver's rejection [dB].
    faded_image_ratio_db : float or None
        The same of the wanted signal in its fade [dB]; None for no other.
    """

    required_cn_db: float
    required_margin_db: float = 0.0
    fade_db: float = 0.0
    required_headroom_db: float = 0.0
    image_ratio_db: float = 0.0
    faded_image_ratio_db: float | None = None

    def __post_init__(self) -> None:
        require_range("required_cn_db of the feed", self.required_cn_db, -10.0, 60.0)
        require_range("required_margin_db of the feed", self.required_margin_db, 0.0, 60.0)
        require_range("fade_db of the feed", self.fade_db, 0.0, 100.0)
        require_range("required_headroom_db of the feed", self.required_headroom_db, 0.0, 60.0)
        require_range("image_ratio_db of the feed", self.image_ratio_db, 0.0, 100.0)


@dataclass(frozen=True)
class FeedVerdict:
    """A service judged: all findings, the scantiest first; ``causes`` are those that fail it.

    ``carrier_to_noise_db`` is that of the chain with the noise of the relay's own outputs and the echo of its
    loop, ``faded_carrier_to_noise_db`` the same in the fade; NaN where one of these is not known.
    ``not_judged`` says what is not known and could fail it: without a cause the verdict is then "not judged".
    """

    service: str
    carrier_to_noise_db: float
    faded_carrier_to_noise_db: float
    findings: tuple[Finding, ...]
    causes: tuple[Cause, ...]
    not_judged: tuple[str, ...]
    verdict: Verdict
    reason: str


def judge_feed(
    cascade: Cascade,
    service: str,
    demands: Demands,
    *,
    enhanced: Cascade | None = None,
    place: WindowPlace | None = None,
    interference: InterferenceReport | None = None,
    traps: Iterable[Trap] = (),
    own_outputs: Sequence[OwnOutputRow] = (),
    loop: LoopResult | None = None,
    products: ProductVerdict | None = None,
    chain: RelayChain | None = None,
    unknown_own: Sequence[str] = (),
    unknown_before: Sequence[str] = (),
) -> FeedVerdict:
    """Judge one service of a chain by everything that is known of it.

    Parameters
    ----------
    cascade : Cascade
    service : str
        One of its services.
    demands : Demands
    enhanced : Cascade or None
        The same chain with the enhanced signals, by which overload is judged; without it ``cascade``.
    place, interference, traps, own_outputs, loop, products, chain
        What was found of this service elsewhere; what is left out is not judged.
    unknown_own, unknown_before : sequence of str
        What could fail the feed and is not known, of the relay's own outputs and of what the parent sends: a
        feed that nothing else fails is not judged then.

    Returns
    -------
    FeedVerdict

    Raises
    ------
    RangeError
        For a service that the cascade does not have.
    """
    total_cn_db = total_carrier_to_noise_db(cascade, service, own_outputs)
    # An own output of which something is not known may cost any C/N.
    known_cn_db = math.nan if unknown_own else total_cn_db
    unknown = (*unknown_own, *unknown_before)
    findings = [
        _noise(cascade, service, demands, total_cn_db, loop, whole=not unknown_own),
        *_overload(cascade if enhanced is None else enhanced, demands, rises=enhanced is not None),
        *_window(place),
        *_interference(interference),
        *_traps(traps, demands),
        *_own_outputs(own_outputs),
        *_loop(loop),
        *_products(products),
        *_chain(chain),
    ]
    findings.sort(key=lambda finding: finding.spare_db)
    failing = [finding for finding in findings if finding.spare_db < -_ROUNDING_DB]
    return FeedVerdict(
        service=service,
        carrier_to_noise_db=known_cn_db
        if loop is None
        else _with_echo_db(known_cn_db, loop.median_echo_ci_db),
        faded_carrier_to_noise_db=faded_carrier_to_noise_db(known_cn_db, demands.fade_db, loop),
        findings=tuple(findings),
        causes=tuple(dict.fromkeys(finding.cause for finding in failing)),
        not_judged=unknown,
        verdict="fails" if failing else "not judged" if unknown else "passes",
        reason=joined("; ", [*(finding.text for finding in failing), *unknown]) or findings[0].text,
    )


def worst_verdict(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the worst of some verdicts; of none, that nothing was judged."""
    return max(verdicts, key=VERDICTS.index, default="not judged")


def total_carrier_to_noise_db(cascade: Cascade, service: str, own_outputs: Sequence[OwnOutputRow]) -> float:
    """Return the C/N of a service's chain [dB], median of time, with the noise of the relay's own outputs."""
    own_noise_db = [row.carrier_to_noise_db for row in own_outputs if row.carrier_to_noise_db is not None]
    chain_cn_db = chain_quality(cascade, service).carrier_to_noise_db
    return sum_of_impairments_db([chain_cn_db, *own_noise_db])


def faded_carrier_to_noise_db(total_cn_db: float, fade_db: float, loop: LoopResult | None) -> float:
    """Return C/N in the fade [dB]: noise gains on the signal by the fade, an echo as the gain rises."""
    faded_db = total_cn_db - fade_db
    return faded_db if loop is None else _with_echo_db(faded_db, loop.echo_ci_db)


def _with_echo_db(carrier_to_noise_db: float, echo_db: float) -> float:
    """Return a ratio [dB] with the echoes of a loop counted as noise."""
    return sum_of_impairments_db([carrier_to_noise_db, max(echo_db, NO_RECEPTION_DB)])


def _noise(
    cascade: Cascade,
    service: str,
    demands: Demands,
    total_cn_db: float,
    loop: LoopResult | None,
    *,
    whole: bool,
) -> Finding:
    """Judge C/N after its fade, echoes counted, against the required one with the margin.

    The echo of a loop that fails is left to the finding on the loop, which names the cause. Unless ``whole``,
    own outputs that are not known are left out.
    """
    loop = loop if loop is not None and loop.verdict == "passes" else None
    asked_db = demands.required_cn_db + demands.required_margin_db + demands.fade_db
    echo_db = total_cn_db - demands.fade_db - faded_carrier_to_noise_db(total_cn_db, demands.fade_db, loop)
    spare_db = total_cn_db - echo_db - asked_db
    cause, most = _noise_cause(cascade, service, asked_db, total_cn_db, spare_db)
    faded = tell(", {fade_db:.1f} dB less in the fade,", fade_db=demands.fade_db) if demands.fade_db else ""
    if loop is not None:
        faded += tell(" {echo_db:.1f} dB less by the echo of its loop,", echo_db=echo_db)
    left_out = "" if whole else ", the relay's own outputs not counted"
    text = tell(
        "C/N {total_cn_db:.1f} dB{faded} against {required_cn_db:g} dB and a margin of"
        " {required_margin_db:g} dB: {signed} dB{left_out}; {most} costs most",
        total_cn_db=total_cn_db,
        faded=faded,
        required_cn_db=demands.required_cn_db,
        required_margin_db=demands.required_margin_db,
        signed=_signed(spare_db),
        left_out=left_out,
        most=most,
    )
    return Finding(cause, spare_db, text)


def _noise_cause(
    cascade: Cascade, service: str, asked_db: float, total_cn_db: float, spare_db: float
) -> tuple[Cause, str]:
    """Return what tips a ratio that falls short, and what to call it: the loop, own outputs, or a stage."""
    if spare_db < -_ROUNDING_DB <= total_cn_db - asked_db:
        return "loop", "the echo of its loop"
    if spare_db < -_ROUNDING_DB <= chain_quality(cascade, service).carrier_to_noise_db - asked_db:
        return "own output noise", "within the chain, own output"
    point = noisiest_stage(cascade, service).point
    # Before the first stage there is nothing that could be bettered in the chain.
    most = "the noise of the surroundings" if point == AERIAL_POINT else point
    return "noise", tell("within the chain, {most}", most=most)


def _signed(spare_db: float) -> str:
    """Return what is to spare [dB] with its sign, and digits enough to show it."""
    return telling(spare_db, 0.0, 1, sign=True)


def _overload(cascade: Cascade, demands: Demands, *, rises: bool) -> list[Finding]:
    load = least_headroom(cascade)
    if load is None or load.headroom_db is None:
        return []
    spare_db = load.headroom_db - demands.required_headroom_db
    headroom = telling(load.headroom_db, demands.required_headroom_db, 1)
    when = " in the enhancement" if rises else ""
    text = tell(
        "headroom {headroom} dB to the limit of {limited_by} with all signals present{when},"
        " {strongest} the strongest: {signed} dB",
        headroom=headroom,
        limited_by=load.limited_by,
        when=when,
        strongest=load.strongest,
        signed=_signed(spare_db),
    )
    return [Finding("overload", spare_db, text)]


def _window(place: WindowPlace | None) -> list[Finding]:
    if place is None:
        return []
    # Of the two ends of the window the nearer one is told.
    if place.headroom_db < place.reserve_db:
        return [
            Finding(
                "AGC top", place.headroom_db, place.reason if place.state == "overloaded" else _top(place)
            )
        ]
    return [Finding("AGC floor", place.reserve_db, place.reason)]


def _top(place: WindowPlace) -> str:
    called, input_dbm = "enhanced", place.enhanced_dbm
    if input_dbm is None:
        called, input_dbm = "median", place.median_dbm
    below_db = telling(place.headroom_db, 0.0, 1)
    return tell(
        "the {called} input {input_dbm:.1f} dBm is {below_db} dB under the window's top",
        called=called,
        input_dbm=input_dbm,
        below_db=below_db,
    )


def _interference(report: InterferenceReport | None) -> list[Finding]:
    if report is None or not report.rows:
        return []
    cause: Cause = "co-channel" if report.rows[0].step == "co-channel" else "adjacent channel"
    return [Finding(cause, report.margin_db, report.reason)]


def _traps(traps: Iterable[Trap], demands: Demands) -> list[Finding]:
    findings = []
    for trap in traps:
        if trap.carrier_to_interference_db is not None:
            spare_db = trap.carrier_to_interference_db - _image_ratio_db(trap, demands)
            when = " in the fade" if trap.wanted_at == "fade" else ""
            text = tell(
                "{station} {service} on the {relation}{when}: {signed} dB",
                station=trap.station,
                service=trap.service,
                relation=trap.relation,
                when=when,
                signed=_signed(spare_db),
            )
            findings.append(Finding("image", spare_db, text))
    return findings


def _image_ratio_db(trap: Trap, demands: Demands) -> float:
    if trap.wanted_at == "median" or demands.faded_image_ratio_db is None:
        return demands.image_ratio_db
    return demands.faded_image_ratio_db


def _own_outputs(rows: Sequence[OwnOutputRow]) -> list[Finding]:
    return [
        Finding(
            "own output",
            row.margin_db,
            tell(
                "own output {service} ({step}): {signed} dB",
                service=row.service,
                step=row.step,
                signed=_signed(row.margin_db),
            ),
        )
        for row in rows
        if row.margin_db is not None
    ]


def _loop(loop: LoopResult | None) -> list[Finding]:
    if loop is None:
        return []
    return [Finding("loop", loop.gain_margin_db - loop.required_margin_db, loop.reason)]


def _products(verdict: ProductVerdict | None) -> list[Finding]:
    if verdict is None or verdict.worst is None:
        return []
    text = tell(
        "third-order product of {made_of} at {frequency_mhz:.2f} MHz"
        " is {worst_relative_db} dB against {limit_db:g} dB:"
        " {signed} dB",
        made_of=joined(", ", verdict.worst.made_of),
        frequency_mhz=verdict.worst.frequency_mhz,
        worst_relative_db=telling(verdict.worst_relative_db, verdict.limit_db, 1),
        limit_db=verdict.limit_db,
        signed=_signed(verdict.margin_db),
    )
    return [Finding("intermodulation", verdict.margin_db, text)]


def _chain(chain: RelayChain | None) -> list[Finding]:
    if chain is None:
        return []
    spare_db = chain.margin_db if chain.broken_at is None else -math.inf
    return [Finding("relay chain", spare_db, chain.reason)]
