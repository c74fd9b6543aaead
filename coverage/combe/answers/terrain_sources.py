"""What a project's elevation is: each terrain with its cells, datum and kind, and what of it is noted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from combe.digits import spoken
from combe.terrain import (
    INVERSE_DISTANCE,
    GroundFound,
    Terrain,
    has_fills,
    terrain_sources,
)

_MOST_NAMED = 3


@dataclass(frozen=True)
class TerrainSource:
    """One terrain: its tiles by name, the smaller side of its cells on the ground [m], and its words.

    ``fill_within_m`` is None where its voids stay voids.
    """

    tiles: tuple[str, ...]
    cell_size_m: float
    crs: str
    vertical_datum: str
    surface_model: bool
    sea_floor: bool
    fill_within_m: float | None
    credit: str

    @property
    def kind(self) -> str:
        """Whether trees and roofs are in its heights."""
        return "surface model" if self.surface_model else "bare ground"


def sources_of(terrain: Terrain) -> tuple[TerrainSource, ...]:
    """Return the terrains that one is made of, in the order in which they are asked."""
    fills = {each.tiles: each.fill_within_m for each in (terrain, *terrain.under) if each.fill_within_m}
    return tuple(
        TerrainSource(
            tuple(tile.name for tile in each.tiles),
            each.cell_size_m,
            each.crs.name,
            each.vertical_datum,
            each.surface_model,
            any(tile.sea_floor for tile in each.tiles),
            fills.get(each.tiles),
            each.credit,
        )
        for each in terrain_sources(terrain)
    )


def source_words(source: TerrainSource, *, several: bool) -> str:
    """Return what a terrain is, with its cells and system where it is one of several."""
    surface = "a surface model, in which trees and roofs count as ground"
    kind = surface if source.surface_model else "taken as bare ground"
    words = f"{', '.join(source.tiles)}; {kind}; heights above {source.vertical_datum}"
    if several:
        words = f"{words}; cells of {source.cell_size_m:.3g} m, {source.crs}"
    if source.sea_floor:
        words = f"{words}; heights below 0 are the bed of the sea and count as 0"
    if source.fill_within_m is not None:
        words = f"{words}; voids filled by {INVERSE_DISTANCE} from up to {source.fill_within_m:g} m away"
    return words


def terrain_words(terrain: Terrain) -> str:
    """Return what all elevation is, in one line."""
    sources = sources_of(terrain)
    several = len(sources) > 1
    words = "; then ".join(source_words(each, several=several) for each in sources)
    if several:
        words = f"{words}; each is sampled between its own cells, and the first with a height counts"
    return words


def mixing_notes(terrain: Terrain) -> Iterator[str]:
    """Yield what the terrains of a project do not share, though no height is shifted."""
    sources = sources_of(terrain)
    datums = dict.fromkeys(each.vertical_datum for each in sources)
    if len(datums) > 1:
        yield (
            f"heights are counted from {' and from '.join(datums)}, and none is shifted: where the terrains "
            "meet, the ground has a step as high as these differ"
        )
    if len({each.surface_model for each in sources}) > 1:
        names = [", ".join(each.tiles[:_MOST_NAMED]) for each in sources if each.surface_model]
        yield (
            f"{'; '.join(names)} holds trees and roofs, the other terrain is bare: where they meet, the "
            "ground has a step as high as the trees"
        )


def ground_notes(found: GroundFound, terrain: Terrain) -> Iterator[str]:
    """Yield what of the ground under the grid is void, below the sea or filled."""
    if found.voids:
        yield _void_words(found)
    if found.deep:
        yield (
            f"{spoken(found.deep)} of the cells without a height lie under 500 m below 0, where no land is; "
            "if they are the bed of the sea, write sea_floor = true in [terrain]"
        )
    if found.below:
        yield (
            f"{spoken(found.below)} cells of the terrain lie below the sea, the lowest at "
            f"{found.lowest_m:.0f} m; if they are its bed, write sea_floor = true in [terrain]"
        )
    if has_fills(terrain):
        yield (
            f"{spoken(found.filled)} cells of the terrain were without a height and are filled "
            f"({found.filled / found.cells:.2%}); ground that nobody measured"
        )


def _void_words(found: GroundFound) -> str:
    share = f"{found.voids / found.cells:.2%}"
    assert found.largest is not None, "there are voids"
    place = f"longitude {found.largest.longitude_deg:.4f}, latitude {found.largest.latitude_deg:.4f}"
    where = "beyond all tiles" if found.largest.tile == "none" else f"in {found.largest.tile}"
    patches = "1 patch" if found.patches == 1 else f"{spoken(found.patches)} patches, the largest"
    return (
        f"{spoken(found.voids)} cells of the terrain on the grid have no height ({share}), in {patches} of "
        f"{spoken(found.largest.cells)} around {place}, {where}: no prediction there and behind"
    )
