"""The benchmarks, as tests: that they run, not how fast. Measure with --benchmark-enable or `tests.benchmarks.rate`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.benchmarks import rate
from toolkit.motion.engine import evaluate_columns

pytestmark = pytest.mark.benchmark


def test_engine(benchmark: Any) -> None:
    columns = rate.columns_of_swings(64)
    found = benchmark(evaluate_columns, columns)
    assert np.mean(found["outcome"] == 1) > 0.5, "the benchmark is of swings that get somewhere"


def test_solve_ivp(benchmark: Any) -> None:
    columns = rate.columns_of_swings(2) | {"time_limit": np.full(2, 20.0)}
    seconds, simulated, evaluations = benchmark(rate.one_by_one, 0, columns, rate.INTEGRATOR)
    assert seconds > 0.0
    assert simulated == 20.0
    assert evaluations > 100


def test_lanes_are_seldom_idle() -> None:
    # counted in steps, not timed: one that begins with the longest cases ends with all lanes at work
    assert 0.0 < rate.idle_share(rate.columns_of_swings(256)) < 0.1


def test_table_of_rates_is_whole() -> None:
    lines = rate.table(64, 2, 1.0)
    assert len(lines) >= 15
    assert not [line for line in lines if "nan" in line[1]]
