"""IACS Recommendation 24: intact stability of towing vessels."""

from __future__ import annotations

import math

from toolkit.particulars.common import Array, Numbers
from toolkit.rules.areas import area_between, area_under
from toolkit.rules.assessment import Assessment, judged, reach_of, without_equilibrium
from toolkit.rules.imo_towing import self_tripping_lever
from toolkit.rules.righting import Lever, RightingCurve
from toolkit.rules.source import Certainty, Source, stated

__all__ = ["PULL_SHARE", "towing_criteria", "towing_heeling_lever"]

PULL_SHARE = 0.7
"""Share of the largest bollard pull that acts across the tug."""

REC_24 = Source(
    name="IACS Rec. 24 (Rev. 6)", section="towing vessels", certainty=Certainty.verified,
    note="lever, 0.09 m rad and 1.4 read in Rev. 5 and Rev. 6; H down to the centre of the propeller is from memory",
)  # fmt: skip


@stated(REC_24)
def towing_heeling_lever(
    heel: Numbers, *, bollard_pull: Numbers, displacement: Numbers, height: Numbers
) -> Array:  # fmt: skip
    r"""Heeling lever of 70 percent of the bollard pull across the tug [m].

    Parameters
    ----------
    heel : float or ndarray
        [rad].
    bollard_pull : float or ndarray
        Largest bollard pull T [N].
    displacement : float or ndarray
        [kg].
    height : float or ndarray
        H, from the centre of the propeller up to the towing hook [m].

    Notes
    -----
    IACS Rec. 24: :math:`b_h = 0.7\,T H \cos\theta / (9.81 \Delta)`; verified.
    It is IMO's self-tripping lever with C_T 0.7 and the hook on the centreline.
    """
    return self_tripping_lever(
        heel, bollard_pull=bollard_pull, displacement=displacement, coefficient=PULL_SHARE, height=height
    )


@stated(REC_24)
def towing_criteria(curve: RightingCurve, heeling: Lever) -> tuple[Assessment, Assessment]:
    """The two alternatives of which one is enough: residual area, or ratio of areas.

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Lever of `towing_heeling_lever` [m] of heel [rad].

    Returns
    -------
    tuple of Assessment
        Residual area from the first intersection to the second or to
        down-flooding, at least 0.09 m rad; area under the righting lever over
        that under the heeling lever from upright to the same end, at least 1.4.

    Notes
    -----
    IACS Rec. 24 Rev. 6; verified. On top of IMO 2008 IS Code Part A 2.2.
    """
    residual, ratio = "residual area (either this or the ratio)", "area ratio (either this or the residual area)"
    reach = reach_of(curve, heeling)
    if math.isnan(reach.start):
        return (
            without_equilibrium(residual, ">=", 0.09, "m rad", REC_24, curve, reach),
            without_equilibrium(ratio, ">=", 1.4, "1", REC_24, curve, reach),
        )
    left = area_between(curve, heeling, reach.start, reach.end)
    righting = area_under(curve.lever, 0.0, reach.end, curve.breaks)
    heeled = area_under(heeling, 0.0, reach.end)
    share = math.nan if reach.cut_short else righting / heeled if heeled > 0.0 else math.inf
    return (
        judged(residual, left, ">=", 0.09, "m rad", REC_24, at_least=reach.cut_short, note=reach.note),
        judged(ratio, share, ">=", 1.4, "1", REC_24, note=reach.note),
    )
