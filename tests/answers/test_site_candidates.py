"""The relay on a hill sends what the search reckoned with: its pattern, turned as the best option has it."""

from types import SimpleNamespace
from typing import Any

import numpy as np

from combe.answers.site_candidates import hill_station
from combe.planning.siting import RelayTemplate, pattern_options
from combe.stations import Pattern, Service, horizontal_gain_db
from support_prediction import sample_area

BEARINGS = tuple(30.0 * step for step in range(12))
PATTERN = Pattern(BEARINGS, tuple(-abs(b - 150.0) / 10.0 for b in BEARINGS), "horizontal", "made up")
SERVICE = Service("Mux 1", 41, 634.0, 20.0)


def test_the_station_sends_into_each_bearing_what_the_option_has_there():
    options = pattern_options([("sector", PATTERN)], [SERVICE], azimuth_step_deg=90.0)
    work: Any = SimpleNamespace(
        search=SimpleNamespace(hills=np.array([5]), option=np.array([1]), parent=np.array([0])),
        area=SimpleNamespace(grid=sample_area(300.0).grid),
        siting=SimpleNamespace(patterns=(("sector", PATTERN),)),
        template=RelayTemplate(20.0, "vertical", (SERVICE,), options),
        feeds=[SimpleNamespace(parent="Parent Hill")],
    )
    station = hill_station(work, 0, "Hill 1")
    bearing = np.arange(options[1].gain_db.size) * (360.0 / options[1].gain_db.size)
    np.testing.assert_allclose(horizontal_gain_db(station, bearing), options[1].gain_db, atol=1e-9)
    assert horizontal_gain_db(station, 90.0) == 0.0
