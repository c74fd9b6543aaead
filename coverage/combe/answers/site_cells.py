"""What a siting knows of every hill that it searched, and the same laid over the grid.

The list tells of the best hills; here stand all of them: what each is worth, how well it hears a parent, and
what the ground says of it. Nothing is worked out again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from combe.decibels import FloatArray

if TYPE_CHECKING:
    from combe.answers.site import SiteWork

HILL_UNITS: Final = {
    "score": "1",
    "people": "1",
    "people_harmed": "1",
    "search_margin_db": "dB",
    "above_valley_m": "m",
    "slope_deg": "degrees",
    "access_m": "m",
    "cost": "1",
}
"""What can be known of a hill, by the keys of the answer, and its unit; people are counted in 1."""

HILL_WORDS: Final = {
    "score": "people newly served less people harmed",
    "people": "people newly served in all services, by the search",
    "people_harmed": "people who lose a service from another station",
    "search_margin_db": "search margin of the feed",
    "above_valley_m": "height over the lowest ground around",
    "slope_deg": "steepest slope",
    "access_m": "distance to access",
    "cost": "cost of a site",
}


def hill_values(work: SiteWork) -> dict[str, FloatArray]:
    """Return what is known of the hills (hills,), by the keys of ``HILL_UNITS``.

    Only what the study asks for is there: no harm where a relay can harm nobody or that is not counted, no
    access without a layer of it, no cost where none is given. NaN is not known: what a best-first search did
    not price, slopes beside ground that is not known, access of which the grid has none.
    """
    search, ground = work.search, work.ground
    found = {"score": search.score, "people": search.people}
    if search.may_harm and search.harm_counted:
        found["people_harmed"] = search.harmed
    found["search_margin_db"] = search.feed_margin_db
    found["above_valley_m"] = ground.above_valley_m.ravel()[search.hills]
    found["slope_deg"] = ground.slope_deg.ravel()[search.hills]
    if ground.access_m is not None:
        found["access_m"] = ground.access_m.ravel()[search.hills]
    if search.has_costs:
        found["cost"] = search.cost
    # No road on the grid is no road known of, and what comes of it costs what nobody knows.
    return {key: np.where(np.isfinite(values), values, np.nan) for key, values in found.items()}


def over_grid(work: SiteWork, values: FloatArray) -> FloatArray:
    """Return values of the hills (hills,) over the grid (rows, columns), NaN where no hill was searched."""
    found = np.full(work.area.heights_m.size, np.nan)
    found[work.search.hills] = values
    return found.reshape(work.area.heights_m.shape)
