"""Siting: where a relay, or several, would serve most people newly, tried on every hill of a district."""
