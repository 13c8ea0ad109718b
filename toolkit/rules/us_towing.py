"""Law of the United States: 46 CFR 173.095, towline pull, and 174.145, intact stability of tugboats and towboats."""

from __future__ import annotations

import math

import numpy as np

from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.areas import area_between, area_under, greatest_lever
from toolkit.rules.assessment import Assessment, judged, reach_of, without_equilibrium
from toolkit.rules.righting import Lever, RightingCurve
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "METRIC_FACTOR",
    "gm_required",
    "towline_pull_criterion",
    "towline_pull_gm_criterion",
    "towline_pull_lever",
    "tug_intact_criteria",
]

METRIC_FACTOR = 13.93
"""K in metric units (kW, m, t); 38 in horsepower, feet and long tons. The two agree to 0.007 percent."""

PULL_GM = Source(
    name="46 CFR 173.095", section="(b)", certainty=Certainty.partly_verified,
    note="symbols, K 38 and 13.93 read; the formula is an image in the copies read",
)  # fmt: skip
PULL_LEVER = Source(
    name="46 CFR 173.095", section="(d)", certainty=Certainty.partly_verified,
    note="symbols read; the factor 2 is from memory, supported by (b), which it puts at the deck edge",
)  # fmt: skip
PULL_AREA = Source(
    name="46 CFR 173.095", section="(c)", certainty=Certainty.verified,
    note="2 foot-degrees (0.61 metre-degrees) and the three ends read",
)  # fmt: skip
INTACT = Source(
    name="46 CFR 174.145", section="(b) to (e)", certainty=Certainty.partly_verified,
    note="(b) and (c) read; (d) greatest lever at 25 degrees and (e) positive to 60 degrees are from memory",
)  # fmt: skip

_LAST = math.radians(40.0)
_DEGREE = 180.0 / math.pi


def _pull(propellers: Numbers, power: Numbers, diameter: Numbers, intercepted: Numbers, height: Numbers) -> Array:
    """N (P D)^(2/3) s h with the power in kW and lengths in metres."""
    return np.asarray(propellers * np.cbrt((as_array(power) / 1e3 * as_array(diameter)) ** 2) * intercepted * height)


@stated(PULL_GM)
def gm_required(
    *,
    propellers: Numbers,
    power: Numbers,
    diameter: Numbers,
    intercepted: Numbers,
    height: Numbers,
    displacement: Numbers,
    freeboard: Numbers,
    beam: Numbers,
) -> Array:
    r"""Least metacentric height of a towing vessel [m].

    Parameters
    ----------
    propellers : float or ndarray
        Number N of propellers [1].
    power : float or ndarray
        Shaft power of EACH shaft [W].
    diameter : float or ndarray
        Of the propellers [m].
    intercepted : float or ndarray
        s, share of the propeller circle cylinder that the rudder intercepts at
        45 degrees [1]. Azimuth drives have no rudder and the law gives no value
        for them; 1 is the severest reading.
    height : float or ndarray
        h, from the shaft centreline at the rudder up to the towing bitts [m].
    displacement : float or ndarray
        [kg].
    freeboard, beam : float or ndarray
        Least freeboard along the length, and moulded beam [m].

    Notes
    -----
    46 CFR 173.095(b): :math:`GM \ge N (P D)^{2/3} s h / [K \Delta (f/B)]` with
    K 13.93; symbols and K verified, algebra from memory.
    """
    weight = METRIC_FACTOR * as_array(displacement) / 1e3 * as_array(freeboard) / as_array(beam)
    return np.asarray(_pull(propellers, power, diameter, intercepted, height) / weight)[()]


@stated(PULL_LEVER)
def towline_pull_lever(
    heel: Numbers,
    *,
    propellers: Numbers,
    power: Numbers,
    diameter: Numbers,
    intercepted: Numbers,
    height: Numbers,
    displacement: Numbers,
) -> Array:
    r"""Heeling arm of the towline [m].

    Parameters
    ----------
    heel : float or ndarray
        [rad].
    propellers, power, diameter, intercepted, height, displacement
        As in `gm_required`.

    Notes
    -----
    46 CFR 173.095(d): :math:`HA = 2 N (P D)^{2/3} s h \cos\theta / (K \Delta)`.
    The factor 2 is from memory: with it a hull with GZ = GM sin and the least
    GM of (b) meets the lever exactly at the deck edge.
    """
    upright = 2.0 * _pull(propellers, power, diameter, intercepted, height)
    return np.asarray(upright * np.cos(as_array(heel)) / (METRIC_FACTOR * as_array(displacement) / 1e3))[()]


@stated(PULL_GM)
def towline_pull_gm_criterion(metacentric_height: float, required: float, *, note: str = "") -> Assessment:
    """Metacentric height against that of `gm_required` [m]; enough by itself, without the curve.

    Parameters
    ----------
    metacentric_height, required : float
        [m].
    note : str
        What was assumed.
    """
    return judged("metacentric height (either this or the residual area)", metacentric_height, ">=", required, "m",
                  PULL_GM, note=note)  # fmt: skip


@stated(PULL_AREA)
def towline_pull_criterion(curve: RightingCurve, heeling: Lever, *, note: str = "") -> Assessment:
    """Residual righting energy beyond equilibrium, at least 0.61 metre-degrees.

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Lever of `towline_pull_lever` [m] of heel [rad].
    note : str
        What was assumed.

    Notes
    -----
    46 CFR 173.095(c), verified: equilibrium before down-flooding, and the
    energy up to the least of the heel of the greatest righting arm,
    down-flooding and 40 degrees.
    """
    criterion = "residual righting energy (either this or GM)"
    most, _, rising = greatest_lever(curve)
    reach = reach_of(curve, heeling, most=_LAST if rising else min(most, _LAST))
    if math.isnan(reach.start):
        return without_equilibrium(criterion, ">=", 0.61, "m deg", PULL_AREA, curve, reach)
    area = area_between(curve, heeling, reach.start, reach.end) * _DEGREE
    told = "; ".join(filter(None, (note, reach.note)))
    return judged(criterion, area, ">=", 0.61, "m deg", PULL_AREA, at_least=reach.cut_short, note=told)


@stated(INTACT)
def tug_intact_criteria(curve: RightingCurve) -> tuple[Assessment, Assessment, Assessment, Assessment]:
    """Righting arms of a tugboat or towboat [m deg, rad].

    Parameters
    ----------
    curve : RightingCurve

    Returns
    -------
    tuple of Assessment
        Area to the least of the heel of the greatest arm, down-flooding and 40
        degrees, at least 5.15 m deg; area from 30 degrees to 40 or to
        down-flooding, at least 1.72 m deg; greatest arm at 25 degrees or more;
        arms positive to 60 degrees.

    Notes
    -----
    46 CFR 174.145: (b) and (c) verified, (d) and (e) from memory.
    """
    most, lever, rising = greatest_lever(curve)
    far = _LAST if math.isnan(curve.down_flooding) else min(curve.down_flooding, _LAST)
    end = far if rising else min(most, far)
    known = curve.known_to * (1.0 + 1e-9)
    thirty = math.radians(30.0)
    first = area_under(curve.lever, 0.0, min(end, curve.known_to), curve.breaks) * _DEGREE
    second = area_under(curve.lever, thirty, far, curve.breaks) * _DEGREE if far <= known else math.nan
    heels = np.append(np.radians(np.arange(1.0, math.degrees(curve.known_to), 0.1)), curve.known_to)
    gone = np.flatnonzero(as_array(curve.lever(heels)) <= 0.0)
    positive = float(heels[gone[0]]) if gone.size else curve.known_to
    return (
        judged("area to greatest arm, down-flooding or 40 degrees", first, ">=", 5.15, "m deg", INTACT,
               at_least=end > known),
        judged("area from 30 degrees to 40 or down-flooding", second, ">=", 1.72, "m deg", INTACT),
        judged("heel of the greatest arm", most, ">=", math.radians(25.0), "rad", INTACT, at_least=rising,
               note=f"greatest arm {lever:.3f} m"),
        judged("heel to which arms are positive", positive, ">=", math.radians(60.0), "rad", INTACT,
               at_least=not gone.size),
    )  # fmt: skip
