"""IMO 2008 IS Code, Part A section 2.2: righting levers of every ship, to which the towing criteria are added."""

from __future__ import annotations

import math

import numpy as np

from toolkit.rules.areas import area_under, greatest_lever
from toolkit.rules.assessment import Assessment, judged
from toolkit.rules.righting import RightingCurve
from toolkit.rules.source import Certainty, Source, stated

__all__ = ["intact_criteria"]

PART_A = Source(
    name="IMO 2008 IS Code Part A", section="2.2", certainty=Certainty.second_hand,
    note="the same numbers read in 46 CFR 170.173(b) and 28.570, and on training pages that quote the Code "
    "(marinegyaan.com, shipcalculators.com); the Code itself was not found to read",
)  # fmt: skip

_THIRTY, _FORTY, _TWENTY_FIVE = (math.radians(angle) for angle in (30.0, 40.0, 25.0))


@stated(PART_A)
def intact_criteria(curve: RightingCurve, metacentric_height: float) -> tuple[Assessment, ...]:
    """Areas, greatest lever and metacentric height of the intact ship.

    Parameters
    ----------
    curve : RightingCurve
    metacentric_height : float
        GM upright, corrected for free surfaces [m].

    Returns
    -------
    tuple of Assessment
        Area to 30 degrees at least 0.055 m rad; area to 40 degrees or
        down-flooding at least 0.090; area from 30 degrees to there at least
        0.030; lever at 30 degrees or more at least 0.20 m; heel of the greatest
        lever at least 25 degrees; GM at least 0.15 m.

    Notes
    -----
    IMO 2008 IS Code Part A 2.2.1 to 2.2.4; numbers second hand. Not for a ship
    that is heeled by a towline: the criteria of Part B 2.8 come on top.
    """
    last = _FORTY if math.isnan(curve.down_flooding) else min(_FORTY, curve.down_flooding)
    known = curve.known_to

    def area(low: float, high: float) -> float:
        return area_under(curve.lever, low, min(high, known), curve.breaks)

    def short(angle: float) -> bool:
        return angle > known * (1.0 + 1e-9)

    angle, lever, at_end = greatest_lever(curve)
    inner = _between(curve, _THIRTY) if not short(_THIRTY) else math.nan
    return (
        judged("area to 30 degrees", area(0.0, _THIRTY), ">=", 0.055, "m rad", PART_A, at_least=short(_THIRTY)),
        judged("area to 40 degrees or down-flooding", area(0.0, last), ">=", 0.090, "m rad", PART_A,
               at_least=short(last)),
        judged("area from 30 to 40 degrees or down-flooding", math.nan if short(last) else area(_THIRTY, last),
               ">=", 0.030, "m rad", PART_A),
        judged("lever at 30 degrees or more", inner, ">=", 0.20, "m", PART_A),
        judged("heel of the greatest lever", angle, ">=", _TWENTY_FIVE, "rad", PART_A, at_least=at_end,
               note=f"greatest lever {lever:.3f} m"),
        judged("metacentric height", metacentric_height, ">=", 0.15, "m", PART_A),
    )  # fmt: skip


def _between(curve: RightingCurve, low: float) -> float:
    """Greatest lever from a heel to the end of the curve [m]."""
    return float(np.max(curve.lever(np.linspace(low, curve.known_to, 721))))
