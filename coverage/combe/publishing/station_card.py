"""What a map tells of a station when its mast is chosen: lines of words, and a row for each service."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from combe.publishing.page_language import in_page_language, retold
from combe.publishing.text import plain

SERVICE_HEADS: Final = ("Service", "ch", "MHz", "ERP W", "dBW")


@dataclass(frozen=True)
class StationCard:
    """What a station radiates and how it is fed, in words ready to be shown.

    ``lines`` are pairs of a head and its words; ``services`` has a row of :data:`SERVICE_HEADS` for each.
    """

    lines: tuple[tuple[str, str], ...]
    services: tuple[tuple[str, ...], ...]


def card_data(card: StationCard | None) -> dict[str, Any] | None:
    """Return a card for the page's script; None where there is none."""
    if card is None:
        return None
    return {
        "lines": [[plain(in_page_language(each)) for each in line] for line in card.lines],
        "heads": [in_page_language(head) for head in SERVICE_HEADS],
        # Among the cells stands the name of the service.
        "services": [[plain(retold(cell)) for cell in row] for row in card.services],
    }
