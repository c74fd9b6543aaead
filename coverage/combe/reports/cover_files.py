"""Writes what a coverage leaves behind: rasters for each service of each station, and the map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport, ServiceCoverage
from combe.answers.network_effect import NetworkEffect
from combe.files import clear_remains, write_text_atomically
from combe.publishing.geotiff import write_field_raster, write_level_raster, write_share_raster
from combe.publishing.map_page import render_map
from combe.publishing.page_about import way_to
from combe.publishing.text import file_stems
from combe.publishing.written_before import WrittenBefore
from combe.reports.cover_map import map_content
from combe.terrain import StudyGrid
from combe.words import tell


@dataclass(frozen=True)
class CoverFiles:
    """The map page, and the rasters of each (station, service): field, and shares of places if asked.

    ``share_rasters`` count noise alone, ``judged_rasters`` the interference of all other stations too, where
    any may disturb the service. ``network_rasters`` are of each service of a network on one frequency: gain,
    delay spread. ``left_out`` says which fields the page does not hold.
    """

    map_page: Path
    rasters: Mapping[tuple[str, str], Path]
    share_rasters: Mapping[tuple[str, str], Path] = field(default_factory=dict)
    judged_rasters: Mapping[tuple[str, str], Path] = field(default_factory=dict)
    network_rasters: Mapping[tuple[str, str], tuple[Path, Path]] = field(default_factory=dict)
    left_out: str = ""

    @property
    def written(self) -> tuple[Path, ...]:
        """All rasters, in order."""
        networks = (path for pair in self.network_rasters.values() for path in pair)
        return (
            *self.rasters.values(),
            *self.share_rasters.values(),
            *self.judged_rasters.values(),
            *networks,
        )


def write_cover_files(
    report: CoverReport,
    folder: Path,
    *,
    street_tiles: bool = False,
    shares: bool = False,
    index: Path | None = None,
) -> CoverFiles:
    """Write all files of a coverage into a folder, each whole or not at all.

    ``street_tiles`` gives the map a switch for street tiles from the network, off at first. ``shares`` adds
    the shares of places served: rasters against noise alone and with interference, and the former as layers
    of the map. The map leads back to ``index``.

    Raises
    ------
    OutputError
        A file that cannot be written.
    """
    clear_remains(folder)
    before = WrittenBefore(report.run.workspace.folder)
    services = [service for covered in report.stations for service in covered.services]
    names = [(service.station, service.service) for service in services]
    fields, places, judged = {}, {}, {}
    for name, stem, service in zip(names, file_stems(names), services, strict=True):
        fields[name] = folder / f"field_{stem}.tif"
        _write(before, fields[name], _field(report, service))
        if shares:
            places[name] = folder / f"share_{stem}.tif"
            _write(before, places[name], _share(report, service))
        if shares and service.disturbed:
            judged[name] = folder / f"share_with_interference_{stem}.tif"
            _write(before, judged[name], _judged(report, service))
    networks = _network_rasters(report, folder, before)
    page = folder / "map.html"
    content = map_content(report, shares=shares)
    content = replace(content, street_tiles=street_tiles, index=way_to(index, page))
    before.unless_there(page, content, lambda: write_text_atomically(page, render_map(content)))
    before.keep()
    return CoverFiles(page, fields, places, judged, networks, content.left_out)


def _network_rasters(
    report: CoverReport, folder: Path, before: WrittenBefore
) -> dict[tuple[str, str], tuple[Path, Path]]:
    """Write the gain and the delay spread of each service of each network on one frequency."""
    effects = report.on_one_frequency
    written = {}
    for effect, stem in zip(effects, file_stems([_network_key(each) for each in effects]), strict=True):
        gain, spread = folder / f"network_gain_{stem}.tif", folder / f"delay_spread_{stem}.tif"
        about = {**report.provenance, "network": effect.network, "service": effect.service}
        for path, values, unit, what in (
            (gain, effect.gain_map_db, "dB", "gain of the network over its best station alone"),
            (spread, effect.spread_map_us, "us", "delay spread of the network"),
        ):
            _write(
                before,
                path,
                _Raster(
                    values,
                    report.grid,
                    about,
                    tell("{what}, {service}", what=what, service=effect.service),
                    False,
                    unit,
                ),
            )
        written[_network_key(effect)] = gain, spread
    return written


def _network_key(effect: NetworkEffect) -> tuple[str, str]:
    return effect.network, tell("{service} {channel}", service=effect.service, channel=effect.channel)


@dataclass(frozen=True)
class _Raster:
    """What is in a raster: a field, a share of places, or what ``unit`` says."""

    values: npt.NDArray[np.floating]
    grid: StudyGrid
    tags: dict[str, str]
    title: str
    is_share: bool
    unit: str = ""


def _write(before: WrittenBefore, path: Path, raster: _Raster) -> None:
    """Write a raster, unless it is there."""
    write = write_share_raster if raster.is_share else write_field_raster
    if raster.unit:
        write = partial(write_level_raster, unit=raster.unit)

    def pack() -> None:
        write(path, raster.values, raster.grid, tags=raster.tags, description=raster.title)

    before.unless_there(path, raster, pack)


def _field(report: CoverReport, service: ServiceCoverage) -> _Raster:
    field_map = service.field_map
    title = tell(
        "field strength of {service} from {station}", service=field_map.service, station=field_map.station
    )
    return _Raster(field_map.field_dbuv_m, field_map.grid, _tags(report, service), title, is_share=False)


def _share(report: CoverReport, service: ServiceCoverage) -> _Raster:
    need = service.minimum
    tags = {
        **_tags(report, service),
        "share": "places of a cell where the field reaches what the receiver needs, against noise alone",
        "required_field_dbuv_m": tell("{at_a_place_dbuv_m:.2f}", at_a_place_dbuv_m=need.at_a_place_dbuv_m),
        "location_deviation_db": tell(
            "{location_deviation_db:g}", location_deviation_db=need.location_deviation_db
        ),
    }
    title = tell(
        "share of places served of {service} from {station}", service=service.service, station=service.station
    )
    return _Raster(service.location_probability, report.grid, tags, title, is_share=True)


def _judged(report: CoverReport, service: ServiceCoverage) -> _Raster:
    tags = {
        **_tags(report, service),
        "share": "places of a cell that are served against noise and the interference of all other stations",
    }
    title = tell(
        "share of places served of {service} from {station}, with interference",
        service=service.service,
        station=service.station,
    )
    share = service.location_probability_with_interference
    return _Raster(share, report.grid, tags, title, is_share=True)


def _tags(report: CoverReport, service: ServiceCoverage) -> dict[str, str]:
    """Return what made the rasters of a service."""
    return {
        **report.provenance,
        "station": service.station,
        "service": service.service,
        "channel": str(service.channel),
        "frequency_mhz": tell("{frequency_mhz:g}", frequency_mhz=service.frequency_mhz),
        "receive_height_m": tell("{field_height_m:g}", field_height_m=report.project.field_height_m),
        "minimum_field_dbuv_m": tell(
            "{minimum_field_dbuv_m:.2f}", minimum_field_dbuv_m=service.minimum_field_dbuv_m
        ),
    }
