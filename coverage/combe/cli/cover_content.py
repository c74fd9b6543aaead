"""The tables and the JSON of ``combe cover``: people by service and district, and the harm of relays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from combe.cli.output import print_table, say
from combe.digits import spoken

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport, TakenUp
    from combe.answers.feed_standing import FeedStanding
    from combe.answers.network import Network
    from combe.planning.harm import Harm
    from combe.planning.people_count import PeopleCount
    from combe.planning.settlements import UnservedSettlement

_COLUMNS: Final = {
    "served before": "served_before",
    "newly served": "newly_served",
    "lost": "lost",
    "served": "served",
    "served twice": "served_twice",
    "unserved": "unserved",
    "by interference": "limited_by_interference",
    "interferer unknown": "interference_unknown",
    "no prediction": "without_prediction",
    "in all": "total",
}
MOST_SETTLEMENTS: Final = 12
"""Settlements that are printed; JSON has all of them."""

MOST_HARM: Final = 40
"""Pairs of a relay and a service that are printed, those with most harm; JSON has all of them."""

MOST_RASTERS: Final = 60
"""Rasters that are named one by one."""

_MAY_LACK: Final = ("lost", "served twice", "by interference", "interferer unknown")
_KEYS: Final = (
    "served",
    "served_before",
    "newly_served",
    "lost",
    "served_twice",
    "unserved",
    "limited_by_interference",
    "interference_unknown",
    "without_prediction",
    "total",
)


def network_json(network: Network) -> dict[str, Any]:
    """Return the people of a service, or of all, in all and by district."""
    districts = [{"name": name, **people_json(people)} for name, people in network.districts]
    return people_json(network.people) | ({"districts": districts} if districts else {})


def people_json(people: PeopleCount | None) -> dict[str, Any]:
    """Return the people of a count; null in a study without them."""
    counted = asdict(people) if people else dict.fromkeys(_KEYS)
    return {f"people_{key}": counted[key] for key in _KEYS}


def harm_json(harm: Harm) -> dict[str, Any]:
    """Return what a relay does to a service of another station."""
    return {
        "relay": harm.relay,
        "station": harm.station,
        "service": harm.service,
        "channel": harm.channel,
        "cells": harm.cells,
        "people_fall_below": harm.fall_below,
        "people_served_otherwise": harm.served_otherwise,
        "people_left_without": harm.left_without,
        "people_not_known": harm.not_known,
    }


def feed_standing_json(each: FeedStanding) -> dict[str, Any]:
    """Return how the feed of a relay stands."""
    return {
        "relay": each.relay,
        "parent": each.parent,
        "verdict": each.verdict,
        "words": each.words,
        "services": [asdict(one) for one in each.services],
    }


def print_feed_standings(feeds: Sequence[FeedStanding]) -> None:
    """Print which relays count though their feed does not pass."""
    for each in feeds:
        if each.words:
            say(click.wrap_text(f"note: {each.words}", width=96, subsequent_indent="  "))


def print_people(report: CoverReport) -> None:
    """Print who is served before and after, by service and by district."""
    networks = [report.all_services, *report.services]
    counted = [(each.name, each.people) for each in networks if each.people]
    if not counted:
        say("  no [people] section in the study: nobody is counted")
        return
    _print_counts("people", counted)
    for network in networks:
        if network.districts:
            say(f"\n{network.name}, by district")
            _print_counts("district", network.districts)


def _print_counts(first: str, counted: Sequence[tuple[str, PeopleCount]]) -> None:
    rows = [(name, *_numbers(people)) for name, people in counted]
    print_table((first, *_COLUMNS), rows, unless_zero=_MAY_LACK)


def _numbers(people: PeopleCount) -> list[int | None]:
    counts = asdict(people)
    return [rounded(counts[key]) for key in _COLUMNS.values()]


def print_harm(report: CoverReport) -> None:
    """Print what each relay takes from viewers of other stations; nothing where none can disturb any."""
    if report.interference is None:
        say("\nOutgoing harm: not looked at, since the study does not count interference")
    if not report.interference:
        return
    say("\nOutgoing harm: people whose station falls below the standard because of a relay")
    if not report.harm:
        say("  no relay is on a channel that another station's viewers can hear")
        return
    heads = ("relay", "harmed", "service", "ch", "cells", "fall below", "served otherwise", "left without")
    shown, rest = _most_harmed(report.harm)
    rows = [
        (
            each.relay,
            each.station,
            each.service,
            each.channel,
            each.cells,
            rounded(each.fall_below),
            rounded(each.served_otherwise),
            rounded(each.left_without),
            rounded(each.not_known),
        )
        for each in shown
    ]
    print_table((*heads, "not known"), rows, unless_zero=("not known",))
    if rest:
        say(f"  and {len(rest)} more pairs, {_rest_words(rest)}; see --json")


def _rest_words(rest: Sequence[Harm]) -> str:
    """Return what the pairs that are not printed do; of people nothing where none are counted."""
    hit = f"{sum(each.cells > 0 for each in rest)} of them with harm"
    people = [each.fall_below for each in rest if each.fall_below is not None]
    return f"{hit}, {spoken(sum(people))} people" if people else hit


def print_taken_up(found: TakenUp) -> None:
    """Print what an earlier run of the same study had left; nothing where all was worked out now."""
    if found.sweeps_from_before or found.tiles_from_before:
        say(
            f"taken up from an earlier run: {found.sweeps_from_before} of {found.sweeps} predictions, "
            f"{found.tiles_from_before} of {found.tiles} judged tiles"
        )


def print_shares(with_interference: bool) -> None:
    """Print what the rasters of shares of places count."""
    say("share_*.tif and the map's shares of places count noise alone")
    if with_interference:
        say("share_with_interference_*.tif count noise and all other stations that may disturb")


def _most_harmed(harm: Sequence[Harm]) -> tuple[Sequence[Harm], Sequence[Harm]]:
    """Return the pairs to be printed, all in their order if they are few, and the rest."""
    if len(harm) <= MOST_HARM:
        return harm, ()
    ranked = sorted(harm, key=lambda one: (-(one.fall_below or 0.0), -one.cells, -(one.not_known or 0.0)))
    return ranked[:MOST_HARM], ranked[MOST_HARM:]


def print_rasters(paths: Sequence[Path], folder: Path) -> None:
    """Print what rasters were written, in one line if they are many."""
    if len(paths) > MOST_RASTERS:
        click.echo(f"written: {len(paths)} rasters in {folder}, from {paths[0].name} to {paths[-1].name}")
        return
    for raster in paths:
        click.echo(f"written: {raster}")


def settlements(report: CoverReport) -> tuple[UnservedSettlement, ...] | None:
    """Return the settlements that do not have all services; None in a study without people."""
    from combe.answers.unserved import unserved_of

    if report.people is None:
        return None
    return unserved_of(report.all_services, report.grid, report.people, report.points)


def unserved_list(found: Sequence[UnservedSettlement] | None) -> dict[str, Any]:
    """Return the settlements that are left unserved; null where nobody is counted."""
    return {"unserved": None if found is None else [unserved_json(each) for each in found]}


def unserved_json(found: UnservedSettlement) -> dict[str, Any]:
    """Return a settlement that is left unserved."""
    return {
        "name": found.name,
        "longitude_deg": found.longitude_deg,
        "latitude_deg": found.latitude_deg,
        "people": found.people,
        "people_unserved": found.unserved,
        "people_without_prediction": found.unknown,
        "missing_db": found.missing_db,
        "worst_missing_db": found.worst_missing_db,
    }


def print_unserved(found: Sequence[UnservedSettlement] | None) -> None:
    """Print the settlements that are left unserved, at most twelve."""
    say("\nSettlements with people unserved, of all services")
    if found is None:
        say("  not known: no [people] section in the study")
        return
    heads = ("settlement", "longitude", "latitude", "people", "unserved", "missing dB", "at worst dB")
    rows = [
        (
            each.name or f"group {number}",
            f"{each.longitude_deg:.4f}",
            f"{each.latitude_deg:.4f}",
            round(each.people),
            round(each.unserved),
            each.missing_db,
            each.worst_missing_db,
        )
        for number, each in enumerate(found[:MOST_SETTLEMENTS], start=1)
    ]
    if not rows:
        say("  none")
        return
    print_table(heads, rows)
    if len(found) > len(rows):
        people = sum(each.unserved for each in found[len(rows) :])
        say(f"  and {len(found) - len(rows)} smaller ones with {spoken(people)} unserved; see --json")
    say("  missing dB would serve half of the unserved there, at worst dB all of them")


def rounded(count: float | None) -> int | None:
    """Return a whole number of people."""
    return None if count is None else round(count)
