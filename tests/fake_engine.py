"""A model of formulas in place of the engine, and small studies, for tests of how studies are run."""

from __future__ import annotations

import os
import time
from typing import Any

import numpy as np

from toolkit.errors import StoreError
from toolkit.execution.layout import Model
from toolkit.quantities import DERIVED, INPUTS, OUTCOMES, Outcome, RangeFlag
from toolkit.study import Axis, Design, RunOptions, Study

TONNE_FORCE = 9806.65
KNOT = 1852.0 / 3600.0
PUSH = INPUTS["manoeuvre"].choices.index("swing_push")


def evaluate(columns: dict[str, Any]) -> dict[str, Any]:
    """Outcomes by formulas that use only what the manoeuvre uses, case by case."""
    pause = float(os.environ.get("FAKE_ENGINE_PAUSE", "0"))
    if pause:
        time.sleep(pause)
    match os.environ.get("FAKE_ENGINE_FAILURE"):
        case "death":
            os._exit(3)
        case "error":
            raise StoreError("basin.zarr: cannot be written.")
    count = len(columns["bollard_pull"])
    push = columns["manoeuvre"] == PUSH
    wind = columns["wind_speed"] * columns["gust_factor"] * np.cos(np.deg2rad(columns["wind_from"] - 240.0))
    current = columns["current_speed"] * np.cos(np.deg2rad(columns["current_to"]))
    force = columns["bollard_pull"] * columns["power_setting"]
    arm = np.where(push, columns["push_station"], 0.5 * np.sin(np.deg2rad(columns["lead_angle"])))
    time_to_turn = np.sqrt(columns["displacement"] / force / arm) * 100.0 + 3.0 * wind + 20.0 * current
    tension = np.where(push, np.nan, force * (1.1 + 2.0 / columns["line_length"]))
    code = np.where(time_to_turn > 400.0, int(Outcome.timed_out), int(Outcome.completed))
    turned = np.where(code == int(Outcome.timed_out), np.nan, time_to_turn)
    results: dict[str, Any] = {
        name: force / (number + 1.0) + time_to_turn for number, name in enumerate((*OUTCOMES, *DERIVED))
    }
    results.update(
        time_to_turn=turned,
        peak_tension=tension,
        peak_tension_3s=tension * 0.97,
        peak_contact_force=np.where(push, force, np.nan),
        outcome=code.astype(np.int64),
        range_flags=np.where(wind > 5.0, int(RangeFlag.drag_speed | RangeFlag.line_sag), 0).astype(np.int64),
        depth_ratio=np.full(count, 4.0),
    )
    return results


MODEL = Model(evaluate, "fa4e000000000000", "closed form, no steps")

AXES: dict[str, Any] = {
    "bollard_pull": np.array([10.0, 45.0]) * TONNE_FORCE,
    "displacement": np.array([300e3, 900e3]),
    "line_length": np.array([15.0, 30.0]),
    "wind_speed": np.array([0.0, 20.0]) * KNOT,
    "wind_from": np.arange(0.0, 360.0, 120.0),
    "manoeuvre": ("swing_pull", "swing_push"),
}
"""Axes of 96 cases in the invented Marrowby Basin."""


def study_of(
    axes: dict[str, Any] | None = None, *, cases_per_chunk: int = 30, title: str = "Marrowby Basin", **fixed: Any
) -> Study:
    """Grid over `axes` in dataset units, all else at the defaults of the register or as given."""
    swept = AXES if axes is None else axes
    return Study(
        title=title,
        source="marrowby.toml",
        axes=tuple(Axis(name=name, values=swept[name]) for name in INPUTS if name in swept),
        fixed={name: fixed.get(name, q.default) for name, q in INPUTS.items() if name not in swept},
        run=RunOptions(cases_per_chunk=cases_per_chunk),
    )


def samples_of(count: int = 64) -> Study:
    """Latin hypercube over pull, wind and manoeuvre."""
    return Study(
        title="Marrowby samples",
        source="samples.toml",
        axes=(
            Axis(name="bollard_pull", values=np.array([10.0, 60.0]) * TONNE_FORCE, kind="range", spacing="log"),
            Axis(name="wind_speed", values=np.array([0.0, 12.0]), kind="range"),
            Axis(name="manoeuvre", values=("swing_pull", "swing_push")),
        ),
        fixed={
            name: q.default for name, q in INPUTS.items() if name not in ("bollard_pull", "wind_speed", "manoeuvre")
        },
        design=Design(kind="latin_hypercube", samples=count),
        run=RunOptions(cases_per_chunk=20),
    )
