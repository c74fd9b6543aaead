"""Pictures and multiplexes side by side in one study, against figures worked out by hand.

An invented plain in free space. West radiates a PAL I picture and East a DVB-T2 multiplex, both with 10 kW on
channel 40 (622 to 630 MHz), 24 km apart. So the field of either at d km is 106.92 + 10 lg 10 - 20 lg d
= 116.92 - 20 lg d dB(uV/m), for all of the time: the continuous ratio counts.
"""

import math

import pytest

from combe.answers.check import check_report
from combe.answers.cover import cover_report
from combe.answers.feed import feed_report
from combe.answers.spot import look_at, nuisances, spot_margin_db
from combe.errors import RangeError, StudyError
from combe.project import minimum_field
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_flat import HEAD, lonlat_of, station_text, write_plain_study

WEST, EAST = (738_000.0, 4_040_000.0), (762_000.0, 4_040_000.0)
TWO_SYSTEMS = HEAD.replace("location_percent = 50.0\n", "") + '\n[interference]\nmethod = "power sum"\n'
PAL = 'television = { system = "PAL I" }\n'
STRONG_W = 10_000.0
PICTURE, MULTIPLEX = 0, 1


def with_television(station: str, television: str = PAL) -> str:
    """Return the tables of a station with a television of its own."""
    return station.replace("aerial_height_m = 10.0\n", f"aerial_height_m = 10.0\n{television}", 1)


def two_systems(folder, *, east="A", television=PAL, channel=40, **more):
    return write_plain_study(
        folder,
        with_television(station_text("West", *WEST, [("A", 40, STRONG_W)]), television),
        station_text("East", *EAST, [(east, channel, STRONG_W)]),
        head=TWO_SYSTEMS,
        **more,
    )


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(load_project(two_systems(tmp_path_factory.mktemp("plain"))))


def spot_at(report, km_from_west):
    place = lonlat_of(WEST[0] + 1000.0 * km_from_west, WEST[1])
    return look_at(report.project, report.run.area, *place)


def test_each_service_is_planned_as_its_own_system(report):
    (west, east), project = report.project.stations, report.project
    # ITU-R BT.417-5, from memory: 70 dB(uV/m) in Band V, in half of the places.
    picture = minimum_field(project, 626.0, service=west.services[0])
    assert picture == (70.0, 70.0, 9.5)
    # ITU-R BT.2033-2 Attachment 1, read: 54.2 dB(uV/m) at 650 MHz for 95 % of places, 9.0 of them for places;
    # the aperture is 20 lg(650/626) = 0.33 dB greater at 626 MHz.
    multiplex = minimum_field(project, 626.0, service=east.services[0])
    assert multiplex.median_dbuv_m == pytest.approx(53.9, abs=0.1)
    assert multiplex.at_a_place_dbuv_m == pytest.approx(44.8, abs=0.1)
    assert project.television_of(west.services[0]).name == "PAL I"
    assert project.television_of(east.services[0]).name == "DVB-T2"
    assert [each.name for each in project.systems] == ["DVB-T2", "PAL I"]


@pytest.mark.parametrize(
    ("km", "field", "nuisance", "margin"),
    [
        # West 1 km away: 116.92. East 23 km: 116.92 - 27.23 = 89.69, + 40 dB, - 16 dB behind the aerial
        # = 113.69; with the 70 of noise 113.69. In half of the places no allowance: 116.92 - 113.69.
        (1.0, 116.92, 113.69, 3.23),
        # 8 km: 98.86; East 16 km: 92.84 + 24 = 116.84.
        (8.0, 98.86, 116.84, -17.98),
    ],
)
def test_a_picture_stands_a_multiplex_by_its_ratio(report, km, field, nuisance, margin):
    spot = spot_at(report, km)
    (found,) = nuisances(spot, PICTURE)
    assert spot.median_dbuv_m[PICTURE] == pytest.approx(field, abs=0.03)
    # ITU-R BT.1368-13 Annex 2, from memory: 40 dB where interference is continuous; ITU-R BT.419-3: 16 dB.
    assert (found.protection_db, found.time) == (40.0, "continuous")
    assert found.gain_db == pytest.approx(-16.0)
    assert found.nuisance_dbuv_m == pytest.approx(nuisance, abs=0.03)
    assert spot_margin_db(spot, PICTURE) == pytest.approx(margin, abs=0.05)


@pytest.mark.parametrize(
    ("km", "field", "nuisance", "margin"),
    [
        # East 4 km away: 116.92 - 12.04 = 104.88. West 20 km: 90.90 + 4.2 - 16 = 79.10. In 95 % of places it
        # has to stay 1.64 deviations of both over that: 1.64 * sqrt(5.5^2 + 9.5^2) = 18.00, so 97.10.
        (20.0, 104.88, 79.10, 7.78),
        # 16 km: 92.84; West 8 km: 98.86 + 4.2 - 16 = 87.06, + 18.00 = 105.06.
        (8.0, 92.84, 87.06, -12.22),
    ],
)
def test_a_multiplex_stands_a_picture_by_its_mode(report, km, field, nuisance, margin):
    spot = spot_at(report, km)
    (found,) = nuisances(spot, MULTIPLEX)
    assert spot.median_dbuv_m[MULTIPLEX] == pytest.approx(field, abs=0.03)
    # DVB-T 64-QAM 2/3: 4 dB (BT.1368-13, from memory); 256-QAM 2/3 of DVB-T2 needs 0.2 dB more C/N.
    assert found.protection_db == 4.2
    assert found.gain_db == pytest.approx(-16.0)
    assert found.nuisance_dbuv_m == pytest.approx(nuisance, abs=0.03)
    assert spot_margin_db(spot, MULTIPLEX) == pytest.approx(margin, abs=0.05)


def test_a_name_in_two_systems_is_served_by_either_and_told_by_each(report):
    # One person a cell of 200 m. The picture reaches to where d2/d1 = 10^(24/20), the multiplex farther.
    picture, multiplex = report.by_system
    assert [(each.system, each.service, each.stations) for each in report.by_system] == [
        ("PAL I", "All services", 1),
        ("DVB-T2", "All services", 1),
    ]
    assert 0 < picture.people.served < multiplex.people.served
    assert report.all_services.people.served == pytest.approx(picture.people.served + multiplex.people.served)
    # Around West: within the circle of all places 15.849 times nearer to it than to East; its radius is
    # 24 km * 15.849 / (15.849^2 - 1) = 1.52 km in the direction where the aerial holds off 16 dB, and far
    # less behind West, where it holds off nothing: 40 dB, 100 times nearer, 0.24 km.
    radius_cells = (picture.cells_served / 3.1416) ** 0.5
    assert 0.24 / 0.2 < radius_cells < 1.52 / 0.2
    served = picture.margin_db >= 0.0
    assert served.sum() == picture.cells_served


def test_a_study_of_one_system_is_told_by_none(tmp_path):
    path = two_systems(tmp_path, television="")
    printed = run_json("cover", path, "--no-cache")
    assert printed["by_system"] == []
    assert "one system alone" not in run("cover", path, "--no-cache").stdout


RELAY_AT = (746_000.0, 4_040_000.0)


def switched_over(folder, *, relay_television="", feed_more="", channel=45, relay_channel=41):
    """Write a study with a parent that sends a picture, and a relay that has been switched over already."""
    relay = station_text("Hill", *RELAY_AT, [("A", relay_channel, 10.0)], parent="West")
    return write_plain_study(
        folder,
        with_television(station_text("West", *WEST, [("A", 40, STRONG_W)])),
        with_television(relay, relay_television) + feed_more,
        station_text("East", *EAST, [("A", channel, STRONG_W)]),
        head=TWO_SYSTEMS,
    )


def test_a_relay_that_radiates_what_its_parent_does_not_send_is_not_judged(tmp_path):
    path = switched_over(tmp_path)
    report = feed_report(load_project(path))
    ((relay,),) = [report.relays]
    (service,) = relay.services
    assert (report.verdict, service.verdict, service.causes) == ("not judged", "not judged", ())
    # What arrives there is a picture, whose C/N tells nothing of the multiplex.
    assert math.isnan(service.judged.carrier_to_noise_db)
    assert service.reason == (
        "it is radiated as DVB-T2, and West sends it as PAL I: what the relay radiates comes to it some "
        "other way, which is not in the study"
    )
    notes = check_report(load_project(path)).notes
    assert any(
        note.startswith("the feed of Hill is not judged for A: it is radiated as DVB-T2") for note in notes
    )
    # As for every feed that is not judged: said, and left with 1.
    shown = run("feed", path)
    assert shown.exit_code == 1
    assert "not judged" in shown.stdout
    # The relay covers all the same, and viewers of both systems are told.
    printed = run_json("cover", path, "--no-cache")
    assert [(each["system"], each["stations"]) for each in printed["by_system"]] == [
        ("PAL I", 1),
        ("DVB-T2", 2),
    ]


def test_a_relay_of_the_picture_is_judged_by_what_a_picture_needs(tmp_path):
    picture = switched_over(tmp_path, relay_television=PAL, feed_more="required_cn_db = 40.0\n")
    relay = feed_report(load_project(picture)).relays[0]
    assert relay.services[0].verdict != "not judged"
    assert (relay.side.required_cn_db, relay.side.bandwidth_mhz) == (40.0, 5.5)
    with pytest.raises(StudyError, match=r"required_cn_db: is missing; .*PAL I states a field and no C/N"):
        load_project(switched_over(tmp_path / "without", relay_television=PAL))


def test_pictures_and_multiplexes_of_one_relay_each_need_their_own(tmp_path):
    """The C/N that a feed states is the picture's; 256-QAM 2/3 needs 20 dB (BT.2033-2 Table 2)."""
    both = [("A", 40, STRONG_W), ("B", 43, STRONG_W)]
    own = 'television = { system = "PAL I" }'
    parent, relay = (
        station.replace('name = "A"\n', f'name = "A"\n{own}\n')
        for station in (
            station_text("West", *WEST, both),
            station_text("Hill", *RELAY_AT, [("A", 50, 10.0), ("B", 53, 10.0)], parent="West"),
        )
    )
    path = write_plain_study(tmp_path, parent, relay + "required_cn_db = 40.0\n", head=TWO_SYSTEMS)
    picture, multiplex = feed_report(load_project(path)).relays[0].services
    assert (picture.budget.required_cn_db, multiplex.budget.required_cn_db) == (40.0, 20.0)
    assert (picture.picture is None, multiplex.picture is None) == (False, True)


def test_two_systems_that_no_table_pairs_are_refused_and_not_called_harmless(tmp_path):
    path = two_systems(tmp_path, television='television = { system = "ATSC" }\n', channel=25)
    # 6 MHz channel 40 is 626 to 632 MHz; 8 MHz channel 40 622 to 630, and channel 25 502 to 510.
    apart = load_project(path)
    assert check_report(apart).project is apart
    near = load_project(two_systems(tmp_path / "near", television='television = { system = "ATSC" }\n'))
    with pytest.raises(StudyError, match=r"protection ratio of A on channel 40 \(ATSC\) by A"):
        check_report(near)
    with pytest.raises(RangeError, match=r"in no table; allowed: .*; keep their channels farther apart"):
        cover_report(near)


COARSE = TWO_SYSTEMS.replace("cell_size_m = 200", "cell_size_m = 900")
OWN_PAL = 'television = { system = "PAL I" }'


def of_both_kinds(station: str, picture: str = "A") -> str:
    """Return the tables of a station that radiates one of its services as a picture."""
    return station.replace(f'name = "{picture}"\n', f'name = "{picture}"\n{OWN_PAL}\n')


def test_a_place_is_explained_by_the_systems_that_reach_it(tmp_path):
    path = two_systems(tmp_path, channel=45)
    longitude, latitude = lonlat_of(746_000.0, 4_040_000.0)
    shown = run("explain", path, f"--at={longitude:.5f},{latitude:.5f}").stdout
    head = next(line for line in shown.splitlines() if line.split()[:2] == ["station", "system"])
    rows = {line.split()[0]: line for line in shown.splitlines() if line.startswith(("  West", "  East"))}
    # 116.92 - 20 lg 8 = 98.9 over 70 (Band V); 116.92 - 20 lg 16 = 92.8 over 54.4 at 666 MHz.
    assert "PAL I" in rows["West"] and " 98.9 " in rows["West"] and " 70.0 " in rows["West"]
    assert "DVB-T2" in rows["East"] and " 92.8 " in rows["East"] and " 54.4 " in rows["East"]
    assert len(head) <= 100


def test_channels_of_a_relay_are_chosen_for_picture_and_multiplex_together(tmp_path):
    both = [("A", 40, STRONG_W), ("B", 43, STRONG_W)]
    relay = station_text("Hill", *RELAY_AT, [("A", 50, 10.0), ("B", 53, 10.0)], parent="West")
    path = write_plain_study(
        tmp_path,
        of_both_kinds(station_text("West", *WEST, both)),
        of_both_kinds(relay) + "required_cn_db = 40.0\n",
        head=COARSE,
    )
    printed = run_json("channels", path)
    proposed = {each["service"]: each["proposed_channel"] for each in printed["outputs"]}
    assert len(set(proposed.values())) == 2
    words = " ".join(run("channels", path, "--full").stdout.split())
    assert "ITU-R BT.1368-13 Annex 2 of the DVB-T code rate" in words


def test_a_relay_to_be_sited_hears_the_parents_that_send_its_system(tmp_path):
    siting = (
        "\n[siting]\n" + OWN_PAL + "\nabove_valley_m = 0.0\nlist_length = 1\nsites = 1\n"
        "[siting.feed]\nrequired_cn_db = 40.0\n"
        '[[siting.services]]\nname = "A"\nchannel = 50\nerp_w = 10.0\n'
    )

    def site(folder, more=""):
        return write_plain_study(
            folder,
            of_both_kinds(station_text("West", *WEST, [("A", 40, 10.0)])),
            station_text("East", *EAST, [("A", 45, 1.0)]),
            head=COARSE + siting.replace("[siting.feed]\n", f"[siting.feed]\n{more}"),
        )

    printed = run_json("site", site(tmp_path), "--out", tmp_path / "out")
    assert {each["parent"] for each in printed["list"]} == {"West"}
    told = run("site", site(tmp_path / "east", 'from = ["East"]\n'), "--out", tmp_path / "out")
    assert told.exit_code != 0
    assert 'siting.feed.from: "East" does not send its services as PAL I' in told.stderr
