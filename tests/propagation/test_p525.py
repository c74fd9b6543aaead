"""Free space against ITU-R P.525-5."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.evidence.fields import LOSSES
from combe.propagation.p525 import free_space_kernel, free_space_loss_db


@pytest.mark.parametrize(("frequency_mhz", "distance_km", "exact_db", "printed_db"), LOSSES)
def test_free_space_worked_values(frequency_mhz, distance_km, exact_db, printed_db):
    loss = free_space_loss_db(distance_km, frequency_mhz)
    assert loss == pytest.approx(exact_db, abs=0.001)
    assert loss == pytest.approx(printed_db, abs=0.049)
    assert free_space_kernel(distance_km, frequency_mhz) == pytest.approx(loss, abs=1e-12)


def test_free_space_takes_arrays():
    loss = free_space_loss_db(np.array([1.0, 10.0]), 600.0)
    assert loss.shape == (2,)
    assert loss[1] - loss[0] == pytest.approx(20.0)


@pytest.mark.parametrize(("distance_km", "frequency_mhz"), [(0.0, 600.0), (-1.0, 600.0), (1.0, 0.0)])
def test_free_space_refuses(distance_km, frequency_mhz):
    with pytest.raises(RangeError, match="above 0"):
        free_space_loss_db(distance_km, frequency_mhz)


def test_free_space_refuses_not_a_number():
    with pytest.raises(RangeError, match="distance_km"):
        free_space_loss_db(float("nan"), 600.0)
