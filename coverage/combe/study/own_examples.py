"""Examples of stations near a place, as comments of a new study that are valid once taken out of comment."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from combe.geodesy import turned
from combe.standards import CHANNEL_RASTERS, Country, SystemFamily, channel_edges_mhz

_UHF_MHZ: Final = (470.0, 700.0)
_SITE: Final = """\
# Where else could a relay stand? It is asked of the people of the study, so there have to be some.
"""


class _Example(NamedTuple):
    """What the examples of stations are made with."""

    parent: tuple[float, float]
    relay: tuple[float, float]
    channels: tuple[int, int]
    polarizations: tuple[str, str]
    needs_cn: bool


def examples_near(
    place: tuple[float, float],
    area_deg: list[float],
    family: SystemFamily,
    raster: str,
    row: Country | None,
) -> str:
    """Return a parent, a relay and the question of a site, which needs people, each line a comment.

    The relay stands on the place (longitude, latitude), the parent half way from it to the western edge.
    """
    west = float(turned(place[0] - (area_deg[2] - area_deg[0]) / 4.0))
    parents, relays = (row.parents, row.relays) if row else (None, None)
    example = _Example(
        parent=(round(west, 4), round(place[1], 4)),
        relay=(round(place[0], 4), round(place[1], 4)),
        channels=_two_channels(raster, row),
        polarizations=(parents or "horizontal", relays or "vertical"),
        needs_cn=family.analogue_name is not None,
    )
    stations, site = (
        "\n".join(f"#{line}" for line in lines) for lines in (_station_lines(example), _site_lines(example))
    )
    return f"{stations}\n\n{_SITE}{site}\n"


def _two_channels(raster: str, row: Country | None) -> tuple[int, int]:
    """Return two channels of the band, far enough apart to be combined."""
    low, high = row.uhf_channels if row and row.uhf_channels else (0, 10_000)
    in_uhf = [
        number
        for number in CHANNEL_RASTERS[raster].channels
        if low <= number <= high and _UHF_MHZ[0] <= channel_edges_mhz(raster, number)[0] < _UHF_MHZ[1]
    ] or list(CHANNEL_RASTERS[raster].channels)
    return in_uhf[len(in_uhf) // 4], in_uhf[3 * len(in_uhf) // 4]


def _station_lines(of: _Example) -> Iterator[str]:
    parents, relays = of.polarizations
    yield from _station("Example parent", "parent", of.parent, 60.0, parents)
    yield from ("", *_service("stations.services", of.channels[0], 1000.0), "")
    yield from _station("Example relay", "relay", of.relay, 20.0, relays)
    yield from ("", *_service("stations.services", of.channels[1], 10.0), "")
    yield from ("[stations.feed]", 'from = "Example parent"', "aerial_height_m = 12.0")
    yield from ("aerial_gain_dbi = 14.0", "feeder_loss_db = 2.0", "noise_figure_db = 6.0")
    yield from ("required_margin_db = 10.0", *_required_cn(of))


def _site_lines(of: _Example) -> Iterator[str]:
    yield from ("[siting]", "aerial_height_m = 20.0", f'polarization = "{of.polarizations[1]}"', "")
    yield from _service("siting.services", of.channels[1], 10.0)
    if of.needs_cn:
        yield from ("", "[siting.feed]", *_required_cn(of))


def _required_cn(of: _Example) -> list[str]:
    return (
        ["required_cn_db = 40.0  # analogue: the C/N that the relay's picture needs"] if of.needs_cn else []
    )


def _station(
    name: str, role: str, place: tuple[float, float], height_m: float, polarization: str
) -> list[str]:
    return [
        "[[stations]]",
        f'name = "{name}"',
        f'role = "{role}"',
        f"longitude_deg = {place[0]}",
        f"latitude_deg = {place[1]}",
        f"aerial_height_m = {height_m}",
        f'polarization = "{polarization}"',
    ]


def _service(heading: str, channel: int, erp_w: float) -> list[str]:
    return [f"[[{heading}]]", 'name = "Mux 1"', f"channel = {channel}", f"erp_w = {erp_w}"]
