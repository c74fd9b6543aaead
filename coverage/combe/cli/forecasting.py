"""The forecast of a command: said on standard error before long work, or alone where only that is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from combe.digits import for_terminal

if TYPE_CHECKING:
    from combe.answers.forecast import Forecast

forecast_option = click.option(
    "--forecast", "only_forecast", is_flag=True, help="Only tell how much work it is, and stop."
)
"""The switch that stops before the work."""


def tell_forecast(forecast: Forecast) -> Forecast:
    """Say on standard error what lies ahead where it is long.

    Raises
    ------
    MemoryNeedError
        Work that takes more memory than the machine has.
    """
    from combe.answers.forecast import require_memory
    from combe.reports.forecast import forecast_lines

    require_memory(forecast)
    if forecast.worth_telling:
        for line in forecast_lines(forecast):
            click.echo(f"combe: {for_terminal(line)}", err=True)
    return forecast


def show_forecast(forecast: Forecast, *, as_json: bool) -> int:
    """Print the forecast alone; leaves with 1 where the machine has not the memory."""
    from combe.answers.forecast import too_much
    from combe.cli.reporting import print_json, say
    from combe.reports.forecast import FORECAST, forecast_lines

    if as_json:
        print_json({"forecast": {each.key: getattr(forecast, each.key) for each in FORECAST.fields}})
    else:
        for line in forecast_lines(forecast):
            say(line)
    return int(too_much(forecast.memory_mib))
