"""The television systems and what their planning takes, one row each; their modes are in their own tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.errors import RangeError
from combe.standards import atsc, dtmb, dvbt, dvbt2, isdbt
from combe.standards.analogue import analogue_system
from combe.standards.cited import Cited
from combe.standards.planning_fields import LOCATION_DEVIATION
from combe.standards.protection import SignalKind

Mode = tuple[str, str]
Ratios = Mapping[str, Cited]
"""Required C/N [dB] by channel model."""


class ModeCn(NamedTuple):
    """A mode and the C/N that it needs [dB], without any margin for the receiver."""

    modulation: str
    code_rate: str
    channel_model: str
    cn: Cited


@dataclass(frozen=True)
class SystemFamily:
    """A television system without its mode.

    ``modes`` maps modulation and code rate to the required C/N by channel model, and is empty for an analogue
    system; ``usual_mode`` is (modulation, code rate, channel model). ``field_source`` is where the planning
    field is from.
    """

    name: str
    signal: SignalKind
    channel_raster: str
    bandwidth: Cited
    sigma: Cited
    location_percent: Cited
    wanted_time: Cited
    interferer_time: Cited
    field_source: Cited
    analogue_name: str | None = None
    noise_figure: Cited | None = None
    implementation_margin: Cited | None = None
    modes: Mapping[Mode, Ratios] = field(default_factory=lambda: MappingProxyType({}))
    usual_mode: tuple[str, str, str] = ("", "", "")


def modes_of(family: SystemFamily) -> tuple[Mode, ...]:
    """Return the modes of a system as (modulation, code rate), in the order of its table."""
    return tuple(family.modes)


def channel_models_of(family: SystemFamily) -> tuple[str, ...]:
    """Return the channel models for which a system's required C/N is known."""
    return tuple(dict.fromkeys(model for ratios in family.modes.values() for model in ratios))


def mode_cn(
    family: SystemFamily, modulation: str | None, code_rate: str | None, channel_model: str | None
) -> ModeCn:
    """Return a mode of a digital system; what is not given is the system's usual.

    Raises
    ------
    RangeError
        For a mode or channel model that the system's table does not have.
    """
    usual = family.usual_mode
    mode = (modulation or usual[0], code_rate or usual[1])
    model = channel_model or usual[2]
    if mode not in family.modes:
        modulations, rates = (", ".join(dict.fromkeys(names)) for names in zip(*family.modes, strict=True))
        raise RangeError(f"{family.name} mode", f"{mode[0]!r} {mode[1]!r}", f"{modulations} with {rates}")
    if model not in family.modes[mode]:
        raise RangeError(f"channel model of {family.name}", repr(model), ", ".join(family.modes[mode]))
    return ModeCn(*mode, model, family.modes[mode][model])


def _dvb_modes(rows: tuple[dvbt2.RequiredCn, ...]) -> Mapping[Mode, Ratios]:
    modes: dict[Mode, Ratios] = {}
    for row in rows:
        values = (row.gaussian_db, row.ricean_db, row.rayleigh_db)
        ratios = {
            model: Cited(value, row.reference, row.confidence)
            for model, value in zip(("gaussian", "ricean", "rayleigh"), values, strict=True)
        }
        modes[row.modulation, row.code_rate] = MappingProxyType(ratios)
    return MappingProxyType(modes)


def _isdbt_modes() -> Mapping[Mode, Ratios]:
    return MappingProxyType(
        {
            (row.modulation, row.code_rate): MappingProxyType(
                {"gaussian": Cited(row.gaussian_db, row.reference, row.confidence)}
            )
            for row in isdbt.REQUIRED_CN
        }
    )


_GOOD: Final = "good reception, 95 % of locations (GE06)"
_CHAIN: Final = Cited(0.0, "ITU-R BT.2033-2 Attachment 1", "read")
_TROPOSPHERIC: Final = Cited(1.0, "tropospheric interference, ITU-R BT.655 and GE06", "from memory")
_MEDIAN_TIME: Final = Cited(50.0, "wanted field of the median in time, ITU-R BT.655 and GE06", "from memory")
_BT417: Final = Cited(65.0, "ITU-R BT.417-5, Bands IV and V", "from memory")
_F50_10: Final = Cited(10.0, "interferers by F(50,10), 47 CFR 74.706(c)", "read")


def _dvb(name: str, raster: str, width_mhz: float, *, second: bool) -> SystemFamily:
    """Return DVB-T2 (``second``) or DVB-T on a raster."""
    return SystemFamily(
        name=name,
        signal="DVB",
        channel_raster=raster,
        bandwidth=dvbt2.NOISE_BANDWIDTH_MHZ[width_mhz],
        sigma=dvbt2.LOCATION_DEVIATION_DB,
        location_percent=Cited(95.0, _GOOD, "from memory"),
        wanted_time=_MEDIAN_TIME,
        interferer_time=_TROPOSPHERIC,
        field_source=_CHAIN,
        noise_figure=dvbt2.NOISE_FIGURE_DB if second else dvbt.NOISE_FIGURE_DB,
        implementation_margin=None if second else dvbt.IMPLEMENTATION_MARGIN_DB,
        modes=_dvb_modes(dvbt2.REQUIRED_CN if second else dvbt.REQUIRED_CN),
        usual_mode=("256-QAM" if second else "64-QAM", "2/3", "ricean"),
    )


def _dtmb(name: str, raster: str) -> SystemFamily:
    """Return DTMB, planned as DVB-T is but for its own modes and width."""
    return SystemFamily(
        name=name,
        signal="DTMB",
        channel_raster=raster,
        bandwidth=dtmb.NOISE_BANDWIDTH_MHZ,
        sigma=dvbt2.LOCATION_DEVIATION_DB,
        location_percent=Cited(95.0, "as for DVB-T", "own choice"),
        wanted_time=Cited(50.0, "as for DVB-T", "own choice"),
        interferer_time=Cited(1.0, "as for DVB-T", "own choice"),
        field_source=_CHAIN,
        noise_figure=dtmb.NOISE_FIGURE_DB,
        modes=_dvb_modes(dtmb.REQUIRED_CN),
        usual_mode=("64-QAM", "0.6", "ricean"),
    )


def _isdbt(name: str, raster: str, width_mhz: float = 6.0) -> SystemFamily:
    return SystemFamily(
        name=name,
        signal="ISDB-T",
        channel_raster=raster,
        bandwidth=isdbt.noise_bandwidth_mhz(width_mhz),
        sigma=dvbt2.LOCATION_DEVIATION_DB,
        location_percent=Cited(95.0, "as for DVB-T", "own choice"),
        wanted_time=Cited(50.0, "as for DVB-T", "own choice"),
        interferer_time=Cited(1.0, "as for DVB-T", "own choice"),
        field_source=_CHAIN,
        noise_figure=isdbt.NOISE_FIGURE_DB,
        modes=_isdbt_modes(),
        usual_mode=("64-QAM", "3/4", "gaussian"),
    )


def _atsc() -> SystemFamily:
    return SystemFamily(
        name="ATSC",
        signal="ATSC",
        channel_raster="6 MHz UHF",
        bandwidth=atsc.NOISE_BANDWIDTH_MHZ,
        sigma=dvbt2.LOCATION_DEVIATION_DB,
        location_percent=Cited(50.0, "F(50,90), FCC OET Bulletin 69", "read"),
        wanted_time=Cited(90.0, "F(50,90), FCC OET Bulletin 69", "read"),
        interferer_time=_F50_10,
        field_source=atsc.THRESHOLD_DBUV_M,
        noise_figure=atsc.NOISE_FIGURE_DB,
        modes=MappingProxyType(
            {(atsc.MODULATION, atsc.CODE_RATE): MappingProxyType({"gaussian": atsc.REQUIRED_CN_DB})}
        ),
        usual_mode=(atsc.MODULATION, atsc.CODE_RATE, "gaussian"),
    )


def _analogue(name: str, row: str, raster: str) -> SystemFamily:
    system = analogue_system(row)
    lines_525 = row == "M"
    source = Cited(64.0, "47 CFR 73.683, Grade B", "read") if lines_525 else _BT417
    return SystemFamily(
        name=name,
        signal="analogue 525" if lines_525 else "analogue 625",
        channel_raster=raster,
        bandwidth=Cited(system.noise_bandwidth_mhz, system.reference, system.confidence),
        sigma=LOCATION_DEVIATION["analogue", "UHF"],
        location_percent=Cited(50.0, source.reference, source.confidence),
        wanted_time=Cited(50.0, "47 CFR 73.683, F(50,50)", "read") if lines_525 else _MEDIAN_TIME,
        interferer_time=_F50_10 if lines_525 else _TROPOSPHERIC,
        field_source=source,
        analogue_name=row,
    )


FAMILIES: Final = (
    _dvb("DVB-T2", "8 MHz UHF", 8.0, second=True),
    _dvb("DVB-T2 7 MHz", "7 MHz UHF", 7.0, second=True),
    _dvb("DVB-T2 6 MHz", "6 MHz UHF", 6.0, second=True),
    _dvb("DVB-T", "8 MHz UHF", 8.0, second=False),
    _dvb("DVB-T 7 MHz", "7 MHz UHF", 7.0, second=False),
    _dvb("DVB-T 6 MHz", "6 MHz UHF", 6.0, second=False),
    _dtmb("DTMB", "8 MHz VHF and UHF China"),
    _atsc(),
    _isdbt("ISDB-T", "6 MHz UHF ISDB-T"),
    _isdbt("ISDB-T Japan", "6 MHz UHF ISDB-T Japan"),
    _isdbt("ISDB-T 7 MHz", "7 MHz UHF", 7.0),
    _isdbt("ISDB-T 8 MHz", "8 MHz UHF", 8.0),
    _analogue("PAL I", "I", "8 MHz UHF"),
    _analogue("PAL B/G", "G", "8 MHz UHF"),
    _analogue("PAL B 7 MHz", "B", "7 MHz UHF"),
    _analogue("PAL D/K", "D/K", "8 MHz UHF"),
    _analogue("SECAM D/K", "D/K", "8 MHz UHF"),
    _analogue("NTSC M", "M", "6 MHz UHF"),
    _analogue("PAL M", "M", "6 MHz UHF"),
)
"""PAL B/G is G on 8 MHz UHF channels; B, with 7 MHz, is its own row. Each may be put on another raster of
its width. ISDB-T of 7 and 8 MHz lies in the middle of its channel: from memory, the seventh of 1 MHz over it
is of 6 MHz channels alone."""
