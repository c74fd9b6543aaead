"""Invented studies with a feed as it is built: three digital multiplexes, and four analogue services."""

from __future__ import annotations

from support_study import edited

_SITE = """\
[study]
title = "Feed of Upper Combe"
invented = true

[terrain]
tiles = ["terrain.tif"]
vertical_datum = "EGM96"

[grid]
cell_size_m = 300

{television}

[[stations]]
name = "Long Moor"
role = "parent"
longitude_deg = -84.098
latitude_deg = 36.620
aerial_height_m = 150.0
polarization = "horizontal"
{parent_services}

[[stations]]
name = "Upper Combe"
role = "relay"
longitude_deg = -84.2861
latitude_deg = 36.6108
aerial_height_m = 30.0
polarization = "vertical"
{relay_services}

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
isolation_db = 85.0
out_of_channel_db = 100.0

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
"""


def _services(rows: list[tuple[str, int, float]]) -> str:
    entries = ", ".join(
        f'{{ name = "{name}", channel = {channel}, erp_w = {erp} }}' for name, channel, erp in rows
    )
    return f"services = [{entries}]"


def _study(names: list[str], channels: list[int], own: list[int], erp_w: float, **places: str) -> str:
    parent = [(name, channel, erp_w) for name, channel in zip(names, channels, strict=True)]
    relay = [(name, channel, 50.0) for name, channel in zip(names, own, strict=True)]
    return _SITE.format(
        parent_services=_services(parent),
        relay_services=_services(relay),
        powers=", ".join(["8.3"] * len(names)),
        **places,
    )


DIGITAL = _study(
    ["Mux A", "Mux B", "Mux C"],
    [22, 25, 28],
    [41, 44, 47],
    1000.0,
    television='[television]\nsystem = "DVB-T2"',
    cn="",
    common="true",
)
ANALOGUE = _study(
    ["One", "Two", "Three", "Four"],
    [22, 25, 28, 32],
    [41, 44, 47, 51],
    1000.0,
    television='[television]\nsystem = "PAL I"',
    cn="required_cn_db = 44.0\n",
    common="false",
)
FEEDS = {"digital": DIGITAL, "analogue": ANALOGUE}

FAR_STATION = """
[[stations]]
name = "Far Top"
role = "parent"
longitude_deg = -84.36
latitude_deg = 36.60
aerial_height_m = 100.0
polarization = "vertical"
services = [{{ name = "Other", channel = {channel}, erp_w = {erp_w} }}]
"""


SECOND = """
[[stations]]
name = "Lower Combe"
role = "relay"
longitude_deg = -84.27
latitude_deg = 36.58
aerial_height_m = 15.0
polarization = "horizontal"
services = [{ name = "Mux A", channel = 51, erp_w = 5.0 }]
feed = { from = "Upper Combe", aerial_height_m = 12.0, aerial_gain_dbi = 12.0, feeder_loss_db = 1.0, \
noise_figure_db = 6.0, required_margin_db = 6.0 }
"""
"""A relay that Upper Combe feeds."""


def untold(text: str) -> str:
    """Return a study without what it says of the relay's own output, its isolation with it."""
    start, end = text.index("[stations.feed.own_output]"), text.index("[stations.output]")
    return text[:start] + text[end:]


def spoilt(kind: str, cause: str) -> str:
    """Return the study of a kind of service with a change that fails it for one cause."""
    text = FEEDS[kind]
    if cause == "co-channel":
        return text + FAR_STATION.format(channel=22, erp_w=20000.0)
    changes = {
        "noise": [
            ("noise_figure_db = 6.0", "noise_figure_db = 30.0"),
            ('[[stations.feed.stages]]\nkind = "channel', f'{_PAD}[[stations.feed.stages]]\nkind = "channel'),
        ],
        "overload": [
            ('[[stations.feed.stages]]\nkind = "feeder"', _AMPLIFIER),
            ("highest_dbm = -26.0", "highest_dbm = 0.0"),
        ],
        "AGC floor": [("lowest_dbm = -62.0", "lowest_dbm = -40.0")],
        "own output": [("isolation_db = 85.0", "isolation_db = 40.0"), ("channel = 41", "channel = 23")],
    }
    return edited(*changes[cause], text=text)


_PAD = '[[stations.feed.stages]]\nkind = "attenuator"\nloss_db = 10.0\n\n'

_AMPLIFIER = """\
[[stations.feed.stages]]
kind = "masthead amplifier"
gain_db = 20.0
noise_figure_db = 2.0
output_limit_dbm = -15.0

[[stations.feed.stages]]
kind = "feeder\""""
