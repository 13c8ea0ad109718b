"""Resistance of a hull to ahead and astern motion."""

from __future__ import annotations

from toolkit.kernels import kernel

__all__ = ["surge_resistance"]


@kernel
def surge_resistance(surge_velocity: float, linear: float, quadratic: float) -> float:
    """Ahead force of the water on a hull that moves ahead.

    Parameters
    ----------
    surge_velocity : float
        Velocity through the water, ahead positive [m/s].
    linear : float
        Linear part of the fitted friction [N s/m].
    quadratic : float
        Quadratic part: friction and form drag together [N s2/m2].

    Returns
    -------
    float
        Force, ahead positive [N].

    Notes
    -----
    The two coefficients come from `toolkit.particulars.hull_drag`, which fits
    them to ITTC-57 friction and adds the form drag of blunt ends.
    """
    return -surge_velocity * (linear + quadratic * abs(surge_velocity))
