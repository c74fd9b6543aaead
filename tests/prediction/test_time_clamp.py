"""Where the mirror of rare enhancements would lie under the median, there is no fade, and never a gain."""

import numpy as np
import pytest

from combe.prediction.conditions import Conditions
from combe.prediction.path import predict_path
from combe.prediction.time import beyond_median
from combe.terrain.sampling import TerrainProfile


def pair(delta_n):
    """Return 60 km between ridges near both ends, for 50 and 1 % of time."""
    distance_km, height_m = np.linspace(0.0, 60.0, 241), np.zeros(241)
    height_m[[1, -2]], height_m[120] = 60.0, 90.0
    nowhere = np.zeros_like(distance_km)
    profile = TerrainProfile(distance_km, height_m, nowhere, nowhere + 50.0)
    return [
        predict_path(
            profile,
            tx_height_m=20.0,
            rx_height_m=20.0,
            frequency_mhz=600.0,
            conditions=Conditions(model="p1812", delta_n=delta_n, time_percent=percent),
        )
        for percent in (50.0, 1.0)
    ]


def test_in_air_that_bends_more_than_rare_air_does_the_median_stands():
    # P.1812-8 §3.7, eq. 7: rare air has an Earth of three radii; at ΔN 130 the median has 157/27 = 5.8.
    median, mirrored = pair(130.0)
    median_db, rare_db = (each.p1812_steps.basic_diffraction_db for each in (median, mirrored))
    assert 2.0 * median_db - rare_db < median.basic_loss_db - 0.4
    found = beyond_median(median, mirrored, 99.0)
    assert (found.fade_db, found.basic_loss_db) == (0.0, median.basic_loss_db)


def test_in_usual_air_the_same_path_fades():
    found = beyond_median(*pair(40.0), 99.0)
    assert found.fade_db == pytest.approx(2.86, abs=0.01)
