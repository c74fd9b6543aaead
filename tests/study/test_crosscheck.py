"""Faults between keys: names, links, files, tables."""

import pytest

from combe.errors import StudyError
from combe.study.file import load_study
from support_study import SITING, STUDY, edited, write_study

SECOND_RELAY = """
[[stations]]
name = "Far Relay"
role = "relay"
longitude_deg = -84.25
latitude_deg = 36.55
aerial_height_m = 15.0
polarization = "horizontal"
services = [{ name = "Mux 1", channel = 50, erp_w = 5.0 }]
feed = { from = "Combe Relay", aerial_height_m = 8.0, aerial_gain_dbi = 12.0, feeder_loss_db = 1.0, \
noise_figure_db = 6.0, required_margin_db = 6.0 }
"""


def faults(folder, text):
    with pytest.raises(StudyError) as caught:
        load_study(write_study(folder, text))
    return list(caught.value.faults)


ONE_FAULT = {
    "two stations of one name": (
        ('name = "Combe Relay"', 'name = "parent hill"'),
        'stations[1].name: two stations are called "parent hill" (also stations[0]); rename one',
    ),
    "two services of one name": (
        ('name = "Mux 2"\nchannel = 45', 'name = "Mux 1"\nchannel = 45'),
        'stations[1].services[1].name: two services of this station are called "Mux 1"; rename one',
    ),
    "one channel twice": (
        ("channel = 31", "channel = 27"),
        "stations[0].services[1].channel: this station already uses channel 27; write another channel",
    ),
    "unknown parent": (
        ('from = "Parent Hill"', 'from = "Parent Hil"'),
        'stations[1].feed.from: "Parent Hil" is no station of this study; did you mean "Parent Hill"?',
    ),
    "fed by itself": (
        ('from = "Parent Hill"', 'from = "Combe Relay"'),
        'stations[1].feed.from: "Combe Relay" is fed by itself, at once or by way of others; '
        "start a chain at a parent",
    ),
    "service that the parent lacks": (
        ('name = "Mux 2"\nchannel = 45', 'name = "Mux 3"\nchannel = 45'),
        'stations[1].services[1].name: "Mux 3" is not radiated by "Parent Hill"; did you mean "Mux 2"?',
    ),
    "parent with a feed": (
        ('role = "relay"', 'role = "parent"'),
        'stations[1].feed: a parent receives nothing off air; take the feed out, or write role = "relay"',
    ),
    "unknown channel": (
        ("channel = 27", "channel = 99"),
        "stations[0].services[0].channel: channel 99 is unknown; allowed: 21 to 69 (8 MHz UHF)",
    ),
    "people that are the ground": (
        ('raster = "people.tif"', 'raster = "terrain.tif"'),
        'people.raster: "terrain.tif" is a tile of the terrain; name the raster that counts the people',
    ),
    "unknown channel raster": (
        ("[television]", '[television]\nchannel_raster = "8MHz UHF"'),
        'television.channel_raster: "8MHz UHF" is unknown; did you mean "8 MHz UHF"?',
    ),
    "unknown system": (
        ("[television]", '[television]\nsystem = "DVB-T22"'),
        'television.system: "DVB-T22" is unknown; did you mean "DVB-T2"?',
    ),
    "unknown code rate": (
        ('code_rate = "2/3"', 'code_rate = "7/8"'),
        'television.code_rate: "7/8" is unknown to DVB-T2; allowed: 1/2, 3/5, 2/3, 3/4, 4/5, 5/6',
    ),
    "two radii": (
        ("[people]", "[air]\ndelta_n = 45.0\neffective_radius_km = 8500.0\n\n[people]"),
        "air.effective_radius_km: stands beside delta_n, and both set the effective Earth radius; "
        "take one out",
    ),
    "time that the model cannot": (
        ("[terrain]\n", 'model = "p526"\n\n[air]\ntime_percent = 1.0\n\n[terrain]\n'),
        'air.time_percent: 1.0 cannot be used: model "p526" predicts the median in time; write 50.0, '
        'or study.model = "p1812"',
    ),
    "radius below the Earth's own": (
        ("[people]", "[air]\neffective_radius_km = 5000.0\n\n[people]"),
        'air.effective_radius_km: 5000 is below the Earth\'s own radius, which model "p1812" does not cover; '
        "write 6371 or more",
    ),
    "cover that the model does not know": (
        ("[terrain]\n", 'model = "p526"\n\n[clutter]\nraster = "people.tif"\ncanopy = true\n\n[terrain]\n'),
        'clutter: model "p526" knows no ground cover; take the section out, or write study.model = "p1812"',
    ),
    "cover over a surface model": (
        (
            "[terrain]\n",
            '[clutter]\nraster = "people.tif"\nlegend = "nlcd"\n\n[terrain]\nsurface_model = true\n',
        ),
        "clutter: the terrain is a surface model, whose heights hold trees and roofs already: cover would "
        "count twice; take the section out, give bare terrain, or write allow_on_surface_model = true",
    ),
    "cover of which nothing is known": (
        ("[people]", '[clutter]\nraster = "people.tif"\n\n[people]'),
        'clutter.legend: is missing; write legend = "worldcover" (or heights = "FILE.csv"), or canopy = true',
    ),
    "cover of two kinds": (
        ("[people]", '[clutter]\nraster = "people.tif"\nlegend = "nlcd"\ncanopy = true\n\n[people]'),
        "clutter.canopy: stands beside legend; a raster holds heights or classes: take one out",
    ),
    "area inside out": (
        ("cell_size_m = 300", "cell_size_m = 300\narea_deg = [-84.1, 36.5, -84.3, 36.7]"),
        "grid.area_deg: [-84.1, 36.5, -84.3, 36.7] has no inside; write west, south, east, north "
        "with west < east and south < north",
    ),
}


@pytest.mark.parametrize(("change", "fault"), ONE_FAULT.values(), ids=ONE_FAULT.keys())
def test_a_fault_between_keys_is_told_once(tmp_path, change, fault):
    assert faults(tmp_path, edited(change)) == [fault]


def test_services_of_the_relay_to_be_sited_differ_in_name_and_channel(tmp_path):
    again = '\n[[siting.services]]\nname = "{}"\nchannel = {}\nerp_w = 5.0\n'
    assert faults(tmp_path, STUDY + SITING + again.format("Mux 2", 41)) == [
        "siting.services[1].channel: this relay already uses channel 41; write another channel"
    ]
    assert faults(tmp_path, STUDY + SITING + again.format("mux 1", 45)) == [
        'siting.services[1].name: two services of this relay are called "mux 1"; rename one',
        'siting.services: no parent radiates all of "Mux 1", "mux 1"; '
        "write names of the services of one parent",
    ]


def test_a_relay_without_a_feed(tmp_path):
    text = STUDY[: STUDY.index("[stations.feed]")]
    assert faults(tmp_path, text) == [
        "stations[1].feed: is missing; a relay receives something: "
        'write a [stations.feed] table with from = "NAME"'
    ]


def test_a_name_at_fault_is_not_told_again_where_it_is_used(tmp_path):
    siting = '\n[siting]\nfeed = { from = ["Parent Hill"] }\nservices = []\n'
    text = edited(('name = "Parent Hill"', 'nme = "Parent Hill"')) + siting
    told = [each for each in faults(tmp_path, text) if not each.startswith("siting.services")]
    assert told == ['stations[0].nme: is no key of a study; did you mean "name"?']


def test_a_missing_file_and_a_folder_in_its_place(tmp_path):
    (tmp_path / "folder.tif").mkdir()
    text = edited(('tiles = ["terrain.tif"]', 'tiles = ["gone.tif", "folder.tif"]'))
    assert faults(tmp_path, text) == [
        f'terrain.tiles[0]: "gone.tif": there is no such file; names count from {tmp_path}',
        f'terrain.tiles[1]: "folder.tif": is a folder; names count from {tmp_path}',
    ]


def test_a_pattern_with_a_gap(tmp_path):
    rows = "\n".join(f"{bearing},0.0" for bearing in range(0, 181, 10))
    (tmp_path / "gap.csv").write_text(f"bearing_deg,relative_db\n{rows}\n", encoding="utf-8")
    change = ('polarization = "horizontal"', 'polarization = "horizontal"\nhorizontal_pattern = "gap.csv"')
    (fault,) = faults(tmp_path, edited(change))
    assert fault.startswith(f"stations[0].horizontal_pattern: aerial pattern {tmp_path / 'gap.csv'}: ")
    assert "gap between bearing 180 and 0 degrees" in fault


def test_a_loop_of_two_relays_is_told_at_both(tmp_path):
    text = edited(('from = "Parent Hill"', 'from = "Far Relay"'), text=STUDY + SECOND_RELAY)
    found = [fault for fault in faults(tmp_path, text) if "fed by itself" in fault]
    assert [fault.partition(":")[0] for fault in found] == ["stations[1].feed.from", "stations[2].feed.from"]


def test_a_relay_may_be_fed_by_a_relay(tmp_path):
    study = load_study(write_study(tmp_path, STUDY + SECOND_RELAY))
    assert study.content.stations[2].feed.from_ == "Combe Relay"


def test_a_chain_above_a_loop_is_not_called_a_loop(tmp_path):
    text = edited(('from = "Parent Hill"', 'from = "Combe Relay"'), text=STUDY + SECOND_RELAY)
    assert [fault.partition(":")[0] for fault in faults(tmp_path, text)] == ["stations[1].feed.from"]


def test_signs_that_would_break_the_line_are_escaped(tmp_path):
    text = edited(
        ("[people]", '[people]\n"ra\\nster\\u001b[1m" = 1'), ('from = "Parent Hill"', 'from = "No\\nwhere"')
    )
    found = faults(tmp_path, text)
    assert found[0].startswith(r'people."ra\nster\u001b[1m": is no key of a study')
    assert r'"No\nwhere" is not printable text on one line' in found[1]
    assert all(fault.isprintable() for fault in found)
