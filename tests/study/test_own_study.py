"""The study of one's own place, before it has any ground."""

import re
import tomllib

import pytest

from combe.errors import RangeError
from combe.standards import COUNTRIES, TELEVISION_SYSTEMS
from combe.study.file import read_study
from combe.study.new import new_own_study
from combe.study.own_study import own_study

PLACE = (11.5, 46.9)


def made(folder, **given):
    return new_own_study(folder, own_study(*PLACE, **given))


def uncommented(text):
    """Return a study's text with every key in use that stood there as a comment."""
    return re.sub(r"^#(?=[\w\[])", "", text, flags=re.MULTILINE)


def faults(path):
    return [(fault.place, fault.words) for fault in read_study(path).faults]


@pytest.mark.parametrize("code", COUNTRIES)
def test_the_study_of_each_country_lacks_its_ground_and_nothing_else(tmp_path, code):
    system = None if COUNTRIES[code].practices else "DVB-T2"
    path = made(tmp_path, country=code, system=system)
    assert [place for place, _ in faults(path)] == [("terrain",)]
    assert "stations" not in tomllib.loads(path.read_text("utf-8"))
    # With people, a site can be asked for as well.
    (tmp_path / "people.csv").write_text("longitude_deg,latitude_deg,people,name\n11.5,46.9,10,A\n", "utf-8")
    text = uncommented(path.read_text("utf-8"))
    path.write_text(f'{text}\n[people]\npoints = "people.csv"\n', "utf-8")
    assert [place for place, _ in faults(path)] == [("terrain",)]
    table = tomllib.loads(path.read_text("utf-8"))
    assert [each["role"] for each in table["stations"]] == ["parent", "relay"]
    assert table["stations"][1]["longitude_deg"] == PLACE[0]


@pytest.mark.parametrize("system", TELEVISION_SYSTEMS)
def test_a_system_alone_is_enough_everywhere(tmp_path, system):
    path = made(tmp_path, system=system)
    path.write_text(uncommented(path.read_text("utf-8")).partition("[siting]")[0], "utf-8")
    assert [place for place, _ in faults(path)] == [("terrain",)]
    assert tomllib.loads(path.read_text("utf-8"))["television"]["system"] == system


def test_missing_ground_is_told_with_what_brings_it(tmp_path):
    path = made(tmp_path / "two words")
    (words,) = [words for _, words in faults(path)]
    assert words == (
        f"is missing; fetch the ground with: combe ground fetch '{path}', "
        "or write a [terrain] table of your own rasters"
    )


def test_each_value_says_how_sure_it_is(tmp_path):
    text = made(tmp_path, country="GB").read_text("utf-8")
    keys = [line for line in text.splitlines() if re.match(r"#?\w+ = ", line)]
    said = keys[: keys.index('#name = "Example parent"')]
    assert len(said) >= 10
    assert all("  # " in line for line in said)
    assert re.search(r'code_rate = "2/3" +# read in public scan tables', text)
    assert "# Also there: DVB-T2, 256-QAM 2/3, 32k, guard interval 1/128" in text
    assert 'polarization = "vertical"' in text


def test_what_is_not_known_stands_as_a_comment(tmp_path):
    path = made(tmp_path, country="KE")
    text, table = path.read_text("utf-8"), tomllib.loads(path.read_text("utf-8"))
    assert "modulation" not in table["television"]
    assert "climate" not in table["air"]
    assert table["air"]["delta_n"] == 35.0
    assert re.search(r'^#modulation = "256-QAM" +# not known of Kenya: write it', text, re.MULTILINE)


def test_a_mode_is_that_of_the_system_asked_for(tmp_path):
    def mode(system, country):
        television = tomllib.loads(own_study(*PLACE, system=system, country=country).text)["television"]
        return television.get("modulation"), television.get("code_rate"), television["channel_raster"]

    assert mode("DVB-T2", "GB") == ("256-QAM", "2/3", "8 MHz UHF")
    assert mode("DVB-T", "CZ") == ("64-QAM", "2/3", "8 MHz UHF"), "the mode of what was given up"
    assert mode("DVB-T2", "US-east") == (None, None, "8 MHz UHF"), "no channels of 6 MHz"
    assert mode(None, "FI") == (None, None, "8 MHz UHF"), "of which the guard interval alone is known"


@pytest.mark.parametrize(
    ("place", "area", "crs"),
    [
        ((11.5, 46.9), [11.1063, 46.6301, 11.8937, 47.1699], "EPSG:32632"),
        ((-179.9, -17.0), [179.8183, -17.2711, 180.3817, -16.7289], "EPSG:32701"),
        ((179.9, 52.0), [179.4631, 51.7304, 180.3369, 52.2696], "EPSG:32660"),
        ((25.0, 84.4), [22.2478, 84.1314, 27.7522, 84.6686], "+proj=tmerc +lon_0=25 +datum=WGS84 +units=m"),
    ],
)
def test_the_cells_lie_around_the_place_wherever_it_is(place, area, crs):
    grid = tomllib.loads(own_study(*place).text)["grid"]
    assert grid["crs"] == crs
    assert grid["area_deg"] == pytest.approx(area, abs=0.003)
    assert grid["cell_size_m"] == 90.0


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"latitude_deg": 89.0}, r"latitude of the study is 89; allowed: -84\.63 to 84\.63 with 30 km"),
        ({"radius_km": 500.0}, "radius of the study"),
        ({"radius_km": float("nan")}, "radius of the study"),
        ({"system": "DVB-T3"}, 'television system is "DVB-T3"; allowed: DVB-T2, .*; did you mean "DVB-T"'),
        ({"country": "CH"}, "television system of Switzerland is not known here .no national network"),
        ({"country": "Frence"}, "FR for France"),
    ],
)
def test_what_cannot_be_used_is_refused(given, words):
    with pytest.raises(RangeError, match=words):
        own_study(**{"longitude_deg": 11.5, "latitude_deg": 46.9} | given)
