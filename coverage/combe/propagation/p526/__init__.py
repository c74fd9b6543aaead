"""Diffraction: Recommendation ITU-R P.526-16 (11/2025)."""

from combe.propagation.p526.delta import (
    WAVELENGTH_M_MHZ,
    DeltaBullington,
    check_profile,
    delta_bullington,
    delta_bullington_kernel,
)
from combe.propagation.p526.knife_edge import (
    fresnel_parameter,
    fresnel_radius_m,
    knife_edge_kernel,
    knife_edge_loss_db,
    knife_edge_loss_exact_db,
    wavelength_m,
)
from combe.propagation.p526.multiple_edges import Construction, Edge, compare_constructions
from combe.propagation.p526.spherical import spherical_earth_loss_db
from combe.propagation.p526.two_edges import double_edge_loss_exact_db

__all__ = [
    "WAVELENGTH_M_MHZ",
    "Construction",
    "DeltaBullington",
    "Edge",
    "check_profile",
    "compare_constructions",
    "delta_bullington",
    "delta_bullington_kernel",
    "double_edge_loss_exact_db",
    "fresnel_parameter",
    "fresnel_radius_m",
    "knife_edge_kernel",
    "knife_edge_loss_db",
    "knife_edge_loss_exact_db",
    "spherical_earth_loss_db",
    "wavelength_m",
]
