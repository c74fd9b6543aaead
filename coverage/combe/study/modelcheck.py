"""Finds what a study asks of its propagation model that the model cannot give: time, air, cover, sea."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from combe.constants import EARTH_RADIUS_KM
from combe.errors import quoted
from combe.study.crosscheck import Fault, Table, section_of, text_of
from combe.study.faults import path_text
from combe.study.schema import AboutSection

_P1812: Final = "p1812"


def model_faults(table: Table) -> list[str]:
    """Return one line for each thing that does not fit the model."""
    finders = (_radius_faults, _time_faults, _clutter_faults, _zone_faults, _interference_faults)
    faults = [fault for finder in finders for fault in finder(table)]
    return [f"{path_text(place)}: {words}" for place, words in faults]


def model_of(table: Table) -> str:
    """Return the propagation model that a study names, or the usual one."""
    return text_of(section_of(table, "study"), "model") or str(AboutSection.model_fields["model"].default)


def _radius_faults(table: Table) -> Iterator[Fault]:
    air = section_of(table, "air")
    radius_km, place = air.get("effective_radius_km"), ("air", "effective_radius_km")
    if "delta_n" in air and radius_km is not None:
        words = "stands beside delta_n, and both set the effective Earth radius; take one out"
        yield (place, words)
    elif _number(radius_km, EARTH_RADIUS_KM) < EARTH_RADIUS_KM and model_of(table) == _P1812:
        words = f"{radius_km:g} is below the Earth's own radius, which model {quoted(_P1812)} does not cover"
        yield (place, f"{words}; write {EARTH_RADIUS_KM:g} or more")


def _time_faults(table: Table) -> Iterator[Fault]:
    percent, model = _number(section_of(table, "air").get("time_percent"), 50.0), model_of(table)
    if percent != 50.0 and model in ("p526", "free-space"):
        words = f"{percent} cannot be used: model {quoted(model)} predicts the median in time"
        yield (("air", "time_percent"), f"{words}; write 50.0, or study.model = {quoted(_P1812)}")


def _clutter_faults(table: Table) -> Iterator[Fault]:
    if "clutter" not in table:
        return
    section, model = section_of(table, "clutter"), model_of(table)
    if model in ("p526", "free-space"):
        words = f"model {quoted(model)} knows no ground cover"
        yield (("clutter",), f"{words}; take the section out, or write study.model = {quoted(_P1812)}")
    yield from _height_faults(section)
    surface = section_of(table, "terrain").get("surface_model") is True
    if surface and section.get("allow_on_surface_model") is not True:
        yield (
            ("clutter",),
            "the terrain is a surface model, whose heights hold trees and roofs already: cover would count "
            "twice; take the section out, give bare terrain, or write allow_on_surface_model = true",
        )


def _zone_faults(table: Table) -> Iterator[Fault]:
    model = model_of(table)
    if "zones" in table and model in ("p526", "free-space"):
        words = f"model {quoted(model)} does not tell sea from land"
        yield (("zones",), f"{words}; take the section out, or write study.model = {quoted(_P1812)}")


def _height_faults(section: Table) -> Iterator[Fault]:
    """Say where it is not clear what the raster's numbers mean."""
    tables = [key for key in ("legend", "heights") if key in section]
    if section.get("canopy") is True and tables:
        words = f"stands beside {' and '.join(tables)}; a raster holds heights or classes: take one out"
        yield (("clutter", "canopy"), words)
    elif section.get("canopy") is not True and not tables:
        words = 'is missing; write legend = "worldcover" (or heights = "FILE.csv"), or canopy = true'
        yield (("clutter", "legend"), words)


def _interference_faults(table: Table) -> Iterator[Fault]:
    section, model = section_of(table, "interference"), model_of(table)
    if "time_percent" in section and model in ("p526", "free-space"):
        words = f"model {quoted(model)} predicts the median in time, for interferers too"
        yield (
            ("interference", "time_percent"),
            f"{words}; take it out, or write study.model = {quoted(_P1812)}",
        )
    if section.get("method") == "k-lnm" and _number(section.get("correlation"), 0.0) != 0.0:
        words = 'method "k-lnm" knows no correlation; write correlation = 0.0, or method = "log-normal"'
        yield (("interference", "correlation"), words)


def _number(value: object, otherwise: float) -> float:
    """Return a value of the file if it is a number at all."""
    return value if isinstance(value, int | float) and not isinstance(value, bool) else otherwise
