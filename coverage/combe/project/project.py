"""What is given: ground, air, television, stations with their feeds and outputs, people, and what is asked.

Everything that Combe answers is asked of a project. A study file is one way to make it, Python code another.
It is never changed: each change gives another project that shares ground and people with the first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, get_args

from combe.errors import RangeError, StudyError, require_range
from combe.prediction import MEDIAN_PERCENT, Conditions
from combe.project.context import ContextLayer
from combe.project.coordination import Coordination, of_stations
from combe.project.feed import Feed, Output
from combe.project.given import PeopleGiven
from combe.project.off_air import no_station, require_off_air
from combe.project.one_frequency import SingleFrequencyNetwork, check_networks, networks_among
from combe.project.rules import GridWish, Interference, StatedError, Survey
from combe.project.siting import Siting, SitingService
from combe.project.television import Television
from combe.propagation.p2001 import TYPICAL_CLIMATES, USUAL_CLIMATE, Climate, typical_words
from combe.reception import FIXED_ROOF, WayOfReceiving, field_height_m, require_ways
from combe.standards import ROOF_HEIGHT_M, NoiseEnvironment, TelevisionSystem
from combe.stations import AerialDesign, Service, Station, require_choice
from combe.terrain import GroundCover, Terrain, ZoneRaster, cover_words, in_season
from combe.words import Name

USUAL_RECEIVE_HEIGHT_M = 10.0


@dataclass(frozen=True)
class Project:
    """A network over its ground, and all that has to be known to answer questions on it.

    Parameters
    ----------
    title : str
    terrain : Terrain
    television : TelevisionSystem
        Of every service that names no other.
    stations : tuple of Station
        One or more; names differ, and a relay's parent is one of them.
    feeds, outputs, aerials : mapping by station's name
        How relays receive; what stands behind the power; transmitting aerials by their design.
    running_costs : mapping by station's name
        What a station costs in a year, in any one currency.
    conditions : Conditions
        Model and air for the median of time.
    climate : Climate
        The air over the year, by which fades and enhancements are worked out (ITU-R P.2001-4); one for all
        paths.
    climate_words : str
        Where its numbers are from; said with every margin. Without it the name of a typical climate, or that
        the numbers are the project's. Of another climate, give other words.
    climate_stated : bool
        Whether somebody chose it, who then need not be told what is taken.
    shown_time_percent : float
        Time for which the fields of paths that are only shown are exceeded [%], 1 to 50. Service is judged
        for the time of the planning standard, whatever this is.
    cover, zones : GroundCover, ZoneRaster or None
        What stands on the ground, and where the sea is; for P.1812 only.
    grid : GridWish
    channel_raster : str
        Empty for that of the television system.
    location_percent : float or None
        Places to be served [%]; None for what the system's planning serves.
    televisions : mapping by name
        Other systems, modes or rules, by the name that services give; see :meth:`television_of`. Channels and
        places to be served are their own too.
    receive_height_m : float
        Viewers' aerials on roofs above ground [m].
    noise_environment : NoiseEnvironment or None
        Surroundings of all receive aerials, whose noise by ITU-R P.372 counts. None: viewers have what the
        system's planning allows for noise, and relays' receive aerials rural noise.
    ways : tuple of WayOfReceiving
        How the public receives. All that is judged is judged for the first; coverage and explanations tell
        of the others too.
    interference : Interference
    networks : tuple of SingleFrequencyNetwork
        Stations that are one network on one frequency; a station is in one at most.
    people : PeopleGiven or None
    siting : Siting or None
    stated_error : StatedError
        How far predictions are off, where not as is known of the model.
    survey : Survey or None
    coordination : Coordination or None
        What agreements with neighbours ask of the stations.
    context : tuple of ContextLayer
        What maps show beside these, so that one knows the place.
    note, invented
        Free text, and whether stations and people are made up; both are said on every page.
    source, key
        What the project was made from as messages name it, and in full, as caches and reports tell it apart.
    labels : tuple of str
        Where each station stands in that source, for messages; ``stations[0]`` and so on unless given.
    off_air : tuple of str
        Names of stations that the source has beside these, and that are off the air.

    Raises
    ------
    RangeError
        Naming what is missing or contradicts itself.
    """

    title: str
    terrain: Terrain
    television: TelevisionSystem
    stations: tuple[Station, ...]
    feeds: Mapping[str, Feed] = field(default_factory=dict)
    outputs: Mapping[str, Output] = field(default_factory=dict)
    aerials: Mapping[str, AerialDesign] = field(default_factory=dict)
    running_costs: Mapping[str, float] = field(default_factory=dict)
    conditions: Conditions = field(default_factory=lambda: Conditions("p1812"))
    climate: Climate = TYPICAL_CLIMATES[USUAL_CLIMATE]
    climate_words: str = ""
    climate_stated: bool = False
    shown_time_percent: float = MEDIAN_PERCENT
    cover: GroundCover | None = None
    zones: ZoneRaster | None = None
    grid: GridWish = field(default_factory=GridWish)
    channel_raster: str = ""
    location_percent: float = 0.0
    receive_height_m: float = USUAL_RECEIVE_HEIGHT_M
    noise_environment: NoiseEnvironment | None = None
    ways: tuple[WayOfReceiving, ...] = (FIXED_ROOF,)
    interference: Interference = field(default_factory=Interference)
    networks: tuple[SingleFrequencyNetwork, ...] = ()
    people: PeopleGiven | None = None
    siting: Siting | None = None
    stated_error: StatedError = field(default_factory=StatedError)
    survey: Survey | None = None
    coordination: Coordination | None = None
    context: tuple[ContextLayer, ...] = ()
    note: str = ""
    invented: bool = False
    source: str = "project"
    key: str = ""
    labels: tuple[str, ...] = ()
    televisions: Mapping[str, Television] = field(default_factory=dict)
    off_air: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _fill(self)
        object.__setattr__(self, "title", Name(self.title))
        _check_stations(self)
        check_networks(self.networks, [station.name for station in self.stations])
        _check_televisions(self)
        for name in self.coordination.stations if self.coordination else ():
            self.station(name)
        if self.noise_environment is not None:
            require_choice("noise_environment", self.noise_environment, get_args(NoiseEnvironment))
        require_range("receive_height_m", self.receive_height_m, 1.0, 50.0)
        _check_ways(self)
        require_range("shown_time_percent", self.shown_time_percent, 1.0, 50.0)
        for name, cost in self.running_costs.items():
            require_range(f"running_cost of {name}", cost, 0.0, 1e12)

    @property
    def way(self) -> WayOfReceiving:
        """The way of receiving by which all is judged."""
        return self.ways[0]

    @property
    def field_height_m(self) -> float:
        """Height above ground [m] of the fields by which the public is judged."""
        return field_height_m(self.way, self.receive_height_m)

    def received_by(self, way: WayOfReceiving) -> Project:
        """Return the project with one way of receiving, by which all is then judged."""
        return replace(self, ways=(way,))

    @property
    def relays(self) -> tuple[Station, ...]:
        """The relays, in the order of the stations."""
        return tuple(each for each in self.stations if each.role == "relay")

    @property
    def fed(self) -> list[tuple[Station, Feed]]:
        """Each relay with its feed, in the order of the stations."""
        return [(each, self.feeds[each.name]) for each in self.stations if each.name in self.feeds]

    @property
    def systems(self) -> tuple[TelevisionSystem, ...]:
        """The television systems on the air or to be sited, each mode once, the usual first or alone."""
        radiated = [service for station in self.stations for service in station.services]
        sited = [self.television_of(each) for each in self.siting.services] if self.siting else []
        found = dict.fromkeys([*(self.television_of(each) for each in radiated), *sited])
        return tuple(sorted(found, key=lambda each: each != self.television)) or (self.television,)

    def planned(self, service: Service | SitingService) -> Television:
        """Return how a service is radiated and planned: as it names, or as the project has it for all."""
        if not service.television:
            return Television(self.television, self.channel_raster, self.location_percent)
        return self.televisions[service.television]

    def television_of(self, service: Service | SitingService) -> TelevisionSystem:
        """Return the television system of a service, in its mode."""
        return self.planned(service).system if service.television else self.television

    def raster_of(self, service: Service | SitingService) -> str:
        """Return the channel raster of a service."""
        return self.planned(service).channel_raster

    def station(self, name: str) -> Station:
        """Return the station of a name, letter case aside; raises RangeError with the nearest name."""
        for station in self.stations:
            if station.name.casefold() == name.casefold():
                return station
        raise no_station(name, [station.name for station in self.stations], self.off_air)

    def label_of(self, station: Station) -> str:
        """Return where a station stands in what the project was made from."""
        return self.labels[self.stations.index(station)]

    def error(self, faults: Sequence[str]) -> StudyError:
        """Return the error that tells faults of this project, each once."""
        return StudyError(self.source, list(dict.fromkeys(faults)))

    def with_station(
        self, station: Station, *, feed: Feed | None = None, output: Output | None = None
    ) -> Project:
        """Return the project with a station more, or with another in place of that of its name.

        What was known of the feed, the output and the aerial of that one goes with it; the relays that it
        feeds stay.
        """
        names = [each.name for each in self.stations]
        at = names.index(station.name) if station.name in names else len(names)

        def with_its_own(known: Mapping[str, Any], own: Any) -> dict[str, Any]:
            others = {name: each for name, each in known.items() if name != station.name}
            return {**others, station.name: own} if own else others

        return replace(
            self,
            stations=(*self.stations[:at], station, *self.stations[at + 1 :]),
            labels=(*self.labels[:at], station.name, *self.labels[at + 1 :]),
            feeds=with_its_own(self.feeds, feed),
            outputs=with_its_own(self.outputs, output),
            aerials=with_its_own(self.aerials, None),
            running_costs=with_its_own(self.running_costs, None),
            off_air=tuple(each for each in self.off_air if each != station.name),
        )

    def without(self, *names: str) -> Project:
        """Return the project without some stations, and without the relays that only they feed."""
        gone = {self.station(name).name for name in names}
        while more := {each.name for each in self.stations if each.parent in gone} - gone:
            gone |= more
        return self.only([each.name for each in self.stations if each.name not in gone])

    def only(self, names: Sequence[str]) -> Project:
        """Return the project with the stations of some names alone."""
        kept = [index for index, each in enumerate(self.stations) if each.name in names]
        there = {self.stations[index].name for index in kept}
        return replace(
            self,
            stations=tuple(self.stations[index] for index in kept),
            labels=tuple(self.labels[index] for index in kept),
            feeds={name: each for name, each in self.feeds.items() if name in there},
            outputs={name: each for name, each in self.outputs.items() if name in there},
            aerials={name: each for name, each in self.aerials.items() if name in there},
            running_costs={name: each for name, each in self.running_costs.items() if name in there},
            networks=networks_among(self.networks, sorted(there)),
            coordination=of_stations(self.coordination, there),
        )

    def moved(self, name: str, longitude_deg: float, latitude_deg: float) -> Project:
        """Return the project with a station at another place."""
        station = self.station(name)
        there = replace(station, longitude_deg=longitude_deg, latitude_deg=latitude_deg)
        stations = tuple(there if each is station else each for each in self.stations)
        return replace(self, stations=stations)

    def in_other_season(self) -> Project:
        """Return the project without leaves where it is in leaf, and in leaf where it is without.

        Raises
        ------
        RangeError
            No ground cover, or none that knows a leafless season.
        """
        if self.cover is None:
            raise RangeError("season", "asked", "with ground cover alone", "write a [clutter] section")
        cover = in_season(self.cover, "in leaf" if self.cover.season == "leafless" else "leafless")
        return replace(self, cover=cover, conditions=replace(self.conditions, clutter=cover_words(cover)))

    def by_model(self, model: str) -> Project:
        """Return the project by another model; one without cover, zones and time loses what is said of them.

        Raises
        ------
        RangeError
            For an unknown model.
        """
        air = self.conditions
        if model == "p1812":
            return replace(self, conditions=Conditions(model, delta_n=air.delta_n, n0=air.n0))
        bare = Conditions(model, effective_radius_km=air.effective_radius_km)
        # Without cover no field can be predicted among the houses: the published loss stands for it.
        ways = tuple(replace(each, height_loss="published") for each in self.ways)
        return replace(
            self, conditions=bare, cover=None, zones=None, shown_time_percent=MEDIAN_PERCENT, ways=ways
        )


def _check_ways(project: Project) -> None:
    """Refuse ways that are none, and a height loss that does not hold for the fields."""
    object.__setattr__(project, "ways", tuple(project.ways))
    require_ways(project.ways)
    for way in project.ways:
        if way.portable and way.height_loss == "published" and project.receive_height_m != ROOF_HEIGHT_M:
            raise RangeError(
                f"receive_height_m with {way.name}", project.receive_height_m, f"{ROOF_HEIGHT_M:g}",
                "the published height loss counts from there; or have the field predicted at 1.5 m",
            )  # fmt: skip
        if way.portable and way.height_loss == "predicted" and project.cover is None:
            raise RangeError(
                "height_loss", "predicted without ground cover", "published",
                "at 1.5 m the field hangs on what stands around; or add cover, for model p1812",
            )  # fmt: skip


def _fill(project: Project) -> None:
    """Put in what is taken from elsewhere where it is not given, and make what is given unchangeable."""

    def put(name: str, value: object) -> None:
        object.__setattr__(project, name, value)

    put("stations", tuple(project.stations))
    put("networks", tuple(project.networks))
    put("context", tuple(project.context))
    put("off_air", tuple(project.off_air))
    put("labels", project.labels or tuple(f"stations[{index}]" for index in range(len(project.stations))))
    put("channel_raster", project.channel_raster or project.television.channel_raster)
    put("location_percent", project.location_percent or project.television.location_percent)
    put("climate_words", _climate_words(project))
    for name in ("feeds", "outputs", "aerials", "running_costs", "televisions"):
        put(name, MappingProxyType(dict(getattr(project, name))))


def _climate_words(project: Project) -> str:
    """Return the words of the climate; those of a typical one only where it is that one."""
    typical = {typical_words(name): climate for name, climate in TYPICAL_CLIMATES.items()}
    words = project.climate_words
    if words and typical.get(words, project.climate) == project.climate:
        # Those of a typical one as they are made here, which can be told in other languages.
        return next((each for each in typical if each == words), words)
    named = (each for each, climate in typical.items() if climate == project.climate)
    return next(named, "numbers of the project")


def _check_stations(project: Project) -> None:
    names = [station.name for station in project.stations]
    if len(names) != len(project.labels):
        raise RangeError("labels", len(project.labels), f"{len(names)}, one for each station")
    require_off_air(project.off_air, names)
    folded = [name.casefold() for name in names]
    for name in names:
        if folded.count(name.casefold()) > 1:
            raise RangeError("name of a station", f'"{name}"', "one that no other station has")
    for what in ("feeds", "outputs", "aerials", "running_costs"):
        for name in getattr(project, what):
            if name not in names:
                raise RangeError(f"station of the {what}", f'"{name}"', ", ".join(names))
    for relay, feed in project.fed:
        if relay.parent != feed.parent or feed.parent not in names:
            raise RangeError(
                f"parent of the feed of {relay.name}", f'"{feed.parent}"',
                f"the parent of the station, one of {', '.join(names)}",
            )  # fmt: skip
        _check_services(relay, project.station(feed.parent))


def _check_televisions(project: Project) -> None:
    Television(project.television, project.channel_raster, project.location_percent)
    for station in project.stations:
        for service in station.services:
            _check_television(project, f"{station.name} {service.name}", service)
    for sited in project.siting.services if project.siting else ():
        _check_television(project, f"the siting's {sited.name}", sited)


def _check_television(project: Project, name: str, service: Service | SitingService) -> None:
    if service.television and service.television not in project.televisions:
        allowed = ", ".join(project.televisions) or "none is given to the project"
        raise RangeError(f"television of {name}", f'"{service.television}"', allowed)


def _check_services(relay: Station, parent: Station) -> None:
    radiated = [service.name for service in parent.services]
    for service in relay.services:
        if service.name not in radiated:
            raise RangeError(
                f"service of {relay.name}, fed by {parent.name}", f'"{service.name}"', ", ".join(radiated)
            )
