"""What is given: stations with feeds and outputs, ground, air, television, people and rules.

Everything that Combe answers is asked of a :class:`Project`.
"""

from combe.project.context import CONTEXT_KINDS, ContextKind, ContextLayer
from combe.project.coordination import Coordination
from combe.project.feed import (
    AerialIsolation,
    Feed,
    FeedAerial,
    FeedStage,
    InputWindow,
    LoopDemands,
    Output,
    OutputPiece,
    asked_shares,
)
from combe.project.given import Given, InputFile, PeopleGiven, PeopleSource
from combe.project.off_air import off_air_advice, off_air_hint, off_air_words
from combe.project.one_frequency import USUAL_PROCESSING_US, SingleFrequencyNetwork
from combe.project.parts import Parts, Site, parts_of, sites_of
from combe.project.people import PeopleInMemory, people_of_cells, people_of_districts, people_of_points
from combe.project.project import Project
from combe.project.rules import GridWish, Interference, StatedError, Survey
from combe.project.service import (
    MinimumField,
    feed_environment,
    feed_noise_db,
    grid_over,
    ground_height_m,
    itemised_field,
    minimum_field,
    minimum_field_dbuv_m,
    project_area,
    project_grid,
    project_people,
    service_conditions,
    shown_conditions,
)
from combe.project.siting import OMNI, Siting, SitingFeed, SitingLimit, SitingService
from combe.project.television import Television

__all__ = [
    "CONTEXT_KINDS",
    "OMNI",
    "USUAL_PROCESSING_US",
    "AerialIsolation",
    "ContextKind",
    "ContextLayer",
    "Coordination",
    "Feed",
    "FeedAerial",
    "FeedStage",
    "Given",
    "GridWish",
    "InputFile",
    "InputWindow",
    "Interference",
    "LoopDemands",
    "MinimumField",
    "Output",
    "OutputPiece",
    "Parts",
    "PeopleGiven",
    "PeopleInMemory",
    "PeopleSource",
    "Project",
    "SingleFrequencyNetwork",
    "Site",
    "Siting",
    "SitingFeed",
    "SitingLimit",
    "SitingService",
    "StatedError",
    "Survey",
    "Television",
    "asked_shares",
    "feed_environment",
    "feed_noise_db",
    "grid_over",
    "ground_height_m",
    "itemised_field",
    "minimum_field",
    "minimum_field_dbuv_m",
    "off_air_advice",
    "off_air_hint",
    "off_air_words",
    "parts_of",
    "people_of_cells",
    "people_of_districts",
    "people_of_points",
    "project_area",
    "project_grid",
    "project_people",
    "service_conditions",
    "shown_conditions",
    "sites_of",
]
