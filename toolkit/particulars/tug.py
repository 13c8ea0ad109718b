"""Particulars of the tug: a family of azimuth-drive harbour tugs by bollard pull."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.added_mass import TUG_FINITE_LENGTH, TUG_SURGE_SHARE, sway_added_mass, yaw_added_inertia
from toolkit.particulars.common import (
    TONNE,
    TONNE_FORCE,
    Array,
    Misfit,
    Numbers,
    PowerLaw,
    as_array,
    common_shape,
    given_or,
)
from toolkit.particulars.hull_drag import ship_wetted_surface
from toolkit.particulars.tug_shares import (
    DRIVE_DEPTH_SHARE,
    DRIVE_HALF_SPACING_SHARE,
    FENDER_FREEBOARD_SHARE,
    FLANK_CONTACT_SHARE,
    FRONTAL_WINDAGE_SHARE,
    GRAVITY_HEIGHT_SHARE,
    LATERAL_RESISTANCE_DEPTH_SHARE,
    LATERAL_WINDAGE_SHARE,
    ROLL_DAMPING_RATIO,
    ROLL_GYRADIUS_SHARE,
    STEM_CONTACT_SHARE,
    TOWING_POINT_ABOVE_DECK,
    TRACTOR,
    TUG_CROSS_FLOW_DRAG,
    TUG_END_DRAG,
    TYPE_SHARES,
    WATERPLANE_FACTOR,
    WINDAGE_HEIGHT_SHARE,
    YAW_GYRADIUS_SHARE,
)

__all__ = ["TUG_FAMILY_RANGE", "Tug", "tug_from_bollard_pull", "tug_problems"]

TUG_FAMILY_RANGE = (25.0 * TONNE_FORCE, 85.0 * TONNE_FORCE)
"""Bollard pulls [N] that the series covers; outside it is extrapolated and flagged."""

# An invented series of four tugs, 30 t to 80 t of pull; laws through the two ends.
_PULL_A, _PULL_D = 30.0 * TONNE_FORCE, 80.0 * TONNE_FORCE
_LENGTH = PowerLaw(first=(_PULL_A, 24.0), last=(_PULL_D, 32.0))
_BEAM = PowerLaw(first=(_PULL_A, 9.5), last=(_PULL_D, 13.0))
_DRAUGHT = PowerLaw(first=(_PULL_A, 3.8), last=(_PULL_D, 5.4))
_DISPLACEMENT = PowerLaw(first=(_PULL_A, 320.0 * TONNE), last=(_PULL_D, 700.0 * TONNE))
_METACENTRIC_HEIGHT = PowerLaw(first=(_PULL_A, 1.5), last=(_PULL_D, 2.3))
_FREEBOARD = PowerLaw(
    first=(_PULL_A, 0.5 * 9.5 * math.tan(math.radians(12.0))), last=(_PULL_D, 0.5 * 13.0 * math.tan(math.radians(15.0)))
)


@dataclass(frozen=True, kw_only=True)
class Tug:
    """A tug with two azimuth drives; SI and radians, every field of the same shape.

    Lengthwise places are forward of midships, heights above the waterline.

    Attributes
    ----------
    length, beam, draught, freeboard : ndarray, shape (n,)
        Length on the waterline, moulded beam, draught to the lowest point,
        least freeboard amidships [m].
    displacement : ndarray, shape (n,)
        [kg].
    block_coefficient : ndarray, shape (n,)
        Volume over length, beam and draught to the lowest point [1].
    metacentric_height, metacentric_radius : ndarray, shape (n,)
        GM upright, and BM of the wall-sided righting lever [m].
    deck_edge_angle : ndarray, shape (n,)
        Heel at which the deck edge reaches the water, atan(2 f / B) [rad].
    roll_inertia : ndarray, shape (n,)
        Added mass included [kg m2].
    roll_damping_ratio : ndarray, shape (n,)
        Over critical [1].
    yaw_inertia : ndarray, shape (n,)
        Of the mass alone [kg m2].
    surge_added_mass, sway_added_mass : ndarray, shape (n,)
        Deep water [kg].
    yaw_added_inertia : ndarray, shape (n,)
        Deep water [kg m2].
    wetted_surface, lateral_windage, frontal_windage : ndarray, shape (n,)
        [m2].
    windage_centroid_height, centre_of_gravity_height : ndarray, shape (n,)
        [m].
    lateral_resistance_depth : ndarray, shape (n,)
        Centre of lateral resistance BELOW the waterline [m].
    lateral_resistance_x : ndarray, shape (n,)
        Centre of lateral resistance [m].
    cross_flow_drag_coefficient, end_drag_coefficient : ndarray, shape (n,)
        Deep water, on length times draught; form drag on beam times draught [1].
    towing_point_height : ndarray, shape (n,)
        [m].
    towing_point_x_fore_and_aft, towing_point_x_athwartships : ndarray, shape (n,)
        Towing point by how the tug lies to the line [m].
    drive_x, drive_half_spacing, drive_depth : ndarray, shape (n,)
        Drives: lengthwise, off the centreline either side, BELOW the waterline [m].
    propeller_diameter : ndarray, shape (n,)
        [m].
    unit_thrust_ahead, unit_thrust_astern : ndarray, shape (n,)
        Largest bollard thrust of one drive, derated [N].
    fender_height : ndarray, shape (n,)
        [m].
    stem_contact_x, stem_contact_half_spread : ndarray, shape (n,)
        Stem-on: the two contact points lie at the bow, this far either side of
        the centreline [m]. Both types push with the bow.
    flank_contact_y, flank_contact_half_spread : ndarray, shape (n,)
        Flank-on: the two contact points lie on the side, off the centreline,
        this far before and abaft midships [m].
    out_of_family : ndarray of bool, shape (n,)
        Bollard pull outside `TUG_FAMILY_RANGE`.
    """

    length: Array
    beam: Array
    draught: Array
    freeboard: Array
    displacement: Array
    block_coefficient: Array
    metacentric_height: Array
    metacentric_radius: Array
    deck_edge_angle: Array
    roll_inertia: Array
    roll_damping_ratio: Array
    yaw_inertia: Array
    surge_added_mass: Array
    sway_added_mass: Array
    yaw_added_inertia: Array
    wetted_surface: Array
    lateral_windage: Array
    frontal_windage: Array
    windage_centroid_height: Array
    centre_of_gravity_height: Array
    lateral_resistance_depth: Array
    lateral_resistance_x: Array
    cross_flow_drag_coefficient: Array
    end_drag_coefficient: Array
    towing_point_height: Array
    towing_point_x_fore_and_aft: Array
    towing_point_x_athwartships: Array
    drive_x: Array
    drive_half_spacing: Array
    drive_depth: Array
    propeller_diameter: Array
    unit_thrust_ahead: Array
    unit_thrust_astern: Array
    fender_height: Array
    stem_contact_x: Array
    stem_contact_half_spread: Array
    flank_contact_y: Array
    flank_contact_half_spread: Array
    out_of_family: NDArray[np.bool_]


def tug_from_bollard_pull(
    *,
    bollard_pull: Numbers,
    tug_type_code: int | NDArray[np.int64] = TRACTOR,
    length: Numbers = math.nan,
    beam: Numbers = math.nan,
    draught: Numbers = math.nan,
    displacement: Numbers = math.nan,
    freeboard: Numbers = math.nan,
    metacentric_height: Numbers = math.nan,
    towing_point_height: Numbers = math.nan,
    fender_height: Numbers = math.nan,
    astern_pull_ratio: Numbers = math.nan,
    bollard_pull_derate: Numbers = 1.0,
    water_density: Numbers = 1025.0,
) -> Tug:
    r"""Draw up a tug from her bollard pull.

    Parameters
    ----------
    bollard_pull : float or ndarray, shape (n,)
        Certified continuous bollard pull ahead of both drives [N].
    tug_type_code : int or ndarray of int, shape (n,)
        `TRACTOR`, `AZIMUTH_STERN_DRIVE` or `CONVENTIONAL`.
    length, beam, draught, freeboard : float or ndarray, shape (n,)
    metacentric_height, towing_point_height, fender_height : float or ndarray, shape (n,)
        [m]; NaN takes them from the family. What hangs on a dimension
        (deck-edge angle, inertias, places) follows the one given.
    displacement : float or ndarray, shape (n,)
        [kg]; NaN keeps the block coefficient of the family on the dimensions
        given. A tug of almost no mass is a test particular: inertias and added
        masses go with it.
    astern_pull_ratio : float or ndarray, shape (n,)
        Pull astern over ahead [1]; NaN takes it from the type.
    bollard_pull_derate : float or ndarray, shape (n,)
        Share of the certified pull that is available [1]; the hull does not
        shrink with it.
    water_density : float or ndarray, shape (n,)
        Density of the water [kg m-3].

    Returns
    -------
    Tug
        Every field of the common shape.

    Notes
    -----
    The family is a power law of bollard pull through the ends of an invented
    series of four tugs (Marrowby Basin, 30 t to 80 t), one hull for both types;
    the two between lie within 7 percent. Small tugs are an extrapolation of it.
    The sections of a tug are far from rectangles, and her draught is to skeg or
    drives: her sway added mass is that of the rectangle times
    `TUG_FINITE_LENGTH` times block coefficient (judgement; it gives 0.6 to
    0.9 of her mass). The propeller diameter goes with the root of bollard pull, 2.6 m at
    70 t, that is at constant disc loading.
    """
    pull, density = as_array(bollard_pull), as_array(water_density)
    code = np.asarray(tug_type_code, dtype=np.int64)
    long = given_or(length, _LENGTH(pull))
    wide = given_or(beam, _BEAM(pull))
    deep = given_or(draught, _DRAUGHT(pull))
    side = given_or(freeboard, _FREEBOARD(pull))
    family_block = _DISPLACEMENT(pull) / (1025.0 * _LENGTH(pull) * _BEAM(pull) * _DRAUGHT(pull))
    mass = given_or(displacement, 1025.0 * family_block * long * wide * deep)
    block = mass / (density * long * wide * deep)
    sway = sway_added_mass(long, wide, deep, density, factor=TUG_FINITE_LENGTH.value * block)
    unit = 0.5 * pull * as_array(bollard_pull_derate)

    def by_type(name: str) -> Array:
        return np.array([getattr(shares, name).value for shares in TYPE_SHARES])[code]

    fields = {
        "length": long,
        "beam": wide,
        "draught": deep,
        "freeboard": side,
        "displacement": mass,
        "block_coefficient": block,
        "metacentric_height": given_or(metacentric_height, _METACENTRIC_HEIGHT(pull)),
        "metacentric_radius": WATERPLANE_FACTOR.value * wide**2 / (12.0 * deep),
        "deck_edge_angle": np.arctan(2.0 * side / wide),
        "roll_inertia": mass * (ROLL_GYRADIUS_SHARE.value * wide) ** 2,
        "roll_damping_ratio": ROLL_DAMPING_RATIO.value,
        "yaw_inertia": mass * (YAW_GYRADIUS_SHARE.value * long) ** 2,
        "surge_added_mass": TUG_SURGE_SHARE.value * mass,
        "sway_added_mass": sway,
        "yaw_added_inertia": yaw_added_inertia(sway, long),
        "wetted_surface": ship_wetted_surface(long, deep, mass / density),
        "lateral_windage": LATERAL_WINDAGE_SHARE.value * long**2,
        "frontal_windage": FRONTAL_WINDAGE_SHARE.value * wide**2,
        "windage_centroid_height": WINDAGE_HEIGHT_SHARE.value * long,
        "centre_of_gravity_height": GRAVITY_HEIGHT_SHARE.value * deep,
        "lateral_resistance_depth": LATERAL_RESISTANCE_DEPTH_SHARE.value * deep,
        "lateral_resistance_x": by_type("lateral_resistance_x") * long,
        "cross_flow_drag_coefficient": TUG_CROSS_FLOW_DRAG.value,
        "end_drag_coefficient": TUG_END_DRAG.value,
        "towing_point_height": given_or(towing_point_height, side + TOWING_POINT_ABOVE_DECK.value * wide),
        "towing_point_x_fore_and_aft": by_type("towing_point_fore_and_aft") * long,
        "towing_point_x_athwartships": by_type("towing_point_athwartships") * long,
        "drive_x": by_type("drive_x") * long,
        "drive_half_spacing": DRIVE_HALF_SPACING_SHARE.value * wide,
        "drive_depth": DRIVE_DEPTH_SHARE.value * deep,
        "propeller_diameter": 2.6 * np.sqrt(pull / (70.0 * TONNE_FORCE)),
        "unit_thrust_ahead": unit,
        "unit_thrust_astern": unit * given_or(astern_pull_ratio, by_type("astern_pull_ratio")),
        "fender_height": given_or(fender_height, FENDER_FREEBOARD_SHARE.value * side),
        "stem_contact_x": 0.5 * long,
        "stem_contact_half_spread": STEM_CONTACT_SHARE.value * wide,
        "flank_contact_y": 0.5 * wide,
        "flank_contact_half_spread": FLANK_CONTACT_SHARE.value * long,
        "out_of_family": (pull < TUG_FAMILY_RANGE[0]) | (pull > TUG_FAMILY_RANGE[1]),
    }
    return Tug(**common_shape(fields))


def tug_problems(tug: Tug) -> list[Misfit]:
    """Find particulars of the tug that do not belong together.

    Parameters
    ----------
    tug : Tug
        Any number of cases.

    Returns
    -------
    list of Misfit
        Only those found; empty for a sound tug. A tug too light for her
        dimensions is a test particular and passes.
    """
    return [
        *Misfit.outside(
            "block coefficient of the tug",
            tug.block_coefficient,
            (0.0, 0.9),
            why="displacement over density, length, beam and draught would be that of a box, or of no floating hull",
            remedy="Correct tug_displacement, tug_length, tug_beam or tug_draught",
        ),
        *Misfit.outside(
            "length over beam of the tug",
            tug.length / tug.beam,
            (1.4, 6.0),
            why="inertia and the places of drives and towing point are those of a tug's hull",
            remedy="Correct tug_length or tug_beam",
        ),
    ]
