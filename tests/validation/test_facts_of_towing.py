"""Facts of towing beside the moving model; each is common practice, no source, unless it is arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

import toolkit
from tests.one_case import TONNE_FORCE
from toolkit.quantities import INPUTS, Outcome

KNOT = 1852.0 / 3600.0


@pytest.fixture(scope="module")
def of_454_t() -> xr.Dataset:
    """Tows of the default barge, 454 t laden, by a 30 t tug on 40 m of line at rising power."""
    powers = [0.1, 0.2, 0.3, 0.5, 1.0]
    return toolkit.evaluate({"manoeuvre": "tow_ahead", "bollard_pull": 30 * TONNE_FORCE, "line_length": 40.0,
                             "power_setting": powers})  # fmt: skip


def test_five_to_six_knots_with_that_barge_take_3_to_4_t_on_the_line(of_454_t: xr.Dataset) -> None:
    # common practice, no source: 5 to 6 knots is a usual towing speed. The moving model makes them with 20 to 30
    # percent of a 30 t tug's pull, 6 to 9 t at the bollard: 3 to 4 t of it come to the line, the rest goes with the
    # tug's own drag and the thrust that is lost at speed. Nothing is bent to fit; 30 t at the bollard give 9 knots
    assert INPUTS["displacement"].default == 454e3
    assert all(code == int(Outcome.completed) for code in of_454_t["outcome"].values)
    knots = of_454_t["tow_speed"].values / KNOT
    assert 4.7 < knots[1] < 5.2 and 5.7 < knots[2] < 6.1
    steady = [toolkit.history(of_454_t, case=i)["line_tension"].values[-60:].mean() / TONNE_FORCE for i in (1, 2)]
    assert steady == pytest.approx([2.9, 4.2], rel=0.03)
    assert 8.5 < knots[4] < 9.5
    # speed with the root of the power, or less
    assert np.all(np.diff(np.log(knots)) < 0.55 * np.diff(np.log(of_454_t["power_setting"].values)))


def test_she_is_up_to_speed_within_a_few_lengths(of_454_t: xr.Dataset) -> None:
    # arithmetic: without the time of working up, the run to 95 percent of the speed is the same at any power, for drag
    # goes with its square: ln(1 / (1 - 0.95^2)) / 2 = 1.16 times both masses over the quadratic drag of both, 145 m,
    # and less as far as thrust falls with speed; with full power on, working up takes longer than the run
    distance, time = (of_454_t[name].values for name in ("distance_to_tow_speed", "time_to_tow_speed"))
    assert np.all((distance > 90.0) & (distance < 160.0))
    assert np.all(np.diff(time[:4]) < 0.0)


def test_a_longer_line_does_not_alter_the_speed_and_eases_the_wash() -> None:
    # common practice, no source: a short line costs pull, for the tug's wash strikes the barge
    lines = [15.0, 40.0, 120.0]
    found = toolkit.evaluate({"manoeuvre": "tow_ahead", "bollard_pull": 30 * TONNE_FORCE, "displacement": 4e6,
                              "power_setting": 0.4, "line_length": lines * 2,
                              "wash_on_barge_share": [1.0] * 3 + [0.0] * 3})  # fmt: skip
    speed = found["tow_speed"].values
    assert np.all(np.diff(speed[:3]) > 0.0)
    np.testing.assert_allclose(speed[3:], speed[5], rtol=0.01)
    assert np.all(speed[:3] < speed[3:])


def test_a_tow_is_stopped_in_a_few_lengths_by_a_tug_astern_and_runs_on_without_one() -> None:
    # common practice, no source: a barge left to herself carries her way for many lengths
    found = toolkit.evaluate({"manoeuvre": "check_way", "check_from": ["astern", "ahead"], "displacement": 2e6,
                              "bollard_pull": 30 * TONNE_FORCE, "line_length": 40.0, "start_speed": 3 * KNOT,
                              "slow_speed": 0.2, "time_limit": 3600.0})  # fmt: skip
    assert all(code == int(Outcome.completed) for code in found["outcome"].values)
    pulled, coasted = found["stopping_distance"].values
    assert pulled < 1.5 * 56.0 < 4.0 * 56.0 < coasted
