"""Published rules as functions: levers, criteria, loads, each with the certainty of its text (floor 1).

A screening aid. Whether a vessel complies is for her flag, her class and the
current text of the rule to say.
"""

from toolkit.rules import (
    berthing,
    bollard_pull,
    fittings,
    iacs_towing,
    imo_criteria,
    imo_intact,
    imo_towing,
    line_stiffness,
    resistance,
    us_towing,
)
from toolkit.rules.assessment import FULL_CURVE_NEEDED, Assessment, Verdict
from toolkit.rules.righting import RightingCurve, curve_from_table, wall_sided_curve
from toolkit.rules.source import Certainty, Source, rule_sources, source_of

__all__ = [
    "FULL_CURVE_NEEDED",
    "Assessment",
    "Certainty",
    "RightingCurve",
    "Source",
    "Verdict",
    "berthing",
    "bollard_pull",
    "curve_from_table",
    "fittings",
    "iacs_towing",
    "imo_criteria",
    "imo_intact",
    "imo_towing",
    "line_stiffness",
    "resistance",
    "rule_sources",
    "source_of",
    "us_towing",
    "wall_sided_curve",
]
