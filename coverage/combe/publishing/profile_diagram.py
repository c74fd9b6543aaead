"""Draws the profile of a path as SVG: ground and cover on the curved Earth, line of sight, zone, edge."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.constants import CLEAR_FRESNEL_RADII, EARTH_RADIUS_KM
from combe.errors import ProfileError, RangeError
from combe.publishing.diagram import ACCENT, INK, LABEL_BOX, SOFT, figures, open_frame, svg_text
from combe.publishing.diagram import drawing as drawing_of
from combe.publishing.page_language import in_page_language
from combe.publishing.text import number, shortened
from combe.words import tell

FloatArray = npt.NDArray[np.float64]

NAME_SHARE: Final = 0.13
"""Share of the path over which the name of an end may reach."""

MOST_DRAWN: Final = 1200
"""Points of a line that a picture shows; a path over ground cover has many more samples."""

_HEIGHT_POINTS: Final = 245.0
_RARE_DASHES: Final = (0, (7, 2, 1, 2))
_LEGEND_COLUMNS: Final = 2
_LEGEND_LINE_POINTS: Final = 14.0
_MOST_LIFT_POINTS: Final = 40.0
_LONGEST_NAME: Final = 38
_LONGEST_TITLE: Final = 100
"""Widths for which the picture has room, in signs."""

_GROUND, _ZONE, _COVER = "#c9bfa8", "#a3cad0", "#93a878"


class RareAir(NamedTuple):
    """An air in which the line of sight is drawn a second time, by its effective Earth radius."""

    effective_radius_km: float
    time_percent: float
    """Share of time for which that radius is exceeded."""
    edge_index: int
    """Controlling edge in that air."""


@dataclass(frozen=True)
class ProfileDrawing:
    """The lines of the diagram, all at the profile's distances; heights [m] above the chord."""

    distance_km: FloatArray
    base_m: FloatArray
    ground_m: FloatArray
    sight_m: FloatArray
    zone_m: FloatArray
    cover_m: FloatArray
    """Ground cover above the ground; 0 at the ends, where none is added."""

    @property
    def top_m(self) -> FloatArray:
        """Ground with its cover, which the path has to clear."""
        return self.ground_m + self.cover_m

    @property
    def lower_m(self) -> FloatArray:
        """Lower rim of 0.6 of the first Fresnel zone."""
        return self.sight_m - self.zone_m

    def bent_m(self, radius_km: float, rare_radius_km: float) -> FloatArray:
        """Return the line of sight under another effective radius, over the base drawn for the first.

        The ground stays where it is drawn, so the line is lower by what that Earth would bulge more.
        """
        return self.sight_m - self.base_m * (radius_km / rare_radius_km - 1.0)


def lay_out_profile(
    distance_km: npt.ArrayLike,
    height_m: npt.ArrayLike,
    *,
    tx_height_amsl_m: float,
    rx_height_amsl_m: float,
    frequency_mhz: float,
    effective_radius_km: float,
    cover_height_m: npt.ArrayLike | None = None,
) -> ProfileDrawing:
    """Return the lines of a profile diagram.

    The Earth bulges by d1·d2/(2·ae) between the ends; the line of sight then is straight.

    Raises
    ------
    ProfileError
        The arrays cannot be used.
    RangeError
        The frequency or the radius is not positive.
    """
    x, h = _checked(distance_km, height_m)
    for name, value in (("frequency_mhz", frequency_mhz), ("effective_radius_km", effective_radius_km)):
        if not value > 0:
            raise RangeError(name, value, "over 0")
    from combe.propagation.p526 import fresnel_radius_m

    x = x - x[0]
    length = float(x[-1])
    bulge = x * (length - x) / (2.0 * effective_radius_km) * 1000.0
    sight = tx_height_amsl_m + (rx_height_amsl_m - tx_height_amsl_m) * x / length
    zone = CLEAR_FRESNEL_RADII * fresnel_radius_m(x, length - x, frequency_mhz)
    return ProfileDrawing(x, bulge, h + bulge, sight, zone, _cover(cover_height_m, len(x)))


def profile_svg(
    distance_km: npt.ArrayLike,
    height_m: npt.ArrayLike,
    *,
    tx_height_amsl_m: float,
    rx_height_amsl_m: float,
    frequency_mhz: float,
    effective_radius_km: float,
    edge_index: int | None,
    tx_name: str,
    rx_name: str,
    title: str = "",
    cover_height_m: npt.ArrayLike | None = None,
    rare: RareAir | None = None,
) -> str:
    """Return the diagram of a path as an SVG text; the same input gives the same bytes.

    Parameters
    ----------
    distance_km, height_m
        Distance [km] along the path and height [m above sea level] of the ground, shape (n,), n ≥ 3.
    tx_height_amsl_m, rx_height_amsl_m
        Heights of the two aerials [m above sea level].
    frequency_mhz
        Frequency of the Fresnel zone [MHz].
    effective_radius_km
        Effective Earth radius [km].
    edge_index
        Index of the controlling edge in the profile, None when there is none.
    tx_name, rx_name, title
        Texts, drawn as they are; those too long for the picture are cut, with an ellipsis.
    cover_height_m
        Height of ground cover above the ground [m], shape (n,); drawn between the ends.
    rare
        Another air, in which the line of sight is drawn as well.

    Raises
    ------
    ProfileError
        The arrays cannot be used, or an edge is not inside the profile.
    RangeError
        The frequency or the radius is not positive.
    """
    drawing = lay_out_profile(
        distance_km,
        height_m,
        tx_height_amsl_m=tx_height_amsl_m,
        rx_height_amsl_m=rx_height_amsl_m,
        frequency_mhz=frequency_mhz,
        effective_radius_km=effective_radius_km,
        cover_height_m=cover_height_m,
    )
    for index in (edge_index, rare and rare.edge_index):
        if index is not None and not 0 < index < len(drawing.distance_km) - 1:
            raise ProfileError(f"controlling edge {index} is not between the ends of the profile")
    with drawing_of(9.0, 4.2) as (figure, axes):
        _draw_lines(axes, thinned(drawing), effective_radius_km)
        if rare is not None:
            _draw_rare(axes, drawing, effective_radius_km, rare, edge_index)
        _draw_ends(axes, drawing, tx_name, rx_name)
        _dress(axes, drawing, title)
        if edge_index is not None:
            told = [edge_words(drawing, edge_index)]
            if rare is not None:
                told.append(rare_edge_words(drawing, effective_radius_km, rare, edge_index))
            _draw_edge(axes, drawing, edge_index, "\n".join(map(in_page_language, told)))
        return svg_text(figure)


def thinned(drawing: ProfileDrawing) -> ProfileDrawing:
    """Return a drawing with no more points than a picture shows: of each stretch its highest and lowest."""
    count = drawing.distance_km.size
    if count <= MOST_DRAWN:
        return drawing
    stretches = np.array_split(np.arange(1, count - 1), MOST_DRAWN // 2 - 1)
    # The highest of each stretch is what a path has to clear, the lowest keeps valleys as deep as they are;
    # the mean of a stretch would show neither.
    kept = [each[np.argmax(drawing.top_m[each])] for each in stretches]
    kept += [each[np.argmin(drawing.ground_m[each])] for each in stretches]
    chosen = np.unique([0, *kept, count - 1])
    return ProfileDrawing(*(getattr(drawing, part.name)[chosen] for part in fields(drawing)))


def _draw_lines(axes: Any, drawing: ProfileDrawing, effective_radius_km: float) -> None:
    """Draw ground, curved base, Fresnel zone and line of sight."""
    x = drawing.distance_km
    floor = _floor_m(drawing)
    axes.fill_between(x, floor, drawing.ground_m, color=_GROUND, linewidth=0, zorder=2)
    axes.plot(x, drawing.ground_m, color=SOFT, linewidth=1.0, zorder=3)
    if drawing.cover_m.any():
        top, label = drawing.top_m, in_page_language("ground cover")
        axes.fill_between(x, drawing.ground_m, top, color=_COVER, linewidth=0, zorder=2.5, label=label)
    base = floor + drawing.base_m
    curve = tell("curve of the Earth, effective radius {radius} km", radius=number(effective_radius_km))
    look = {"color": SOFT, "linewidth": 0.8, "linestyle": (0, (1, 2))}
    axes.plot(x, base, zorder=4, label=in_page_language(curve), **look)
    upper = drawing.sight_m + drawing.zone_m
    axes.fill_between(
        x,
        drawing.lower_m,
        upper,
        color=_ZONE,
        alpha=0.55,
        linewidth=0,
        zorder=1,
        label=in_page_language(tell("{radii} of first Fresnel zone", radii=CLEAR_FRESNEL_RADII)),
    )
    axes.plot(x, drawing.lower_m, color="#14505c", linewidth=0.8, linestyle=(0, (4, 2)), zorder=5)
    axes.plot(
        x,
        drawing.sight_m,
        color=INK,
        linewidth=1.2,
        zorder=5,
        label=in_page_language(tell("line of sight at k {k}", k=_k(effective_radius_km))),
    )


def _draw_rare(
    axes: Any, drawing: ProfileDrawing, radius_km: float, rare: RareAir, index: int | None
) -> None:
    """Draw the line of sight in another air; mark its edge by a sign of its own, unless it is ``index``."""
    few, at = thinned(drawing), rare.edge_index
    line_m = few.bent_m(radius_km, rare.effective_radius_km)
    look = {"color": ACCENT, "linewidth": 0.9, "linestyle": _RARE_DASHES}
    label = in_page_language(rare_words(drawing, radius_km, rare))
    axes.plot(few.distance_km, line_m, zorder=5.5, label=label, **look)
    if at == index:
        return
    x, top = float(drawing.distance_km[at]), float(drawing.top_m[at])
    axes.plot([x, x], [drawing.bent_m(radius_km, rare.effective_radius_km)[at], top], zorder=6, **look)
    axes.plot([x], [top], marker="v", markersize=6.5, color="white", markeredgecolor=ACCENT, zorder=6.5)


def rare_words(drawing: ProfileDrawing, radius_km: float, rare: RareAir) -> str:
    """Return which air a second line of sight is drawn for, and how far it lies from the first at most."""
    apart = drawing.base_m * (radius_km / rare.effective_radius_km - 1.0)
    most = float(apart[np.argmax(np.abs(apart))])
    words = "line of sight at k {k}, exceeded for {time:g} % of time: up to {most} m higher"
    if most > 0.0:
        words = "line of sight at k {k}, exceeded for {time:g} % of time: up to {most} m lower"
    shown = number(abs(most), 0 if abs(most) >= 10.0 else 1)
    return tell(words, k=_k(rare.effective_radius_km), time=rare.time_percent, most=shown)


def _k(effective_radius_km: float) -> str:
    return number(effective_radius_km / EARTH_RADIUS_KM, 2)


def _draw_edge(axes: Any, drawing: ProfileDrawing, index: int, said: str) -> None:
    """Mark the controlling edge, and say below the legend what there is to be said of it."""
    at, top, sight = (float(line[index]) for line in (drawing.distance_km, drawing.top_m, drawing.sight_m))
    axes.plot([at, at], [sight, top], color=ACCENT, linewidth=1.4, zorder=6)
    axes.plot([at], [top], marker="^", markersize=7, color=ACCENT, markeredgecolor="white", zorder=7)
    # Near the middle, whatever the edge: words at a rim would leave the picture or cover a station's name.
    share = min(max(at / float(drawing.distance_km[-1]), 0.38), 0.62)
    lines = -(-len(axes.get_legend().get_texts()) // _LEGEND_COLUMNS)
    words = axes.annotate(
        said,
        (at, max(top, sight)),
        xytext=(share, 1.0 - (lines + 0.4) * _LEGEND_LINE_POINTS / _HEIGHT_POINTS),
        textcoords="axes fraction",
        ha="center",
        va="top",
        color=ACCENT,
        zorder=8,
        arrowprops={"arrowstyle": "-", "color": ACCENT, "linewidth": 0.7, "shrinkB": 5},
    )
    words.set_in_layout(False)


def edge_words(drawing: ProfileDrawing, index: int) -> str:
    """Return where the controlling edge is and how far it stands over or under the line of sight."""
    over_m = float(drawing.top_m[index] - drawing.sight_m[index])
    words = "controlling edge at {at} km, {apart} m under the line of sight ({radii} × first Fresnel radius)"
    if over_m > 0:
        words = (
            "controlling edge at {at} km, {apart} m over the line of sight ({radii} × first Fresnel radius)"
        )
    at_km = number(float(drawing.distance_km[index]), 1)
    return tell(words, at=at_km, apart=number(abs(over_m)), radii=_radii(drawing, index, over_m))


def rare_edge_words(drawing: ProfileDrawing, radius_km: float, rare: RareAir, index: int) -> str:
    """Return the same of the edge in a second air; ``index`` is the one in the first."""
    at, radius = rare.edge_index, rare.effective_radius_km
    over_m = float(drawing.top_m[at] - drawing.bent_m(radius_km, radius)[at])
    at_km = number(float(drawing.distance_km[at]), 1)
    where = "" if at == index else tell("the edge ▽ at {at} km, ", at=at_km)
    words = "at k {k}: {where}{apart} m under that line ({radii} ×)"
    if over_m > 0:
        words = "at k {k}: {where}{apart} m over that line ({radii} ×)"
    radii = _radii(drawing, at, over_m)
    return tell(words, k=_k(radius), where=where, apart=number(abs(over_m)), radii=radii)


def _radii(drawing: ProfileDrawing, index: int, over_m: float) -> str:
    return number(abs(over_m) / float(drawing.zone_m[index] / CLEAR_FRESNEL_RADII), 1)


def _draw_ends(axes: Any, drawing: ProfileDrawing, tx_name: str, rx_name: str) -> None:
    """Draw both masts and name them."""
    for index, name, side in ((0, tx_name, "left"), (-1, rx_name, "right")):
        at, ground, top = (
            float(line[index]) for line in (drawing.distance_km, drawing.ground_m, drawing.sight_m)
        )
        axes.plot([at, at], [ground, top], color=INK, linewidth=2.4, solid_capstyle="butt", zorder=6)
        axes.plot([at], [top], marker="o", markersize=4.5, color=INK, zorder=7)
        words = f"{shortened(name, _LONGEST_NAME)}\n{figures(top)} m"
        offset = 7 if side == "left" else -7
        axes.annotate(
            words,
            (at, top),
            xytext=(offset, 12 + lift_points(drawing, index)),
            textcoords="offset points",
            ha=side,
            va="bottom",
            color=INK,
            fontweight="bold",
            parse_math=False,
            zorder=8,
            bbox=LABEL_BOX,
        )


def lift_points(drawing: ProfileDrawing, index: int) -> float:
    """Return by how much [points] a name at an end is raised, so that it clears the zone rising beside it."""
    upper, length = drawing.sight_m + drawing.zone_m, float(drawing.distance_km[-1])
    beside = np.abs(drawing.distance_km - drawing.distance_km[index]) <= NAME_SHARE * length
    low, high = span_m(drawing)
    rise_m = float(upper[beside].max() - drawing.sight_m[index])
    return min(rise_m / (high - low) * _HEIGHT_POINTS, _MOST_LIFT_POINTS)


def span_m(drawing: ProfileDrawing) -> tuple[float, float]:
    """Return the heights at which the picture ends below and above."""
    low, high = _floor_m(drawing), max(drawing.top_m.max(), (drawing.sight_m + drawing.zone_m).max())
    # Above stand the names of the ends, what is said of the edges, and the legend, of a line more with cover.
    return low, float(high + (0.85 if drawing.cover_m.any() else 0.7) * (high - low))


def _dress(axes: Any, drawing: ProfileDrawing, title: str) -> None:
    """Set limits, labels, legend and title."""
    length = float(drawing.distance_km[-1])
    axes.set_xlim(-0.012 * length, 1.012 * length)
    axes.set_ylim(*span_m(drawing))
    axes.set_xlabel(in_page_language("distance (km)"))
    axes.set_ylabel(in_page_language("height (m above sea level)\nover the curved base"))
    open_frame(axes)
    legend = axes.legend(
        loc="upper center", ncols=_LEGEND_COLUMNS, frameon=False, fontsize=8.5, borderaxespad=0.1
    )
    legend.set_in_layout(False)
    if title:
        words = shortened(in_page_language(title), _LONGEST_TITLE)
        axes.set_title(words, loc="left", fontsize=11, color=INK, parse_math=False)


def _floor_m(drawing: ProfileDrawing) -> float:
    """Return the height at which the picture ends below."""
    low, high = float(drawing.ground_m.min()), float(max(drawing.ground_m.max(), drawing.sight_m.max()))
    return float(np.floor((low - 0.14 * (high - low) - drawing.base_m.max()) / 10.0) * 10.0)


def _checked(distance_km: npt.ArrayLike, height_m: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the two arrays as float64, or raise ProfileError."""
    x, h = np.asarray(distance_km, dtype=np.float64), np.asarray(height_m, dtype=np.float64)
    if x.ndim != 1 or x.shape != h.shape or len(x) < 3:
        raise ProfileError(f"profile has shapes {x.shape} and {h.shape}; allowed: two of (n,), n 3 or more")
    if not (np.isfinite(x).all() and np.isfinite(h).all() and (np.diff(x) > 0).all()):
        raise ProfileError("profile has voids or distances that do not rise; give finite, rising distances")
    return x, h


def _cover(cover_height_m: npt.ArrayLike | None, count: int) -> FloatArray:
    """Return the cover [m] of each point, none at the ends, or raise ProfileError."""
    if cover_height_m is None:
        return np.zeros(count)
    cover = np.array(cover_height_m, dtype=np.float64)
    if cover.shape != (count,) or not (cover >= 0.0).all():
        raise ProfileError(f"ground cover has shape {cover.shape}; allowed: ({count},), each 0 m or more")
    # As the models do: an aerial is counted from the bare ground.
    cover[[0, -1]] = 0.0
    return cover
