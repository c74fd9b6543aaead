"""The document of an aerial worked out from its parts: gain, beam, nulls, patterns, what is left out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from combe.digits import spoken
from combe.publishing.document import Document, Facts, Form, Picture, Section, StudyNamed, Words
from combe.publishing.fields import Field, many, number, one, text, texts
from combe.version import __version__
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.project import Project
    from combe.stations import AerialDesign, Minimum, Pattern, WorkedOutAerial

_FULL_NULL_DB: Final = -100.0
_LOBES_SHOWN: Final = 4
_NO_FALL: Final = "does not fall by 3 dB"


def _beamwidth(plane: str) -> Field:
    key = f"{plane}_beamwidth_deg"
    null = "the pattern does not fall by 3 dB"
    return number(key, tell("{plane} beamwidth", plane=plane), f"aerial.{key}", null=null, absent=_NO_FALL)


def _null(way: str) -> Field:
    fields = number("angle_deg", meaning="elevation"), number("level_db", meaning="against the beam")
    return one(f"null_{way}", *fields, null="there is none")


FORM: Final = Form(
    "aerial",
    (
        text("name", get="aerial.name"),
        number("gain_dbi", "gain", "aerial.gain_dbi", decimals=2),
        number("gain_dbd", "gain over a half-wave dipole", "aerial.gain_dbd", decimals=2),
        number("beam_bearing_deg", "bearing of the beam", "aerial.beam_bearing_deg"),
        number("beam_elevation_deg", "elevation of the beam", "aerial.beam_elevation_deg", decimals=2),
        _beamwidth("horizontal"),
        _beamwidth("vertical"),
        number("horizontal_ripple_db", "horizontal pattern falls at most by", "ripple_db"),
        _null("above"),
        _null("below"),
        many(
            "grating_lobes",
            number(
                "angle_deg",
                "angle",
                meaning="elevation, or bearing off the front of a line that runs sideways",
            ),
            number("level_db", "level"),
            meaning="those within 3 dB of the beam",
        ),
        texts("omits", get="aerial.omits", meaning="what the model leaves out"),
    ),
    files=(("horizontal_pattern", ""), ("vertical_pattern", ""), ("page", "without --html")),
)

_FACTS: Final = (
    *(
        FORM[key]
        for key in (
            "gain_dbi", "gain_dbd", "beam_bearing_deg", "beam_elevation_deg", "horizontal_beamwidth_deg",
            "vertical_beamwidth_deg",
        )
    ),
    text("", "first null above", lambda worked: _null_words(worked.null_above)),
    text("", "first null below", lambda worked: _null_words(worked.null_below)),
    FORM["horizontal_ripple_db"],
)  # fmt: skip


def document(
    worked: WorkedOutAerial, design: AerialDesign, project: Project | None = None, station: str = ""
) -> Document:
    """Return the document of an aerial; of a station of a study where there is one."""
    aerial = worked.aerial
    return Document(
        form=FORM,
        answer=worked,
        title=tell("aerial of {station}: {name}", station=station, name=aerial.name)
        if project
        else tell("aerial: {name}", name=aerial.name),
        headline=_headline(worked, design),
        parts=(
            Facts(_FACTS, worked, title="Beam and nulls", brief=True),
            Section(
                "Patterns",
                (
                    _picture("horizontal", aerial.horizontal_pattern, "around the mast, north upwards"),
                    _picture("vertical", aerial.vertical_pattern, "by elevation, at the beam's bearing"),
                ),
                beside=True,
            ),
            Words(aerial.omits, "Left out by the model", listed=True),
        ),
        study=_named(project),
        made_by={
            "program": tell("Combe {version__}", version__=__version__),
            "patterns": "from the design alone, relative to the beam",
        },
    )


def _named(project: Project | None) -> StudyNamed | None:
    if project is None:
        return None
    invented = "The stations of this study are invented." if project.invented else ""
    return StudyNamed(project.key, project.title, project.note, invented)


def _headline(worked: WorkedOutAerial, design: AerialDesign) -> tuple[str, ...]:
    aerial = worked.aerial
    widths = joined(
        ", ",
        (
            tell(
                "{plane} {no_fall}",
                plane=plane,
                no_fall=_NO_FALL if width is None else tell("{width}°", width=spoken(width, 1)),
            )
            for plane, width in (
                ("horizontal", aerial.horizontal_beamwidth_deg),
                ("vertical", aerial.vertical_beamwidth_deg),
            )
        ),
    )
    said = tell(
        "Gain {gain_dbi:.2f} dBi, {gain_dbd:.2f} dBd; beam bearing "
        "{beam_bearing_deg}°, elevation {beam_elevation_deg}°; "
        "beamwidth {widths}",
        gain_dbi=aerial.gain_dbi,
        gain_dbd=aerial.gain_dbd,
        beam_bearing_deg=spoken(aerial.beam_bearing_deg, 1),
        beam_elevation_deg=spoken(aerial.beam_elevation_deg, 2),
        widths=widths,
    )
    return (said, *_warnings(worked, design))


def _warnings(worked: WorkedOutAerial, design: AerialDesign) -> tuple[str, ...]:
    """Warn of lobes nearly as strong as the beam, which the spacing lets stand."""
    from combe.stations import clear_spacing_wavelengths, line_direction

    lobes = worked.grating_lobes
    if not lobes:
        return ()
    angle = "elevation" if line_direction(design) == "upwards" else "bearing off the front"
    shown = joined(
        ", ",
        (
            tell(
                "{angle_deg}° ({level_db:+.1f} dB)",
                angle_deg=spoken(lobe.angle_deg, 1),
                level_db=lobe.level_db,
            )
            for lobe in lobes[:_LOBES_SHOWN]
        ),
    )
    more = tell(" and {lobes} more", lobes=len(lobes) - _LOBES_SHOWN) if len(lobes) > _LOBES_SHOWN else ""
    return (
        tell(
            "Warning: grating lobes within 3 dB of the beam, {angle} {shown}{more}: "
            "the elements are {spacing_wavelengths:g} wavelengths apart; none stands as strong as the "
            "beam if they are under {clear_spacing_wavelengths:.2f}",
            angle=angle,
            shown=shown,
            more=more,
            spacing_wavelengths=design.spacing_wavelengths,
            clear_spacing_wavelengths=clear_spacing_wavelengths(design),
        ),
    )


def _null_words(minimum: Minimum | None) -> str:
    if minimum is None:
        return "none"
    level = (
        "a full null"
        if minimum.level_db < _FULL_NULL_DB
        else tell("{level_db} dB", level_db=spoken(minimum.level_db, 1))
    )
    return tell("at elevation {angle_deg}°, {level}", angle_deg=spoken(minimum.angle_deg, 2), level=level)


def _picture(plane: str, pattern: Pattern, how: str) -> Picture:
    words = tell("The {plane} pattern, {how}: level against the beam in decibels.", plane=plane, how=how)
    return Picture(
        lambda: _drawn(plane, pattern), words, title=tell("{plane}, {how}", plane=plane.capitalize(), how=how)
    )


def _drawn(plane: str, pattern: Pattern) -> Any:
    from combe.publishing import pattern_diagram

    draw = pattern_diagram.horizontal_svg if plane == "horizontal" else pattern_diagram.vertical_svg
    return draw(pattern.angle_deg, pattern.relative_db)
