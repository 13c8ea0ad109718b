"""Extreme but legal inputs of every manoeuvre end in an outcome that says so; what holds over the whole domain."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.one_case import TONNE_FORCE, columns_of
from tests.sane import described, findings
from toolkit.errors import StudyError
from toolkit.execution.records import evaluate
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.history import case_history
from toolkit.quantities import INPUTS, OUTCOMES, Outcome

pytestmark = pytest.mark.whole

KNOT = 1852.0 / 3600.0
MANOEUVRES = INPUTS["manoeuvre"].choices
Columns = dict[str, NDArray[Any]]

HALVES = ("order_interval", "steady_time")
"""Inputs that are whole numbers of half seconds."""
WHOLE = ("draw", "draw_seed")
SHORT = 300.0
"""Time limit [s] of cases that are drawn: long enough to take the weight, to turn, to shift."""

EXTREMES: dict[str, dict[str, Any]] = {
    "80 t tug on a 100 t barge": {"bollard_pull": 80 * TONNE_FORCE, "displacement": 100e3, "power_setting": 1.0},
    "60 kn of wind": {"wind_speed": min(60.0 * KNOT, 30.0), "wind_from": 60.0, "gust_factor": 1.0},
    "60 kn of wind with a front": {"wind_speed": 30.0, "front_factor": 4.0, "gust_intensity": 2.0, "draw_seed": 1.0},
    "line of 3 m": {"line_length": 3.0},
    "line of 5 m": {"line_length": 5.0},
    "line of 400 m": {"line_length": 400.0},
    "line of 400 m of steel, bridled": {"line_length": 400.0, "line_material": "steel", "line_arrangement": "bridle"},
    "depth ratio 1.05": {"barge_draught": 3.0, "tug_draught": 3.0, "water_depth": 3.15},
    "2 m/s of current": {"current_speed": 2.0, "current_to": 45.0, "start": "over_ground"},
    "no power": {"power_setting": 0.02, "bollard_pull_derate": 0.3, "bollard_pull": 3 * TONNE_FORCE},
    "no drag, no added mass": {"drag_multiplier": 0.0, "tug_drag_multiplier": 0.0, "added_mass_multiplier": 0.0},
    "15,000 t barge, 3 t tug": {"displacement": 15e6, "bollard_pull": 3 * TONNE_FORCE, "water_depth": 30.0},
    "eight knots of way": {"start_speed": 4.0},
    "a tug about to fall over": {"metacentric_height": 0.15, "tug_freeboard": 0.05, "power_setting": 1.0},
    "zero everything": {
        name: 0.0 for name, q in INPUTS.items() if not q.is_choice and q.low <= 0.0 <= q.high and name != "tide"
    },
}  # fmt: skip
"""Inputs that a user may write and nobody would tow in."""

TOO_DEEP = {"aground", "not_converged"}


def table(rows: list[dict[str, Any]]) -> Columns:
    """Columns of several cases, inputs in dataset units and choices as words or codes."""
    cases = [columns_of(**{k: q.choices[v] if (q := INPUTS[k]).is_choice and isinstance(v, int) else v
                           for k, v in row.items()}) for row in rows]  # fmt: skip
    columns = {name: np.concatenate([case[name] for case in cases]) for name in INPUTS}
    columns["draw_seed"] = np.nan_to_num(columns["draw_seed"], nan=1.0)
    return columns


def assert_sane(columns: Columns, outcomes: Columns) -> None:
    told = findings(columns, outcomes)
    assert not told, "\n".join(told)


def test_extremes_end_in_a_sane_outcome_in_every_manoeuvre() -> None:
    rows = [{**values, "manoeuvre": way, "time_limit": 900.0} for values in EXTREMES.values() for way in MANOEUVRES]
    columns = table(rows)
    outcomes = evaluate_columns(columns)
    assert_sane(columns, outcomes)
    failed = outcomes["outcome"] == int(Outcome.not_converged)
    assert not failed.any(), [described(columns, case) for case in np.flatnonzero(failed)]


def test_every_end_of_every_interval_ends_in_a_sane_outcome_in_every_manoeuvre() -> None:
    rows: list[dict[str, Any]] = []
    for way in MANOEUVRES:
        for name, quantity in INPUTS.items():
            ends = range(len(quantity.choices)) if quantity.is_choice else (quantity.low, quantity.high)
            if name not in ("manoeuvre", "time_limit"):
                rows += [{"time_limit": SHORT, "manoeuvre": way, name: end} for end in ends]
    rows += [{"manoeuvre": way, "time_limit": 10.0} for way in MANOEUVRES]
    columns = table(rows)
    outcomes = evaluate_columns(columns)
    assert_sane(columns, outcomes)
    astray = np.flatnonzero(outcomes["outcome"] == int(Outcome.not_converged))
    # one input at its end, all else ordinary: nearly all of it is still within what the step can follow
    assert astray.size <= 0.01 * len(rows), [described(columns, case) for case in astray]


def drawn(draw: np.random.Generator, size: int, corners: float = 0.5, given_share: float = 0.3) -> Columns:
    """Cases over the whole domain: a share of the inputs drawn, many of these at an end, all else at its default."""
    columns: Columns = {}
    for name, quantity in INPUTS.items():
        if quantity.is_choice:
            columns[name] = draw.integers(0, len(quantity.choices), size)
            continue
        low, high = quantity.low, quantity.high
        values = draw.uniform(low, high, size)
        if low > 0.0 and high / low > 30.0:
            values = np.exp(draw.uniform(np.log(low), np.log(high), size))
        values = np.where(draw.random(size) < corners, np.where(draw.random(size) < 0.5, low, high), values)
        if name in HALVES:
            values = np.maximum(0.5, np.round(2.0 * values) / 2.0)
        values = np.floor(values) if name in WHOLE else values
        columns[name] = np.where(draw.random(size) < given_share, values, float(quantity.default))
    # far from the centre of the basin shear would ask for more current than there is anywhere, and is refused
    even = columns["current_shear"] == 0.0
    for name in ("start_north", "start_east"):
        columns[name] = np.where(even, columns[name], 0.0)
    columns["time_limit"] = np.exp(draw.uniform(np.log(10.0), np.log(SHORT), size))
    columns["draw_seed"] = np.nan_to_num(columns["draw_seed"], nan=1.0)
    return columns


@settings(max_examples=5)
@given(st.integers(0, 2**32 - 1), st.sampled_from([0.05, 0.3, 1.0]), st.sampled_from([0.0, 0.5, 1.0]))
def test_the_whole_domain_and_its_corners_end_in_sane_outcomes(seed: int, share: float, corners: float) -> None:
    """Also where no reading of a study would let particulars go together: the engine stands by itself."""
    columns = drawn(np.random.default_rng(seed), 96, corners, share)
    assert_sane(columns, evaluate_columns(columns))


@settings(max_examples=4)
@given(st.integers(0, 2**32 - 1), st.randoms(use_true_random=False))
def test_any_order_and_company_of_cases_give_the_same_bits(seed: int, chance: Any) -> None:
    columns = drawn(np.random.default_rng(seed), 40)
    together = evaluate_columns(columns)
    order = np.array(chance.sample(range(40), 40))
    shuffled = evaluate_columns({name: values[order] for name, values in columns.items()})
    some = order[:7]
    few = evaluate_columns({name: values[some] for name, values in columns.items()})
    for name in together:
        assert np.array_equal(together[name][order], shuffled[name], equal_nan=True), name
        assert np.array_equal(together[name][some], few[name], equal_nan=True), name


RECORDED = {
    "peak_tension": "line_tension", "peak_contact_force": "contact_force", "peak_heel": "tug_heel",
    "peak_swing_rate": "swing_rate",
}  # fmt: skip
"""Peaks, each with the channel of which it is the largest value."""


@settings(max_examples=8)
@given(st.integers(0, 2**32 - 1))
def test_peaks_are_never_below_the_recorded_history(seed: int) -> None:
    columns = drawn(np.random.default_rng(seed), 4, 0.3, 0.1)
    outcomes = evaluate_columns(columns)
    for case in range(4):
        channels, facts = case_history({name: values[case : case + 1] for name, values in columns.items()})
        for name in OUTCOMES:
            assert np.array_equal(facts[name], float(outcomes[name][case]), equal_nan=True), name
        if Outcome(int(outcomes["outcome"][case])).name in TOO_DEEP:
            continue
        for peak, channel in RECORDED.items():
            seen = np.abs(channels[channel]) if channel == "tug_heel" else channels[channel]
            if not np.isfinite(outcomes[peak][case]):
                assert not np.isfinite(seen).any()
                continue
            most = min(float(seen.max()), 180.0 if channel == "tug_heel" else np.inf)
            assert most <= outcomes[peak][case] * (1.0 + 1e-12) + 1e-12, (peak, described(columns, case))
        assert channels["time"][-1] == outcomes["end_time"][case]


@cache
def refusable() -> tuple[str, ...]:
    """Numbers of the register that have an end beyond which nothing is."""
    return tuple(name for name, q in INPUTS.items() if not q.is_choice)


@pytest.mark.parametrize("value", [np.inf, -np.inf, 1e300])
def test_what_is_beyond_an_interval_is_refused_by_name(value: float) -> None:
    for name in refusable():
        with pytest.raises(StudyError, match=name):
            evaluate({name: [value]})


def test_shear_that_would_run_faster_than_any_current_is_refused() -> None:
    with pytest.raises(StudyError, match=r"current_shear = 0\.02 /s the current where the barge starts is .* kn"):
        evaluate({"current_shear": [0.02], "start_east": [2000.0], "current_to": [0.0]})
    assert evaluate({"current_shear": [0.001], "start_east": [20.0], "current_to": [0.0]})["outcome"].size == 1
