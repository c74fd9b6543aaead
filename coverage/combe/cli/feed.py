"""``combe feed``: works out whether each relay hears its parent well enough."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.reporting import (
    ReportCommand,
    Shown,
    analyser_noise_option,
    default_out,
    out_option,
    report_options_in_folder,
    resolution_option,
    study_argument,
)


def _heights(
    ctx: click.Context, param: click.Parameter, value: str | None
) -> tuple[float, float, float] | None:
    """Return the three numbers of FROM:TO:STEP, or fail with an example."""
    if value is None:
        return None
    try:
        low_m, high_m, step_m = (float(part) for part in value.split(":"))
    except ValueError:
        words = f"{value!r} is no FROM:TO:STEP in metres; write for example 5:30:1"
        raise click.BadParameter(words, ctx, param) from None
    return low_m, high_m, step_m


def _shares(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[float, ...]:
    """Return the shares of the year of all options together, each a number or some with commas between."""
    parts = [part.strip() for each in value for part in each.split(",")]
    try:
        return tuple(float(part) for part in parts)
    except ValueError:
        words = f"{','.join(parts)!r} is no share of the year in %; write for example 99 or 99,99.9"
        raise click.BadParameter(words, ctx, param) from None


@click.command("feed", cls=ReportCommand)
@study_argument
@out_option
@click.option(
    "--time-percent",
    "time_percents",
    callback=_shares,
    multiple=True,
    metavar="PERCENT[,PERCENT]",
    help="Share of an average year for which the margin has to stand, 50 to 99.999; of several, the greatest "
    "is judged.  [default: as the study says]",
)
@click.option(
    "--receive-height",
    callback=_heights,
    metavar="FROM:TO:STEP",
    help="Scan the height of the receiving aerial [m]: is the field climbing or in a null?",
)
@click.option(
    "--best-bearing", is_flag=True, help="Search the receiving aerial's best bearing against other stations."
)
@click.option(
    "--advice/--no-advice",
    default=True,
    show_default=True,
    help="Where a feed fails, try greater heights, more gain and other parents.",
)
@resolution_option
@analyser_noise_option
@report_options_in_folder
def command(
    study: Path,
    out: Path | None,
    time_percents: tuple[float, ...],
    receive_height: tuple[float, float, float] | None,
    best_bearing: bool,
    advice: bool,
    resolution_khz: float,
    analyser_noise_db: float,
    shown: Shown,
) -> int:
    """Work out the off-air feed of each relay through its whole chain, and name what fails it.

    Writes feed.html. Leaves with 1 when any service of any relay fails, or cannot be judged. Field, levels
    and C/N are medians of time; the margin is judged for the share of an average year that the study asks,
    after the fade of ITU-R P.2001-4. Other stations of the study count with their fields for 1 % of time
    against the median, and with their medians against the fade. A service that keeps its channel is always
    judged by the loop that it makes, at the gain of the fade. What a study does not state is null in the
    JSON, and is not judged. Where a feed fails, a higher aerial, more gain and other parents are tried, each
    judged as the feed is.
    """
    from combe.answers.feed import feed_report
    from combe.answers.feed_advice import with_advice
    from combe.answers.scan import scan_heights
    from combe.answers.spectrum import with_spectra
    from combe.files import ensure_folder
    from combe.reception import Analyser
    from combe.reports.feed import document
    from combe.study.project_of import load_project

    loaded = load_project(study)
    heights_m = () if receive_height is None else scan_heights(*receive_height)
    folder = ensure_folder(out or default_out(study))
    shares = time_percents or None
    report = feed_report(loaded, time_percent=shares, heights_m=heights_m, best_bearing=best_bearing)
    report = with_advice(report) if advice else report
    report = with_spectra(report, Analyser(resolution_khz, analyser_noise_db))
    return shown.show(document(report), folder / "feed.html", folder=folder)
