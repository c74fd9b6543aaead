"""What a search coarse first says of itself: which hills are priced in full, what is known of the others."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from combe.digits import spoken
from combe.publishing.fields import number, one, whole
from combe.words import tell, tell_number

if TYPE_CHECKING:
    from combe.answers.site import SiteWork
    from combe.planning.siting import WideResult

WIDE: Final = one(
    "coarse_first",
    whole("cells_looked_at", get="looked_at", meaning="asked whether they hear a parent"),
    whole("exact_hills", get="exact", meaning="priced against every place"),
    whole("may_overtake", get="could_overtake",
          meaning="hills that by their estimate, and the errors seen, may come before one of the list"),
    number("estimate_error_percent", get=lambda wide: 100.0 * wide.error,
           meaning="how far an exact hill came over its estimate at most"),
    get="report.work.search.wide",
    null="every hill was priced, or best first",
)  # fmt: skip
"""The keys of a search coarse first."""


def wide_sentence(wide: WideResult | None) -> tuple[str, ...]:
    """Say how far a list that was found coarse first can be trusted; nothing of another."""
    if wide is None:
        return ()
    exact = tell_number(
        wide.exact,
        "Exact for the {count} leading hill; the others are estimates",
        "Exact for the {count} leading hills; the others are estimates",
    )
    if wide.could_overtake == 0:
        return (tell("{exact}, none of which reaches the list.", exact=exact),)
    may = tell(
        "{may} of which may come before one of the list, for estimates fell short by up to {error:.0f} %",
        may=spoken(wide.could_overtake),
        error=100.0 * wide.error,
    )
    return (tell("{exact}, {may}.", exact=exact, may=may),)


def wide_lines(work: SiteWork, wide: WideResult, rules: Sequence[str], time_words: str) -> list[str]:
    """Return how the cells of a grid become the hills that a search coarse first looks at, a line each."""
    first = tell(
        "{cells} cells of {cell_size_m:g} m",
        cells=spoken(work.area.heights_m.size),
        cell_size_m=work.area.grid.cell_size_m,
    )
    looked = tell(
        "{looked_at} of these looked at, the highest of each block first; "
        "{heard} hear a parent with {required_margin_db:g} dB{time_words}",
        looked_at=spoken(wide.looked_at),
        heard=spoken(work.search.heard),
        required_margin_db=work.question.chain.required_margin_db,
        time_words=time_words,
    )
    return [first, *rules, looked]
