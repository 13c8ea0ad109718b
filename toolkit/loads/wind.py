"""Wind on the above-water body of a vessel."""

from __future__ import annotations

from math import sqrt

from toolkit.kernels import kernel
from toolkit.loads.scalars import arc_sine

__all__ = ["wind_load"]

CALM = 1e-12
"""Added to the square of the speed so that a calm divides by something [m2/s2]."""


@kernel
def wind_load(
    ahead: float,
    starboard: float,
    lateral: float,
    frontal: float,
    transverse_coefficient: float,
    bow_coefficient: float,
    stern_coefficient: float,
    cross_force: float,
    centroid_offset: float,
    length: float,
) -> tuple[float, float, float]:
    """Forces and yaw moment of a wind from any direction.

    Parameters
    ----------
    ahead, starboard : float
        Velocity of the air past the vessel in her own axes: the direction the
        air moves *to* [m/s].
    lateral, frontal : float
        Half the air density times windage area times height factor [kg/m].
    transverse_coefficient, bow_coefficient, stern_coefficient : float
        Drag coefficients in beam wind, and in head and following wind on the
        frontal area.
    cross_force : float
        Cross-force parameter (delta).
    centroid_offset : float
        Lateral windage centroid forward of midships [m].
    length : float
        Length over all [m].

    Returns
    -------
    surge_force, side_force, yaw_moment : float
        [N], [N], [N m] about midships; ahead, starboard, bow to starboard.

    Notes
    -----
    Form of Blendermann, Journal of Wind Engineering and Industrial
    Aerodynamics 51 (1994), from memory, not verified. With the angle from the
    bow eps, ``den = 1 - delta/2 (1 - CDl/CDt) sin^2 2 eps``; the lever of the
    side force is ``s - 0.18 (eps - pi/2) L``. Signs are those of axes with y
    to starboard: wind from starboard pushes to port.
    """
    square = ahead * ahead + starboard * starboard + CALM
    speed = sqrt(square)
    along = frontal * (bow_coefficient if ahead < 0.0 else stern_coefficient)
    broadside = transverse_coefficient * lateral
    across = broadside + 1e-30
    product = ahead * starboard
    # den times CDt, side area and the fourth power of the speed; it shares its division with the direction
    den = across * square * square - 2.0 * cross_force * (across - along) * product * product
    per_both = 1.0 / (den * speed)
    per_speed = den * per_both
    cosine, sine = -ahead * per_speed, -starboard * per_speed
    pressure = -square * square * square * across * (speed * per_both)
    surge = pressure * along * cosine
    side = pressure * broadside * sine
    lever = centroid_offset + 0.18 * length * arc_sine(cosine)
    return surge, side, side * lever
