"""What an analyser should show, as pictures and a table: for the page of a feed and the sheet of a visit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.digits import spoken, true_minus
from combe.publishing.document import Part, Picture, Section, Table, Words
from combe.publishing.fields import UNITS, Field, flag, many, number, text
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.spectrum import PointSpectrum, SpectrumScreen, SpectrumSignal

TITLE: Final = "What an analyser should show"

SPECTRUM: Final = many(
    "spectrum",
    text("test_point"),
    number("resolution_khz", get="analyser.resolution_khz"),
    number("analyser_noise_figure_db", get="analyser.noise_figure_db"),
    text("left_out", meaning="what stands there and is not known"),
    many(
        "screens",
        number("start_mhz", get="screen.start_mhz"),
        number("stop_mhz", get="screen.stop_mhz"),
        number("reference_dbm", get="screen.reference_dbm", meaning="the upper edge; 10 dB a square"),
        many(
            "signals",
            text("signal"),
            text("part"),
            text("whose", meaning="wanted, other station or own output"),
            number("frequency_mhz", meaning="of its middle"),
            number("width_mhz", null="a carrier"),
            number("power_dbm", meaning="of the part, at peak sync where peak_sync says so"),
            number("level_dbm", meaning="in the resolution bandwidth"),
            number("noise_dbm", null="not known"),
            number("over_noise_db", null="not known"),
            flag("peak_sync"),
        ),
    ),
    null="not asked for",
)
"""The fields of what stands at the test points of one station."""


class _Row(NamedTuple):
    """A signal with its number on the screen, and where that is."""

    number: int
    place: str
    signal: SpectrumSignal


def _columns(points: Sequence[PointSpectrum]) -> tuple[Field, ...]:
    resolution = tell("in {resolution_khz:g} kHz", resolution_khz=points[0].analyser.resolution_khz)
    return (
        text("", "no.", lambda row: str(row.number)),
        text("", "signal", lambda row: row.signal.signal, under=lambda row: _part(row.signal)),
        text("", "whose", lambda row: row.signal.whose),
        number("", "frequency", lambda row: row.signal.frequency_mhz, unit=UNITS["mhz"]._replace(decimals=3)),
        number("", "width", lambda row: row.signal.width_mhz, unit=UNITS["mhz"]._replace(decimals=2)),
        number("", "power", lambda row: row.signal.power_dbm, unit=UNITS["dbm"]),
        number("", resolution, lambda row: row.signal.level_dbm, unit=UNITS["dbm"]),
        number("", "over noise", lambda row: row.signal.over_noise_db, unit=UNITS["db"]),
    )


def _part(signal: SpectrumSignal) -> str:
    """Return which part of a signal a row is, where it has more than one."""
    if signal.part == "block":
        return ""
    return tell("{part}, peak sync", part=signal.part) if signal.peak_sync else signal.part


def spectrum_section(
    points: Sequence[PointSpectrum] | None, *, of: str = "", new_sheet: bool = False
) -> tuple[Section, ...]:
    """Return what an analyser should show at the test points of a station; nothing where it was not asked."""
    shown = [point for point in points or () if point.screens]
    if not shown:
        return ()
    rows = tuple(row for point in shown for row in _rows(point))
    parts: list[Part] = [_picture(point, screen) for point in shown for screen in point.screens]
    parts += [
        Table("Signals at the test points", _columns(shown), rows, group="place"),
        Words(tuple(_notes(shown, rows))),
    ]
    title = tell("{title}: {of}", title=TITLE, of=of) if of else TITLE
    return (Section(title, tuple(parts), new_sheet=new_sheet),)


def _rows(point: PointSpectrum) -> Iterable[_Row]:
    for screen in point.screens:
        for at, signal in enumerate(screen.signals, start=1):
            yield _Row(at, _place(point, screen), signal)


def _place(point: PointSpectrum, screen: SpectrumScreen) -> str:
    """Return the test point, with the band where it has screens of several."""
    edges = tell(
        "{start_mhz:g} to {stop_mhz:g} MHz",
        start_mhz=screen.screen.start_mhz,
        stop_mhz=screen.screen.stop_mhz,
    )
    return (
        point.test_point
        if len(point.screens) == 1
        else tell("{test_point}, {edges}", test_point=point.test_point, edges=edges)
    )


def _picture(point: PointSpectrum, screen: SpectrumScreen) -> Picture:
    told = joined(
        "; ",
        (
            tell(
                "{signal}{part} {level_dbm} dBm",
                signal=each.signal,
                part=tell(" {part}", part=_part(each)) if _part(each) else "",
                level_dbm=spoken(each.level_dbm, 1),
            )
            for each in screen.signals
        ),
    )
    words = tell(
        "Screen of an analyser at the {place}: {told}. The table has the same.",
        place=_place(point, screen),
        told=told,
    )
    return Picture(lambda: _drawn(point, screen), true_minus(words), _place(point, screen))


def _drawn(point: PointSpectrum, screen: SpectrumScreen) -> str:
    from combe.publishing.spectrum_diagram import SpectrumDrawing, SpectrumMark, spectrum_svg

    marks = (
        SpectrumMark(
            at,
            tell("{signal} {part}", signal=each.signal, part=each.part) if _part(each) else each.signal,
            each.whose,
            each.frequency_mhz - (each.width_mhz or 0.0) / 2.0,
            each.frequency_mhz + (each.width_mhz or 0.0) / 2.0,
            each.level_dbm,
        )
        for at, each in enumerate(screen.signals, start=1)
    )
    edges = screen.screen
    return spectrum_svg(
        SpectrumDrawing(
            edges.start_mhz,
            edges.stop_mhz,
            edges.reference_dbm,
            edges.noise_dbm,
            point.analyser.resolution_khz,
            edges.frequency_mhz,
            edges.level_dbm,
            tuple(marks),
        )
    )


def _notes(points: Sequence[PointSpectrum], rows: Sequence[_Row]) -> Iterable[str]:
    analyser = points[0].analyser
    yield (
        tell(
            "Medians of time in a resolution bandwidth (RBW) of {resolution_khz:g} kHz, as a detector"
            " for root mean squares shows them; a peak detector shows a digital signal some 10 dB higher"
            " (common practice). A block of power P over B stands at P − 10 log(B/RBW). Noise is that of"
            " the chain there and of an analyser with a noise figure of {noise_figure_db:g} dB"
            " (common practice).",
            resolution_khz=analyser.resolution_khz,
            noise_figure_db=analyser.noise_figure_db,
        )
    )
    if any(row.signal.peak_sync for row in rows):
        yield (
            "Vision is told at peak sync. With less than 300 kHz an analyser shows it some decibels lower,"
            " towards its mean (common practice). Sound 10 dB, full colour 16 dB and digital sound 20 dB"
            " under peak sync are usual values (from memory); the licence prevails."
        )
    yield from dict.fromkeys(point.left_out for point in points if point.left_out)
