"""Side push and hold, drawn at random: whatever happens, the outcomes are in their bounds and say what they should."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.many_cases import many_cases
from toolkit.motion.engine import evaluate_columns
from toolkit.quantities import INPUTS, Outcome

COUNT = 240
SIDE_PUSH = ("time_to_berth", "contact_speed", "contact_angle", "berthing_energy", "drift_along_berth")
HOLD = ("held_share", "mean_power_held")


def drawn(manoeuvre: str, seed: int) -> dict[str, NDArray[Any]]:
    draw = np.random.default_rng(seed)
    code = INPUTS["manoeuvre"].choices.index(manoeuvre)
    return many_cases(COUNT, seed=seed, manoeuvre=code, time_limit=900.0) | {
        "displacement": np.exp(draw.uniform(np.log(2e5), np.log(8e6), COUNT)),
        "tug_type": draw.integers(0, 3, COUNT),
        "tug_attitude": draw.integers(0, 2, COUNT),
        "making_fast": draw.integers(0, 2, COUNT),
        "side_way": draw.integers(0, 2, COUNT),
        "berth_gap": draw.uniform(0.0, 40.0, COUNT),
        "initial_heading": draw.uniform(0.0, 360.0, COUNT),
        "gust_intensity": draw.uniform(0.0, 1.0, COUNT),
        "hold_time": draw.uniform(30.0, 400.0, COUNT),
    }


@pytest.mark.parametrize("seed", [1, 2])
def test_side_push(seed: int) -> None:
    columns = drawn("side_push", seed)
    found = evaluate_columns(columns)
    done = found["outcome"] == Outcome.completed
    onto = columns["side_way"] == INPUTS["side_way"].choices.index("onto")
    assert done.mean() > 0.6
    assert not np.isin(found["outcome"], (Outcome.not_run, Outcome.not_converged, Outcome.not_held)).any()
    for name in SIDE_PUSH:
        expected = done if name in ("time_to_berth", "drift_along_berth") else done & onto
        np.testing.assert_array_equal(np.isfinite(found[name]), expected, err_msg=name)
    assert np.all(found["time_to_berth"][done] <= found["end_time"][done])
    touched = done & onto
    assert np.all(found["contact_speed"][touched] > -1e-9)
    assert np.all((found["contact_angle"][touched] >= 0.0) & (found["contact_angle"][touched] <= 90.0))
    # never more than all of her mass and the water's, never less than a corner takes
    whole = 0.5 * 1.8 * found["displacement_as_loaded"] * found["contact_speed"] ** 2
    assert np.all(found["berthing_energy"][touched] <= whole[touched] * (1.0 + 1e-9))
    assert np.all(found["berthing_energy"][touched] >= 0.1 * whole[touched])
    assert np.isnan(found["held_share"]).all()


@pytest.mark.parametrize("seed", [1, 2])
def test_hold(seed: int) -> None:
    columns = drawn("hold", seed)
    found = evaluate_columns(columns)
    held, not_held = found["outcome"] == Outcome.completed, found["outcome"] == Outcome.not_held
    assert held.sum() > 20 and not_held.sum() > 20
    whole = held | not_held
    for name in HOLD:
        values = found[name][np.isfinite(found[name])]
        assert np.isfinite(found[name][whole]).all()
        assert np.all((values >= 0.0) & (values <= 1.0 + 1e-12)), name
    assert np.all(found["held_share"][held] == 1.0)
    assert np.all(found["held_share"][not_held] < 1.0)
    assert np.isnan(found["time_to_berth"]).all()
