"""Writes what a coverage leaves behind: rasters for each service of each station, and the map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from combe.answers.cover import CoverReport, ServiceCoverage
from combe.answers.feed import FeedReport, feed_report
from combe.answers.feed_standing import FeedStanding, feed_standings
from combe.cli.file_names import file_stems
from combe.cli.map_content import map_content
from combe.files import clear_remains
from combe.publishing.files import write_text_atomically
from combe.publishing.geotiff import write_field_raster, write_share_raster
from combe.publishing.map_page import render_map


@dataclass(frozen=True)
class CoverFiles:
    """The map page, and the rasters of each (station, service): field, and shares of places if asked.

    ``share_rasters`` count noise alone, ``judged_rasters`` the interference of all other stations too, where
    any may disturb the service.
    ``left_out`` says which fields the page does not hold, ``feeds`` how the feeds of the relays stand.
    """

    map_page: Path
    rasters: Mapping[tuple[str, str], Path]
    share_rasters: Mapping[tuple[str, str], Path] = field(default_factory=dict)
    judged_rasters: Mapping[tuple[str, str], Path] = field(default_factory=dict)
    left_out: str = ""
    feeds: tuple[FeedStanding, ...] = ()

    @property
    def written(self) -> tuple[Path, ...]:
        """All rasters, in order."""
        return (*self.rasters.values(), *self.share_rasters.values(), *self.judged_rasters.values())


def write_cover_files(
    report: CoverReport, folder: Path, *, street_tiles: bool = False, shares: bool = False
) -> CoverFiles:
    """Write all files of a coverage into a folder, each whole or not at all.

    ``street_tiles`` gives the map a switch for street tiles from the network, off at first. ``shares`` adds
    the shares of places served: rasters against noise alone and with interference, and the former as layers
    of the map.

    Raises
    ------
    OutputError
        A file that cannot be written.
    """
    clear_remains(folder)
    services = [service for covered in report.stations for service in covered.services]
    names = [(service.station, service.service) for service in services]
    fields, places, judged = {}, {}, {}
    for name, stem, service in zip(names, file_stems(names), services, strict=True):
        fields[name] = _write_field(report, service, folder / f"field_{stem}.tif")
        if shares:
            places[name] = _write_share(report, service, folder / f"share_{stem}.tif")
        if shares and service.disturbed:
            judged[name] = _write_judged(report, service, folder / f"share_with_interference_{stem}.tif")
    page = folder / "map.html"
    feeds = _feeds(report)
    content = replace(map_content(report, feeds, shares=shares), street_tiles=street_tiles)
    write_text_atomically(page, render_map(content))
    return CoverFiles(page, fields, places, judged, content.left_out, feed_standings(feeds) if feeds else ())


def _write_field(report: CoverReport, service: ServiceCoverage, path: Path) -> Path:
    field_map = service.field_map
    title = f"field strength of {field_map.service} from {field_map.station}"
    tags = _tags(report, service)
    write_field_raster(path, field_map.field_dbuv_m, field_map.grid, tags=tags, description=title)
    return path


def _write_share(report: CoverReport, service: ServiceCoverage, path: Path) -> Path:
    need = service.minimum
    title = f"share of places served of {service.service} from {service.station}"
    tags = {
        **_tags(report, service),
        "share": "places of a cell where the field reaches what the receiver needs, against noise alone",
        "required_field_dbuv_m": f"{need.at_a_place_dbuv_m:.2f}",
        "location_deviation_db": f"{need.location_deviation_db:g}",
    }
    write_share_raster(path, service.location_probability, report.grid, tags=tags, description=title)
    return path


def _write_judged(report: CoverReport, service: ServiceCoverage, path: Path) -> Path:
    title = f"share of places served of {service.service} from {service.station}, with interference"
    tags = {
        **_tags(report, service),
        "share": "places of a cell that are served against noise and the interference of all other stations",
    }
    share = service.location_probability_with_interference
    write_share_raster(path, share, report.grid, tags=tags, description=title)
    return path


def _tags(report: CoverReport, service: ServiceCoverage) -> dict[str, str]:
    """Return what made the rasters of a service."""
    return {
        **report.provenance,
        "station": service.station,
        "service": service.service,
        "channel": str(service.channel),
        "frequency_mhz": f"{service.frequency_mhz:g}",
        "receive_height_m": f"{report.project.receive_height_m:g}",
        "minimum_field_dbuv_m": f"{service.minimum_field_dbuv_m:.2f}",
    }


def _feeds(report: CoverReport) -> FeedReport | None:
    """Return the feeds to draw and to judge, or None where there is no relay."""
    if not any(covered.station.parent for covered in report.stations):
        return None
    return feed_report(report.project, over_gaps=True)
