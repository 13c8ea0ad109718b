"""Two azimuth drives: direction, speed, the athwartships limit and each other's wash."""

from __future__ import annotations

from math import sqrt

from toolkit.kernels import kernel
from toolkit.loads.scalars import arc_sine, clip, smooth_step

__all__ = ["direction_share", "drive_force", "slew_rate", "spool_rate", "wash_share"]

DEGREES = 57.29577951308232
EDGE = 0.1
"""Half-width of the edge of the athwartships band, in the cosine of the drive's angle."""


@kernel
def direction_share(cosine: float, astern_ratio: float, athwart_share: float, band_sine: float) -> float:
    """Share of the ahead thrust that a drive gives in its direction.

    Parameters
    ----------
    cosine : float
        Cosine of the angle of thrust off the bow.
    astern_ratio : float
        Thrust astern over thrust ahead.
    athwart_share : float
        Share left within the athwartships band; 1 is no limit.
    band_sine : float
        Sine of the half-width of that band either side of athwartships.

    Returns
    -------
    float

    Notes
    -----
    Between ahead and astern the share goes with the cosine. The athwartships
    limit has smooth edges, is off by default and never touches astern thrust
    (common practice, no source).
    """
    along = 1.0 - 0.5 * (1.0 - astern_ratio) * (1.0 - cosine)
    inside = smooth_step((band_sine + EDGE - abs(cosine)) * (0.5 / EDGE))
    return along * (1.0 - (1.0 - athwart_share) * inside)


@kernel
def wash_share(toward: float, across: float, tandem_ratio: float, weight: float) -> float:
    """Share of thrust left to a drive that lies in the other's wash.

    Parameters
    ----------
    toward : float
        Cosine of the angle between the other drive's wash and the line to this
        drive; not positive where the wash goes the other way.
    across : float
        Sine of that angle.
    tandem_ratio : float
        Share left straight in the wash, from the spacing over diameter.
    weight : float
        Strength of the other's wash against this drive's own, 0 to 1.

    Returns
    -------
    float

    Notes
    -----
    ``t + (1 - t) phi^3 / (130 / t^3 + phi^3)``, phi in degrees off the wash:
    Dang and Laheij, Dynamic Positioning Conference 2004, from memory, not
    verified.
    """
    angle = DEGREES * abs(arc_sine(across))
    cube = angle * angle * angle
    ratio_cube = tandem_ratio * tandem_ratio * tandem_ratio
    weighed = cube * ratio_cube
    share = tandem_ratio + (1.0 - tandem_ratio) * weighed / (130.0 + weighed)
    return 1.0 - weight * (1.0 - share) if toward > 0.0 else 1.0


@kernel
def drive_force(
    thrust: float, cosine: float, sine: float, ahead: float, starboard: float, speed_loss: float, ram: float
) -> tuple[float, float]:
    """Force of a drive that moves through the water.

    Parameters
    ----------
    thrust : float
        Thrust at rest in this direction [N].
    cosine, sine : float
        Direction of thrust on the tug, clockwise from her bow.
    ahead, starboard : float
        Velocity of the drive through the water, in the tug's axes [m/s].
    speed_loss : float
        Share of thrust lost for each m/s of speed along the thrust [s/m].
    ram : float
        Root of water density times wake area, [(kg/m)^0.5]; its product with
        the root of thrust is the mass flow that takes on the drive's cross
        velocity.

    Returns
    -------
    ahead_force, starboard_force : float
        [N].

    Notes
    -----
    The loss with speed is linear, none where the drive is dragged against its
    thrust. The force across follows from momentum: mass flow times the
    velocity across the thrust.
    """
    along = ahead * cosine + starboard * sine
    across = starboard * cosine - ahead * sine
    share = clip(1.0 - speed_loss * along, 0.0, 1.0)
    pull = thrust * share
    drag = ram * sqrt(thrust) * across
    return pull * cosine + drag * sine, pull * sine - drag * cosine


@kernel
def spool_rate(thrust: float, ordered: float, rate: float, pace: float) -> float:
    """Rate of change of a drive's thrust toward the order [N/s].

    Held to `rate` [N/s]; within the last ``rate / pace`` [N] the approach
    is exponential with time ``1 / pace`` [s].
    """
    return clip((ordered - thrust) * pace, -rate, rate)


@kernel
def slew_rate(
    cosine: float, sine: float, ordered_cosine: float, ordered_sine: float, rate: float, pace: float
) -> float:
    """Rate of turn of a drive toward the ordered direction, the shorter way [rad/s].

    Held to `rate` [rad/s]; the last ``rate / pace`` [rad] are approached
    exponentially with time ``1 / pace`` [s]. A drive exactly opposite to its
    order turns clockwise.
    """
    cross = cosine * ordered_sine - sine * ordered_cosine
    dot = cosine * ordered_cosine + sine * ordered_sine
    astern = 1.0 if cross >= 0.0 else -1.0
    return clip(cross * pace, -rate, rate) if dot > 0.0 else astern * rate
