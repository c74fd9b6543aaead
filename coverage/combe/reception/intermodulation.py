"""Third-order products of an amplifier that carries several carriers at once."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from combe.decibels import power_sum_db
from combe.errors import RangeError, require_range
from combe.standards import AnalogueSystem
from combe.stations import LONGEST_SIGNAL_NAME, require_distinct, require_name

ProductKind = Literal["2a-b", "a+b-c"]

THREE_TONE_GAIN_DB: Final = 20.0 * math.log10(2.0)
"""A product of three carriers is twice the voltage of one of two: 6.02 dB."""

MOST_CARRIERS: Final = 40
_ROUNDING_DB: Final = 1e-9


@dataclass(frozen=True)
class ToneCarrier:
    """A carrier at the amplifier's output: name, frequency [MHz], level [dBm, or dB to a reference]."""

    name: str
    frequency_mhz: float
    level_dbm: float

    def __post_init__(self) -> None:
        require_name("name of a carrier", self.name, LONGEST_SIGNAL_NAME)
        require_range(f"frequency_mhz of carrier {self.name!r}", self.frequency_mhz, 0.0, 3000.0)
        require_range(f"level_dbm of carrier {self.name!r}", self.level_dbm, -200.0, 100.0)


class Product(NamedTuple):
    """A third-order product: which carriers make it, where it falls [MHz], its level [as the carriers']."""

    frequency_mhz: float
    level_dbm: float
    kind: ProductKind
    made_of: tuple[str, ...]


@dataclass(frozen=True)
class ProductVerdict:
    """The products in a band against a limit.

    ``worst`` is the strongest single product, ``sum_db`` all of them by power relative to the reference,
    ``margin_db`` how far the strongest is under the limit (positive is good; inf without a product).
    """

    products: tuple[Product, ...]
    worst: Product | None
    worst_relative_db: float
    sum_db: float
    limit_db: float
    margin_db: float
    verdict: Literal["passes", "fails"]


def third_order_products(carriers: Sequence[ToneCarrier], oip3_dbm: float) -> tuple[Product, ...]:
    """Return all products 2a − b and a + b − c of a set of carriers, lowest frequency first.

    Parameters
    ----------
    carriers : sequence of ToneCarrier, (n,)
        At the output, 2 to 40, names each once. A multiplex counts as one carrier at its centre; its product
        is spread over the widths of all three, of which this says only the centre and the total power.
    oip3_dbm : float
        Output third-order intercept [dBm], in the unit of the levels.

    Returns
    -------
    tuple of Product
        n(n − 1) of two and n(n − 1)(n − 2)/2 of three carriers. Levels 2·Pa + Pb − 2·OIP3, and
        Pa + Pb + Pc − 2·OIP3 + 6.02 dB: 1 dB more drive makes a product 3 dB more, and 2 dB against the
        carriers.

    Raises
    ------
    RangeError
        For too few or too many carriers, or a name that comes twice.
    """
    if not 2 <= len(carriers) <= MOST_CARRIERS:
        raise RangeError("number of carriers", len(carriers), f"2 to {MOST_CARRIERS}")
    require_distinct("name of the carriers", (carrier.name for carrier in carriers))
    require_range("oip3_dbm of the amplifier", oip3_dbm, -100.0, 150.0)
    # 2a − b and 2b − a are two products; of three carriers it only matters which one is taken off.
    pairs = (_of_two(a, b, oip3_dbm) for a, b in itertools.permutations(carriers, 2))
    triples = (
        _of_three(a, b, c, oip3_dbm)
        for a, b in itertools.combinations(carriers, 2)
        for c in carriers
        if c not in (a, b)
    )
    return tuple(sorted(itertools.chain(pairs, triples)))


def products_in_band(products: Iterable[Product], low_mhz: float, high_mhz: float) -> tuple[Product, ...]:
    """Return the products from ``low_mhz`` to ``high_mhz`` [MHz], both included, in their order."""
    return tuple(product for product in products if low_mhz <= product.frequency_mhz <= high_mhz)


def judge_products(products: Sequence[Product], *, reference_dbm: float, limit_db: float) -> ProductVerdict:
    """Judge products against a limit.

    Parameters
    ----------
    products : sequence of Product
        Those in the band of concern.
    reference_dbm : float
        Power at peak sync, or of the multiplex [dBm].
    limit_db : float
        The strongest product allowed, relative to the reference [dB], such as −54; under 0.

    Raises
    ------
    RangeError
        For a limit that is not under 0.
    """
    require_range("limit_db of the intermodulation", limit_db, -120.0, -1.0)
    worst = max(products, key=lambda each: each.level_dbm, default=None)
    worst_db = -math.inf if worst is None else worst.level_dbm - reference_dbm
    total_db = power_sum_db(*(product.level_dbm for product in products)) if products else -math.inf
    margin_db = limit_db - worst_db
    return ProductVerdict(
        products=tuple(products),
        worst=worst,
        worst_relative_db=worst_db,
        sum_db=total_db - reference_dbm,
        limit_db=limit_db,
        margin_db=margin_db,
        verdict="passes" if margin_db >= -_ROUNDING_DB else "fails",
    )


class ToneLevels(NamedTuple):
    """Levels of a three-tone test of vision and sound in one amplifier, relative to peak sync [dB]."""

    vision_db: float
    sound_db: float
    sideband_db: float
    reference: str


THREE_TONE_TEST: Final = ToneLevels(
    -8.0, -10.0, -16.0, "three-tone test of television transposers, from memory"
)
"""The older sound ratio has −7 dB; some practice takes −17 dB for the sideband."""


def three_tone_carriers(
    system: AnalogueSystem, tones: ToneLevels = THREE_TONE_TEST
) -> tuple[ToneCarrier, ...]:
    """Return the three tones of a system against peak sync; vision is put at 0 MHz, the others over it."""
    return (
        ToneCarrier("vision", 0.0, tones.vision_db),
        ToneCarrier("sideband", system.chroma_over_vision_mhz, tones.sideband_db),
        ToneCarrier("sound", system.sound_over_vision_mhz, tones.sound_db),
    )


def in_band_product_over_vision_mhz(system: AnalogueSystem) -> float:
    """Return where the product vision + sound − colour falls over the vision carrier [MHz]."""
    return system.sound_over_vision_mhz - system.chroma_over_vision_mhz


def required_oip3_over_peak_sync_db(limit_db: float, tones: ToneLevels = THREE_TONE_TEST) -> float:
    """Return how far the intercept must lie over peak sync for the three-tone product to meet a limit [dB].

    Examples
    --------
    >>> round(required_oip3_over_peak_sync_db(-60.0), 1)
    16.0
    """
    # Pv + Pc + Ps + 6.02 - 2 OIP3 ≤ limit, all against peak sync, solved for the intercept.
    total_db = tones.vision_db + tones.sound_db + tones.sideband_db
    return (total_db + THREE_TONE_GAIN_DB - limit_db) / 2.0


def _of_two(twice: ToneCarrier, once: ToneCarrier, oip3_dbm: float) -> Product:
    frequency_mhz = 2.0 * twice.frequency_mhz - once.frequency_mhz
    # At the intercept, carriers of OIP3 each would make a product of OIP3: 3 P - 2 OIP3.
    level_dbm = 2.0 * twice.level_dbm + once.level_dbm - 2.0 * oip3_dbm
    return Product(frequency_mhz, level_dbm, "2a-b", (twice.name, once.name))


def _of_three(a: ToneCarrier, b: ToneCarrier, less: ToneCarrier, oip3_dbm: float) -> Product:
    frequency_mhz = a.frequency_mhz + b.frequency_mhz - less.frequency_mhz
    level_dbm = a.level_dbm + b.level_dbm + less.level_dbm - 2.0 * oip3_dbm + THREE_TONE_GAIN_DB
    return Product(frequency_mhz, level_dbm, "a+b-c", (a.name, b.name, less.name))
