"""What a scan of heights says of the ray that the ground reflects: from where, whether, and its nulls.

It is asked where the path is clear, for only there a second ray as strong arrives beside the direct one. The
prediction itself has no such ray.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.answers.path import PathReport, PathService
from combe.constants import CLEAR_FRESNEL_RADII
from combe.prediction import Reflection, TwoRays, lobe_heights_m, null_heights_m, reflection
from combe.propagation.p1812 import INLAND, ZONE_NAMES
from combe.words import joined, tell

_MOST_TOLD: Final = 4
"""So many heights of nulls are named in words."""


@dataclass(frozen=True)
class GroundRay:
    """The reflected ray of a service to the planned aerial, and its nulls within the heights of a scan.

    ``zone`` is that of the ground where it is reflected, None where the study has no zones. Heights of nulls,
    and of lobes between them, are above ground at the relay; they are those of ground that reflects like a
    mirror, whether it does or not.
    """

    service: str
    parent: str
    ray: Reflection
    zone: str | None
    null_height_m: tuple[float, ...]
    lobe_height_m: tuple[float, ...]

    @property
    def short(self) -> str:
        """Whether nulls are to be expected, in few words."""
        where = tell(
            "ground where it is reflected, {distance_km:.2f} km from {parent},",
            distance_km=self.ray.distance_km,
            parent=self.parent,
        )
        if not self.ray.smooth:
            return tell("{where} is too uneven", where=where)
        if self.ray.blocked_km is not None:
            return tell("{where} is even, but hidden", where=where)
        nulls = _listed(self.null_height_m)
        at = (
            tell("expect them, {service} at {nulls}", service=self.service, nulls=nulls)
            if nulls
            else "expect them, but not in this scan"
        )
        return tell("{where} is even: {at}", where=where, at=at)

    @property
    def words(self) -> str:
        """Where the ray is reflected, and whether nulls are to be expected."""
        ray = self.ray
        low_km, high_km = ray.fresnel_km
        allowed = tell(
            "the {allowed_relief_m:.1f} m of Rayleigh's criterion", allowed_relief_m=ray.allowed_relief_m
        )
        where = "on land or sea (the study has no zones)"
        if self.zone is not None:
            where = "inland" if self.zone == ZONE_NAMES[INLAND] else tell("on {zone}", zone=self.zone)
        found = tell(
            "A reflected ray would leave the ground {distance_km:.2f} km from {parent}, {where}, "
            "at {grazing_deg:.2f}°; from {low_km:.2f} to {high_km:.2f} km the ground rises and falls by "
            "{relief_m:.1f} m",
            distance_km=ray.distance_km,
            parent=self.parent,
            where=where,
            grazing_deg=ray.grazing_deg,
            low_km=low_km,
            high_km=high_km,
            relief_m=ray.relief_m,
        )
        if not ray.smooth:
            return tell("{found}, more than {allowed}: expect no nulls", found=found, allowed=allowed)
        found += tell(", less than {allowed}", allowed=allowed)
        if ray.blocked_km is not None:
            return tell(
                "{found}, but ground at {blocked_km:.2f} km stands in its way: expect no nulls",
                found=found,
                blocked_km=ray.blocked_km,
            )
        return tell("{found}: expect nulls", found=found)

    @property
    def null_words(self) -> str:
        """At which heights of the scan the nulls and the lobes stand."""
        nulls = _listed(self.null_height_m) or "none within this scan"
        lobes = _listed(self.lobe_height_m) or "none within it"
        return tell(
            "{service}: nulls at {nulls}; most field, up to 6 dB over the direct ray, at {lobes}",
            service=self.service,
            nulls=nulls,
            lobes=lobes,
        )


def _listed(heights_m: Sequence[float]) -> str:
    if not heights_m:
        return ""
    told = joined(", ", (tell("{item:.1f}", item=each) for each in heights_m[:_MOST_TOLD]))
    return tell("{told} m{part}", told=told, part=" and on" if len(heights_m) > _MOST_TOLD else "")


def ground_rays(
    path: PathReport, services: Sequence[PathService], heights_m: Sequence[float]
) -> tuple[GroundRay, ...]:
    """Return the reflected ray of each service of a path that is clear; none for others."""
    found = (_ground_ray(path, each, heights_m) for each in services if _clears(each))
    return tuple(each for each in found if each is not None)


def _rays(path: PathReport, service: PathService) -> TwoRays:
    ground_m = path.profile.height_m
    surface_m = ground_m.copy()
    if path.clutter_height_m is not None:
        surface_m[1:-1] += path.clutter_height_m[1:-1]
    return TwoRays(
        distance_km=path.profile.distance_km,
        surface_m=surface_m,
        tx_m=float(ground_m[0]) + path.tx_height_m,
        frequency_mhz=service.service.frequency_mhz,
        effective_radius_km=service.prediction.conditions.effective_radius_km,
    )


def _clears(service: PathService) -> bool:
    """Return whether the line clears the edge between the aerials well enough, or there is none."""
    clearance = service.clearance
    return clearance is None or clearance.median.clearance_radii >= CLEAR_FRESNEL_RADII


def _ground_ray(path: PathReport, service: PathService, heights_m: Sequence[float]) -> GroundRay | None:
    rays, ground_m = _rays(path, service), float(path.profile.height_m[-1])
    ray = reflection(rays, ground_m + path.rx_height_m)
    if ray is None:
        return None
    between_m = ground_m + min(heights_m), ground_m + max(heights_m)
    zone = None if path.zone is None else ZONE_NAMES.get(int(path.zone[ray.index]))
    return GroundRay(
        service=service.service.name,
        parent=path.from_station.name,
        ray=ray,
        zone=zone,
        null_height_m=tuple(each - ground_m for each in null_heights_m(rays, ray.line, between_m)),
        lobe_height_m=tuple(each - ground_m for each in lobe_heights_m(rays, ray.line, between_m)),
    )
