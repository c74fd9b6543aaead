"""``combe demo``: does the whole job on the shipped sample and tells what came out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import click

from combe.cli.browser import open_page
from combe.cli.progress import progress
from combe.cli.reporting import json_option, open_option, print_cautions, print_json, say
from combe.digits import spoken

if TYPE_CHECKING:
    from combe.answers.check import CheckReport
    from combe.answers.feed import FeedReport
    from combe.answers.feed_service import ServiceFeed
    from combe.answers.model_change import ModelChange, StationChange
    from combe.answers.site_report import SiteReport
    from combe.publishing.document import Document


@click.command("demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("maps"),
    show_default=True,
    metavar="DIR",
    help="Folder for the pages and rasters; made if it is not there.",
)
@json_option
@open_option
def command(out: Path, as_json: bool, opened: bool) -> None:
    r"""Do the whole job on the shipped sample: check, feed, cover, site.

    The ground is real; the stations and the people are invented. Writes map.html, feed.html and a GeoTIFF
    for each service of each station, and the pages of the siting into a folder of their own; index.html
    leads to all of them.

    \b
    JSON: feed{as of combe feed}, cover{as of combe cover}, site{as of combe site}
    """
    from combe.answers.check import check_report
    from combe.answers.cover import cover_report
    from combe.answers.feed import feed_report
    from combe.answers.feed_advice import with_advice
    from combe.answers.model_change import model_change, time_change
    from combe.answers.site_report import site_report
    from combe.answers.spectrum import with_spectra
    from combe.files import ensure_folder
    from combe.planning.siting import REHEARSAL
    from combe.publishing.as_html import write_page
    from combe.publishing.as_json import as_object
    from combe.publishing.page_about import INDEX_NAME
    from combe.reception import USUAL_ANALYSER
    from combe.rehearsing import rehearsed_meanwhile
    from combe.reports.cover import document as cover_document
    from combe.reports.cover_files import write_cover_files
    from combe.reports.feed import document as feed_document
    from combe.reports.index import write_index
    from combe.reports.site import document as site_document
    from combe.reports.site_files import write_site_files
    from combe.study.new import demo_study_path
    from combe.study.project_of import load_project

    project = load_project(demo_study_path())
    folder = ensure_folder(out)
    index = folder / INDEX_NAME
    with progress() as told:
        with rehearsed_meanwhile(REHEARSAL):
            checked, feed = (
                check_report(project),
                with_spectra(with_advice(feed_report(project)), USUAL_ANALYSER),
            )
            page, heard = folder / "feed.html", feed_document(feed)
            write_page(heard, page, index=index)
            cover = cover_report(project, told, feeds=True)
            by_diffraction = model_change(cover, "p526", progress=told)
            for_little_time = time_change(cover, 1.0)
            files = write_cover_files(cover, folder, index=index)
        with TemporaryDirectory() as blocks:
            site = site_report(project, Path(blocks), progress=told)
    hills = write_site_files(site, folder / "site", index=index)
    write_index(folder)
    if opened:
        open_page(index)
    if as_json:
        parts = {"feed": as_object(heard.with_files(page=page))}
        parts["cover"] = as_object(cover_document(cover, files))
        parts["site"] = as_object(site_document(site, hills))
        print_json(parts)
        return
    _tell(checked, feed, cover_document(cover).headline)
    _tell_changes(by_diffraction, for_little_time)
    _tell_sites(site, site_document(site))
    click.echo(f"\nOpen {index} in a browser: it leads to map, feed and hills; the rasters lie beside it.")
    click.echo("Next: combe new DIR")
    print_cautions()


def _tell(checked: CheckReport, feed: FeedReport, covered: Sequence[str]) -> None:
    """Tell the story of the study in a few lines."""
    say(f"{checked.project.title}")
    say(f"{checked.provenance['terrain']}. {checked.provenance.get('invented', '')}")
    say(f"  check  no faults; {checked.provenance['grid']}")
    for relay in feed.relays:
        worst = relay.scantiest
        say(
            f"  feed   {relay.relay.name} hears {relay.parent.name} over {worst.budget.distance_km:.1f} km "
            f"and {relay.verdict}: {worst.reason}"
        )
        _tell_input(worst)
    for line in covered:
        say(f"  cover  {line}")


def _tell_input(worst: ServiceFeed) -> None:
    """Tell where a service sits at the receiver's input, and what the relay's own output does there."""
    if worst.window is not None:
        say(
            f"         {worst.received.name} comes in at {worst.window.median_dbm:.1f} dBm; "
            f"{worst.window.reason}"
        )
    if worst.own_outputs:
        loudest = max(worst.own_outputs, key=lambda row: row.level_dbm)
        say(f"         the relay's own {loudest.service} is {loudest.level_dbm:.1f} dBm at the same aerial")


def _tell_changes(by_diffraction: ModelChange, for_little_time: Sequence[StationChange]) -> None:
    """Tell what P.1812 changes against diffraction alone, and what it adds for a small share of time."""
    if by_diffraction.served_before is not None and by_diffraction.newly_served is not None:
        say(
            "  model  P.1812; by diffraction alone (P.526) it would be "
            f"{spoken(by_diffraction.served_before)} people and {spoken(by_diffraction.newly_served)} more"
        )
    for median, little in zip(by_diffraction.stations, for_little_time, strict=True):
        say(
            f"         {median.station}: {median.median_db:+.2f} dB against P.526 in the median of time; "
            f"for 1 % of time {-little.median_db:.1f} dB more in the median cell, "
            f"at most {-little.lowest_db:.1f} dB"
        )


def _tell_sites(site: SiteReport, told: Document) -> None:
    """Tell the best sites of all hills, and what became of the study's own relay."""
    from combe.publishing.as_text import table_lines
    from combe.publishing.document import Table
    from combe.reports.site_words import own_words

    search = site.work.search
    say(
        f"  site   {spoken(search.hills.size)} hills hear the parent well enough and "
        f"stand over the valleys; the best {len(site.candidates)} as relays:"
    )
    for line in table_lines(next(part for part in told.parts if isinstance(part, Table))):
        click.echo(line)
    for own in site.own:
        say(f"         {own_words(own)}")
