"""Tables of other people are read as their studies say, and asked for in one line where nobody says."""

import time

import pyproj
import pytest

from combe.errors import TableError
from combe.tables import Layout, read_table, suggested

NAMES = ("longitude_deg", "latitude_deg", "people")
OWN = {"longitude_deg": "lon", "latitude_deg": "lat", "people": "POP_2020"}


def table(tmp_path, text, layout=None, encoding="utf-8", **more):
    (tmp_path / "t.csv").write_bytes(text.encode(encoding))
    return read_table(
        tmp_path / "t.csv",
        NAMES,
        ("name",),
        "9,47,1",
        layout or Layout(),
        numbers=NAMES,
        strict=False,
        **more,
    )


def rows(tmp_path, text, layout=None, **more):
    found = table(tmp_path, text, layout, **more)
    cells = [[row.cells[name] for name in NAMES] for row in found.rows()]
    return cells, found.faults


def complaint(tmp_path, text, layout=None):
    with pytest.raises(TableError) as caught:
        rows(tmp_path, text, layout)
    assert "\n" not in str(caught.value)
    return str(caught.value).split("t.csv: ", 1)[1]


def test_other_names_are_told_with_what_to_write(tmp_path):
    text = "OBJECTID,lat,lon,POP_2020\n1,47.5,9.5,120\n"
    said = complaint(tmp_path, text)
    mapping = 'columns = { longitude_deg = "lon", latitude_deg = "lat", people = "POP_2020" }'
    assert said == (
        f'row 1: no column \'longitude_deg\'; if "lon" and "lat" and "POP_2020" are meant, write {mapping}'
    )
    assert rows(tmp_path, text, Layout(OWN)) == ([["9.5", "47.5", "120"]], [])


def test_a_command_is_told_by_options(tmp_path):
    said = complaint(tmp_path, "lat,lon,people\n1,2,3\n", Layout(command=True))
    assert said.endswith("are meant, write --column longitude_deg=lon --column latitude_deg=lat")


def test_names_that_are_like_nothing(tmp_path):
    said = complaint(tmp_path, "a,b,c\n1,2,3\n")
    assert "or columns = { longitude_deg = " in said
    assert said.endswith('with its own names; it has "a", "b", "c"')


def test_a_mapping_that_does_not_fit(tmp_path):
    text = "lat,lon,POP_2020\n47.5,9.5,120\n"
    assert complaint(tmp_path, text, Layout({**OWN, "people": "POP_2019"})) == (
        'columns.people: it has no column "POP_2019"; did you mean "POP_2020"?'
    )
    assert complaint(tmp_path, text, Layout({**OWN, "persons": "x"})).startswith('columns has "persons"')
    assert complaint(tmp_path, "lat,lon,lon,POP_2020\n1,2,3,4\n", Layout(OWN)) == (
        "row 1: column 'lon' stands twice; take one of them out"
    )


def test_a_table_without_a_header(tmp_path):
    layout = Layout({"latitude_deg": 2, "longitude_deg": 3, "people": 5})
    text = "1;47,5;9,5;x;120\n2;47,25;9,75;y;80\n"
    assert rows(tmp_path, text, layout)[0] == [["9.5", "47.5", "120"], ["9.75", "47.25", "80"]]
    assert complaint(tmp_path, text, Layout({**layout.columns, "people": 6})) == (
        "columns.people is 6; it has columns 1 to 5"
    )


def test_semicolons_tabs_and_decimal_commas(tmp_path):
    for separator in ";\t|":
        text = "longitude_deg;latitude_deg;people\n9,5;47,25;1 200\n".replace(";", separator)
        found = table(tmp_path, text)
        assert [tuple(row.cells[name] for name in NAMES) for row in found.rows()] == [
            ("9.5", "47.25", "1200")
        ]
        assert "decimal commas" in found.supposed


def test_a_comma_that_may_part_thousands_is_asked_for(tmp_path):
    text = "longitude_deg;latitude_deg;people\n9,512;47,253;80\n"
    assert complaint(tmp_path, text) == '9,512 may be 9.512 or 9512; write decimal = "," or decimal = "."'
    assert rows(tmp_path, text, Layout(decimal=","))[0] == [["9.512", "47.253", "80"]]
    assert complaint(tmp_path, text, Layout(decimal="'")).startswith('decimal is "\'"')


def test_mixed_separators_and_signs_are_faults_of_their_rows(tmp_path):
    text = 'longitude_deg,latitude_deg,people\n9.5,47.2,80\n9.5;47.2;80\n"9,5",47.2,80\n9.6,47.2,\n'
    cells, faults = rows(tmp_path, text)
    assert cells == [["9.5", "47.2", "80"], ["9.6", "47.2", ""]]
    assert sorted(faults) == [
        "row 3: 1 cells where the header has 3; write 9,47,1",
        "row 4: longitude '9,5' is no angle; write degrees, as 47.2094 or 47°12'34\"N",
    ]
    told, faults = rows(tmp_path, "longitude_deg;latitude_deg;people\n9,5;47.2;80\n", Layout(decimal=","))
    assert (told, faults) == (
        [],
        ["row 2: '47.2' has a decimal point, and the table decimal commas; write one sign"],
    )


def test_degrees_minutes_seconds(tmp_path):
    text = "longitude_deg;latitude_deg;people\n9°30'36\"E;47 12 36;5\nhere;47;5\n"
    cells, faults = rows(tmp_path, text)
    assert [[float(each) for each in row] for row in cells] == [[9.51, 47.21, 5.0]]
    assert faults == ["row 3: longitude 'here' is no angle; write degrees, as 47.2094 or 47°12'34\"N"]


def test_places_of_a_projected_system(tmp_path):
    text = "X;Y;EW\n565 500,5;5228000;12\n"
    layout = Layout({"easting_m": "X", "northing_m": "Y", "people": "EW"}, crs="EPSG:25832")
    ((lon, lat, people),) = rows(tmp_path, text, layout)[0]
    there = pyproj.Transformer.from_crs(25832, 4326, always_xy=True).transform(565500.5, 5228000.0)
    assert (float(lon), float(lat)) == pytest.approx(there, abs=1e-9)
    assert people == "12"
    said = complaint(tmp_path, text)
    assert 'write columns = { easting_m = "X", northing_m = "Y", people = "EW" } and crs = "EPSG:…"' in said
    assert "name the projected system" in complaint(tmp_path, text, Layout(layout.columns))
    assert "counts degrees" in complaint(tmp_path, text, Layout(layout.columns, crs="EPSG:4258"))
    assert "crs 'EPSG:99' is unknown" in complaint(tmp_path, text, Layout(layout.columns, crs="EPSG:99"))
    degrees = "longitude_deg,latitude_deg,people\n9,47,1\n"
    assert "counts metres and the columns degrees" in complaint(tmp_path, degrees, Layout(crs="EPSG:25832"))


def test_grid_references(tmp_path):
    text = "Grid Ref,people\nTG 51409 13177,5\nXX,6\n"
    cells, faults = rows(tmp_path, text, Layout({"grid_reference": "Grid Ref"}))
    assert (float(cells[0][0]), float(cells[0][1])) == pytest.approx((1.71605, 52.65798), abs=1e-4)
    assert faults == ["row 3: grid_reference 'XX' is none; write letters and digits, as TG 514 131"]
    assert 'columns = { grid_reference = "Grid Ref" }' in complaint(tmp_path, text)


def test_other_degrees_than_those_of_wgs_84(tmp_path):
    text = "longitude_deg,latitude_deg,people\n9.0,47.0,1\n"
    lon, lat, _ = rows(tmp_path, text, Layout(crs="EPSG:4314"))[0][0]
    assert (float(lon), float(lat)) != (9.0, 47.0)
    assert (float(lon), float(lat)) == pytest.approx((9.0, 47.0), abs=3e-3)


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing\n"])
def test_an_empty_table(tmp_path, text):
    assert complaint(tmp_path, text).startswith("it holds no rows; begin with the header")


@pytest.mark.parametrize(
    "header",
    [
        ",,,",
        '"a""b",\u202e,=cmd(),' + "x" * 5000,
        "a,a,a",
        "name,name",
        "\u0000".join("ab"),
        '"unclosed',
        "🙂,NaN",
    ],
)
def test_hostile_headers_are_one_line(tmp_path, header):
    said = complaint(tmp_path, f"{header}\n1,2,3\n")
    assert said.isprintable()
    assert len(said) < 1000


def test_numbers_are_not_taken_for_others_without_a_study(tmp_path):
    (tmp_path / "t.csv").write_text("longitude_deg;latitude_deg;people\n9,5;47;1\n")
    with pytest.raises(TableError, match="cells are parted by semicolons; save it with commas"):
        read_table(tmp_path / "t.csv", NAMES, (), "9,47,1", None)


def test_columns_of_other_languages():
    assert suggested(["Gemeinde", "Länge", "Breite", "Einwohner 2021"], [*NAMES, "name"]) == {
        "longitude_deg": "Länge", "latitude_deg": "Breite", "people": "Einwohner 2021", "name": "Gemeinde",
    }  # fmt: skip
    assert suggested(["x1", "x2"], NAMES) == {}


def test_many_rows_are_read_in_little_time(tmp_path):
    text = "X;Y;people\n" + "565500,5;5228000,5;12\n" * 20_000
    layout = Layout({"easting_m": "X", "northing_m": "Y"}, crs="EPSG:25832")
    start = time.process_time()
    assert len(rows(tmp_path, text, layout)[0]) == 20_000
    assert time.process_time() - start < 5.0
