"""Effective Earth radius against P.1812-8 eq. (6)."""

import pytest

from combe.errors import RangeError
from combe.propagation.effective_earth import effective_radius_km


@pytest.mark.parametrize(
    ("delta_n", "radius_km"),
    # 45: read in the Study Group 3 logs of P.1812 (ae = 8930.776786); others: computed from eq. (6).
    [(39.0, 8476.669), (45.0, 8930.776786), (50.0, 9348.103), (0.0, 6371.0)],
)
def test_radius(delta_n, radius_km):
    assert effective_radius_km(delta_n) == pytest.approx(radius_km, abs=0.001)


@pytest.mark.parametrize("delta_n", [-45.0, 157.0, 200.0, float("nan")])
def test_radius_refuses(delta_n):
    with pytest.raises(RangeError, match="0 to below 157"):
        effective_radius_km(delta_n)
