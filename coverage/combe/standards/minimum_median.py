"""The minimum median field of ITU-R BT.2033-2 Attachment 1, item by item, fixed and portable."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import require_range
from combe.standards import dvbt2
from combe.standards.cited import Cited
from combe.standards.man_made_noise import NoiseEnvironment, cited_rise
from combe.standards.portable import AERIAL_HEIGHT_M, ROOF_HEIGHT_M, EntryLoss, PortableTerms
from combe.words import tell


@dataclass(frozen=True)
class MinimumMedianField:
    """Items of the published chain, in its order; each with the unit in its name."""

    frequency_mhz: float
    bandwidth_mhz: float
    noise_figure_db: float
    noise_power_dbw: float
    """Pn = F + 10 log(k T0 B)."""
    required_cn_db: float
    minimum_power_dbw: float
    """Ps = C/N + Pn."""
    aerial_gain_dbd: float
    effective_aperture_dbm2: float
    """Aa = G + 10 log(1.64 λ² / 4π)."""
    feeder_loss_db: float
    minimum_flux_dbw_m2: float
    """φ = Ps − Aa + Lf."""
    minimum_field_dbuv_m: float
    """Emin = φ + 145.8."""
    man_made_noise_db: float
    """Pmmn, or the rise by ITU-R P.372 in its place."""
    location_percent: float
    location_factor: float
    """μ."""
    location_factor_reference: str
    """Whether μ is as printed or the exact quantile."""
    location_deviation_db: float
    """σ; within buildings √(σm² + σb²)."""
    location_correction_db: float
    """Cl = μσ."""
    median_field_dbuv_m: float
    """Emed = Emin + Pmmn + Lh + Lb + Cl, outdoors at ``field_height_m``."""
    reference: str
    field_height_m: float = ROOF_HEIGHT_M
    height_loss_db: float | None = None
    """Lh, of portable reception whose field is that of 10 m."""
    entry_loss_db: float | None = None
    """Lb, the mean building entry loss."""
    entry_deviation_db: float | None = None
    """σb of it."""


_REFERENCE: Final = "ITU-R BT.2033-2 Attachment 1; aerial and feeder ITU-R BT.2036-5"
_PORTABLE_REFERENCE: Final = "ITU-R BT.2033-2 Attachment 1; portable aerial and height loss GE06"

PMMN: Final = "man-made noise allowance Pmmn"
_NAMES: Final = {
    "frequency_mhz": ("frequency", "MHz"),
    "bandwidth_mhz": ("noise bandwidth B", "MHz"),
    "noise_figure_db": ("receiver noise figure F", "dB"),
    "noise_power_dbw": ("receiver noise power Pn", "dBW"),
    "required_cn_db": ("required C/N", "dB"),
    "minimum_power_dbw": ("minimum receiver input Ps", "dBW"),
    "aerial_gain_dbd": ("aerial gain G", "dBd"),
    "effective_aperture_dbm2": ("effective aperture Aa", "dB(m²)"),
    "feeder_loss_db": ("feeder loss Lf", "dB"),
    "minimum_flux_dbw_m2": ("minimum power flux density", "dB(W/m²)"),
    "minimum_field_dbuv_m": ("minimum field Emin", "dB(µV/m)"),
    "man_made_noise_db": (PMMN, "dB"),
    "height_loss_db": ("height loss Lh", "dB"),
    "entry_loss_db": ("building entry loss Lb", "dB"),
    "entry_deviation_db": ("deviation of the entry loss σb", "dB"),
    "location_percent": ("locations", "%"),
    "location_factor": ("location factor μ", ""),
    "location_deviation_db": ("location standard deviation σ", "dB"),
    "location_correction_db": ("location correction Cl", "dB"),
    "median_field_dbuv_m": ("minimum median field Emed, at {height:g} m", "dB(µV/m)"),
}


def minimum_median_field(
    frequency_mhz: float,
    required_cn_db: float,
    *,
    location_percent: float = 95.0,
    noise_figure_db: float = dvbt2.NOISE_FIGURE_DB.value,
    bandwidth_mhz: float = dvbt2.NOISE_BANDWIDTH_MHZ[8.0].value,
    portable: PortableTerms | None = None,
    noise_environment: NoiseEnvironment | None = None,
) -> MinimumMedianField:
    """Work out the minimum median field for fixed reception with an aerial on the roof, or for portable one.

    Parameters
    ----------
    frequency_mhz : float
        Centre of the channel [MHz], in a band of :data:`combe.standards.dvbt2.FIXED_BANDS`; of portable
        reception that of its terms.
    required_cn_db : float
        Of the mode and channel model [dB], −10 to 60.
    location_percent : float
        Share of the places that shall be served [%], 1 to 99.9.
    noise_figure_db : float
        Of the receiver [dB], 0 to 30.
    bandwidth_mhz : float
        Noise bandwidth [MHz], 0.1 to 20.
    portable : PortableTerms or None
        Aerial, height and building of a portable receiver; None for an aerial on the roof.
    noise_environment : NoiseEnvironment or None
        Surroundings whose noise by ITU-R P.372 stands in place of the published allowance Pmmn; None for
        that allowance.

    Returns
    -------
    MinimumMedianField

    Raises
    ------
    RangeError
        Outside the ranges above.

    Notes
    -----
    Constants are those that the Recommendation prints (k = 1.38e-23, 145.8 dB, 1.64).

    Examples
    --------
    >>> round(minimum_median_field(650.0, 20.0).median_field_dbuv_m, 1)
    54.2
    """
    require_range("required_cn_db", required_cn_db, -10.0, 60.0)
    require_range("noise_figure_db", noise_figure_db, 0.0, 30.0)
    require_range("bandwidth_mhz", bandwidth_mhz, 0.1, 20.0)
    terms = receiving_terms(frequency_mhz, portable, noise_environment, noise_figure_db)
    gain_dbd, feeder_db, man_made_db = (
        each.value for each in (terms.aerial_gain, terms.feeder_loss, terms.man_made_noise)
    )
    deviation_db = terms.deviation.value
    factor = dvbt2.location_factor(location_percent)
    noise_dbw = noise_power_dbw(noise_figure_db, bandwidth_mhz)
    aperture_dbm2 = effective_aperture_dbm2(gain_dbd, frequency_mhz)
    flux_dbw_m2 = required_cn_db + noise_dbw - aperture_dbm2 + feeder_db
    minimum_dbuv_m = flux_dbw_m2 + dvbt2.FIELD_OVER_FLUX_DB.value
    correction_db = factor.value * deviation_db
    return MinimumMedianField(
        frequency_mhz=frequency_mhz,
        bandwidth_mhz=bandwidth_mhz,
        noise_figure_db=noise_figure_db,
        noise_power_dbw=noise_dbw,
        required_cn_db=required_cn_db,
        minimum_power_dbw=required_cn_db + noise_dbw,
        aerial_gain_dbd=gain_dbd,
        effective_aperture_dbm2=aperture_dbm2,
        feeder_loss_db=feeder_db,
        minimum_flux_dbw_m2=flux_dbw_m2,
        minimum_field_dbuv_m=minimum_dbuv_m,
        man_made_noise_db=man_made_db,
        location_percent=location_percent,
        location_factor=factor.value,
        location_factor_reference=factor.reference,
        location_deviation_db=deviation_db,
        location_correction_db=correction_db,
        median_field_dbuv_m=minimum_dbuv_m + man_made_db + terms.losses_db + correction_db,
        reference=_REFERENCE if portable is None else _PORTABLE_REFERENCE,
        field_height_m=terms.field_height_m,
        height_loss_db=terms.height_loss.value if terms.height_loss else None,
        entry_loss_db=terms.entry_loss.mean.value if terms.entry_loss else None,
        entry_deviation_db=terms.entry_loss.deviation.value if terms.entry_loss else None,
    )


class ReceivingTerms(NamedTuple):
    """What a way of receiving puts into the chain; None for a loss that it does not have."""

    aerial_gain: Cited
    feeder_loss: Cited
    man_made_noise: Cited
    field_height_m: float = ROOF_HEIGHT_M
    height_loss: Cited | None = None
    entry_loss: EntryLoss | None = None

    @property
    def losses_db(self) -> float:
        """Between the field outdoors, where it is predicted, and the receiver."""
        height_db = self.height_loss.value if self.height_loss else 0.0
        return height_db + (self.entry_loss.mean.value if self.entry_loss else 0.0)

    @property
    def deviation(self) -> Cited:
        """Of the field over places: that outdoors and that of the building are independent."""
        outdoors = dvbt2.LOCATION_DEVIATION_DB
        if self.entry_loss is None:
            return outdoors
        both_db = math.hypot(outdoors.value, self.entry_loss.deviation.value)
        source = tell(
            "√(σm² + σb²), σm {value:g} dB of {reference}", value=outdoors.value, reference=outdoors.reference
        )
        return Cited(both_db, source, "computed")


def receiving_terms(
    frequency_mhz: float,
    portable: PortableTerms | None,
    noise_environment: NoiseEnvironment | None,
    noise_figure_db: float,
) -> ReceivingTerms:
    """Return what the chain takes, each with its source; errors as :func:`minimum_median_field`."""
    terms = _roof_terms(frequency_mhz) if portable is None else _portable_terms(portable)
    if noise_environment is not None:
        # Pmmn stands for the same noise: one of the two counts, never both.
        rise = cited_rise(
            noise_environment,
            frequency_mhz,
            noise_figure_db=noise_figure_db,
            feeder_loss_db=terms.feeder_loss.value,
        )
        return terms._replace(man_made_noise=rise)
    return terms


def _roof_terms(frequency_mhz: float) -> ReceivingTerms:
    aerial, band = dvbt2.fixed_aerial(frequency_mhz), dvbt2.fixed_band(frequency_mhz)
    gain, feeder = (
        Cited(value, aerial.reference, aerial.confidence)
        for value in (aerial.gain_dbd, aerial.feeder_loss_db)
    )
    return ReceivingTerms(gain, feeder, band.man_made_noise)


def _portable_terms(portable: PortableTerms) -> ReceivingTerms:
    gain = portable.aerial_gain
    return ReceivingTerms(
        gain,
        Cited(0.0, gain.reference, gain.confidence),
        portable.man_made_noise,
        ROOF_HEIGHT_M if portable.height_loss else AERIAL_HEIGHT_M.value,
        portable.height_loss,
        portable.entry_loss,
    )


def noise_power_dbw(noise_figure_db: float, bandwidth_mhz: float) -> float:
    """Return Pn = F + 10 log(k T0 B) [dBW] with the constants that BT.2033-2 prints."""
    kt = dvbt2.BOLTZMANN_J_K.value * dvbt2.NOISE_TEMPERATURE_K.value
    return noise_figure_db + 10.0 * math.log10(kt * bandwidth_mhz * 1e6)


def effective_aperture_dbm2(gain_dbd: float, frequency_mhz: float) -> float:
    """Return Aa = G + 10 log(1.64 λ² / 4π) [dB(m²)]."""
    wavelength_m = SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6)
    return gain_dbd + 10.0 * math.log10(dvbt2.DIPOLE_POWER_RATIO.value * wavelength_m**2 / (4.0 * math.pi))


def items(field: MinimumMedianField) -> list[tuple[str, float, str]]:
    """Return the numbers of the chain in order for print: (name, value, unit); without losses it has not."""
    numbers = ((getattr(field, key), name, unit) for key, (name, unit) in _NAMES.items())
    return [
        (tell(name, height=field.field_height_m), value, unit)
        for value, name, unit in numbers
        if value is not None
    ]
