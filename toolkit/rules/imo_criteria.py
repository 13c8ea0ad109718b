"""IMO 2008 IS Code, Part B section 2.8.4: criteria of ships that tow and escort, on any righting curve.

They come on top of Part A 2.2. Where a curve ends at the deck edge, what can be
said is said, and the rest is not assessable.
"""

from __future__ import annotations

import math

from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.areas import area_between, area_under, first_intersection
from toolkit.rules.assessment import Assessment, judged, reach_of, without_equilibrium
from toolkit.rules.imo_towing import CODE
from toolkit.rules.righting import Lever, RightingCurve
from toolkit.rules.source import Certainty, Source, stated

__all__ = ["escort_criteria", "self_tripping_criterion", "tow_tripping_criterion"]

ESCORT_HEEL = math.radians(20.0)
"""Heel to which the first pair of areas of the escort criteria is taken [rad]."""

ESCORT_END = math.radians(40.0)
"""Furthest heel of the second pair of areas [rad]."""

ESCORT_EQUILIBRIUM = math.radians(15.0)
"""Largest heel of equilibrium in escort [rad]."""

TOWING_CRITERIA = Source(name=CODE, section="2.8.4.2", certainty=Certainty.from_memory, note="area A above area B")
TOW_TRIPPING_CRITERION = Source(name=CODE, section="2.8.4.3", certainty=Certainty.from_memory)
ESCORT_CRITERIA = Source(
    name=CODE, section="2.8.4.4", certainty=Certainty.from_memory, note="1.25, 1.40 and 15 degrees; lever held constant"
)


@stated(TOWING_CRITERIA)
def self_tripping_criterion(curve: RightingCurve, heeling: Lever) -> Assessment:
    r"""Area A of righting over heeling lever must be above area B of heeling over righting lever.

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Self-tripping lever [m] of heel [rad].

    Returns
    -------
    Assessment
        Area A [m rad] against area B. A is taken from equilibrium to the second
        intersection or down-flooding, whichever is less; B from upright to equilibrium.

    Notes
    -----
    IMO 2008 IS Code Part B 2.8.4.2; from memory, not verified. For
    :math:`GZ = GM \sin\phi` and a lever as the cosine, A > B is the same as a
    last angle above twice the equilibrium.
    """
    criterion = "area A above area B (self-tripping)"
    reach = reach_of(curve, heeling)
    if math.isnan(reach.start):
        return without_equilibrium(criterion, ">", math.nan, "m rad", TOWING_CRITERIA, curve, reach)
    owed = max(-area_between(curve, heeling, 0.0, reach.start), 0.0)
    reserve = area_between(curve, heeling, reach.start, reach.end)
    note = f"equilibrium {math.degrees(reach.start):.1f} degrees, areas to {math.degrees(reach.end):.1f} degrees"
    return judged(
        criterion, reserve, ">", owed, "m rad", TOWING_CRITERIA, at_least=reach.cut_short,
        note="; ".join(filter(None, (note, reach.note))),
    )  # fmt: skip


@stated(TOW_TRIPPING_CRITERION)
def tow_tripping_criterion(curve: RightingCurve, heeling: Lever) -> Assessment:
    """Equilibrium under the tow-tripping lever must come before down-flooding.

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Tow-tripping lever [m] of heel [rad].

    Returns
    -------
    Assessment
        Heel of the first intersection [rad] against the down-flooding angle,
        or where that was not given against the end of the known curve.

    Notes
    -----
    IMO 2008 IS Code Part B 2.8.4.3; from memory, not verified. Openings are
    assumed to lie on or above the deck and inboard of its edge, so that an
    equilibrium before the deck edge comes before down-flooding.
    """
    criterion = "equilibrium before down-flooding (tow-tripping)"
    reach = reach_of(curve, heeling)
    given = not math.isnan(curve.down_flooding)
    flooding = curve.down_flooding if given else curve.known_to
    if math.isnan(reach.start):
        return without_equilibrium(criterion, "<", flooding, "rad", TOW_TRIPPING_CRITERION, curve, reach)
    note = "" if given else "no down-flooding angle given: held against the end of the known curve"
    return judged(criterion, reach.start, "<", flooding, "rad", TOW_TRIPPING_CRITERION, note=note)


@stated(ESCORT_CRITERIA)
def escort_criteria(curve: RightingCurve, lever: float) -> tuple[Assessment, Assessment, Assessment]:
    """Areas and equilibrium in escort, under a lever that is held constant with heel.

    Parameters
    ----------
    curve : RightingCurve
    lever : float
        Largest heeling lever over the speeds of escort, from trials, model
        tests or calculation [m].

    Returns
    -------
    tuple of Assessment
        Area of righting lever over area of heeling lever from equilibrium to 20
        degrees, at least 1.25; the same from upright to the least of second
        intersection, down-flooding and 40 degrees, at least 1.40; equilibrium
        at 15 degrees at most.

    Raises
    ------
    ValueError
        If the lever is not above nothing.

    Notes
    -----
    IMO 2008 IS Code Part B 2.8.3 and 2.8.4.4; from memory, not verified.
    """
    if not lever > 0.0:
        raise ValueError(f"lever = {lever:g} [m] is not above nothing: escort heels a tug")

    def heeling(angle: Numbers) -> Array:
        return lever + 0.0 * as_array(angle)

    rest = first_intersection(curve, heeling)
    if math.isnan(rest) and curve.known_to >= ESCORT_HEEL:
        rest = math.inf  # beyond 20 degrees, if anywhere
    first = math.nan
    if rest >= ESCORT_HEEL:
        first = 0.0  # nothing of it before 20 degrees
    elif curve.known_to >= ESCORT_HEEL:
        first = area_under(curve.lever, rest, ESCORT_HEEL, curve.breaks) / (lever * (ESCORT_HEEL - rest))
    reach = reach_of(curve, heeling, most=ESCORT_END)
    whole = math.nan if reach.cut_short else area_under(curve.lever, 0.0, reach.end, curve.breaks) / (lever * reach.end)
    return (
        judged("area A over area B, equilibrium to 20 degrees (escort)", first, ">=", 1.25, "1", ESCORT_CRITERIA),
        judged("area C over area D (escort)", whole, ">=", 1.40, "1", ESCORT_CRITERIA, note=reach.note),
        judged("equilibrium (escort)", rest, "<=", ESCORT_EQUILIBRIUM, "rad", ESCORT_CRITERIA),
    )
