"""``combe channels``: ranks output channels for each relay, and assigns them to all relays at once."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from combe.cli.forecasting import forecast_option, show_forecast, tell_forecast
from combe.cli.reporting import ReportCommand, Shown, report_options, study_argument


class _Channels(click.ParamType):  # type: ignore[type-arg]
    """Channels such as 21-37,40."""

    name = "CHANNELS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the numbers."""
        found: list[int] = []
        for part in str(value).split(","):
            ends = re.fullmatch(r"\s*(\d{1,3})\s*(?:-\s*(\d{1,3})\s*)?", part, re.ASCII)
            if ends is None:
                self.fail(f"{value!r} is no list of channels; write for example 21-37,40", param, ctx)
            first, last = int(ends[1]), int(ends[2] or ends[1])
            if first > last:
                self.fail(f"{part.strip()!r} ends before it begins; write {last}-{first}", param, ctx)
            found += range(first, last + 1)
        return tuple(dict.fromkeys(found))


@click.command("channels", cls=ReportCommand)
@study_argument
@click.option("--relay", "relays", multiple=True, metavar="NAME", help="Only this relay; may be repeated.")
@click.option("--channels", type=_Channels(), metavar="LIST", help="Channels that may be used: 21-37,40.")
@click.option(
    "--best",
    type=click.IntRange(1, 100),
    default=6,
    show_default=True,
    help="Channels of each output to show with --full and on the page.",
)
@forecast_option
@report_options
def command(
    study: Path,
    relays: tuple[str, ...],
    channels: tuple[int, ...] | None,
    best: int,
    only_forecast: bool,
    shown: Shown,
) -> int:
    """Rank the output channels of relays by the people they harm, and assign them.

    A channel is rejected that is not free at the receive site, or troubles the relay's own receiver.
    The rest is ranked by harm out (people of other stations who fall below the standard) and harm
    in (people whom the relay would newly serve, were it not for interference); a person counts once
    for each service; of equal harm the channel that newly serves most comes first. Several outputs
    are assigned together, by an integer programme that harms the fewest people; outputs of one relay
    keep protection ratios, and their third-order products keep off its inputs. Leaves with 1 when
    no assignment is possible.
    """
    import time

    from combe.answers.channels import channels_report
    from combe.answers.forecast_rates import cover_forecast
    from combe.reports.channels import document
    from combe.study.project_of import load_project

    loaded = load_project(study)
    started = time.monotonic()
    ahead = cover_forecast(loaded, "channels")
    if only_forecast:
        return show_forecast(ahead, as_json=shown.as_json)
    tell_forecast(ahead)
    report = channels_report(loaded, relays, channels)
    report = replace(report, forecast=ahead.after(time.monotonic() - started))
    return shown.show(document(report, best))
