"""Particulars of the wash of a tug's drives on the barge: loss by distance, jet, rise in shallow water."""

from __future__ import annotations

import numpy as np

from toolkit.particulars.common import FROM_MEMORY, Array, Judged, Numbers, as_array

__all__ = ["JET_SPREAD", "NEAR_BOTTOM_RISE", "WASH_EXPONENT", "pull_left", "wash_depth_factor", "wash_strength"]

WASH_EXPONENT = Judged(value=2.1, low=1.6, high=2.6, mark=FROM_MEMORY)
"""Exponent of the interaction factor for barge shapes, DNV-RP-H103; the spread is judgement, and what a study varies
is `wash_on_barge_share`."""

JET_SPREAD = Judged(value=0.22, low=0.176, high=0.268)
"""Tangent of the half-angle of a drive's jet, 12.4 degrees (10 to 15): about what a free round jet has at its edge."""

NEAR_BOTTOM_RISE = Judged(value=2.0, low=1.0, high=4.0)
"""Loss by wash with the barge's keel on the bottom, over that in deep water: the jet cannot pass below her. That
little water under the keel makes it worse is said by tug masters; how much, no source was found to say."""


def pull_left(exposed_area: Numbers, distance: Numbers) -> Array:
    r"""Share of a tug's thrust that is left as pull when her wash runs straight at a barge [1].

    Parameters
    ----------
    exposed_area : float or ndarray, shape (n,)
        Area below water of the end towed by [m2].
    distance : float or ndarray, shape (n,)
        Length of the towline, above zero [m].

    Notes
    -----
    :math:`\alpha = (1 + 0.015 A / l)^{-2.1}`, DNV-RP-H103 (now N103), from
    memory, not verified. The kernel's `toolkit.loads.wash.share_stopped` is
    ``1 - alpha`` by a rational function.
    """
    return np.asarray((1.0 + 0.015 * as_array(exposed_area) / as_array(distance)) ** -WASH_EXPONENT.value)[()]


def wash_depth_factor(draught: Numbers, depth: Numbers, rise: Numbers = NEAR_BOTTOM_RISE.value) -> Array:
    r"""Loss by wash in water of finite depth, over that in deep water [1].

    Parameters
    ----------
    draught, depth : float or ndarray, shape (n,)
        Draught of the barge and depth of water [m]; depth below draught counts as equal to it.
    rise : float or ndarray, shape (n,)
        The factor with the keel on the bottom [1].

    Notes
    -----
    :math:`1 + (R - 1) (T/h)^2`: judgement, with the square that the cross-flow
    drag of UFC 4-159-03 has.
    """
    blockage = np.minimum(as_array(draught) / as_array(depth), 1.0)
    return np.asarray(1.0 + (as_array(rise) - 1.0) * blockage * blockage)[()]


def wash_strength(share: Numbers, draught: Numbers, depth: Numbers) -> Array:
    """Factor on the loss by wash: its uncertainty times the rise in shallow water [1].

    Parameters
    ----------
    share : float or ndarray, shape (n,)
        Uncertainty of the loss, 0 to 2; 0 leaves the wash out, 1 is the formula [1].
    draught, depth : float or ndarray, shape (n,)
        As in `wash_depth_factor`.
    """
    return np.asarray(as_array(share) * wash_depth_factor(draught, depth))[()]
