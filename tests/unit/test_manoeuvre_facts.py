"""What the register says of the manoeuvres is true of the engine: what is idle changes no bit, what is used does."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.one_case import TONNE_FORCE, columns_of
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.distinct import distinct_columns
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.manoeuvres import MANOEUVRES as MODULES
from toolkit.quantities import FACTS, INPUTS, MANOEUVRES, OUTCOMES, idle_inputs, silent_inputs
from toolkit.quantities.manoeuvres import JOB, MAYBE_IDLE, conditions_of_use, idle_in_job
from toolkit.study.limits import Limits

Columns = dict[str, NDArray[Any]]

MANY = 24
"""Cases of each manoeuvre in which everything that is not used is changed at once, each input besides on its own."""

CHOICES = ("tug_type", "tug_attitude", "working_end", "turn", "making_fast", "side_way", "check_from",
           "line_arrangement", "line_material", "start", "station_from", "station_to", "failure")  # fmt: skip


def base(code: int, count: int, seed: int) -> Columns:
    """Short cases of one manoeuvre, alike in little else."""
    draw = np.random.default_rng(seed)
    drawn: Columns = {name: draw.integers(0, len(INPUTS[name].choices), count) for name in CHOICES}
    drawn["failure"] = np.where(draw.random(count) < 0.6, 0, drawn["failure"])
    drawn |= {
        "bollard_pull": draw.uniform(15.0, 60.0, count) * TONNE_FORCE,
        "displacement": draw.uniform(4e5, 3e6, count),
        "line_length": draw.uniform(20.0, 50.0, count),
        "wind_speed": draw.choice([0.0, 6.0], count),
        "wind_from": draw.uniform(0.0, 360.0, count),
        "current_speed": draw.choice([0.0, 0.3], count),
        "current_to": draw.uniform(0.0, 360.0, count),
        "front_factor": draw.choice([1.0, 1.5], count),
        "release_heel_fraction": draw.choice([np.nan, 0.3], count),
        "failure_time": np.full(count, 40.0),
        "time_limit": draw.choice([90.0, 200.0], count),
        "target_angle": np.full(count, 20.0),
        "berth_gap": np.full(count, 2.0),
        "start_speed": np.full(count, 0.8),
        "hold_time": np.full(count, 60.0),
        "basin_radius": np.full(count, 200.0),
        "manoeuvre": np.full(count, code),
    }
    return {name: np.repeat(values, count) for name, values in columns_of().items()} | drawn


def redrawn(columns: Columns, names: list[str], seed: int) -> Columns:
    """The same with other legal values of some inputs in the cases that do not use them."""
    draw = np.random.default_rng(seed)
    found = {name: values.copy() for name, values in columns.items()}
    for row in range(len(columns["manoeuvre"])):
        words = {name: INPUTS[name].choices[int(columns[name][row])] for name in CHOICES}
        for name in idle_inputs(MANOEUVRES[int(columns["manoeuvre"][row])], words) & set(names):
            quantity = INPUTS[name]
            low, high = (0.0, float(len(quantity.choices))) if quantity.is_choice else (quantity.low, quantity.high)
            value = draw.uniform(low, high)
            found[name][row] = np.floor(value) if quantity.is_choice else value
    return found


def together(parts: list[Columns]) -> Columns:
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


@pytest.fixture(scope="module")
def tables() -> tuple[Columns, Columns]:
    """Cases, and the same with what they do not use changed: all at once, then each input on its own."""
    plain: list[Columns] = []
    other: list[Columns] = []
    for code in range(len(MANOEUVRES)):
        many = base(code, MANY, 10 + code)
        plain.append(many)
        other.append(redrawn(many, list(MAYBE_IDLE), code))
        each = base(code, len(MAYBE_IDLE), 30 + code)
        for place, name in enumerate(MAYBE_IDLE):
            row = {key: values[place : place + 1] for key, values in each.items()}
            plain.append(row)
            other.append(redrawn(row, [name], place))
    return together(plain), together(other)


@pytest.fixture(scope="module")
def outcomes(tables: tuple[Columns, Columns]) -> tuple[Columns, Columns]:
    """Outcomes of both, from one call."""
    found = evaluate_columns(together(list(tables)))
    half = len(tables[0]["manoeuvre"])
    return {n: v[:half] for n, v in found.items()}, {n: v[half:] for n, v in found.items()}


@pytest.mark.parametrize("manoeuvre", MANOEUVRES)
def test_what_is_idle_changes_no_bit(
    manoeuvre: str, tables: tuple[Columns, Columns], outcomes: tuple[Columns, Columns]
) -> None:
    plain, other = tables
    here = plain["manoeuvre"] == MANOEUVRES.index(manoeuvre)
    changed = [n for n in MAYBE_IDLE if not np.array_equal(plain[n][here], other[n][here], equal_nan=n not in CHOICES)]
    always = {name for name, condition in conditions_of_use(manoeuvre).items() if condition == ({},)}
    assert set(changed) == set(MAYBE_IDLE) - always
    for name in RESULT_NAMES:
        assert np.array_equal(outcomes[0][name][here], outcomes[1][name][here], equal_nan=True), name


def test_cases_that_differ_in_idle_inputs_alone_are_one(tables: tuple[Columns, Columns]) -> None:
    rows = [distinct_columns(table)[0] for table in tables]
    both, _, _ = distinct_columns(together(list(tables)))
    assert len(both["manoeuvre"]) == len(rows[0]["manoeuvre"]) == len(rows[1]["manoeuvre"])


@pytest.mark.parametrize("manoeuvre", MANOEUVRES)
def test_what_is_used_changes_something(manoeuvre: str) -> None:
    """Of what is used always, or under the words given here, every input makes a difference to some case."""
    code, count = MANOEUVRES.index(manoeuvre), 6
    plain = base(code, count, 50 + code) | {
        "failure": np.full(count, INPUTS["failure"].choices.index("line_parts")),
        "tug_type": np.zeros(count, int),
        "line_arrangement": np.ones(count, int),
        "tow_speed_limit": np.full(count, 1.0),
        "release_heel_fraction": np.full(count, 0.05 if manoeuvre != "hold" else 0.02),
    }
    used = [name for name, condition in conditions_of_use(manoeuvre).items() if condition and name not in RARE]
    parts = [plain]
    for name in used:
        part = {key: values.copy() for key, values in plain.items()}
        part[name] = other_value(name, part[name])
        parts.append(part)
    found = evaluate_columns(together(parts))
    for place, name in enumerate(used, start=1):
        rows = slice(place * count, (place + 1) * count)
        same = all(np.array_equal(v[:count], v[rows], equal_nan=v.dtype.kind == "f") for v in found.values())
        assert not same, name


RARE = frozenset({"watch_time", "release_time", "release_heel_fraction", "order_delay", "steady_time", "steady_rate",
                  "steady_angle", "easing_angle", "approach_speed", "slow_speed"})  # fmt: skip
"""Inputs that come to bear late, or seldom, and not surely in a few short cases."""


def other_value(name: str, values: NDArray[Any]) -> NDArray[Any]:
    quantity = INPUTS[name]
    if quantity.is_choice:
        return (values + 1) % len(quantity.choices)
    given = {"towing_point_height": 3.0, "fender_height": 2.0, "tug_towing_station": 0.1, "barge_fitting_swl": 3e5,
             "line_mbl": 1.2e6, "bridle_leg_length": 30.0, "order_interval": 5.0, "tow_distance": 25.0,
             "target_heading": 75.0}  # fmt: skip
    if name in given:
        return np.full(len(values), given[name])
    return np.clip(np.where(values == 0.0, 0.1 * quantity.high, 0.7 * values), quantity.low, quantity.high)


@pytest.mark.parametrize("manoeuvre", MANOEUVRES)
def test_facts_go_with_the_module_and_with_the_outcomes(
    manoeuvre: str, tables: tuple[Columns, Columns], outcomes: tuple[Columns, Columns]
) -> None:
    facts, found = FACTS[manoeuvre], outcomes[0]
    here = tables[0]["manoeuvre"] == MANOEUVRES.index(manoeuvre)
    assert facts.swings == MODULES[manoeuvre].swings
    assert facts.time in OUTCOMES and set(facts.valued_though_failed) <= set(facts.figures) <= set(OUTCOMES)
    for row in np.flatnonzero(here)[:MANY]:
        words = {name: INPUTS[name].choices[int(tables[0][name][row])] for name in CHOICES}
        idle = idle_inputs(manoeuvre, words)
        if np.isfinite(found["end_time"][row]):
            assert np.isfinite(found["peak_tension"][row]) == ("line_mbl" not in idle)
            assert np.isfinite(found["peak_contact_force"][row]) == ("fender_height" not in idle)
    late = {"time_to_turn", "time_to_steady", "time_to_tow_speed", "distance_to_tow_speed"}
    never = {name for name in set(facts.figures) - late if not np.isfinite(found[name][here]).any()}
    assert never <= {"peak_tension", "peak_contact_force"}


def test_a_job_leaves_out_what_no_leg_uses_or_every_leg_sets() -> None:
    legs = ({"manoeuvre": "swing_pull", "target_angle": 90.0}, {"manoeuvre": "swing_push", "target_angle": 40.0})
    idle = idle_in_job(legs, {"making_fast": "one_way"})
    assert {"manoeuvre", "target_angle", "berth_gap", "walk_distance"} <= idle
    assert not idle & {"line_length", "push_station", "lead_angle", "bollard_pull", "displacement"}
    assert idle_in_job(()) == frozenset()
    assert set(JOB.valued_though_failed) <= set(JOB.figures) <= set(OUTCOMES)


def test_a_choice_that_is_not_known_may_be_any() -> None:
    assert "line_length" not in idle_inputs("side_push")
    assert "line_length" in idle_inputs("side_push", {"side_way": "onto", "making_fast": "one_way"})
    assert "fender_friction" in idle_inputs("hold", {"side_way": "off"})
    assert "swing_rate_limit" in silent_inputs("walk") - idle_inputs("walk")
    assert idle_inputs("no_such") == silent_inputs("no_such") == frozenset()


def test_every_time_that_a_limit_can_be_set_on_is_one_of_some_manoeuvre() -> None:
    assert {facts.time for facts in FACTS.values()} >= {"time_to_steady", "end_time"}
    assert set(Limits().to_dict()) <= set(OUTCOMES)


def test_how_slow_counts_bears_on_the_drift_after_a_failure_and_on_nothing_without_one() -> None:
    slow, quick = (columns_of(manoeuvre="swing_push", failure="black_out", failure_time=60.0, restart_time=5.0,
                              slow_speed=speed, wind_speed=8.0, wind_from=120.0) for speed in (0.01, 0.5))  # fmt: skip
    found = evaluate_columns(together([slow, quick]))
    assert found["drift_after_failure"][0] > found["drift_after_failure"][1] > 0.0
    assert "slow_speed" in idle_inputs("swing_push", {"failure": "none"})
    assert "slow_speed" not in idle_inputs("swing_push", {"failure": "black_out"})
    assert "slow_speed" not in idle_inputs("check_way", {"failure": "none"})
