"""A push with a line besides: the tug checks a swing by hauling where she is, instead of going to the other end."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.one_case import REFERENCE, TONNE_FORCE, Lane, columns_of
from tests.stacked import endings, run, stacked
from toolkit.motion.history import case_history
from toolkit.motion.manoeuvres.alongside import PUSH_SLACK
from toolkit.motion.phases import CHECK, SHIFT
from toolkit.motion.prepare import prepare
from toolkit.quantities import INPUTS

BASE: dict[str, Any] = {"manoeuvre": "swing_push", "bollard_pull": 30 * TONNE_FORCE, **REFERENCE}
TUGS = ("tractor", "azimuth_stern_drive")


def check_taken(**values: Any) -> tuple[float, float]:
    """From the decision to check until the tug does: time [s], and angle left to turn at the decision [degree]."""
    history, _ = case_history(columns_of(**{**BASE, **values}))
    phase = history["phase"]
    decided = int(np.flatnonzero((phase == SHIFT) | (phase == CHECK))[0])
    on_line = np.isfinite(history["line_tension"]).any()
    force = history["line_tension"] if on_line else history["contact_force"]
    # the line's own weight does not count
    at_work = np.flatnonzero((np.arange(len(phase)) > decided) & (phase == CHECK) & (force > 0.3 * TONNE_FORCE))
    return float(history["time"][at_work[0]] - history["time"][decided]), 180.0 - float(
        history["angle_turned"][decided]
    )


@pytest.mark.parametrize("tug", TUGS)
@pytest.mark.parametrize("length", [6.0, 15.0])
def test_she_checks_sooner_and_decides_later(tug: str, length: float) -> None:
    waits, left = check_taken(tug_type=tug, making_fast="one_way")
    sooner, later = check_taken(tug_type=tug, making_fast="push_pull", line_length=length)
    assert sooner < 0.5 * waits
    assert later < left - 15.0


def test_a_swing_is_completed_with_sane_heel_and_tension() -> None:
    cases = [{**BASE, "making_fast": "push_pull", "tug_type": tug, "line_length": length, "wind_speed": wind,
              "wind_from": 40.0} for tug in TUGS for length in (6.0, 15.0, 30.0) for wind in (0.0, 6.0)]  # fmt: skip
    found = run(cases)
    assert set(endings(found)) <= {"completed", "not_steady"}
    assert endings(found).count("completed") >= len(cases) - 2
    assert np.all(found["peak_tension_3s"] > 0.5 * TONNE_FORCE)  # the line came taut
    assert np.all(found["tension_over_mbl"] < 0.5)
    assert np.all(found["peak_heel"] < 5.0)
    assert np.all(found["peak_contact_force"] > TONNE_FORCE)  # and she pushed
    assert np.all(found["peak_lead_off_axis"] < 45.0)


def test_either_way_round_is_the_mirror_of_the_other() -> None:
    # between two gusts of order the two runs part slowly, see the note of the symmetry of swings
    starboard, port = (
        run([{**BASE, "making_fast": "push_pull", "tug_type": tug, "turn": turn, "time_limit": 200.0} for tug in TUGS])
        for turn in ("starboard", "port")
    )
    for name in ("peak_swing_rate", "drift_distance", "peak_contact_force"):
        np.testing.assert_allclose(port[name], starboard[name], rtol=1e-6, err_msg=name)


def test_one_way_does_not_know_of_the_line() -> None:
    cases = [{**BASE, "tug_type": tug, "tug_attitude": lies, "line_length": length, "line_material": material}
             for tug in TUGS for lies in INPUTS["tug_attitude"].choices
             for length, material in ((15.0, "hmpe"), (60.0, "steel"))]  # fmt: skip
    found = run(cases)
    for name, values in found.items():
        np.testing.assert_array_equal(values[::2], values[1::2], err_msg=name)
    assert np.isnan(found["peak_tension"]).all()


@pytest.mark.parametrize("tug", INPUTS["tug_type"].choices)
@pytest.mark.parametrize("lies", INPUTS["tug_attitude"].choices)
@pytest.mark.parametrize("turn", ["starboard", "port"])
def test_made_fast_at_the_push_point_with_slack_while_she_pushes(tug: str, lies: str, turn: str) -> None:
    values = {
        **BASE,
        "making_fast": "push_pull",
        "tug_type": tug,
        "tug_attitude": lies,
        "turn": turn,
        "line_length": 3.0,
    }
    lane = Lane(**values)
    p, s = lane.parameters(), lane.state()
    side = -1.0 if turn == "starboard" else 1.0
    assert p.barge_towing_y == pytest.approx(side * 8.0)
    if lies == "fore_and_aft":
        assert p.barge_towing_x == pytest.approx(0.4 * 60.0)
        assert p.tug_towing_x > 0.3 * 2.0 * p.tug_half_length  # over the bow, whatever her type
    # the tug against the side, where she starts but for the gap: the line has slack
    towing_north = s.tug_north + p.tug_towing_x * s.tug_cosine
    towing_east = s.tug_east + p.tug_towing_x * s.tug_sine
    apart = np.hypot(towing_north - p.barge_towing_x, towing_east - p.barge_towing_y)
    assert p.line_length >= apart - 0.3 + PUSH_SLACK - 1e-9
    longer = prepare(stacked([{**values, "line_length": 50.0}]))
    assert longer.parameters[type(p)._fields.index("line_length"), 0] == 50.0
