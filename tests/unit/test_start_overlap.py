"""Hulls that overlap where they start: the check ahead of a run says what the engine then finds."""

from __future__ import annotations

import numpy as np
import pytest

from tests.many_cases import many_cases
from tests.one_case import columns_of
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.log import TICK
from toolkit.motion.prepare import prepare
from toolkit.motion.start import overlap_at_start
from toolkit.quantities import INPUTS, Outcome
from toolkit.study import parse_study
from toolkit.study.checks import study_problems, study_warnings
from toolkit.study.hull_checks import START_INPUTS


def test_cases_that_overlap_are_those_that_collide_at_once() -> None:
    count = 200
    draw = np.random.default_rng(3)
    columns = many_cases(count, seed=3, time_limit=10.0) | {
        "line_length": draw.uniform(3.0, 20.0, count),
        "displacement": draw.uniform(2e5, 1.5e7, count),
        "lead_angle": draw.uniform(30.0, 150.0, count),
    }
    prepared = prepare(columns)
    found = evaluate_columns(columns)
    at_once = (found["outcome"] == Outcome.collided) & (found["end_time"] <= TICK)
    overlap = overlap_at_start(prepared.parameters, prepared.initial)
    assert np.array_equal(overlap, at_once)
    assert 20 < overlap.sum() < 180
    assert not overlap[columns["manoeuvre"] == INPUTS["manoeuvre"].choices.index("swing_push")].any()


@pytest.mark.parametrize("name", sorted(set(INPUTS) - set(START_INPUTS)))
def test_no_other_input_decides_it(name: str) -> None:
    """The length at which hulls come clear does not move with an input that the check does not vary."""
    quantity = INPUTS[name]
    lengths = np.linspace(3.0, 40.0, 400)
    middle = quantity.choices[-1] if quantity.is_choice else 0.7 * quantity.high + 0.3 * quantity.low

    def overlap(**values: float | str) -> list[bool]:
        columns = {key: np.repeat(column, len(lengths)) for key, column in columns_of(**values).items()}
        prepared = prepare(columns | {"line_length": lengths})
        return overlap_at_start(prepared.parameters, prepared.initial).tolist()

    assert 0 < sum(overlap()) < len(lengths)
    assert overlap(**{name: middle}) == overlap()


def test_a_study_in_which_every_case_overlaps_is_refused_and_one_with_some_is_warned_of() -> None:
    with pytest.raises(Exception, match=r"towline.line_length: line_length = 4 m at most.*Give a longer line"):
        parse_study("[towline]\nline_length = ['3 m', '4 m']")
    some = parse_study("[towline]\nline_length = ['3 m', '30 m']\n[manoeuvre]\nturn = ['port', 'starboard']")
    assert study_problems(some) == []
    assert sum("In 50 percent of the cases tug and barge overlap" in said for said in study_warnings(some)) == 1
    # with a push beside the pull there is something to run
    parse_study("[towline]\nline_length = '3 m'\n[manoeuvre]\nmanoeuvre = ['swing_pull', 'swing_push']")
