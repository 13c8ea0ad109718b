"""Whole motions by Lagrange's equations, derived and loaded anew (`tests.lagrangian`), against the engine's.

The drives get the orders that the engine's master gave, open loop from the start to the end, nothing put back. All is
measured against the engine's own run, in its own steps:

- track: largest distance between the two routes, over the length of the way that the hull has gone
- heading: largest difference, over one radian or what the hull has turned, if that is more
- tension and contact: impulse, that is the integral over time; and root mean square of the difference over that of the
  load, at ends of ticks

All of them are within 0.1 % with the engine in eightfold steps. In its own steps all are but the last: a line that
snatches a hundredth of a second later is off by percents at that instant, which is the error of the step, within 0.5 %.
What is left has two reasons, and the last test but one shows that there are no others: the engine leaves out that the
forward added mass lies off her plane of symmetry while she is heeled, and it has the loss of pull by wash as a series
(0.2 % of a small force). Without these two the routes agree to 0.001 %.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.lagrangian import LagrangianRun, Replay, orders_of
from tests.one_case import columns_of
from toolkit.loads.wash import wash_on_barge
from toolkit.motion.lanes import Lanes, OrderRecord, record_orders
from toolkit.motion.layout import PARAMETER_ROW, REPORT_ROW, STATE_ROW, Parameters
from toolkit.motion.prepare import Prepared, prepare

Array = NDArray[np.float64]

WEATHER = {"wind_speed": 6.0, "wind_from": 250.0, "current_speed": 0.25, "current_to": 100.0}
CASES: dict[str, dict[str, Any]] = {
    "swing_pull": {"manoeuvre": "swing_pull", "displacement": 2e6, "target_angle": 60.0, **WEATHER},
    "swing_pull_athwart": {"manoeuvre": "swing_pull", "tug_attitude": "athwartships", "displacement": 2e6,
                           "target_angle": 60.0, **WEATHER},
    "swing_push": {"manoeuvre": "swing_push", "displacement": 2e6, "target_angle": 60.0, **WEATHER},
    "tow_ahead": {"manoeuvre": "tow_ahead", "displacement": 2e6, **WEATHER},
}  # fmt: skip
DURATION = 120.0
LIMIT = 0.001
LOAD_IN_OWN_STEPS = 0.005


@dataclasses.dataclass(frozen=True)
class EngineRun:
    """States, tension and contact of the engine's run at each tick."""

    states: Array
    tension: Array
    contact: Array

    def hull(self, name: str) -> Array:
        row = STATE_ROW._asdict()
        s = self.states
        heading = np.unwrap(np.arctan2(s[:, row[f"{name}_sine"]], s[:, row[f"{name}_cosine"]]))
        return np.column_stack([s[:, row[f"{name}_north"]], s[:, row[f"{name}_east"]], heading])


def engine_run(prepared: Prepared, record: OrderRecord, factor: int = 1) -> EngineRun:
    """The engine under the same orders, in finer steps if asked."""
    lanes = Lanes(prepared, [0], int(prepared.parameters[PARAMETER_ROW.steps_per_tick, 0]) * factor)
    states, loads = [], []
    for told in record.orders[0]:
        lanes.weigh()
        states.append(lanes.state[:, 0].copy())
        loads.append(lanes.report[[REPORT_ROW.tension, REPORT_ROW.contact], 0])
        lanes.orders[:, 0] = told
        lanes.integrate()
    tension, contact = np.array(loads).T
    return EngineRun(states=np.array(states), tension=tension, contact=contact)


def apart(engine: EngineRun, other: LagrangianRun) -> dict[str, float]:
    """Measures of the difference."""
    found = {}
    for name, theirs in (("barge", other.barge), ("tug", other.tug)):
        ours = engine.hull(name)
        way = np.hypot(*np.diff(ours[:, :2], axis=0).T).sum()
        found[f"{name} track"] = float(np.hypot(*(ours - theirs)[:, :2].T).max() / way)
        turned = ours[:, 2] - ours[0, 2]
        off = turned - (theirs[:, 2] - theirs[0, 2])
        found[f"{name} heading"] = float(np.abs(off).max() / max(1.0, np.ptp(turned)))
    for name in ("tension", "contact"):
        ours, theirs = getattr(engine, name), getattr(other, name)
        if ours.any():
            found[f"{name} load"] = float(np.sqrt(np.mean((ours - theirs) ** 2) / np.mean(ours**2)))
            found[f"{name} impulse"] = float(abs(theirs.sum() / ours.sum() - 1.0))
    return found


def wash_by_series(
    thrust: float, jet: tuple[float, float], between: tuple[float, float], p: Parameters
) -> tuple[float, float, float]:
    """The package's own wash on the barge."""
    return wash_on_barge(
        thrust, *jet, *between, p.barge_half_length, p.barge_half_beam, p.barge_draught, p.barge_wash, p.jet_spread,
        p.jet_radius,
    )  # fmt: skip


def prepared_and_record(name: str, **changes: float) -> tuple[Prepared, OrderRecord]:
    columns = columns_of(**CASES[name], time_limit=DURATION)
    prepared = prepare(columns)
    record = record_orders(prepared)
    parameters = prepared.parameters.copy()
    for row, value in changes.items():
        parameters[getattr(PARAMETER_ROW, row)] = value
    return dataclasses.replace(prepared, parameters=parameters), record


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_whole_motion_by_lagrange(name: str) -> None:
    prepared, record = prepared_and_record(name)
    engine = engine_run(prepared, record)
    np.testing.assert_array_equal(engine.states, record.states[0])  # it is the run as it was
    assert len(engine.states) > 100
    other = Replay(prepared).run(orders_of(record))
    assert np.ptp(np.degrees(engine.states[:, STATE_ROW.heel])) > 0.3
    measures = apart(engine, other)
    for what, value in measures.items():
        assert value < (LOAD_IN_OWN_STEPS if what.endswith("load") else LIMIT), measures
    finer = apart(engine_run(prepared, record, factor=8), other)
    for what, value in finer.items():
        assert value < LIMIT, (what, finer)
    heels = np.abs(other.heel - engine.states[:, STATE_ROW.heel])
    assert np.degrees(heels.max()) < 0.03, measures


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_nothing_is_left_but_the_added_mass_off_her_plane_and_the_series_for_wash(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tests.lagrangian.wash", wash_by_series)
    prepared, record = prepared_and_record(name, tug_resistance_height=0.0)
    engine = engine_run(prepared, record, factor=8)
    measures = apart(engine, Replay(prepared).run(orders_of(record)))
    for what, value in measures.items():
        assert value < (1e-3 if what.endswith("load") else 1e-5), measures


@pytest.mark.slow
def test_a_wrong_equation_shows() -> None:
    # Munk's moment a tenth too small in the engine's place: the barge's path tells within a minute
    prepared, record = prepared_and_record("tow_ahead")
    orders = orders_of(record)[:120]
    short = dataclasses.replace(record, orders=(orders,))
    right = apart(engine_run(prepared, short), Replay(prepared).run(orders, 1e-7))
    assert max(right["barge track"], right["tug track"]) < LIMIT
    parameters = prepared.parameters.copy()
    parameters[PARAMETER_ROW.tug_sway_mass] *= 0.9
    wrong = apart(
        engine_run(dataclasses.replace(prepared, parameters=parameters), short), Replay(prepared).run(orders, 1e-7)
    )
    assert max(wrong["barge heading"], wrong["tug heading"]) > 2.0 * LIMIT
