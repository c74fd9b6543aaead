"""A study and its tables, saved as UTF-8 with a byte order mark, say what they say without."""

import codecs

from combe.answers.survey import survey_report
from combe.library import check_file
from combe.standards.land_cover import read_heights_m
from combe.study.file import load_study
from support_study import STUDY, write_study

TABLES = {
    "pattern.csv": "bearing_deg,relative_db\n" + "".join(f"{angle},0\n" for angle in range(0, 360, 20)),
    "people.csv": "longitude_deg,latitude_deg,people,name\n-84.25,36.60,120,Combe\n",
    "points.csv": "longitude_deg,latitude_deg,station,service,field_dbuv_m\n"
    "-84.25,36.60,Parent Hill,Mux 1,60\n",
    "heights.csv": "class,height_m\n10,15\n",
    "stations.csv": "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,"
    "service,channel,erp_w\n"
    "Far Hill,parent,-84.25,36.55,30,horizontal,Mux 3,50,10\n",
    "districts.geojson": '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": '
    '{"name": "Combe"}, "geometry": {"type": "Polygon", "coordinates": '
    "[[[-84.3, 36.5], [-84.1, 36.5], [-84.1, 36.7], [-84.3, 36.7], [-84.3, 36.5]]]}}]}",
}
SECTIONS = """
[survey]
points = "points.csv"

[network]
stations = "stations.csv"
"""


def written(folder, mark):
    text = STUDY.replace('raster = "people.tif"', 'points = "people.csv"\ndistricts = "districts.geojson"')
    text = text.replace(
        'polarization = "vertical"', 'polarization = "vertical"\nhorizontal_pattern = "pattern.csv"'
    )
    path = write_study(folder, text + SECTIONS)
    path.write_bytes(mark + path.read_bytes())
    for name, table in TABLES.items():
        (folder / name).write_bytes(mark + table.encode())
    return path


def test_a_study_with_all_its_tables(tmp_path):
    marked, plain = (written(tmp_path / name, mark) for name, mark in (("b", codecs.BOM_UTF8), ("p", b"")))
    assert load_study(marked).content == load_study(plain).content
    first, second = check_file(marked), check_file(plain)
    assert first.people_total == second.people_total == 120.0
    assert len(first.stations) == 3
    assert survey_report(first.project).errors == survey_report(second.project).errors
    assert (
        read_heights_m(marked.parent / "heights.csv")
        == read_heights_m(plain.parent / "heights.csv")
        == {10: 15.0}
    )
