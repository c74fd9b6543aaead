"""``combe desk``: opens a study in the browser, to be changed there with its answers beside it."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from combe.cli.browser import show_address
from combe.cli.forecasting import forecast_option, show_forecast, tell_forecast
from combe.cli.reporting import json_option, study_argument

if TYPE_CHECKING:
    from collections.abc import Callable

    from combe.answers.forecast import Forecast
    from combe.desk.protocol import Session

LIBRARIES: Final = ("starlette", "uvicorn")
"""What the extra brings, and nothing else of Combe needs."""

LOWEST_PORT: Final = 1024
"""Those below are for the system's own services."""


@click.command("desk")
@study_argument
@click.option(
    "--port",
    type=click.IntRange(LOWEST_PORT, 65535),
    metavar="N",
    help="Port of the address, from 1024 to 65535.  [default: one that is free]",
)
@click.option("--no-open", is_flag=True, help="Only print the address, and open no browser.")
@forecast_option
@json_option
def command(study: Path, port: int | None, no_open: bool, only_forecast: bool, as_json: bool) -> int:
    r"""Move stations on a map in the browser, and see at once whom they serve.

    The first line printed is the address. Only this machine can reach it, and it holds a secret word: who has
    it has the desk. The desk runs until Ctrl-C, and the study file stays as it is until it is saved there.

    How much work the first coverage is, is told beforehand. One desk has a study at a time. It takes the
    extra: pip install "combe[desk]".

    \b
    JSON: address, study (printed once, on the first line, when the desk is open)
    """
    _require_libraries()
    from combe.desk.lock import only_desk
    from combe.desk.server import Desk
    from combe.errors import StudyError
    from combe.library import check_file
    from combe.study.project_of import NO_STATIONS

    if not check_file(study).stations:
        raise StudyError(study, [NO_STATIONS])
    ahead = _forecast(study)
    if only_forecast and ahead is not None:
        return show_forecast(ahead, as_json=as_json)
    if ahead is not None:
        tell_forecast(ahead)
    with only_desk(study) as told_to_others, Desk(port or 0) as desk:
        told_to_others(desk.place)
        _tell(desk.address, study, as_json=as_json)
        if not no_open:
            show_address(desk.address)
        desk.serve(lambda told: _session(study, told))
    return 0


def _forecast(study: Path) -> Forecast | None:
    """Return what the first coverage takes; None of a study that is to be mended at the desk first."""
    from combe.answers.forecast_rates import cover_forecast
    from combe.errors import CombeError
    from combe.study.project_of import load_project

    try:
        return cover_forecast(load_project(study), "desk")
    except CombeError:
        return None


def _require_libraries() -> None:
    """Raise MissingLibraryError unless what the extra brings is there."""
    from combe.errors import MissingLibraryError

    for library in LIBRARIES:
        if importlib.util.find_spec(library) is None:
            raise MissingLibraryError(library, "combe desk", 'pip install "combe[desk]"')


def _tell(address: str, study: Path, *, as_json: bool) -> None:
    """Print where the desk is; who reads it from a pipe has it at once."""
    if as_json:
        click.echo(json.dumps({"address": address, "study": str(study)}))
    else:
        click.echo(f"{address}\nThe desk of {study} is open at this address; end it with Ctrl-C.")


def _session(study: Path, told: Callable[[str], None]) -> Session:
    """Open the study; what that loads takes a while, and the address is there already."""
    from combe.desk.session import open_session

    return open_session(study, told)
