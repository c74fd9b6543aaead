"""Turns a checked study into the project that all questions are asked of."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import fields, replace
from functools import partial
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeVar

from combe.errors import StudyError
from combe.prediction import Conditions
from combe.project.coordination import Coordination
from combe.project.feed import (
    AerialIsolation,
    Feed,
    FeedAerial,
    FeedStage,
    InputWindow,
    LoopDemands,
    Output,
    OutputPiece,
    asked_shares,
)
from combe.project.given import Given
from combe.project.one_frequency import SingleFrequencyNetwork
from combe.project.project import Project
from combe.project.rules import Interference, StatedError, Survey
from combe.project.siting import OMNI, Siting, SitingFeed, SitingLimit, SitingService
from combe.project.television import Television
from combe.standards import (
    centre_frequency_mhz,
)
from combe.stations import Pattern, PatternKind, Service, Station, read_pattern
from combe.study.array_schema import aerial_design
from combe.study.climate import ClimateOfStudy, climate_of
from combe.study.context_of import context_of
from combe.study.coordination_of import coordination_of
from combe.study.cover_of import open_study_cover
from combe.study.feed_schema import FeedSection, OutputSection
from combe.study.file import Study, beside, load_study
from combe.study.off_air import off_air_of
from combe.study.people_files import PeopleFiles
from combe.study.reception_schema import ways_of
from combe.study.schema import (
    PeopleSection,
    ServiceSection,
    SfnSection,
    StationSection,
)
from combe.study.section import Section
from combe.study.siting_schema import SitingSection
from combe.study.station_table import Teller
from combe.study.survey_file import read_survey
from combe.study.televisions import Televisions
from combe.study.terrain_of import grid_wish, open_study_terrain
from combe.study.zones_of import open_study_zones
from combe.tables import Layout, layout_of
from combe.terrain import (
    Features,
    GroundCover,
    Terrain,
    ZoneRaster,
    cover_words,
    read_features,
)

Record = TypeVar("Record")

NO_STATIONS: Final = (
    "stations: there is none yet; write [[stations]] tables with their services, by the examples that "
    "combe new writes into a study"
)


def load_project(path: Path | str) -> Project:
    """Read a study file and return its project, of which anything can be asked.

    Raises
    ------
    StudyError
        With every fault of the file; and where it has no station yet.
    RasterError, TableError
        A terrain tile, ground cover, zones or maps of the climate that cannot be used.

    Examples
    --------
    >>> from combe.study.new import demo_study_path
    >>> [station.name for station in load_project(demo_study_path()).stations][:1]
    ['Tarnbeacon']
    """
    study = load_study(path)
    if not study.content.stations:
        raise StudyError(path, [NO_STATIONS])
    return project_of(study)


class Rasters(NamedTuple):
    """The rasters of a study, opened; None for cover and zones that it has not."""

    terrain: Terrain
    cover: GroundCover | None
    zones: ZoneRaster | None


def open_rasters(study: Study) -> Rasters:
    """Open the rasters of a study.

    Raises
    ------
    RasterError, TableError
        A terrain tile, ground cover or zones that cannot be used.
    """
    cover = open_study_cover(study)
    terrain = open_study_terrain(study)
    return Rasters(terrain, cover, open_study_zones(study, terrain))


def project_of(study: Study, rasters: Rasters | None = None) -> Project:
    """Return the project of a checked study; rasters are opened, and nothing else is read but patterns.

    ``rasters`` are those of the study where they have been opened already.

    Raises
    ------
    RasterError, TableError
        A terrain tile, ground cover, zones or maps of the climate that cannot be used.
    PatternError, ChannelError, RangeError
        Only for files that changed since the study was loaded.
    """
    content, rasters = study.content, rasters or open_rasters(study)
    televisions = Televisions(content.television)
    named = {station.name: station for station in content.stations}
    conditions, off_air = _conditions(study, rasters.cover), off_air_of(content)
    air = _climate(study, conditions, off_air)
    whole = Project(
        title=content.study.title,
        note=content.study.note,
        invented=content.study.invented,
        terrain=rasters.terrain,
        cover=rasters.cover,
        zones=rasters.zones,
        grid=grid_wish(content.grid),
        conditions=conditions,
        climate=air.climate,
        climate_words=air.words,
        climate_stated=air.stated,
        shown_time_percent=content.air.time_percent,
        television=televisions.usual.system,
        channel_raster=televisions.usual.channel_raster,
        location_percent=content.television.location_percent or 0.0,
        receive_height_m=content.television.receive_height_m,
        noise_environment=content.television.noise_environment,
        ways=ways_of(content.reception),
        interference=_same(content.interference, Interference),
        networks=tuple(_network(number, each) for number, each in enumerate(content.sfn, 1)),
        stations=tuple(_station(study, section, televisions) for section in content.stations),
        feeds={name: _feed(study, each.feed) for name, each in named.items() if each.feed},
        outputs={name: _output(each.output) for name, each in named.items() if each.output},
        aerials={
            name: aerial_design(each.array, each.polarization) for name, each in named.items() if each.array
        },
        running_costs={
            name: each.running_cost for name, each in named.items() if each.running_cost is not None
        },
        people=people_files(study),
        siting=_siting(study, content.siting, televisions) if content.siting else None,
        stated_error=_same(content.error, StatedError),
        survey=_survey(study, off_air),
        coordination=_coordination(study),
        context=context_of(content.map, study.path.parent),
        source=str(study.path),
        key=str(study.path.resolve()),
        labels=_labels(study),
        televisions=televisions.own,
    )
    # What is off the air goes last, so that all of the file has been held to what a project is held to.
    return replace(whole.without(*off_air), off_air=off_air) if off_air else whole


def people_files(study: Study) -> PeopleFiles | None:
    """Return the files from which the study's people are read, None without."""
    section: PeopleSection | None = study.content.people
    if section is None:
        return None
    files = {
        key: None if (name := getattr(section, key)) is None else beside(study, name)
        for key in ("raster", "points", "districts")
    }
    return PeopleFiles(
        **files,
        invented=study.content.study.invented,
        density=section.density_per_km2,
        layout=layout_of(section.model_dump()),
        district_layout=Layout(
            section.district_columns or {}, decimal=section.decimal, key="district_columns"
        ),
    )


def layer_of(path: Path, name: str) -> Given[Features]:
    """Return a vector layer that is read when it is asked for."""
    return Given(name, partial(read_features, path))


def _conditions(study: Study, cover: GroundCover | None) -> Conditions:
    """Return the model and its air as written, for the median of time; what is not written is the model's."""
    air = study.content.air
    return Conditions(
        model=study.content.study.model,
        effective_radius_km=math.nan if air.effective_radius_km is None else air.effective_radius_km,
        delta_n=math.nan if air.delta_n is None else air.delta_n,
        n0=air.n0,
        clutter=cover_words(cover) if cover else "",
    )


def _climate(study: Study, conditions: Conditions, off_air: Collection[str]) -> ClimateOfStudy:
    """Return the air over the year; a typical climate has the median that the study states for its fields."""
    air = study.content.air
    on_air = [each for each in study.content.stations if each.name not in off_air]
    places = [(each.longitude_deg, each.latitude_deg) for each in on_air]
    stated = air.delta_n is not None or air.effective_radius_km is not None
    return climate_of(air, conditions.delta_n if stated else None, study.path.parent, places)


def _same(section: Section, record: type[Record], **others: Any) -> Record:
    """Return a record with the values that a section has under the same names, and with others."""
    names = [each.name for each in fields(record) if each.name not in others]  # type: ignore[arg-type]
    return record(**{name: getattr(section, name) for name in names}, **others)


def _pattern(study: Study, name: str, kind: PatternKind) -> Pattern | None:
    """Read a pattern that the study names; None for an aerial that radiates alike in all directions."""
    return None if name == OMNI else read_pattern(beside(study, name), kind)


def _station(study: Study, section: StationSection, televisions: Televisions) -> Station:
    return Station(
        name=section.name,
        role=section.role,
        longitude_deg=section.longitude_deg,
        latitude_deg=section.latitude_deg,
        aerial_height_m=section.aerial_height_m,
        polarization=section.polarization,
        services=tuple(
            _service(each, *televisions.named(section.television, each.television))
            for each in section.services
        ),
        horizontal_pattern=_pattern(study, section.horizontal_pattern, "horizontal"),
        vertical_pattern=_pattern(study, section.vertical_pattern, "vertical"),
        parent=section.feed.from_ if section.feed else None,
        bearing_deg=section.bearing_deg,
        tilt_deg=section.tilt_deg,
    )


def _service(section: ServiceSection, television: str, of: Television) -> Service:
    return Service(
        section.name,
        section.channel,
        centre_frequency_mhz(of.channel_raster, section.channel),
        section.erp_w,
        offset_twelfths=section.offset_twelfths or 0,
        precision_offset=bool(section.precision_offset),
        offset_khz=section.offset_khz or 0.0,
        television=television,
    )


def _feed(study: Study, section: FeedSection) -> Feed:
    """Return a feed; flat keys are the lumps of a first budget."""
    shares = asked_shares(section.time_percent)
    return Feed(
        parent=section.from_,
        aerial=_feed_aerial(study, section),
        stages=tuple(_same(stage, FeedStage) for stage in section.stages) or _lumps(section),
        required_margin_db=section.required_margin_db,
        time_percent=shares[-1],
        time_percents=shares,
        required_cn_db=section.required_cn_db,
        window=_same(section.window, InputWindow) if section.window else None,
        own_output=_same(section.own_output, AerialIsolation) if section.own_output else None,
        on_channel=_same(section.on_channel, LoopDemands) if section.on_channel else None,
        as_built=bool(section.stages),
    )


def _feed_aerial(study: Study, section: FeedSection) -> FeedAerial:
    aerial = section.aerial
    if aerial is not None:
        pattern = None if aerial.pattern is None else _pattern(study, aerial.pattern, "horizontal")
        return _same(aerial, FeedAerial, pattern=pattern)
    assert section.aerial_height_m is not None and section.aerial_gain_dbi is not None, "checked"
    return FeedAerial(section.aerial_height_m, section.aerial_gain_dbi)


def _lumps(section: FeedSection) -> tuple[FeedStage, ...]:
    splitter = FeedStage("passive splitter", "splitter", loss_db=section.splitter_loss_db)
    return (
        FeedStage("feeder", "feeder", loss_db=section.feeder_loss_db),
        *((splitter,) if section.splitter_loss_db else ()),
        FeedStage("receiver", "receiver", noise_figure_db=section.noise_figure_db),
    )


def _output(section: OutputSection) -> Output:
    return _same(section, Output, stages=tuple(_same(each, OutputPiece) for each in section.stages))


def _siting(study: Study, section: SitingSection, televisions: Televisions) -> Siting:
    layers = {
        key: None if (name := getattr(section, key)) is None else layer_of(beside(study, name), name)
        for key in ("inside", "outside", "border", "access")
    }
    shares = asked_shares(section.feed.time_percent)
    return _same(
        section,
        Siting,
        services=tuple(
            _same(each, SitingService, television=televisions.named(section.television)[0])
            for each in section.services
        ),
        patterns=tuple((name, _pattern(study, name, "horizontal")) for name in section.patterns),
        vertical_pattern=_pattern(study, section.vertical_pattern, "vertical"),
        feed=_same(
            section.feed,
            SitingFeed,
            parents=section.feed.from_,
            time_percent=shares[-1],
            time_percents=shares,
        ),
        limits=tuple(_same(each, SitingLimit) for each in section.limits),
        **layers,
    )


def _network(number: int, section: SfnSection) -> SingleFrequencyNetwork:
    return _same(section, SingleFrequencyNetwork, name=f"network {number} on one frequency")


def _survey(study: Study, off_air: Collection[str]) -> Survey | None:
    section = study.content.survey
    if section is None:
        return None
    source = beside(study, section.points)
    names = {each.name: tuple(one.name for one in each.services) for each in study.content.stations}
    height_m, layout = study.content.television.receive_height_m, layout_of(section.model_dump())
    read = partial(read_survey, source, names, height_m=height_m, off_air=off_air, layout=layout)
    points = Given(source.name, read, str(source.resolve()))
    return Survey(points, bool(section.apply_correction), kriged=section.apply_correction == "kriged")


def _coordination(study: Study) -> Coordination | None:
    section = study.content.coordination
    return coordination_of(section, study.path.parent) if section else None


def _labels(study: Study) -> tuple[str, ...]:
    """Return where each station stands in the file, or in its table of stations."""
    count = len(study.content.stations)
    teller = Teller(study.rows, count)
    return tuple(teller.place(("stations", index)) for index in range(count))
