"""Field strength: the exact path and the sweep over an area."""
