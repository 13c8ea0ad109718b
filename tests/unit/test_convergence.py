"""Tables of how far outcomes move with the step."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.many_cases import many_cases
from toolkit.motion.convergence import (
    CLOSED_LOOP,
    OPEN_LOOP,
    TOLERANCE,
    Accuracy,
    accuracy_of,
    convergence_table,
    refined,
    step_error,
)
from toolkit.motion.layout import PARAMETER_ROW
from toolkit.motion.prepare import prepare

CASES = 32


@pytest.fixture(scope="module")
def columns() -> dict[str, NDArray[Any]]:
    return many_cases(CASES, seed=6, time_limit=150.0, target_angle=15.0)


def row(rows: tuple[Accuracy, ...], run: str, outcome: str) -> Accuracy:
    (found,) = (entry for entry in rows if (entry.run, entry.outcome) == (run, outcome))
    return found


def test_differences_are_relative_counted_and_sorted() -> None:
    reference = {
        "outcome": np.array([1, 1, 1, 1, 2]),
        "peak_tension": np.array([100.0, 200.0, np.nan, 50.0, 0.0]),
        "peak_heel": np.array([0.1, 10.0, 10.0, 10.0, 10.0]),
    }
    found = {
        "outcome": np.array([1, 1, 1, 2, 2]),
        "peak_tension": np.array([101.0, 200.0, 10.0, np.nan, 0.0]),
        "peak_heel": np.array([0.2, 10.0, 10.0, 10.0, 10.1]),
    }
    tension, heel = accuracy_of("here", found, reference, ["peak_tension", "peak_heel"])
    assert (tension.run, tension.outcome, tension.cases) == ("here", "peak_tension", 3)
    assert tension.largest == pytest.approx(0.01)
    assert tension.median == 0.0
    assert tension.share_within == pytest.approx(2 / 3)
    assert tension.changed == pytest.approx(2 / 5), "one outcome more, one less, the less with another end"
    assert heel.largest == pytest.approx(0.1 / 0.5), "a small heel is measured against half a degree"
    assert heel.changed == pytest.approx(1 / 5)
    assert accuracy_of("here", found, reference, ["peak_heel"], ends=False)[0].changed == 0.0


def test_what_nobody_has_is_no_number_and_what_appears_from_nothing_is_infinite() -> None:
    nothing = {"outcome": np.array([1]), "peak_tension": np.array([np.nan])}
    (row_of_none,) = accuracy_of("here", nothing, nothing, ["peak_tension"])
    assert row_of_none.cases == 0
    assert np.isnan(row_of_none.median) and np.isnan(row_of_none.largest) and np.isnan(row_of_none.share_within)
    zero, some = nothing | {"peak_tension": np.zeros(1)}, nothing | {"peak_tension": np.ones(1)}
    assert accuracy_of("here", some, zero, ["peak_tension"])[0].largest == np.inf


def test_refining_changes_the_step_and_nothing_else(columns: dict[str, NDArray[Any]]) -> None:
    prepared = prepare(columns)
    finer = refined(prepared, 1.5)
    steps = prepared.parameters[PARAMETER_ROW.steps_per_tick]
    assert np.array_equal(finer.parameters[PARAMETER_ROW.steps_per_tick], np.ceil(1.5 * steps))
    rest = np.arange(len(PARAMETER_ROW)) != PARAMETER_ROW.steps_per_tick
    assert np.array_equal(finer.parameters[rest], prepared.parameters[rest])
    assert np.array_equal(finer.initial, prepared.initial)


def test_error_of_the_step_falls_and_is_small_as_shipped(columns: dict[str, NDArray[Any]]) -> None:
    rows = step_error(columns, (1, 2, 8))
    assert [(entry.run, entry.outcome) for entry in rows] == [
        (run, outcome) for run in ("step / 1", "step / 2") for outcome in OPEN_LOOP
    ]
    for outcome in OPEN_LOOP:
        assert row(rows, "step / 2", outcome).median < 0.75 * row(rows, "step / 1", outcome).median, outcome
    for outcome in ("time_to_turn", "peak_tension", "peak_contact_force"):
        entry = row(rows, "step / 1", outcome)
        assert entry.cases >= 5
        assert entry.share_within >= 0.85, entry
        assert entry.median < 0.1 * TOLERANCE * (1.0 if outcome == "time_to_turn" else 3.0), entry


def test_whole_runs_are_compared_with_finer_steps_and_with_a_start_next_door(columns: dict[str, NDArray[Any]]) -> None:
    aground = {name: np.append(values, values[0]) for name, values in columns.items()}
    aground["water_depth"][-1] = 1.0
    rows = convergence_table(aground, (1, 2), nudges=(0.0, 1e-9))
    assert [entry.run for entry in rows[:: len(CLOSED_LOOP)]] == ["step / 1", "start + 0 m", "start + 1e-09 m"]
    assert row(rows, "step / 1", "peak_heel").cases == CASES, "the case aground is left out"
    for outcome in CLOSED_LOOP:
        unmoved = row(rows, "start + 0 m", outcome)
        assert unmoved.cases == 0 or (unmoved.largest == 0.0 and unmoved.changed == 0.0), "a run repeated is the same"
    assert 0.0 < row(rows, "start + 1e-09 m", "peak_heel").median < row(rows, "step / 1", "peak_heel").median


@pytest.mark.parametrize("refinements", [(1,), (2, 2), (0, 2)])
def test_one_step_alone_cannot_be_compared(columns: dict[str, NDArray[Any]], refinements: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="two or more"):
        convergence_table(columns, refinements)
