"""``combe ground fetch``: gets open elevation, people and cover for a study, and writes them into it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.progress import progress
from combe.cli.reporting import ReportCommand, Shown, report_options

if TYPE_CHECKING:
    from combe.ground import Ask, Kind, Places, Source

_NONE = "none"
_FOLDER = "ground"


@click.command("fetch", cls=ReportCommand, ways={"": "ground_fetch"})
@click.argument("study", type=click.Path(path_type=Path), metavar="[STUDY]", required=False)
@click.option("--bbox", metavar="W,S,E,N", help="Box in degrees, in place of a study's own; needs --out.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the rasters.  [default: ground, beside the study]",
)
@click.option(
    "--elevation",
    default="copernicus-30",
    show_default=True,
    metavar="SOURCE",
    help="Heights; none for none.",
)
@click.option(
    "--people", default="ghs-pop", show_default=True, metavar="SOURCE", help="People; none for none."
)
@click.option(
    "--cover", default=_NONE, show_default=True, metavar="SOURCE", help="What stands on bare ground."
)
@click.option("--sea", default=_NONE, show_default=True, metavar="SOURCE", help="Where the sea is.")
@click.option(
    "--country",
    "countries",
    multiple=True,
    metavar="ISO",
    help="Country of data with a file a country; repeatable.",
)
@click.option("--year", default="", metavar="YEAR", help="Year of the people.  [default: that of the source]")
@click.option(
    "--sources",
    "own",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Further sources, TOML as combe guide data tells.",
)
@click.option(
    "--from",
    "origins",
    multiple=True,
    metavar="PLACE",
    help="Folder, or address, of the same files; repeatable.",
)
@click.option(
    "--missing-is-sea", is_flag=True, help="Take tiles that the folders of --from lack as open sea."
)
@click.option("--offline", is_flag=True, help="Ask no server: take what the cache or a folder has.")
@click.option("--yes", is_flag=True, help="Fetch however much it is.")
@click.option(
    "--limit-mb",
    type=float,
    default=300.0,
    show_default=True,
    metavar="MB",
    help="Most to fetch without --yes.",
)
@click.option(
    "--at-once", type=click.IntRange(1, 8), default=2, show_default=True, metavar="N", help="Files at a time."
)
@click.option(
    "--patience-s",
    type=float,
    default=120.0,
    show_default=True,
    metavar="S",
    help="How long a server may be silent.",
)
@click.option(
    "--cache",
    type=click.Path(path_type=Path),
    metavar="DIR",
    envvar="COMBE_GROUND_CACHE",
    show_envvar=True,
    help="Folder that keeps what was fetched, for all studies.  [default: in the user's cache folder]",
)
@report_options
def command(
    study: Path | None,
    bbox: str | None,
    out: Path | None,
    yes: bool,
    limit_mb: float,
    at_once: int,
    shown: Shown,
    **given: Any,
) -> int:
    """Fetch open elevation and people for a study, and write them into it.

    Which files are needed follows from the study's area and stations. What is to come is told before it
    begins. Files are kept for other studies, and a fetch that was broken off goes on where it stopped. Each
    raster is cut to the area, and has a record beside it: where from, when, how much, whose. In the study
    only what was fetched is written; all else in it, comments too, stays as it is.
    """
    from combe.ground import carry_out, check_limit, known_sources, plan
    from combe.reports.ground_fetch import document
    from combe.study.ground_entries import enter

    folder = _folder(study, bbox, out)
    table = known_sources(given["own"])
    places, table = _places(table, given)
    planned = plan(table, _ask(study, bbox, given), places)
    if planned.files:
        click.echo(f"combe: {planned.words}", err=True)
    if not yes:
        check_limit(planned, limit_mb)
    with progress() as tell:
        report = carry_out(planned, places, folder, at_once=at_once, tell=tell)
    entered = None if study is None else enter(study, report)
    return shown.show(document(report, study, entered))


def _folder(study: Path | None, bbox: str | None, out: Path | None) -> Path:
    """Return the folder for the rasters."""
    if study is None and (bbox is None or out is None):
        raise click.UsageError("name a study file, or a box with --bbox W,S,E,N and a folder with --out DIR")
    if out is not None:
        return out
    assert study is not None, "without a study a folder is named"
    return study.parent / _FOLDER


def _ask(study: Path | None, bbox: str | None, given: dict[str, Any]) -> Ask:
    from combe.ground import KINDS, Ask
    from combe.study.ground_entries import box_of_study

    wanted: dict[Kind, str] = {kind: given[kind] for kind in KINDS if given[kind] != _NONE}
    if not wanted:
        raise click.UsageError("nothing is wanted; name a source with --elevation, --people or --cover")
    if bbox is not None:
        box = _box(bbox)
    else:
        assert study is not None, "without a study there is a box"
        box = box_of_study(study)
    return Ask(box, wanted, tuple(given["countries"]), given["year"])


def _box(text: str) -> tuple[float, float, float, float]:
    from combe.ground import checked_box

    try:
        west, south, east, north = (float(each) for each in text.split(","))
    except ValueError:
        raise click.UsageError(f"--bbox is {text!r}; write four numbers: W,S,E,N in degrees") from None
    return checked_box(west, south, east, north)


def _places(table: dict[str, Source], given: dict[str, Any]) -> tuple[Places, dict[str, Source]]:
    """Return where files may come from, and the sources with the addresses of the user's mirrors."""
    from combe.ground import Cache, Places, Web, default_folder, with_bases

    bases = [each if each.endswith("/") else f"{each}/" for each in given["origins"] if "://" in each]
    folders = tuple(Path(each) for each in given["origins"] if "://" not in each)
    for folder in folders:
        if not folder.is_dir():
            raise click.UsageError(f"--from {folder}: there is no such folder")
    if bases and folders:
        raise click.UsageError("--from takes folders or addresses, not both at once")
    if bases:
        table = {name: with_bases(each, bases) for name, each in table.items()}
    web = None if given["offline"] or folders else Web(read_s=given["patience_s"])
    cache = Cache(given["cache"] or default_folder())
    return Places(cache, folders, web, given["missing_is_sea"]), table
