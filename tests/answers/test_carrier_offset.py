"""Carrier offsets of analogue services: what they spare is counted wherever a protection ratio is taken."""

import json

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.explain import explain_place
from combe.answers.site_report import site_report
from combe.errors import StudyError
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_flat import HEAD, lonlat_of, station_text, write_plain_study

WEST, EAST = (738_000.0, 4_040_000.0), (762_000.0, 4_040_000.0)
APART_M = 24_000.0
FEED_CN = ("required_margin_db = 0.0", "required_margin_db = 0.0\nrequired_cn_db = 40.0")
MINUS, PLUS = "offset_twelfths = -4", "offset_twelfths = 4"
HELD = "precision_offset = true"


def head(system):
    return HEAD.replace(
        "[television]", f'[interference]\nmethod = "power sum"\n\n[television]\nsystem = "{system}"'
    )


def with_offset(text, *keys):
    """Return a station with keys for its services."""
    return text.replace("erp_w = ", "".join(f"{key}\n" for key in keys) + "erp_w = ").replace(*FEED_CN)


def two_stations(folder, west=(), east=(), system="PAL I"):
    return write_plain_study(
        folder,
        with_offset(station_text("West", *WEST, [("A", 40, 1e6)]), *west),
        with_offset(station_text("East", *EAST, [("A", 40, 1e6)], parent="West"), *east),
        head=head(system),
    )


@pytest.mark.parametrize(
    ("west", "east", "system", "ratio_db", "words"),
    # ITU-R BT.655-7 Table 1, continuous, since without statistics of time the median stands for all of it,
    # and 47 CFR 74.705(d); all from memory.
    [
        ((), (), "PAL I", 52.0, "without offset"),
        ((MINUS,), (PLUS,), "PAL I", 40.0, "offset of 8/12 line"),
        ((MINUS, HELD), (PLUS,), "PAL I", 40.0, "offset of 8/12 line"),
        ((MINUS, HELD), (PLUS, HELD), "PAL I", 27.0, "offset of 8/12 line with precision"),
        ((), (), "NTSC M", 45.0, "without carrier offset"),
        (("offset_khz = -10",), ("offset_khz = 10.0",), "NTSC M", 28.0, "with 20 kHz carrier offset"),
    ],
)
def test_the_boundary_and_the_explanation_go_by_the_offset(tmp_path, west, east, system, ratio_db, words):
    study = load_project(two_stations(tmp_path, west, east, system))
    # Behind West the aerial holds off nothing: service ends where 20 log(d2/d1) is the ratio.
    behind_m = APART_M / (10.0 ** (ratio_db / 20.0) - 1.0)
    for part, served in ((0.97, True), (1.03, False)):
        (service,) = explain_place(study, *lonlat_of(WEST[0] - part * behind_m, WEST[1])).services
        (best,) = [each for each in service.candidates if each.station.name == "West"]
        (row,) = best.disturbers
        assert row.nuisance.protection_db == ratio_db
        assert words in row.reference
        assert "from memory" in row.reference
        assert (best.margin_db >= 0.0) == served


def test_cover_counts_fewer_harmed_with_offset_and_says_so(tmp_path):
    asked = {"plain": ((), ()), "offset": ((MINUS,), (PLUS,)), "held": ((MINUS, HELD), (PLUS, HELD))}
    found = {
        name: cover_report(load_project(two_stations(tmp_path / name, *keys))) for name, keys in asked.items()
    }
    fallen = [each.harm[0].fall_below for each in found.values()]
    assert fallen[0] > fallen[1] > fallen[2] > 0.0
    words = found["held"].provenance["interference"]
    assert "offset of 8/12 line with precision" in words
    assert "from memory" in words


def test_channels_take_the_offset_to_every_channel_they_try(tmp_path):
    old = with_offset(station_text("Old", 745_000.0, 4_035_000.0, [("B", 54, 20.0)]))

    def harm(folder, *east):
        path = write_plain_study(
            folder,
            with_offset(station_text("West", *WEST, [("A", 40, 1e6)])),
            with_offset(station_text("East", *EAST, [("A", 60, 20.0)], parent="West"), *east),
            old,
            head=head("PAL I"),
        )
        printed = run_json("channels", path, "--channels", "54,60")
        (output,) = printed["outputs"]
        assert ("offset of 8/12 line" in printed["provenance"]["interference"]) == bool(east)
        return {one["channel"]: one["people_harmed_out"] for one in output["channels"]}

    plain, offset = harm(tmp_path / "plain"), harm(tmp_path / "offset", "offset_twelfths = 8")
    assert plain[54] > offset[54] > 0.0
    assert plain[60] == offset[60] == 0.0


def test_the_feed_is_judged_with_the_offset(tmp_path):
    def rows(folder, *old):
        path = write_plain_study(
            folder,
            with_offset(station_text("West", *WEST, [("A", 40, 1e6)])),
            with_offset(station_text("East", *EAST, [("A", 50, 20.0)], parent="West")),
            with_offset(station_text("Old", 745_000.0, 4_045_000.0, [("B", 40, 100.0)]), *old),
            head=head("PAL I"),
        )
        result = run("feed", path, "--json")
        assert result.exit_code in (0, 1), result.output
        (relay,) = json.loads(result.stdout)["relays"]
        return relay["services"][0]["interference"]

    (plain,), (offset,) = rows(tmp_path / "plain"), rows(tmp_path / "offset", "offset_twelfths = -8")
    # ITU-R BT.655-7 Table 1, continuous, from memory.
    assert (plain["protection_db"], offset["protection_db"]) == (52.0, 40.0)
    assert offset["margin_db"] - plain["margin_db"] == pytest.approx(12.0)
    assert "offset of 8/12 line (from memory" in offset["reference"]


SITING = """
[siting]
aerial_height_m = 20.0
cell_size_m = 1000.0
sites = 1
polarization = "horizontal"
before = "all stations"
above_valley_m = 0.0

[siting.feed]
required_cn_db = 20.0
required_margin_db = 0.0

[[siting.services]]
name = "A"
channel = 40
erp_w = 20.0
"""


def test_siting_counts_those_on_air_with_their_offset(tmp_path):
    """A relay on its nominal carrier is 4/12 of a line off a victim's, and takes less than without offset."""

    def ratios_db(folder, *keys):
        path = write_plain_study(
            folder,
            with_offset(station_text("West", *WEST, [("A", 40, 1e6)]), *keys),
            with_offset(station_text("East", *EAST, [("A", 40, 20.0)], parent="West"), *keys),
            head=head("PAL I"),
        )
        path.write_text(path.read_text() + SITING)
        report = site_report(load_project(path), folder / "siting")
        return np.unique(report.work.search.problem.harm.victims.ratio_db[:, 0, 1])

    assert ratios_db(tmp_path / "plain") == [52.0]
    (offset,) = ratios_db(tmp_path / "offset", MINUS)
    assert offset < 52.0


@pytest.mark.parametrize(
    ("system", "key", "fault"),
    [
        (
            "DVB-T2",
            "offset_twelfths = 8",
            'beside system "DVB-T2", which has no vision carrier; take it',
        ),
        ("ATSC", "offset_khz = 10", 'stands beside system "ATSC", which has no vision carrier; take it out'),
        ("NTSC M", PLUS, 'stands beside system "NTSC M", which has 525 lines; write offset_khz'),
        ("PAL I", "offset_khz = 10", 'beside system "PAL I", which has 625 lines; write offset_twelfths and'),
        ("PAL I", "offset_twelfths = 13", "13 is out of range; write a number of at most 12"),
        ("PAL I", "offset_twelfths = 2.5", "offset_twelfths: "),
        ("NTSC M", "offset_khz = 5", "is 5; allowed: -10, 0, 10"),
    ],
)
def test_what_is_refused(tmp_path, system, key, fault):
    with pytest.raises(StudyError) as caught:
        load_project(two_stations(tmp_path, (key,), system=system))
    (told,) = caught.value.faults
    assert told.startswith("stations[0].services[0].offset_")
    assert fault in told


def test_a_table_of_stations_has_the_columns_too(tmp_path):
    path = two_stations(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("[people]", '[network]\nstations = "more.csv"\n\n[people]'), encoding="utf-8"
    )
    lon, lat = lonlat_of(750_000.0, 4_045_000.0)
    names = "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w"
    row = f"Far,parent,{lon},{lat},10,horizontal,A,44,1000"
    lines = [f"{names},offset_twelfths,precision_offset", f"{row},-8,true", "Far,,,,,,B,48,1000,,"]
    (tmp_path / "more.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    far = load_project(path).stations[2]
    assert [(each.offset_twelfths, each.precision_offset) for each in far.services] == [
        (-8, True),
        (0, False),
    ]
    (tmp_path / "more.csv").write_text("\n".join(lines).replace("true", "yes") + "\n", encoding="utf-8")
    with pytest.raises(StudyError, match="row 2, precision_offset: "):
        load_project(path)


def test_check_shows_the_offsets_where_there_are_any(tmp_path):
    path = two_stations(tmp_path / "pal", (MINUS, HELD), (PLUS,))
    lines = run("check", path, "--full").stdout.splitlines()
    at = lines.index("Stations")
    assert "offset" in lines[at + 1]
    held, free = (line for line in lines[at:] if "/12 line" in line)
    assert "−4/12 line, precision" in held
    assert "+4/12 line" in free
    (west, _) = run_json("check", path)["stations"]
    assert (west["services"][0]["offset_twelfths"], west["services"][0]["precision_offset"]) == (-4, True)
    ntsc = two_stations(tmp_path / "ntsc", ("offset_khz = -10.0",), (), "NTSC M")
    assert "−10 kHz" in run("check", ntsc, "--full").stdout
    assert "offset" not in run("check", two_stations(tmp_path / "none"), "--full").stdout
