"""Fender contact of one point of the tug with one side of the barge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip
from toolkit.loads.spring import one_sided_spring, sliding_friction
from toolkit.motion.layout import P

__all__ = ["contact_at", "touch"]

DEEPEST_CONTACT = 2.0
"""Compression beyond which a point is on the far side of the barge, not in her fender [m]."""
END_FADE = 0.5
"""Length at the barge's end over which contact fades as the fender runs off it [m]."""


@kernel
def contact_at(
    station: float,
    offset: float,
    along_rate: float,
    offset_rate: float,
    side: float,
    half_length: float,
    half_beam: float,
    stiffness: float,
    loss_time: float,
    fade: float,
    friction: float,
    creep: float,
) -> tuple[float, float]:
    """Normal force and friction between one fender point and the barge's side.

    Parameters
    ----------
    station, offset : float
        Fender point in the barge's axes [m].
    along_rate, offset_rate : float
        Its velocity relative to the barge there [m/s].
    side : float
        +1 for the starboard side, -1 for the port side.
    half_length, half_beam : float
        Of the barge [m].
    stiffness, loss_time, fade : float
        As for :func:`toolkit.loads.spring.one_sided_spring`.
    friction, creep : float
        As for :func:`toolkit.loads.spring.sliding_friction`.

    Returns
    -------
    normal : float
        Pressing, never negative [N].
    along : float
        Friction on the tug along the barge's axis, ahead positive [N].
    """
    compression = half_beam - side * offset
    on_side = clip((half_length - abs(station)) / END_FADE, 0.0, 1.0)
    near = compression if compression < DEEPEST_CONTACT else 0.0
    normal = on_side * one_sided_spring(near, -side * offset_rate, stiffness, loss_time, fade)
    return normal, sliding_friction(normal, along_rate, friction, creep)


@kernel
def touch(
    p: NDArray[np.float64],
    k: int,
    station: float,
    offset: float,
    along_rate: float,
    across_rate: float,
) -> tuple[float, float]:
    """Normal force and friction at a fender point of the case in lane `k`.

    Parameters
    ----------
    p : ndarray, shape (rows of parameters * lanes,)
    k : int
        Lane.
    station, offset : float
        Fender point in the barge's axes [m].
    along_rate, across_rate : float
        Its velocity relative to the barge there, in her axes [m/s].

    Returns
    -------
    normal, along : float
        As for :func:`contact_at` [N].
    """
    return contact_at(
        station,
        offset,
        along_rate,
        across_rate,
        p[P.pushed_side + k],
        p[P.barge_half_length + k],
        p[P.barge_half_beam + k],
        p[P.fender_stiffness + k],
        p[P.fender_loss_time + k],
        p[P.fender_fade + k],
        p[P.fender_friction + k],
        p[P.fender_creep + k],
    )
