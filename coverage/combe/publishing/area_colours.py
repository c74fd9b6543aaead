"""Chooses colours and patterns for areas side by side, so that no two that touch look alike.

A few colours that differ in lightness as well, each with several patterns: neighbours differ for every colour
vision and in grey, however many areas there are.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from combe.publishing.colours import station_colours

_COLOURS: Final = 8
_PATTERNS: Final = ("plain", "rising", "falling", "dotted")
LOOKS: Final = _COLOURS * len(_PATTERNS)
"""Different looks; with more areas than these, areas that do not touch share them."""


def area_looks(codes: npt.NDArray[np.integer], count: int) -> tuple[tuple[str, str], ...]:
    """Return colour and pattern of the areas numbered 1 to ``count``.

    Parameters
    ----------
    codes : int array (rows, columns)
        Which area a cell belongs to; other numbers are none.
    count
        How many areas there are. The first few have the colours that stations have in rasters.
    """
    if count <= LOOKS:
        return tuple(map(_look, range(count)))
    touching, chosen = _touching(codes, count), np.full(count + 1, -1)
    for area in range(1, count + 1):
        taken = {int(chosen[other]) for other in touching[area]}
        # Each begins elsewhere, so that areas near one another seldom look alike even if they do not touch.
        looks = [(area - 1 + step) % LOOKS for step in range(LOOKS)]
        chosen[area] = next((look for look in looks if look not in taken), looks[0])
    return tuple(_look(int(look)) for look in chosen[1:])


def _look(number: int) -> tuple[str, str]:
    colour = station_colours(_COLOURS)[number % _COLOURS]
    # With each colour once, neighbours in the order have other patterns too.
    return colour, _PATTERNS[(number + number // _COLOURS) % len(_PATTERNS)]


def _touching(codes: npt.NDArray[np.integer], count: int) -> list[set[int]]:
    """Return for each area, from number 0, the numbers of those that it meets at a side of a cell."""
    met: list[set[int]] = [set() for _ in range(count + 1)]
    numbers = codes.astype(np.int64)
    for one, other in ((numbers[:, :-1], numbers[:, 1:]), (numbers[:-1], numbers[1:])):
        some = (one != other) & (one >= 1) & (other >= 1) & (one <= count) & (other <= count)
        for a, b in np.unique(np.stack([one[some], other[some]]), axis=1).T.tolist():
            met[a].add(b)
            met[b].add(a)
    return met
