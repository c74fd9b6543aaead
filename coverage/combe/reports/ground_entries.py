"""The lines that a study may have of a file that was looked at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from combe.answers.ground_found import TableLook
from combe.reports.ground_doubts import datum_of
from combe.study.saved_text import toml_value
from combe.tables import Layout, mapping_text

if TYPE_CHECKING:
    from combe.answers.ground_found import Found

_SECTIONS: Final = {
    "people at points": ("people", "points"),
    "stations": ("network", "stations"),
    "survey points": ("survey", "points"),
    "points": ("coordination", "points"),
}


def entry_of(each: Found) -> Iterator[str]:
    """Yield the lines that a study may have of a file."""
    name = toml_value(each.path.name)
    if isinstance(each, TableLook):
        yield from _table_entry(each, name)
        return
    match each.likely:
        case "elevation":
            yield "[terrain]"
            yield f"tiles = [{name}]"
            yield f"vertical_datum = {toml_value(datum_of(each) or 'unknown')}"
            surface = each.known.surface if each.known else None
            yield f"surface_model = {'true' if surface else 'false'}" + (
                "" if surface is not None else "  # look it up"
            )
            if not each.look.crs_name:
                yield 'crs = "EPSG:…"'
        case "land cover":
            yield "[clutter]"
            yield f"raster = {name}"
            yield (
                f"legend = {toml_value(each.legends[0])}" if each.legends else 'heights = "cover_heights.csv"'
            )
        case "canopy height":
            yield from ("[clutter]", f"raster = {name}", "canopy = true")
        case "zones":
            yield from ("[zones]", f"raster = {name}")
        case "people":
            yield from ("[people]", f"raster = {name}", "density_per_km2 = false  # or true: see above")
        case _:
            return


def _table_entry(each: TableLook, name: str) -> Iterator[str]:
    if each.likely == "districts":
        yield from ("[people]", f"districts = {name}")
        other = {ours: their for ours, their in each.mapping.items() if ours != their}
        if other:
            yield mapping_text(other, Layout(key="district_columns"))
        return
    if each.likely not in _SECTIONS:
        return
    section, key = _SECTIONS[each.likely]
    yield f"[{section}]"
    yield f"{key} = {name}"
    other = {ours: their for ours, their in each.mapping.items() if ours != their}
    if other:
        yield mapping_text(other, Layout())
    if "easting_m" in each.mapping:
        yield 'crs = "EPSG:…"'
