"""``combe aerial``: works an aerial out from its parts, and writes its patterns as CSV."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from combe.cli.options import json_option
from combe.cli.output import default_out, print_cautions, print_json, say
from combe.publishing.file_names import file_stems

if TYPE_CHECKING:
    from combe.stations.beam import Minimum
    from combe.stations.design import AerialDesign, WorkedOutAerial

_FULL_NULL_DB: Final = -100.0
_LOBES_SHOWN: Final = 4

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


@click.command("aerial")
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
@json_option
def command(
    study: Path | None, station: str | None, name: str | None, out: Path | None, as_json: bool, **given: Any
) -> None:
    r"""Work out an aerial from its parts: gain, beamwidths, nulls, patterns.

    Writes NAME_horizontal.csv and NAME_vertical.csv, which horizontal_pattern and vertical_pattern of a
    station take. Dipoles, stacked yagis, a trough of dipoles, or panels around a mast; from options, or from
    the [stations.array] table of a study.

    \b
    JSON: name, gain_dbi, gain_dbd, beam_bearing_deg, beam_elevation_deg, horizontal_beamwidth_deg,
      vertical_beamwidth_deg (null where the pattern does not fall by 3 dB), horizontal_ripple_db,
      null_above{angle_deg, level_db} and null_below{} (null where there is none),
      grating_lobes[]{angle_deg (elevation, or bearing off the front of a line that runs sideways),
        level_db} (those within 3 dB of the beam), omits[] (what the model leaves out),
      horizontal_pattern, vertical_pattern (paths), cautions[]
    """
    from combe.publishing.files import ensure_folder
    from combe.stations.design import work_out_design
    from combe.stations.pattern_file import write_pattern

    options = {key: value for key, value in given.items() if value is not None}
    design, called = _asked(study, station, options)
    worked = work_out_design(design)
    folder = ensure_folder(out or (default_out(study) if study else Path()))
    (stem,) = file_stems([[name or called]])
    files = [folder / f"{stem}_{plane}.csv" for plane in ("horizontal", "vertical")]
    for path, pattern in zip(
        files, (worked.aerial.horizontal_pattern, worked.aerial.vertical_pattern), strict=True
    ):
        write_pattern(path, pattern)
    if as_json:
        print_json(_as_json(worked, files))
    else:
        _print(design, worked, files, study)
        print_cautions()


def _asked(study: Path | None, station: str | None, options: dict[str, Any]) -> tuple[AerialDesign, str]:
    """Return the design of the study's station or of the options, and what to call it."""
    from combe.stations.design import AerialDesign

    if study is None:
        if "kind" not in options:
            raise click.UsageError("say what the aerial is made of with --kind, or name a study")
        if station is not None:
            raise click.UsageError("--station goes with a study; name one, or leave it out")
        _require_options(options)
        return AerialDesign(**options), options["kind"]
    if options:
        flags = ", ".join(sorted(options))
        raise click.UsageError(f"the study says what the aerial is; leave out {flags}, or the study")
    from combe.answers.aerial import design_of
    from combe.study.project_of import load_project

    return design_of(load_project(study), station)


def _require_options(options: dict[str, Any]) -> None:
    """Name the options that a yagi has to be described by and that are not there."""
    needed = {name: flag for flag, name, _ in _NUMBERS if name in _YAGI_NEEDS}
    missing = [flag for name, flag in needed.items() if name not in options]
    if options["kind"] == "yagis" and missing:
        raise click.UsageError(f"--kind yagis also needs {', '.join(missing)}: those of one yagi")


def _as_json(worked: WorkedOutAerial, files: list[Path]) -> dict[str, Any]:
    from combe.publishing.cautions import CAUTIONS

    aerial = worked.aerial
    return {
        "name": aerial.name,
        "gain_dbi": aerial.gain_dbi,
        "gain_dbd": aerial.gain_dbd,
        "beam_bearing_deg": aerial.beam_bearing_deg,
        "beam_elevation_deg": aerial.beam_elevation_deg,
        "horizontal_beamwidth_deg": aerial.horizontal_beamwidth_deg,
        "vertical_beamwidth_deg": aerial.vertical_beamwidth_deg,
        "horizontal_ripple_db": worked.ripple_db,
        "null_above": worked.null_above and worked.null_above._asdict(),
        "null_below": worked.null_below and worked.null_below._asdict(),
        "grating_lobes": [lobe._asdict() for lobe in worked.grating_lobes],
        "omits": aerial.omits,
        "horizontal_pattern": files[0].resolve(),
        "vertical_pattern": files[1].resolve(),
        "cautions": CAUTIONS,
    }


def _print(design: AerialDesign, worked: WorkedOutAerial, files: list[Path], study: Path | None) -> None:
    aerial = worked.aerial
    say(aerial.name)
    say(f"  gain                  {aerial.gain_dbi:.2f} dBi, {aerial.gain_dbd:.2f} dBd")
    say(
        f"  beam                  bearing {aerial.beam_bearing_deg:.1f}°, "
        f"elevation {aerial.beam_elevation_deg + 0.0:.2f}°"
    )
    say(f"  horizontal beamwidth  {_width(aerial.horizontal_beamwidth_deg)}")
    say(f"  vertical beamwidth    {_width(aerial.vertical_beamwidth_deg)}")
    say(f"  first null above      {_null(worked.null_above)}")
    say(f"  first null below      {_null(worked.null_below)}")
    say(f"  horizontal pattern    falls by {worked.ripple_db:.1f} dB at most")
    _print_grating_lobes(design, worked)
    say("Left out by the model:")
    for words in aerial.omits:
        say(f"  - {words}")
    for path in files:
        click.echo(f"written: {path}")
    if study is not None:
        say("To use them, write under the station in the study:")
        for path, plane in zip(files, ("horizontal", "vertical"), strict=True):
            click.echo(f'  {plane}_pattern = "{_beside(path, study)}"')


def _print_grating_lobes(design: AerialDesign, worked: WorkedOutAerial) -> None:
    """Warn of lobes nearly as strong as the beam, which the spacing lets stand."""
    from combe.stations.design import clear_spacing_wavelengths, line_direction

    if not worked.grating_lobes:
        return
    angle = "elevation" if line_direction(design) == "upwards" else "bearing off the front"
    lobes = worked.grating_lobes
    shown = ", ".join(
        f"{lobe.angle_deg + 0.0:.1f}° ({lobe.level_db:+.1f} dB)" for lobe in lobes[:_LOBES_SHOWN]
    )
    more = len(lobes) - _LOBES_SHOWN
    words = (
        f"grating lobes within 3 dB of the beam, {angle} {shown}{f' and {more} more' if more > 0 else ''}: "
        f"the elements are {design.spacing_wavelengths:g} wavelengths apart; none stands as strong as the "
        f"beam if they are under {clear_spacing_wavelengths(design):.2f}"
    )
    say(click.wrap_text(f"warning: {words.replace('-', '−')}", width=96, subsequent_indent="  "))


def _beside(path: Path, study: Path) -> str:
    """Return a file's name as the study takes it, relative to the study where it lies under it."""
    folder = study.parent.resolve()
    full = path.resolve()
    return (full.relative_to(folder) if full.is_relative_to(folder) else full).as_posix()


def _width(width_deg: float | None) -> str:
    return "does not fall by 3 dB" if width_deg is None else f"{width_deg:.1f}°"


def _null(minimum: Minimum | None) -> str:
    if minimum is None:
        return "none"
    level = "a full null" if minimum.level_db < _FULL_NULL_DB else f"{minimum.level_db:.1f} dB"
    return f"at elevation {minimum.angle_deg:.2f}°, {level}"
