"""Habits of a crew: named settings, what overrides them, and the draw."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.one_case import columns_of
from toolkit.motion.prepare import crew_of
from toolkit.particulars.crew import CREWS, rate_limit_for
from toolkit.quantities import INPUTS


def crew(displacement: float = 454e3, count: int = 1, **values: Any) -> Any:
    columns = {name: np.repeat(column, count).astype(float) for name, column in columns_of(**values).items()}
    columns["draw"] = np.arange(float(count)) if "draw" not in values else columns["draw"]
    return crew_of(columns, np.full(count, displacement))


def test_crews_are_the_words_of_the_register() -> None:
    assert tuple(CREWS) == INPUTS["crew"].choices


@pytest.mark.parametrize("word", CREWS)
def test_a_named_crew_brings_its_habits(word: str) -> None:
    found, habits = crew(crew=word), CREWS[word]
    for name in ("order_interval", "order_delay", "recognition_time", "power_step", "easing_angle"):
        assert getattr(found, name)[0] == getattr(habits, name)
        low, high = INPUTS[name].low, INPUTS[name].high
        value = getattr(habits, name)
        assert low <= (math.degrees(value) if name == "easing_angle" else value) <= high
    assert habits.order_delay <= habits.order_interval


def test_what_is_given_overrides_the_crew() -> None:
    found = crew(crew="hasty", order_delay=0.5, swing_rate_limit=0.2)
    assert found.order_delay[0] == 0.5
    assert found.swing_rate_limit[0] == pytest.approx(math.radians(0.2))
    assert found.order_interval[0] == CREWS["hasty"].order_interval


def test_rate_limits_fall_with_displacement_and_a_careful_crew_stays_below() -> None:
    per_minute = np.degrees(rate_limit_for(np.array([3e5, 1e6, 1.1e6, 4e6, 5e6]))) * 60.0
    assert per_minute == pytest.approx([60.0, 60.0, 45.0, 45.0, 30.0])
    careful, ordinary, hasty = (crew(crew=word).swing_rate_limit[0] for word in ("careful", "ordinary", "hasty"))
    assert careful < ordinary < hasty


def test_scatter_is_lognormal_about_the_median_on_the_raster() -> None:
    found = crew(count=4000, crew_scatter=0.3, draw_seed=5.0, order_interval=4.0, order_delay=1.0)
    ratio = found.recognition_time / CREWS["ordinary"].recognition_time
    assert np.median(ratio) == pytest.approx(1.0, abs=0.03)
    assert np.std(ratio) / np.mean(ratio) == pytest.approx(0.3, abs=0.02)
    assert np.all(found.order_interval % 0.5 == 0.0) and np.all(found.order_interval >= 0.5)
    assert np.all(found.order_delay <= found.order_interval)
    assert abs(np.corrcoef(found.recognition_time, found.order_delay)[0, 1]) < 0.06


def test_the_same_draw_brings_the_same_crew_and_no_scatter_draws_nothing() -> None:
    one, other = (crew(crew_scatter=0.5, draw_seed=9.0, draw=7.0, bollard_pull=pull) for pull in (2e5, 8e5))
    assert one.recognition_time[0] == other.recognition_time[0]
    assert crew(crew_scatter=0.5, draw_seed=10.0, draw=7.0).recognition_time[0] != one.recognition_time[0]
    assert crew(draw=3.0).recognition_time[0] == CREWS["ordinary"].recognition_time
