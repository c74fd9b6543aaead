"""Television systems: what a receiver of each needs, gathered from the tables for one mode."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from combe.errors import RangeError
from combe.standards import dvbt2
from combe.standards.cited import describe
from combe.standards.minimum_field import MinimumMedianField, minimum_median_field


@dataclass(frozen=True)
class TelevisionSystem:
    """One mode of a television system, as planning sees it.

    ``bandwidth_mhz`` is the noise bandwidth; ``channel_raster`` names a row of
    :data:`combe.standards.channels.CHANNEL_RASTERS`; ``reference`` says where the required C/N is from.
    """

    name: str
    modulation: str
    code_rate: str
    channel_model: str
    bandwidth_mhz: float
    required_cn_db: float
    noise_figure_db: float
    channel_raster: str
    reference: str


def _dvbt2(name: str, width_mhz: float, raster: str) -> Callable[[str, str, str], TelevisionSystem]:
    def build(modulation: str, code_rate: str, channel_model: str) -> TelevisionSystem:
        row = dvbt2.required_cn(modulation, code_rate)
        return TelevisionSystem(
            name=name,
            modulation=modulation,
            code_rate=code_rate,
            channel_model=channel_model,
            bandwidth_mhz=dvbt2.noise_bandwidth_mhz(width_mhz),
            required_cn_db=dvbt2.required_cn_db(modulation, code_rate, channel_model),
            noise_figure_db=dvbt2.NOISE_FIGURE_DB.value,
            channel_raster=raster,
            reference=describe(row.reference, row.confidence),
        )

    return build


TELEVISION_SYSTEMS: Final[Mapping[str, Callable[[str, str, str], TelevisionSystem]]] = MappingProxyType(
    {
        "DVB-T2": _dvbt2("DVB-T2", 8.0, "8 MHz UHF"),
        "DVB-T2 7 MHz": _dvbt2("DVB-T2 7 MHz", 7.0, "7 MHz UHF"),
    }
)
"""Systems by name; a new one adds a row that builds its modes from its own table."""


def television_system(
    name: str, modulation: str, code_rate: str, channel_model: str = "ricean"
) -> TelevisionSystem:
    """Return a mode of a television system.

    Parameters
    ----------
    name : str
        A key of :data:`TELEVISION_SYSTEMS`, such as ``DVB-T2`` (8 MHz channels).
    modulation, code_rate : str
        Such as ``256-QAM`` and ``2/3``.
    channel_model : {"gaussian", "ricean", "rayleigh"}
        Ricean for fixed aerials on the roof.

    Raises
    ------
    RangeError
        Naming what the table has.
    """
    if name not in TELEVISION_SYSTEMS:
        raise RangeError("television system", repr(name), ", ".join(TELEVISION_SYSTEMS))
    return TELEVISION_SYSTEMS[name](modulation, code_rate, channel_model)


def planning_field(
    system: TelevisionSystem, frequency_mhz: float, location_percent: float = 95.0
) -> MinimumMedianField:
    """Return the minimum median field of fixed reception of a system, itemised; errors as the chain's."""
    return minimum_median_field(
        frequency_mhz,
        system.required_cn_db,
        location_percent=location_percent,
        noise_figure_db=system.noise_figure_db,
        bandwidth_mhz=system.bandwidth_mhz,
    )
