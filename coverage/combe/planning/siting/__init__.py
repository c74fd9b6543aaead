"""Siting: where a relay, or several, would serve most people newly, tried on every hill of a district."""

REHEARSAL = "combe.planning.siting.rehearsal"
"""For :func:`combe.rehearsing.rehearsed_meanwhile`: the module that has the kernels of a siting compiled."""
