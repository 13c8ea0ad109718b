"""Steering a tug that makes way: her heading keeps her station, and her drives keep her heading."""

from __future__ import annotations

from math import cos, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.loads.trailing_lift import trailing_lift
from toolkit.motion.allocation import give_orders
from toolkit.motion.helm import needs
from toolkit.motion.layout import STATE, P

__all__ = ["held_moment", "steer_under_way", "under_way"]

DRIFTING, STEERED = 0.5, 1.5
"""Speeds through the water up to which azimuth drives keep a tug's station to the side, and from which on her heading
does [m/s]; judgement, spreads 0.3 to 1 and 1 to 2.5."""
LEAST_KEPT = 0.3
"""Least share of a drive's thrust he reckons to be left at speed, when he steers; judgement, spread 0.2 to 0.5."""
STEERING_SHARE = 0.6
"""Most of the bollard pull that she turns to the side to steer; judgement, spread 0.4 to 0.8."""


@kernel
def under_way(p: NDArray[np.float64], k: int, speed: float) -> float:
    """Share in which she is steered as a vessel under way, by her heading, and not sideways by her drives."""
    steered = clip((abs(speed) - DRIFTING) / (STEERED - DRIFTING), 0.0, 1.0)
    return 1.0 if p[P.fixed_drives + k] > 0.0 else steered


@kernel
def held_moment(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, lead: float, heading: float, tension: float
) -> float:
    """Moment on the tug, in mirrored axes, by her line and by the water she meets at an angle [N m].

    The second is the ideal fluid's (Munk) with the lift of her trailing end: a
    hull under way that is let go may turn across her course, which whoever
    steers her meets before it grows.
    """
    end, turn = p[P.end + k], p[P.turn + k]
    out_x, out_y = end * cos(lead), end * sin(lead)
    pull_side = -tension * (cos(heading) * out_y - sin(heading) * out_x)
    apart = p[P.tug_sway_mass + k] - p[P.tug_surge_mass + k]
    surge, sway = s[STATE.tug_surge + k], turn * s[STATE.tug_sway + k]
    _, lift = trailing_lift(
        surge, sway, turn * s[STATE.tug_yaw + k], p[P.tug_half_length + k], p[P.tug_lift_aft + k],
        p[P.tug_lift_fore + k], p[P.tug_lift_reach + k],
    )  # fmt: skip
    moment: float = p[P.tug_towing_x + k] * pull_side - apart * surge * sway + lift
    return moment


@outlined
def steer_under_way(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, share: float, drag_made_up: bool,
    force_x: float, force_y: float, steady_x: float, steady_y: float, heading: float, heading_aim: float,
    turn_aim: float, held: float,
) -> None:  # fmt: skip
    """Order the drives as `toolkit.motion.helm.steer` does, the share under way with side force for the heading alone.

    Parameters
    ----------
    s, p, m, k
        State, parameters, memory, lane.
    share : float
        From `under_way`.
    drag_made_up : bool
        Her own drag ahead is made up for; else the force asked is what her drives give.
    force_x, force_y, steady_x, steady_y, heading, heading_aim, turn_aim, held : float
        As in `toolkit.motion.helm.steer`.

    Notes
    -----
    At speed, drives that are to hold her sideways have nothing left to steer
    her with: they are turned to steer, and her heading takes her sideways.
    """
    ahead, side, moment = needs(
        s, p, k, force_x, force_y, steady_x, steady_y, heading, heading_aim, turn_aim, held
    )  # fmt: skip
    speed = cos(heading) * steady_x + sin(heading) * steady_y
    if not drag_made_up:
        ahead -= speed * (p[P.tug_surge_linear + k] + p[P.tug_surge_quadratic + k] * abs(speed))
    most = STEERING_SHARE * 2.0 * p[P.unit_thrust + k]
    kept = clip(1.0 - p[P.speed_loss + k] * abs(speed), LEAST_KEPT, 1.0)
    steering = clip(moment / (kept * p[P.drive_x + k]), -most, most)
    give_orders(p, m, k, ahead, side + share * (steering - side), moment)
