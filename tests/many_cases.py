"""Many cases at once, of every manoeuvre and way of lying, drawn at random."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.one_case import TONNE_FORCE, columns_of

WAYS_OF_LYING = 4
"""Pulling and pushing, fore and aft and athwartships; case `i` lies way ``i % 4``."""


def many_cases(count: int, seed: int = 1, **fixed: float) -> dict[str, NDArray[Any]]:
    """Columns of cases drawn at random, all ways of lying in turn; `fixed` overrides by name in dataset units."""
    draw = np.random.default_rng(seed)
    case = np.arange(count)
    drawn: dict[str, NDArray[Any]] = {
        "bollard_pull": draw.uniform(5.0, 80.0, count) * TONNE_FORCE,
        "displacement": draw.uniform(2e5, 5e6, count),
        "power_setting": draw.uniform(0.2, 1.0, count),
        "swing_rate_limit": draw.uniform(0.3, 2.0, count),
        "wind_speed": draw.uniform(0.0, 12.0, count),
        "wind_from": draw.uniform(0.0, 360.0, count),
        "current_speed": draw.uniform(0.0, 0.5, count),
        "current_to": draw.uniform(0.0, 360.0, count),
        "line_length": draw.uniform(10.0, 80.0, count),
        "water_depth": draw.uniform(9.0, 40.0, count),
        "line_material": draw.integers(0, 4, count),
        "tug_type": draw.integers(0, 2, count),
        "turn": draw.integers(0, 2, count),
        "working_end": draw.integers(0, 2, count),
        "manoeuvre": case % 2,
        "tug_attitude": case // 2 % 2,
    }
    columns = {name: np.repeat(values, count) for name, values in columns_of().items()} | drawn
    unknown = fixed.keys() - columns.keys()
    assert not unknown, unknown
    return columns | {name: np.full(count, value, columns[name].dtype) for name, value in fixed.items()}
