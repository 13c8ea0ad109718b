"""Limits along an axis: never to the favour of the envelope."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.findings import (
    EnvelopeStatus,
    apply_limits,
    largest_passing,
    passing_band,
    wind_limit,
    worst_over,
    worst_values,
)
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.margins import tighten
from toolkit.findings.worst import VALUED, valued_cases
from toolkit.quantities import Outcome


def judged_along(codes: list[int], axis: str = "wind_speed", values: list[float] | None = None) -> xr.Dataset:
    points = np.arange(len(codes), dtype=float) * 5.0 if values is None else np.array(values)
    return apply_limits(xr.Dataset({"outcome": (axis, np.array(codes, dtype=np.int8))}, coords={axis: points}))


@pytest.mark.parametrize(
    ("codes", "limit", "status", "again"),
    [
        ([1, 1, 4, 4], 5.0, "limited", False),
        ([1, 1, 1, 1], 15.0, "passes_throughout", False),
        ([4, 1, 1, 1], np.nan, "never_passes", True),
        ([1, 4, 1, 4], 0.0, "limited", True),
        ([1, 0, 1, 1], 0.0, "not_run", True),
        ([1, 1, 1, 0], 10.0, "not_run", False),
    ],
)
def test_largest_passing(codes: list[int], limit: float, status: str, again: bool) -> None:
    found = wind_limit(judged_along(codes))
    np.testing.assert_equal(float(found["limit"]), limit)
    assert EnvelopeStatus(int(found["status"])).name == status
    assert bool(found["not_monotone"]) is again


def test_what_ends_the_envelope_is_named() -> None:
    found = wind_limit(judged_along([1, 1, 6, 4]))
    assert BINDING_MEANINGS[int(found["limited_by"])] == "line_parted"
    assert float(found["first_failing"]) == 10.0


def test_a_falling_axis_is_sorted_first() -> None:
    found = wind_limit(judged_along([4, 1, 1], values=[20.0, 10.0, 0.0]))
    assert float(found["limit"]) == 10.0


@given(st.lists(st.sampled_from([0, 1, 4]), min_size=1, max_size=12))
def test_all_up_to_the_limit_pass_and_the_next_does_not(codes: list[int]) -> None:
    judged = judged_along(codes)
    limit = float(wind_limit(judged)["limit"])
    speeds, passes = judged["wind_speed"].values, judged["passes"].values
    if np.isnan(limit):
        assert not passes[0]
    else:
        assert passes[speeds <= limit].all()
        beyond = passes[speeds > limit]
        assert beyond.size == 0 or not beyond[0]


def test_too_little_and_too_much() -> None:
    band = passing_band(judged_along([7, 1, 1, 4], axis="bollard_pull"), "bollard_pull")
    assert (float(band["smallest"]), float(band["largest"])) == (5.0, 10.0)
    assert bool(band["too_little"]) and bool(band["too_much"]) and not bool(band["not_contiguous"])
    assert BINDING_MEANINGS[int(band["limited_below"])] == "lost_station"
    assert BINDING_MEANINGS[int(band["limited_above"])] == "deck_edge_immersed"


def test_a_band_at_an_end_of_the_grid_ends_there() -> None:
    low = passing_band(judged_along([1, 1, 4, 0], axis="bollard_pull"), "bollard_pull")
    assert not bool(low["too_little"]) and bool(low["too_much"])
    high = passing_band(judged_along([0, 7, 1, 1], axis="bollard_pull"), "bollard_pull")
    assert bool(high["too_little"]) and not bool(high["too_much"])


def test_band_with_a_hole_none_or_all() -> None:
    assert bool(passing_band(judged_along([1, 4, 1]), "wind_speed")["not_contiguous"])
    none = passing_band(judged_along([7, 6, 8, 4]), "wind_speed")
    assert np.isnan(float(none["smallest"])) and int(none["status"]) == EnvelopeStatus.never_passes
    assert BINDING_MEANINGS[int(none["limited_below"])] == "lost_station"
    assert BINDING_MEANINGS[int(none["limited_above"])] == "deck_edge_immersed"
    whole = passing_band(judged_along([1, 1]), "wind_speed")
    assert int(whole["status"]) == EnvelopeStatus.passes_throughout
    assert int(whole["limited_below"]) == int(whole["limited_above"]) == 0
    assert int(passing_band(judged_along([0, 0]), "wind_speed")["status"]) == EnvelopeStatus.not_run


def test_worst_over_is_never_better_than_any_case() -> None:
    judged = apply_limits(synthetic.results(synthetic.default_axes(4)))
    every = wind_limit(judged)["limit"]
    worst = wind_limit(judged, over=["wind_from", "displacement"])["limit"]
    least = every.fillna(-1.0).min(["wind_from", "displacement"])
    xr.testing.assert_equal(worst.fillna(-1.0).drop_attrs(), least.drop_attrs())
    reduced = worst_over(judged, ["wind_from"])
    xr.testing.assert_equal(reduced["passes"], judged["passes"].all("wind_from"))
    assert ((reduced["binding_limit"] == 0) == reduced["passes"]).all()


def several(outcomes: list[int], heel: list[float]) -> xr.Dataset:
    """One tug in several winds, judged by her heel alone, against a limit of 1."""
    data = {"outcome": ("wind_from", np.array(outcomes, dtype=np.int8)), "peak_heel_fraction": ("wind_from", heel)}
    return apply_limits(xr.Dataset(data, {"wind_from": 90.0 * np.arange(len(heel))}), {"peak_heel_fraction": 1.0})


@pytest.mark.parametrize(
    ("outcomes", "heel", "binding", "ended"),
    [
        ([1, 7, 1], [0.1, 0.2, 3.0], "lost_station", "lost_station"),  # how one ended, before any limit
        ([1, 1, 1], [0.9, 3.0, 2.0], "peak_heel_fraction", "completed"),
        ([1, 1, 1], [0.1, np.nan, 3.0], "missing_value", "completed"),  # not known is not less than known
        ([1, 1, 1], [0.1, np.nan, 0.9], "missing_value", "completed"),
        ([1, 0, 1], [0.1, 0.2, 3.0], "not_run", "not_run"),
        ([1, 1, 1], [0.1, 0.2, 0.9], "none", "completed"),
    ],
)
def test_what_binds_the_worst_of_several(outcomes: list[int], heel: list[float], binding: str, ended: str) -> None:
    worst = worst_over(several(outcomes, heel), ["wind_from"])
    assert BINDING_MEANINGS[int(worst["binding_limit"])] == binding
    assert Outcome(int(worst["outcome"])).name == ended
    assert bool(worst["passes"]) is (binding == "none")


def test_what_binds_the_worst_of_several_under_a_margin() -> None:
    # 0.6 of a limit is too much with a factor of two, 0.4 of it is not
    worst = worst_over(tighten(several([1, 1, 1], [0.4, 0.6, 0.1]), 2.0), ["wind_from"])
    assert BINDING_MEANINGS[int(worst["binding_limit"])] == "peak_heel_fraction"
    assert not bool(worst["passes"])


def test_values_of_failed_cases_count_where_they_are_said_to() -> None:
    judged = several([1, 4, 0], [0.1, 0.2, 0.3])
    assert valued_cases(judged, judged, "overrun_margin").values.tolist() == [True, False, False]
    said = judged.assign_attrs({VALUED: "held_share overrun_margin"})
    assert valued_cases(said, judged, "overrun_margin").values.tolist() == [True, True, False]
    assert valued_cases(said, judged, "peak_heel").values.tolist() == [True, False, False]


def test_worst_values_are_of_completed_cases_and_count_the_others() -> None:
    dataset = synthetic.results({"bollard_pull": [1e5, 2e5], "wind_from": [0.0, 90.0, 180.0]}, outcome=1)
    dataset["outcome"][0] = [1, 2, 8]
    dataset["time_to_turn"][...] = [[100.0, 900.0, 900.0], [np.nan, 300.0, 200.0]]
    dataset["room_to_edge"][...] = [[50.0, 1.0, 1.0], [30.0, 20.0, 40.0]]
    judged = apply_limits(dataset, {"room_to_edge": 25.0})
    worst = worst_over(judged, ["wind_from"])
    assert worst["outcome"].values.tolist() == [8, 1] and worst["not_completed_count"].values.tolist() == [2, 0]
    values = worst_values(dataset, judged, ["wind_from"], ["time_to_turn", "room_to_edge", "nonsense"])
    assert values["time_to_turn"].values.tolist() == [100.0, 300.0]
    assert values["room_to_edge"].values.tolist() == [50.0, 20.0]
    assert values["time_to_turn_missing"].values.tolist() == [0, 1]
    xr.testing.assert_equal(values["outcome"], worst["outcome"])


def test_axis_must_be_swept_numbers() -> None:
    judged = apply_limits(synthetic.results({"manoeuvre": ["swing_pull", "swing_push"]}))
    for axis in ("manoeuvre", "wind_speed"):
        with pytest.raises(StudyError, match="no swept axis of numbers"):
            largest_passing(judged, axis)


def test_lazy_gives_the_same() -> None:
    dataset = synthetic.results(synthetic.default_axes(3))
    for finder in (wind_limit, lambda j: passing_band(j, "bollard_pull")):
        lazy = finder(apply_limits(dataset.chunk()))
        assert lazy["status"].chunks is not None
        xr.testing.assert_identical(lazy.compute(), finder(apply_limits(dataset)))
