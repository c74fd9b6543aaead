"""``combe explain``: a place in words that are true to the numbers, on the flat plain in free space."""

import math
import re

import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.propagation.p525 import free_space_loss_db
from support_cli import complaint, run, run_json
from support_flat import HEAD, lonlat_of, station_text, write_plain_study

POWER_SUM = HEAD + '\n[interference]\nmethod = "power sum"\n'
WEST, EAST = (738_000.0, 4_040_000.0), (762_000.0, 4_040_000.0)
MHZ = 626.0


def plain(folder, west_w=10_000.0, east_w=10_000.0, third_w=None, third_channel=41, head=POWER_SUM):
    stations = [
        station_text("West", *WEST, [("A", 40, west_w)]),
        station_text("East", *EAST, [("B", 40, east_w)]),
    ]
    if third_w:
        stations.append(station_text("North", 762_000.0, 4_050_000.0, [("B", third_channel, third_w)]))
    return write_plain_study(folder, *stations, head=head, people=False)


def at(x_m, y_m=4_040_000.0):
    lon, lat = lonlat_of(x_m, y_m)
    return f"{lon:.7f},{lat:.7f}"


def service_at(study, place, name="A"):
    printed = run_json("explain", study, "--at", place)
    return next(each for each in printed["services"] if each["name"] == name)


def field(power_w, km):
    return field_from_loss_dbuv_m(10.0, free_space_loss_db(km, MHZ), MHZ) - 10 + 10 * math.log10(power_w)


def test_fields_and_nuisances_are_those_of_algebra(tmp_path):
    # 18 km from West, 6 km from East, which lies behind the aerial: 16 dB less (ITU-R BT.419-3).
    found = service_at(plain(tmp_path), at(756_000.0))
    (best,) = found["candidates"]
    assert best["field_dbuv_m"] == pytest.approx(field(10_000.0, 18.0), abs=0.05)
    (nuisance,) = best["nuisances"]
    assert nuisance["field_dbuv_m"] == pytest.approx(field(10_000.0, 6.0), abs=0.05)
    assert (nuisance["protection_db"], nuisance["relation"]) == (20.0, "co-channel")
    assert nuisance["gain_db"] == pytest.approx(-16.0)
    expected = nuisance["field_dbuv_m"] + 20.0 - 16.0
    assert nuisance["nuisance_dbuv_m"] == pytest.approx(expected)
    # 20 log(18/6) = 9.54 dB weaker, 4 dB to keep: 13.54 dB short, but for the noise, 35 dB further down.
    assert best["margin_db"] == pytest.approx(-13.54, abs=0.05)
    assert not found["served"]
    assert found["served_by"] is None


def test_what_is_said_would_bring_the_service(tmp_path):
    place = at(756_000.0)
    found = service_at(plain(tmp_path / "now"), place)
    words = " ".join(found["words"])
    more = float(re.search(r"if West gave ([\d.]+) dB more field", words).group(1))
    less = float(re.search(r"East \(B, channel 40, co-channel\) came down by ([\d.]+) dB", words).group(1))
    assert found["candidates"][0]["nuisances"][0]["lower_by_db"] == pytest.approx(less - 0.05, abs=0.051)
    for up_db, served in ((more + 0.005, True), (more - 0.11, False)):
        changed = plain(tmp_path / f"up{served}", west_w=10_000.0 * 10 ** (up_db / 10))
        assert service_at(changed, place)["served"] is served
    for down_db, served in ((less + 0.005, True), (less - 0.11, False)):
        changed = plain(tmp_path / f"down{served}", east_w=10_000.0 / 10 ** (down_db / 10))
        assert service_at(changed, place)["served"] is served


def test_a_served_place_says_by_whom(tmp_path):
    found = service_at(plain(tmp_path), at(742_000.0))
    assert (found["served"], found["served_by"]) == (True, "West")
    assert found["words"][0].startswith("A: served by West on channel 40, ")
    assert found["candidates"][0]["nuisances"][0]["lower_by_db"] == 0.0
    assert found["share"] > 0.5


def test_noise_alone_is_told_from_interference(tmp_path):
    head = HEAD + "\n[interference]\ncounted = false\n"
    found = service_at(plain(tmp_path, west_w=0.01, head=head), at(756_000.0))
    assert "limited by noise" in found["words"][0]
    assert found["candidates"][0]["nuisances"] == []
    assert found["share"] is None


def test_nuisances_stand_in_order_and_the_one_that_decides_is_named(tmp_path):
    # East, 1.5 km away, keeps the service off; North, on the next channel with 10 MW, would not.
    found = service_at(plain(tmp_path, third_w=10_000_000.0), at(760_500.0))
    east, north = found["candidates"][0]["nuisances"]
    assert (east["station"], north["station"]) == ("East", "North")
    assert east["nuisance_dbuv_m"] > north["nuisance_dbuv_m"]
    assert east["margin_without_db"] > 0.0 > north["margin_without_db"]
    assert east["lower_by_db"] > 0.0
    assert north["lower_by_db"] is None
    assert [word for word in found["words"] if "came down" in word] == [
        f"Or if East (B, channel 40, co-channel) came down by {math.ceil(10 * east['lower_by_db']) / 10:.1f} "
        "dB, all else as it is."
    ]


@pytest.mark.parametrize(
    ("system", "step", "relation", "protection_db"),
    # Analogue of system I: ITU-R BT.655-7, continuous; DVB: BT.1368-13 Annex 2 and IEC 62216; ATSC: FCC OET
    # Bulletin 69; NTSC: 47 CFR 74.705(d). All from memory but ATSC on its own channel.
    [
        ("PAL I", 0, "co-channel", 52.0),
        ("PAL I", -1, "lower adjacent", 4.0),
        ("PAL I", 1, "upper adjacent", -2.0),
        ("PAL I", 9, "image", 9.0),
        ("PAL I", 10, "image", 9.0),
        ("PAL B/G", 9, "image", 9.0),
        ("DVB-T2", 0, "co-channel", 20.0),
        ("DVB-T2", 1, "upper adjacent", -30.0),
        ("DVB-T2", 9, "image", -31.0),
        ("ATSC", 0, "co-channel", 15.0),
        ("ATSC", -1, "lower adjacent", -28.0),
        ("NTSC M", 14, "image of sound", -23.0),
        ("NTSC M", 15, "image of vision", -6.0),
        ("PAL I", 8, None, None),
        ("PAL B/G", 10, None, None),
        ("DVB-T2", 2, None, None),
    ],
)
def test_each_relation_of_channels_takes_its_ratio(tmp_path, system, step, relation, protection_db):
    head = POWER_SUM.replace("[television]", f'[television]\nsystem = "{system}"')
    west = station_text("West", *WEST, [("A", 30, 1e4)])
    east = station_text("East", *EAST, [("B", 30 + step, 1e4)])
    study = write_plain_study(tmp_path, west, east, head=head, people=False)
    found = service_at(study, at(756_000.0))["candidates"][0]["nuisances"]
    assert [(each["relation"], each["protection_db"]) for each in found] == (
        [] if relation is None else [(relation, protection_db)]
    )
    assert all(each["reference"] for each in found)


def test_where_none_alone_decides_that_is_said(tmp_path):
    # North on the same channel, 10.1 km away: 20 + 20 log(22.5/10.1) - 16 = 11 dB over the wanted field.
    found = service_at(plain(tmp_path, third_w=10_000.0, third_channel=40), at(760_500.0))
    nuisances = found["candidates"][0]["nuisances"]
    assert [each["lower_by_db"] for each in nuisances] == [None, None]
    assert max(each["margin_without_db"] for each in nuisances) == pytest.approx(-11.0, abs=0.3)
    assert found["words"][-1].startswith("No interferer alone decides: even without the strongest the margin")


def test_what_is_from_memory_is_said_below(tmp_path):
    head = POWER_SUM.replace("[television]", '[television]\nsystem = "PAL I"')
    words = " ".join(
        run("explain", plain(tmp_path, head=head), "--at", at(756_000.0), "--full").stdout.split()
    )
    assert "television: PAL I; served in 50 % of locations" in words
    assert "from memory, unverified: median field of the bands" in words
    assert "without offset; from memory, unverified: co-channel ratio" in words


def test_the_printed_page(tmp_path):
    result = run("explain", plain(tmp_path), "--at", at(756_000.0))
    assert result.exit_code == 0, result.output
    words = " ".join(result.stdout.split())
    assert "A: not served. Best is West on channel 40" in words
    assert "limited by interference (against noise alone it has" in words
    assert "Nuisance fields against West, the strongest first" in words
    assert "The stations of this study are invented" in words


def test_a_place_may_be_copied_with_a_true_minus(tmp_path):
    study = plain(tmp_path)
    words = complaint("explain", study, "--at", "36.5,−84.25")
    assert words.startswith("the place is longitude 36.50000, latitude -84.25000")


def test_a_place_that_is_none(tmp_path):
    study = plain(tmp_path)
    assert "is no LON,LAT in degrees" in complaint("explain", study, "--at", "here")
    assert "outside the globe" in complaint("explain", study, "--at", "36.5,-184.2")
    words = complaint("explain", study, "--at", "36.5,-84.25")
    assert words.startswith("the place is longitude 36.50000, latitude -84.25000; allowed: on the study grid")
    assert re.search(
        r"grid, longitude -84\.\d+ to -83\.\d+, latitude 36\.\d+ to 36\.\d+; the longitude", words
    )
