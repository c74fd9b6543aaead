"""How far colours are apart for eyes of all kinds: published simulations of vision, and CIEDE2000.

Sources: sRGB by IEC 61966-2-1 (primaries, D65 and the curve, from memory). The simulation of protanopia,
deuteranopia and tritanopia by the matrices of severity 1.0 of Machado, Oliveira and Fernandes, "A
Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15 (2009), from memory; each
row of them adds up to 1, so that greys stay grey. CIEDE2000 as written out by Sharma, Wu and Dalal, "The
CIEDE2000 Color-Difference Formula: Implementation Notes, Supplementary Test Data, and Mathematical
Observations", Color Res. Appl. 30 (2005), from memory; test_colours.py holds it to pairs of their test data.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

VISIONS: Final = {
    "all cones": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}

_TO_XYZ: Final = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)


def seen_lab(rgb: npt.ArrayLike, vision: str) -> FloatArray:
    """Return CIELAB (…, 3) of sRGB colours of 0 to 255 (…, 3) as a kind of vision sees them."""
    part = np.asarray(rgb, dtype=np.float64) / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    seen = np.clip(linear @ VISIONS[vision].T, 0.0, 1.0)
    xyz = (seen @ _TO_XYZ.T) / _TO_XYZ.sum(axis=1)
    root = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def ciede2000(one: npt.ArrayLike, other: npt.ArrayLike) -> FloatArray:
    """Return the colour difference of CIELAB colours (…, 3), with all weights 1."""
    (l1, a1, b1), (l2, a2, b2) = (np.moveaxis(np.asarray(each, np.float64), -1, 0) for each in (one, other))
    mean = 0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2))
    more = 0.5 * (1.0 - np.sqrt(mean**7 / (mean**7 + 25.0**7)))
    a1, a2 = a1 * (1.0 + more), a2 * (1.0 + more)
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = (np.degrees(np.arctan2(b, a)) % 360.0 for a, b in ((a1, b1), (a2, b2)))
    grey = c1 * c2 == 0.0
    turn = np.where(grey, 0.0, (h2 - h1 + 180.0) % 360.0 - 180.0)
    dl, dc = l2 - l1, c2 - c1
    dh = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2.0))
    level, chroma = 0.5 * (l1 + l2), 0.5 * (c1 + c2)
    # Halfway between the two hues on the shorter arc; where one has none, their sum, as the paper asks.
    hue = np.where(grey, h1 + h2, (h1 + turn / 2.0) % 360.0)
    t = (
        1.0
        - 0.17 * np.cos(np.radians(hue - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * hue))
        + 0.32 * np.cos(np.radians(3.0 * hue + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * hue - 63.0))
    )
    sl = 1.0 + 0.015 * (level - 50.0) ** 2 / np.sqrt(20.0 + (level - 50.0) ** 2)
    sc, sh = 1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma * t
    rc = 2.0 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    rt = -np.sin(np.radians(60.0 * np.exp(-(((hue - 275.0) / 25.0) ** 2)))) * rc
    l_part, c_part, h_part = dl / sl, dc / sc, dh / sh
    return np.sqrt(l_part**2 + c_part**2 + h_part**2 + rt * c_part * h_part)
