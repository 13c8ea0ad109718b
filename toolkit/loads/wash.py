"""Wash of a tug's drive on the barge: the part of the pull that the barge feels as a push back."""

from __future__ import annotations

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip, smooth_step

__all__ = ["AREA_FACTOR", "left_of_whole", "presented", "share_stopped", "wash_on_barge"]

AREA_FACTOR = 0.015
"""Factor on exposed area over distance in the loss of pull, DNV-RP-H103; from memory, not verified [m-1]."""

NEAREST = 1.0
"""Distance below which the wash counts as coming from this far, so that nothing is divided by zero [m]."""


@kernel
def share_stopped(exposed_area: float, distance: float) -> float:
    """Share of a drive's thrust that a barge straight in its wash takes up.

    Parameters
    ----------
    exposed_area : float
        Area below water that the barge presents to the wash [m2].
    distance : float
        From the drive to the barge, above zero [m].

    Returns
    -------
    float
        ``1 - alpha``, 0 to 1.

    Notes
    -----
    ``alpha = (1 + x)^-2.1`` with ``x = 0.015 A / l`` is the interaction factor
    of DNV-RP-H103 (now N103) for barge shapes on a towline of length l; from
    memory, not verified. Here ``(1 + x)^-0.1 = (1 + 0.45 x) / (1 + 0.55 x)``,
    the rational function of the same series to the second power: alpha is
    within 0.22 percent of the formula for x up to 0.9 (300 m2 at 5 m) and
    within 0.003 percent for x below 0.15 (48 m2 at 5 m). The source's range
    is not known; a barge's side at a harbour line's length surely lies
    outside of it.
    """
    left, whole = left_of_whole(exposed_area, distance)
    return 1.0 - left / whole


@kernel
def left_of_whole(exposed_area: float, distance: float) -> tuple[float, float]:
    """Pull left on the line and the whole of it, both to one scale, so that a caller divides when he likes.

    Parameters as for :func:`share_stopped`.
    """
    area = AREA_FACTOR * exposed_area  # x times the distance, by which all is multiplied
    both = distance + area
    return distance * distance * (distance + 0.45 * area), (distance + 0.55 * area) * both * both


@kernel
def presented(
    jet_x: float, jet_y: float, apart_x: float, apart_y: float, half_length: float, half_beam: float
) -> tuple[float, float, float, float]:
    """Barge's outline as a jet sees it: a rectangle projected along and across the jet.

    Parameters
    ----------
    jet_x, jet_y : float
        Direction the wash runs to, ahead and to starboard in the barge's axes; length one.
    apart_x, apart_y : float
        From the drive to the barge's midships, in her axes [m].
    half_length, half_beam : float
        Of the barge [m].

    Returns
    -------
    along : float
        From the drive to midships along the jet [m].
    offset : float
        Midships off the axis of the jet, positive to the right as the jet runs [m].
    half_width, half_depth : float
        Half of what the outline measures across and along the jet [m].
    """
    along = apart_x * jet_x + apart_y * jet_y
    offset = jet_x * apart_y - jet_y * apart_x
    half_width = half_length * abs(jet_y) + half_beam * abs(jet_x)
    half_depth = half_length * abs(jet_x) + half_beam * abs(jet_y)
    return along, offset, half_width, half_depth


@kernel
def wash_on_barge(
    thrust: float,
    jet_x: float,
    jet_y: float,
    apart_x: float,
    apart_y: float,
    half_length: float,
    half_beam: float,
    draught: float,
    strength: float,
    spread: float,
    jet_radius: float,
) -> tuple[float, float, float]:
    """Force and yaw moment of a drive's wash on the barge.

    Parameters
    ----------
    thrust : float
        Of the drive, not negative [N].
    jet_x, jet_y : float
        Direction the wash runs to, in the barge's axes (against the thrust on
        the tug); length one.
    apart_x, apart_y : float
        From the drive to the barge's midships, in her axes [m].
    half_length, half_beam, draught : float
        Of the barge [m].
    strength : float
        Factor on the loss: its uncertainty times the rise in shallow water
        (`toolkit.particulars.wash.wash_strength`).
    spread : float
        Tangent of the half-angle of the jet.
    jet_radius : float
        Radius of the jet at the drive [m].

    Returns
    -------
    ahead, starboard, moment : float
        On the barge, along the jet [N], [N], [N m] about midships, bow to
        starboard positive.

    Notes
    -----
    Straight at the barge the share of :func:`share_stopped`, over the area
    that the outline presents, at the distance to its near side. Off the barge
    it fades smoothly: full while the whole jet hits, or while the jet's axis
    points at the middle of a barge narrower than the jet; half where the axis
    passes the barge's edge; none from where the jet as a whole passes by. In
    angles off the line to the barge, none beyond the angular half-width of
    the barge plus the half-angle of the jet. The force acts along the axis of
    the jet, or at the edge where the axis passes by. Never more than the
    thrust, so that the net pull on the line is not negative. The fading and
    the area of a barge not end-on are judgement.
    """
    along, offset, half_width, half_depth = presented(jet_x, jet_y, apart_x, apart_y, half_length, half_beam)
    gap = along - half_depth
    distance = gap if gap > NEAREST else NEAREST
    radius = jet_radius + spread * distance
    edge = 2.0 * radius if radius < half_width else half_width + radius
    left, whole = left_of_whole(2.0 * half_width * draught, distance)
    per_all = 1.0 / (edge * half_depth * whole)  # one division for three
    hit = smooth_step((half_width + radius - abs(offset)) * (half_depth * whole * per_all))
    facing = smooth_step(0.5 + 0.5 * along * (edge * whole * per_all))
    stopped = clip(strength * (1.0 - left * (edge * half_depth * per_all)), 0.0, 1.0)
    force = thrust * stopped * hit * facing
    return force * jet_x, force * jet_y, force * clip(offset, -half_width, half_width)
