"""Curves of a limit by hand: brackets, what ends them, draws that are pooled, and what is refused before a run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
import xarray as xr

from toolkit.errors import StudyError
from toolkit.findings.limit_curves import Brackets, Curves, _most_common
from toolkit.quantities import Outcome

WINDS = np.array([0.0, 5.0, 10.0])


def passes_up_to(limit: float) -> Any:
    """Cases that pass up to a wind, and lose station beyond it."""

    def run(table: Mapping[str, Any]) -> xr.Dataset:
        wind = np.asarray(table["wind_speed"], dtype=float)
        code = np.where(wind <= limit, int(Outcome.completed), int(Outcome.lost_station))
        return xr.Dataset({"outcome": ("case", code.astype(np.int8))}, coords={"wind_speed": ("case", wind)})

    return run


def curves(limit: float = 5.0, **changes: Any) -> Curves:
    given = {"cases": {}, "name": "wind_speed", "limits": {}, "over": (), "draws": None, "share": 1.0, "each": False}
    return Curves(**{"evaluate": passes_up_to(limit), **given, **changes})


@pytest.mark.parametrize(
    ("limit", "lower", "upper", "ended_by"),
    [(0.0, 0.0, 5.0, "lost_station"), (7.0, 5.0, 10.0, "lost_station"), (-1.0, np.nan, 0.0, "lost_station"),
     (10.0, 10.0, np.nan, "")],
)  # fmt: skip
def test_a_bracket_lies_about_the_limit(limit: float, lower: float, upper: float, ended_by: str) -> None:
    found = curves(limit).scan(WINDS)
    np.testing.assert_equal(found.lower, [lower])
    np.testing.assert_equal(found.upper, [upper])
    assert found.reason.tolist() == [100 + int(Outcome[ended_by]) if ended_by else 0]
    assert found.passes_again.tolist() == [False]


def test_brackets_are_halved_only_while_wider_than_asked_for() -> None:
    ends = np.array([1.0, 1.1, 0.9, np.nan])
    nothing = np.zeros(4, dtype=np.int64)
    brackets = Brackets(lower=np.zeros(4), upper=ends, reason=nothing, passes_again=nothing > 0, shares=np.ones((4, 1)))
    assert brackets.wider_than(1.0).tolist() == [False, True, False, False]


def test_what_most_fail_for_is_the_lower_of_two_alike_and_nothing_where_none_fails() -> None:
    assert _most_common(np.array([0, 107, 3, 107, 0])) == 107
    assert _most_common(np.array([107, 3])) == 3
    assert _most_common(np.zeros(3, dtype=int)) == 0


def test_bounds_of_a_search_hold_at_both_ends() -> None:
    for steps in (1, 1000):
        curves().check(0.0, 10.0, steps, None)
    curves(share=1e-6).check(0.0, 10.0, 10, 0.5)
    for search, steps, resolution in (
        (curves(), 0, None), (curves(), 1001, None), (curves(share=1.01), 10, None), (curves(share=0.0), 10, None),
        (curves(), 10, 0.0),
    ):  # fmt: skip
        with pytest.raises(StudyError):
            search.check(0.0, 10.0, steps, resolution)
    for low, high in ((10.0, 10.0), (0.0, np.inf)):
        with pytest.raises(StudyError, match="is no bracket"):
            curves().check(low, high, 10, None)
