"""The pictures of the guide's course, drawn from what the engine works out on the sample."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

import support_course as course
from combe.planning import compliance_distance_m, radiated_powers
from combe.propagation.p526 import fresnel_parameter, knife_edge_loss_db
from combe.publishing.chain_diagrams import Waterfall, WaterfallLine, waterfall_svg
from combe.publishing.colours import SERVED_BEFORE, hillshade
from combe.publishing.diagram import ACCENT, INK, SOFT, drawing, open_frame, series, svg_text
from combe.publishing.document import Picture
from combe.publishing.picture_parts import north_arrow, png_link, rgb, rimmed_words, scale_bar
from combe.publishing.trend_diagram import trend_svg
from combe.reception import echo_ci_db, location_probability, ripple_db
from combe.reports.chain_pictures import window_picture
from combe.reports.profile import profile_picture
from combe.reports.spectrum import spectrum_section
from combe.reports.visit import trend_drawing
from combe.standards import digital_conversion, flux_limit_w_m2, troubled_channels
from combe.terrain import to_cells

_SIZE_IN: Final = (7.0, 3.3)
_EVERY: Final = 4
"""Every so many cells of the map are drawn: the picture is small, and shadows are larger."""

_ROWS: Final = (30, 96)
"""First and last of the map's rows that are drawn, in such steps."""

_ASIDE: Final = 4
"""Columns of the map that are left out at either side, where a grid that is turned has no ground."""


def _served_alone() -> str:
    """Draw where the parent alone serves, over the ground: the strip of the map with both stations."""
    report = course.covered()
    rows_shown = slice(_ROWS[0] * _EVERY, _ROWS[1] * _EVERY, _EVERY)
    columns_shown = slice(_ASIDE * _EVERY, -_ASIDE * _EVERY, _EVERY)
    heights = np.asarray(report.heights_m, dtype=np.float64)[rows_shown, columns_shown]
    cell_m = report.grid.cell_size_m * _EVERY
    served = np.asarray(report.all_services.margin_before_db)[rows_shown, columns_shown] >= 0.0
    # Few greys make a small file.
    light = 0.5 + 0.5 * np.round(hillshade(heights, cell_m) / 255.0 * 6.0) / 6.0
    colour = np.where(served[..., None], np.array(rgb(SERVED_BEFORE)), np.array(rgb("#e9e4d6")))
    # The shading of the outermost cells is not known.
    image = np.clip(np.round(colour * light[..., None]), 0, 255).astype(np.uint8)[1:-1, 1:-1]
    rows, columns = served.shape[0] - 2, served.shape[1] - 2
    unit = max(rows, columns) / 100.0
    parent, relay = course.valley().stations
    places = [
        ((parent.longitude_deg, parent.latitude_deg), parent.name, "end"),
        ((relay.longitude_deg, relay.latitude_deg), relay.name, ""),
        (course.HOUSE_DEG, "the house", "end"),
    ]
    marks = "".join(_spot(report.grid, *each, unit) for each in places)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {columns} {rows}" '
        f'font-family="system-ui, sans-serif">'
        f'<image href="{png_link(image)}" width="{columns}" height="{rows}"/>{marks}'
        f"{scale_bar((rows, columns), cell_m, 1.6 * unit)}{north_arrow(columns, 1.6 * unit)}</svg>"
    )


def _spot(grid: Any, place_deg: tuple[float, float], name: str, anchor: str, unit: float) -> str:
    row, column = (float(each) / _EVERY for each in to_cells(grid, *place_deg))
    x, y, aside = column - _ASIDE - 1.0, row - _ROWS[0] - 1.0, 1.6 * unit
    dot = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.9 * unit:.2f}" fill="{INK}" stroke="white"/>'
    return dot + rimmed_words(
        x + (-aside if anchor else aside), y - aside, name, 1.5 * unit, INK, anchor=anchor
    )


def _knife_edge() -> str:
    """Draw what an edge costs against how far the line passes over it, with what the chapter asks of."""
    found = course.path().services[0].clearance
    assert found is not None
    clear = found.median
    far_km = float(course.path().profile.distance_km[-1]) - clear.distance_km
    radii = np.linspace(-2.0, 1.5, 141)
    lost = [knife_edge_loss_db(-each * 2.0**0.5) for each in radii]
    with drawing(*_SIZE_IN) as (figure, axes):
        axes.plot(radii, lost, color=series(0)[0], linewidth=1.8, label="one sharp edge")
        axes.axvline(0.0, color=SOFT, linewidth=0.8)
        axes.axvline(0.6, color=SOFT, linewidth=0.8, linestyle=(0, (4, 2)))
        for number, (words, over_m) in enumerate(EDGES.items()):
            left_m = clear.clearance_m - over_m
            nu = fresnel_parameter(-left_m, clear.distance_km, far_km, course.channel_mhz(22))
            where = left_m / clear.first_fresnel_m, knife_edge_loss_db(nu)
            colour, mark = series(number + 1)
            axes.plot([where[0]], [where[1]], color=colour, marker=mark, linestyle="none", label=words)
        axes.annotate("0.6", (0.6, -0.8), xytext=(3, 0), textcoords="offset points", fontsize=9, color=SOFT)
        axes.set_xlabel("the line passes over the edge by so many first Fresnel radii")
        axes.set_ylabel("loss, dB")
        axes.set_ylim(24.0, -1.5)
        open_frame(axes)
        axes.legend(loc="lower right", frameon=False, fontsize=9)
        return svg_text(figure)


EDGES: Final[Mapping[str, float]] = {
    "the hill as it is": 0.0,
    "20 m of trees on it": 20.0,
    "a 40 m hall": 40.0,
}
"""What may come to stand on the controlling edge of the feed [m]."""


def _levels() -> str:
    services = course.feed().services
    lines = []
    for number, service in enumerate(services):
        rows = course.levels(number)
        shown = tuple(row.level_dbm for row in rows), tuple(row.noise_dbm for row in rows)
        lines.append(WaterfallLine(service.received.name, *shown))
    cascade = services[0].cascade
    limits = tuple(load.limit_dbm for load in cascade.loads)
    return waterfall_svg(Waterfall(cascade.points, tuple(lines), limits))


def _loop() -> str:
    """Draw ripple and echo of a loop against its margin, with that of the relay on its parent's channels."""
    margins = np.linspace(3.0, 30.0, 109)
    loop = course.on_channel().services[0].loop
    assert loop is not None
    own_db = loop.gain_margin_db
    with drawing(*_SIZE_IN) as (figure, axes):
        echoes, ripples = [echo_ci_db(each) for each in margins], [ripple_db(each) for each in margins]
        axes.plot(margins, echoes, color=series(0)[0], linewidth=1.8, label="signal over its echo")
        look = {"color": series(1)[0], "linewidth": 1.8, "linestyle": (0, (5, 2))}
        axes.plot(margins, ripples, label="ripple over the channel", **look)
        axes.plot([own_db, own_db], [echo_ci_db(own_db), ripple_db(own_db)], color=INK, marker="o",
                  linestyle="none", label="Larkcombe on channel 22")  # fmt: skip
        axes.axhline(course.valley().television.required_cn_db, color=SOFT, linewidth=0.8)
        axes.annotate("needed by the receivers", (30.0, 20.6), ha="right", color=SOFT, fontsize=9)
        axes.set_xlabel("isolation less gain, dB")
        axes.set_ylabel("dB")
        axes.set_ylim(0.0, 30.0)
        open_frame(axes)
        axes.legend(loc="upper left", frameon=False, fontsize=9)
        return svg_text(figure)


def _window() -> str:
    places = [service.window for service in course.feed().services]
    return window_picture(course.feed(), [each for each in places if each is not None]).make()


def _channels() -> str:
    """Draw the channels that the relay hears, those that its receiver makes unfit, and those it sends."""
    parent, relay = course.valley().stations
    rows = [each.channel for each in parent.services]
    first, last = 21, 48
    words = {"adjacent": "next to it", "oscillator": "oscillator, beat", "image": "image"}
    with drawing(7.0, 2.9) as (figure, axes):
        for row, heard in enumerate(rows):
            _box(axes, heard, row, "#14505c", "", "hears")
            for each in troubled_channels(digital_conversion(8.0)):
                channel = heard + each.channel_step
                if each.relation in words and first <= channel <= last:
                    mark = {"adjacent": "", "oscillator": "xx", "image": "///"}[each.relation]
                    _box(axes, channel, row, "#e8b48f", mark, words[each.relation])
        for each in relay.services:
            _box(axes, each.channel, len(rows), "#4d7a2f", "", "sends")
        names = [*(f"{each.name} in" for each in parent.services), "outputs"]
        axes.set_yticks(range(len(names)), names)
        axes.set_xlim(first - 0.7, last + 0.7)
        axes.set_ylim(len(rows) + 0.6, -0.6)
        axes.set_xticks(range(first + 1, last + 1, 2))
        axes.set_xlabel("channel")
        open_frame(axes)
        handles, labels = axes.get_legend_handles_labels()
        known = dict(zip(labels, handles, strict=True))
        axes.legend(known.values(), known, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=5,
                    frameon=False, fontsize=9)  # fmt: skip
        return svg_text(figure)


def _box(axes: Any, channel: int, row: int, colour: str, hatch: str, label: str) -> None:
    axes.barh(row, 0.86, left=channel - 0.43, height=0.7, color=colour, hatch=hatch, edgecolor="white",
              linewidth=0.5, label=label)  # fmt: skip


def _places() -> str:
    """Draw the share of places served against the median field, with the house by either station."""
    television = course.valley().television
    fields = np.linspace(30.0, 90.0, 121)
    with drawing(*_SIZE_IN) as (figure, axes):
        for number, station in enumerate((course.PARENT, course.RELAY)):
            service = course.valley().station(station).services[0]
            least = course.least_field_dbuv_m(service.frequency_mhz)
            field = course.at_house(station).field_strength_dbuv_m
            shares = [
                100.0 * float(location_probability(each, least, television.sigma_db)) for each in fields
            ]
            share = 100.0 * float(location_probability(field, least, television.sigma_db))
            colour, mark = series(number)
            axes.plot(fields, shares, color=colour, linewidth=1.6)
            axes.plot([field], [share], color=colour, marker=mark, markersize=8, linestyle="none",
                      label=f"the house by {station}, channel {service.channel}")  # fmt: skip
        axes.axhline(television.location_percent, color=SOFT, linewidth=0.9, linestyle=(0, (4, 2)))
        axes.set_xlabel("median field of the places, dB(µV/m)")
        axes.set_ylabel("places served, %")
        axes.set_ylim(0.0, 104.0)
        open_frame(axes)
        axes.legend(loc="lower right", frameon=False, fontsize=9)
        return svg_text(figure)


SHARES: Final = (90.0, 99.0, 99.9, 99.99)


def _fades() -> str:
    """Draw how far the feed's field falls under its median against the share of the year."""
    rarest = np.geomspace(50.0, 0.01, 60)
    with drawing(*_SIZE_IN) as (figure, axes):
        depths = [course.over_the_year().fade_db(100.0 - float(each)) for each in rarest]
        axes.plot(rarest, depths, color=series(0)[0], linewidth=1.8)
        for share in SHARES:
            depth = course.over_the_year().fade_db(share)
            axes.plot([100.0 - share], [depth], color=ACCENT, marker="o", linestyle="none")
            axes.annotate(f"{depth:.1f} dB", (100.0 - share, depth), xytext=(0, -14), ha="center",
                          textcoords="offset points", fontsize=9, color=INK)  # fmt: skip
        axes.set_xscale("log")
        axes.set_xlim(60.0, 0.007)
        axes.set_xticks([100.0 - each for each in SHARES], [f"{each:g} %" for each in SHARES])
        axes.minorticks_off()
        axes.set_ylim(7.5, -0.5)
        axes.set_xlabel("share of an average year for which the field falls no further")
        axes.set_ylabel("under the median, dB")
        open_frame(axes)
        return svg_text(figure)


def _powers() -> str:
    with drawing(*_SIZE_IN) as (figure, axes):
        people = [course.newly_served(each) for each in course.WATTS]
        axes.plot(course.WATTS, people, color=series(0)[0], marker="o", linewidth=1.6)
        for watts, found in zip(course.WATTS, people, strict=True):
            axes.annotate(f"{found:,.0f}".replace(",", " "), (watts, found), xytext=(0, 7), ha="center",
                          textcoords="offset points", fontsize=9, color=INK)  # fmt: skip
        axes.set_xscale("log")
        axes.set_xticks(course.WATTS, [f"{each:g}" for each in course.WATTS])
        axes.minorticks_off()
        axes.set_ylim(0.0, 2200.0)
        axes.set_xlabel("ERP of the relay's stronger services, W")
        axes.set_ylabel("people newly served")
        open_frame(axes)
        return svg_text(figure)


def _trend() -> str:
    judged = course.judged_readings()
    return trend_svg(replace(trend_drawing(judged), title="feeder, level, Mux A (invented readings)"))


def _screen() -> str:
    parts = spectrum_section([course.screen_at_feeder()])[0].parts
    return next(part for part in parts if isinstance(part, Picture)).make()


def _flux() -> str:
    """Draw the flux in the beam against the distance, with the limits of the weakest frequency."""
    relay = course.valley().station(course.RELAY)
    powers = radiated_powers(relay.services)
    away = np.geomspace(0.7, 30.0, 80)
    low_mhz = min(each.frequency_mhz for each in relay.services)
    with drawing(*_SIZE_IN) as (figure, axes):
        for factor, look, words in (
            (1.0, "-", "in free space"), (2.56, (0, (5, 2)), "with the ground's reflection"),
        ):  # fmt: skip
            flux = [course.flux_w_m2(each) * factor for each in away]
            axes.plot(away, flux, color=series(0)[0], linewidth=1.8, linestyle=look, label=words)
        for number, (audience, words) in enumerate(
            {"public": "limit for the public", "occupational": "limit for trained people at work"}.items()
        ):
            limit = flux_limit_w_m2(low_mhz, audience)
            axes.axhline(
                limit, color=series(number + 1)[0], linewidth=1.3, linestyle=(0, (1, 1)), label=words
            )
            at_m = compliance_distance_m(powers, audience=audience).distance_m
            axes.axvline(at_m, color=series(number + 1)[0], linewidth=0.8)
            axes.annotate(
                f"{at_m:.1f} m", (at_m, 0.04), xytext=(3, 0), textcoords="offset points", fontsize=9
            )
        axes.set_xscale("log")
        axes.set_yscale("log")
        axes.set_xticks([1, 2, 5, 10, 20], ["1", "2", "5", "10", "20"])
        axes.minorticks_off()
        axes.set_xlabel("metres from the aerial, in its beam")
        axes.set_ylabel("W/m²")
        axes.set_ylim(0.03, 100.0)
        open_frame(axes)
        axes.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2, frameon=False, fontsize=9)
        return svg_text(figure)


@dataclass(frozen=True)
class GuidePicture:
    """A picture of the course: its file and what draws it."""

    name: str
    make: Callable[[], str]

    def draw(self) -> str:
        """Return it as SVG in one line of text, what it draws to hundredths of a point, or to tenths."""
        return " ".join(_LINES.sub(_shortened, self.make()).split())


_LINES = re.compile(r' (?:d|x|y|x1|x2|y1|y2|transform)="[^"]*"')


def _shortened(found: re.Match[str]) -> str:
    kept = 1 if len(found.group()) > 2000 else 2
    return re.sub(rf"(\d+\.\d{{{kept}}})\d+", r"\1", found.group())


PICTURES: Final = tuple(
    GuidePicture(f"course_{name}.svg", draw)
    for name, draw in {
        "shadow": _served_alone,
        "sight": lambda: profile_picture(course.path(), "Mux A").make(),
        "edge": _knife_edge,
        "levels": _levels,
        "loop": _loop,
        "window": _window,
        "channels": _channels,
        "places": _places,
        "fades": _fades,
        "powers": _powers,
        "trend": _trend,
        "screen": _screen,
        "flux": _flux,
    }.items()
)
