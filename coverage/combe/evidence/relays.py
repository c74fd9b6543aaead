"""The relay's own chain: figures of noise, losses, loops and quality, worked from their laws."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

from combe.decibels import field_from_loss_dbuv_m
from combe.evidence.case import EvidenceCase, Once
from combe.reception import (
    FeedBudget,
    FeedChain,
    NoisyGain,
    cascade_noise,
    division_loss_db,
    echo_ci_db,
    feed_budget,
    passive,
    passive_splitter,
    required_cn_with_mer_db,
    ripple_db,
    stage_gain_db,
    sum_of_impairments_db,
)
from combe.standards import connector_loss_db, feeder_loss_db_per_100m

NAME: Final = "Relay engineering"

CHAINS: Final = (
    # words, stages, noise figure dB, gain dB
    (
        "feeder 3 dB, splitter 4 dB, receiver 6 dB",
        (passive(3.0), passive(4.0), NoisyGain(0.0, 6.0)),
        13.0,
        -7.0,
    ),
    (
        "mast amplifier 20/2 dB, feeder 3 dB, splitter 4 dB, receiver 40/6 dB",
        (NoisyGain(20.0, 2.0), passive(3.0), passive(4.0), NoisyGain(40.0, 6.0)),
        2.491,
        53.0,
    ),
    (
        "jumper 1 dB, amplifier 15/1.5 dB, losses 7 dB, receiver 40/8 dB",
        (passive(1.0), NoisyGain(15.0, 1.5), passive(7.0), NoisyGain(40.0, 8.0)),
        4.767,
        47.0,
    ),
)

FEED_FIELD_DBUV_M: Final = 72.0
FEED_MHZ: Final = 634.0
FEED_CHAIN: Final = FeedChain(
    aerial_height_m=12.0,
    aerial_gain_dbi=14.15,
    feeder_loss_db=2.5,
    splitter_loss_db=6.5,
    noise_figure_db=6.0,
    bandwidth_mhz=7.61,
    required_cn_db=20.0,
    required_margin_db=10.0,
)
FEED: Final = (
    # field of the budget, words, figure, unit, tolerance
    ("aerial_output_dbm", "power at the aerial", -47.11, "dBm", 0.006),
    ("receiver_input_dbm", "power at the receiver", -56.11, "dBm", 0.006),
    ("carrier_to_noise_db", "C/N", 43.05, "dB", 0.02),
)

LOOPS: Final = (
    # gain margin dB; ripple peak to peak dB, C/I of the echoes dB
    (6.0, 9.57, 4.74),
    (10.0, 5.69, 9.54),
    (15.0, 3.12, 14.86),
    (20.0, 1.74, 19.96),
    (25.0, 0.98, 24.99),
)

ERRORS: Final = (
    # modulation error ratios of the hops dB, of all dB
    ((33.0, 33.0), 29.99),
    ((40.0, 33.0, 33.0), 29.58),
    ((36.0, 34.0, 32.0), 28.93),
    ((35.0, 35.0, 35.0, 35.0), 28.98),
    ((30.0, 40.0), 29.59),
)

DIVISIONS: Final = ((2, 3.01), (4, 6.02), (8, 9.03))
"""Ways of an ideal splitter, loss [dB]."""

FEEDERS: Final = (
    # size, dB per 100 m at 450 and 850 MHz
    ("1/2 in foam", 5.2, 6.8),
    ("7/8 in foam", 2.6, 3.7),
    ("1-5/8 in foam", 1.7, 2.3),
    ("10 mm braided, solid polyethylene", 16.3, 24.7),
)

CONNECTORS: Final = ((450.0, 0.5), (850.0, 0.6))
"""MHz, loss of a connection [dB]."""


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    yield from _chains()
    yield from _feed()
    for margin, ripple, ratio in LOOPS:
        source, case = "feedback 10^(−GM/20), worked", f"on-channel relay, gain margin {margin:g} dB"
        for quantity, expected, function in (("ripple", ripple, ripple_db), ("echo C/I", ratio, echo_ci_db)):
            compute = partial(function, margin)
            yield EvidenceCase(NAME, source, case, quantity, expected, "dB", 0.006, "computed", compute)
    for parts, total in ERRORS:
        compute = partial(sum_of_impairments_db, parts)
        source, case = (
            "1/MER = Σ 1/MERi, worked",
            "hops of " + ", ".join(f"{part:g}" for part in parts) + " dB",
        )
        yield EvidenceCase(NAME, source, case, "MER of all", total, "dB", 0.01, "computed", compute)
    compute = partial(required_cn_with_mer_db, 20.0, 33.0)
    source, case = "1/(1/C/N − 1/MER), worked", "20 dB required, MER 33 dB"
    yield EvidenceCase(NAME, source, case, "required C/N", 20.223, "dB", 5e-4, "computed", compute)
    yield from _losses()


def _chains() -> Iterator[EvidenceCase]:
    for case, stages, noise_figure, gain in CHAINS:
        found = Once(partial(_noise, stages))
        source = "H. T. Friis, Proc. IRE 32, 1944: F = F1 + (F2 − 1)/G1; worked in double precision"
        for field, quantity, expected in (
            ("noise_figure_db", "noise figure", noise_figure),
            ("gain_db", "gain", gain),
        ):
            compute = partial(found.field, field)
            yield EvidenceCase(NAME, source, case, quantity, expected, "dB", 0.001, "computed", compute)


def _noise(stages: Sequence[NoisyGain]) -> NoisyGain:
    return cascade_noise(stages)


def _feed() -> Iterator[EvidenceCase]:
    found = Once(_feed_budget)
    source = "P = E − 20 log f + G − 77.216, less losses, over k T0 B and F; worked"
    for field, quantity, expected, unit, tolerance in FEED:
        compute = partial(found.field, field)
        case = "72 dB(µV/m), 634 MHz, 14.15 dBi, losses 2.5 and 6.5 dB, F 6 dB, 7.61 MHz"
        yield EvidenceCase(NAME, source, case, quantity, expected, unit, tolerance, "computed", compute)


def _feed_budget() -> FeedBudget:
    """Return the budget whose loss leaves the field of the example from 1 kW e.r.p."""
    return feed_budget(
        erp_towards_site_dbw=30.0,
        distance_km=20.0,
        frequency_mhz=FEED_MHZ,
        free_space_loss_db=field_from_loss_dbuv_m(30.0, 0.0, FEED_MHZ) - FEED_FIELD_DBUV_M,
        diffraction_loss_db=0.0,
        chain=FEED_CHAIN,
    )


def _losses() -> Iterator[EvidenceCase]:
    for ways, loss in DIVISIONS:
        compute = partial(division_loss_db, ways)
        case = f"ideal splitter, {ways} ways"
        yield EvidenceCase(NAME, "10 log n, worked", case, "loss", loss, "dB", 0.005, "computed", compute)
    compute = partial(_splitter_loss_db)
    case = "four ways of 3 dB couplers, 0.25 dB excess each"
    yield EvidenceCase(
        NAME, "common practice", case, "loss", 6.5, "dB", 0.03, "common practice, no source", compute
    )
    for size, *losses in FEEDERS:
        for mhz, loss in zip((450.0, 850.0), losses, strict=True):
            compute = partial(feeder_loss_db_per_100m, size, mhz)
            source, case = "public attenuation tables of 50 Ω feeders", f"{size}, {mhz:g} MHz"
            yield EvidenceCase(NAME, source, case, "loss of 100 m", loss, "dB", 1e-6, "read", compute)
    for mhz, loss in CONNECTORS:
        compute = partial(connector_loss_db, mhz)
        source, case = "published training guide, on the safe side", f"connection, {mhz:g} MHz"
        yield EvidenceCase(NAME, source, case, "loss", loss, "dB", 1e-6, "read", compute)


def _splitter_loss_db() -> float:
    return -stage_gain_db(passive_splitter("splitter", 4, excess_loss_db=0.5), 600.0)
