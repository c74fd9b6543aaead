"""Siting: where a relay, or several, would serve most people newly, tried on every hill of a district."""

from typing import TYPE_CHECKING

from combe.doors import door

REHEARSAL = "combe.planning.siting.rehearsal"
"""For :func:`combe.rehearsing.rehearsed_meanwhile`: the module that has the kernels of a siting compiled."""

if TYPE_CHECKING:
    # fmt: off
    from combe.planning.siting.best_set import (
        SiteSet, best_sites, cheapest_sites, greedy_sites, make_question,
    )
    from combe.planning.siting.coarse_first import (
        ENOUGH_PAIRS, LEAST_EXACT, NOTHING_KEPT, STAGES, Enough, Fed, Kept, WideQuestion, WideResult,
        leading_hills, usual_enough,
    )
    from combe.planning.siting.cluster import on_cluster
    from combe.planning.siting.coarse_to_fine import best_hills, ranked
    from combe.planning.siting.constraints import (
        Funnel, Rule, apply_rules, away_from, height_above_valley_m, site_cost, slope_deg,
    )
    from combe.planning.siting.directions import Direction, headroom_of, least_power
    from combe.planning.siting.feed_map import FedCells, FeedMap, FeedQuestion, feed_maps, keep_fed
    from combe.planning.siting.harm import Victims, nobody
    from combe.planning.siting.jobs import BlockRun, Failure, Runner, blocks_of, run_blocks
    from combe.planning.siting.problem import (
        Problem, Terms, digest, harmed_by, make_problem, score_hills, served_of,
    )
    from combe.planning.siting.template import RelayTemplate, SectorLimit, pattern_options
    from combe.planning.siting.thinning import block_tops
    from combe.planning.siting.unserved import Unserved, find_unserved, people_by_cell
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
