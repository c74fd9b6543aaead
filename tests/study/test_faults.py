"""Faults of single keys: where they are, what is wrong, what to write."""

import pytest

from combe.errors import StudyError
from combe.study.file import load_study
from support_study import edited, write_study


def faults(tmp_path, text):
    with pytest.raises(StudyError) as caught:
        load_study(write_study(tmp_path, text))
    assert "\n" not in str(caught.value)
    return list(caught.value.faults)


ONE_FAULT = {
    "missing key": (
        ('title = "Relay for Long Combe"\n', ""),
        'study.title: is missing; write title = "Relay for Long Combe" (what the pages are headed with)',
    ),
    "unknown key": (
        ("cell_size_m = 300", "cell_size = 300"),
        'grid.cell_size: is no key of a study; did you mean "cell_size_m"?',
    ),
    "misspelt key that is required": (
        ("longitude_deg = -84.33", "longitud_deg = -84.33"),
        'stations[0].longitud_deg: is no key of a study; did you mean "longitude_deg"?',
    ),
    "misspelt key of a feed": (
        ("aerial_gain_dbi = 14.0", "aerial_gain_db = 14.0"),
        'stations[1].feed.aerial_gain_db: is no key of a study; did you mean "aerial_gain_dbi"?',
    ),
    "misspelt table that is required": (
        ("[stations.feed]", "[stations.fed]"),
        'stations[1].fed: is no key of a study; did you mean "feed"?',
    ),
    "misspelt section that is required": (
        ("[terrain]", "[terain]"),
        'terain: is no key of a study; did you mean "terrain"?',
    ),
    "misspelt key in place of several": (
        ('raster = "people.tif"', 'rastr = "people.tif"'),
        'people.rastr: is no key of a study; did you mean "raster"?',
    ),
    "unknown section": (
        ("[television]", "[televison]"),
        'televison: is no key of a study; did you mean "television"?',
    ),
    "unknown word": (
        ('"parent"', '"master"'),
        'stations[0].role: "master" is unknown; allowed: parent, relay',
    ),
    "misspelt word": (
        ('polarization = "horizontal"', 'polarization = "horizontl"'),
        'stations[0].polarization: "horizontl" is unknown; did you mean "horizontal"?',
    ),
    "text for a number": (
        ("latitude_deg = 36.70", 'latitude_deg = "36.7"'),
        'stations[0].latitude_deg: "36.7" is not a number; write latitude_deg = 36.6 '
        "(latitude, north positive [degrees, WGS 84])",
    ),
    "fraction of a channel": (
        ("channel = 27", "channel = 27.5"),
        "stations[0].services[0].channel: 27.5 is not a whole number; write channel = 27 "
        "(channel number of the channel raster)",
    ),
    "negative ERP": (
        ("erp_w = 1000.0", "erp_w = -5.0"),
        "stations[0].services[0].erp_w: -5.0 is out of range; write a number of more than 0 "
        "(effective radiated power over a dipole [W]; of analogue vision at peak sync)",
    ),
    "infinite": (
        ("aerial_height_m = 60.0", "aerial_height_m = inf"),
        "stations[0].aerial_height_m: Infinity is not a finite number; write aerial_height_m = 30.0 "
        "(transmitting aerial above ground [m])",
    ),
    "number for a switch": (
        ("invented = true", "invented = 1"),
        "study.invented: 1 is not true or false; write invented = true "
        "(true if stations or people are invented; every page then says so)",
    ),
    "text for a list": (
        ('tiles = ["terrain.tif"]', 'tiles = "terrain.tif"'),
        'terrain.tiles: "terrain.tif" is not a list in square brackets; write tiles = ["terrain.tif"] '
        "(elevation rasters (GeoTIFF, SRTM .hgt, ASCII grid), relative to the study file)",
    ),
    "no tiles": (
        ('tiles = ["terrain.tif"]', "tiles = []"),
        "terrain.tiles: holds too few entries; write at least 1 "
        "(elevation rasters (GeoTIFF, SRTM .hgt, ASCII grid), relative to the study file)",
    ),
    "three edges": (
        ("cell_size_m = 300", "cell_size_m = 300\narea_deg = [-84.3, 36.5, -84.2]"),
        "grid.area_deg[3]: is missing; write area_deg = [-84.35, 36.5, -84.1, 36.7] "
        "(west, south, east, north [degrees]; without it the whole terrain)",
    ),
    "empty name": (
        ('name = "Mux 2"\nchannel = 31', 'name = ""\nchannel = 31'),
        'stations[0].services[1].name: "" is not text that is not empty; write name = "Mux 1" '
        "(the relay's service of one name re-radiates it)",
    ),
    "name of two lines": (
        ('name = "Parent Hill"', 'name = "Parent\\nHill"'),
        'stations[0].name: "Parent\\nHill" is not printable text on one line; write name = "Parent Hill" '
        "(name of the station)",
    ),
}


@pytest.mark.parametrize(("change", "fault"), ONE_FAULT.values(), ids=ONE_FAULT.keys())
def test_a_fault_says_where_what_and_what_to_write(tmp_path, change, fault):
    assert fault in faults(tmp_path, edited(change))


def test_a_missing_section_names_its_heading_and_the_ground_what_fetches_it(tmp_path):
    fetch = f"fetch the ground with: combe ground fetch {tmp_path / 'study.toml'}"
    assert faults(tmp_path, "") == [
        "study: is missing; write a [study] table",
        f"terrain: is missing; {fetch}, or write a [terrain] table of your own rasters",
    ]


def test_faulty_entries_are_not_told_again_as_a_short_list(tmp_path):
    found = faults(tmp_path, edited(("latitude_deg = 36.70", "latitude_deg = 99.0")))
    assert len(found) == 1
    assert found[0].startswith("stations[0].latitude_deg: 99.0 is out of range; write a number of at most 90")


def test_every_fault_is_told_at_once(tmp_path):
    text = edited(
        ('title = "Relay for Long Combe"\n', ""),
        ("erp_w = 1000.0", "erp_w = -5.0"),
        ("channel = 31", "channel = 99"),
        ('name = "Combe Relay"', 'name = "Parent Hill"'),
        ('raster = "people.tif"', 'raster = "nobody.tif"'),
        ('"256-QAM"', '"256QAM"'),
    )
    places = [fault.partition(":")[0] for fault in faults(tmp_path, text)]
    assert places == [
        "study.title",
        "stations[0].services[0].erp_w",
        "stations[1].name",
        "people.raster",
        "television.modulation",
        "stations[0].services[1].channel",
    ]
