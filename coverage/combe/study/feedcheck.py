"""Finds the faults of feeds and output sides: stages that lack or mix keys, keys that exclude others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final, NamedTuple

from combe.errors import did_you_mean, quoted
from combe.standards import FEEDERS
from combe.study.crosscheck import Table, is_number, section_of, stations_of, tables_of, text_of
from combe.study.fault import Fault, Place, missing
from combe.study.faults import missing_key
from combe.study.schema import StudyFile

AERIAL_KEYS: Final = ("aerial_height_m", "aerial_gain_dbi")
CHAIN_KEYS: Final = ("feeder_loss_db", "splitter_loss_db", "noise_figure_db")
_FLAT_REQUIRED: Final = ("aerial_height_m", "aerial_gain_dbi", "feeder_loss_db", "noise_figure_db")


class _Keys(NamedTuple):
    """Keys of a kind of stage beside kind and name."""

    required: tuple[str, ...]
    allowed: tuple[str, ...]


_AMPLIFIER: Final = _Keys(("gain_db", "noise_figure_db"), ("output_limit_dbm",))
_STAGES: Final[dict[str, _Keys]] = {
    "feeder": _Keys((), ("loss_db", "at_mhz", "size", "length_m")),
    "masthead amplifier": _AMPLIFIER,
    "passive splitter": _Keys(("ways",), ("excess_loss_db",)),
    "active splitter": _AMPLIFIER,
    "attenuator": _Keys(("loss_db",), ()),
    "channel filter": _Keys(("loss_db",), ("passband", "passband_mhz", "rejection_db")),
    "receiver": _Keys(
        ("noise_figure_db",), ("input_limit_dbm", "image_rejection_db", "intermediate_frequency_mhz")
    ),
}


def feed_faults(table: Table) -> list[Fault]:
    """Return one line for each fault of feeds and output sides."""
    faults: list[Fault] = []
    by_name = {text_of(station, "name"): station for _, station in stations_of(table)}
    for index, station in stations_of(table):
        if "feed" in station:
            feed = section_of(station, "feed")
            faults += _feed(("stations", index, "feed"), feed)
            faults += _idle_loop(("stations", index, "feed"), station, by_name.get(text_of(feed, "from")))
        if "output" in station:
            faults += _output(("stations", index, "output"), section_of(station, "output"), station)
    return faults


def _feed(place: Place, feed: Table) -> Iterator[Fault]:
    yield from _either(place, feed, "aerial", AERIAL_KEYS)
    yield from _either(place, feed, "stages", CHAIN_KEYS)
    for key in _FLAT_REQUIRED:
        instead = "aerial" if key in AERIAL_KEYS else "stages"
        if key not in feed and instead not in feed:
            yield missing_key(StudyFile, (*place, key), f", or {_table(place, instead)}")
    if "stages" in feed:
        yield from _stages((*place, "stages"), feed)
    yield from _window((*place, "window"), section_of(feed, "window"))
    if "own_output" in feed:
        yield from _own_output((*place, "own_output"), section_of(feed, "own_output"))
    if "on_channel" in feed:
        yield from _on_channel(place, feed)


def _table(place: Place, key: str) -> str:
    heading = ".".join(step for step in (*place, key) if isinstance(step, str))
    return f"write [[{heading}]] tables" if key == "stages" else f"write a [{heading}] table"


def _either(place: Place, feed: Table, whole: str, flat: tuple[str, ...]) -> Iterator[Fault]:
    """Say where a flat key stands beside the table that takes its place."""
    for key in flat:
        if key in feed and whole in feed:
            yield Fault((*place, key), f"stands beside {whole}, which says it in full; take one out")


def _stages(place: Place, feed: Table) -> Iterator[Fault]:
    stages = tables_of(feed, "stages")
    for number, stage in stages:
        yield from _stage((*place, number), stage)
    kinds = [text_of(stage, "kind") for _, stage in stages]
    if stages and kinds[-1] != "receiver":
        yield Fault(place, 'end with no receiver; write a last stage with kind = "receiver"')
    for (number, _), kind in zip(stages[:-1], kinds[:-1], strict=True):
        if kind == "receiver":
            yield Fault(
                (*place, number, "kind"), '"receiver" is not the last stage; put the others before it'
            )
    yield from _names_twice(place, stages)


def _names_twice(place: Place, stages: list[tuple[int, Table]]) -> Iterator[Fault]:
    names = [text_of(stage, "name") for _, stage in stages]
    seen = Counter[str | None]()
    for (number, _), name in zip(stages, names, strict=True):
        seen[name] += 1
        if name is not None and seen[name] == 2:
            yield Fault((*place, number, "name"), f"two stages are called {quoted(name)}; rename one")


def _stage(place: Place, stage: Table) -> Iterator[Fault]:
    kind = text_of(stage, "kind")
    keys = _STAGES.get(kind or "")
    if keys is None:
        return
    known = (*keys.required, *keys.allowed)
    for key in stage:
        if key not in (*known, "kind", "name"):
            words = f"is no key of a stage of kind {quoted(str(kind))}; {did_you_mean(key, known)}"
            yield Fault((*place, key), words)
    for key in keys.required:
        if key not in stage:
            yield missing_key(StudyFile, (*place, key))
    if kind == "feeder":
        yield from _length(place, stage)
        if "at_mhz" in stage and "loss_db" not in stage:
            yield Fault((*place, "at_mhz"), "stands without loss_db; write the loss at that frequency")
    if kind == "channel filter":
        yield from _passband(place, stage)


def _length(place: Place, piece: Table) -> Iterator[Fault]:
    """Say where a piece has neither a loss nor a size with its length, or both."""
    by_size = [key for key in ("size", "length_m") if key in piece]
    size = text_of(piece, "size")
    if "loss_db" in piece and by_size:
        yield Fault((*place, "loss_db"), f"stands beside {' and '.join(by_size)}; take one out")
    elif "loss_db" not in piece and len(by_size) < 2:
        words = "write loss_db = 1.5, or size and length_m"
        yield missing(
            (*place, "loss_db" if not by_size else {"size": "length_m"}.get(by_size[0], "size")), words
        )
    if size is not None and size not in FEEDERS:
        yield Fault((*place, "size"), f"{quoted(size)} is unknown; {did_you_mean(size, FEEDERS)}")


def _passband(place: Place, stage: Table) -> Iterator[Fault]:
    band = stage.get("passband_mhz")
    if "passband" in stage and band is not None:
        yield Fault((*place, "passband_mhz"), "stands beside passband; take one out")
    if isinstance(band, list) and len(band) == 2 and _numbers(*band) and not 0.0 < band[0] < band[1]:
        yield Fault((*place, "passband_mhz"), f"{band} has no inside; write the lower edge first, over 0")
    if "rejection_db" in stage and band is None and "passband" not in stage:
        yield Fault((*place, "rejection_db"), 'stands without a passband; write passband = "channel"')
    if "rejection_db" not in stage and (band is not None or "passband" in stage):
        yield missing_key(StudyFile, (*place, "rejection_db"))


def _window(place: Place, window: Table) -> Iterator[Fault]:
    lowest, highest, mute = (window.get(key) for key in ("lowest_dbm", "highest_dbm", "mute_dbm"))
    if _numbers(lowest, highest) and not lowest < highest:  # type: ignore[operator]
        yield Fault(
            (*place, "highest_dbm"), f"{highest} is not over lowest_dbm {lowest}; write a higher level"
        )
    if _numbers(lowest, mute) and mute > lowest:  # type: ignore[operator]
        yield Fault((*place, "mute_dbm"), f"{mute} is over lowest_dbm {lowest}; write a lower level")


def _own_output(place: Place, own: Table) -> Iterator[Fault]:
    measured, estimated = "isolation_db" in own, "separation_m" in own
    if measured and estimated:
        yield Fault((*place, "separation_m"), "stands beside isolation_db; take the estimate out")
    if not measured and not estimated:
        words = "write isolation_db = 85.0, or separation_m and arrangement for an estimate"
        yield missing((*place, "isolation_db"), words)
    if estimated and "arrangement" not in own:
        yield missing_key(StudyFile, (*place, "arrangement"))


def _on_channel(place: Place, feed: Table) -> Iterator[Fault]:
    if "own_output" not in feed:
        words = "a loop needs the isolation of the aerials: write a [stations.feed.own_output] table"
        yield missing((*place, "own_output"), words)


def _idle_loop(place: Place, station: Table, parent: Table | None) -> Iterator[Fault]:
    """Say where a loop is described and no service is radiated on the channel it is received on."""
    if parent is None or "on_channel" not in section_of(station, "feed"):
        return
    received = {text_of(each, "name"): each.get("channel") for _, each in tables_of(parent, "services")}
    own = [(text_of(each, "name"), each.get("channel")) for _, each in tables_of(station, "services")]
    if not any(name in received and received[name] == channel for name, channel in own):
        words = "no service is radiated on the channel it is received on; take the table out"
        yield Fault((*place, "on_channel"), words)


def _output(place: Place, output: Table, station: Table) -> Iterator[Fault]:
    powers, services = output.get("power_w"), tables_of(station, "services")
    if isinstance(powers, list) and services and len(powers) != len(services):
        words = f"holds {len(powers)} powers for {len(services)} services; write one for each, in their order"
        yield Fault((*place, "power_w"), words)
    for number, power in enumerate(powers if isinstance(powers, list) else []):
        if _numbers(power) and not 0.0 < power <= 100_000.0:
            yield Fault(
                (*place, "power_w", number), f"{power} is out of range; write more than 0, up to 100000 W"
            )
    for number, stage in tables_of(output, "stages"):
        yield from _length((*place, "stages", number), stage)
    yield from _names_twice((*place, "stages"), tables_of(output, "stages"))
    pair = ("oip3_dbm", "intermodulation_limit_db")
    given = [key for key in pair if key in output]
    if len(given) == 1:
        other = pair[1 - pair.index(given[0])]
        yield missing_key(StudyFile, (*place, other), f"; it goes with {given[0]}")


def _numbers(*values: object) -> bool:
    return all(map(is_number, values))
