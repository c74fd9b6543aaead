"""What else is on a relay's input: other stations, own frequencies and outputs, loops, chains of hops."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from combe.publishing.document import Part, Section, Table, Words
from combe.publishing.fields import UNITS, Field, Mark, as_told, number, text
from combe.reports.feed_form import FORM
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.feed import RelayFeed
    from combe.reception import RelayChain


_DB: Final = UNITS["db"]

SERVICES: Final = FORM["relays.services"]

_SERVICE: Final = text("", "service", "service.received.name")
"""Whose a row is, in a table of several services."""


def of_service(key: str) -> Field:
    """Return a field of a service by its key, through lists and objects."""
    return FORM[f"relays.services.{key}"]


def table(
    relay: RelayFeed, key: str, title: str, columns: Sequence[Field], note: str, *, named: bool = False
) -> list[Table]:
    """Return what was found of all services in one table, with their names if asked; nothing without rows."""
    field = of_service(key)
    found = [each for service in relay.services if (each := field.of(service)) is not None]
    rows = found if field.kind == "object" else [row for each in found for row in each]
    return (
        [Table(title, (_SERVICE, *columns) if named else tuple(columns), tuple(rows), note)] if rows else []
    )


def spoilers(relay: RelayFeed) -> list[Table]:
    """Return what else is on the input: other stations, own frequencies, own outputs, loops."""
    from combe.answers.output_side import isolation_words

    other = text(
        "",
        "from",
        lambda row: tell("{station} {service}", station=row.found.station, service=row.found.service),
    )
    stations = of_service("interference")
    references = dict.fromkeys(row.reference for each in relay.services for row in each.interference.rows)
    source = stations.only("reference") if len(references) > 1 else ()
    columns = stations.only(
        "step", "time", "unwanted_dbuv_m", "discrimination_db", "protection_db", "nuisance_dbuv_m",
        "carrier_to_interference_db", "margin_db",
    )  # fmt: skip
    note = tell(
        "Tropospheric: field for 1 % of time against the median of the wanted one; continuous: the median,"
        " against the wanted one in its fade where it does not come over the same path. The worse is told;"
        " protection ratios of {references}.",
        references=joined("; ", references),
    )
    title = "Other stations at the receiving aerial"
    tables = table(relay, "interference", title, (other, *columns, *source), note, named=True)
    columns = of_service("image_and_oscillator").only(
        "channel_step", "relation", "wanted_at", "unwanted_over_wanted_db", "carrier_to_interference_db"
    )
    note = "The image is judged; oscillator and beat depend on the receiver's screening and are a caution."
    title = "On the receiver's own frequencies"
    tables += table(relay, "image_and_oscillator", title, (other, *columns), note, named=True)
    if (own := relay.side.feed.own_output) is not None:
        outputs = of_service("own_output")
        columns = (
            *outputs.only("service"),
            text("", "channel", lambda row: row.found.step or "elsewhere"),
            *outputs.only("level_dbm", "over_wanted_db", "protection_db", "margin_db", "carrier_to_noise_db"),
        )
        title = "The relay's own outputs at the receiving aerial"
        note = tell(
            "{isolation_words}. They do not fade: the margin is that of the wanted one in its fade.",
            isolation_words=isolation_words(own),
        )
        tables += table(relay, "own_output", title, columns, note, named=True)
    return [*tables, *_loops(relay)]


def _loops(relay: RelayFeed) -> list[Table]:
    """Return the loops of services that keep their channel; one that oscillates has no ripple and no echo."""
    columns = of_service("loop").only(
        "gain_db", "fade_db", "isolation_db", "canceller_db", "gain_margin_db", "required_margin_db",
        "ripple_db", "echo_ci_db",
    )  # fmt: skip
    reasons = [
        tell("{name}: {reason}", name=each.received.name, reason=each.loop.reason)
        for each in relay.services
        if each.loop
    ]
    title = "The loop on a channel that is kept"
    return table(relay, "loop", title, columns, tell("{reasons}.", reasons=joined("; ", reasons)), named=True)


def output(relay: RelayFeed) -> list[Table]:
    """Return the output chain of the relay, where the study lists it."""
    if relay.output is None:
        return []
    columns = (
        *FORM["relays.output"].only("name"),
        number("", "amplifier", lambda each: each.budget.points[0].power_w, unit=UNITS["w"]),
        *FORM["relays.output"].only(
            "total_loss_db", "aerial_input_w", "aerial_gain_dbd", "erp_w", "erp_difference_db"
        ),
        number("", "third order", _third_order_db, unit=_DB),
    )
    note = (
        "Power, losses and gain to the ERP, against the ERP that the study states. Third order: the "
        "strongest product in the service's channel, relative to its power."
    )
    return [Table("Output side", columns, relay.output.services, note)]


def _third_order_db(each: Any) -> float | None:
    return each.products.worst_relative_db if each.products and each.products.worst else None


def pictures(relay: RelayFeed) -> list[Table]:
    """Return the signal-to-noise ratios of analogue pictures and sound."""
    rows = tuple(each for each in relay.services if each.picture and each.picture_at_time and each.sound)
    if not rows:
        return []
    percent = relay.services[0].budget.time_percent
    columns = (
        *(as_told(each, "service") for each in SERVICES.only("name")),
        number("", "C/N", "picture.carrier_to_noise_db", unit=_DB),
        number("", "S/N unweighted", "picture.unweighted_sn_db", unit=_DB),
        number("", "S/N weighted", "picture.weighted_sn_db", unit=_DB),
        number(
            "",
            tell("unweighted, {percent:g} % of time", percent=percent),
            "picture_at_time.unweighted_sn_db",
            unit=_DB,
        ),
        number("", "vision to sound", "sound.vision_to_sound_db", unit=_DB),
    )
    note = "Video signal from blanking to white over r.m.s. noise; levels are those at peak sync."
    return [Table("Pictures", columns, rows, note)]


def chains(relay: RelayFeed) -> list[Part]:
    """Return the hops of each service with the verdict on its chain, or that this cannot be given."""
    words = [
        Mark(each.chain.verdict, _chain_words(each.received.name, each.chain))
        for each in relay.services
        if each.chain is not None
    ]
    unknown = "chain of relays not judged: not every ratio in it is known"
    words += [
        Mark("not judged", tell("{name} {unknown}", name=each.received.name, unknown=unknown))
        for each in relay.services
        if each.hops is None
    ]
    if not words:
        return []
    hops, of = of_service("relay_chain.hops"), of_service("relay_chain").of
    chains = [chain for service in relay.services if (chain := of(service)) is not None]
    rows = tuple(row for chain in chains for row in hops.of(chain))
    stands = tuple(each for each in hops.fields if each.head == "stands for")
    columns = (*hops.only("name", "received_db", "sent_db", "cost_db"), *stands)
    table = Table("", columns, rows, group="service.received.name")
    note = (
        "Ratio received and sent at each hop, what the end would gain without it, and the share of an average"
        " year for which its own feed stands. The shares multiply to that of the chain: fades of different"
        " hops are taken as independent, and fades that they have in common are not counted."
    )
    listed = Words(tuple(words), listed=True)
    return [Section("Chain of relays", (listed, table) if rows else (listed,), note=note if rows else "")]


def _chain_words(service: str, chain: RelayChain) -> str:
    from combe.answers.feed_time import standing_words

    stands = (
        ""
        if chain.stands_for is None
        else tell(
            "; all hops together stand for {standing_words}", standing_words=standing_words(chain.stands_for)
        )
    )
    return tell(
        "{service} chain {verdict}: {reason}{stands}",
        service=service,
        verdict=chain.verdict,
        reason=chain.reason,
        stands=stands,
    )
