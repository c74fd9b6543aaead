"""The cautions that stand on every page and report."""

from __future__ import annotations

from typing import Final

SHORT_CAUTION: Final = "A planning estimate, not a licence to transmit."

CAUTIONS: Final = (
    "This is a planning estimate from terrain data and published prediction methods. It is no measurement, "
    "and the field at a given house can differ from it by ten decibels or more.",
    "It is no licence and no permission. Radiating needs a licence from the national authority, and the work "
    "needs people who are competent to do it.",
    "Masts, towers and roofs are dangerous places to work: falls, falling tools, lightning, wind and ice. "
    "Aerials that radiate can burn and harm. Mains and standby supplies can kill. Plan for each hazard "
    "before each visit.",
    "Local codes, the licence's own conditions and the judgement of licensed practitioners prevail over "
    "anything on this page.",
)
"""Our own sentences; every page and report prints all of them."""

CAUTION_LINES: Final = (
    "Caution: an estimate and no licence; local codes and licensed practitioners prevail. Heights, RF and",
    "mains injure and kill: leave the work to competent people. All cautions: add --full",
)
"""The same in two lines, for a terminal that shows the answer alone."""
