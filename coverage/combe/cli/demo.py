"""``combe demo``: does the whole job on the shipped sample and tells what came out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import click

from combe.cli.options import json_option
from combe.cli.output import print_cautions, print_json, print_table, say
from combe.cli.progress import progress
from combe.digits import spoken

if TYPE_CHECKING:
    from combe.answers.check import CheckReport
    from combe.answers.cover import CoverReport
    from combe.answers.feed import FeedReport
    from combe.answers.feed_service import ServiceFeed
    from combe.answers.model_change import ModelChange, StationChange
    from combe.answers.site_report import SiteReport


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
def command(out: Path, as_json: bool) -> None:
    r"""Do the whole job on the shipped sample: check, feed, cover, site.

    The ground is real; the stations and the people are invented. Writes map.html, feed.html and a GeoTIFF
    for each service of each station, and the pages of the siting into a folder of their own.

    \b
    JSON: feed{as of combe feed}, cover{as of combe cover}, site{as of combe site}
    """
    from combe.answers.check import check_report
    from combe.answers.cover import cover_report
    from combe.answers.feed import feed_report
    from combe.answers.model_change import model_change, time_change
    from combe.answers.site_report import site_report
    from combe.cli.cover import cover_json
    from combe.cli.cover_files import write_cover_files
    from combe.cli.feed_content import write_feed_page
    from combe.cli.feed_json import feed_json
    from combe.cli.site_content import write_site_files
    from combe.cli.site_json import site_json
    from combe.planning.siting import REHEARSAL
    from combe.publishing.files import ensure_folder
    from combe.rehearsing import rehearsed_meanwhile
    from combe.study.project_of import load_project
    from combe.study.samples import demo_study_path

    project = load_project(demo_study_path())
    folder = ensure_folder(out)
    with progress() as told:
        with rehearsed_meanwhile(REHEARSAL):
            checked, feed = check_report(project), feed_report(project)
            page = write_feed_page(feed, folder / "feed.html")
            cover = cover_report(project, told)
            by_diffraction = model_change(cover, "p526", progress=told)
            for_little_time = time_change(cover, 1.0)
            files = write_cover_files(cover, folder)
        with TemporaryDirectory() as blocks:
            site = site_report(project, Path(blocks), progress=told)
    hills = write_site_files(site, folder / "site")
    if as_json:
        parts = {"feed": feed_json(feed, page), "cover": cover_json(cover, files)}
        print_json(parts | {"site": site_json(site, hills)})
        return
    _tell(checked, feed, cover)
    _tell_changes(by_diffraction, for_little_time)
    _tell_sites(site)
    click.echo(
        f"\nOpen {files.map_page}, {page} and {hills.map_page} in a browser; the rasters lie beside them."
    )
    click.echo("Next: combe new DIR")
    print_cautions()


def _tell(checked: CheckReport, feed: FeedReport, cover: CoverReport) -> None:
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
    people = cover.all_services.people
    if people is not None:
        say(
            f"  cover  of {spoken(people.total)} people, {spoken(people.served_before)} have all services "
            f"from the parents alone and {spoken(people.newly_served)} more with the relays, "
            f"{spoken(people.unserved)} not"
        )


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


def _tell_sites(site: SiteReport) -> None:
    """Tell the best sites of all hills, and what became of the study's own relay."""
    from combe.cli.site_words import list_table, own_words

    search = site.work.search
    say(
        f"  site   {spoken(search.hills.size)} hills hear the parent well enough and "
        f"stand over the valleys; the best {len(site.candidates)} as relays:"
    )
    print_table(*list_table(site))
    for own in site.own:
        say(f"         {own_words(own)}")
