"""Choosing output channels for relays: what is free, whom it harms, and the best set for several at once."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.planning.channels.choosing import (
        Assignment, Choice, JointHarm, OutputRanking, Pair, RankedChannel, assign, joint_harm, rank_channels,
    )
    from combe.planning.channels.harm import Before, HarmIn, Public, Signal, before_relays, pair_harm
    from combe.planning.channels.relations import (
        AERIAL_GROUPS, SOURCE, Hit, groups_of, input_troubles, needs_another_aerial, output_conflict,
        product_hits,
    )
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
