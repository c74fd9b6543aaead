"""The classical constructions for several knife edges, side by side, for checking a path by hand.

All take the same edges (:mod:`combe.propagation.p526.edges`) and J(ν) of P.526-16 eq. (31) for each:

- Epstein-Peterson adds J(ν) of each edge seen between its neighbours;
- with the correction of spacings: Lc of P.526-16 §4.3 for two edges, −20 log CN of §4.4 for any number, the
  cylinders of §4.4 taken without thickness and the ground between them left out;
- Deygout takes the edge of largest ν over the whole way, then does the same on both sides of it;
- with Tc of P.526-16 §4.3, for two edges;
- Bullington puts one edge where the horizon rays of both ends meet; §4.5.1 adds an empirical correction;
- the exact integral stands beside them where there are one or two edges.

They are for isolated ridges. Over a smooth or gently rolling Earth the string has many corners and the sums
grow without meaning; the complete method of §4.5.2 is for that. With close edges Epstein-Peterson comes out
too low and Deygout too high; with ridges apart Bullington without correction is lowest of all.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Final

import numpy.typing as npt

from combe.errors import RangeError
from combe.propagation.p526.bullington import bullington_point
from combe.propagation.p526.delta import check_profile
from combe.propagation.p526.edges import Point, Way, find_way, height_over_line_m
from combe.propagation.p526.knife_edge import (
    fresnel_parameter,
    knife_edge_loss_db,
    knife_edge_loss_exact_db,
    wavelength_m,
)
from combe.propagation.p526.spherical import check_diffraction_conditions
from combe.propagation.p526.two_edges import double_edge_loss_exact_db, main_edge_correction_db
from combe.words import tell

_ENOUGH_DB: Final = 15.0
"""Loss of each edge from which Lc is meant to be used (P.526-16 §4.3, from memory)."""


@dataclass(frozen=True)
class Edge:
    """One edge as a construction sees it."""

    distance_km: float
    """From the transmitter."""
    height_m: float
    """Top above sea level; where one edge stands for several, of that edge."""
    nu: float
    """ν between the two points this construction sees the edge from."""
    loss_db: float
    """J(ν)."""


@dataclass(frozen=True)
class Construction:
    """What one construction makes of a path; ``loss_db`` is NaN where it does not apply, as the note says."""

    name: str
    loss_db: float
    edges: tuple[Edge, ...]
    """In the order the construction takes them."""
    reference: str
    standing: str
    """How its formula is known: ``read``, ``computed`` or ``from memory``."""
    note: str = ""


@dataclass(frozen=True)
class _Ground:
    """A way over the ground with what is needed to price it."""

    way: Way
    frequency_mhz: float
    curvature: float

    @property
    def length_km(self) -> float:
        return self.way.rx.distance_km

    @property
    def stops(self) -> list[Point]:
        return [self.way.tx, *self.way.edges, self.way.rx]


def compare_constructions(
    distance_km: npt.ArrayLike,
    height_m: npt.ArrayLike,
    *,
    tx_height_m: float,
    rx_height_m: float,
    frequency_mhz: float,
    effective_radius_km: float = 8500.0,
) -> tuple[Construction, ...]:
    """Return the diffraction loss of a profile by each classical construction.

    Parameters
    ----------
    distance_km
        Distances [km] from the transmitter, shape (n,), ascending from 0.
    height_m
        Ground heights [m] above sea level, shape (n,).
    tx_height_m, rx_height_m
        Aerial heights [m] above ground, above 0.
    frequency_mhz
        Frequency [MHz], 10 or more.
    effective_radius_km
        Effective Earth radius [km]; ``math.inf`` gives a flat Earth.

    Returns
    -------
    tuple of Construction
        Always the same seven, in the order of the module's text.

    Raises
    ------
    ProfileError, RangeError
        For an unusable profile, or a value outside the ranges given.

    Examples
    --------
    >>> found = compare_constructions([0, 10, 20, 30], [0, 51, 51, 0], tx_height_m=1, rx_height_m=1,
    ...                               frequency_mhz=600, effective_radius_km=math.inf)
    >>> [(each.name, round(each.loss_db, 1)) for each in found[:3:2]]
    [('Epstein-Peterson', 23.8), ('Deygout', 27.2)]
    """
    distance, height = check_profile(distance_km, height_m)
    for name, value in (("tx_height_m", tx_height_m), ("rx_height_m", rx_height_m)):
        if not 0.0 < value < math.inf:
            raise RangeError(name, value, "above 0 m (over ground)")
    if not effective_radius_km > 0.0:
        raise RangeError("effective_radius_km", effective_radius_km, "above 0 km")
    check_diffraction_conditions(frequency_mhz, "horizontal", 0.0)
    curvature = 500.0 / effective_radius_km
    wavelength = wavelength_m(frequency_mhz)
    way = find_way(distance, height, float(tx_height_m), float(rx_height_m), curvature, wavelength)
    ground = _Ground(way, float(frequency_mhz), curvature)
    chain, main = _chain(ground), _main_first(ground, 0, len(ground.stops) - 1)
    return (
        _epstein_peterson(chain),
        _with_spacings(ground, chain),
        _deygout(main),
        _deygout_corrected(ground, main),
        *_bullington(ground),
        _exact(ground),
    )


def _edge(ground: _Ground, left: Point, top: Point, right: Point) -> Edge:
    """Return an edge as seen from the points on both sides of it."""
    nu = fresnel_parameter(
        height_over_line_m(left, top, right),
        top.distance_km - left.distance_km,
        right.distance_km - top.distance_km,
        ground.frequency_mhz,
    )
    # Edges carry the Earth's bulge with them so that rays are straight; a height that is shown is without it.
    bulge_m = ground.curvature * top.distance_km * (ground.length_km - top.distance_km)
    return Edge(top.distance_km, top.height_m - bulge_m, nu, knife_edge_loss_db(nu))


def _chain(ground: _Ground) -> tuple[Edge, ...]:
    """Return each edge seen between its neighbours, in the order of the path."""
    stops = ground.stops
    return tuple(_edge(ground, *stops[i - 1 : i + 2]) for i in range(1, len(stops) - 1))


def _main_first(ground: _Ground, start: int, end: int) -> tuple[Edge, ...]:
    """Return the edge of largest ν between two stops, then those on its two sides in the same manner."""
    stops = ground.stops
    if end - start < 2:
        return ()
    # Largest ν between these ends, not the highest top: a lower edge near an end may shadow more.
    seen = {i: _edge(ground, stops[start], stops[i], stops[end]) for i in range(start + 1, end)}
    main = max(seen, key=lambda i: seen[i].nu)
    return (seen[main], *_main_first(ground, start, main), *_main_first(ground, main, end))


def _sum_db(edges: tuple[Edge, ...]) -> float:
    return math.fsum(edge.loss_db for edge in edges)


def _epstein_peterson(chain: tuple[Edge, ...]) -> Construction:
    reference = "Epstein and Peterson, Proc. IRE 41, 1953"
    return Construction("Epstein-Peterson", _sum_db(chain), chain, reference, "from memory")


def _with_spacings(ground: _Ground, chain: tuple[Edge, ...]) -> Construction:
    reference = "ITU-R P.526-16 §4.3 for two edges, §4.4 without thickness for more"
    weak = len(chain) > 1 and min(edge.loss_db for edge in chain) < _ENOUGH_DB
    return Construction(
        "Epstein-Peterson with spacing correction",
        _sum_db(chain) + spacing_correction_of_chain_db(ground.way),
        chain,
        reference,
        "from memory",
        f"an edge costs less than {_ENOUGH_DB:g} dB: the correction is then too large" if weak else "",
    )


def spacing_correction_of_chain_db(way: Way) -> float:
    """Return −20 log CN [dB], what is added for the spacings of any number of edges (P.526-16 §4.4).

    CN² = Pa/Pb, Pa = s1 Π s2ᵢ (s1 + Σ s2ᵢ), Pb = s1 s2ₙ Π (s1ᵢ + s2ᵢ); s1ᵢ and s2ᵢ distances from edge i to
    its neighbours. Equal to Lc for two edges, 0 for one.
    """
    stops = [point.distance_km for point in (way.tx, *way.edges, way.rx)]
    gaps = [right - left for left, right in itertools.pairwise(stops)]
    pairs = [left + right for left, right in itertools.pairwise(gaps)]
    if not pairs:
        return 0.0
    # Of CN² = Pa/Pb the first and the last gap stand above and below and fall out; so they are left out of
    # both.
    between = math.fsum(math.log10(gap) for gap in gaps[1:-1]) + math.log10(stops[-1])
    return 10.0 * (math.fsum(math.log10(pair) for pair in pairs) - between)


def _deygout(main: tuple[Edge, ...]) -> Construction:
    reference = "Deygout, IEEE Trans. Antennas and Propagation 14, 1966"
    return Construction("Deygout", _sum_db(main), main, reference, "from memory")


def _deygout_corrected(ground: _Ground, main: tuple[Edge, ...]) -> Construction:
    """Return the main-edge form of P.526-16 §4.3; the same as Deygout for one edge or none."""
    name, reference = "Deygout with two-edge correction", "ITU-R P.526-16 §4.3, one edge predominant"
    if len(main) > 2:
        return Construction(name, math.nan, (), reference, "from memory", "for one or two edges only")
    loss_db = _sum_db(main)
    if len(main) == 2:
        first, second = sorted(edge.distance_km for edge in main)
        other = next(point for point in ground.way.edges if point.distance_km == main[1].distance_km)
        # p and q of Tc are both seen from the ends of the path; in the sum the second edge was seen from
        # the main one.
        other_nu = _edge(ground, ground.way.tx, other, ground.way.rx).nu
        ends = (first, ground.length_km - second)
        loss_db -= main_edge_correction_db(ends[0], second - first, ends[1], main[0].nu, other_nu)
    return Construction(name, loss_db, main, reference, "from memory")


def _bullington(ground: _Ground) -> tuple[Construction, Construction]:
    """Return Bullington's one edge without and with the correction of P.526-16 §4.5.1."""
    edge = _one_edge(ground)
    edges = () if edge is None else (edge,)
    plain_db = _sum_db(edges)
    added_db = (1.0 - math.exp(-plain_db / 6.0)) * (10.0 + 0.02 * ground.length_km)
    return (
        Construction(
            "Bullington", plain_db, edges, "Bullington, Proc. IRE 35, 1947; J by P.526-16 §4.1", "read"
        ),
        Construction(
            "Bullington with correction", plain_db + added_db, edges, "ITU-R P.526-16 §4.5.1", "read"
        ),
    )


def _one_edge(ground: _Ground) -> Edge | None:
    """Return the edge at the meeting of the horizon rays, or the only one there is."""
    tx, rx = ground.way.tx, ground.way.rx
    if not ground.way.edges:
        return None
    first, last = ground.way.edges[0], ground.way.edges[-1]
    if first is last:
        return _edge(ground, tx, first, rx)
    tx_slope = (first.height_m - tx.height_m) / first.distance_km
    rx_slope = (last.height_m - rx.height_m) / (ground.length_km - last.distance_km)
    at_km, over_m = bullington_point(ground.length_km, tx.height_m, rx.height_m, tx_slope, rx_slope)
    line_m = tx.height_m + (rx.height_m - tx.height_m) * at_km / ground.length_km
    return _edge(ground, tx, Point(at_km, line_m + over_m), rx)


def _exact(ground: _Ground) -> Construction:
    """Return the integral over the open half planes, which is known for one edge and for two."""
    edges, name = ground.way.edges, "Exact, one or two edges"
    reference, note, loss_db = "Fresnel-Kirchhoff integral, worked without approximation", "", math.nan
    whole = tuple(_edge(ground, ground.way.tx, top, ground.way.rx) for top in edges)
    if not edges:
        loss_db = 0.0
    elif len(edges) == 1:
        loss_db = knife_edge_loss_exact_db(whole[0].nu)
    elif len(edges) == 2:
        loss_db = _two_exact_db(ground)
    else:
        whole, note = (), tell("for one or two edges only; here are {edges}", edges=len(edges))
    return Construction(name, loss_db, whole, reference, "computed", note)


def _two_exact_db(ground: _Ground) -> float:
    first, second = ground.way.edges
    return double_edge_loss_exact_db(
        first.distance_km,
        second.distance_km - first.distance_km,
        ground.length_km - second.distance_km,
        height_over_line_m(ground.way.tx, first, ground.way.rx),
        height_over_line_m(ground.way.tx, second, ground.way.rx),
        ground.frequency_mhz,
    )
