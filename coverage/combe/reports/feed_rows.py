"""What the lists and tables of a feed are read from: a service with each thing that was found of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from combe.publishing.fields import read

if TYPE_CHECKING:
    from combe.answers.feed_service import ServiceFeed
    from combe.reception import PointLoad, ServiceLevel


class Row(NamedTuple):
    """What was found of a service beside it: alone in the service's own list, in a table with its name."""

    service: ServiceFeed
    found: Any


class Point(NamedTuple):
    """One service at one point of the chain, and what all signals together make there."""

    service: ServiceFeed
    level: ServiceLevel
    load: PointLoad
    enhanced: PointLoad


def rows_of(get: str) -> Callable[[ServiceFeed], tuple[Row, ...] | None]:
    """Return how the rows of a service are read; None where the study does not state what makes them."""

    def found(service: ServiceFeed) -> tuple[Row, ...] | None:
        rows = read(service, get)
        return None if rows is None else tuple(Row(service, each) for each in rows)

    return found


def row_of(get: str) -> Callable[[ServiceFeed], Row | None]:
    """Return how the one thing found of a service is read; None where there is none."""

    def found(service: ServiceFeed) -> Row | None:
        one = read(service, get)
        return None if one is None else Row(service, one)

    return found


def points_of(service: ServiceFeed) -> tuple[Point, ...]:
    """Return a service at every point of its chain."""
    from combe.reception import waterfall

    levels = waterfall(service.cascade, service.received.name)
    loads = zip(levels, service.cascade.loads, service.enhanced.loads, strict=True)
    return tuple(Point(service, *each) for each in loads)


def finite(get: str) -> Callable[[Any], float | None]:
    """Return how a ratio is read that may be beyond any figure, and is told by none then."""

    def found(row: Any) -> float | None:
        value = read(row, get)
        return value if value is not None and math.isfinite(value) else None

    return found
