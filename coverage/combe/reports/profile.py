"""The picture of a path, for every document that has one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from combe.publishing.document import Picture

if TYPE_CHECKING:
    from combe.answers.path import PathReport
    from combe.prediction import PathPrediction


def profile_picture(
    path: PathReport, prediction: PathPrediction, frequency_mhz: float, title: str = ""
) -> Picture:
    """Return the profile of a path with the Fresnel zone of one frequency and the edge of one prediction."""
    cover = "" if path.clutter_height_m is None else " and its cover"
    words = (
        f"Profile of the ground{cover} from {path.from_station.name} to {path.to_station.name} with the line "
        f"of sight and 0.6 of the first Fresnel zone at {frequency_mhz:g} MHz. {sight_words(prediction)}"
    )
    return Picture(lambda: _drawn(path, prediction, frequency_mhz), words, title)


def _drawn(path: PathReport, prediction: PathPrediction, frequency_mhz: float) -> str:
    from combe.publishing.profile_diagram import profile_svg

    profile = path.profile
    return profile_svg(
        profile.distance_km,
        profile.height_m,
        tx_height_amsl_m=float(profile.height_m[0]) + path.tx_height_m,
        rx_height_amsl_m=float(profile.height_m[-1]) + path.rx_height_m,
        frequency_mhz=frequency_mhz,
        effective_radius_km=prediction.conditions.effective_radius_km,
        edge_index=prediction.controlling_index,
        tx_name=path.from_station.name,
        rx_name=path.to_station.name,
        cover_height_m=path.clutter_height_m,
    )


def sight_words(prediction: PathPrediction) -> str:
    """Say whether the ends see one another, and where the ground matters most."""
    sight = "The ends see one another" if prediction.line_of_sight else "The ground hides the ends"
    at_km = prediction.controlling_km
    return (
        f"{sight}." if at_km is None else f"{sight}; the controlling edge lies {at_km:.2f} km from the start."
    )
