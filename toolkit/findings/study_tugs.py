"""The tugs of a study, with what a stability rule needs to know of them (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from toolkit.findings.display import display_text
from toolkit.motion.layout import Parameters
from toolkit.motion.prepare import prepare
from toolkit.particulars import ducted_power
from toolkit.quantities import INPUTS
from toolkit.rules.righting import RightingCurve, three_number_curve, wall_sided_curve
from toolkit.study import Study

__all__ = ["DECISIVE_INPUTS", "MOST_TUGS", "StudyTug", "tugs_of"]

DECISIVE_INPUTS: tuple[str, ...] = (
    "bollard_pull", "tug_type", "tug_length", "tug_beam", "tug_draught", "tug_displacement", "tug_freeboard",
    "metacentric_height", "towing_point_height", "tug_towing_station", "greatest_righting_lever",
    "greatest_lever_angle", "vanishing_angle", "tug_attitude", "water_density",
)  # fmt: skip
"""Inputs that make another tug, or another way of towing, in the eyes of a stability rule."""

MOST_TUGS = 60
"""Tugs that are listed; of a study with more an even selection is."""


@dataclass(frozen=True, kw_only=True)
class StudyTug:
    """A tug as a stability rule sees her; SI and radians.

    Attributes
    ----------
    number : int
        Number in the table, from 1.
    label : str
        The values of swept inputs that tell her from the others.
    place : mapping of str to int
        Her place on each swept axis, or on ``case`` in a sampled design.
    drive : str
        Word of ``tug_type``.
    bollard_pull : float
        Certified [N].
    displacement : float
        [kg].
    length, beam, draught, freeboard : float
        [m].
    metacentric_height, metacentric_radius : float
        [m].
    deck_edge : float
        [rad].
    towing_height : float
        Towing point above the waterline [m].
    towing_x, drive_x : float
        Towing point and drives forward of midships [m].
    drive_depth : float
        Axis of the drives below the waterline [m].
    propeller_diameter : float
        [m].
    shaft_power : float
        Of one drive, from its bollard thrust [W].
    water_density : float
        [kg m-3].
    curve : RightingCurve
        As the study gives it: upright sides to the deck edge, or three numbers of a full curve beyond.
    """

    number: int
    label: str
    place: Mapping[str, int]
    drive: str
    bollard_pull: float
    displacement: float
    length: float
    beam: float
    draught: float
    freeboard: float
    metacentric_height: float
    metacentric_radius: float
    deck_edge: float
    towing_height: float
    towing_x: float
    drive_x: float
    drive_depth: float
    propeller_diameter: float
    shaft_power: float
    water_density: float
    curve: RightingCurve

    @property
    def thrust_height(self) -> float:
        """Towing point above the axis of the drives [m]."""
        return self.towing_height + self.drive_depth


def _places(study: Study) -> list[dict[str, int]]:
    """Places of the tugs on the axes that tell them apart; an even selection where there are too many."""
    if not study.design.is_grid:
        decisive = any(axis.name in DECISIVE_INPUTS for axis in study.axes)
        count = study.size if decisive else 1
        chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_TUGS)).astype(np.int64))
        return [{"case": int(case)} for case in chosen]
    axes = [axis for axis in study.axes if axis.name in DECISIVE_INPUTS]
    every = list(np.ndindex(*[len(axis) for axis in axes]))
    chosen = np.unique(np.linspace(0, len(every) - 1, min(len(every), MOST_TUGS)).astype(np.int64))
    return [{axis.name: int(at) for axis, at in zip(axes, every[number], strict=True)} for number in chosen]


def _case(study: Study, place: Mapping[str, int]) -> int:
    """A case of the study with a tug at this place."""
    if not study.design.is_grid:
        return place["case"]
    return int(np.ravel_multi_index([place.get(name, 0) for name in study.dims], study.shape)) if study.dims else 0


def tugs_of(study: Study) -> list[StudyTug]:
    """List the tugs of a study that differ in the eyes of a stability rule.

    Parameters
    ----------
    study : Study
        A checked study.

    Returns
    -------
    list of StudyTug
        `MOST_TUGS` at most, in the order of the study's axes.
    """
    places = _places(study)
    columns = study.columns([_case(study, place) for place in places])
    prepared = prepare(columns)
    tug = prepared.tug
    towing_x = prepared.parameters[Parameters._fields.index("tug_towing_x")]
    told = [axis.name for axis in study.axes if axis.name in DECISIVE_INPUTS]
    power = ducted_power(0.5 * columns["bollard_pull"], tug.propeller_diameter, columns["water_density"])
    found = []
    for i, place in enumerate(places):
        given: dict[str, Any] = {name: columns[name][i] for name in columns}
        drive = INPUTS["tug_type"].choices[int(given["tug_type"])]
        found.append(
            StudyTug(
                number=i + 1,
                label=", ".join(_words(name, given[name]) for name in told) or "the study's tug",
                place=place,
                drive=drive,
                bollard_pull=float(given["bollard_pull"]),
                displacement=float(tug.displacement[i]),
                length=float(tug.length[i]),
                beam=float(tug.beam[i]),
                draught=float(tug.draught[i]),
                freeboard=float(tug.freeboard[i]),
                metacentric_height=float(tug.metacentric_height[i]),
                metacentric_radius=float(tug.metacentric_radius[i]),
                deck_edge=float(tug.deck_edge_angle[i]),
                towing_height=float(tug.towing_point_height[i]),
                towing_x=float(towing_x[i]),
                drive_x=float(tug.drive_x[i]),
                drive_depth=float(tug.drive_depth[i]),
                propeller_diameter=float(tug.propeller_diameter[i]),
                shaft_power=float(power[i]),
                water_density=float(given["water_density"]),
                curve=_curve(given, float(tug.metacentric_height[i]), float(tug.metacentric_radius[i]),
                             float(tug.deck_edge_angle[i])),
            )
        )  # fmt: skip
    return found


def _words(name: str, value: Any) -> str:
    quantity = INPUTS[name]
    return display_text(name, quantity.choices[int(value)] if quantity.is_choice else float(value))


def _curve(given: Mapping[str, Any], metacentric_height: float, radius: float, deck_edge: float) -> RightingCurve:
    """Righting curve that the study itself gives."""
    numbers = [
        float(given.get(name, math.nan))
        for name in ("greatest_righting_lever", "greatest_lever_angle", "vanishing_angle")
    ]
    if any(math.isnan(number) for number in numbers):
        return wall_sided_curve(metacentric_height, radius, deck_edge)
    top, top_angle, vanishing = numbers
    return three_number_curve(
        metacentric_height, radius, deck_edge, top, math.radians(top_angle), math.radians(vanishing)
    )  # fmt: skip
