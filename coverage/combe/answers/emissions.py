"""Every service of every station of a study as an emission, with the protection ratios between them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from itertools import product
from typing import Final

from combe.answers.one_frequency import network_words, one_frequency_of
from combe.errors import RangeError
from combe.planning import StationService
from combe.prediction import Conditions
from combe.project import Project, minimum_field
from combe.reception import (
    Disturber,
    Emission,
    JudgeMethod,
    Partners,
    Protection,
    Rules,
    channel_of,
    heard_by,
    partners_from,
    protection,
    protection_citation,
    protections,
)
from combe.standards import CarrierOffset, memory_note, sharing_noise_dbuv_m
from combe.stations import Service
from combe.terrain import StudyGrid, to_grid_m
from combe.words import joined, tell

_METHODS: Final[dict[str, JudgeMethod]] = {
    "log-normal": "schwartz-yeh",
    "k-lnm": "k-lnm",
    "power sum": "power sum",
    "multiplication": "multiplication",
}

NEGLECT_DB: Final = 0.01
"""By how much, at most, summed interference may fall short because weak interferers are left out."""


def carrier_of(service: Service) -> CarrierOffset:
    """Return where the vision carrier of a service lies about its nominal frequency."""
    return CarrierOffset(service.offset_twelfths, service.precision_offset, service.offset_khz)


def protection_of(project: Project, wanted: Service, unwanted: Service) -> Protection | None:
    """Return the protection ratio of a service, as the public hears it, against another; None without one."""
    own, other = heard_by(project.television_of(wanted), project.way), project.television_of(unwanted)
    try:
        return protection(
            channel_of(own, wanted.frequency_mhz),
            channel_of(other, unwanted.frequency_mhz),
            own.required_cn_db or 0.0,
            carriers=(carrier_of(wanted), carrier_of(unwanted)),
        )
    except RangeError as error:
        if own.signal == other.signal:
            raise
        # Not to know how much one harms the other is not to know that it harms nobody.
        raise RangeError(
            f"protection ratio of {wanted.name} on channel {wanted.channel} ({own.name}) by "
            f"{unwanted.name} on channel {unwanted.channel} ({other.name})",
            "in no table",
            error.allowed,
            "keep their channels farther apart, or judge without: counted = false in [interference]",
        ) from None


def every_ratio(project: Project) -> list[Protection]:
    """Return the protection ratios that may count between any services of a study, on any channels."""
    services = [service for station in project.stations for service in station.services]
    # Ratios go by the systems and the carriers of a pair, so one service of each kind stands for all of it;
    # those of one channel are asked for with both put on it.
    kinds = {(project.television_of(each), carrier_of(each)): each for each in reversed(services)}
    mhz, near, far = services[0].frequency_mhz, set[Protection | None](), list[Protection]()
    for a, b in product(kinds.values(), repeat=2):
        # What is in no table is no ratio that counts, and told where two such services meet.
        with suppress(RangeError):
            near.add(protection_of(project, replace(a, frequency_mhz=mhz), replace(b, frequency_mhz=mhz)))
            of_systems = protections(project.television_of(a), project.television_of(b))
            far += [row for step, row in of_systems.items() if step]
    return [
        *sorted((row for row in near if row is not None), key=lambda row: row.reference),
        *dict.fromkeys(far),
    ]


def emissions_of(project: Project, grid: StudyGrid, radiated: Iterable[StationService]) -> list[Emission]:
    """Return the emission of each service of each station, in the coordinates of the study grid."""
    return [_emission(project, grid, each) for each in radiated]


def partners_among(project: Project, radiated: Sequence[StationService]) -> Partners:
    """Return who may disturb whom; where the study counts no interference, only echoes of one network."""
    asked, places = project.interference, [_in_network(project, each) for each in radiated]
    return partners_from(
        [
            Disturber(
                index,
                ratio.tropospheric_db,
                ratio.continuous_db,
                asked.cross_polarization and not project.way.portable and _crossed(wanted, unwanted),
                echo,
            )
            for index, unwanted in enumerate(radiated)
            if unwanted.station is not wanted.station
            and ((echo := place is not None and place == places[index]) or asked.counted)
            and (ratio := protection_of(project, wanted.service, unwanted.service)) is not None
        ]
        for wanted, place in zip(radiated, places, strict=True)
    )


def disturbers(partners: Partners) -> tuple[frozenset[int], ...]:
    """Return for each emission which others may disturb it."""
    bounds = zip(partners.start[:-1], partners.start[1:], strict=True)
    return tuple(frozenset(partners.emission[first:last].tolist()) for first, last in bounds)


def interfering_stations(
    project: Project, radiated: Sequence[StationService], partners: Partners
) -> list[int]:
    """Return which stations of a study may disturb another one, as indices."""
    disturbing = frozenset[int]().union(*disturbers(partners))
    return [
        index
        for index, station in enumerate(project.stations)
        if any(radiated[emission].station is station for emission in disturbing)
    ]


def rules_of(project: Project) -> Rules:
    """Return when a place counts as served, as the study asks."""
    asked = project.interference
    return Rules(
        location_percent=project.location_percent,
        method=_METHODS[summing_of(project)],
        correlation=asked.correlation,
        k=asked.k,
        neglect_db=NEGLECT_DB,
    )


def summing_of(project: Project) -> str:
    """Return how a study sums interfering fields: as it says, or as its systems are planned.

    The ratios of ATSC compare medians with noise and interference added as powers; log-normal sums would ask
    for more than they do.
    """
    asked = project.interference.method
    planned = any(system.signal == "ATSC" for system in project.systems)
    return asked or ("power sum" if planned else "log-normal")


def interfering_conditions(project: Project) -> Conditions:
    """Return model and air for interfering fields; a model without statistics of time gives its median.

    Of several systems the least time is taken, for which an interfering field is greatest.
    """
    if project.conditions.model != "p1812":
        return project.conditions
    asked = project.interference.time_percent
    planned = min(system.interferer_time_percent for system in project.systems)
    percent = planned if asked is None else asked
    return replace(project.conditions, time_percent=percent)


def interference_words(
    project: Project, radiated: Sequence[StationService], partners: Partners
) -> dict[str, str]:
    """Return how interference was counted, in words; nothing where nothing may disturb anything."""
    networks = network_words(project)
    if not project.interference.counted:
        words = "not counted, as the study asks; every service is judged against noise alone"
        return {"interference": words, **networks}
    if not partners.emission.size:
        return networks
    words = method_words(project, _ratios_used(project, radiated, partners))
    return networks | {
        "interference": tell(
            "{size} pairs of services may disturb one another; {words}",
            size=partners.emission.size,
            words=words,
        )
    }


def method_words(project: Project, ratios: Iterable[Protection]) -> str:
    """Return how interference is counted with some protection ratios, in words."""
    asked, percent = project.interference, interfering_conditions(project).time_percent
    rows = [protection_citation(row) for row in ratios]
    words = tell(
        "interfering fields for {percent:g} % of time, at {aerial_words}; summed by "
        "{summing_of}, correlation {correlation:g}; ratios of ",
        percent=percent,
        aerial_words=_aerial_words(project),
        summing_of=summing_of(project),
        correlation=asked.correlation,
    ) + joined(", ", dict.fromkeys(row.reference for row in rows))
    note = memory_note(rows)
    return tell("{words}; {note}", words=words, note=note) if note else words


def _aerial_words(project: Project) -> str:
    """Return what viewers' aerials hold off."""
    if project.way.portable:
        return "portable aerials, which hold off nothing"
    held = "" if project.interference.cross_polarization else ", which do not hold off the other polarization"
    return tell("aerials of ITU-R BT.419-3{held}", held=held)


def _ratios_used(
    project: Project, radiated: Sequence[StationService], partners: Partners
) -> list[Protection]:
    """Return the protection ratios that stand between any two of the emissions, nearest channels first."""
    found = {
        protection_of(project, radiated[wanted].service, radiated[other].service)
        for wanted, others in enumerate(disturbers(partners))
        for other in others
    }
    known = [row for row in found if row is not None]
    return sorted(known, key=lambda row: (abs(row.channel_step), row.channel_step, row.reference))


def _in_network(project: Project, each: StationService) -> tuple[object, ...] | None:
    """Return network, service, channel and mode by which echoes know one another; None outside of any."""
    found, service = one_frequency_of(project, *each), each.service
    if found is None:
        return None
    return found.network, service.name, service.channel, project.television_of(service)


def _crossed(one: StationService, other: StationService) -> bool:
    return one.station.polarization != other.station.polarization


def _emission(project: Project, grid: StudyGrid, each: StationService) -> Emission:
    station, service = each
    x, y = to_grid_m(grid, station.longitude_deg, station.latitude_deg)
    minimum = minimum_field(project, service.frequency_mhz, service=service)
    television = project.planned(service)
    return Emission(
        station=station.name,
        service=service.name,
        channel=channel_of(television.system, service.frequency_mhz),
        polarization=station.polarization,
        x_m=float(x),
        y_m=float(y),
        minimum_dbuv_m=minimum.at_a_place_dbuv_m,
        required_cn_db=heard_by(television.system, project.way).required_cn_db or 0.0,
        sigma_db=minimum.location_deviation_db,
        carrier=carrier_of(service),
        one_frequency=one_frequency_of(project, station, service),
        noise_dbuv_m=sharing_noise_dbuv_m(
            television.system, service.frequency_mhz, project.noise_environment
        ),
        location_percent=television.location_percent,
        directional=not project.way.portable,
    )
