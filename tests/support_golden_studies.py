"""The invented studies whose every answer ``goldens.py`` freezes, with the files that they name.

Nothing here comes from the package or from another file of the tests, so that two checkouts are asked exactly
the same. The ground is the sample's; stations, services, people, cover and sea are invented.
"""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from support_golden_files import (
    VILLAGES,
    cover_codes,
    write_half_pattern,
    write_people,
    write_polygons,
    write_raster,
    write_rows,
)

TERRAIN = Path(__file__).resolve().parents[1] / "terrain_samples" / "ridges_srtm3.tif"
ABOUT = """\
[study]
title = "{title}"
note = "Invented for comparing one version of Combe with another."
invented = true
model = "p1812"

[terrain]
tiles = ["terrain.tif"]
vertical_datum = "EGM96"
surface_model = {surface}
credit = "SRTM, NASA and USGS, public domain"

[grid]
cell_size_m = {cell}

[air]
delta_n = {delta_n}
"""

STATION = """
[[stations]]
name = "{name}"
role = "{role}"
longitude_deg = {lon}
latitude_deg = {lat}
aerial_height_m = {height}
polarization = "{polarization}"
services = [
{services}
]
"""

AS_BUILT = """
[stations.feed]
from = "Long Moor"
required_margin_db = 6.0
{cn}
[stations.feed.aerial]
height_m = 15.0
gain_dbi = 10.0
count = 2
stacking_loss_db = 0.3

[[stations.feed.stages]]
kind = "feeder"
name = "jumper"
size = "1/2 in foam"
length_m = 20.0

[[stations.feed.stages]]
kind = "passive splitter"
ways = 4
excess_loss_db = 0.5

[[stations.feed.stages]]
kind = "channel filter"
loss_db = 1.5
passband = "channel"
rejection_db = 25.0

[[stations.feed.stages]]
kind = "receiver"
noise_figure_db = 6.0
input_limit_dbm = -15.0
image_rejection_db = 60.0

[stations.feed.window]
lowest_dbm = -62.0
highest_dbm = -26.0
mute_dbm = -74.0

[stations.feed.own_output]
isolation_db = {isolation}
out_of_channel_db = 100.0
{loop}
[stations.output]
power_w = [{powers}]
aerial_gain_dbd = 10.0
oip3_dbm = 70.0
intermodulation_limit_db = -54.0
common_amplifier = {common}

[[stations.output.stages]]
name = "combiner"
loss_db = 1.0

[[stations.output.stages]]
name = "feeder"
size = "7/8 in foam"
length_m = 40.0

[stations.array]
kind = "panels"
count = 4
spacing_wavelengths = 0.75
boresight_deg = 270.0
tilt_deg = 1.0
"""

FLAT_FEED = """
[stations.feed]
from = "Upper Combe"
aerial_height_m = 12.0
aerial_gain_dbi = 12.0
feeder_loss_db = 1.0
noise_figure_db = 6.0
required_margin_db = 6.0
"""

SURVEY_HEAD = ("longitude_deg", "latitude_deg", "station", "service", "field_dbuv_m", "height_m")
READING_HEAD = (
    *("date", "station", "service", "test_point", "quantity", "value", "unit"),
    *("meter", "meter_calibrated_on", "who", "weather", "note"),
)


def write_studies(folder: Path) -> list[Path]:
    """Write the studies of other kinds, each in a folder of its own, and return their files."""
    return [write(folder / write.__name__) for write in (analogue, on_channel, network)]


def analogue(folder: Path) -> Path:
    """Write two analogue parents with carrier offsets, a chain of relays, people at points and districts."""
    head = ABOUT.format(title="Two parents and a chain", surface="false", cell=300.0, delta_n=40.0)
    head += '\n[television]\nsystem = "PAL I"\n\n[interference]\nmethod = "power sum"\n'
    head += '\n[people]\npoints = "people.csv"\ndistricts = "districts.geojson"\n'
    head += '\n[survey]\npoints = "points.csv"\napply_correction = true\n'
    head += _siting(
        [("One", 52, 50.0), ("Two", 55, 50.0)],
        "cell_size_m = 600.0\nsites = 2\nshare_percent = 60.0\nrelays_feed_relays = true\nkeep_power = true\n"
        'patterns = ["omni", "half.csv"]\nazimuth_step_deg = 90.0\ncost_per_site = 1000.0\nlist_length = 5\n'
        "limits = [{ from_deg = 80.0, to_deg = 120.0, erp_w = 20.0 }]\n",
        'from = ["Long Moor"]\nrequired_cn_db = 36.0\nrequired_margin_db = 3.0\n',
    )
    names = ("One", "Two", "Three", "Four")
    moor = [
        f'name = "{n}", channel = {c}, erp_w = 1000.0' for n, c in zip(names, (22, 25, 28, 32), strict=True)
    ]
    top = [
        'name = "One", channel = 22, erp_w = 5000.0, offset_twelfths = 8',
        'name = "Two", channel = 35, erp_w = 5000.0, offset_twelfths = 8, precision_offset = true',
    ]
    upper = [
        f'name = "{n}", channel = {c}, erp_w = 50.0' for n, c in zip(names, (41, 44, 47, 51), strict=True)
    ]
    built = AS_BUILT.format(
        cn="required_cn_db = 44.0\n", isolation=85.0, loop="", powers="8.3, 8.3, 8.3, 8.3", common="false"
    )
    text = head + _station("Long Moor", "parent", (-84.098, 36.620), 150.0, "horizontal", moor)
    text += _station("Far Top", "parent", (-84.360, 36.600), 100.0, "vertical", top)
    text += _station("Upper Combe", "relay", (-84.2861, 36.6108), 30.0, "vertical", upper) + built
    text += _station(
        "Lower Combe",
        "relay",
        (-84.27, 36.58),
        15.0,
        "horizontal",
        ['name = "One", channel = 58, erp_w = 5.0'],
    )
    path = _study(folder, text + FLAT_FEED + "required_cn_db = 40.0\n")
    write_rows(folder / "people.csv", ("longitude_deg", "latitude_deg", "people", "name"), VILLAGES)
    write_polygons(
        folder / "districts.geojson",
        {"West": (-84.40, 36.46, -84.25, 36.72), "East": (-84.25, 36.46, -84.1, 36.72)},
    )
    write_half_pattern(folder / "half.csv")
    places = [(-84.30 + 0.012 * (k % 4), 36.57 + 0.012 * (k // 4)) for k in range(12)]
    survey = [(*p, "Upper Combe", "One", 71.5 + 2.5 * (k % 5), 10.0) for k, p in enumerate(places)]
    write_rows(folder / "points.csv", SURVEY_HEAD, survey)
    drift = [
        _reading(f"{2019 + k // 2}-0{1 + 5 * (k % 2)}-15", "feeder", "level", -33.0 - 0.4 * k, "dBm")
        for k in range(9)
    ]
    late = [_reading("2024-05-01", "output coupler", "output power", 6.1, "W")]
    write_rows(
        folder / "readings.csv",
        READING_HEAD,
        drift + late,
    )
    return path


def on_channel(folder: Path) -> Path:
    """Write a relay that keeps a channel, under ground cover, beside an invented sea."""
    head = ABOUT.format(title="Kept channel by a shore", surface="false", cell=300.0, delta_n=60.0)
    head += '\n[clutter]\nraster = "cover.tif"\nlegend = "worldcover"\nheights = "heights.csv"\n'
    head += '\n[zones]\nraster = "zones.tif"\n'
    head += '\n[television]\nsystem = "DVB-T2"\nmodulation = "64-QAM"\ncode_rate = "3/5"\n'
    head += "location_percent = 90.0\n"
    head += '\n[interference]\nmethod = "k-lnm"\nk = 0.7\n\n[people]\nraster = "people.tif"\n'
    head += _siting(
        [("Mux A", 22, 20.0), ("Mux B", 44, 20.0)],
        'cell_size_m = 600.0\nsearch = "best first"\nlist_length = 4\nsteepest_deg = 25.0\n'
        'keep_off_m = 500.0\noutside = "protected.geojson"\naccess = "roads.geojson"\n'
        "access_within_m = 4000.0\ncost_per_site = 50.0\ncost_per_access_km = 10.0\n",
        "",
    )
    names = ("Mux A", "Mux B", "Mux C")
    moor = [f'name = "{n}", channel = {c}, erp_w = 1000.0' for n, c in zip(names, (22, 25, 28), strict=True)]
    upper = [f'name = "{n}", channel = {c}, erp_w = 50.0' for n, c in zip(names, (22, 44, 47), strict=True)]
    loop = "\n[stations.feed.on_channel]\ngain_db = 80.0\ncanceller_db = 20.0\nrequired_margin_db = 8.0\n"
    built = AS_BUILT.format(cn="", isolation=95.0, loop=loop, powers="8.3, 8.3, 8.3", common="true")
    text = head + _station("Long Moor", "parent", (-84.098, 36.620), 150.0, "horizontal", moor)
    text += _station("Upper Combe", "relay", (-84.2861, 36.6108), 30.0, "vertical", upper) + built
    path = _study(folder, text)
    write_people(folder / "people.tif")
    write_raster(folder / "cover.tif", cover_codes(0.001), 0.001, nodata=0)
    (folder / "heights.csv").write_text("class,height_m\n10,18.0\n", encoding="utf-8")
    zones = np.full((320, 370), 4, dtype=np.uint8)
    zones[:, 225:] = 3
    zones[:120, 250:] = 1
    write_raster(folder / "zones.tif", zones, 0.001, nodata=0)
    write_polygons(folder / "protected.geojson", {"Moss": (-84.30, 36.60, -84.28, 36.62)})
    write_polygons(folder / "roads.geojson", {"Ridge road": (-84.40, 36.60, -84.15, 36.601)})
    rows = [
        _reading("2025-05-01", "feeder", "level", -41.0, "dBm", service="Mux A"),
        _reading("2025-05-01", "receiver", "MER", 31.0, "dB", service="Mux B"),
        _reading("2025-05-01", "output coupler", "output power", 8.1, "W", service="Mux C"),
        _reading("2025-11-01", "feeder", "level", -49.5, "dBm", service="Mux A"),
    ]
    write_rows(folder / "readings.csv", READING_HEAD, rows)
    return path


def network(folder: Path) -> Path:
    """Write stations in a table, some on one another's channels, so that relays harm and are harmed."""
    head = ABOUT.format(title="Stations from a table", surface="true", cell=300.0, delta_n=45.0)
    head += '\n[television]\nsystem = "ATSC"\n\n[people]\nraster = "people.tif"\n'
    head += '\n[network]\nstations = "stations.csv"\n'
    head += _siting(
        [("Six", 30, 20.0)],
        'cell_size_m = 600.0\nbefore = "all stations"\nlist_length = 4\nsites = 3\nabove_valley_m = 80.0\n',
        "",
    )
    path = _study(folder, head)
    write_people(folder / "people.tif")
    head_row = (
        *("name", "role", "longitude_deg", "latitude_deg", "aerial_height_m", "polarization", "service"),
        *("channel", "erp_w", "feed_from", "feed_aerial_height_m", "feed_aerial_gain_dbi"),
        *("feed_feeder_loss_db", "feed_splitter_loss_db", "feed_noise_figure_db", "feed_required_margin_db"),
    )
    fed = ("Long Moor", 12, 14, 2, 3.5, 6, 10)
    none, rest = ("",) * 7, ("",) * 5
    rows = [
        ("Long Moor", "parent", -84.098, 36.620, 150, "horizontal", "Six", 22, 60, *none),
        ("Long Moor", *rest, "Nine", 25, 60, *none),
        ("Cold Edge", "parent", -84.30, 36.47, 80, "horizontal", "Six", 30, 100, *none),
        ("Upper Combe", "relay", -84.2861, 36.6108, 30, "vertical", "Six", 41, 100, *fed),
        ("Upper Combe", *rest, "Nine", 44, 100, *none),
        ("Ridge End", "relay", -84.2600, 36.6620, 20, "horizontal", "Six", 22, 10, *fed),
        ("Southerby", "relay", -84.2900, 36.5350, 25, "horizontal", "Six", 41, 50, *fed),
        ("Southerby", *rest, "Nine", 26, 50, *none),
        ("Waterfoot", "relay", -84.3850, 36.6150, 20, "vertical", "Six", 42, 20, *("Upper Combe", *fed[1:])),
        ("Brackenside", "relay", -84.3700, 36.5700, 20, "horizontal", "Nine", 44, 20, *fed),
        ("Low Wath", "relay", -84.2300, 36.4950, 20, "vertical", "Six", 30, 20, *fed),
    ]
    write_rows(folder / "stations.csv", head_row, rows)
    readings = [_reading("2025-03-01", "receiver", "level", -60.0, "dBm", service="Six")]
    write_rows(folder / "readings.csv", READING_HEAD, readings)
    return path


def write_demo_readings(folder: Path) -> None:
    """Write readings for the relay of the demo's study beside it."""
    rows = [
        _reading(
            f"{2020 + k}-06-01",
            "feeder",
            "level",
            -28.8 - 0.3 * k,
            "dBm",
            station="Larkcombe",
            service="Mux A",
        )
        for k in range(6)
    ]
    rows.append(
        _reading("2025-06-01", "output coupler", "ERP", 80.0, "W", station="Larkcombe", service="Mux B")
    )
    write_rows(folder / "readings.csv", READING_HEAD, rows)


def _study(folder: Path, text: str) -> Path:
    folder.mkdir(parents=True)
    shutil.copyfile(TERRAIN, folder / "terrain.tif")
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder / "study.toml"


def _siting(services: Sequence[tuple[str, int, float]], keys: str, feed: str) -> str:
    made = "".join(
        f'\n[[siting.services]]\nname = "{name}"\nchannel = {channel}\nerp_w = {erp_w}\n'
        for name, channel, erp_w in services
    )
    return f"\n[siting]\n{keys}{made}\n[siting.feed]\n{feed}"


def _station(
    name: str, role: str, place: tuple[float, float], height: float, polarization: str, services: list[str]
) -> str:
    return STATION.format(
        name=name, role=role, lon=place[0], lat=place[1], height=height, polarization=polarization,
        services="\n".join(f"  {{ {each} }}," for each in services),
    )  # fmt: skip


def _reading(
    date: str,
    point: str,
    quantity: str,
    value: float,
    unit: str,
    *,
    station: str = "Upper Combe",
    service: str = "One",
) -> tuple[object, ...]:
    return date, station, service, point, quantity, round(value, 3), unit, "Meter 7", "", "A. Hand", "dry", ""
