"""Turns the section on siting into what the search works with: relay, receiving side, rules, costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from combe.answers.receiving import sends_all
from combe.decibels import FloatArray
from combe.planning.siting import (
    FeedQuestion,
    RelayTemplate,
    Rule,
    SectorLimit,
    away_from,
    height_above_valley_m,
    pattern_options,
    slope_deg,
)
from combe.prediction import Area
from combe.project import Project, Siting, feed_environment
from combe.reception import FeedChain
from combe.standards import centre_frequency_mhz, same_signal
from combe.stations import Service, Station
from combe.terrain import StudyGrid, cells_inside, distance_to_layer_m, to_cells
from combe.words import tell


def siting_of(project: Project) -> Siting:
    """Return the question of a site; raises StudyError with an example where the project has none."""
    if project.siting is None:
        words = (
            "siting: is missing; say what the relay radiates: [siting], and for each service "
            '[[siting.services]] with name = "…", channel = …, erp_w = …'
        )
        raise project.error([words])
    return project.siting


def relay_template(project: Project, siting: Siting) -> RelayTemplate:
    """Return the relay that is tried on every hill.

    Raises
    ------
    ChannelError, PatternError, RangeError
        A channel that the raster has not, or a pattern that cannot be used.
    """
    services = tuple(
        Service(
            each.name,
            each.channel,
            centre_frequency_mhz(project.raster_of(each), each.channel),
            each.erp_w,
            television=each.television,
        )
        for each in siting.services
    )
    options = pattern_options(
        siting.patterns,
        services,
        azimuth_step_deg=siting.azimuth_step_deg,
        limits=[SectorLimit(each.from_deg, each.to_deg, each.erp_w) for each in siting.limits],
        keep_power=siting.keep_power,
    )
    return RelayTemplate(
        siting.aerial_height_m,
        siting.polarization,
        services,
        options,
        siting.vertical_pattern,
    )


def feed_question(project: Project, siting: Siting) -> FeedQuestion:
    """Return what the feed of the relay has to do.

    Raises
    ------
    StudyError
        A television system without a usual C/N, and none written.
    """
    feed, system = siting.feed, project.television_of(siting.services[0])
    needed_db = system.required_cn_db if feed.required_cn_db is None else feed.required_cn_db
    if needed_db is None:
        words = tell(
            "siting.feed.required_cn_db: is missing; {name} has no usual one, write it", name=system.name
        )
        raise project.error([words])
    chain = FeedChain(
        aerial_height_m=feed.aerial_height_m,
        aerial_gain_dbi=feed.aerial_gain_dbi,
        feeder_loss_db=feed.feeder_loss_db,
        splitter_loss_db=feed.splitter_loss_db,
        noise_figure_db=feed.noise_figure_db,
        bandwidth_mhz=system.bandwidth_mhz,
        required_cn_db=needed_db,
        required_margin_db=feed.required_margin_db,
    )
    return FeedQuestion(
        chain, project.climate, feed.time_percent, feed.fade_allowance_db, feed_environment(project)
    )


def parents_of(project: Project, siting: Siting, on_air: tuple[Station, ...]) -> list[str]:
    """Return the names of the stations that may be received, of those on the air.

    Raises
    ------
    StudyError
        A parent that the siting names and that sends a service as another television system than the relay.
    """
    if siting.feed.parents:
        wanted = project.television_of(siting.services[0])
        names = {service.name for service in siting.services}
        left = [name for name in siting.feed.parents if name not in project.off_air]
        # Where none of those named is left, the error is that of the first.
        for parent in map(project.station, left or siting.feed.parents):
            sent = [project.television_of(each) for each in parent.services if each.name in names]
            if not all(same_signal(each, wanted) for each in sent):
                words = tell(
                    'siting.feed.from: "{name}" does not send its services as {name_2}',
                    name=parent.name,
                    name_2=wanted.name,
                )
                raise project.error([f"{words}, and a relay radiates what it receives; name another"])
        return left
    return [
        station.name
        for station in on_air
        if station.role == "parent" and sends_all(project, station, siting.services)
    ]


@dataclass(frozen=True)
class SiteGround:
    """What the ground says of every cell of the siting grid, each array (rows, columns)."""

    above_valley_m: FloatArray
    slope_deg: FloatArray
    access_m: FloatArray | None
    rules: tuple[Rule, ...]


def site_ground(siting: Siting, area: Area, stations: tuple[Station, ...]) -> SiteGround:
    """Return the rules of the study over the grid, in the order in which they are told.

    Raises
    ------
    TableError
        A vector file that cannot be used.
    """
    heights, side_m = area.heights_m, area.grid.cell_size_m
    above_m = height_above_valley_m(heights, side_m, siting.valley_radius_m)
    slope = slope_deg(heights, side_m)
    access_m = None
    if siting.access is not None:
        access_m = distance_to_layer_m(siting.access, area.grid)
    rules = [Rule(_valley_words(siting), np.nan_to_num(above_m, nan=-1.0) >= siting.above_valley_m)]
    if siting.steepest_deg is not None:
        words = tell("ground no steeper than {steepest_deg:g}°", steepest_deg=siting.steepest_deg)
        rules.append(Rule(words, np.nan_to_num(slope, nan=91.0) <= siting.steepest_deg))
    rules += _layer_rules(siting, area)
    if siting.access is not None and access_m is not None and siting.access_within_m is not None:
        words = tell(
            "within {access_within_m:g} m of {name}",
            access_within_m=siting.access_within_m,
            name=siting.access.name,
        )
        rules.append(Rule(words, access_m <= siting.access_within_m))
    if siting.keep_off_m > 0.0:
        free = away_from(
            area.grid.rows, area.grid.columns, _cells_of(area, stations), side_m, siting.keep_off_m
        )
        rules.append(
            Rule(
                tell("{keep_off_m:g} m or more from stations of the study", keep_off_m=siting.keep_off_m),
                free,
            )
        )
    return SiteGround(above_m, slope, access_m, tuple(rules))


def _valley_words(siting: Siting) -> str:
    return tell(
        "{above_valley_m:g} m or more over the lowest ground within {valley_radius_m:g} m",
        above_valley_m=siting.above_valley_m,
        valley_radius_m=siting.valley_radius_m,
    )


def _layer_rules(siting: Siting, area: Area) -> list[Rule]:
    rules = []
    for layer, words, inside in (
        (siting.inside, "inside", True),
        (siting.outside, "outside", False),
        (siting.border, "inside the border", True),
    ):
        if layer is not None:
            cells: npt.NDArray[np.bool_] = cells_inside(layer, area.grid)
            rules.append(
                Rule(tell("{words} {name}", words=words, name=layer.name), cells if inside else ~cells)
            )
    return rules


def _cells_of(area: Area, stations: tuple[Station, ...]) -> list[tuple[float, float]]:
    """Return row and column of stations on the grid [cells, 0 at the first centre]."""
    return [cell_of(area, station.longitude_deg, station.latitude_deg) for station in stations]


def cell_of(area: Area, longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
    """Return row and column [cells, 0 at the first centre] of a place [degrees]."""
    return cell_of_grid(area.grid, longitude_deg, latitude_deg)


def cell_of_grid(grid: StudyGrid, longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
    """As :func:`cell_of`, of a grid."""
    row, column = to_cells(grid, longitude_deg, latitude_deg)
    return float(row), float(column)
