"""Targets of siting: people shared out among grid cells, and what they lack."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.people_count import Standing, count_standing, take_census
from combe.planning.siting.unserved import find_unserved, people_by_cell
from combe.terrain.people_raster import read_people
from combe.terrain.samples import sample_folder
from support_prediction import sample_area


def demo_people():
    return read_people(sample_folder() / "demo" / "people.tif")


def test_people_are_shared_out_without_loss() -> None:
    area, people = sample_area(90.0), demo_people()
    assert people_by_cell(area.grid, people).sum() == pytest.approx(people.counts.sum(), rel=1e-9)


def test_unserved_are_those_that_coverage_counts() -> None:
    # The area average of the coverage count is the reference; parts of half a cell come near to it.
    area, people = sample_area(90.0), demo_people()
    rng = np.random.default_rng(5)
    margins = [rng.normal(5.0, 10.0, area.heights_m.shape) for _ in range(2)]
    found = find_unserved(area.grid, area.heights_m, people, margins)
    counted = count_standing(take_census(people, area.grid), Standing(np.minimum(*margins)))
    assert found.total == pytest.approx(counted.unserved, rel=0.02)
    assert found.people_in_all == pytest.approx(counted.total, rel=1e-6)
    assert found.lacks.any(axis=1).all()
    assert not found.lacks.all()


def test_where_nobody_knows_there_is_no_target() -> None:
    area, people = sample_area(90.0), demo_people()
    margin = np.full(area.heights_m.shape, -1.0)
    margin[:, :200] = np.nan
    found = find_unserved(area.grid, area.heights_m, people, [margin])
    assert found.cells.size > 0
    assert (found.cells % area.grid.columns >= 200).all()


def test_no_service_is_an_error() -> None:
    area = sample_area(90.0)
    with pytest.raises(RangeError, match="services of the relay to be sited is none"):
        find_unserved(area.grid, area.heights_m, demo_people(), [])
