"""Error bounds that the branch-free scalar functions state of themselves."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from toolkit.loads.scalars import arc_sine, clip, cosine_of_heel, sine_of_heel, smooth_step


def test_arc_sine_keeps_its_bound() -> None:
    # the docstring says 3e-8 (the published approximation has 2e-8); sampled where its error waves are resolved
    sines = np.concatenate([np.linspace(-1.0, 1.0, 20_001), [1e-300, -1e-300, 1.0 - 1e-16]])
    error = np.array([arc_sine(float(x)) for x in sines]) - np.arcsin(sines)
    assert np.max(np.abs(error)) < 3e-8
    assert np.max(np.abs(error)) > 1e-9  # else it is something better, and the docstring should say so


def test_arc_sine_is_odd_and_held_beyond_its_ends() -> None:
    for x in (1e-9, 0.3, 0.99):
        assert arc_sine(-x) == -arc_sine(x)
    assert arc_sine(1.0 + 1e-9) == arc_sine(1.0) == pytest.approx(np.pi / 2, abs=3e-8)


@pytest.mark.parametrize("limit", [1.0, 1.4])
@pytest.mark.parametrize(
    ("function", "exact", "order", "stated"),
    [(sine_of_heel, np.sin, 15, {1.0: 1e-12, 1.4: 2e-10}), (cosine_of_heel, np.cos, 14, {1.0: 2e-11, 1.4: 2e-9})],
)
def test_series_of_heel_keep_their_bounds(
    function: Callable[[float], float], exact: Callable[..., Any], order: int, stated: dict[float, float], limit: float
) -> None:
    # alternating series: the error is below the first term left out, x^n / n!, and near it; the docstrings' bounds hold
    angles = np.linspace(-limit, limit, 2001)
    error = np.max(np.abs([function(float(x)) for x in angles] - exact(angles)))
    first_left_out = limit**order / math.factorial(order)
    assert 0.9 * first_left_out < error < 1.001 * first_left_out
    assert error < stated[limit]


def test_clip_and_step() -> None:
    assert [clip(x, -1.0, 2.0) for x in (-3.0, 0.5, 7.0)] == [-1.0, 0.5, 2.0]
    steps = [smooth_step(x) for x in np.linspace(-0.5, 1.5, 81)]
    assert steps[0] == 0.0 and steps[-1] == 1.0 and steps[40] == pytest.approx(0.5)
    assert np.all(np.diff(steps) >= 0.0)
    assert smooth_step(1e-4) < 4e-8  # flat ends
