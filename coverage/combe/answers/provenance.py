"""Says what made a result: model, air, terrain, grid, system, and whether anything is invented."""

from __future__ import annotations

from typing import Final

from combe.answers.terrain_sources import terrain_words
from combe.prediction import MEDIAN_PERCENT, describe
from combe.project import (
    Project,
    Television,
    feed_environment,
    feed_noise_db,
    itemised_field,
    off_air_words,
    service_conditions,
)
from combe.reception import FIXED_ROOF, WayOfReceiving, heard_by, way_words
from combe.standards import (
    AERIAL_HEIGHT_M,
    P372,
    STANDING_FIELD,
    Citation,
    in_planning_bands,
    memory_note,
    mode_words,
    noise_item,
    system_note,
)
from combe.standards import describe as describe_source
from combe.terrain import StudyGrid, unit_words
from combe.version import __version__
from combe.words import chain, joined, tell

TIME_OF_SERVICE: Final = "time of service"
OFF_AIR: Final = "off the air"


def provenance(
    project: Project, grid: StudyGrid | None = None, *, over_year: bool | None = None
) -> dict[str, str]:
    """Return what made a result, in words, in the order in which reports print it.

    With a grid it is a result on service, judged for the time of the planning standard; without one it is of
    paths. ``over_year`` tells whether fades over the year entered, and with them the climate: those of paths
    unless said.
    """
    conditions = project.conditions if grid is None else service_conditions(project)
    made = {"program": tell("Combe {version__}", version__=__version__), **describe(conditions)}
    if project.conditions.model == "p1812":
        made["zones"] = project.zones.words if project.zones else "inland everywhere; no sea and no coast"
    if over_year or (over_year is None and grid is None):
        made["climate"] = project.climate_words
    made |= _terrain(project)
    if grid is not None:
        size = tell(
            "{rows} x {columns} cells of {cell_size_m:g} m",
            rows=grid.rows,
            columns=grid.columns,
            cell_size_m=grid.cell_size_m,
        )
        made["grid"] = tell("{size}, {crs_name}", size=size, crs_name=grid.crs_name)
    # The aerial of a feed stands on its mast, whatever the public has.
    made["television"] = television_words(project if grid else project.received_by(FIXED_ROOF))
    if words := noise_words(project):
        made["noise"] = words
    if grid is not None and project.ways != (FIXED_ROOF,):
        made["ways of receiving"] = ways_words(project)
    if grid is not None and (words := time_words(project)):
        made[TIME_OF_SERVICE] = words
    if project.off_air:
        made[OFF_AIR] = off_air_words(project.off_air)
    if project.invented:
        made["invented"] = invented_words(project)
    return made


def time_words(project: Project) -> str:
    """Return for what share of time service is judged where that is not plainly the median of time."""
    shown, several = project.shown_time_percent, len(project.systems) > 1
    asking = [each for each in project.systems if each.wanted_time_percent != MEDIAN_PERCENT]
    parts = []
    for system in asking:
        wanted, of = system.wanted_time_percent, tell("{name} for ", name=system.name) if several else ""
        if project.conditions.model == "p1812":
            parts.append(
                tell(
                    "{of}{wanted:g} %, by {standing_field}",
                    of=of,
                    wanted=wanted,
                    standing_field=STANDING_FIELD,
                )
            )
        else:
            parts.append(
                tell(
                    "not judged for the {wanted:g} % that {name} asks: the model knows nothing of time, "
                    "so people are counted on the median, more than the standard would count; p1812 knows it",
                    wanted=wanted,
                    name=system.name,
                )
            )
    if shown != MEDIAN_PERCENT:
        median = "" if asking else "the median of time; "
        parts.append(
            tell("{median}air.time_percent {shown:g} is for combe path alone", median=median, shown=shown)
        )
    return joined("; ", parts)


def television_words(project: Project) -> str:
    """Return the television systems and what counts as served, and what of it is from memory."""
    services = [service for station in project.stations for service in station.services]
    planned = dict.fromkeys(project.planned(service) for service in services)
    return joined("; beside it ", (_television_words(project, each) for each in planned))


def _television_words(project: Project, television: Television) -> str:
    system = heard_by(television.system, project.way)
    height_m = AERIAL_HEIGHT_M.value if project.way.portable else project.receive_height_m
    words = tell(
        "{mode_words}; served in {location_percent:g} % of locations, aerials at {height_m:g} m; {reference}",
        mode_words=mode_words(system),
        location_percent=television.location_percent,
        height_m=height_m,
        reference=system.reference,
    )
    note = system_note(system)
    return tell("{words}; {note}", words=words, note=note) if note else words


def noise_words(project: Project) -> str:
    """Return what noise about the aerials counts at the lowest frequency, where it is most; empty for none.

    The fields that are published for analogue systems hold theirs and do not tell how much it is.
    """
    radiated = [service for station in project.stations for service in station.services]
    if not radiated:
        return ""
    lowest = min(radiated, key=lambda service: service.frequency_mhz)
    mhz = lowest.frequency_mhz
    planned = in_planning_bands(project.television_of(lowest).signal, mhz)
    item = noise_item(itemised_field(project, mhz, service=lowest)) if planned else None
    feed_db = feed_noise_db(project, mhz)
    viewers_db = item.value if item else 0.0
    if not viewers_db and not feed_db and project.noise_environment is None:
        return ""
    viewers = (
        tell(
            "{viewers_db:.1f} dB in the minimum field ({describe_source})",
            viewers_db=viewers_db,
            describe_source=describe_source(item.reference, item.confidence),
        )
        if item
        else "as the published field has it"
    )
    receivers = tell(
        "{feed_db:.1f} dB over kT0B ({feed_environment}, {P372})",
        feed_db=feed_db,
        feed_environment=feed_environment(project),
        P372=P372,
    )
    return tell(
        "at {mhz:g} MHz, for viewers {viewers}, for relays' receive aerials {receivers}",
        mhz=mhz,
        viewers=viewers,
        receivers=receivers,
    )


def ways_words(project: Project) -> str:
    """Return how the public receives, what of it counts for the plan, and what is from memory."""
    told = [way_words(way) + _channel_words(project, way) for way in project.ways]
    told[0] = chain(told[0], ", by which all is judged")
    notes = [note for way in project.ways if way.portable for note in _citations(project, way)]
    return joined("; ", [*told, *filter(None, [memory_note(notes)])])


def _channel_words(project: Project, way: WayOfReceiving) -> str:
    """Return the required C/N of portable reception, of each system that is on the air."""
    if not way.portable:
        return ""
    heard, several = [heard_by(each, way) for each in project.systems], len(project.systems) > 1
    told = (
        tell(
            "{channel_model} channel, C/N {required_cn_db:g} dB{name}",
            channel_model=each.channel_model,
            required_cn_db=each.required_cn_db,
            name=tell(" of {name}", name=each.name) if several else "",
        )
        for each in heard
    )
    return tell(", {told}", told=joined(", ", told))


def _citations(project: Project, way: WayOfReceiving) -> list[Citation]:
    """Return where the items of a way's chain are from, for a service of each kind."""
    received = project.received_by(way)
    services = (service for station in project.stations for service in station.services)
    kinds = {project.planned(service): service for service in services}
    chains = (itemised_field(received, each.frequency_mhz, service=each).chain for each in kinds.values())
    return [Citation(each.name, each.reference, each.confidence) for chain in chains for each in chain]


def invented_words(project: Project) -> str:
    """Return the sentence that marks an invented study, or nothing."""
    if not project.invented:
        return ""
    people = ", and so are the people" if project.people else ""
    return tell("The stations of this study are invented{people}.", people=people)


def _terrain(project: Project) -> dict[str, str]:
    terrain = project.terrain
    words = terrain_words(terrain)
    if converted := unit_words(terrain):
        words = tell("{words}; {converted}", words=words, converted=converted)
    return {"terrain": words, **({"terrain credit": terrain.credit} if terrain.credit else {})}
