"""What is said of work before it begins: its counts, its memory and its time, and how a search will go."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from combe.digits import spoken
from combe.publishing.fields import Unit, flag, number, one, whole
from combe.words import joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.forecast import Forecast

_MINUTE_S: Final = 60.0
_HOUR_S: Final = 3600.0
_SAID_IN_MINUTES_S: Final = 90.0
_SAID_IN_HOURS_S: Final = 5400.0
_ROUGH: Final = 2

_NO_SEARCH: Final = "no search for sites"

FORECAST: Final = one(
    "forecast",
    whole("hills", get="hills", null=_NO_SEARCH),
    whole("places", get="places", null=_NO_SEARCH),
    whole("cells", get="cells"),
    whole("stations", get="stations"),
    number("memory_mib", get="memory_mib", unit=Unit("MiB", 0, 0)),
    number("seconds", get="seconds"),
    number("whole_seconds", get="whole_seconds", meaning="with every hill priced at once"),
    flag("coarse_first", get="coarse_first", meaning="whether leading hills alone are priced in full"),
    flag("most", get="most", meaning="whether hills and places are the most there can be, not an estimate"),
    number("measured_seconds", get="measured_seconds", null="not begun"),
    get="forecast",
    meaning="of the work, before it began, with the seconds that it then took",
    null="not forecast",
)
"""The keys of a forecast."""


def duration_words(seconds: float) -> str:
    """Return a time as roughly as it is known.

    >>> duration_words(8.2), duration_words(47.0), duration_words(400.0), duration_words(11000.0)
    ('8 s', '45 s', '7 minutes', '3 hours')
    """
    if seconds < _SAID_IN_MINUTES_S:
        return tell("{rough:.0f} s", rough=_roughly(seconds))
    if seconds < _SAID_IN_HOURS_S:
        return tell("{rough:.0f} minutes", rough=_roughly(seconds / _MINUTE_S))
    return tell("{rough} hours", rough=spoken(_roughly(seconds / _HOUR_S)))


def _roughly(value: float) -> float:
    """Return a number in whole ones and no more than two digits, from ten on to its ten's half."""
    if value < 10.0:
        return max(round(value), 1)
    step = 10.0 ** (math.floor(math.log10(value)) - 1) * 5.0
    return max(round(value / step) * step, 1.0)


def forecast_lines(forecast: Forecast) -> tuple[str, ...]:
    """Return what is said of work before it begins: a line, and one more for a search coarse first."""
    at_most = "at most " if forecast.most else ""
    counts = [
        tell(
            "{cells} cells × {stations}",
            cells=spoken(forecast.cells),
            stations=tell_number(forecast.stations, "{count} station", "{count} stations"),
        )
    ]
    if forecast.hills is not None:
        counts.append(
            tell(
                "{at_most}{hills} hills × {places} places",
                at_most=at_most or "some ",
                hills=spoken(_significant(forecast.hills)),
                places=spoken(_significant(forecast.places or 0)),
            )
        )
    about = tell(
        "{counts}: {at_most}about {duration}, {memory} MiB",
        counts=joined("; ", counts),
        at_most=at_most,
        duration=duration_words(forecast.seconds),
        memory=spoken(_significant(forecast.memory_mib)),
    )
    if not forecast.coarse_first:
        return (about,)
    whole = tell(
        "coarse first, for every hill at once would take about {duration}, {memory} MiB: leading hills are "
        "priced in full, the others estimated; --whole prices every hill, --minutes N more of the leading",
        duration=duration_words(forecast.whole_seconds),
        memory=spoken(_significant(forecast.whole_memory_mib)),
    )
    return about, whole


def _significant(value: float) -> float:
    """Return a count with three digits, for an estimate has no more."""
    if value < 1000.0:
        return value
    step = 10.0 ** (math.floor(math.log10(value)) - _ROUGH)
    return round(value / step) * step
