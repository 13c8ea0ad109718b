"""Every kernel as plain Python, where coverage can see it: whole runs looked at, ordered and judged so.

Lanes are advanced by the compiled integrator, for the plain one takes minutes; everything at a tick (look, order,
judgement, log, conditions) is the plain function, and so is one right-hand side a tick. A short batch goes through
plain Python from end to end. `DEVELOPERS.md`, section 9, has the command that measures coverage with these tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.many_cases import many_cases
from toolkit.kernels import compiled
from toolkit.motion.batch import CHANNELS, rates_of_lanes, run_batch, step_lanes, workplace
from toolkit.motion.derivatives import derivatives
from toolkit.motion.engine import run_prepared
from toolkit.motion.lanes import Lanes
from toolkit.motion.layout import LANES, MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.manoeuvres import manoeuvre_of
from toolkit.motion.powers import POWER, powers
from toolkit.motion.prepare import Prepared, prepare
from toolkit.motion.setting import NO_SETTING, Setting
from toolkit.quantities import INPUTS, Outcome

Columns = dict[str, NDArray[Any]]
LONGEST = 420.0
"""Simulated time of the cases [s]."""


class PlainLooks(Lanes):
    """Lanes in which all but the integrator is plain Python."""

    def __init__(self, prepared: Prepared, count: int, edges: NDArray[np.float64]) -> None:
        steps = int(prepared.parameters[PARAMETER_ROW.steps_per_tick].max())
        super().__init__(prepared, range(count), steps, plain=True)
        self._step, self._rates_of_lanes = compiled(step_lanes), compiled(rates_of_lanes)
        self._basin = edges
        self._power = np.zeros(len(POWER))

    def plain_right_hand_side(self, k: int) -> None:
        """One right-hand side, and the powers, in plain Python; it must tell what the compiled one told."""
        rates, report = self.rates[:, k].copy(), self.report[:, k].copy()
        derivatives(*self.arguments, k)
        powers(self._s, self._p, self._power, k)
        for found, wanted in ((self.rates[:, k], rates), (self.report[:, k], report)):
            assert np.abs(found - wanted).max() <= 1e-9 * (1.0 + np.abs(wanted).max())
        assert np.isfinite(self._power).all()


def run_plainly(columns: Columns, setting: Setting = NO_SETTING) -> NDArray[np.float64]:
    """Memories at the end of at most `LANES` cases."""
    prepared = prepare(columns)
    count = prepared.parameters.shape[1]
    lanes = PlainLooks(prepared, count, setting.edges)
    lanes.weigh()
    running = set(range(count))
    for k in range(count):
        lanes.look(k)
    tick = 0
    while running:
        lanes.integrate()
        tick += 1
        for k in sorted(running):
            if tick % 8 == 1:
                lanes.plain_right_hand_side(k)
            lanes.note(k)
            if lanes.memory[MEMORY_ROW.outcome, k] == 0.0:
                lanes.look(k)
            else:
                running.discard(k)
    return lanes.memory[:, :count].copy()


def codes(name: str, *words: str) -> NDArray[np.int64]:
    return np.array([INPUTS[name].choices.index(word) for word in words])


def cases_of(seed: int, **changes: Any) -> Columns:
    """A lane each: drawn at random, with what is given changed."""
    count = max((len(np.atleast_1d(values)) for values in changes.values()), default=LANES)
    columns = many_cases(count, seed=seed, time_limit=LONGEST, power_setting=0.6, water_depth=20.0)
    unknown = changes.keys() - columns.keys()
    assert not unknown, unknown
    return columns | {name: np.resize(np.asarray(values), count) for name, values in changes.items()}


SWINGS = cases_of(
    5, manoeuvre=np.arange(16) % 2, tug_type=np.arange(16) // 2 % 3, tug_attitude=np.arange(16) // 4 % 2,
    displacement=np.linspace(3e5, 3e6, 16), target_angle=np.linspace(15.0, 90.0, 16), draw_seed=np.full(16, 4.0),
    line_arrangement=np.arange(16) // 3 % 2, making_fast=np.arange(16) // 5 % 2,
    gust_intensity=np.where(np.arange(16) % 3, 0.0, 0.5), line_length=np.linspace(15.0, 60.0, 16),
)  # fmt: skip
TOWS = cases_of(
    6, manoeuvre=codes("manoeuvre", *["tow_ahead"] * 4, *["check_way"] * 6, *["walk"] * 3, *["shift"] * 3),
    tug_type=np.array([0, 1, 2, 0, 0, 1, 2, 0, 1, 0, 0, 1, 2, 0, 1, 2]), start_speed=np.linspace(0.4, 2.0, 16),
    check_from=np.arange(16) % 2, making_fast=np.arange(16) // 2 % 2, skegs=np.arange(16) % 2, displacement=6e5,
    tow_distance=np.full(16, 60.0), station_from=np.arange(16) % 8, station_to=(np.arange(16) + 3) % 8,
    make_fast_time=np.where(np.arange(16) % 2, 5.0, 0.0), tug_attitude=0,
)  # fmt: skip
BERTHS = cases_of(
    7, manoeuvre=codes("manoeuvre", *["side_push"] * 8, *["hold"] * 8), side_way=np.arange(16) % 2,
    making_fast=np.arange(16) // 2 % 2, tug_attitude=np.arange(16) // 4 % 2, displacement=8e5, hold_time=60.0,
    tug_type=np.arange(16) % 3, berth_gap=np.where(np.arange(16) < 8, 8.0, np.where(np.arange(16) % 2, 0.0, 200.0)),
    wind_speed=np.linspace(0.0, 12.0, 16), front_factor=np.where(np.arange(16) % 4 == 3, 2.0, 1.0), front_time=30.0,
)  # fmt: skip
FAILURES = cases_of(
    8, manoeuvre=np.array([0, 1, 2, 3] * 4), failure=np.resize(np.arange(9), 16), failure_time=20.0, restart_time=30.0,
    watch_time=60.0, fault_duration=15.0, release_heel_fraction=np.where(np.arange(16) % 4 == 0, 0.1, np.nan),
    tug_attitude=np.arange(16) // 2 % 2, start_speed=1.5, bollard_pull=np.linspace(2e5, 7e5, 16), power_setting=1.0,
    current_shear=np.where(np.arange(16) % 2, 0.001, 0.0), displacement=1e6, tug_type=np.arange(16) // 4 % 3,
)  # fmt: skip
STRONG = cases_of(
    9, manoeuvre=np.array([0, 2, 0, 2, 0, 2, 3, 0]), tug_attitude=1, bollard_pull=7e5, power_setting=1.0,
    start_speed=2.0, displacement=3e6, tug_type=0,
    metacentric_height=np.array([0.4, 0.4, 0.3, 0.5, 0.35, 2.0, 0.3, 2.0]),
    greatest_righting_lever=np.where(np.arange(8) % 2, np.nan, 0.12), greatest_lever_angle=25.0, vanishing_angle=45.0,
    line_mbl=np.where(np.arange(8) >= 5, 1.2e5, np.nan), line_material=1,
)  # fmt: skip
ALL = {"swings": SWINGS, "tows": TOWS, "berths": BERTHS, "failures": FAILURES, "strong": STRONG}
BASIN = Setting(edges=np.array([
    [-55.0, -60.0, 55.0, -60.0, 0.0], [55.0, -60.0, 55.0, 60.0, 0.0], [55.0, 60.0, -55.0, 60.0, 0.0],
    [-55.0, 60.0, -55.0, -60.0, 0.0],
    [70.0, 0.0, 80.0, 10.0, 1.0], [80.0, 10.0, 80.0, 0.0, 1.0], [80.0, 0.0, 70.0, 0.0, 1.0],
]))  # fmt: skip
"""A small basin, and a shoal outside of it."""


@pytest.mark.slow
@pytest.mark.parametrize("name", ALL)
def test_plain_looks_judgements_and_logs_come_to_what_the_engine_comes_to(name: str) -> None:
    columns = ALL[name]
    plain = run_plainly(columns)
    wanted, _ = run_prepared(prepare(columns))
    same = plain[MEMORY_ROW.outcome] == wanted[MEMORY_ROW.outcome]
    # a steered tug magnifies rounding, so one case in eight may end another way
    assert same.mean() >= 0.85, (plain[MEMORY_ROW.outcome], wanted[MEMORY_ROW.outcome])
    ends = np.isclose(plain[MEMORY_ROW.time], wanted[MEMORY_ROW.time], rtol=0.1, atol=5.0)
    assert ends[same].mean() >= 0.8, (plain[MEMORY_ROW.time], wanted[MEMORY_ROW.time])


@pytest.mark.slow
def test_plain_cases_meet_the_edges_of_a_basin() -> None:
    plain = run_plainly(SWINGS, BASIN)
    assert (plain[MEMORY_ROW.outcome] == float(Outcome.edge_met)).any()
    assert (plain[MEMORY_ROW.least_clearance] < 60.0).all()


@pytest.mark.parametrize("code", [0, 5])
def test_plain_batch_from_end_to_end(code: int) -> None:
    columns = cases_of(
        3, manoeuvre=np.full(LANES + 1, code), time_limit=10.0, tug_type=np.arange(LANES + 1) % 3,
        gust_intensity=np.where(np.arange(LANES + 1) % 2, 0.3, 0.0), draw_seed=1.0,
    )  # fmt: skip
    some = {name: values[: LANES + 1] for name, values in columns.items()}
    prepared = prepare(some)
    prepared.parameters[PARAMETER_ROW.time_limit] = 1.0
    found = [np.zeros((len(rows), LANES + 1)) for rows in (MEMORY_ROW, STATE_ROW)]
    history = np.full((CHANNELS, 5), np.nan)
    manoeuvre = manoeuvre_of(prepared.parameters[PARAMETER_ROW.manoeuvre, 0])
    worked = run_batch(
        prepared.initial, prepared.parameters, prepared.gusts, NO_SETTING.edges, *found, history, *workplace(),
        manoeuvre.look, manoeuvre.judge,
    )  # fmt: skip
    wanted = run_prepared(prepared)
    assert worked >= LANES * 10
    for plain, engine in zip(found, wanted, strict=True):
        np.testing.assert_allclose(plain, engine, rtol=1e-9, atol=1e-9 * (1.0 + np.abs(engine).max()))
    assert np.isfinite(history[:, 0]).all()
