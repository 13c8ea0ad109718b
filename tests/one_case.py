"""One case in a lane of the kernel, run as plain Python, so that its right-hand side can be looked at and altered."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.derivatives import derivatives
from toolkit.motion.layout import LANES, ORDER, REPORT, STATE, P, Parameters, State
from toolkit.motion.prepare import prepare
from toolkit.quantities import INPUTS

Array = NDArray[np.float64]

WAYS = [
    (manoeuvre, attitude, tug)
    for manoeuvre in ("swing_pull", "swing_push")
    for attitude in INPUTS["tug_attitude"].choices
    for tug in ("tractor", "azimuth_stern_drive")
]
"""Both ways to swing, every way of lying, both types of azimuth tug."""

REFERENCE: dict[str, Any] = {"displacement": 2656.8e3, "barge_length": 60.0, "barge_beam": 16.0, "barge_draught": 3.0}
"""A box of 60 x 16 x 3 m, block coefficient 0.90, that the closed forms were worked out for."""

TONNE_FORCE = 9806.65


def table(**values: Any) -> dict[str, Any]:
    """Table of cases for `toolkit.evaluate` with one row for each of `WAYS`."""
    names = ("manoeuvre", "tug_attitude", "tug_type")
    return {**{name: [way[i] for way in WAYS] for i, name in enumerate(names)}, **values}


def columns_of(**values: Any) -> dict[str, NDArray[Any]]:
    """Columns of one case: inputs in dataset units, choices as words, the rest at their defaults."""
    unknown = values.keys() - INPUTS.keys()
    assert not unknown, unknown
    columns: dict[str, NDArray[Any]] = {}
    for name, quantity in INPUTS.items():
        value = values.get(name, quantity.default)
        if quantity.is_choice:
            columns[name] = np.array([quantity.choices.index(str(value))])
        else:
            columns[name] = np.array([float(value)])
    return columns


class Lane:
    """The first lane of the kernel's arrays with one case in it, as it starts but with the drives stopped.

    State, orders and parameters can be set by name.
    """

    def __init__(self, **values: Any) -> None:
        prepared = prepare(columns_of(**values))
        self.s, self.d = np.zeros(len(STATE) * LANES), np.zeros(len(STATE) * LANES)
        self.p, self.o = np.zeros(len(P) * LANES), np.zeros(len(ORDER) * LANES)
        self.report = np.zeros(len(REPORT) * LANES)
        self.s[::LANES] = prepared.initial[:, 0]
        self.p[::LANES] = prepared.parameters[:, 0]
        self.thrust(0.0, 0.0)
        self.without("weight")  # of the line, which else draws the hulls together

    def set(self, **values: float) -> Lane:
        """Set rows of the state or of the parameters."""
        for name, value in values.items():
            if name in State._fields:
                self.s[getattr(STATE, name)] = value
            else:
                self.p[getattr(P, name)] = value
        return self

    def place(self, hull: str, north: float, east: float, heading: float) -> Lane:
        """Put a hull, `barge` or `tug`, at a place and heading [m, m, rad]."""
        return self.set(**{f"{hull}_north": north, f"{hull}_east": east,
                           f"{hull}_cosine": np.cos(heading), f"{hull}_sine": np.sin(heading)})  # fmt: skip

    def thrust(self, thrust: float, direction: float) -> Lane:
        """Let both drives give a thrust [N] in a direction clockwise from the tug's bow [rad], as ordered."""
        for side in ("starboard", "port"):
            rows = {f"thrust_{side}": thrust, f"{side}_cosine": np.cos(direction), f"{side}_sine": np.sin(direction)}
            self.set(**rows)
            for row, value in rows.items():
                self.o[getattr(ORDER, row)] = value
        return self

    def without(self, *kinds: str) -> Lane:
        """Switch kinds of load off: `water`, `air`, `damping` of line and fender, `friction`,
        `weight` of the line, `added` mass.
        """
        rows = {
            "water": ("barge_cross_flow", "barge_surge_linear", "barge_surge_quadratic", "tug_cross_flow",
                      "tug_surge_linear", "tug_surge_quadratic", "tug_lift_aft", "tug_lift_fore", "tug_roll_damping",
                      "barge_sway_by_sway",
                      "barge_sway_by_yaw", "barge_yaw_by_sway", "barge_yaw_by_yaw", "barge_skeg"),
            "wash": ("barge_wash",),
            "air": ("barge_wind_lateral", "barge_wind_frontal", "tug_wind_lateral", "tug_wind_frontal"),
            "damping": ("line_loss_time", "fender_loss_time"),
            "friction": ("fender_friction",),
            "weight": ("line_sag", "line_sag_tension"),
            "added": ("tug_sway_added_mass", "tug_surge_added_mass"),
        }  # fmt: skip
        return self.set(**{row: 0.0 for kind in kinds for row in rows[kind]})

    def parameters(self) -> Parameters:
        """Values of the parameters by name."""
        return Parameters(*(float(value) for value in self.p[::LANES]))

    def state(self) -> State:
        """Values of the state by name."""
        return State(*(float(value) for value in self.s[::LANES]))  # type: ignore[arg-type]

    def rates(self) -> State:
        """Rates of the state by name, by the engine's right-hand side."""
        derivatives(self.s, self.p, self.o, self.d, self.report, 0)
        return State(*(float(value) for value in self.d[::LANES]))  # type: ignore[arg-type]

    def reported(self, name: str) -> float:
        """What the last right-hand side reports."""
        return float(self.report[getattr(REPORT, name)])

    def right_hand_side(self, _time: float, y: Array) -> Array:
        """Right-hand side for `scipy.integrate.solve_ivp`."""
        self.s[::LANES] = y
        derivatives(self.s, self.p, self.o, self.d, self.report, 0)
        return self.d[::LANES].copy()
