"""What a document of a coverage says of the other season of the ground cover."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from combe.digits import spoken
from combe.publishing.document import Table
from combe.publishing.fields import many, number, one, people, text
from combe.publishing.text import capital
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport
    from combe.answers.season_change import SeasonChange

_STATIONS: Final = many(
    "stations",
    text("name", "station", "station"),
    number("lowest_db", "lowest", signed=True),
    number("median_db", "median", signed=True),
    number("highest_db", "highest", signed=True),
    meaning="fields there less those of the study's season, over all cells",
)

OTHER_SEASON: Final = one(
    "other_season",
    text("season", meaning="in leaf or leafless"),
    people("people_served", "", "people.served", null="no people in the study"),
    people("people_unserved", "", "people.unserved", null="no people in the study"),
    _STATIONS,
    null="not asked for",
)

_LEAVES: Final = {
    "leafless": "Cover counts as high as its class, times the study's own factor: no Recommendation gives "
    "one. Trunks and branches still hide, and conifers stay as they are.",
    "in leaf": "Cover counts as high as its class.",
}


def season_words(report: CoverReport, change: SeasonChange | None) -> tuple[str, ...]:
    """Return whom the other season serves; nothing where it was not asked for, or nobody is counted."""
    here = report.all_services.people
    if change is None or change.people is None or here is None:
        return ()
    return (
        tell(
            "{season}, {served} people have all services in place of {served_2}.",
            season=capital(change.season),
            served=spoken(change.people.served),
            served_2=spoken(here.served),
        ),
    )


def season_parts(change: SeasonChange | None) -> list[Table]:
    """Return how the fields of stations differ in the other season."""
    if change is None:
        return []
    title = tell("Fields {season}, over those of the study's season", season=change.season)
    return [Table(title, _STATIONS.fields, change.stations, _LEAVES[change.season])]
