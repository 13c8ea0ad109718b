"""One-sided springs: what a towline and a fender have in common, and sliding friction."""

from __future__ import annotations

from math import sqrt

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip

__all__ = ["one_sided_spring", "sliding_friction"]


@kernel
def one_sided_spring(stretch: float, rate: float, stiffness: float, loss_time: float, fade: float) -> float:
    """Force of a spring that acts one way only, with damping by its material.

    Parameters
    ----------
    stretch : float
        Stretch of a line or compression of a fender; no force below zero [m].
    rate : float
        Rate of stretch [m/s].
    stiffness : float
        [N/m].
    loss_time : float
        Damping over stiffness of the material [s].
    fade : float
        Stretch over which damping sets in, so that the force is continuous as
        the spring comes into action [m].

    Returns
    -------
    float
        Force, never negative [N].

    Notes
    -----
    Kelvin and Voigt's solid, ``k (e + t de/dt)``, cut at zero force: a line
    cannot push, a fender cannot pull.
    """
    engaged = clip(stretch, 0.0, fade)
    force = stiffness * (stretch + loss_time / fade * engaged * rate)
    return force if stretch > 0.0 and force > 0.0 else 0.0


@kernel
def sliding_friction(normal: float, slip: float, coefficient: float, creep: float) -> float:
    """Friction against slip along a surface.

    Parameters
    ----------
    normal : float
        Normal force [N].
    slip : float
        Velocity of slip [m/s].
    coefficient : float
        Coulomb coefficient.
    creep : float
        Velocity at which friction reaches 71 percent; the price of a law
        without a jump is that a contact said to stick creeps at less than
        this [m/s].

    Returns
    -------
    float
        Force against the slip [N].
    """
    return -coefficient * normal * slip / sqrt(slip * slip + creep * creep)
