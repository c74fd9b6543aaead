"""Draws a screen of an analyser: ten squares each way, the line, and the signals under it by number."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from combe.errors import RangeError
from combe.publishing.diagram import ACCENT, INK, PAPER, RULE, SOFT
from combe.publishing.page_language import retold
from combe.publishing.text import encode, number, shortened
from combe.words import Digits, tell

Whose = Literal["wanted", "other station", "own output"]

_COLOURS: Final[dict[Whose, str]] = {"wanted": "#14505c", "other station": "#6b4c9a", "own output": ACCENT}
_DIVISIONS: Final = 10
_DIVISION_DB: Final = 10.0
_WIDTH, _HEIGHT = 720.0, 360.0
_LEFT, _TOP = 58.0, 30.0
_LINE_PT: Final = 16.0
_COLUMNS: Final = 3
_LONGEST: Final = 26
_NEAR_PT: Final = 15.0
_FONT: Final = 'font-family="Source Sans 3, Noto Sans, DejaVu Sans, sans-serif"'


@dataclass(frozen=True)
class SpectrumMark:
    """A signal on the screen: its number in the table, whose it is, its edges [MHz] and its level [dBm].

    A carrier has edges that are the same.
    """

    number: int
    name: str
    whose: Whose
    low_mhz: float
    high_mhz: float
    level_dbm: float


@dataclass(frozen=True)
class SpectrumDrawing:
    """A screen: its edges [MHz], its upper edge and noise [dBm], its resolution [kHz], line and signals."""

    start_mhz: float
    stop_mhz: float
    reference_dbm: float
    noise_dbm: float
    resolution_khz: float
    frequency_mhz: tuple[float, ...]
    level_dbm: tuple[float, ...]
    marks: tuple[SpectrumMark, ...]

    def __post_init__(self) -> None:
        if len(self.frequency_mhz) != len(self.level_dbm) or len(self.level_dbm) < 2:
            given = f"{len(self.frequency_mhz)} frequencies and {len(self.level_dbm)} levels"
            raise RangeError("line of a spectrum", given, "as many, two or more")
        if not self.start_mhz < self.stop_mhz:
            raise RangeError("edges of a spectrum", f"{self.start_mhz:g} to {self.stop_mhz:g}", "low to high")

    def x(self, frequency_mhz: float) -> float:
        """Return where a frequency lies across [pt]."""
        share = (frequency_mhz - self.start_mhz) / (self.stop_mhz - self.start_mhz)
        return _LEFT + _WIDTH * min(max(share, 0.0), 1.0)

    def y(self, level_dbm: float) -> float:
        """Return where a level lies downwards [pt]; what lies beyond the screen stands at its edge."""
        share = (self.reference_dbm - level_dbm) / (_DIVISIONS * _DIVISION_DB)
        return _TOP + _HEIGHT * min(max(share, 0.0), 1.0)


def spectrum_svg(screen: SpectrumDrawing) -> str:
    """Return the screen as SVG text; the same input gives the same bytes."""
    rows = -(-len(screen.marks) // _COLUMNS)
    width, height = _LEFT + _WIDTH + 16.0, _TOP + _HEIGHT + 46.0 + rows * _LINE_PT
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}pt" height="{height:.1f}pt" '
        f'viewBox="0 0 {width:.1f} {height:.1f}" {_FONT} font-size="11">'
        f'<rect width="100%" height="100%" fill="{PAPER}"/>{_hatches()}'
        f"{_squares(screen)}{_signals(screen)}{_line(screen)}{_numbers(screen)}{_key(screen)}</svg>"
    )


def _hatches() -> str:
    """Return the fillings by which signals are told apart without colours."""
    turns: tuple[tuple[Whose, int], ...] = (("other station", 45), ("own output", -45))
    made = [
        f'<pattern id="{_filling(whose)}" width="5" height="5" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turn})"><rect width="5" height="5" fill="{_COLOURS[whose]}" '
        f'fill-opacity="0.15"/><path d="M0 0v5" stroke="{_COLOURS[whose]}" stroke-width="2"/></pattern>'
        for whose, turn in turns
    ]
    return f"<defs>{''.join(made)}</defs>"


def _filling(whose: str) -> str:
    return whose.replace(" ", "-")


def _squares(screen: SpectrumDrawing) -> str:
    """Return the squares with the levels at their side and the frequencies under them."""
    lines, words = [], []
    for at in range(_DIVISIONS + 1):
        x, y = _LEFT + _WIDTH * at / _DIVISIONS, _TOP + _HEIGHT * at / _DIVISIONS
        lines.append(f"M{x:.1f} {_TOP:.1f}v{_HEIGHT:.1f}M{_LEFT:.1f} {y:.1f}h{_WIDTH:.1f}")
        level = number(screen.reference_dbm - at * _DIVISION_DB)
        words.append(_text(_LEFT - 6.0, y + 4.0, level, SOFT, "end"))
        if at % 2 == 0:
            mhz = screen.start_mhz + (screen.stop_mhz - screen.start_mhz) * at / _DIVISIONS
            words.append(_text(x, _TOP + _HEIGHT + 16.0, Digits(f"{mhz:g}"), SOFT, "middle"))
    a_square = (screen.stop_mhz - screen.start_mhz) / _DIVISIONS
    told = tell(
        "dBm in {resolution:g} kHz · reference {reference} dBm, 10 dB a square · {square:g} MHz a square",
        resolution=screen.resolution_khz,
        reference=number(screen.reference_dbm),
        square=a_square,
    )
    words.append(_text(_LEFT, _TOP - 12.0, told, INK))
    words.append(_text(_LEFT + _WIDTH, _TOP + _HEIGHT + 30.0, "MHz", SOFT, "end"))
    return f'<path d="{"".join(lines)}" fill="none" stroke="{RULE}" stroke-width="1"/>{"".join(words)}'


def _text(x: float, y: float, words: str, colour: str, anchor: str = "start", more: str = "") -> str:
    place = f'x="{x:.1f}" y="{y:.1f}" fill="{colour}" text-anchor="{anchor}"{more}'
    return f"<text {place}>{encode(retold(words))}</text>"


def _signals(screen: SpectrumDrawing) -> str:
    """Return the signals, the strongest behind, so that a weaker one on the same channel is seen.

    One under the noise, which no screen shows, is an outline of dashes.
    """
    made, noise = [], screen.y(screen.noise_dbm)
    for mark in sorted(screen.marks, key=lambda each: -each.level_dbm):
        colour, top = _COLOURS[mark.whose], screen.y(mark.level_dbm)
        left, right = screen.x(mark.low_mhz), screen.x(mark.high_mhz)
        hidden = top >= noise
        dashes = ' stroke-dasharray="3 2"' if hidden else ""
        bottom = _TOP + _HEIGHT if hidden else noise
        if right - left < 1.0:
            path = f"M{(left + right) / 2.0:.1f} {bottom:.1f}V{top:.1f}"
            made.append(f'<path d="{path}" stroke="{colour}" stroke-width="2"{dashes}/>')
            continue
        fill = f'"url(#{_filling(mark.whose)})"'
        if mark.whose == "wanted":
            fill = f'"{colour}" fill-opacity="0.55"'
        fill = '"none"' if hidden else fill
        made.append(
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{bottom - top:.1f}" '
            f'fill={fill} stroke="{colour}" stroke-width="1"{dashes}/>'
        )
    return "".join(made)


def _line(screen: SpectrumDrawing) -> str:
    points = zip(screen.frequency_mhz, screen.level_dbm, strict=True)
    path = " ".join(f"{screen.x(mhz):.1f},{screen.y(dbm):.1f}" for mhz, dbm in points)
    return f'<polyline points="{path}" fill="none" stroke="{INK}" stroke-width="1.2"/>'


def _numbers(screen: SpectrumDrawing) -> str:
    """Return the number of each signal over its top, moved aside where another stands there."""
    made: list[str] = []
    taken: list[tuple[float, float]] = []
    for mark in screen.marks:
        x = (screen.x(mark.low_mhz) + screen.x(mark.high_mhz)) / 2.0
        y = max(screen.y(mark.level_dbm) - 6.0, _TOP + 11.0)
        y = _free(x, y, taken)
        taken.append((x, y))
        rim = f' font-weight="700" stroke="{PAPER}" stroke-width="3" paint-order="stroke"'
        made.append(_text(x, y, str(mark.number), _COLOURS[mark.whose], "middle", rim))
    return "".join(made)


def _free(x: float, y: float, taken: list[tuple[float, float]]) -> float:
    """Return a height at which no other number stands near: the first upwards, else the first downwards."""
    steps = range(int(_HEIGHT / _NEAR_PT))
    tried = [y - _NEAR_PT * step for step in steps] + [y + _NEAR_PT * step for step in steps]
    for at in tried:
        inside = _TOP + 11.0 <= at <= _TOP + _HEIGHT
        if inside and not any(abs(x - a) < _NEAR_PT and abs(at - b) < _NEAR_PT for a, b in taken):
            return at
    return y


def _key(screen: SpectrumDrawing) -> str:
    """Return what the numbers are, in columns under the screen."""
    made = []
    for at, mark in enumerate(screen.marks):
        x = _LEFT + at % _COLUMNS * _WIDTH / _COLUMNS
        y = _TOP + _HEIGHT + 48.0 + at // _COLUMNS * _LINE_PT
        name = shortened(retold(mark.name), _LONGEST)
        words = f"{mark.number}  {name}  {retold(number(mark.level_dbm, 1))} dBm"
        made.append(_text(x, y, words, _COLOURS[mark.whose]))
    return "".join(made)
