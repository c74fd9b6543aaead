"""Physical constants and a few cited numbers of the trade that more than one room uses."""

from typing import Final

SPEED_OF_LIGHT_M_S: Final = 299_792_458.0
"""Speed of light in vacuum, exact (SI)."""

BOLTZMANN_J_K: Final = 1.380649e-23
"""Boltzmann constant, exact (SI 2019)."""

REFERENCE_TEMPERATURE_K: Final = 290.0
"""T0 of every noise figure (IEEE and ITU-R usage)."""

EARTH_RADIUS_KM: Final = 6371.0
"""Mean Earth radius used by P.526 and P.1812."""

MEDIAN_EFFECTIVE_RADIUS_KM: Final = 8500.0
"""Effective Earth radius to use when nothing else is known (P.526)."""

DIPOLE_GAIN_DBI: Final = 2.15
"""Gain of a half-wave dipole; e.r.p. + 2.15 dB = e.i.r.p."""

WAVE_IMPEDANCE_OHM: Final = 376.730313668
"""Impedance of free space."""

CLEAR_FRESNEL_RADII: Final = 0.6
"""Clearance [radii of the first Fresnel zone] from which an edge costs next to nothing.

Common practice, from memory; ITU-R P.526-16 §3.2 has 0.552 for the smooth Earth, from which it costs nothing.
"""
