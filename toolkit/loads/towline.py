"""Tension of a towline that stretches and sags."""

from __future__ import annotations

from math import sqrt

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip

__all__ = ["line_tension", "static_tension"]

ITERATIONS = 2
"""Halley's iterations for the tension; from the start chosen, two leave less than 1e-9 of it."""
TINY = 1e-30
"""Added to what a line without weight would make nothing, so that nothing is divided by zero."""


@kernel
def static_tension(stretch: float, stiffness: float, sag: float, sag_tension: float) -> float:
    """Tension of a line at rest from the distance between its ends.

    Parameters
    ----------
    stretch : float
        Distance between the ends less the unstretched length; negative for a
        line that hangs slack [m].
    stiffness : float
        Elastic stiffness [N/m].
    sag : float
        ``w^2 L^3 / 24``, w the weight per length [N2 m]; 0 for a line without weight.
    sag_tension : float
        ``(stiffness sag)^(1/3)``, the tension at no stretch [N].

    Returns
    -------
    float
        [N], never negative.

    Notes
    -----
    A parabola of small sag: ``stretch = T / k - w^2 L^3 / (24 T^2)``, that is
    ``T^3 - k e T^2 - k sag = 0``, by Halley's method from a start that has the
    root's value at no stretch and its asymptotes either way. Its stiffness is
    the series of ``k`` and ``12 T^3 / ((w L)^2 L)``, as DNV-RP-H103 has it
    (second hand). Against the elastic catenary it is good to 1 percent while
    the weight of the line stays below 0.4 of the tension and to 3 percent below
    0.7; a line slacker than that pulls next to nothing.
    """
    elastic = stiffness * stretch
    hanging = stretch < 0.0
    cube = stiffness * sag
    start = cube / ((sag_tension - elastic if hanging else sag_tension * sag_tension + elastic * elastic) + TINY)
    tension = sqrt(start) if hanging else elastic + start
    for _ in range(ITERATIONS):
        value = tension * tension * (tension - elastic) - cube
        slope = tension * (3.0 * tension - 2.0 * elastic)
        bend = 3.0 * tension - elastic  # half the second derivative
        tension -= value * slope / (slope * slope - value * bend + TINY)
    return tension


@kernel
def line_tension(
    stretch: float,
    rate: float,
    stiffness: float,
    loss_time: float,
    fade: float,
    sag: float,
    sag_tension: float,
) -> float:
    """Tension of a line: stretch, sag and damping by its material; it cannot push.

    Parameters
    ----------
    stretch, stiffness, sag, sag_tension : float
        As for :func:`static_tension`.
    rate : float
        Rate of stretch [m/s].
    loss_time : float
        Damping over elastic stiffness [s].
    fade : float
        Stretch over which damping sets in [m].

    Returns
    -------
    float
        [N].
    """
    engaged = clip(stretch, 0.0, fade)
    tension = static_tension(stretch, stiffness, sag, sag_tension) + stiffness * loss_time / fade * engaged * rate
    return tension if tension > 0.0 else 0.0
