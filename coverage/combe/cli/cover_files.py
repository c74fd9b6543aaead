"""Writes what a coverage leaves behind: a raster for each service of each station, and the map."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from combe.cli.map_content import map_content
from combe.cli.output import file_stems
from combe.errors import TerrainGapError
from combe.publishing.files import write_text_atomically
from combe.publishing.geotiff import write_field_raster
from combe.publishing.map_page import render_map
from combe.study.run_cover import CoverReport, ServiceCoverage
from combe.study.run_feed import FeedReport, feed_report


@dataclass(frozen=True)
class CoverFiles:
    """The map page, and the raster of each (station, service)."""

    map_page: Path
    rasters: dict[tuple[str, str], Path]


def write_cover_files(report: CoverReport, folder: Path, *, street_tiles: bool = False) -> CoverFiles:
    """Write all files of a coverage into a folder, each whole or not at all.

    ``street_tiles`` gives the map a switch for street tiles from the network, off at first.

    Raises
    ------
    OutputError
        A file that cannot be written.
    """
    services = [service for covered in report.stations for service in covered.services]
    names = [(service.field_map.station, service.field_map.service) for service in services]
    paths = [folder / f"field_{stem}.tif" for stem in file_stems(names)]
    for service, path in zip(services, paths, strict=True):
        _write_raster(report, service, path)
    page = folder / "map.html"
    content = replace(map_content(report, _feeds(report)), street_tiles=street_tiles)
    write_text_atomically(page, render_map(content))
    return CoverFiles(page, dict(zip(names, paths, strict=True)))


def _write_raster(report: CoverReport, service: ServiceCoverage, path: Path) -> None:
    field_map = service.field_map
    tags = {
        **report.provenance,
        "station": field_map.station,
        "service": field_map.service,
        "channel": str(field_map.channel),
        "frequency_mhz": f"{field_map.frequency_mhz:g}",
        "receive_height_m": f"{field_map.receive_height_m:g}",
        "minimum_field_dbuv_m": f"{service.minimum_field_dbuv_m:.2f}",
    }
    title = f"field strength of {field_map.service} from {field_map.station}"
    write_field_raster(path, field_map.field_dbuv_m, field_map.grid, tags=tags, description=title)


def _feeds(report: CoverReport) -> FeedReport | None:
    """Return the feeds to draw, or None where there is no relay or no ground along a feed's path."""
    if not any(covered.station.parent for covered in report.stations):
        return None
    try:
        return feed_report(report.study)
    except TerrainGapError:
        return None
