"""Checks of gain and pattern against an independent antenna solver (nec2++ through PyNEC, thin wires).

The solver feeds every dipole with the same voltage and works out the currents with all mutual coupling; ours
takes equal currents and integrates their field over the sphere, which counts the coupled power but not the
change of the currents. Wherever the dipoles do not touch, the gains agree within 0.3 dB; dipoles whose ends
touch (collinear at half a wavelength) are one long wire to the solver and not compared.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
import pytest

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.stations.elements import dipole_in_corner, half_wave_dipole
from combe.stations.linear_array import design_array
from combe.stations.radiation import Radiator, directivity_dbi, find_peak
from combe.stations.stacking import dipole_panel, dipole_trough, panel_ring, stacked

pynec = pytest.importorskip("PyNEC", reason="PyNEC is not installed: it comes with the extra combe[test]")

WITHIN_DB = 0.3
ONE_METRE_MHZ = SPEED_OF_LIGHT_M_S / 1e6
"""At this frequency a wavelength is a metre."""

SEGMENTS = 11
PERFECT_REFLECTOR_DB = 80.0


class Rod(NamedTuple):
    """A half-wave dipole of the solver: middle [wavelengths], direction, and voltage."""

    middle: tuple[float, float, float]
    along: str
    voltage: complex = 1.0 + 0.0j


def solve(rods: Iterable[Rod], *, ground: bool = False) -> Any:
    """Return a solver with the rods in free space, or over a perfect plane at z = 0."""
    rods = list(rods)
    solver = pynec.nec_context()
    geometry = solver.get_geometry()
    for tag, rod in enumerate(rods, start=1):
        half = [0.25 if axis == rod.along else 0.0 for axis in "xyz"]
        ends = [m - h for m, h in zip(rod.middle, half, strict=True)]
        ends += [m + h for m, h in zip(rod.middle, half, strict=True)]
        geometry.wire(tag, SEGMENTS, *ends, 1e-5, 1.0, 1.0)
    solver.geometry_complete(1 if ground else 0)
    if ground:
        solver.gn_card(1, 0, 0, 0, 0, 0, 0, 0)
    solver.fr_card(0, 1, ONE_METRE_MHZ, 0)
    for tag, rod in enumerate(rods, start=1):
        solver.ex_card(0, tag, SEGMENTS // 2 + 1, 0, rod.voltage.real, rod.voltage.imag, 0, 0, 0, 0)
    return solver


def solved_gain_dbi(solver: Any, elevation_deg: float = 0.0, bearing_deg: float = 0.0) -> float:
    """Return the solver's gain towards an elevation over its x-y plane and an angle from x to y."""
    solver.rp_card(0, 1, 1, 0, 0, 0, 0, 90.0 - elevation_deg, bearing_deg, 1.0, 1.0, 0.0, 0.0)
    return float(np.ravel(solver.get_radiation_pattern(0).get_gain())[0])


def solved_cut_dbi(solver: Any, first_deg: float, count: int, *, level: bool = False) -> np.ndarray:
    """Return gains every degree: upwards from an elevation at bearing 0, or round the horizon."""
    rows, columns = (1, count) if level else (count, 1)
    from_zenith = 90.0 if level else 90.0 - first_deg
    solver.rp_card(0, rows, columns, 0, 0, 0, 0, from_zenith, 0.0, -1.0, 1.0, 0.0, 0.0)
    return np.array(solver.get_radiation_pattern(0).get_gain()).ravel()


def line(count: int, spacing: float) -> np.ndarray:
    return (np.arange(count) - (count - 1) / 2.0) * spacing


def upright_array(count: int, spacing: float, along: str, tilt_deg: float = 0.0) -> list[Rod]:
    lead = 2 * math.pi * spacing * math.sin(math.radians(tilt_deg))
    voltages = np.exp(1j * lead * line(count, 1.0))
    return [
        Rod((0.0, 0.0, float(z)), along, complex(v))
        for z, v in zip(line(count, spacing), voltages, strict=True)
    ]


def our_gain_dbi(radiator: Radiator, elevation_deg: float = 0.0, bearing_deg: float = 0.0) -> float:
    field = radiator.field(np.array([bearing_deg]), np.array([elevation_deg]))
    below_peak = np.abs(field[0]) ** 2 / find_peak(radiator).power
    return directivity_dbi(radiator) + 10 * math.log10(below_peak)


# Broadside arrays of half-wave dipoles: end to end (vertical) and one above another (horizontal).
@pytest.mark.parametrize(
    ("count", "spacing", "polarization"),
    [
        (1, 1.0, "vertical"),
        (2, 0.75, "vertical"),
        (4, 0.7, "vertical"),
        (4, 1.0, "vertical"),
        (8, 0.8, "vertical"),
        (16, 0.9, "vertical"),
        (1, 1.0, "horizontal"),
        (2, 0.5, "horizontal"),
        (4, 0.5, "horizontal"),
        (4, 0.7, "horizontal"),
        (4, 1.0, "horizontal"),
        (8, 0.8, "horizontal"),
        (16, 0.5, "horizontal"),
    ],
)
def test_broadside_array(count: int, spacing: float, polarization: str) -> None:
    along = "z" if polarization == "vertical" else "y"
    solved = solved_gain_dbi(solve(upright_array(count, spacing, along)))
    ours = our_gain_dbi(stacked(half_wave_dipole(polarization), design_array(count, spacing)))
    assert ours == pytest.approx(solved, abs=WITHIN_DB)


# All lobes down to 10 dB under the beam, in elevation: dipoles end to end couple little, so the pattern
# agrees as closely as the gain.
@pytest.mark.parametrize(("count", "spacing", "tilt_deg"), [(4, 0.9, 0.0), (8, 0.8, 0.0), (8, 0.9, 3.0)])
def test_vertical_pattern(count: int, spacing: float, tilt_deg: float) -> None:
    angles = np.arange(-40.0, 41.0)
    solved = solved_cut_dbi(solve(upright_array(count, spacing, "z", tilt_deg)), -40.0, 81)
    aerial = stacked(half_wave_dipole("vertical"), design_array(count, spacing, tilt_deg=tilt_deg))
    field = aerial.field(np.zeros(81), angles)
    ours = directivity_dbi(aerial) + 10 * np.log10(np.abs(field) ** 2 / find_peak(aerial).power)
    lobe = ours > np.max(ours) - 10.0
    assert lobe.sum() >= 8
    assert ours[lobe] == pytest.approx(solved[lobe], abs=WITHIN_DB)
    assert angles[np.argmax(ours)] == angles[np.argmax(solved)]


# A perfect plane is the flat reflector: the solver's z is our boresight, and the dipoles stand along its x.
@pytest.mark.parametrize(
    ("rows", "spacing", "polarization"),
    [
        (1, 1.0, "horizontal"),
        (4, 0.5, "horizontal"),
        (4, 0.75, "horizontal"),
        (4, 0.75, "vertical"),
        (8, 0.8, "vertical"),
    ],
)
def test_panel(rows: int, spacing: float, polarization: str) -> None:
    along = "y" if polarization == "horizontal" else "x"
    rods = [Rod((float(x), 0.0, 0.25), along) for x in line(rows, spacing)]
    solved = solved_gain_dbi(solve(rods, ground=True), elevation_deg=90.0)
    ours = directivity_dbi(
        dipole_panel(rows, spacing, polarization=polarization, front_to_back_db=PERFECT_REFLECTOR_DB)
    )
    assert ours == pytest.approx(solved, abs=WITHIN_DB)


# A corner of 180/n degrees with its 2n − 1 images in free space, given to the solver as real dipoles; the
# corner confines the power to one part in 2n of the sphere.
@pytest.mark.parametrize(("opening_deg", "order"), [(90.0, 2), (60.0, 3)])
@pytest.mark.parametrize(("count", "distance"), [(1, 0.35), (1, 0.5), (4, 0.35), (4, 0.5)])
def test_corner_and_trough(opening_deg: float, order: int, count: int, distance: float) -> None:
    rods = []
    for z in line(count, 0.75):
        for image in range(2 * order):
            turn = image * math.pi / order
            place = (distance * math.cos(turn), distance * math.sin(turn), float(z))
            rods.append(Rod(place, "z", complex((-1) ** image)))
    solved = solved_gain_dbi(solve(rods)) + 10 * math.log10(2 * order)
    trough = dipole_trough(
        count,
        0.75,
        opening_deg=opening_deg,
        distance_wavelengths=distance,
        front_to_back_db=PERFECT_REFLECTOR_DB,
    )
    assert directivity_dbi(trough) == pytest.approx(solved, abs=WITHIN_DB)
    if count == 1:
        corner = dipole_in_corner("vertical", opening_deg, distance, PERFECT_REFLECTOR_DB)
        assert directivity_dbi(corner) == pytest.approx(directivity_dbi(trough), abs=1e-6)


# Four upright dipoles round a mast that is not there. Symmetry makes their currents equal whatever the
# coupling, so gain and horizontal pattern must agree all the way round.
@pytest.mark.parametrize("radius", [0.4, 0.8])
def test_ring_of_dipoles(radius: float) -> None:
    rods = [
        Rod((radius * math.cos(math.radians(b)), radius * math.sin(math.radians(b)), 0.0), "z")
        for b in (0, 90, 180, 270)
    ]
    solved = solved_cut_dbi(solve(rods), 0.0, 360, level=True)
    ring = panel_ring(half_wave_dipole("vertical"), (0.0, 90.0, 180.0, 270.0), radius)
    field = ring.field(np.arange(360.0), np.zeros(360))
    ours = directivity_dbi(ring) + 10 * np.log10(np.abs(field) ** 2 / find_peak(ring).power)
    strong = ours > np.max(ours) - 15.0
    assert strong.sum() > 200
    assert ours[strong] == pytest.approx(solved[strong], abs=WITHIN_DB)
