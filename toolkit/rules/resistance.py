"""Resistance of what is towed, and the pull that a static requirement asks for."""

from __future__ import annotations

import numpy as np

from toolkit.particulars import (
    depth_corrected_coefficient,
    ittc57_friction_coefficient,
    ship_wetted_surface,
    ufc_deep_coefficient,
)
from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.particulars.hull_drag import WATER_VISCOSITY
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "barge_air_resistance",
    "barge_friction_resistance",
    "barge_wave_resistance",
    "current_on_body",
    "current_on_side",
    "current_on_stem",
    "required_bollard_pull",
    "ship_parameter",
    "ship_tow_hull_resistance",
    "ship_tow_propeller_resistance",
    "ship_tow_wind_resistance",
    "wave_drift",
    "wind_on_body",
]

POUND_FORCE = 4.4482216152605
FOOT = 0.3048
LONG_TON = 1016.0469088
KNOT = 1852.0 / 3600.0

LATERAL = Source(
    name="UFC 4-159-03 (US DoD, Moorings)", section="eq. 11 to 13 and Table 4-6", certainty=Certainty.verified,
    note="root sign of eq. 12 is missing in the scan and was put back; the forces of Table 4-6 confirm it and K 2",
)  # fmt: skip
LONGITUDINAL = Source(
    name="UFC 4-159-03 (US DoD, Moorings)", section="eq. 15 to 20", certainty=Certainty.verified,
    note="form drag 0.1 is for ship shapes; friction by ITTC-57; propeller drag left out",
)  # fmt: skip
stated(LATERAL)(ufc_deep_coefficient)
stated(LATERAL)(depth_corrected_coefficient)
stated(LONGITUDINAL)(ship_wetted_surface)
stated(
    Source(name="ITTC 1957 model-ship correlation line", section="7.5-02-03", certainty=Certainty.verified)
)(ittc57_friction_coefficient)  # fmt: skip

SHIP_TOW = Source(
    name="US Army TB 55-1900-232-10, after the US Navy Towing Manual", section="appendix G, ships",
    certainty=Certainty.verified, note="the curves of resistance per ton are not held here",
)  # fmt: skip
BARGE_TOW = Source(
    name="US Navy Towing Manual", section="appendix G, barges", certainty=Certainty.from_memory,
    note="form and numbers; the dimensions agree with drag and friction coefficients of ordinary size",
)  # fmt: skip
STATIC_TOW = Source(
    name="static towing requirement of warranty surveyors, DNV rules for marine operations",
    section="towing force at zero speed", certainty=Certainty.second_hand,
    note="wind, current and efficiency read in a worked calculation; 20 m/s, 0.5 m/s and Hs 5 m from memory",
)  # fmt: skip
WAVE_DRIFT = Source(
    name="DNV rules for marine operations", section="mean wave drift of a towed object",
    certainty=Certainty.from_memory, note="reflection coefficients were not found",
)  # fmt: skip


@stated(LATERAL)
def ship_parameter(length: Numbers, midship_area: Numbers, beam: Numbers, volume: Numbers) -> Array:
    r"""Chi of UFC 4-159-03 eq. 13, :math:`L^2 A_m / (B V)` [1].

    Parameters
    ----------
    length, beam : float or ndarray
        On the waterline [m].
    midship_area : float or ndarray
        Immersed area of the midship section [m2].
    volume : float or ndarray
        Displaced [m3].

    Notes
    -----
    It is L/B for a box; the deep coefficient is 0.22 times its root.
    """
    return np.asarray(as_array(length) ** 2 * midship_area / (as_array(beam) * volume))[()]


@stated(LATERAL)
def current_on_side(
    coefficient: Numbers, length: Numbers, draught: Numbers, speed: Numbers, angle: Numbers = 0.5 * np.pi,
    water_density: Numbers = 1025.0,
) -> Array:  # fmt: skip
    r"""Force of a current across a moored vessel [N].

    Parameters
    ----------
    coefficient : float or ndarray
        In the depth there is, of `depth_corrected_coefficient` [1].
    length, draught : float or ndarray
        [m].
    speed : float or ndarray
        Of the current, to 1.5 m/s [m s-1].
    angle : float or ndarray
        Of the current off the bow [rad].
    water_density : float or ndarray
        [kg m-3].

    Notes
    -----
    UFC 4-159-03: :math:`\tfrac12 \rho V^2 L T C \sin\theta`; the equation itself was
    not on the pages read, the forces of Table 4-6 agree with it.
    """
    pressure = 0.5 * as_array(water_density) * as_array(speed) ** 2
    return np.asarray(pressure * length * draught * coefficient * np.sin(as_array(angle)))[()]


@stated(LONGITUDINAL)
def current_on_stem(
    length: Numbers, beam: Numbers, draught: Numbers, wetted_surface: Numbers, speed: Numbers,
    *, form_coefficient: Numbers = 0.1, water_density: Numbers = 1025.0, viscosity: float = WATER_VISCOSITY,
) -> Array:  # fmt: skip
    r"""Force of a current from ahead on a vessel without propellers [N].

    Parameters
    ----------
    length, beam, draught : float or ndarray
        [m].
    wetted_surface : float or ndarray
        [m2].
    speed : float or ndarray
        [m s-1].
    form_coefficient : float or ndarray
        On beam times draught; 0.1 for ship shapes, 0.2 for raked to 1.0 for
        square ends of barges (judgement) [1].
    water_density : float or ndarray
        [kg m-3].
    viscosity : float
        Kinematic [m2 s-1].

    Notes
    -----
    UFC 4-159-03 eq. 15 to 19: :math:`\tfrac12 \rho V^2 (B T C + S C_F)`; verified.
    """
    flow = as_array(speed)
    friction = ittc57_friction_coefficient(flow * length / viscosity)
    area = as_array(beam) * draught * form_coefficient + wetted_surface * friction
    return np.asarray(0.5 * as_array(water_density) * flow**2 * area)[()]


@stated(SHIP_TOW)
def ship_tow_hull_resistance(displacement: Numbers, specific_resistance: Numbers) -> Array:
    """Hull resistance of a towed ship, with 1.25 for roughness and other things [N].

    Parameters
    ----------
    displacement : float or ndarray
        [kg].
    specific_resistance : float or ndarray
        Resistance over displacement, read off the manual's curve, as a ratio of
        force to weight [N kg-1].

    Notes
    -----
    TB 55-1900-232-10 appendix G, item 15; verified with its printed example.
    """
    return np.asarray(1.25 * as_array(specific_resistance) * displacement)[()]


@stated(SHIP_TOW)
def ship_tow_propeller_resistance(propeller_area: Numbers, speed: Numbers) -> Array:
    """Resistance of the towed ship's locked propellers [N].

    Parameters
    ----------
    propeller_area : float or ndarray
        Projected area of the propellers [m2].
    speed : float or ndarray
        Of the tow [m s-1].

    Notes
    -----
    TB 55-1900-232-10 appendix G, item 16: 3.737 A V^2 in pounds, square feet and knots; verified.
    """
    pounds = 3.737 * as_array(propeller_area) / FOOT**2 * (as_array(speed) / KNOT) ** 2
    return np.asarray(pounds * POUND_FORCE)[()]


@stated(SHIP_TOW)
def ship_tow_wind_resistance(
    frontal_area: Numbers, relative_wind: Numbers, coefficient: Numbers = 1.0, heading_factor: Numbers = 1.0
) -> Array:
    """Wind resistance of a towed ship [N].

    Parameters
    ----------
    frontal_area : float or ndarray
        [m2].
    relative_wind : float or ndarray
        [m s-1].
    coefficient, heading_factor : float or ndarray
        C_w and K of the manual [1].

    Notes
    -----
    TB 55-1900-232-10 appendix G, item 17: 0.00506 C_w A K V^2 in pounds, square feet and knots; verified.
    """
    pounds = 0.00506 * as_array(coefficient) * as_array(frontal_area) / FOOT**2 * heading_factor
    return np.asarray(pounds * (as_array(relative_wind) / KNOT) ** 2 * POUND_FORCE)[()]


@stated(BARGE_TOW)
def barge_friction_resistance(wetted_surface: Numbers, speed: Numbers, roughness: Numbers = 0.45) -> Array:
    """Friction of a towed barge [N].

    Parameters
    ----------
    wetted_surface : float or ndarray
        [m2].
    speed : float or ndarray
        [m s-1].
    roughness : float or ndarray
        f1: about 0.45 clean, more when fouled [pound per square foot at 6 knots].

    Notes
    -----
    f1 S (V/6)^2 in pounds, square feet and knots; from memory, not verified.
    """
    pounds = as_array(roughness) * as_array(wetted_surface) / FOOT**2 * (as_array(speed) / KNOT / 6.0) ** 2
    return np.asarray(pounds * POUND_FORCE)[()]


@stated(BARGE_TOW)
def barge_wave_resistance(
    section_area: Numbers, speed: Numbers, bow_coefficient: Numbers = 0.35, water_factor: Numbers = 1.2
) -> Array:
    """Wave-making and eddy resistance of a towed barge [N].

    Parameters
    ----------
    section_area : float or ndarray
        Largest cross-section under water [m2].
    speed : float or ndarray
        [m s-1].
    bow_coefficient : float or ndarray
        f2: about 0.2 (ship or spoon bow) to 0.5 (square) [1].
    water_factor : float or ndarray
        K, 1.2 in rough water [1].

    Notes
    -----
    2.85 B f2 V^2 K in pounds, square feet and knots; from memory, not verified.
    2.85 is half the density of sea water at a knot squared, 2.84, so f2 is a drag coefficient.
    """
    pounds = 2.85 * as_array(section_area) / FOOT**2 * bow_coefficient * (as_array(speed) / KNOT) ** 2
    return np.asarray(pounds * water_factor * POUND_FORCE)[()]


@stated(BARGE_TOW)
def barge_air_resistance(frontal_area: Numbers, speed: Numbers, head_wind: Numbers = 0.0) -> Array:
    """Air resistance of a towed barge in a head wind [N].

    Parameters
    ----------
    frontal_area : float or ndarray
        Cross-section above water [m2].
    speed, head_wind : float or ndarray
        Of the tow, and of the wind against it [m s-1].

    Notes
    -----
    0.004 C (V_w + V)^2 in pounds, square feet and knots; from memory, not
    verified. It is a drag coefficient of 1.18.
    """
    flow = (as_array(speed) + head_wind) / KNOT
    return np.asarray(0.004 * as_array(frontal_area) / FOOT**2 * flow**2 * POUND_FORCE)[()]


@stated(STATIC_TOW)
def wind_on_body(area: Numbers, wind: Numbers, coefficient: Numbers = 1.0, air_density: Numbers = 1.225) -> Array:
    """Force of the wind on an area, half rho C A V^2 [N]; [m2], [m s-1], [1], [kg m-3]."""
    return np.asarray(0.5 * as_array(air_density) * coefficient * area * as_array(wind) ** 2)[()]


@stated(STATIC_TOW)
def current_on_body(area: Numbers, flow: Numbers, coefficient: Numbers, water_density: Numbers = 1025.0) -> Array:
    """Force of water on an area, half rho C A V^2 [N]; the flow is current plus speed of the tow [m2, m s-1, 1]."""
    return np.asarray(0.5 * as_array(water_density) * coefficient * area * as_array(flow) ** 2)[()]


@stated(WAVE_DRIFT)
def wave_drift(
    beam: Numbers, significant_height: Numbers, reflection: Numbers = 1.0, water_density: Numbers = 1025.0
) -> Array:
    r"""Mean drift force of head seas [N].

    Parameters
    ----------
    beam : float or ndarray
        Across the seas [m].
    significant_height : float or ndarray
        Hs [m].
    reflection : float or ndarray
        R, 1 for a wall, less for raked ends; the force goes with its square [1].
    water_density : float or ndarray
        [kg m-3].

    Notes
    -----
    :math:`\tfrac18 \rho g R^2 B H_s^2`; from memory, not verified. Of no account in a harbour.
    """
    weight = 0.125 * as_array(water_density) * 9.81
    return np.asarray(weight * as_array(reflection) ** 2 * beam * as_array(significant_height) ** 2)[()]


@stated(STATIC_TOW)
def required_bollard_pull(force: Numbers, efficiency: Numbers = 0.75) -> Array:
    """Bollard pull that holds a force with a tug of some towing efficiency [N].

    Parameters
    ----------
    force : float or ndarray
        Sum of wind, waves and current [N].
    efficiency : float or ndarray
        Share of the bollard pull that is left: 0.75 at sea; it depends on sea
        state and size of the tug, and is not meant for a harbour [1].
    """
    return np.asarray(as_array(force) / efficiency)[()]
