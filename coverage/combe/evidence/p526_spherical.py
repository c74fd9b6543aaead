"""Diffraction over a smooth Earth: figures of ITU-R P.526-16 §3 (equations also in P.1812-8 §4.3.2)."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase
from combe.propagation.p526 import spherical_earth_loss_db

NAME: Final = "ITU-R P.526-16"
SOURCE: Final = "run of the Study Group 3 reference function: land, ae 8500 km, wavelength 0.3 m·GHz"

LOSSES: Final = (
    # km, heights m, MHz, polarization, dB
    (50.0, 50.0, 50.0, 600.0, "horizontal", 11.658),
    (50.0, 50.0, 50.0, 600.0, "vertical", 11.660),
    (100.0, 50.0, 50.0, 600.0, "horizontal", 47.354),
    (100.0, 50.0, 50.0, 600.0, "vertical", 47.347),
    (100.0, 300.0, 10.0, 600.0, "horizontal", 30.159),
    (60.0, 200.0, 10.0, 500.0, "horizontal", 13.400),
    (30.0, 100.0, 10.0, 800.0, "horizontal", 3.491),
    (150.0, 400.0, 30.0, 600.0, "horizontal", 48.747),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for km, h1, h2, mhz, polarization, loss in LOSSES:
        compute = partial(spherical_earth_loss_db, km, h1, h2, frequency_mhz=mhz, polarization=polarization)
        case = f"{km:g} km, {h1:g} and {h2:g} m, {mhz:g} MHz, {polarization}"
        quantity = "smooth-Earth diffraction loss"
        yield EvidenceCase(NAME, SOURCE, case, quantity, loss, "dB", 0.01, "computed", compute)
