"""Words that go with every result: cautions and conventions of direction."""

from __future__ import annotations

__all__ = ["CAUTIONS", "DIRECTIONS"]

CAUTIONS = (
    "Screening aid only: outcomes of a reduced-order model that nobody has checked against a particular tug, barge or "
    "basin. "
    "Girting: a line or a barge that leads across a tug can capsize her in seconds. "
    "Snap-back: a parting line recoils with the energy stored in it; nobody belongs in its way. "
    "Local rules, class, pilots and licensed practice come first."
)
"""Text that goes with every dataset, and onto whatever shows a decision."""

DIRECTIONS = (
    "Bearings and headings are true, in degrees clockwise from north. Wind comes FROM wind_from; current runs TO "
    "current_to. Angles turned and rates of turn are positive the way round that was ordered. Heel is positive with "
    "starboard down."
)
"""The conventions of direction in datasets."""
