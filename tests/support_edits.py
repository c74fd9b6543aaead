"""A study whose stations are rows of a table, for the tests of edits and of what is saved of them."""

from pathlib import Path

from combe.errors import RangeError
from combe.study.edit import edited
from support_study import STUDY, write_study

ROWS = """\
name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w,feed_from,\
feed_aerial_height_m,feed_aerial_gain_dbi,feed_feeder_loss_db,feed_noise_figure_db,feed_required_margin_db
# invented
Far Hill,parent,-84.25,36.55,30,horizontal,Mux 3,50,10,,,,,,

Parent Hill,parent,-84.33,36.70,60,horizontal,Mux 1,27,1000,,,,,,
Parent Hill,,,,,,Mux 2,31,1000,,,,,,
"Combe Relay",relay,-84.20,36.60,20,vertical,Mux 1,41,20,Parent Hill,12,14,2,6,10
Combe Relay,,,,,,Mux 2,45,20.0,,,,,,
"""
NEW = {"add": {"name": "Høyåsen 2", "longitude_deg": -84.3, "latitude_deg": 36.6}}
ALONE = STUDY.partition("[[stations]]")[0] + '[network]\nstations = "stations.csv"  # one row a service\n'


def write_table_study(folder: Path, rows: str = ROWS, text: str = ALONE) -> Path:
    """Write a study with stations of a table and all its files into ``folder``; return the study's path."""
    path = write_study(folder, text)
    (folder / "stations.csv").write_text(rows, encoding="utf-8", newline="")
    return path


def after_all(table, edits):
    """Return a table after those of the edits that can be made one after another."""
    for edit in edits:
        try:
            table = edited(table, edit)
        except RangeError:
            continue
    return table


def text_of(path):
    return path.read_bytes().decode("utf-8")
