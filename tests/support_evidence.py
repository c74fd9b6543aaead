"""What the tables of the rule books say of a figure whose standing in the evidence is known."""

from __future__ import annotations

from combe.evidence.case import TYPED_TWICE, Standing


def confidence_in_table(standing: Standing) -> str:
    """Return the mark of a row in its table; a look-up that evidence counts apart is from memory there."""
    return "from memory" if standing == TYPED_TWICE else standing
