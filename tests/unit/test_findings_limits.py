"""Limits: who passes, what binds, and the shares that are told."""

from __future__ import annotations

import json

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.findings import LIMIT_NAMES, apply_limits, count_limits, limits_of, share_of_runs, shares_text
from toolkit.findings.limits import BINDING_MEANINGS, MISSING_VALUE, OUTCOME_OFFSET
from toolkit.findings.margins import tighten
from toolkit.quantities import Outcome
from toolkit.study import Limits, parse_study


def cases(**values: list[float]) -> xr.Dataset:
    """Cases along one axis, with the outcomes given and nothing else."""
    count = len(next(iter(values.values())))
    values.setdefault("outcome", [int(Outcome.completed)] * count)
    data = {k: ("bollard_pull", np.array(v, dtype=np.int8 if k == "outcome" else float)) for k, v in values.items()}
    return xr.Dataset(data, coords={"bollard_pull": np.arange(1.0, count + 1)})


def test_largest_utilisation_binds() -> None:
    dataset = cases(peak_heel_fraction=[0.2, 0.9, 0.9, 0.67], tension_over_mbl=[0.4, 0.4, 0.9, 0.1])
    judged = apply_limits(dataset, {"peak_heel_fraction": 0.67, "tension_over_mbl": 0.5})
    assert judged["passes"].values.tolist() == [True, False, False, True]
    names = [BINDING_MEANINGS[int(c)] for c in judged["binding_limit"].values]
    assert names == ["none", "peak_heel_fraction", "tension_over_mbl", "none"]
    assert [BINDING_MEANINGS[int(c)] for c in judged["nearest_limit"].values] == [
        "tension_over_mbl", "peak_heel_fraction", "tension_over_mbl", "peak_heel_fraction",
    ]  # fmt: skip
    np.testing.assert_allclose(judged["utilisation"].values, [0.8, 0.9 / 0.67, 1.8, 1.0])


def test_ended_otherwise_fails_by_its_outcome_and_not_run_is_no_failure() -> None:
    dataset = cases(outcome=[0, 1, 2, 4], peak_heel_fraction=[np.nan, 0.1, 0.1, 0.1])
    judged = apply_limits(dataset, {"peak_heel_fraction": 0.67})
    assert judged["passes"].values.tolist() == [False, True, False, False]
    assert judged["binding_limit"].values.tolist() == [OUTCOME_OFFSET, 0, OUTCOME_OFFSET + 2, OUTCOME_OFFSET + 4]
    counts = share_of_runs(judged)
    assert int(counts["run_count"]) == 3 and int(counts["not_run_count"]) == 1
    assert float(counts["share_passing"]) == pytest.approx(1 / 3)
    assert int(counts["binding_count"].sum()) + int(counts["passing_count"]) == 3
    assert "1 not run" in shares_text(counts)


def test_not_applicable_does_not_bind_but_a_missing_value_does() -> None:
    dataset = cases(tension_over_mbl=[np.nan, 0.1], time_to_steady=[100.0, np.nan])
    judged = apply_limits(dataset, {"tension_over_mbl": 0.5, "time_to_steady": 200.0})
    assert judged["passes"].values.tolist() == [True, False]
    assert judged["binding_limit"].values.tolist() == [0, MISSING_VALUE]


def test_room_to_edge_is_a_least_value() -> None:
    dataset = cases(room_to_edge=[20.0, 5.0, -3.0]).assign_coords(basin_radius=100.0)
    judged = apply_limits(dataset, {"room_to_edge": 10.0})
    assert judged["passes"].values.tolist() == [True, False, False]
    np.testing.assert_allclose(judged["utilisation"].values, [80 / 90, 95 / 90, 103 / 90])


def test_a_limit_that_met_no_value_is_told() -> None:
    judged = apply_limits(cases(room_to_edge=[np.nan, np.nan]), {"room_to_edge": 10.0})
    assert judged["passes"].all()
    assert "No case gave a value for the limit on: room to the basin edge" in shares_text(share_of_runs(judged))


def test_a_limit_of_zero() -> None:
    judged = apply_limits(cases(overshoot=[0.0, 0.1]), {"overshoot": 0.0})
    assert judged["passes"].values.tolist() == [True, False]
    assert judged["utilisation"].values.tolist() == [0.0, np.inf]


def test_limits_come_from_the_attribute_a_mapping_or_the_study() -> None:
    dataset = synthetic.results(limits={"time_to_steady": 300.0})
    assert limits_of(dataset) == {"time_to_steady": 300.0}
    assert limits_of(dataset, Limits()) == Limits().in_force()
    assert tuple(Limits().to_dict()) == LIMIT_NAMES
    judged = apply_limits(dataset)
    assert json.loads(judged.attrs["limits"]) == {"time_to_steady": 300.0}
    assert "time to steady ≤ 5 min" in judged.attrs["limits_applied"]


def test_no_limits_pass_what_completed() -> None:
    judged = apply_limits(synthetic.results(limits={}))
    np.testing.assert_array_equal(judged["passes"], judged["outcome"] == 1)


def test_all_bad_limits_are_told_at_once() -> None:
    with pytest.raises(StudyError) as error:
        limits_of(xr.Dataset(), {"speed": 3.0, "overshoot": -1.0, "peak_heel": "much"})
    assert len(error.value.problems) == 3


def test_broken_attribute_and_missing_variable_are_told() -> None:
    dataset = cases(peak_heel=[1.0]).assign_attrs(limits="{nonsense")
    with pytest.raises(StudyError, match="no JSON object"):
        apply_limits(dataset)
    with pytest.raises(StudyError, match="time_to_turn is missing"):
        apply_limits(dataset, {"time_to_turn": 10.0})


def test_stays_lazy_and_gives_the_same() -> None:
    dataset = synthetic.results(synthetic.default_axes(3))
    lazy = apply_limits(dataset.chunk())
    assert all(lazy[name].chunks for name in lazy.data_vars)
    xr.testing.assert_identical(lazy.compute(), apply_limits(dataset))


def test_fill_values_read_as_not_run() -> None:
    dataset = cases(peak_heel=[1.0, 1.0])
    dataset["outcome"] = dataset["outcome"].astype(float).where([True, False])
    assert apply_limits(dataset, {})["was_run"].values.tolist() == [True, False]


def test_shares_keep_dimensions_and_survive_nothing_run() -> None:
    judged = apply_limits(synthetic.results(synthetic.default_axes(3), outcome=0))
    assert np.isnan(float(share_of_runs(judged)["share_passing"]))
    assert "nothing can be read off" in shares_text(share_of_runs(judged))
    assert share_of_runs(judged, keep=["wind_from"])["run_count"].dims == ("wind_from",)


def test_shares_in_words_by_hand() -> None:
    dataset = cases(outcome=[1, 1, 1, 4, 0], peak_heel_fraction=[0.1, 0.9, 0.2, 0.9, np.nan])
    counts = share_of_runs(apply_limits(dataset, {"peak_heel_fraction": 0.67}))
    assert (float(counts["share_completed"]), float(counts["share_passing"])) == (0.75, 0.5)
    assert shares_text(counts).startswith("4 of 5 cases run")
    assert "75.0 % completed, 50.0 % pass" in shares_text(counts)
    one = share_of_runs(apply_limits(dataset.isel(bollard_pull=[0]), {"peak_heel_fraction": 0.67}))
    assert (float(one["share_completed"]), float(one["share_passing"])) == (1.0, 1.0)


def test_each_limit_alone_promises_more_than_all_together() -> None:
    dataset = cases(
        outcome=[1, 1, 1, 1, 1, 4, 0],
        peak_heel_fraction=[0.1, 0.9, 0.1, 0.9, 0.67, 0.9, np.nan],
        tension_over_mbl=[0.1, 0.1, 0.9, 0.9, 0.1, 0.9, np.nan],
        room_to_edge=[np.nan] * 7,
    )
    limits = {"peak_heel_fraction": 0.67, "tension_over_mbl": 0.5, "room_to_edge": 5.0}
    counts = count_limits(apply_limits(dataset, limits))
    assert counts["kept_count"].values.tolist() == [3, 3, 5]
    assert counts["only_broken_count"].values.tolist() == [1, 1, 0]
    assert counts["applied_count"].values.tolist() == [5, 5, 0]
    told = {name: int(counts[name]) for name in ("run_count", "completed_count", "all_kept_count", "least_kept_count")}
    assert told == {"run_count": 6, "completed_count": 5, "all_kept_count": 2, "least_kept_count": 3}
    none = count_limits(apply_limits(dataset, {}))
    assert none.sizes["limit"] == 0 and int(none["all_kept_count"]) == int(none["least_kept_count"]) == 5


def test_limits_broken_alone_and_in_company_are_told_apart() -> None:
    # heel alone in three cases, line alone in none, both in one: by hand
    dataset = cases(peak_heel_fraction=[0.9, 0.8, 0.9, 0.7, 0.1], tension_over_mbl=[0.1, 0.2, 0.1, 0.9, 0.5])
    counts = count_limits(apply_limits(dataset, {"peak_heel_fraction": 0.67, "tension_over_mbl": 0.5}))
    assert counts["only_broken_count"].values.tolist() == [3, 0]
    assert counts["kept_count"].values.tolist() == [1, 4]


def test_a_margin_reaches_just_to_the_limit_and_has_bounds() -> None:
    judged = apply_limits(cases(peak_heel_fraction=[0.335, 0.34, 0.9]), {"peak_heel_fraction": 0.67})
    assert tighten(judged, 2.0)["passes"].values.tolist() == [True, False, False]
    for margin in (0.99, 10.1):
        with pytest.raises(StudyError, match=r"outside \[1, 10\]"):
            tighten(judged, margin)


def test_no_limit_is_nearest_to_a_case_that_did_not_complete() -> None:
    judged = apply_limits(cases(outcome=[1, 4], peak_heel_fraction=[0.5, 2.0]), {"peak_heel_fraction": 0.67})
    assert [BINDING_MEANINGS[int(c)] for c in judged["nearest_limit"].values] == ["peak_heel_fraction", "none"]


def test_a_class_of_limits_is_no_limits() -> None:
    with pytest.raises(TypeError, match="mapping or a dataclass"):
        limits_of(cases(peak_heel_fraction=[0.5]), Limits)


def test_the_swing_rate_may_be_limited() -> None:
    study = parse_study("[limits]\npeak_swing_rate = '40 deg/min'\n", name="basin.toml")
    assert study.limits.in_force()["peak_swing_rate"] == pytest.approx(40.0 / 60.0)
    judged = apply_limits(cases(peak_swing_rate=[0.5, 0.7, np.nan, 0.6]), {"peak_swing_rate": 40.0 / 60.0})
    assert judged["passes"].values.tolist() == [True, False, False, True]
    assert BINDING_MEANINGS[int(judged["binding_limit"][1])] == "peak_swing_rate"
    assert parse_study("").limits.peak_swing_rate is None
