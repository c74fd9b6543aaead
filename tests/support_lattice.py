"""Reads a map's lattice as its page does, for tests of the lattice without a browser."""

from __future__ import annotations

import numpy as np

from combe.publishing.map_grid import MercatorLattice


def lattice_cells(lattice: MercatorLattice) -> tuple[np.ndarray, np.ndarray]:
    """Return the study row and column under each lattice pixel's centre, shape (rows, columns).

    Cells outside the study grid have numbers outside its range.
    """
    down = (np.arange(lattice.rows) + 0.5) / lattice.mesh_step
    across = (np.arange(lattice.columns) + 0.5) / lattice.mesh_step
    row = _between(lattice.mesh_row, down, across)
    column = _between(lattice.mesh_column, down, across)
    return np.floor(row).astype(np.int64), np.floor(column).astype(np.int64)


def _between(mesh: np.ndarray, down: np.ndarray, across: np.ndarray) -> np.ndarray:
    """Interpolate the mesh bilinearly at each pair of places (in mesh steps)."""
    i = np.minimum(down.astype(np.int64), mesh.shape[0] - 2)[:, None]
    j = np.minimum(across.astype(np.int64), mesh.shape[1] - 2)[None, :]
    v, u = down[:, None] - i, across[None, :] - j
    upper = mesh[i, j] * (1 - u) + mesh[i, j + 1] * u
    lower = mesh[i + 1, j] * (1 - u) + mesh[i + 1, j + 1] * u
    return upper * (1 - v) + lower * v
