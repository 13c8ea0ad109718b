"""Particulars of the barge: a family of box-like barges by laden displacement, at any loading."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.added_mass import (
    BARGE_FINITE_LENGTH,
    BARGE_SURGE_SHARE,
    beam_over_draught_in_range,
    sway_added_mass,
    yaw_added_inertia,
)
from toolkit.particulars.common import (
    TONNE,
    TONNE_FORCE,
    Array,
    Judged,
    Misfit,
    Numbers,
    PowerLaw,
    as_array,
    common_shape,
    given_or,
)
from toolkit.particulars.hull_drag import box_wetted_surface

__all__ = [
    "BARGE_FAMILY_RANGE",
    "DECKHOUSE_HEIGHT",
    "LIGHT_SHARE",
    "Barge",
    "barge_from_displacement",
    "barge_problems",
]

LIGHT_SHARE = Judged(value=0.22, low=0.15, high=0.35)
"""Light displacement over laden displacement."""

DECKHOUSE_HEIGHT = Judged(value=2.4, low=2.0, high=3.0, unit="m")
"""Height of deckhouse and deck gear above the deck."""

DECKHOUSE_WIDTH_SHARE = Judged(value=0.6, low=0.3, high=0.9)
"""Breadth of the deckhouse, seen from ahead, over the beam."""

BARGE_FAMILY_RANGE = (200.0 * TONNE, 12_000.0 * TONNE)
"""Laden displacements [kg] for which the family was drawn up; flagged outside."""

BLOCK_COEFFICIENT_RANGE = (0.3, 1.0)
"""Block coefficients of a barge's hull."""

SLENDERNESS_RANGE = (1.5, 12.0)
"""Length over beam of a barge's hull."""

# An invented series of seven barges, 300 t to 10,000 t laden; laws through the two ends.
_LENGTH = PowerLaw(first=(300 * TONNE, 30.0), last=(10_000 * TONNE, 105.0))
_BEAM = PowerLaw(first=(300 * TONNE, 8.0), last=(10_000 * TONNE, 22.5))
_BLOCK = PowerLaw(first=(300 * TONNE, 0.81), last=(10_000 * TONNE, 0.90))
_FREEBOARD = PowerLaw(first=(300 * TONNE, 0.9), last=(10_000 * TONNE, 1.6))
_FITTING_SWL = PowerLaw(first=(300 * TONNE, 8.0 * TONNE_FORCE), last=(10_000 * TONNE, 50.0 * TONNE_FORCE))
_DECKHOUSE_AREA = PowerLaw(first=(300 * TONNE, 7.0), last=(10_000 * TONNE, 50.0))


@dataclass(frozen=True, kw_only=True)
class Barge:
    """A box-like barge as she lies at her loading; SI, every field of the same shape.

    Attributes
    ----------
    length, beam : ndarray, shape (n,)
        Length on the waterline and moulded beam [m].
    draught, laden_draught : ndarray, shape (n,)
        Draught as loaded and laden [m].
    depth_moulded : ndarray, shape (n,)
        Keel to deck [m].
    freeboard : ndarray, shape (n,)
        Waterline to deck as loaded [m].
    block_coefficient : ndarray, shape (n,)
        Volume displaced over length, beam and draught [1]; the same at every loading, as of a box.
    displacement, laden_displacement, light_displacement : ndarray, shape (n,)
        As loaded, laden and light [kg].
    lateral_windage, frontal_windage : ndarray, shape (n,)
        Areas above water as loaded, seen from abeam and from ahead [m2].
    windage_centroid_height : ndarray, shape (n,)
        Centroid of the lateral windage above the waterline [m].
    lateral_windage_offset : ndarray, shape (n,)
        Centroid of the lateral windage forward of midships [m].
    wetted_surface : ndarray, shape (n,)
        Of the box, as loaded [m2].
    fitting_swl : ndarray, shape (n,)
        Safe working load of the fitting the line is made fast to [N].
    yaw_inertia : ndarray, shape (n,)
        Of the mass alone, about midships [kg m2].
    surge_added_mass, sway_added_mass : ndarray, shape (n,)
        In deep water [kg].
    yaw_added_inertia : ndarray, shape (n,)
        In deep water [kg m2].
    out_of_family : ndarray of bool, shape (n,)
        Laden displacement outside `BARGE_FAMILY_RANGE`, or beam over draught
        outside the table of added mass.
    """

    length: Array
    beam: Array
    draught: Array
    laden_draught: Array
    depth_moulded: Array
    freeboard: Array
    block_coefficient: Array
    displacement: Array
    laden_displacement: Array
    light_displacement: Array
    lateral_windage: Array
    frontal_windage: Array
    windage_centroid_height: Array
    lateral_windage_offset: Array
    wetted_surface: Array
    fitting_swl: Array
    yaw_inertia: Array
    surge_added_mass: Array
    sway_added_mass: Array
    yaw_added_inertia: Array
    out_of_family: NDArray[np.bool_]


def barge_from_displacement(
    *,
    displacement: Numbers,
    loading: Numbers = 1.0,
    length: Numbers = math.nan,
    beam: Numbers = math.nan,
    draught: Numbers = math.nan,
    freeboard: Numbers = math.nan,
    fitting_swl: Numbers = math.nan,
    water_density: Numbers = 1025.0,
) -> Barge:
    r"""Draw up a barge from her laden displacement, at any share of her cargo.

    Parameters
    ----------
    displacement : float or ndarray, shape (n,)
        Laden displacement [kg].
    loading : float or ndarray, shape (n,)
        Share of the cargo aboard, 0 light to 1 laden [1].
    length, beam, draught, freeboard : float or ndarray, shape (n,)
        Dimensions laden [m]; NaN takes them from the family. A draught that is
        not given follows from displacement, length, beam, density and the
        family's block coefficient; where it is given the block coefficient
        follows.
    fitting_swl : float or ndarray, shape (n,)
        Safe working load of the fitting [N]; NaN takes it from the family.
    water_density : float or ndarray, shape (n,)
        Density of the water [kg m-3].

    Returns
    -------
    Barge
        Every field of the common shape. Nothing is refused here; see
        `barge_problems` for particulars that do not belong together.

    Notes
    -----
    The family is a power law of laden displacement, drawn through the ends of
    an invented series of barges (Marrowby Basin, 300 t to 10,000 t), for
    instance :math:`L = 30\,(D / 300\,t)^{0.357}`; the five barges between lie
    within 7 percent in dimensions, 10 in laden windage and 12 in the fitting's
    safe working load; her light windage comes out 1 percent below to 6 above
    the series. Displacement = density x length x beam x
    draught x block coefficient holds at every loading. Light displacement is
    `LIGHT_SHARE` of laden. The windage is length times freeboard plus a
    deckhouse, so it grows as she is lightened. Yaw inertia is that of a solid
    box, :math:`m (L^2 + B^2) / 12`; sway added mass is `sway_added_mass`
    without loss at the ends.
    """
    laden = as_array(displacement)
    density = as_array(water_density)
    long = given_or(length, _LENGTH(laden))
    wide = given_or(beam, _BEAM(laden))
    laden_draught = given_or(draught, laden / (density * long * wide * _BLOCK(laden)))
    laden_freeboard = given_or(freeboard, _FREEBOARD(laden))
    block = laden / (density * long * wide * laden_draught)
    light = LIGHT_SHARE.value * laden
    mass = light + as_array(loading) * (laden - light)
    deep = laden_draught * mass / laden
    depth_moulded = laden_draught + laden_freeboard
    side = depth_moulded - deep

    house = _DECKHOUSE_AREA(laden)
    hull_windage = long * side
    lateral = hull_windage + house
    centroid = (hull_windage * 0.5 * side + house * (side + 0.5 * DECKHOUSE_HEIGHT.value)) / lateral
    sway = sway_added_mass(long, wide, deep, density, factor=BARGE_FINITE_LENGTH.value)
    inside = (laden >= BARGE_FAMILY_RANGE[0]) & (laden <= BARGE_FAMILY_RANGE[1])
    fields = {
        "length": long,
        "beam": wide,
        "draught": deep,
        "laden_draught": laden_draught,
        "depth_moulded": depth_moulded,
        "freeboard": side,
        "block_coefficient": block,
        "displacement": mass,
        "laden_displacement": laden,
        "light_displacement": light,
        "lateral_windage": lateral,
        "frontal_windage": wide * (side + DECKHOUSE_HEIGHT.value * DECKHOUSE_WIDTH_SHARE.value),
        "windage_centroid_height": centroid,
        "lateral_windage_offset": 0.0,
        "wetted_surface": box_wetted_surface(long, wide, deep),
        "fitting_swl": given_or(fitting_swl, _FITTING_SWL(laden)),
        "yaw_inertia": mass * (long**2 + wide**2) / 12.0,
        "surge_added_mass": BARGE_SURGE_SHARE.value * mass,
        "sway_added_mass": sway,
        "yaw_added_inertia": yaw_added_inertia(sway, long),
        "out_of_family": ~(inside & beam_over_draught_in_range(wide, deep)),
    }
    return Barge(**common_shape(fields))


def barge_problems(barge: Barge) -> list[Misfit]:
    """Find particulars of the barge that do not belong together.

    Parameters
    ----------
    barge : Barge
        Any number of cases.

    Returns
    -------
    list of Misfit
        Only those found; empty for a sound barge.
    """
    return [
        *Misfit.outside(
            "block coefficient of the barge",
            barge.block_coefficient,
            BLOCK_COEFFICIENT_RANGE,
            why="displacement over density, length, beam and draught must be that of a hull; above 1 it cannot float",
            remedy="Correct barge.displacement, barge_length, barge_beam or barge_draught, or leave barge_draught out",
        ),
        *Misfit.outside(
            "length over beam of the barge",
            barge.length / barge.beam,
            SLENDERNESS_RANGE,
            why="cross-flow drag and strip theory need a hull that is long for her beam",
            remedy="Correct barge_length or barge_beam",
        ),
    ]
