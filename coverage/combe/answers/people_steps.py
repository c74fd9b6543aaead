"""Recounts the people of a coverage at many thresholds over the minimum: all of them, districts and places.

Who has *at least e dB of margin* would still be served if the wanted field were e dB weaker, with noise and
interference as they are; for a threshold under 0, who would be served if it were so much stronger. At 0 it is
who is served.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport
from combe.answers.network import Network
from combe.answers.people_places import STATES, numbered_places
from combe.decibels import FloatArray
from combe.planning import Census, Homes, Margins, StepCounts, count_by_step, homes_of
from combe.reception import Field
from combe.terrain import spread_places


@dataclass(frozen=True)
class PeopleSteps:
    """The people of a coverage, to be counted at some thresholds [dB] over the minimum.

    Groups of people are all of them, then each district, and at the end those who live in none.
    """

    report: CoverReport
    census: Census
    steps_db: FloatArray

    @cached_property
    def _homes(self) -> Homes:
        return homes_of(self.census)

    @cached_property
    def _everybody(self) -> Homes:
        return Homes(self._homes.people[:1])

    def of_groups(self, network: Network) -> StepCounts:
        """Count each group of people by what a network serves and served before."""
        return count_by_step(self._homes, self._margins(network), self.steps_db)

    def of_all(self, network: Network) -> StepCounts:
        """Count all people by what a network serves and served before."""
        return count_by_step(self._everybody, self._margins(network), self.steps_db)

    def over(self, values_db: Field) -> StepCounts:
        """Count all people by one level [dB] over what is asked of it."""
        return count_by_step(self._everybody, Margins(values_db), self.steps_db)

    def states_of_places(self) -> npt.NDArray[np.int8]:
        """Return the state of most people of each place of a map, by threshold (places, thresholds).

        Numbers of ``STATES``, in the order of :func:`combe.answers.people_places.people_places`.
        """
        people, grid, network = self.census.people, self.census.grid, self.report.all_services
        places = Homes(spread_places(grid, people, numbered_places(people, grid, network)))
        margins = Margins(network.margin_db, network.margin_before_db)
        found = count_by_step(places, margins, self.steps_db)
        assert found.newly is not None, "the margins before were given"
        unknown = np.broadcast_to(found.without_prediction[:, None], found.served.shape)
        by_state = (found.served - found.newly, found.newly, found.unserved, unknown)
        assert len(by_state) == len(STATES)
        states: npt.NDArray[np.int8] = np.argmax(np.stack(by_state), axis=0).astype(np.int8)
        return states

    def _margins(self, network: Network) -> Margins:
        judged = self.report.project.interference.counted
        noise_db = network.noise_margin_db if judged else None
        return Margins(network.margin_db, network.margin_before_db, noise_db)


def people_steps(report: CoverReport, steps_db: FloatArray) -> PeopleSteps | None:
    """Return the people of a coverage, to be counted at some thresholds; None where nobody is counted."""
    return None if report.census is None else PeopleSteps(report, report.census, steps_db)
