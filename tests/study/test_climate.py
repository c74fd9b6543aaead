"""The climate of a study: which of the three ways it is told, its words, and its faults."""

import pytest

from combe.answers.check import check_report
from combe.errors import RangeError, StudyError
from combe.propagation.p2001 import TYPICAL_CLIMATES, Climate
from combe.study.climate import middle_of, place_words
from combe.study.climate_schema import ClimateSection
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from combe.study.schema import AirSection
from combe.study.template import study_text
from support_maps import ZONES, value_at, write_maps
from support_study import edited, write_study

NUMBERS = """[air.climate]
median_dn = 44.0
super_slope = 48.0
sub_slope = 23.0
dn_65m_1_percent = -260.0
foes_0_1_mhz = 7.2
foes_1_mhz = 5.3
foes_10_mhz = 3.5
foes_50_mhz = 2.1
rain_height_km = 2.2
water_vapour_g_m3 = 8.5
troposcatter_climate = 6
"""
RAIN = "rain_six_hours_percent = 11.0\nrain_mm_per_year = 900.0\nconvective_rain_share = 0.35\n"
TYPICAL = "climate, typical values from memory"
MIDDLE = (-84.265, 36.65)
"""Half way between the study's two stations, -84.33 36.70 and -84.20 36.60."""


def study_with(folder, air, *changes):
    return write_study(folder, edited(("[people]", f"{air}\n[people]"), *changes))


def faults(folder, air, *changes):
    with pytest.raises(StudyError) as caught:
        load_study(study_with(folder, air, *changes))
    return list(caught.value.faults)


@pytest.fixture(scope="module")
def maps(tmp_path_factory):
    return write_maps(tmp_path_factory.mktemp("climate") / "p2001")


def test_the_names_are_those_of_the_typical_climates(tmp_path):
    for name, climate in TYPICAL_CLIMATES.items():
        project = load_project(study_with(tmp_path, f'[air]\nclimate = "{name}"\n'))
        assert project.climate == climate
        assert (project.climate_words, project.climate_stated) == (f"{name} {TYPICAL}", True)
    (fault,) = faults(tmp_path, '[air]\nclimate = "polar"\n')
    assert fault == (
        'air.climate: "polar" is unknown; allowed: temperate, continental, maritime, humid tropical, desert'
    )


def test_a_study_that_says_nothing_is_temperate_and_check_notes_it(tmp_path):
    project = load_project(write_study(tmp_path))
    assert project.climate == TYPICAL_CLIMATES["temperate"]
    assert (project.climate_words, project.climate_stated) == (f"temperate {TYPICAL}", False)
    note = 'no climate is stated: temperate is taken; write climate = "temperate" or another in [air]'
    assert check_report(project).notes == (note,)
    stated = load_project(study_with(tmp_path, '[air]\nclimate = "temperate"\n'))
    assert check_report(stated).notes == ()
    other_fall = load_project(study_with(tmp_path, "[air]\ndelta_n = 40.0\n"))
    assert check_report(other_fall).notes == (note,)


def test_a_typical_climate_takes_the_fall_of_the_study(tmp_path):
    project = load_project(study_with(tmp_path, '[air]\ndelta_n = 51.5\nclimate = "desert"\n'))
    assert project.climate.median_dn == project.conditions.delta_n == 51.5
    assert project.climate.super_slope == TYPICAL_CLIMATES["desert"].super_slope
    assert project.climate_words == f"desert {TYPICAL}, median fall 51.5 N-units/km as the study says"
    # 157 (1 - 6371/8500) = 39.32: the median lapse that P.526's effective radius stands for.
    radius = load_project(study_with(tmp_path, "[air]\neffective_radius_km = 8500.0\n"))
    assert radius.climate.median_dn == pytest.approx(39.324, abs=1e-3)
    assert radius.climate_words.endswith("median fall 39.32 N-units/km as the study says")


def test_a_fall_that_no_median_air_has_stays_with_the_fields(tmp_path):
    air = "[air]\neffective_radius_km = 6000.0\n"
    project = load_project(study_with(tmp_path, air, ("[terrain]", 'model = "p526"\n\n[terrain]')))
    assert project.climate == TYPICAL_CLIMATES["temperate"]
    # 157 (1 - 6371/6000) = -9.708
    own = "median fall 42 N-units/km of its own, because P.2001 has none of -9.708 as in the study's fields"
    assert project.climate_words == f"temperate {TYPICAL}, {own}"


def test_the_numbers_of_a_study_are_its_climate(tmp_path):
    project = load_project(study_with(tmp_path, NUMBERS))
    assert project.climate == Climate(44.0, 48.0, 23.0, -260.0, 7.2, 5.3, 3.5, 2.1, 2.2, 8.5, 6)
    assert (project.climate_words, project.climate_stated) == ("numbers of the study", True)
    assert check_report(project).notes == ()
    rainy = load_project(study_with(tmp_path, NUMBERS + RAIN)).climate
    assert (rainy.rain_six_hours_percent, rainy.rain_mm_per_year) == (11.0, 900.0)
    assert rainy.convective_rain_share == 0.35


def test_numbers_beside_another_median_fall_say_so(tmp_path):
    project = load_project(study_with(tmp_path, f"[air]\ndelta_n = 40.0\n\n{NUMBERS}"))
    assert (project.climate.median_dn, project.conditions.delta_n) == (44.0, 40.0)
    assert project.climate_words == (
        "numbers of the study, median fall 44 N-units/km, where the study's fields take 40"
    )
    same = load_project(study_with(tmp_path, f"[air]\ndelta_n = 44.0\n\n{NUMBERS}"))
    assert same.climate_words == "numbers of the study"


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (
            ("median_dn = 44.0", "median_dn = -44.0"),
            "air.climate.median_dn: -44.0 is out of range; write a number of at least 0",
        ),
        (("foes_1_mhz = 5.3\n", ""), "air.climate.foes_1_mhz: is missing; write foes_1_mhz = 5.5"),
        (
            ("sub_slope", "sub_slop"),
            'air.climate.sub_slop: is no key of a study; did you mean "sub_slope"?',
        ),
        (("= 6\n", "= 2.5\n"), "air.climate.troposcatter_climate: 2.5 is not a whole number; write"),
        (
            ("= 6\n", "= 6\nrain_mm_per_year = 900.0\nconvective_rain_share = 0.5\n"),
            "air.climate.rain_six_hours_percent: is missing; rain_mm_per_year stands without it; write all "
            "of rain_six_hours_percent, rain_mm_per_year, convective_rain_share, or none",
        ),
    ],
)
def test_a_faulty_number_is_told_at_its_key(tmp_path, change, fault):
    old, new = change
    assert old in NUMBERS
    (told,) = faults(tmp_path, NUMBERS.replace(old, new))
    assert told.startswith(fault)


@pytest.mark.parametrize("written", ["5", "true", '["dry", "hot"]'])
def test_what_is_neither_name_nor_table_is_a_fault(tmp_path, written):
    (fault,) = faults(tmp_path, f"[air]\nclimate = {written}\n")
    assert fault.startswith(f"air.climate: {written} is unknown; allowed: temperate, continental")


def test_the_keys_take_what_a_climate_takes():
    """The bounds of the study file and those of the engine are the same."""
    sound = {name: field.examples[0] for name, field in ClimateSection.model_fields.items()}
    assert Climate(**ClimateSection(**sound).model_dump()).rain_known
    for name, field in ClimateSection.model_fields.items():
        bounds = {
            key: getattr(each, key) for each in field.metadata for key in ("ge", "le") if hasattr(each, key)
        }
        low, high = bounds["ge"], bounds["le"]
        step = 1 if name == ZONES else 1e-6
        for value in (low, high):
            assert getattr(Climate(**{**sound, name: value}), name) == value
        for value in (low - step, high + step):
            with pytest.raises(RangeError, match=name):
                Climate(**{**sound, name: value})


def test_maps_are_read_in_the_middle_of_the_stations(tmp_path, maps):
    (tmp_path / "p2001").symlink_to(maps)
    project = load_project(study_with(tmp_path, '[air]\nclimate_maps = "p2001"\n'))
    assert project.climate.median_dn == pytest.approx(value_at("median_dn", *MIDDLE), abs=1e-4)
    assert project.climate.rain_mm_per_year == pytest.approx(value_at("rain_mm_per_year", *MIDDLE), abs=0.1)
    # North of 36.5 by row 106 (36.75), and west of -84 by column 191 (-84.25).
    assert project.climate.troposcatter_climate == (106 + 2 * 191) % 7
    words = "digital maps of P.2001-4 in p2001 at 84.27°W 36.65°N"
    assert project.climate_words in (words, words.replace("84.27", "84.26"))
    assert project.climate_stated


def test_maps_without_rain_and_beside_another_fall_say_so(tmp_path, maps):
    folder = tmp_path / "some"
    folder.mkdir()
    for path in maps.iterdir():
        if not path.name.startswith("Esarain"):
            (folder / path.name).symlink_to(path)
    project = load_project(study_with(tmp_path, '[air]\ndelta_n = 20.0\nclimate_maps = "some"\n'))
    assert not project.climate.rain_known
    fall = value_at("median_dn", *MIDDLE)
    assert project.climate_words.endswith(
        f"N, without the maps of rain, median fall {fall:.4g} N-units/km, where the study's fields take 20"
    )


def test_two_climates_at_once_are_a_fault(tmp_path, maps):
    (tmp_path / "p2001").symlink_to(maps)
    beside = (
        "air.climate_maps: stands beside climate, and both say what the air is over the year; take one out"
    )
    assert faults(tmp_path, '[air]\nclimate = "desert"\nclimate_maps = "p2001"\n') == [beside]
    assert faults(tmp_path, f'[air]\nclimate_maps = "p2001"\n\n{NUMBERS}') == [beside]
    (fault,) = faults(tmp_path, f'[air]\nclimate = "desert"\n\n{NUMBERS}')
    assert fault.endswith("correct the TOML there")


def test_all_faults_of_maps_are_told_with_those_of_the_study(tmp_path, maps):
    folder = tmp_path / "some"
    folder.mkdir()
    for path in maps.iterdir():
        (folder / path.name).symlink_to(path)
    (folder / "h0.txt").unlink()
    (folder / "FoEs50.txt").unlink()
    (folder / "FoEs50.txt").write_text("none\n", encoding="utf-8")
    found = faults(tmp_path, '[air]\nclimate_maps = "some"\n', ("channel = 45", "channel = 450"))
    assert sum(fault.startswith('air.climate_maps: "some": ') for fault in found) == 2
    assert any("h0.txt is missing" in fault for fault in found)
    assert any('FoEs50.txt: line 1: "none" is no number; allowed: 121 lines' in fault for fault in found)
    assert any("channel 450" in fault for fault in found)
    (fault,) = faults(tmp_path, '[air]\nclimate_maps = "nowhere"\n')
    assert fault.startswith('air.climate_maps: "nowhere": there is no such folder; name the folder with')


def test_a_map_that_tells_what_no_climate_has_there_is_named(tmp_path, maps):
    folder = tmp_path / "some"
    folder.mkdir()
    for path in maps.iterdir():
        (folder / path.name).symlink_to(path)
    (folder / "dndz_01.txt").unlink()
    (folder / "dndz_01.txt").write_text(f"{'230 ' * 241}\n" * 121, encoding="utf-8")
    (fault,) = faults(tmp_path, '[air]\nclimate_maps = "some"\n')
    assert fault.startswith('air.climate_maps: "some": dndz_01.txt: tells 230.0 at 84.2')
    assert fault.endswith("36.65°N; allowed: -2000 to 0 N-units/km, a fall being negative (maps of P.2001-4)")


@pytest.mark.parametrize(
    ("places", "middle"),
    [
        ([(-84.3, 36.7)], (-84.3, 36.7)),
        ([(-2.2, 51.2), (-2.0, 51.4)], (-2.1, 51.3)),
        ([(-1.0, -0.5), (3.0, 0.5), (0.0, 0.1)], (1.0, 0.0)),
        ([(179.0, -17.0), (-179.5, -16.0)], (179.75, -16.5)),
        ([(178.0, -17.0), (-177.0, -16.0)], (-179.5, -16.5)),
    ],
)
def test_the_middle_is_that_of_the_smallest_box(places, middle):
    assert middle_of(places) == pytest.approx(middle, abs=1e-9)


def test_a_place_is_written_with_its_sides():
    assert place_words((-2.1, 51.3)) == "2.10°W 51.30°N"
    assert place_words((179.75, -16.5)) == "179.75°E 16.50°S"
    assert place_words((-0.001, -0.001)) == "0.00°E 0.00°N"


def test_each_way_reads_back_from_its_own_text(tmp_path, maps):
    (tmp_path / "p2001").symlink_to(maps)
    for air in (
        "",
        '[air]\nclimate = "desert"\n',
        NUMBERS,
        NUMBERS + RAIN,
        '[air]\nclimate_maps = "p2001"\n',
    ):
        study = load_study(study_with(tmp_path, air))
        again = tmp_path / "again.toml"
        again.write_text(study_text(study.content), encoding="utf-8")
        assert load_study(again).content == study.content


def test_the_comments_of_a_new_study_are_each_a_climate(tmp_path):
    text = study_text(load_study(write_study(tmp_path)).content)
    named = text.replace("# climate = ", "climate = ", 1)
    assert load_study(write_study(tmp_path, named)).content.air.climate == "temperate"
    start = text.index("# [air.climate]")
    end = text.index("\n\n", start)
    table = text[start:end].replace("# ", "", 1).replace("\n# ", "\n")
    told = load_study(write_study(tmp_path, text[:start] + table + text[end:])).content.air.climate
    assert isinstance(told, ClimateSection)
    assert told.median_dn == TYPICAL_CLIMATES["temperate"].median_dn


def test_a_new_study_leaves_the_maps_where_they_are(tmp_path, maps):
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "p2001").symlink_to(maps)
    path = study_with(tmp_path / "old", '[air]\nclimate_maps = "p2001"\n')
    made = new_study(tmp_path / "new", path)
    assert load_study(made).content.air == AirSection(climate_maps=str(maps.resolve()))
    assert sorted(each.name for each in made.parent.iterdir()) == ["people.tif", "study.toml", "terrain.tif"]
