"""Sea, coast and inland along a ray, counted as it goes: shares, longest stretches and coasts of P.1812-8.

The rules are those of :mod:`combe.propagation.p1812.zones`: each sample stands for the ground half way to its
neighbours. A sample is counted when the next one is known, so one is always waiting; the receiver's own ends
the path. Coast distances are from a terminal over land to the first boundary with the sea, 500 km if there
is none.
"""

from __future__ import annotations

from typing import NamedTuple

from combe.compiling import inner_kernel
from combe.propagation.p1812 import COASTAL, INLAND, NO_COAST_KM, SEA


class ZoneTrail(NamedTuple):
    """Lengths [km] counted so far, and the sample that waits."""

    waiting_zone: int
    waiting_km: float
    before_km: float
    """Distance of the sample before the waiting one."""
    land_run_km: float
    land_km: float
    inland_run_km: float
    inland_km: float
    sea_km: float
    dry_samples: int
    first_coast_km: float
    """Where the sea first begins, from the station; below 0 until it does."""
    last_coast_km: float
    """Where the sea last ended or began to be the waiting sample; below 0 until it does."""


@inner_kernel
def start_zones(tx_zone: int) -> ZoneTrail:
    """Return the trail of a ray that stands at the station."""
    at_sea = 0.0 if tx_zone == SEA else -1.0
    return ZoneTrail(tx_zone, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0, at_sea, at_sea)


@inner_kernel
def pass_zone(trail: ZoneTrail, x: float, zone: int) -> ZoneTrail:
    """Return the trail after the next sample: the waiting one is counted, the new one waits."""
    # From half way to the one before to half way to the one after.
    owned_km = 0.5 * (x - trail.before_km)
    land_run = trail.land_run_km + owned_km if trail.waiting_zone >= COASTAL else 0.0
    inland_run = trail.inland_run_km + owned_km if trail.waiting_zone >= INLAND else 0.0
    sea_km, dry = trail.sea_km, trail.dry_samples
    if trail.waiting_zone == SEA:
        sea_km += owned_km
    else:
        dry += 1
    boundary_km = 0.5 * (x + trail.waiting_km)
    first, last = trail.first_coast_km, trail.last_coast_km
    if (zone == SEA) != (trail.waiting_zone == SEA):
        last = boundary_km
        if first < 0.0:
            first = boundary_km
    return ZoneTrail(
        zone,
        x,
        trail.waiting_km,
        land_run,
        max(trail.land_km, land_run),
        inland_run,
        max(trail.inland_km, inland_run),
        sea_km,
        dry,
        first,
        last,
    )


class PathZones(NamedTuple):
    """What P.1812-8 asks of the zones of a path (dtm, dlm, ω, dct, dcr)."""

    land_km: float
    inland_km: float
    sea_fraction: float
    tx_coast_km: float
    rx_coast_km: float
    rx_at_sea: float


@inner_kernel
def all_inland(d: float) -> PathZones:
    """Return the zones of a path that is inland throughout."""
    return PathZones(d, d, 0.0, NO_COAST_KM, NO_COAST_KM, 0.0)


@inner_kernel
def zones_of_path(trail: ZoneTrail, d: float, rx_zone: int) -> PathZones:
    """Return the zones of a path that ends ``d`` km away in ``rx_zone``."""
    # The receiver comes as one more sample, and then ends the path where it stands: half of its stretch has
    # no length.
    whole = pass_zone(pass_zone(trail, d, rx_zone), d, rx_zone)
    sea_fraction = whole.sea_km / d if whole.dry_samples > 0 else 1.0
    tx_coast = whole.first_coast_km if whole.first_coast_km >= 0.0 else NO_COAST_KM
    rx_coast = d - whole.last_coast_km if whole.last_coast_km >= 0.0 else NO_COAST_KM
    rx_at_sea = 1.0 if rx_zone == SEA else 0.0
    if rx_zone == SEA:
        rx_coast = 0.0
    return PathZones(whole.land_km, whole.inland_km, sea_fraction, tx_coast, rx_coast, rx_at_sea)
