"""``combe site``: scores every hill as the site of a relay, and proposes the best, alone and together."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import cache_option, json_option, no_cache_option, out_option, study_argument
from combe.cli.output import (
    default_out,
    print_cautions,
    print_json,
    print_made_by,
    print_table,
    say,
)
from combe.cli.progress import progress

if TYPE_CHECKING:
    from combe.answers.site_report import SiteReport


@click.command("site")
@study_argument
@out_option
@cache_option
@no_cache_option
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Score on the Dask cluster whose scheduler listens there, such as tcp://host:8786.",
)
@click.option(
    "--compare",
    nargs=2,
    type=click.IntRange(min=1),
    metavar="I J",
    help="Also write a page with hills I and J of the list side by side.",
)
@json_option
def command(
    study: Path,
    out: Path | None,
    cache: Path | None,
    no_cache: bool,
    cluster: str | None,
    compare: tuple[int, int] | None,
    as_json: bool,
) -> None:
    r"""Score every hill as the site of a relay; list the best, and the best sets.

    A hill has to hear a parent with the margin asked, and to keep the study's rules for a mast. It is worth
    the people whom a relay there would newly serve in all services, less those who would lose a service
    from another station. Writes site.html with the map of all hills, a page for each hill of the list, and
    site.gpkg. A run that was stopped goes on where it was.

    \b
    JSON: study, title, invented, hills, targets, seconds, hills_per_second, people_unserved,
      funnel[]{rule, cells_left},
      list[]{rank, longitude_deg, latitude_deg, ground_m, above_valley_m, slope_deg, access_m, parent,
        parent_km, search_margin_db, feed[]{service, input_dbm, carrier_to_noise_db, search_margin_db},
        judged_margin_db (of the feed as combe feed has it; null where it is not judged), feed_verdict
        (passes, not judged or fails), feed_causes[], feed_not_judged[],
        people (by the search), people_counted (whole coverage), people_alone (by no other of the list),
        people_harmed (null where interference is not counted), score (people less harmed), pattern,
        azimuth_deg, services[]{name, channel, erp_w}, exposure_m, cost (null where the study gives none),
        reasons[], page (path)},
      sets[]{sites, people, people_harmed, score, score_greedy, bound, gap_fraction (null: nothing proved)},
      chosen[]{longitude_deg, latitude_deg, adds, pattern, azimuth_deg, erp_w[], down_db, radiated_db (mean
        over all bearings) and spill_db (of those beside the people served), against omni at full ERP; all
        three null where nobody depends on the site alone},
      for_share{sites, people, people_harmed, cost, gap_fraction}, further[]{longitude_deg, latitude_deg,
        feeds_from, margin_db, people, harmed}, own_relays[]{name, people (by the search), better_hills,
        words},
      failures[]{first, last, words}, map (path), vector (path), comparison (path), provenance{}, cautions[]
    """
    from combe.answers.site_report import site_report
    from combe.cli.site_content import write_site_files
    from combe.cli.site_json import site_json
    from combe.files import ensure_folder
    from combe.prediction.field_store import usual_folder
    from combe.study.project_of import load_project

    loaded = load_project(study)
    folder = ensure_folder(out or default_out(study))
    kept = None if no_cache else cache or usual_folder()
    with progress() as told:
        report = site_report(
            loaded, folder / "siting", progress=told, runner=_runner(cluster), cache_folder=kept
        )
    files = write_site_files(report, folder, compare)
    if as_json:
        print_json(site_json(report, files))
        return
    print_site(report)
    for path in (files.map_page, *files.hill_pages, *files.comparison, files.vector):
        click.echo(f"written: {path}")
    print_cautions()


def _runner(cluster: str | None) -> Any:
    if cluster is None:
        return None
    from combe.planning.siting.cluster import on_cluster

    return on_cluster(cluster)


def print_site(report: SiteReport) -> None:
    """Print how many hills were searched, the list, the sets, and what became of the study's own relays."""
    from combe.cli.site_words import (
        funnel_lines,
        list_table,
        meaning_words,
        own_lines,
        set_lines,
        speed_words,
    )

    say(report.work.project.title)
    for line in (*funnel_lines(report), speed_words(report)):
        say(f"  {line}")
    say()
    heads, rows = list_table(report)
    print_table(heads, rows)
    if rows:
        say(f"  {meaning_words(heads)}")
    for candidate in report.candidates[:1]:
        say("\nHill 1 comes first because it")
        for reason in candidate.reasons:
            say(f"  - {reason}")
    say()
    for line in (*set_lines(report), *own_lines(report)):
        say(f"  {line}")
    print_made_by(report.provenance, "television", "time of service")
    say()
