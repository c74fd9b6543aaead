"""The picture of a path, for every document that has one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from combe.publishing.document import Picture
from combe.reports.clearance import clearance_words
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.path import PathReport, PathService


def profile_picture(path: PathReport, service: str, title: str = "") -> Picture:
    """Return the profile of a path with the Fresnel zone of a service, and the line of sight in both airs."""
    found = path.of_service(service)
    cover = "" if path.clutter_height_m is None else " and its cover"
    words = tell(
        "Profile of the ground{cover} from {name} to {name_2} with the line "
        "of sight and 0.6 of the first Fresnel zone at {frequency_mhz:g} MHz. "
        "{sight_words}",
        cover=cover,
        name=path.from_station.name,
        name_2=path.to_station.name,
        frequency_mhz=found.service.frequency_mhz,
        sight_words=sight_words(path, service),
    )
    return Picture(lambda: _drawn(path, found), words, title)


def _drawn(path: PathReport, service: PathService) -> str:
    from combe.publishing.profile_diagram import RareAir, profile_svg

    profile, rare = path.profile, service.clearance.exceeded_99_9 if service.clearance else None
    return profile_svg(
        profile.distance_km,
        profile.height_m,
        tx_height_amsl_m=float(profile.height_m[0]) + path.tx_height_m,
        rx_height_amsl_m=float(profile.height_m[-1]) + path.rx_height_m,
        frequency_mhz=service.service.frequency_mhz,
        effective_radius_km=service.prediction.conditions.effective_radius_km,
        edge_index=service.prediction.controlling_index,
        tx_name=path.from_station.name,
        rx_name=path.to_station.name,
        cover_height_m=path.clutter_height_m,
        rare=RareAir(rare.effective_radius_km, rare.time_percent, rare.edge_index) if rare else None,
    )


def sight_words(path: PathReport, service: str) -> str:
    """Say whether the ends see one another, and how far the line clears the ground or is blocked by it."""
    seen = path.of_service(service).prediction.line_of_sight
    sight = "The ends see one another" if seen else "The ground hides the ends"
    return tell("{sight}: {clearance_words}.", sight=sight, clearance_words=clearance_words(path, service))
