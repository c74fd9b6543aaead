"""Parts of pictures over the ground: an image as a link, words that stand out, a bar of scale, north."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np
import numpy.typing as npt

from combe.publishing.diagram import INK, PAPER
from combe.publishing.page_language import in_page_language, retold
from combe.publishing.text import encode, plain
from combe.words import tell


def rgb(colour: str) -> tuple[float, ...]:
    """Return red, green and blue of a colour ``#rrggbb``, 0 to 255."""
    return tuple(float(int(colour[at : at + 2], 16)) for at in (1, 3, 5))


def svg_words(
    x: float, y: float, words: str, unit: float, colour: str, *, anchor: str = "", rim: bool = True
) -> str:
    """Return words at a place, with a rim of paper, so that they are read over any ground."""
    anchored = f' text-anchor="{anchor}"' if anchor else ""
    halo = f'stroke="{PAPER}" stroke-width="{0.5 * unit:.2f}" paint-order="stroke"' if rim else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{1.7 * unit:.2f}" font-weight="600" fill="{colour}" '
        f"{halo}{anchored}>{encode(plain(words))}</text>"
    )


def rimmed_words(x: float, y: float, words: str, unit: float, colour: str, *, anchor: str = "") -> str:
    """Return such words also for printers of SVG that draw a rim over its letters: these come again."""
    under, over = (svg_words(x, y, words, unit, colour, anchor=anchor, rim=rim) for rim in (True, False))
    return f'<g aria-hidden="true">{under}</g>{over}'


def scale_bar(shape: tuple[int, ...], cell_size_m: float, unit: float) -> str:
    """Return a bar of a round length with its length, at the lower left of a picture of so many cells."""
    rows, columns = shape
    wanted_km = columns * cell_size_m / 1000.0 / 5.0
    # The longest round length that takes no more than a fifth of the width.
    length_km = max(
        (each for each in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if each <= wanted_km), default=0.5
    )
    cells, told = length_km * 1000.0 / cell_size_m, retold(tell("{length:g} km", length=length_km))
    x, y = 2.0 * unit, rows - 2.0 * unit
    bar = f'<path d="M{x:.1f} {y:.1f}h{cells:.1f}" stroke="{INK}" stroke-width="{0.5 * unit:.2f}"/>'
    return f"{bar}{rimmed_words(x, y - 0.8 * unit, told, unit, INK)}"


def north_arrow(columns: int, unit: float) -> str:
    """Return an arrow towards grid north, at the upper right."""
    x, y = columns - 3.0 * unit, 1.5 * unit
    head = f"M{x:.1f} {y:.1f}l{1.1 * unit:.2f} {3.4 * unit:.2f}l{-1.1 * unit:.2f} {-0.9 * unit:.2f}"
    path = f"{head}l{-1.1 * unit:.2f} {0.9 * unit:.2f}z"
    line = f'stroke="{PAPER}" stroke-width="{0.3 * unit:.2f}"'
    return (
        f'<path d="{path}" fill="{INK}" {line}/>'
        f"{rimmed_words(x, y + 5.8 * unit, in_page_language('N'), unit, INK, anchor='middle')}"
    )


def png_link(image: npt.NDArray[np.uint8]) -> str:
    """Return an image (rows, columns, 3) as a PNG data link, the same bytes each time."""
    rows, columns, _ = image.shape
    # Each row of a PNG begins with the number of its filter; 0 is none.
    lines = np.concatenate((np.zeros((rows, 1), np.uint8), image.reshape(rows, -1)), axis=1)
    head = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(lines.tobytes(), 9)), (b"IEND", b""))
    content = b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*each) for each in chunks)
    return "data:image/png;base64," + base64.b64encode(content).decode("ascii")


def _chunk(kind: bytes, content: bytes) -> bytes:
    check = zlib.crc32(kind + content)
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)
