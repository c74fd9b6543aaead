"""Combe plans, verifies and reviews low-power television relays."""

__version__ = "0.1.0"
