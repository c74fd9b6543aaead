"""Writes what was fetched into a study: its files, credit and datum, every other word and comment left alone.

A study that was only just begun has no ground and is at fault until it has; so it is read here as plain TOML.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

import pyproj
import tomlkit
from tomlkit.items import Table as TomlTable

from combe.errors import RangeError, StudyError
from combe.files import write_bytes_atomically
from combe.geodesy import ellipsoid
from combe.ground import Box, Fetched, GroundReport, checked_box, padded
from combe.study.claims import SPEAKS_OF, mark_of
from combe.study.crosscheck import section_of
from combe.terrain import transformer, utm_crs

USUAL_AROUND_KM: Final = 30.0
_MARGIN_KM: Final = 1.0
_KM_A_DEG: Final = 111.0
_NO_PLACE: Final = (
    "it says nowhere where it lies; write [grid] area_deg, a station, or ask with --bbox W,S,E,N"
)
_NO_COVER: Final = "cover was fetched and not entered: on a surface model trees would count twice"


class Entered(NamedTuple):
    """What was written into a study, key by key, and what was not and why."""

    keys: tuple[str, ...]
    remarks: tuple[str, ...]


def read_plain(path: Path) -> tuple[str, dict[str, Any]]:
    """Return text and table of a study file with whatever faults it has.

    Raises
    ------
    StudyError
        A file that is not there, or no TOML.
    """
    try:
        text = path.read_bytes().decode("utf-8")
        return text, tomllib.loads(text.removeprefix("\ufeff"))
    except FileNotFoundError:
        raise StudyError(path, ["there is no such file; make one with: combe new DIR"]) from None
    except (OSError, ValueError) as fault:
        raise StudyError(path, [f"it cannot be read ({fault})"]) from None


def box_of_study(path: Path, around_km: float = USUAL_AROUND_KM) -> Box:
    """Return the box of degrees that a study needs ground for: its grid, corners and all, and its stations.

    Without an area it is what lies around its stations.
    """
    table = read_plain(path)[1]
    grid = section_of(table, "grid")
    stations = table.get("stations")
    rows = [each for each in stations if isinstance(each, Mapping)] if isinstance(stations, list) else []
    places = [(lon, lat) for each in rows if (lon := _number(each, "longitude_deg")) is not None
              and (lat := _number(each, "latitude_deg")) is not None]  # fmt: skip
    area = grid.get("area_deg")
    try:
        if isinstance(area, list) and len(area) == 4:
            boxes = [_of_grid(checked_box(*map(float, area)), grid.get("crs"))]
            boxes += [(lon, lat, lon, lat) for lon, lat in places]
        else:
            boxes = [_around(lon, lat, around_km) for lon, lat in places]
    except (RangeError, TypeError, ValueError, pyproj.exceptions.ProjError) as fault:
        raise StudyError(path, [f"grid: {fault}"]) from None
    if not boxes:
        raise StudyError(path, [_NO_PLACE])
    return checked_box(*_joined(boxes))


def enter(path: Path, report: GroundReport) -> Entered:
    """Write the rasters of a report into a study; its text is replaced whole or not at all."""
    text, before = read_plain(path)
    document = tomlkit.parse(text.removeprefix("\ufeff"))
    entries, remarks = _entries(path, report, before)
    keys: list[str] = []
    for section, values in entries.items():
        table = document.get(section)
        if not isinstance(table, TomlTable):
            continue
        for key, value in values.items():
            if value is None:
                table.pop(key, None)
            else:
                table[key] = value
    written = tomlkit.dumps(document)
    new = {section: values for section, values in entries.items() if section not in before}
    written = _with_sections(written, new)
    for section, values in entries.items():
        keys += [f"{section}.{key}" for key, value in values.items() if value is not None]
    after = tomllib.loads(written)
    assert {key: after[key] for key in before if key not in entries} == {
        key: before[key] for key in before if key not in entries
    }, "what was not fetched stays as it was"
    write_bytes_atomically(path, written.encode())
    return Entered(tuple(keys), tuple(remarks))


def _entries(
    path: Path, report: GroundReport, before: Mapping[str, Any]
) -> tuple[dict[str, dict[str, Any]], list[str]]:
    """Return the keys of each section, None for those that go, and what to know of them."""
    entries: dict[str, dict[str, Any]] = {}
    remarks: list[str] = []
    if terrain := report.of("elevation"):
        entries["terrain"] = _terrain(path, terrain, section_of(before, "terrain"))
    if people := report.of("people"):
        others: dict[str, Any] = {
            key: None for key in ("points", "density_per_km2") if key in section_of(before, "people")
        }
        if not people[0].source.counts:
            others["density_per_km2"] = True
        entries["people"] = {"raster": _name(path, people[0]), **others}
        if section_of(before, "study").get("invented") is True:
            remarks.append(
                "the study says that something in it is invented; the people that were fetched are not"
            )
        if section_of(before, "study").get(SPEAKS_OF):
            remarks.append(
                f"[study] {SPEAKS_OF} names what note and invented were written of: look at it again"
            )
    if sea := report.of("sea"):
        remarks.append(
            "sea that lies outside the box is not known; coastal land near its edge may count as inland"
        )
        gone = {key: None for key in ("raster", "polygons") if key in section_of(before, "zones")}
        entries["zones"] = {
            **gone,
            "sea": [_name(path, each) for each in sea],
            "sea_codes": list(sea[0].source.sea_codes),
        }
    if cover := report.of("cover"):
        surface = any(each.source.surface for each in terrain) if terrain else _surface(before)
        if surface and not section_of(before, "clutter").get("allow_on_surface_model"):
            remarks.append(_NO_COVER)
        else:
            entries["clutter"] = _clutter(path, cover[0], section_of(before, "clutter"))
    return entries, remarks


def _terrain(path: Path, rasters: tuple[Fetched, ...], before: Mapping[str, Any]) -> dict[str, Any]:
    names = [_name(path, each) for each in rasters]
    marked = [f"{name} #{mark_of(each.file.read_bytes())}" for name, each in zip(names, rasters, strict=True)]
    credits = dict.fromkeys(
        f"{each.source.title} ({each.source.year}): {each.source.credit}" for each in rasters
    )
    credit = "; ".join(credits)
    if len(credit) > 500:
        credit = "; ".join(dict.fromkeys(each.source.credit for each in rasters))[:500]
    datums = dict.fromkeys(each.source.vertical_datum for each in rasters)
    bed = any(each.source.sea_floor for each in rasters)
    gone = {key: None for key in ("crs", "sea_floor") if key in before}
    return {
        **gone,
        **({"sea_floor": True} if bed else {}),
        "tiles": names,
        "vertical_datum": "; ".join(datums),
        "surface_model": any(each.source.surface for each in rasters),
        "credit": credit,
        SPEAKS_OF: marked,
    }


def _clutter(path: Path, cover: Fetched, before: Mapping[str, Any]) -> dict[str, Any]:
    """Return the keys of cover: classes with their legend, or heights."""
    legend = cover.source.legend
    gone = {key: None for key in ("legend", "canopy", "heights") if key in before}
    return {"raster": _name(path, cover), **gone, **({"legend": legend} if legend else {"canopy": True})}


def _surface(table: Mapping[str, Any]) -> bool:
    return section_of(table, "terrain").get("surface_model") is True


def _name(path: Path, raster: Fetched) -> str:
    """Return what a raster is called in the study: from its folder, with slashes."""
    here, there = path.parent.resolve(), raster.file.resolve()
    return (there.relative_to(here) if there.is_relative_to(here) else there).as_posix()


def _with_sections(text: str, sections: Mapping[str, Mapping[str, Any]]) -> str:
    """Return a study with new sections before the first list of tables, where they are looked for."""
    if not sections:
        return text
    made = tomlkit.document()
    for section, values in sections.items():
        table = tomlkit.table()
        for key, value in values.items():
            if value is not None:
                table[key] = value
        made[section] = table
    block = tomlkit.dumps(made).strip() + "\n\n"
    lines = text.splitlines(keepends=True)
    at = _place_for_sections(lines)
    head, rest = "".join(lines[:at]), "".join(lines[at:])
    head = head if not head or head.endswith("\n") else f"{head}\n"
    gap = "" if not head or head.endswith("\n\n") else "\n"
    candidate = f"{head}{gap}{block}{rest.lstrip()}"
    try:
        tomllib.loads(candidate)
    except tomllib.TOMLDecodeError:
        # Two brackets may begin a line within a list or a long text: then behind all the rest.
        return f"{text.rstrip()}\n\n{block}"
    return candidate


def _place_for_sections(lines: list[str]) -> int:
    """Return before which line new sections are put."""
    listed = next((number for number, line in enumerate(lines) if line.lstrip().startswith("[[")), None)
    if listed is not None:
        # Comments right above a table belong to it.
        while listed and lines[listed - 1].startswith("#"):
            listed -= 1
        return listed
    # Keys that are not in use stand as comments below their table, down to a blank line.
    written = [number for number, line in enumerate(lines) if line.strip() and not line.startswith("#")]
    at = written[-1] if written else 0
    while at < len(lines) and lines[at].strip():
        at += 1
    return at


def _number(table: Mapping[str, Any], key: str) -> float | None:
    value = table.get(key)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _of_grid(area: Box, crs: object) -> Box:
    """Return the box of the grid over an area: its rectangle in metres reaches over the area's corners."""
    system = (
        pyproj.CRS(crs)
        if isinstance(crs, str) and crs != "auto"
        else utm_crs((area[0] + area[2]) / 2.0, (area[1] + area[3]) / 2.0)
    )
    there = transformer(pyproj.CRS("EPSG:4326"), system)
    west, south, east, north = there.transform_bounds(*area)
    back = transformer(system, pyproj.CRS("EPSG:4326"))
    corners = back.transform_bounds(west, south, east, north)
    turned = (corners[0], corners[1], corners[2] + 360.0 * (corners[2] < corners[0]), corners[3])
    return padded(turned, _MARGIN_KM / _KM_A_DEG)


def _around(lon: float, lat: float, around_km: float) -> Box:
    ends = [ellipsoid().fwd(lon, lat, bearing, around_km * 1000.0) for bearing in (0.0, 90.0)]
    up, out = abs(ends[0][1] - lat), (ends[1][0] - lon) % 360.0
    return lon - out, lat - up, lon + out, lat + up


def _joined(boxes: Iterable[Box]) -> Box:
    """Return the smallest box around several, those across 180° counted on."""
    first, *others = boxes
    west, south, east, north = first
    for each in others:
        turn = 360.0 * round((west - each[0]) / 360.0)
        west, east = min(west, each[0] + turn), max(east, each[2] + turn)
        south, north = min(south, each[1]), max(north, each[3])
    turn = 360.0 * (west < -180.0)
    return west + turn, south, east + turn, north
