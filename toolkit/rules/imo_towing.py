"""IMO 2008 IS Code, Part B section 2.8: heeling levers of ships that tow.

As amended by resolution MSC.415(97), in effect since 1 January 2020, for ships
with keels laid since. Recommended, not mandatory, unless a flag makes it so.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "CODE",
    "CODE_GRAVITY",
    "TOW_TRIPPING_SPEED",
    "Drive",
    "TowingOver",
    "deck_edge_angle",
    "heel_correction",
    "lateral_traction_coefficient",
    "lever_depth_coefficient",
    "self_tripping_lever",
    "thrust_coefficient",
    "tow_tripping_lever",
]

Drive = Literal["azimuth_stern_drive", "tractor", "conventional"]
TowingOver = Literal["bow", "stern"]

CODE = "IMO 2008 IS Code Part B (MSC.415(97))"
"""How the Code is cited."""

CODE_GRAVITY = 9.81
"""Acceleration of gravity in the levers of IMO and IACS [m s-2]; value from memory, not verified."""

TOW_TRIPPING_SPEED = 2.57
"""Lateral speed of the tow-tripping lever, 5 knots [m s-1]; from memory, not verified."""

LEAST_THRUST_COEFFICIENT: dict[tuple[str, str], float] = {
    ("azimuth_stern_drive", "stern"): 0.7,
    ("tractor", "bow"): 0.7,
    ("azimuth_stern_drive", "bow"): 0.5,
    ("tractor", "stern"): 0.5,
}
"""Least C_T by drive and by the end towed over."""

THRUST_COEFFICIENT = Source(
    name=CODE, section="2.8.2.1", certainty=Certainty.verified,
    note="coefficients, floors and definitions of l and L_LL read; other arrangements are case by case in the Code",
)  # fmt: skip
SELF_TRIPPING = Source(
    name=CODE, section="2.8.2.1", certainty=Certainty.partly_verified,
    note="symbols BP, C_T, h, displacement and g read; the formula is an image in the copy read; r, 9.81 from memory",
)  # fmt: skip
TOW_TRIPPING = Source(
    name=CODE, section="2.8.2.2", certainty=Certainty.from_memory,
    note="formula, the three coefficients, their limits and the 5 knots",
)  # fmt: skip


@stated(
    Source(name="ship geometry, deck edge of a wall-sided hull without trim", certainty=Certainty.derived)
)  # fmt: skip
def deck_edge_angle(freeboard: Numbers, beam: Numbers) -> Array:
    r"""Heel at which the deck edge reaches the water, :math:`\arctan(2 f / B)` [rad].

    Parameters
    ----------
    freeboard, beam : float or ndarray
        Freeboard amidships and moulded breadth [m].
    """
    return np.asarray(np.arctan(2.0 * as_array(freeboard) / as_array(beam)))[()]


@stated(THRUST_COEFFICIENT)
def thrust_coefficient(
    drive: Drive, towing_over: TowingOver, separation: float = math.nan, load_line_length: float = math.nan
) -> float:
    r"""Share C_T of the bollard pull that can act across the tug, self-tripping [1].

    Parameters
    ----------
    drive : {"azimuth_stern_drive", "tractor", "conventional"}
        Propulsion; azimuth units at one place along the length.
    towing_over : {"bow", "stern"}
        End over which the tug tows.
    separation : float
        Lengthwise distance l from towing point to the vertical centreline of
        the propulsion units [m].
    load_line_length : float
        L_LL [m].

    Returns
    -------
    float
        0.5 for conventional drives; else :math:`0.90 / (1 + l / L_{LL})` and
        not below 0.7 for azimuth stern drives over the stern and tractors over
        the bow, nor below 0.5 for azimuth stern drives over the bow and
        tractors over the stern.

    Notes
    -----
    IMO 2008 IS Code Part B 2.8.2.1; verified. Other propulsion and towing
    arrangements are settled case by case with the Administration.
    """
    if drive == "conventional":
        return 0.5
    floor = LEAST_THRUST_COEFFICIENT[(drive, towing_over)]
    return max(0.90 / (1.0 + abs(separation) / load_line_length), floor)


@stated(SELF_TRIPPING)
def self_tripping_lever(
    heel: Numbers,
    *,
    bollard_pull: Numbers,
    displacement: Numbers,
    coefficient: Numbers,
    height: Numbers,
    offset: Numbers = 0.0,
) -> Array:
    r"""Heeling lever of the tug's own thrust against her towline [m].

    Parameters
    ----------
    heel : float or ndarray
        [rad].
    bollard_pull : float or ndarray
        Documented continuous static pull BP [N].
    displacement : float or ndarray
        [kg].
    coefficient : float or ndarray
        C_T of `thrust_coefficient` [1].
    height : float or ndarray
        h, from the horizontal centreline of the propulsion units up to the towing point [m].
    offset : float or ndarray
        r, towing point off the centreline [m].

    Notes
    -----
    IMO 2008 IS Code Part B 2.8.2.1:
    :math:`HL = BP\, C_T (h \cos\phi - r \sin\phi) / (g \Delta)` with g 9.81;
    symbols verified, algebra from memory. Static: line in the plane of the
    water, no speed, no hull drag.
    """
    angle = as_array(heel)
    arm = height * np.cos(angle) - offset * np.sin(angle)
    return np.asarray(as_array(bollard_pull) * coefficient * arm / (CODE_GRAVITY * as_array(displacement)))[()]


@stated(TOW_TRIPPING)
def lateral_traction_coefficient(towing_station: Numbers, length: Numbers) -> Array:
    r"""C1 of the tow-tripping lever, :math:`2.8 (L_s / L_{PP} - 0.1)`, held to 0.10 to 1.00 [1].

    Parameters
    ----------
    towing_station : float or ndarray
        L_s, from the aft perpendicular forward to the towing point [m].
    length : float or ndarray
        Between perpendiculars [m].
    """
    return np.asarray(np.clip(2.8 * (as_array(towing_station) / as_array(length) - 0.1), 0.10, 1.00))[()]


@stated(TOW_TRIPPING)
def heel_correction(heel: Numbers, deck_edge: Numbers) -> Array:
    r"""C2 of the tow-tripping lever, :math:`\phi / (3 \phi_D) + 0.5`, not below 1 [1].

    Parameters
    ----------
    heel, deck_edge : float or ndarray
        Heel and deck-edge angle [rad].
    """
    return np.asarray(np.maximum(as_array(heel) / (3.0 * as_array(deck_edge)) + 0.5, 1.0))[()]


@stated(TOW_TRIPPING)
def lever_depth_coefficient(heel: Numbers, deck_edge: Numbers) -> Array:
    r"""C3 of the tow-tripping lever, :math:`0.26 \phi / \phi_D + 0.30`, held to 0.50 to 0.83 [1].

    Depth of the centre of lateral drag below the waterline over draught.

    Parameters
    ----------
    heel, deck_edge : float or ndarray
        Heel and deck-edge angle [rad].
    """
    return np.asarray(np.clip(0.26 * as_array(heel) / as_array(deck_edge) + 0.30, 0.50, 0.83))[()]


@stated(TOW_TRIPPING)
def tow_tripping_lever(
    heel: Numbers,
    *,
    displacement: Numbers,
    lateral_area: Numbers,
    height: Numbers,
    draught: Numbers,
    towing_station: Numbers,
    length: Numbers,
    freeboard: Numbers,
    beam: Numbers,
    offset: Numbers = 0.0,
    water_density: Numbers = 1025.0,
    speed: Numbers = TOW_TRIPPING_SPEED,
) -> Array:
    r"""Heeling lever of a tug dragged sideways by her tow [m].

    Parameters
    ----------
    heel : float or ndarray
        [rad].
    displacement : float or ndarray
        [kg].
    lateral_area : float or ndarray
        A_P, projected underwater lateral area [m2].
    height : float or ndarray
        h, from the WATERLINE up to the towing point [m]; another datum than in
        the self-tripping lever.
    draught : float or ndarray
        Actual mean draught d [m].
    towing_station, length : float or ndarray
        L_s from the aft perpendicular, and length between perpendiculars [m].
    freeboard, beam : float or ndarray
        Amidships and moulded [m]; they give the deck-edge angle.
    offset : float or ndarray
        r, towing point off the centreline [m].
    water_density : float or ndarray
        [kg m-3].
    speed : float or ndarray
        Lateral speed [m s-1].

    Notes
    -----
    IMO 2008 IS Code Part B 2.8.2.2, from memory, not verified:
    :math:`HL = C_1 C_2 \gamma V^2 A_P (h \cos\phi - r \sin\phi + C_3 d) / (2 g \Delta)`.
    The Code writes the density in t/m3 and the displacement in t, which comes
    to the same. C1 C2 is a drag coefficient on A_P, C3 d the depth at which the
    drag acts. The lever rises with heel.
    """
    angle = as_array(heel)
    edge = deck_edge_angle(freeboard, beam)
    arm = height * np.cos(angle) - offset * np.sin(angle) + lever_depth_coefficient(angle, edge) * draught
    drag = lateral_traction_coefficient(towing_station, length) * heel_correction(angle, edge)
    pressure = 0.5 * as_array(water_density) * as_array(speed) ** 2
    return np.asarray(drag * pressure * lateral_area * arm / (CODE_GRAVITY * as_array(displacement)))[()]
