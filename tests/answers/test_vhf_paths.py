"""Paths of a Band III study over the sample terrain, against the reference code of ITU-R P.1812.

The figures are those of the ITU-R Study Group 3 reference code of P.1812 (public repository eeveetza/Py1812),
its formulas unchanged, without its maps of the air: ΔN 45 and N0 325 were given. It was run on the profiles
that the study draws, without cover, inland, at 198.5 MHz, the middle of channel 8 of 7 MHz. The same copy of
it gives the loss of each of the 18 logs of the validation set that were at hand to 1e-7 dB.
On profiles of formulas, where polarization tells more: combe.evidence.p1812_vhf.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from combe.answers.path import field_over, path_report, way_between
from combe.study.project_of import load_project
from support_study import BAND_III, edited, write_study

DB = 0.001
"""Met as printed. The reference has the middle of a path on a sphere, a study on its profile: 6e-6 dB."""

LOSSES_DB = {
    # longitude and latitude of the ends, height of the far aerial (the near one 60 m), polarization:
    # dB not exceeded for 50, 10 and 1 % of time
    "5 km in sight": (-84.18, 36.53, -84.12, 36.53, 10.0, "horizontal", (92.9604, 92.2049, 91.1241)),
    "6 km": (-84.33, 36.61, -84.32, 36.66, 10.0, "horizontal", (139.4760, 139.1122, 138.6416)),
    "6 km, vertical": (-84.33, 36.61, -84.32, 36.66, 10.0, "vertical", (139.4805, 139.1161, 138.6455)),
    "14 km": (-84.32, 36.72, -84.17, 36.68, 10.0, "horizontal", (152.6378, 151.9635, 151.3197)),
    "14 km, vertical": (-84.32, 36.72, -84.17, 36.68, 10.0, "vertical", (152.6544, 151.9791, 151.3353)),
    "16 km": (-84.33, 36.70, -84.20, 36.60, 12.0, "horizontal", (143.8361, 143.2240, 142.4405)),
    "29 km": (-84.36, 36.66, -84.17, 36.45, 10.0, "horizontal", (165.8252, 165.0445, 164.4020)),
    "29 km, vertical": (-84.36, 36.66, -84.17, 36.45, 10.0, "vertical", (165.8351, 165.0533, 164.4105)),
    "30 km over an edge": (-84.15, 36.45, -84.10, 36.72, 10.0, "vertical", (125.5453, 123.2687, 120.6786)),
    "37 km": (-84.10, 36.71, -84.39, 36.47, 10.0, "horizontal", (145.0567, 143.0795, 140.4694)),
}


@pytest.fixture(scope="module")
def band_iii(tmp_path_factory):
    return load_project(write_study(tmp_path_factory.mktemp("vhf"), edited(*BAND_III)))


@pytest.mark.parametrize("name", LOSSES_DB)
def test_a_path_of_the_study_is_that_of_the_reference_code(band_iii, name):
    *ends, rx_height_m, polarization, losses_db = LOSSES_DB[name]
    parent = band_iii.station("Parent Hill")
    sender = replace(parent, longitude_deg=ends[0], latitude_deg=ends[1], polarization=polarization)
    way = way_between(band_iii, sender, ends[2], ends[3])
    for percent, loss_db in zip((50.0, 10.0, 1.0), losses_db, strict=True):
        project = replace(band_iii, conditions=replace(band_iii.conditions, time_percent=percent))
        found = field_over(project, sender, sender.services[1], way, rx_height_m)
        assert found.prediction.basic_loss_db == pytest.approx(loss_db, abs=DB), percent


def test_the_answer_for_the_feed_has_the_same_loss(band_iii):
    """The path of 16 km above is that of the relay's feed, channel 8."""
    found = path_report(band_iii, "Parent Hill", "Combe Relay").of_service("Mux 2")
    assert found.prediction.basic_loss_db == pytest.approx(LOSSES_DB["16 km"][-1][0], abs=DB)
