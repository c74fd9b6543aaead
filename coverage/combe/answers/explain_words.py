"""What can be said of a service at a place, in sentences."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from combe.digits import apart, rounded_up, telling, true_minus
from combe.words import tell, tell_number

if TYPE_CHECKING:
    from combe.answers.explain import Candidate, Disturber


_SURE: Final = 0.05
"""With less of a chance that the error of the prediction turns a verdict, no sentence is spent on it."""


def chance_words(best: Candidate, chance: float) -> list[str]:
    """Return the chance as a sentence where the error may well turn the verdict."""
    if not _SURE < chance < 1.0 - _SURE:
        return []
    served = "is served so" if best.margin_db >= 0.0 else "is served all the same"
    return [
        tell(
            "Given the prediction's error, the chance that it {served} is {chance:.0f} %.",
            served=served,
            chance=100.0 * chance,
        )
    ]


def words_of(name: str, best: Candidate) -> list[str]:
    """Return what can be said of a service from its best candidate, one sentence each."""
    if math.isnan(best.margin_db):
        return [tell("{name}: no station has a prediction here.", name=name)]
    said = [_verdict(name, best), *_echo_words(best)]
    if best.feed_words:
        ended = best.feed_words.endswith(".")
        said.append(best.feed_words if ended else tell("{feed}.", feed=best.feed_words))
    if best.margin_db < 0.0:
        said += _remedies(best)
    for each in best.unknown:
        said.append(
            tell(
                "{name} has no prediction here: what it does as an interferer is not known.",
                name=each.station.name,
            )
        )
    return said


def _verdict(name: str, best: Candidate) -> str:
    field, needed = apart(best.field_dbuv_m, best.needed_dbuv_m, 1)
    over = tell("{field} dB(µV/m) where {needed} are needed", field=field, needed=needed)
    who = tell("{name} on channel {channel}", name=best.station.name, channel=best.service.channel)
    if best.margin_db >= 0.0:
        return tell(
            "{name}: served by {who}, {over}; margin {margin_db} dB.",
            name=name,
            who=who,
            over=over,
            margin_db=telling(best.margin_db, 0.0, 1),
        )
    limit = "interference" if best.noise_margin_db >= 0.0 else "noise"
    held = (
        ""
        if limit == "noise"
        else tell(
            " (against noise alone it has {noise_margin_db:.1f} dB to spare)",
            noise_margin_db=best.noise_margin_db,
        )
    )
    short = tell(
        "{margin_db} dB short, limited by {limit}{held}",
        margin_db=rounded_up(-best.margin_db),
        limit=limit,
        held=held,
    )
    return tell(
        "{name}: not served. Best is {who}, {over}; {short}.", name=name, who=who, over=over, short=short
    )


def _echo_words(best: Candidate) -> list[str]:
    """Return what the network on one frequency does to a place that looks at a station."""
    others = [each for each in best.echoes[1:] if not math.isnan(each.echo.weight)]
    if not others:
        return []
    alone_db = best.field_dbuv_m - best.minimum_dbuv_m
    used = sum(each.echo.weight == 1.0 for each in others)
    return [
        true_minus(
            tell_number(
                len(others),
                "Of {count} echo of its network receivers can use {used} in full; "
                "with what they use of all, {gain_db:+.1f} dB over noise.",
                "Of {count} echoes of its network receivers can use {used} in full; "
                "with what they use of all, {gain_db:+.1f} dB over noise.",
                used=used,
                gain_db=best.noise_margin_db - alone_db,
            )
        )
    ]


def _remedies(best: Candidate) -> list[str]:
    """Return what alone would bring the service."""
    said = [
        tell(
            "It would do if {name} gave {margin_db} dB more field here.",
            name=best.station.name,
            margin_db=rounded_up(-best.margin_db),
        )
    ]
    known = [each for each in best.disturbers if not math.isnan(each.nuisance.nuisance_dbuv_m)]
    for each in known:
        lower_db = each.nuisance.lower_by_db
        if lower_db is not None:
            said.append(
                tell(
                    "Or if {named} came down by {lower_db} dB, all else as it is.",
                    named=_named(each),
                    lower_db=rounded_up(lower_db),
                )
            )
    if known and all(each.nuisance.lower_by_db is None for each in known):
        said.append(
            true_minus(
                tell(
                    "No interferer alone decides: even without the strongest the margin would be "
                    "{margin_without_db:.1f} dB.",
                    margin_without_db=known[0].nuisance.margin_without_db,
                )
            )
        )
    return said


def _named(each: Disturber) -> str:
    return tell(
        "{name} ({name_2}, channel {channel}, {relation})",
        name=each.station.name,
        name_2=each.service.name,
        channel=each.service.channel,
        relation=each.relation,
    )
