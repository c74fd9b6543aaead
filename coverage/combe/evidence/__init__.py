"""Published figures the engine is checked against: tables of cases, and the run that works each of them out.

The tables here are the one place of these figures; the tests run the same cases. Each file is a table of one
Recommendation or one part of the trade. A figure stands as ``read`` in a public text or a public copy of it,
``computed`` from the formulas apart from this package, ``from memory``, or as ``common practice, no source``.
Look-ups that were ``typed twice from memory`` stand beside them and are counted apart.
"""

from combe.evidence.case import STANDINGS, EvidenceCase, Standing
from combe.evidence.run import EvidenceRow, all_cases, reference_folder, run_evidence

__all__ = [
    "STANDINGS",
    "EvidenceCase",
    "EvidenceRow",
    "Standing",
    "all_cases",
    "reference_folder",
    "run_evidence",
]
