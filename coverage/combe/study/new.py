"""Makes a folder with a new study: a commented, working copy of the demo, or the study of one's own place."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from combe.errors import OutputError
from combe.study.claims import renamed
from combe.study.cover_schema import ClutterSection
from combe.study.feed_schema import FeedSection
from combe.study.file import Study, beside, load_study
from combe.study.map_schema import MapSection
from combe.study.own_study import USUAL_RADIUS_KM, OwnStudy, own_study
from combe.study.schema import AirSection, StationSection, StudyFile
from combe.study.section import OMNI
from combe.study.siting_schema import siting_files, with_files_named
from combe.study.template import study_text
from combe.study.zones_schema import ZonesSection, zone_files
from combe.terrain import sample_folder


def demo_study_path() -> Path:
    """Return the study file of the demo; raises RasterError where the samples are not installed."""
    return sample_folder() / "demo" / "study.toml"


STUDY_NAME = "study.toml"
_ON_A_FILE = "it, or a part of its path, is a file and no folder"
_PEOPLE_KEYS = ("raster", "points", "districts")


def new_study(
    folder: Path | str,
    example: Path | None = None,
    *,
    at: tuple[float, float] | None = None,
    radius_km: float = USUAL_RADIUS_KM,
    system: str | None = None,
    country: str | None = None,
) -> Path:
    """Write a study to start from and the files it names into a folder, all of them or none.

    Parameters
    ----------
    folder
        Made if it is not there; files already in it are never overwritten.
    example
        The study to copy, with a comment at each key; the demo's unless given.
    at
        Longitude and latitude [degrees] of a place of one's own, whose study is written in place of a copy.
    radius_km, system, country
        How far that reaches to each side, and its television, as of :func:`own_study`.

    Returns
    -------
    Path
        The new study file.

    Raises
    ------
    OutputError
        When the folder holds a study or a file of the same name already, or cannot be written.
    RangeError
        A place, radius, system or country that cannot be used.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     text = new_study(folder, at=(11.5, 46.9), country="AT").read_text("utf-8")
    >>> 'crs = "EPSG:32632"' in text
    True
    """
    if at is not None:
        return new_own_study(Path(folder), own_study(*at, radius_km, system=system, country=country))
    return _made(Path(folder), partial(_stage, load_study(example or demo_study_path())))


def new_own_study(folder: Path, own: OwnStudy) -> Path:
    """Write the study of a place of one's own into a folder; the rest is as of :func:`new_study`."""

    def stage(staging: Path) -> list[str]:
        (staging / STUDY_NAME).write_text(own.text, encoding="utf-8")
        return [STUDY_NAME]

    return _made(folder, stage)


def _made(folder: Path, stage: Callable[[Path], list[str]]) -> Path:
    """Have files made in a passing folder, and move all of them or none."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".new-") as staging:
            names = stage(Path(staging))
            _refuse_overwriting(folder, names)
            for name in names:
                (Path(staging) / name).rename(folder / name)
    except OutputError:
        raise
    except OSError as error:
        on_a_file = isinstance(error, FileExistsError | NotADirectoryError)
        problem = _ON_A_FILE if on_a_file else error.strerror or str(error)
        raise OutputError(folder, problem, "name another folder") from None
    return folder / STUDY_NAME


def _stage(study: Study, staging: Path) -> list[str]:
    """Copy everything into the staging folder, read it back, and return the names, the study last."""
    names = {name: Path(name).name for name in files_named(study.content)}
    for source, target in names.items():
        shutil.copyfile(beside(study, source), staging / target)
    rows = {study.rows.name: [each["name"] for each in study.rows.stations]} if study.rows else {}
    (staging / STUDY_NAME).write_text(study_text(_renamed(study, names, rows)), encoding="utf-8")
    load_study(staging / STUDY_NAME)
    return [*names.values(), STUDY_NAME]


def _refuse_overwriting(folder: Path, names: list[str]) -> None:
    for name in reversed(names):
        if (folder / name).exists():
            raise OutputError(folder / name, "it is already there", "name a folder without it")


def files_named(content: StudyFile) -> list[str]:
    """Return the names of all files that a study needs, each once."""
    found = [tile for each in (content.terrain, *content.terrain.beyond) for tile in each.tiles]
    found += _people_files(content)
    if content.clutter:
        found += [content.clutter.raster, *([content.clutter.heights] if content.clutter.heights else [])]
    found += zone_files(content.zones)
    found += [content.survey.points] if content.survey else []
    found += siting_files(content.siting) if content.siting else []
    found += [content.coordination.points] if content.coordination else []
    found += [each.path for each in content.map.context] if content.map else []
    for station in content.stations:
        found += [p for p in (station.horizontal_pattern, station.vertical_pattern) if p != OMNI]
        found += [p for p in [_receive_pattern(station)] if p]
    return list(dict.fromkeys(found))


def _people_files(content: StudyFile) -> list[str]:
    names = [getattr(content.people, key) for key in _PEOPLE_KEYS] if content.people else []
    return [name for name in names if name is not None]


def _renamed(study: Study, names: dict[str, str], rows: dict[str, list[str]]) -> StudyFile:
    """Return the study with its files called by their new names; ``rows`` as those of ``renamed``."""
    content, folder = study.content, study.path.parent
    new = {OMNI: OMNI} | names
    stations = tuple(
        station.model_copy(
            update={
                "horizontal_pattern": new[station.horizontal_pattern],
                "vertical_pattern": new[station.vertical_pattern],
                "feed": _feed(station, new),
            }
        )
        for station in content.stations
    )
    people = content.people and content.people.model_copy(
        update={key: new[name] for key in _PEOPLE_KEYS if (name := getattr(content.people, key)) is not None}
    )
    about, ground = content.study, content.terrain
    called = {
        "study": about.model_copy(update={"speaks_of": renamed(about.speaks_of, names, rows)}),
        "terrain": ground.model_copy(
            update={
                "tiles": tuple(new[tile] for tile in ground.tiles),
                "speaks_of": renamed(ground.speaks_of, names, rows),
                "beyond": tuple(
                    each.model_copy(update={"tiles": tuple(new[tile] for tile in each.tiles)})
                    for each in ground.beyond
                ),
            }
        ),
        "clutter": _cover(content, new),
        "zones": _zones(content, new),
        "air": _air(content, folder),
        "people": people,
        "survey": content.survey and content.survey.model_copy(update={"points": new[content.survey.points]}),
        "siting": content.siting and with_files_named(content.siting, new),
        "coordination": content.coordination
        and content.coordination.model_copy(update={"points": new[content.coordination.points]}),
        "map": _map(content, new),
        "stations": stations,
    }
    return content.model_copy(update=called)


def _receive_pattern(station: StationSection) -> str | None:
    aerial = station.feed.aerial if station.feed else None
    return aerial.pattern if aerial else None


def _feed(station: StationSection, new: dict[str, str]) -> FeedSection | None:
    """Return the feed with the pattern of its aerial called by its new name."""
    name, feed = _receive_pattern(station), station.feed
    if feed is None or feed.aerial is None or name is None:
        return feed
    return feed.model_copy(update={"aerial": feed.aerial.model_copy(update={"pattern": new[name]})})


def _cover(content: StudyFile, new: dict[str, str]) -> ClutterSection | None:
    """Return the section of ground cover with its files called by their new names."""
    cover = content.clutter
    if cover is None:
        return None
    heights = new[cover.heights] if cover.heights else None
    return cover.model_copy(update={"raster": new[cover.raster], "heights": heights})


def _air(content: StudyFile, folder: Path) -> AirSection:
    """Return the air, its maps named where they lie: nobody may pass them on, so they are not copied."""
    named = content.air.climate_maps
    there = None if named is None else str((folder / named).resolve())
    return content.air.model_copy(update={"climate_maps": there})


def _zones(content: StudyFile, new: dict[str, str]) -> ZonesSection | None:
    """Return the section of zones with its files called by their new names."""
    zones = content.zones
    if zones is None:
        return None
    single = {key: new[name] for key in ("raster", "lakes") if (name := getattr(zones, key)) is not None}
    return zones.model_copy(update={**single, "sea": tuple(new[name] for name in zones.sea)})


def _map(content: StudyFile, new: dict[str, str]) -> MapSection | None:
    """Return the section on the map with its files called by their new names."""
    if content.map is None:
        return None
    called = tuple(each.model_copy(update={"path": new[each.path]}) for each in content.map.context)
    return content.map.model_copy(update={"context": called})
