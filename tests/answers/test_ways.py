"""Ways of receiving: on an invented plain by hand, over a sample of terrain by what may be compared."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import CoverReport, cover_report
from combe.answers.explain import explain_place
from combe.answers.provenance import provenance
from combe.errors import RangeError, StudyError
from combe.project import minimum_field, project_grid
from combe.reception.ways import FIXED_ROOF, WayOfReceiving
from combe.study.project_of import load_project
from support_flat import CELL_M, HEAD, NORTH_M, SIDE_M, WEST_M, lonlat_of, station_text, write_plain_study
from support_study import edited, write_study
from support_terrain import write_tif

MIDDLE_M = WEST_M + SIDE_M / 2.0, NORTH_M - SIDE_M / 2.0
THREE = '\n[reception]\nways = ["fixed roof", "portable outdoor", "portable indoor"]\n'
POWERS = '\n[interference]\nmethod = "power sum"\n'

ROOF_DBUV_M, OUTDOOR_DBUV_M, INDOOR_DBUV_M = 44.99, 71.10, 79.10
"""DVB-T2 256-QAM 2/3 at 634 MHz, half of the places, by hand: Pn −129.16 dBW; C/N 20.0 (Ricean) on the roof,
22.1 (Rayleigh) portable; 10.9 dBd and 3.9 dB of feeder, or 0 dBd; Lh 17.01 dB and Lb 8 dB (GE06)."""


def field_dbuv_m(erp_w: float, distance_km: float) -> float:
    """Free space (P.525): 106.92 dB(µV/m) of 1 kW over a dipole at 1 km."""
    return 106.918 + 10.0 * math.log10(erp_w / 1000.0) - 20.0 * math.log10(distance_km)


@pytest.fixture(scope="module")
def plain(tmp_path_factory) -> CoverReport:
    """One station of 100 W in the middle of the plain."""
    station = station_text("Mast", *MIDDLE_M, [("Mux", 41, 100.0)])
    folder = tmp_path_factory.mktemp("plain")
    return cover_report(load_project(write_plain_study(folder, station, head=HEAD + THREE)))


def test_each_way_serves_a_circle_of_its_own(plain: CoverReport) -> None:
    """One person in each cell of 200 m; the circle's edge may cut off or add a cell here and there."""
    people = [way.people.served for way in plain.ways]
    assert [way.name for way in plain.ways] == ["fixed roof", "portable outdoor", "portable indoor"]
    assert people[0] == 40_000.0
    for served, needed in zip(people[1:], (OUTDOOR_DBUV_M, INDOOR_DBUV_M), strict=True):
        radius_km = 10.0 ** ((field_dbuv_m(100.0, 1.0) - needed) / 20.0)
        assert served == pytest.approx(math.pi * radius_km**2 / (CELL_M / 1000.0) ** 2, rel=0.01)
    assert people[0] > people[1] > people[2] > 4000.0


def test_the_first_way_is_what_the_report_tells_of(plain: CoverReport) -> None:
    assert plain.ways[0].people == plain.all_services.people
    assert plain.ways[0].run is plain.run
    words = plain.provenance["ways of receiving"]
    assert words.startswith("fixed roof, by which all is judged; portable outdoor, height loss Lh of GE06, ")
    assert "rayleigh channel, C/N 22.1 dB" in words
    assert "from memory, unverified" in words


def test_margins_differ_by_what_the_ways_need(plain: CoverReport) -> None:
    roof, outdoor, indoor = (way.all_services.margin_db for way in plain.ways)
    known = ~np.isnan(roof)
    assert known.sum() >= 40_000
    np.testing.assert_allclose((roof - outdoor)[known], OUTDOOR_DBUV_M - ROOF_DBUV_M, atol=0.02)
    np.testing.assert_allclose((outdoor - indoor)[known], 8.0, atol=0.01)


def test_a_further_way_predicts_nothing_anew(plain: CoverReport) -> None:
    for way in plain.ways[1:]:
        assert way.run.result.sweeps == way.run.result.sweeps_from_cache == 1
        assert way.run.task.rx_height_m == 10.0


def test_a_place_has_its_figure_by_each_way(plain: CoverReport) -> None:
    """10 km north of the mast 100 W give 76.92 dB(µV/m): enough outdoors, and 2.2 dB short indoors."""
    place = explain_place(plain.project, *lonlat_of(MIDDLE_M[0], MIDDLE_M[1] + 10_000.0))
    service = place.services[0]
    assert [way.served for way in service.ways] == [True, True, False]
    for way, needed in zip(service.ways, (ROOF_DBUV_M, OUTDOOR_DBUV_M, INDOOR_DBUV_M), strict=True):
        assert way.field_dbuv_m == pytest.approx(76.92, abs=0.02)
        assert way.margin_db == pytest.approx(76.92 - needed, abs=0.03)
    assert service.candidates[0].margin_db == service.ways[0].margin_db


def test_a_portable_aerial_holds_off_no_interferer(tmp_path) -> None:
    """5 km from its station, 15 km from another on the channel and behind: 20 log 3 = 9.54 dB between them.

    On the roof −16 dB of BT.419 come to it and a ratio of 20 dB is asked; portable neither, and 22.1 dB.
    Whether indoors or out is alike: the loss into the building is that of both.
    """
    east = station_text(
        "East", MIDDLE_M[0] + 15_000.0, MIDDLE_M[1], [("Mux", 41, 1e5)], polarization="vertical"
    )
    west = station_text("West", MIDDLE_M[0] - 5_000.0, MIDDLE_M[1], [("Mux", 41, 1e5)])
    path = write_plain_study(tmp_path, west, east, head=HEAD + THREE + POWERS, people=False)
    service = explain_place(load_project(path), *lonlat_of(*MIDDLE_M)).services[0]
    margins = [way.margin_db for way in service.ways]
    assert margins == pytest.approx([9.54 + 16.0 - 20.0, 9.54 - 22.1, 9.54 - 22.1], abs=0.03)
    assert {way.station.name for way in service.ways} == {"West"}


def test_the_first_way_may_be_a_portable_one(tmp_path) -> None:
    station = station_text("Mast", *MIDDLE_M, [("Mux", 41, 100.0)])
    head = HEAD + '\n[reception]\nways = ["portable indoor"]\nbuilding = "P.2109 traditional"\n'
    project = load_project(write_plain_study(tmp_path, station, head=head))
    # P.2109-1: 14.67 dB in the mean at 634 MHz, deviation 7.24 dB.
    found = minimum_field(project, 634.0, service=project.stations[0].services[0])
    assert found.median_dbuv_m == pytest.approx(OUTDOOR_DBUV_M + 14.67, abs=0.02)
    assert found.location_deviation_db == pytest.approx(math.hypot(5.5, 7.24), abs=0.01)
    made, of_feeds = provenance(project, project_grid(project)), provenance(project)
    assert "P.2109 traditional" in made["ways of receiving"]
    heard = "rayleigh channel, C/N 22.1 dB; served in 50 % of locations, aerials at 1.5 m"
    assert heard in made["television"]
    assert "ricean channel, C/N 20 dB" in of_feeds["television"]
    assert "ways of receiving" not in of_feeds
    service = explain_place(project, *lonlat_of(MIDDLE_M[0], MIDDLE_M[1] + 2000.0)).services[0]
    assert service.candidates[0].minimum_dbuv_m == pytest.approx(found.median_dbuv_m)


def test_a_portable_aerial_hears_echoes_from_all_around(tmp_path) -> None:
    """Behind a roof's aerial an echo is 16 dB weaker (BT.419), in the other polarization too."""
    mux, (x_m, y_m) = [("Mux", 41, 100.0)], MIDDLE_M
    network = '\n[[sfn]]\nmembers = ["West", "East"]\n'
    masts = (
        station_text("West", x_m - 5_000.0, y_m, mux),
        station_text("East", x_m + 6_000.0, y_m, mux, polarization="vertical"),
    )
    gains = []
    for way in ("fixed roof", "portable outdoor"):
        head = f'{HEAD}\n[reception]\nways = ["{way}"]\n{network}'
        path = write_plain_study(tmp_path / way, *masts, head=head, people=False)
        best = explain_place(load_project(path), *lonlat_of(*MIDDLE_M)).services[0].candidates[0]
        gains.append([each.echo.gain_db for each in best.echoes])
    assert gains == [[0.0, -16.0], [0.0, 0.0]]


CLUTTER = '[clutter]\nraster = "cover.tif"\nlegend = "worldcover"\n\n'


@pytest.fixture
def wooded(tmp_path):
    houses = np.full((400, 400), 50, dtype=np.uint8)
    write_tif(tmp_path / "cover.tif", houses, -84.45, 36.80, 0.001, nodata=0)
    ways = 'height_loss = "predicted"\nways = ["fixed roof", "portable outdoor"]\n'
    text = edited(("[people]", f"{CLUTTER}[reception]\n{ways}\n[people]"))
    return load_project(write_study(tmp_path, text))


def test_a_predicted_way_has_the_field_of_its_own_height(wooded) -> None:
    """Among houses 1.5 m over the ground the field is weaker, and no height loss is asked beside it."""
    outdoor = wooded.received_by(wooded.ways[1])
    assert (wooded.field_height_m, outdoor.field_height_m) == (10.0, 1.5)
    service = wooded.stations[0].services[0]
    roof, needed = (minimum_field(each, service.frequency_mhz, service=service) for each in (wooded, outdoor))
    # The chain without Lh: 2.1 dB of C/N, and the aerial and feeder of the roof, by hand for 522 MHz.
    assert needed.median_dbuv_m - roof.median_dbuv_m == pytest.approx(2.1 + 7.0, abs=0.01)
    ways = explain_place(wooded, -84.30, 36.66).services[0].ways
    assert ways[1].field_dbuv_m < ways[0].field_dbuv_m - 5.0


def test_a_project_refuses_a_height_loss_that_does_not_hold(wooded) -> None:
    with pytest.raises(
        RangeError, match=r"height_loss is predicted without ground cover; allowed: published"
    ):
        replace(wooded, cover=None)
    published = (FIXED_ROOF, WayOfReceiving("portable outdoor"))
    with pytest.raises(RangeError, match=r"receive_height_m with portable outdoor is 8\.0; allowed: 10"):
        replace(wooded, ways=published, receive_height_m=8.0)
    with pytest.raises(RangeError, match=r"ways of receiving is fixed roof, fixed roof; allowed: each once"):
        replace(wooded, ways=(FIXED_ROOF, FIXED_ROOF))
    assert wooded.by_model("p526").ways[1].height_loss == "published"


@pytest.mark.parametrize(
    ("section", "changes", "words"),
    [
        (
            'ways = ["portable indoor", "portable indoor"]',
            (),
            'reception.ways: "portable indoor" stands more than once',
        ),
        (
            'ways = ["portable outdoor"]\nheight_loss = "predicted"',
            (),
            "reception.height_loss: predicted at 1.5 m a field",
        ),
        (
            'ways = ["portable outdoor"]',
            (("[television]", "[television]\nreceive_height_m = 8.0"),),
            "television.receive_height_m: the published height loss of portable outdoor counts from 10 m",
        ),
        (
            'ways = ["portable outdoor"]',
            (('modulation = "256-QAM"\ncode_rate = "2/3"', 'system = "ATSC"'),),
            "reception.ways: no chain of portable reception is published for ATSC, only for DVB-T2,",
        ),
        ('ways = ["in a cellar"]', (), "reception.ways"),
        ('building = "hut"', (), "reception.building"),
    ],
)
def test_faults_of_the_section(tmp_path, section: str, changes, words: str) -> None:
    text = edited(("[people]", f"[reception]\n{section}\n\n[people]"), *changes)
    with pytest.raises(StudyError) as caught:
        load_project(write_study(tmp_path, text))
    assert any(words in fault for fault in caught.value.faults), caught.value.faults
