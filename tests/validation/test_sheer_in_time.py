"""Small sheers of a barge in tow, in time, against the eigenvalues of the linear criterion.

The engine's own right-hand side, with everything in it, behind a tug that is held on a straight course at a constant
speed, as the criterion assumes: her rates are set to nothing. The barge is a box of 60 x 16 x 3 m with raked ends.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

import toolkit
from tests.one_case import REFERENCE, TONNE_FORCE, Lane, columns_of
from toolkit.motion.layout import STATE_ROW, State
from toolkit.motion.prepare import prepare
from toolkit.motion.sheer import linear_growth_rate
from toolkit.quantities import Outcome

Array = NDArray[np.float64]

BARGE: dict[str, Any] = {
    **REFERENCE, "bow_drag_coefficient": 0.2, "wind_load_multiplier": 0.0, "manoeuvre": "tow_ahead",
}  # fmt: skip
SPEED = 1.8
HELD = [i for i, name in enumerate(State._fields) if not name.startswith(("barge", "turned"))]
SIZE = 1e-5
"""Heading of the barge off the course at the start [rad]; cross-flow drag is of the second order in it."""


def sheer_in_time(line: float, times: Array, **values: Any) -> Array:
    """Heading and offset of the barge [rad, m] at times, behind a tug held at `SPEED`; shape (2, times)."""
    lane = Lane(**BARGE, line_length=line, **values)
    row = lane.parameters()
    pull = SPEED * (row.barge_surge_linear + row.barge_surge_quadratic * SPEED)
    end = row.end
    reach = line + pull / row.line_stiffness
    lane.place("barge", 0.0, 0.0, 0.0).place("tug", end * (0.5 * 60.0 + reach) - row.tug_towing_x, 0.0, 0.0)
    lane.set(barge_surge=end * SPEED, barge_sway=0.0, tug_surge=end * SPEED, tug_sway=0.0)
    still = lane.rates()
    assert still.barge_surge * row.barge_surge_mass == pytest.approx(0.0, abs=2e-3 * pull)  # a steady tow
    lane.set(barge_cosine=math.cos(SIZE), barge_sine=math.sin(SIZE))

    def rates(time: float, y: Array) -> Array:
        found = lane.right_hand_side(time, y)
        found[HELD] = 0.0
        found[STATE_ROW.tug_north] = end * SPEED
        return found

    solution = solve_ivp(rates, (0.0, times[-1]), lane.s[:: len(lane.s) // len(State._fields)].copy(), t_eval=times,
                         method="RK45", rtol=1e-8, atol=1e-11, max_step=1.0)  # fmt: skip
    return np.asarray([solution.y[STATE_ROW.barge_sine], solution.y[STATE_ROW.barge_east]])


@cache
def growth(line: float, skegs: str, end: str) -> tuple[float, float]:
    """Growth rate of a sheer in time and by the criterion [1/s]."""
    values = {"skegs": skegs, "working_end": end}
    parameters = prepare(columns_of(**BARGE, line_length=line, **values)).parameters
    expected = float(linear_growth_rate(parameters, np.array([SPEED]))[0])
    times = np.arange(0.0, 451.0, 1.0)
    sheer = sheer_in_time(line, times, **values)
    # the slowest pair of roots after 150 s, when the others are gone: a fit of two damped waves, one of each phase
    y = sheer[0][times >= 150.0]
    order = np.stack([y[1:-1], y[:-2]], axis=1)
    (a, b), *_ = np.linalg.lstsq(order, y[2:], rcond=None)  # y(n+1) = a y(n) + b y(n-1)
    return float(np.log(np.abs(np.roots([1.0, -a, -b]))).max()), expected


@pytest.mark.parametrize("line", [40.0, 120.0])
@pytest.mark.parametrize(("skegs", "end"), [("none", "bow"), ("fitted", "bow"), ("fitted", "stern")])
def test_small_sheers_grow_and_die_at_the_rates_of_the_criterion(skegs: str, end: str, line: float) -> None:
    found, expected = growth(line, skegs, end)
    # 2 percent: the line stretches and sags a little; 0.4 percent is seen
    assert found == pytest.approx(expected, rel=0.02)
    assert bool(found < 0.0) is (skegs == "fitted" and end == "bow")


def test_tendencies_in_time() -> None:
    """Bare unstable, skegs stable, a longer line slower: as published, and as the criterion has it."""
    bare = [growth(line, "none", "bow")[0] for line in (40.0, 120.0)]
    assert bare[0] > bare[1] > 0.0


def test_whole_tows_sheer_as_the_criterion_says() -> None:
    """With a tug that steers herself: the sign, not the rate, for she gives way to the line."""
    ways = [("none", "bow"), ("fitted", "bow"), ("fitted", "stern"), ("none", "stern")]
    found = toolkit.evaluate(
        {**BARGE, "bollard_pull": 30 * TONNE_FORCE, "power_setting": 0.25, "line_length": 60.0, "time_limit": 3000.0,
         "skegs": [way[0] for way in ways], "working_end": [way[1] for way in ways], "tow_distance": 4000.0}
    )  # fmt: skip
    stable = found["course_growth_rate"].values < 0.0
    assert stable.tolist() == [False, True, False, False]
    assert (found["sheer_yaw"].values < 1.0).tolist() == stable.tolist()
    # skegs that lead: nobody goes on with that
    assert Outcome(int(found["outcome"][1])) is Outcome.completed
    assert Outcome(int(found["outcome"][2])) is Outcome.not_steady
