"""Balance of energy of a case: what every load gave or took, against what the hulls and the gear then have."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import compiled
from toolkit.loads.heel import beyond_deck_edge
from toolkit.loads.towline import static_tension
from toolkit.motion.batch import advance, rates_of_lanes
from toolkit.motion.contact import DEEPEST_CONTACT, END_FADE
from toolkit.motion.derivatives import derivatives
from toolkit.motion.lanes import Lanes
from toolkit.motion.layout import LANES, MEMORY_ROW, PARAMETER_ROW, STATE_ROW, Parameters, State
from toolkit.motion.legs import run_legs
from toolkit.motion.log import note_step
from toolkit.motion.powers import POWER, Power, line_reach, powers
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.setting import NO_SETTING, Setting

__all__ = ["TOLERANCE", "WORKS", "EnergyBalance", "energy_balance", "energy_of"]

Array = NDArray[np.float64]

TOLERANCE = 0.005
"""Largest imbalance of an ordinary case, over the gross work of her drives."""

STAGE_WEIGHTS = (1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0)
"""Of the classical method of Runge and Kutta, with which works are added up as positions are."""

WORKS = {
    "drives": "thrust of the tug's drives",
    "wash": "wash on the barge",
    "barge_water": "water on the barge",
    "tug_water": "water on the tug",
    "roll_damping": "roll damping of the tug",
    "barge_wind": "wind on the barge",
    "tug_wind": "wind on the tug",
    "berth": "berth on the barge",
    "line_loss": "lost in the line",
    "fender_loss": "lost in the fender",
    "shear": "hulls in other water, of a sheared current",
    "gear": "line let go, parted or made fast, between legs also fender",
}
"""What does work on the hulls, by name."""

STORES = {
    "barge": "motion of the barge with her added mass",
    "tug": "motion of the tug with her added mass, roll included",
    "righting": "heel of the tug against her righting lever",
    "line": "stretch of the line and sag of its weight",
    "fender": "compression of the fender",
}
"""What holds energy, by name."""


@dataclass(frozen=True, kw_only=True)
class EnergyBalance:
    """Balance of energy of one case, as seen from the water.

    Attributes
    ----------
    works : dict of str to float
        Work of each load on both hulls [J], names of `WORKS`; negative where it takes.
    start, end : dict of str to float
        Energy held at the start and at the end [J], names of `STORES`.
    gross : float
        Gross work of the drives: integral of the size of their power [J].
    duration : float
        Simulated time [s].
    final : ndarray, shape (rows of state,)
        State at the end.
    """

    works: Mapping[str, float]
    start: Mapping[str, float]
    end: Mapping[str, float]
    gross: float
    duration: float
    final: Array

    @property
    def gained(self) -> float:
        """Energy at the end less that at the start [J]."""
        return math.fsum(self.end.values()) - math.fsum(self.start.values())

    @property
    def imbalance(self) -> float:
        """Energy gained that no work accounts for [J]."""
        return self.gained - math.fsum(self.works.values())

    @property
    def share(self) -> float:
        """Size of the imbalance over the gross work of the drives; NaN where they did none."""
        return abs(self.imbalance) / self.gross if self.gross > 0.0 else math.nan


def energy_balance(columns: Columns, setting: Setting = NO_SETTING, *, factor: int = 1, plain: bool = False
                   ) -> EnergyBalance:  # fmt: skip
    """Run one case and add up the work of every load.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (1,)
        Every input of the register, as for `toolkit.motion.engine.evaluate_columns`.
    setting : Setting
        Edges of the basin, and the legs of a job, which are taken together.
    factor : int
        Steps over the engine's own; 1 repeats the run to the last bit.
    plain : bool
        Plain Python functions instead of compiled ones; slow, for tests.

    Returns
    -------
    EnergyBalance
        All nothing for a case aground, which is not run.

    Raises
    ------
    ValueError
        If `columns` does not hold exactly one case.

    Notes
    -----
    The change of energy is the work of the loads::

        d/dt [ 1/2 v' M v (both hulls, added mass and roll) + W int GZ dh + line + fender ] = sum of powers

    Energies are those seen from the water, so a current gives the hulls no
    energy by itself and wind and drives work on velocities through the water.
    Powers are weighed at every stage of the engine's own steps. What is left
    over shows any load that acts on one hull and not on the other, a moment
    that does not belong to its force, a term of the equations of motion that
    makes energy, and the error of the step: in eightfold steps it falls a
    hundredfold and more, to nothing but that error.
    """
    size = len(next(iter(columns.values())))
    if size != 1:
        raise ValueError(f"a balance is of one case, not of {size}")
    if setting.legs:
        return _together([_balance(run.prepared, setting, factor, plain) for run in run_legs(columns, setting)])
    return _balance(prepare(columns), setting, factor, plain)


def energy_of(state: State, p: Parameters) -> dict[str, float]:
    """Energy held in each place of `STORES` [J], by named rows of state and parameters."""
    arrays = np.zeros(len(STATE_ROW) * LANES), np.zeros(len(PARAMETER_ROW) * LANES)
    arrays[0][::LANES], arrays[1][::LANES] = state, p
    shared = p.tug_sway_added_mass * p.tug_resistance_height
    barge = p.barge_surge_mass * state.barge_surge**2 + p.barge_sway_mass * state.barge_sway**2
    tug = p.tug_surge_mass * state.tug_surge**2 + p.tug_sway_mass * state.tug_sway**2
    return {
        "barge": 0.5 * (barge + p.barge_yaw_inertia * state.barge_yaw**2),
        "tug": 0.5 * (tug + p.tug_yaw_inertia * state.tug_yaw**2 + p.tug_roll_inertia * state.heel_rate**2)
        + shared * state.tug_sway * state.heel_rate,
        "righting": p.tug_weight * _lever_area(abs(state.heel), p),
        "line": _line_energy(line_reach(*arrays, 0)[0] - p.line_length, p),
        "fender": _fender_energy(state, p),
    }


def _lever_area(heel: float, p: Parameters) -> float:
    """Area under the righting lever to an angle [m]."""
    inside = min(heel, p.lever_from)
    cosine = math.cos(inside)
    area = p.metacentric_height * (1.0 - cosine) + 0.5 * p.metacentric_radius * (1.0 / cosine + cosine - 2.0)
    if heel > inside:
        nodes, weights = np.polynomial.legendre.leggauss(6)
        middle = min(max(p.lever_top_angle, inside), heel)  # the curve has a new formula at its top
        for low, high in ((inside, middle), (middle, heel)):
            for node, weight in zip(nodes, weights, strict=True):
                at = 0.5 * (low + high + node * (high - low))
                area += 0.5 * (high - low) * weight * beyond_deck_edge(
                    at, p.deck_edge_angle, p.lever_at_edge, p.lever_slope_at_edge, p.lever_top, p.lever_top_angle,
                    p.vanishing_angle,
                )  # fmt: skip
    return float(area)


def _line_energy(stretch: float, p: Parameters) -> float:
    """Energy of stretch, less what the weight of the line has sunk by [J]; none without a line."""
    if p.line_stiffness <= 0.0:
        return 0.0
    tension = static_tension(stretch, p.line_stiffness, p.line_sag, p.line_sag_tension)
    sunk = 2.0 * p.line_sag / tension if tension > 0.0 else 0.0
    return float(0.5 * tension**2 / p.line_stiffness - sunk)


def _fender_energy(s: State, p: Parameters) -> float:
    """Energy of both fender points against the barge's side [J]."""
    cosine = s.tug_cosine * s.barge_cosine + s.tug_sine * s.barge_sine
    sine = s.tug_sine * s.barge_cosine - s.tug_cosine * s.barge_sine
    north, east = s.tug_north - s.barge_north, s.tug_east - s.barge_east
    held = 0.0
    for x, flank in ((p.fender_first_x, p.fender_first_y), (p.fender_second_x, p.fender_second_y)):
        y = flank * math.cos(s.heel) + p.fender_height * math.sin(s.heel)
        station = s.barge_cosine * north + s.barge_sine * east + cosine * x - sine * y
        offset = s.barge_cosine * east - s.barge_sine * north + sine * x + cosine * y
        compression = p.barge_half_beam - p.pushed_side * offset
        on_side = min(max((p.barge_half_length - abs(station)) / END_FADE, 0.0), 1.0)
        if 0.0 < compression < DEEPEST_CONTACT:
            held += 0.5 * on_side * p.fender_stiffness * compression**2
    return float(held)


def _of_the_first_lane(s: Array, p: Array, o: Array, d: Array, report: Array) -> None:
    """As `rates_of_lanes`, of the first lane alone."""
    derivatives(s, p, o, d, report, 0)


class _Metered(Lanes):
    """Lanes that add up the works in the first of them."""

    def __init__(self, prepared: Prepared, setting: Setting, factor: int, plain: bool) -> None:
        super().__init__(prepared, [0], int(prepared.parameters[PARAMETER_ROW.steps_per_tick, 0]) * factor, plain=plain)
        self._basin = setting.edges
        translate: Callable[[Any], Any] = (lambda function: function) if plain else compiled
        self._weigh = _of_the_first_lane if plain else compiled(rates_of_lanes)
        self._peaks = translate(note_step)
        self._advance, self._powers = translate(advance), translate(powers)
        self.now, self.sums, self.gear = np.zeros(len(POWER)), np.zeros(len(POWER)), 0.0

    def held(self) -> dict[str, float]:
        """Energy held now."""
        return energy_of(State(*self.state[:, 0].tolist()), Parameters(*self.parameters[:, 0].tolist()))

    def integrate(self) -> None:
        """Advance by one tick in the engine's own steps, and add up the work of every load."""
        self._trial[:] = self._s
        for _ in range(self.steps):
            for stage, weight in enumerate(STAGE_WEIGHTS):
                self._weigh(self._trial, self._p, self._o, self._d, self._report)
                if stage == 0:
                    self._peaks(self._s, self._p, self._m, self._report, 0)
                self._powers(self._trial, self._p, self.now, 0)
                self.sums += weight * self._h[0] * self.now
                self._advance(stage, self._s, self._d, self._total, self._trial, self._h)
        before = self.held()["line"]
        self.change_conditions()
        self.gear += self.held()["line"] - before
        self.weigh()


def _balance(prepared: Prepared, setting: Setting, factor: int, plain: bool) -> EnergyBalance:
    """Balance of the only case of some prepared ones."""
    if prepared.aground[0]:
        return EnergyBalance(works=dict.fromkeys(WORKS, 0.0), start=dict.fromkeys(STORES, 0.0),
                             end=dict.fromkeys(STORES, 0.0), gross=0.0, duration=0.0,
                             final=prepared.initial[:, 0].copy())  # fmt: skip
    lanes = _Metered(prepared, setting, factor, plain)
    start = lanes.held()
    lanes.weigh()
    lanes.look(0)
    while lanes.memory[MEMORY_ROW.outcome, 0] == 0.0:
        lanes.integrate()
        lanes.note(0)
        if lanes.memory[MEMORY_ROW.outcome, 0] == 0.0:
            lanes.look(0)
    works = dict(zip(Power._fields, map(float, lanes.sums), strict=True))
    gross = works.pop("drives_size")
    return EnergyBalance(
        works={**works, "gear": lanes.gear}, start=start, end=lanes.held(), gross=gross,
        duration=float(lanes.memory[MEMORY_ROW.time, 0]), final=lanes.state[:, 0].copy(),
    )  # fmt: skip


def _together(legs: Sequence[EnergyBalance]) -> EnergyBalance:
    """Balance of a job from those of its legs; what changes between two of them is the gear's."""
    works = {name: math.fsum(leg.works[name] for leg in legs) for name in WORKS}
    for before, after in pairwise(legs):
        works["gear"] += math.fsum(after.start.values()) - math.fsum(before.end.values())
    return EnergyBalance(
        works=works, start=legs[0].start, end=legs[-1].end, gross=math.fsum(leg.gross for leg in legs),
        duration=math.fsum(leg.duration for leg in legs), final=legs[-1].final,
    )  # fmt: skip
