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
from combe.words import joined, tell

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
    parts = [
        tell(
            "{names}; {kind}; heights above {vertical_datum}",
            names=joined(", ", source.tiles),
            kind=surface if source.surface_model else "taken as bare ground",
            vertical_datum=source.vertical_datum,
        )
    ]
    if several:
        parts.append(
            tell("cells of {cell_size_m:.3g} m, {crs}", cell_size_m=source.cell_size_m, crs=source.crs)
        )
    if source.sea_floor:
        parts.append("heights below 0 are the bed of the sea and count as 0")
    if source.fill_within_m is not None:
        parts.append(
            tell(
                "voids filled by {method} from up to {within_m:g} m away",
                method=INVERSE_DISTANCE,
                within_m=source.fill_within_m,
            )
        )
    return joined("; ", parts)


def terrain_words(terrain: Terrain) -> str:
    """Return what all elevation is, in one line."""
    sources = sources_of(terrain)
    several = len(sources) > 1
    words = joined("; then ", [source_words(each, several=several) for each in sources])
    if several:
        together = "each is sampled between its own cells, and the first with a height counts"
        words = joined("; ", [words, together])
    return words


def mixing_notes(terrain: Terrain) -> Iterator[str]:
    """Yield what the terrains of a project do not share, though no height is shifted."""
    sources = sources_of(terrain)
    datums = dict.fromkeys(each.vertical_datum for each in sources)
    if len(datums) > 1:
        yield tell(
            "heights are counted from {datums}, and none is shifted: where the terrains meet, the ground has "
            "a step as high as these differ",
            datums=joined(" and from ", datums),
        )
    if len({each.surface_model for each in sources}) > 1:
        names = [joined(", ", each.tiles[:_MOST_NAMED]) for each in sources if each.surface_model]
        yield tell(
            "{names} holds trees and roofs, the other terrain is bare: where they meet, the ground has a "
            "step as high as the trees",
            names=joined("; ", names),
        )


def ground_notes(found: GroundFound, terrain: Terrain) -> Iterator[str]:
    """Yield what of the ground under the grid is void, below the sea or filled."""
    if found.voids:
        yield _void_words(found)
    if found.deep:
        yield tell(
            "{deep} of the cells without a height lie under 500 m below 0, where no land is; if they are the "
            "bed of the sea, write sea_floor = true in [terrain]",
            deep=spoken(found.deep),
        )
    if found.below:
        yield tell(
            "{below} cells of the terrain lie below the sea, the lowest at {lowest_m:.0f} m; if they are its "
            "bed, write sea_floor = true in [terrain]",
            below=spoken(found.below),
            lowest_m=found.lowest_m,
        )
    if has_fills(terrain):
        yield tell(
            "{filled} cells of the terrain were without a height and are filled ({share:.2%}); nobody "
            "measured that ground",
            filled=spoken(found.filled),
            share=found.filled / found.cells,
        )


def _void_words(found: GroundFound) -> str:
    assert found.largest is not None, "there are voids"
    alone = found.patches == 1
    return tell(
        "{voids} cells of the terrain on the grid have no height ({share:.2%}), in {patches} around "
        "longitude {longitude_deg:.4f}, latitude {latitude_deg:.4f}, {where}: no prediction there and behind",
        voids=spoken(found.voids),
        share=found.voids / found.cells,
        patches="one patch"
        if alone
        else tell(
            "{patches} patches, the largest of {cells}",
            patches=spoken(found.patches),
            cells=spoken(found.largest.cells),
        ),
        longitude_deg=found.largest.longitude_deg,
        latitude_deg=found.largest.latitude_deg,
        where="beyond all tiles"
        if found.largest.tile == "none"
        else tell("in {tile}", tile=found.largest.tile),
    )
