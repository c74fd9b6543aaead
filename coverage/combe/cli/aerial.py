"""``combe aerial``: works an aerial out from its parts, and writes its patterns as CSV."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from combe.cli.reporting import ReportCommand, Shown, default_out, report_options
from combe.publishing.text import file_stems

if TYPE_CHECKING:
    from combe.project import Project
    from combe.stations import AerialDesign

_NUMBERS: Final = (
    ("--spacing", "spacing_wavelengths", "Between the middles of neighbours [wavelengths].  [default: 1]"),
    ("--edge", "edge_db", "Current at the ends against the middle [dB], 0 or less: the taper."),
    ("--tilt", "tilt_deg", "Beam below the horizontal [degrees]."),
    ("--null-fill", "null_fill_percent", "Field left in the first nulls [% of the beam]."),
    ("--boresight", "boresight_deg", "Bearing of the front [degrees from true north]."),
    ("--loss", "loss_db", "Loss of the harness [dB]."),
    ("--gain", "gain_dbi", "Yagis: gain of one [dBi]."),
    ("--horizontal-width", "horizontal_beamwidth_deg", "Yagis: half-power width of one [degrees]."),
    ("--vertical-width", "vertical_beamwidth_deg", "Yagis: half-power width of one [degrees]."),
    ("--front-to-back", "front_to_back_db", "Level behind an element under its beam [dB].  [default: 20]"),
    ("--opening", "opening_deg", "Trough: 180, 90, 60 or 45 [degrees].  [default: 90]"),
    ("--distance", "distance_wavelengths", "Trough, panels: dipole to edge or reflector [wavelengths]."),
    ("--radius", "radius_wavelengths", "Panels around a mast: its middle to a panel [wavelengths]."),
)
_YAGI_NEEDS: Final = ("gain_dbi", "horizontal_beamwidth_deg", "vertical_beamwidth_deg")
_LISTS: Final = (
    ("--bearings", "bearings_deg", "Panels around a mast: bearing of each [degrees], as 0,120,240."),
    ("--amplitudes", "amplitudes", "Panels around a mast: relative field of each."),
    ("--phases", "phases_deg", "Panels around a mast: phase lead of each [degrees]."),
)


def _list(ctx: click.Context, param: click.Parameter, value: str | None) -> tuple[float, ...] | None:
    """Return numbers with commas between them, or fail with an example."""
    if value is None:
        return None
    try:
        return tuple(float(part) for part in value.split(","))
    except ValueError:
        raise click.BadParameter(
            f"{value!r} is no list of numbers; write for example 0,120,240", ctx, param
        ) from None


def _design_options(function: Any) -> Any:
    """Add the options that describe an aerial, in the order of the tables above."""
    for flag, name, text in reversed(_LISTS):
        function = click.option(flag, name, callback=_list, metavar="LIST", help=text)(function)
    for flag, name, text in reversed(_NUMBERS):
        function = click.option(flag, name, type=float, metavar="NUMBER", help=text)(function)
    return function


@click.command("aerial", cls=ReportCommand)
@click.argument("study", type=click.Path(path_type=Path), metavar="[STUDY]", required=False)
@click.option("--station", metavar="NAME", help="The station whose [stations.array] is worked out.")
@click.option(
    "--kind",
    type=click.Choice(["dipoles", "yagis", "trough", "panels"]),
    help="What the aerial is made of, where no study says it.",
)
@click.option("--count", type=int, metavar="NUMBER", help="Elements on the line.  [default: 1]")
@click.option("--polarization", type=click.Choice(["horizontal", "vertical"]), help="[default: horizontal]")
@click.option(
    "--direction", type=click.Choice(["upwards", "sideways"]), help="Dipoles, yagis: how the line runs."
)
@_design_options
@click.option("--name", metavar="TEXT", help="Start of the file names.  [default: the station or the kind]")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the files.  [default: results, beside the study; without one, here]",
)
@report_options
def command(
    study: Path | None, station: str | None, name: str | None, out: Path | None, shown: Shown, **given: Any
) -> int:
    """Work out an aerial from its parts: gain, beamwidths, nulls, patterns.

    Writes NAME_horizontal.csv and NAME_vertical.csv, which horizontal_pattern and vertical_pattern of a
    station take. Dipoles, stacked yagis, a trough of dipoles, or panels around a mast; from options, or from
    the [stations.array] table of a study.
    """
    from combe.files import ensure_folder
    from combe.reports.aerial import document
    from combe.stations import work_out_design, write_pattern

    options = {key: value for key, value in given.items() if value is not None}
    loaded, design, called = _asked(study, station, options)
    worked = work_out_design(design)
    folder = ensure_folder(out or (default_out(study) if study else Path()))
    (stem,) = file_stems([[name or called]])
    files = {plane: folder / f"{stem}_{plane}.csv" for plane in ("horizontal", "vertical")}
    write_pattern(files["horizontal"], worked.aerial.horizontal_pattern)
    write_pattern(files["vertical"], worked.aerial.vertical_pattern)
    answer = document(worked, design, loaded, called)
    answer = answer.with_files(**{f"{plane}_pattern": path for plane, path in files.items()})
    return shown.show(replace(answer, next_words=_to_use(files, study)))


def _asked(
    study: Path | None, station: str | None, options: dict[str, Any]
) -> tuple[Project | None, AerialDesign, str]:
    """Return the study, the design of its station or of the options, and what to call it."""
    from combe.stations import AerialDesign

    if study is None:
        if "kind" not in options:
            raise click.UsageError("say what the aerial is made of with --kind, or name a study")
        if station is not None:
            raise click.UsageError("--station goes with a study; name one, or leave it out")
        _require_options(options)
        return None, AerialDesign(**options), options["kind"]
    if options:
        flags = ", ".join(sorted(options))
        raise click.UsageError(f"the study says what the aerial is; leave out {flags}, or the study")
    from combe.answers.aerial import design_of
    from combe.study.project_of import load_project

    loaded = load_project(study)
    return loaded, *design_of(loaded, station)


def _require_options(options: dict[str, Any]) -> None:
    """Name the options that a yagi has to be described by and that are not there."""
    needed = {name: flag for flag, name, _ in _NUMBERS if name in _YAGI_NEEDS}
    missing = [flag for name, flag in needed.items() if name not in options]
    if options["kind"] == "yagis" and missing:
        raise click.UsageError(f"--kind yagis also needs {', '.join(missing)}: those of one yagi")


def _to_use(files: dict[str, Path], study: Path | None) -> tuple[str, ...]:
    """Return the lines that make the station of a study take the patterns."""
    if study is None:
        return ()
    lines = [f'  {plane}_pattern = "{_beside(path, study)}"' for plane, path in files.items()]
    return ("To use them, write under the station in the study:", *lines)


def _beside(path: Path, study: Path) -> str:
    """Return a file's name as the study takes it, relative to the study where it lies under it."""
    folder = study.parent.resolve()
    full = path.resolve()
    return (full.relative_to(folder) if full.is_relative_to(folder) else full).as_posix()
