"""A towline that is not stretched: how its weight draws a barge, and how a master makes use of that."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.motion.crew import STATION_FREQUENCY
from toolkit.motion.layout import MEMORY, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.manoeuvres.manoeuvre import Given

__all__ = ["bight_rows", "ease_line", "lying_distance", "most_by_weight"]

Array = NDArray[np.float64]

BIGHT, SUNK = P.own_8, P.own_9
"""Distance between the towing points below which the line's bight lies in the water, and the share of its weight that
the water does not bear."""
SAG, SAG_TENSION = MEMORY.own_14, MEMORY.own_15
"""Rows of the line's weight as it hangs clear of the water."""

FLOATING_SHARE = (0.0, 0.26, 0.10, 0.87)
"""Share of its weight that a line of each material keeps in the water: of densities 0.97, 1.38, 1.14 and 7.85 t/m3;
from memory, not verified."""
HELD_TO = 0.05
"""Slack as short of a tight line as a tug can hold it [m]; judgement, spread 0.02 to 0.1."""
LEAST_HELD = 1.0
"""Force below which a line need not draw [N]."""


def bight_rows(given: Given, length: Array) -> dict[str, Array]:
    """Rows of a line of a length [m] that may lie in the water; of a parabola between fittings at their mean height."""
    height = 0.5 * (given.barge.freeboard + given.tug.towing_point_height)
    return {
        "own_8": length - 8.0 * height**2 / (3.0 * length),
        "own_9": np.array(FLOATING_SHARE)[given.columns["line_material"].astype(np.int64)],
    }


@kernel
def ease_line(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Let the water bear a line that is so slack that its bight lies in it; at every look, the first one first."""
    if m[MEMORY.time + k] == 0.0:
        m[SAG + k], m[SAG_TENSION + k] = p[P.line_sag + k], p[P.line_sag_tension + k]
    if p[P.line_stiffness + k] > 0.0:  # neither parted nor let go
        _, distance, _, _ = lead_angles(s, p, k)
        share = p[SUNK + k] if distance < p[BIGHT + k] else 1.0
        p[P.line_sag + k] = share * share * m[SAG + k]
        p[P.line_sag_tension + k] = (share * share) ** (1.0 / 3.0) * m[SAG_TENSION + k]


@kernel
def most_by_weight(m: NDArray[np.float64], k: int) -> float:
    """Greatest force [N] with which a master can let a line draw by its weight: a short or light one is soon tight."""
    return sqrt(m[SAG + k] / HELD_TO)


@kernel
def lying_distance(
    p: NDArray[np.float64], m: NDArray[np.float64], k: int, force: float, slack: float, tension: float
) -> float:
    """Distance between the towing points [m] to lie at for the line's weight to draw with a force [N].

    `slack` is the distance to lie at where no force is wanted [m], `tension`
    what the line pulls now [N], which the station keeping has to stand up to.
    """
    distance = slack
    if force > LEAST_HELD and p[P.line_stiffness + k] > 0.0:
        hanging = p[P.line_length + k] - m[SAG + k] / (force * force) + force / p[P.line_stiffness + k]
        distance = hanging if hanging > slack else slack
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    lying: float = distance + tension / (mass * STATION_FREQUENCY * STATION_FREQUENCY)
    return lying
