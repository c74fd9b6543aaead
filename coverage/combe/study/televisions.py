"""Turns the televisions that a study writes into those of its project, each once and by a name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from combe.project.television import Television
from combe.standards import television_system
from combe.study.television_schema import (
    KEYS,
    OwnTelevisionSection,
    TelevisionSection,
    laid_over,
    television_name,
)


class Televisions:
    """The televisions of a study by name: the usual one, and those of stations and services of their own.

    ``own`` fills as services are named; a service with the usual one has no name for it.
    """

    def __init__(self, section: TelevisionSection) -> None:
        self._study = _written(section)
        self.usual = _television(laid_over(self._study))
        self.own: dict[str, Television] = {}

    def named(self, *own: OwnTelevisionSection | None) -> tuple[str, Television]:
        """Return the television that results from those of a station and a service, with its name."""
        laid = laid_over(self._study, *(_written(each) for each in own if each))
        if laid == laid_over(self._study):
            return "", self.usual
        name = television_name(laid)
        return name, self.own.setdefault(name, _television(laid))


def _written(section: OwnTelevisionSection) -> dict[str, Any]:
    return {key: value for key in KEYS if (value := getattr(section, key)) is not None}


def _television(laid: Mapping[str, Any]) -> Television:
    mode = (laid.get(key) for key in ("modulation", "code_rate", "channel_model"))
    system = television_system(laid["system"], *mode)
    return Television(system, laid.get("channel_raster", ""), laid.get("location_percent", 0.0))
