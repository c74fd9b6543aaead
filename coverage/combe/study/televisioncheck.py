"""Finds what a study asks of its television system that the system's tables do not hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from combe.errors import did_you_mean, quoted
from combe.standards.channels import CHANNEL_RASTERS
from combe.standards.families import SystemFamily
from combe.standards.systems import TELEVISION_SYSTEMS, channel_models_of, modes_of
from combe.study.crosscheck import Fault, Table, section_of, stations_of, text_of
from combe.study.schema import TelevisionSection

_MODE_KEYS: Final = ("modulation", "code_rate", "channel_model")


def family_of(table: Table) -> SystemFamily | None:
    """Return the television system that a study names, its mode aside; None for an unknown one."""
    return TELEVISION_SYSTEMS.get(_system_name(table))


def raster_name(table: Table) -> str | None:
    """Return the channel raster asked for, or the system's own, or None where neither is known."""
    given = text_of(section_of(table, "television"), "channel_raster")
    if given is not None:
        return given if given in CHANNEL_RASTERS else None
    family = family_of(table)
    return family.channel_raster if family else None


def television_faults(table: Table) -> Iterator[Fault]:
    """Yield what is unknown, or does not fit the system, in the television section and the feeds."""
    yield from _name_faults(table)
    family = family_of(table)
    if family is None:
        return
    if family.analogue_name is None:
        yield from _mode_faults(family, section_of(table, "television"))
    else:
        yield from _no_mode_faults(family, section_of(table, "television"))
        yield from _feed_faults(family, table)


def _system_name(table: Table) -> str:
    given = text_of(section_of(table, "television"), "system")
    return given or str(TelevisionSection.model_fields["system"].default)


def _name_faults(table: Table) -> Iterator[Fault]:
    system, raster = _system_name(table), text_of(section_of(table, "television"), "channel_raster")
    if system not in TELEVISION_SYSTEMS:
        words = f"{quoted(system)} is unknown; {did_you_mean(system, TELEVISION_SYSTEMS)}"
        yield (("television", "system"), words)
    if raster is not None and raster not in CHANNEL_RASTERS:
        words = f"{quoted(raster)} is unknown; {did_you_mean(raster, CHANNEL_RASTERS)}"
        yield (("television", "channel_raster"), words)
    elif raster is not None and (family := family_of(table)) is not None:
        width, own = CHANNEL_RASTERS[raster].width_mhz, CHANNEL_RASTERS[family.channel_raster].width_mhz
        if width != own:
            words = f"{quoted(raster)} has channels of {width:g} MHz, and {family.name} is {own:g} MHz wide"
            yield (("television", "channel_raster"), f"{words}; write {quoted(family.channel_raster)}")


def _mode_faults(family: SystemFamily, section: Table) -> Iterator[Fault]:
    modulations, rates = (list(dict.fromkeys(names)) for names in zip(*modes_of(family), strict=True))
    known = dict(zip(_MODE_KEYS, (modulations, rates, list(channel_models_of(family))), strict=True))
    mode = dict(zip(_MODE_KEYS, family.usual_mode, strict=True))
    mode |= {key: given for key in _MODE_KEYS if (given := text_of(section, key)) is not None}
    wrong = [key for key in _MODE_KEYS if mode[key] not in known[key]]
    for key in wrong:
        advice = did_you_mean(mode[key], known[key])
        yield (("television", key), f"{quoted(mode[key])} is unknown to {family.name}; {advice}")
    if not wrong and (mode["modulation"], mode["code_rate"]) not in family.modes:
        allowed = ", ".join(rate for modulation, rate in modes_of(family) if modulation == mode["modulation"])
        words = f"{quoted(mode['code_rate'])} is no code rate of {mode['modulation']}; allowed: {allowed}"
        yield (("television", "code_rate"), words)


def _no_mode_faults(family: SystemFamily, section: Table) -> Iterator[Fault]:
    for key in _MODE_KEYS:
        if key in section:
            words = f"stands beside system {quoted(family.name)}, which is analogue and has no modes"
            yield (("television", key), f"{words}; take it out")


def _feed_faults(family: SystemFamily, table: Table) -> Iterator[Fault]:
    """Say where a feed lacks the C/N that an analogue system's planning does not state."""
    for index, station in stations_of(table):
        if "feed" in station and "required_cn_db" not in section_of(station, "feed"):
            yield (
                ("stations", index, "feed", "required_cn_db"),
                f"is missing; planning of {family.name} states a field and no C/N: "
                "write the C/N [dB] that the relay's picture needs",
            )
