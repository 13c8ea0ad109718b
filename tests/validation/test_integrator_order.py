"""Order of the integrator, where nothing hinders it: no snatch, no order, no velocity that changes its sign."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.one_case import columns_of
from toolkit.motion.lanes import Lanes
from toolkit.motion.layout import PARAMETER_ROW, REPORT_ROW, STATE_ROW, Order
from toolkit.motion.manoeuvres.swing_pull import SLACK_AT_START
from toolkit.motion.prepare import Prepared, prepare

STEPS = (4, 6, 9, 13)
"""Steps a tick: 0.125 to 0.038 s."""
TICKS = 14
TAUT_SHARE = 0.4
"""Tension at the start over the pull, near what it swings about while tug and barge get under way together."""

Array = NDArray[np.float64]

CASES = {
    # on a slack line with drives idle, in wind and current
    "adrift": {"line_length": 60.0, "wind_speed": 9.0, "wind_from": 250.0, "current_speed": 0.6, "current_to": 200.0},
    # a steady pull on a line that is taut throughout
    "towing": {
        "line_material": "nylon",
        "wind_speed": 8.0,
        "wind_from": 300.0,
        "current_speed": 0.5,
        "current_to": 330.0,
    },
}


def lanes_under_way(prepared: Prepared, steps: int, pull: float) -> Lanes:
    """Lanes with the drives on orders of `pull` times full thrust ahead, and the line stretched to match."""
    lanes = Lanes(prepared, [0], steps)
    if pull > 0.0:
        thrust = pull * lanes.parameters[PARAMETER_ROW.unit_thrust]
        ahead = {"thrust_starboard": thrust, "starboard_cosine": 1.0, "starboard_sine": 0.0}
        ahead |= {"thrust_port": thrust, "port_cosine": 1.0, "port_sine": 0.0}
        for row, value in ahead.items():
            lanes.state[getattr(STATE_ROW, row)] = value
            lanes.orders[Order._fields.index(row)] = value
        away = (1.0 - SLACK_AT_START) * lanes.parameters[PARAMETER_ROW.line_length]
        away += TAUT_SHARE * 2.0 * thrust / lanes.parameters[PARAMETER_ROW.line_stiffness]
        lanes.state[STATE_ROW.tug_north] += away * lanes.state[STATE_ROW.tug_cosine]
        lanes.state[STATE_ROW.tug_east] += away * lanes.state[STATE_ROW.tug_sine]
    return lanes


def state_after(prepared: Prepared, steps: int, pull: float) -> Array:
    lanes = lanes_under_way(prepared, steps, pull)
    taut = []
    for _ in range(TICKS):
        lanes.integrate()
        taut.append(lanes.report[REPORT_ROW.tension, 0] > lanes.parameters[PARAMETER_ROW.line_slack, 0])
    assert all(taut) if pull > 0.0 else not any(taut)
    return lanes.state[:, 0].copy()


@pytest.mark.parametrize(("case", "pull"), [("adrift", 0.0), ("towing", 0.2)])
def test_error_falls_with_the_fourth_power_of_the_step(case: str, pull: float) -> None:
    prepared = prepare(columns_of(**CASES[case]))
    reference = state_after(prepared, 160, pull)
    rows = [STATE_ROW.barge_yaw, STATE_ROW.barge_sway, STATE_ROW.tug_surge, STATE_ROW.tug_yaw, STATE_ROW.heel]
    errors = [np.linalg.norm((state_after(prepared, n, pull) - reference)[rows]) for n in STEPS]
    slope = -np.polyfit(np.log(STEPS), np.log(errors), 1)[0]
    assert slope == pytest.approx(4.0, abs=0.2), errors
