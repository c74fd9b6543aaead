"""Documents of studies held side by side, and of fields held against what a neighbour asks."""

from __future__ import annotations

from dataclasses import replace

import combe.reports.compare
import combe.reports.coordinate
from combe.answers.compare import compare_report
from combe.answers.coordinate import coordinate_report
from combe.project import Coordination, Project
from combe.publishing.document import Document
from combe.standards import TriggerBand, trigger_table

LONG = "Tarnbeacon-over-Nether-Wallop-and-the-Seven-Northern-Combes"


def compared_studies(*projects: Project) -> Document:
    """Return the document of studies held side by side, the last with a relay moved and a long name."""
    moved = projects[-1].moved("Combe Relay", -84.21, 36.61)
    named = replace(moved, source=f"{LONG}.toml")
    return combe.reports.compare.document(compare_report((*projects[:-1], named)))


def coordinations(plain: Project, analogue: Project) -> dict[str, Document]:
    """Return documents of fields over, under, bounded and not judged, and of stations on one channel."""
    near, beyond = (-84.25, 36.62), (-84.9, 36.62)
    bands = (TriggerBand(470.0, 560.0, 81.0), TriggerBand(600.0, 900.0, 56.0))
    asked = Coordination(places_deg=(near, beyond, (-84.3, 36.5)), triggers=bands)
    shared = Coordination(places_deg=(near, (-84.28, 36.62)), time_percent=50.0)
    relay = plain.station("Combe Relay")
    same = replace(relay, services=(replace(relay.services[0], channel=27, frequency_mhz=522.0),))
    return {
        "coordinate": combe.reports.coordinate.document(coordinate_report(plain, asked)),
        "coordinate on one channel": combe.reports.coordinate.document(
            coordinate_report(replace(plain, stations=(plain.stations[0], same)), shared), listed=1
        ),
        "coordinate unknown": combe.reports.coordinate.document(
            coordinate_report(plain, Coordination(places_deg=(beyond,)))
        ),
        "coordinate analogue": combe.reports.coordinate.document(
            coordinate_report(analogue, Coordination(places_deg=(near,), triggers=trigger_table("GE06")))
        ),
    }
