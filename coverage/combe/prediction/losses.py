"""Basic transmission losses over an area: hands blocks of rays to threads, for whichever model is chosen."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from combe.prediction.area import Area
from combe.prediction.conditions import Conditions, p1812_conditions
from combe.prediction.ray_course import Course
from combe.prediction.rays import Rays
from combe.prediction.sweep import SweepConditions, sweep_rays
from combe.prediction.sweep_p1812 import Services, Surroundings, sweep_rays_p1812

FloatArray = npt.NDArray[np.float64]
Progress = Callable[[float], None]
RayJob = Callable[[int, int, FloatArray], None]
"""Fills the losses (services, cells) of the cells of rays first to last."""


def p526_job(area: Area, rays: Rays, frequencies_mhz: Sequence[float], conditions: SweepConditions) -> RayJob:
    """Return the job of free space and delta-Bullington."""
    course, frequencies = course_of(area, rays), np.array(frequencies_mhz, dtype=np.float64)

    def job(first: int, last: int, losses: FloatArray) -> None:
        sweep_rays(area.ground, area.heights_m, course, first, last, conditions, frequencies, losses)

    return job


def p1812_job(
    area: Area,
    rays: Rays,
    frequencies_mhz: Sequence[float],
    conditions: Conditions,
    *,
    tx_ground_m: float,
    tx_height_m: float,
    rx_height_m: float,
    latitude_deg: float,
    vertical: bool,
) -> RayJob:
    """Return the job of P.1812, one time percentage for all services.

    Raises
    ------
    RangeError
        For a number outside the Recommendation's range.
    """
    course = course_of(area, rays)
    around = Surroundings(tx_ground_m, tx_height_m, rx_height_m, area.cover, area.zones)
    airs = [
        p1812_conditions(conditions, frequency_mhz=frequency, latitude_deg=latitude_deg, vertical=vertical)
        for frequency in frequencies_mhz
    ]
    services = Services(
        np.array([air.frequency_ghz for air in airs]),
        np.array([air.frequency_root for air in airs]),
        np.array([air.wavelength_m for air in airs]),
    )

    def job(first: int, last: int, losses: FloatArray) -> None:
        sweep_rays_p1812(area.ground, area.heights_m, course, first, last, around, airs[0], services, losses)

    return job


def sweep_losses(
    area: Area,
    rays: Rays,
    services: int,
    job: RayJob,
    *,
    threads: int | None = None,
    progress: Progress | None = None,
) -> FloatArray:
    """Return basic transmission losses [dB], NaN without prediction.

    The shape is (services, rows, columns), or (services, n) for rays laid to n targets.

    ``progress`` is told the share done, 0 to 1, from this thread.
    """
    workers = threads or os.cpu_count() or 1
    losses = np.full((services, rays.priced), np.nan)
    with ThreadPoolExecutor(workers) as pool:
        blocks = [pool.submit(job, a, b, losses) for a, b in _equal_shares(rays, workers * 8)]
        for done, block in enumerate(blocks, start=1):
            block.result()
            if progress:
                progress(done / len(blocks))
    return losses if rays.targets.size else losses.reshape(services, *area.heights_m.shape)


def course_of(area: Area, rays: Rays) -> Course:
    """Return the rays as kernels take them."""
    return Course(
        area.grid.cell_size_m,
        area.step_m,
        rays.origin_row,
        rays.origin_column,
        area.grid.columns,
        rays.scale,
        rays.first_cell,
        rays.cell_order,
        rays.targets,
    )


def _equal_shares(rays: Rays, shares: int) -> list[tuple[int, int]]:
    """Split the rays into blocks that hold about the same number of cells."""
    marks = np.linspace(0, rays.cell_order.size, shares + 1)
    edges = np.unique(np.searchsorted(rays.first_cell, marks))
    edges[0], edges[-1] = 0, rays.count
    return [(int(a), int(b)) for a, b in pairwise(edges)]
