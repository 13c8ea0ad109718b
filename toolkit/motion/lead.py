"""How the line leads: off the barge's axis, and off the tug's own working axis."""

from __future__ import annotations

from math import atan2, cos, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.motion.helm import pose, wrapped
from toolkit.motion.layout import P

__all__ = ["lead_angles"]


@kernel
def lead_angles(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float, float]:
    """Line lead and distance between towing points, with the lead off the tug's working axis.

    Returns
    -------
    lead : float
        Off the barge's axis outward from the end worked, positive toward the
        side that turns the barge the ordered way [rad].
    distance : float
        Between the towing points [m].
    off_axis : float
        Between the line and the tug's fore-and-aft line, or her beam when she
        lies across it [rad].
    heading : float
        Of the tug off the barge's, in mirrored axes [rad].
    """
    x, y, heading = pose(s, p, k)
    end, tow = p[P.end + k], p[P.tug_towing_x + k]
    away_x = x + tow * cos(heading) - p[P.barge_towing_x + k]
    away_y = y + tow * sin(heading) - p[P.turn + k] * p[P.barge_towing_y + k]
    lead = atan2(end * away_y, end * away_x)
    off_axis = abs(wrapped(atan2(away_y, away_x) - heading))
    if p[P.stern_first + k] > 0.0:
        off_axis = pi - off_axis
    if p[P.athwart + k] > 0.0:
        off_axis = abs(off_axis - 0.5 * pi)
    return lead, sqrt(away_x * away_x + away_y * away_y), off_axis, heading
