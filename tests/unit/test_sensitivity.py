"""Factors of a study, their spreads, designs, and responses in which failed cases count."""

from __future__ import annotations

import re
from functools import partial
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import fake_engine, synthetic
from toolkit.errors import StudyError
from toolkit.execution.records import evaluate_with
from toolkit.findings.research_tables import sample_size_table, sensitivity_table, spread_table, step_table
from toolkit.findings.sensitivity import (
    SPREADS,
    coefficient_axes,
    factors_of,
    running_means,
    screen,
    sobol,
    spread_over,
)
from toolkit.findings.sensitivity.analysis import analyse
from toolkit.findings.sensitivity.factors import check_power
from toolkit.findings.sensitivity.indices import design
from toolkit.findings.sensitivity.responses import DEFAULT_RESPONSES, default_responses, responses
from toolkit.findings.sensitivity.screening import ranked, trajectories
from toolkit.findings.sensitivity.words import basis_lines
from toolkit.motion.convergence import Accuracy
from toolkit.quantities import INPUTS, Outcome
from toolkit.study import Axis

evaluate = partial(evaluate_with, fake_engine.MODEL)


def test_spreads_are_those_of_the_register_and_its_help_tells_them() -> None:
    stated = {name: quantity.spread for name, quantity in INPUTS.items() if quantity.spread}
    assert dict(SPREADS) == stated and len(stated) == 10
    for name, (low, high) in SPREADS.items():
        assert INPUTS[name].low <= low < high <= INPUTS[name].high
        assert low <= float(INPUTS[name].default) <= high
        assert f"Spread {low:g} to {high:g}." in INPUTS[name].help


def test_coefficients_that_a_study_sets_or_cannot_use_are_left_out_and_named() -> None:
    study = fake_engine.study_of({"manoeuvre": ("swing_pull",), "wind_speed": [0.0, 5.0]}, drag_multiplier=1.2)
    axes, left = coefficient_axes(study)
    names = {axis.name for axis in axes}
    assert "drag_multiplier" not in names and "fender_friction" not in names and "added_mass_multiplier" in names
    assert any("held at 1.2" in line for line in left) and any("no manoeuvre" in line for line in left)
    both = fake_engine.study_of({"manoeuvre": ("swing_pull", "swing_push")})
    assert "fender_friction" in {axis.name for axis in coefficient_axes(both)[0]}
    assert "fender_friction" not in {axis.name for axis in coefficient_axes(both, {"manoeuvre": "swing_pull"})[0]}


def test_factors_are_what_a_study_sweeps_and_the_base_is_its_middle() -> None:
    found = factors_of(fake_engine.samples_of(), coefficients=False)
    assert found.names == ("bollard_pull", "wind_speed", "manoeuvre")
    assert found.base["wind_speed"] == pytest.approx(6.0)
    assert found.base["bollard_pull"] == pytest.approx(np.sqrt(600.0) * fake_engine.TONNE_FORCE)
    table = found.table(np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 0.99]]))
    assert table["bollard_pull"] == pytest.approx(np.array([10.0, 60.0]) * fake_engine.TONNE_FORCE)
    assert table["manoeuvre"].tolist() == ["swing_pull", "swing_push"]
    assert set(table) == set(INPUTS)
    assert evaluate(table)["outcome"].sizes["case"] == 2


def test_inputs_may_be_held_and_what_cannot_be_is_told_at_once() -> None:
    study = fake_engine.samples_of()
    found = factors_of(study, at={"wind_speed": "10 kn"}, coefficients=False)
    assert found.names == ("bollard_pull", "manoeuvre")
    assert found.base["wind_speed"] == pytest.approx(10.0 * fake_engine.KNOT, rel=1e-9)
    assert any("wind speed 10 kn" in note for note in found.notes)
    with pytest.raises(StudyError) as caught:
        factors_of(study, at={"line_length": "15 m", "manoeuvre": "swing_round"})
    assert len(caught.value.problems) == 2
    at = {"bollard_pull": "30 t", "wind_speed": "5 kn", "manoeuvre": "swing_push"}
    with pytest.raises(StudyError, match="nothing is left to vary"):
        factors_of(study, at=at, coefficients=False)
    kept = factors_of(study).keep(["wind_speed", "drag_multiplier"], "by hand")
    assert kept.names == ("wind_speed", "drag_multiplier") and kept.coefficients == {"drag_multiplier"}
    assert "bollard pull 24.49 t" in kept.notes[-1]


def test_trajectories_move_every_input_once_by_two_thirds() -> None:
    places, position, step = trajectories(50, 4, seed=2)
    assert places.shape == (50, 5, 4) and ((places >= 0.0) & (places <= 1.0)).all()
    moves = np.diff(places, axis=1)
    assert (np.count_nonzero(np.abs(moves) > 1e-12, axis=2) == 1).all()
    assert (np.count_nonzero(np.abs(moves) > 1e-12, axis=1) == 1).all()
    taken = np.take_along_axis(moves, position[:, None, :], axis=1)[:, 0]
    np.testing.assert_allclose(taken, step)
    np.testing.assert_allclose(np.abs(step), 2.0 / 3.0)
    assert 0.4 < np.mean(step < 0.0) < 0.6  # up as often as down
    share = np.bincount(np.round(places * 3.0).astype(int).ravel(), minlength=4) / places.size
    np.testing.assert_allclose(share, 0.25, atol=0.06)


def test_design_mixes_one_column_at_a_time() -> None:
    rows = design(16, 3, seed=4)
    assert rows.shape == (5, 16, 3)
    for k in range(3):
        others = [j for j in range(3) if j != k]
        np.testing.assert_array_equal(rows[2 + k][:, k], rows[1][:, k])
        np.testing.assert_array_equal(rows[2 + k][:, others], rows[0][:, others])


def results(codes: list[int], times: list[float], **outcomes: list[float]) -> xr.Dataset:
    data: dict[str, Any] = {"outcome": np.array(codes, np.int8), "time_to_steady": times, **outcomes}
    return xr.Dataset({k: ("case", np.asarray(v)) for k, v in data.items()}, coords={"time_limit": 900.0})


def test_no_failed_case_is_dropped() -> None:
    done, late = int(Outcome.completed), int(Outcome.timed_out)
    found = responses(
        results([done, late, done], [100.0, np.nan, 700.0], drift_distance=[5.0, 9.0, 1.0]),
        limits={"time_to_steady": 600.0},
    )
    assert found["value"].sel(quantity="time_to_steady").values.tolist() == [100.0, 900.0, 700.0]
    assert found["value"].sel(quantity="completed").values.tolist() == [1.0, 0.0, 1.0]
    assert found["value"].sel(quantity="passes").values.tolist() == [1.0, 0.0, 0.0]
    assert found["value"].sel(quantity="drift_distance").values.tolist() == [5.0, 9.0, 1.0]
    assert found["stood_in"].sum().item() == 1 and found["failed"].values.tolist() == [False, True, False]
    assert "peak tension" not in found.attrs["left_out"] and "peak line tension" in found.attrs["left_out"]


def test_a_response_that_does_not_apply_everywhere_is_told_or_refused() -> None:
    one = results([1, 1], [1.0, 2.0], peak_tension=[5.0, np.nan])
    assert "does not apply in 1 of 2 cases" in responses(one).attrs["left_out"]
    with pytest.raises(StudyError) as caught:
        responses(one, ["peak_tension", "passes", "shoe_size"])
    assert len(caught.value.problems) == 3
    with pytest.raises(StudyError, match="1 of 2 cases were not run"):
        responses(results([0, 1], [1.0, 2.0]))


@pytest.mark.parametrize("samples", [0, 4, 12, 100])
def test_samples_that_are_no_power_of_two_are_refused(samples: int) -> None:
    with pytest.raises(StudyError, match="power of two"):
        check_power(samples)
    check_power(8)


@pytest.mark.parametrize(
    ("samples", "near"), [(0, "8 or more"), (4, "8 or more"), (12, "8 or 16"), (100, "64 or 128"), (127, "64 or 128")]
)
def test_the_powers_of_two_on_either_side_are_named(samples: int, near: str) -> None:
    with pytest.raises(StudyError) as caught:
        check_power(samples)
    assert caught.value.problems[0].remedy == f"Ask for {near}"


def test_numbers_that_do_not_fit_are_refused_before_anything_runs() -> None:
    study, factors = fake_engine.samples_of(), factors_of(fake_engine.samples_of())

    def never(table: Any) -> xr.Dataset:
        raise AssertionError("it ran")

    for call in (
        lambda: screen(never, factors, count=1),
        lambda: sobol(never, factors, samples=100),
        lambda: sobol(never, factors.keep(["wind_speed"], "by hand"), samples=16),
        lambda: running_means(never, factors, replicates=1),
        lambda: running_means(never, factors, samples=8),
        lambda: spread_over(never, factors, study.axes[0], samples=3),
        lambda: screen(never, factors, names=[]),
        lambda: analyse(study, never, keep=1),
        lambda: analyse(study, never, samples=16),
        lambda: analyse(study, never, names=["completed", "shoe_size"]),
    ):
        with pytest.raises(StudyError):
            call()


def test_the_same_seed_gives_the_same_numbers_and_another_gives_others() -> None:
    factors = factors_of(fake_engine.samples_of())
    one, again, other = (
        sobol(evaluate, factors, samples=16, names=["end_time"], resamples=9, seed=s) for s in (3, 3, 4)
    )
    xr.testing.assert_equal(one, again)
    assert not np.array_equal(one["total_order"], other["total_order"])


def test_spread_gives_the_same_draws_at_every_value_and_the_coefficients_as_they_stand() -> None:
    study = fake_engine.study_of({"bollard_pull": np.array([20.0, 40.0]) * fake_engine.TONNE_FORCE})
    factors = factors_of(study, conditions=False)
    tables = []

    def run(table: Any) -> xr.Dataset:
        tables.append(table)
        drag, pull = np.asarray(table["drag_multiplier"]), np.asarray(table["bollard_pull"])
        return xr.Dataset({"outcome": ("case", np.ones(drag.size, np.int8)), "drift_distance": ("case", drag * pull)})

    found = spread_over(run, factors, study.axes[0], samples=128, names=["drift_distance"]).sel(
        quantity="drift_distance"
    )
    drawn = np.asarray(tables[0]["drag_multiplier"]).reshape(2, 129)
    np.testing.assert_array_equal(drawn[0], drawn[1])
    np.testing.assert_allclose(found["nominal"], study.axes[0].values)
    low, high = SPREADS["drag_multiplier"]
    exact = (low + np.array([0.05, 0.25, 0.5, 0.75, 0.95]) * (high - low))[:, None] * study.axes[0].values
    np.testing.assert_allclose(found["value"], exact, rtol=0.02)


def test_spread_over_a_range_is_looked_at_at_five_even_places() -> None:
    study = fake_engine.samples_of()
    factors = factors_of(study)
    wind = study.axis("wind_speed")
    assert wind is not None and wind.kind == "range"
    found = spread_over(evaluate, factors, wind, samples=8, names=["end_time"])
    np.testing.assert_allclose(found["wind_speed"], np.linspace(wind.values[0], wind.values[-1], 5))
    # what the study sweeps besides is held, and told; the input looked along and the factors are not
    assert found.attrs["base"] == "as the study has it"
    alone = spread_over(evaluate, factors_of(study, conditions=False), wind, samples=8, names=["end_time"])
    assert "bollard pull 24.49 t" in alone.attrs["base"] and "wind" not in alone.attrs["base"]


def test_with_nothing_left_to_spread_every_draw_is_the_case_as_it_stands() -> None:
    study = fake_engine.samples_of()
    wind = study.axis("wind_speed")
    assert wind is not None
    only = factors_of(study).keep(["wind_speed"], "by hand")
    found = spread_over(evaluate, only, wind, samples=8, names=["end_time"])
    for level in found["quantile"].values:
        np.testing.assert_array_equal(found["value"].sel(quantile=level), found["nominal"])


def test_an_input_of_the_study_that_changes_nothing_has_no_index_and_ranks_last() -> None:
    study = fake_engine.samples_of()
    factors = factors_of(study)
    screened = screen(evaluate, factors, names=["end_time"])
    assert ranked(screened, 3)[:2] == ("bollard_pull", "manoeuvre")
    idle = screened["mean_size"].sel(factor=list(factors.coefficients))
    assert not idle.any()


def test_a_whole_analysis_tells_what_it_rests_on() -> None:
    said: list[str] = []
    found = analyse(fake_engine.samples_of(), evaluate, samples=32, trajectories=4, replicates=2, say=said.append)
    assert len(said) == 4 and "Screening" in said[0]
    assert found.spread is not None and found.spread.attrs["along"] == "wind_speed"
    assert int(found.indices["case_count"]) == 32 * (6 + 2)
    lines = " ".join(basis_lines(found.indices))
    for words in ("did not complete", "none is dropped", "by the screening", "seed 1", "32 samples"):
        assert words in lines
    steps = [
        Accuracy(run="step / 1", outcome="time_to_turn", cases=3, median=1e-5, percentile_90=1e-4, percentile_99=1e-3,
                 largest=2e-3, share_within=1.0, changed=0.0)
    ]  # fmt: skip
    tables = [
        sensitivity_table(found.screened, found.indices), spread_table(found.spread),
        sample_size_table(found.running), step_table(steps, found.running.attrs, "Invented."),
    ]  # fmt: skip
    for table in tables:
        assert table.rows and {len(row) for row in table.rows} == {len(table.header)}
        assert "Screening aid only" in " ".join(table.notes)
    none = analyse(
        fake_engine.samples_of(),
        evaluate,
        samples=32,
        trajectories=2,
        replicates=2,
        coefficients=False,
        names=["completed"],
    )
    assert none.spread is None and "none is varied" in none.left_out[0]


def test_rank_is_by_the_share_in_the_largest_effect_of_a_response_however_small() -> None:
    # shares of cases change by less than one: 0.2 of 0.4 is the half, 30 of 90 N a third; nothing moves the third
    sizes = xr.DataArray(
        [[0.1, 0.4, 0.2, 0.0], [30.0, 1.0, 1.0, 0.0], [0.0, 0.0, 0.0, 0.0]],
        dims=("quantity", "factor"), coords={"factor": ["a", "b", "c", "d"]},
    )  # fmt: skip
    assert ranked(xr.Dataset({"mean_size": sizes}), 4) == ("a", "b", "c", "d")
    assert ranked(xr.Dataset({"mean_size": sizes[:1]}), 4) == ("b", "c", "a", "d")


def test_what_is_looked_at_hangs_on_the_manoeuvre() -> None:
    def looked_at(word: str) -> tuple[str, ...]:
        return default_responses(xr.Dataset(coords={"manoeuvre": word}))

    assert looked_at("swing_pull") == DEFAULT_RESPONSES
    tow = looked_at("tow_ahead")
    assert tow[:3] == ("time_to_tow_speed", "completed", "passes") and len(set(tow)) == len(tow)
    assert "peak_heel_fraction" in tow and "time_to_steady" not in tow


def test_as_many_cases_are_run_as_were_said() -> None:
    said: list[int] = []
    ran: list[int] = []

    def run(table: Any) -> xr.Dataset:
        found = evaluate(table)
        ran.append(found["outcome"].size)
        return found

    def say(text: str) -> None:
        said.append(int(re.findall(r"([0-9,]+) cases", text)[0].replace(",", "")))

    sampled = fake_engine.samples_of()
    listed = fake_engine.study_of({"wind_speed": np.array([0.0, 3.0, 9.0]), "bollard_pull": np.array([2e5, 4e5])})
    for study, at in ((sampled, None), (listed, None), (sampled, {"wind_speed": "5 kn"})):
        said.clear()
        ran.clear()
        found = analyse(study, run, samples=32, trajectories=3, replicates=4, keep=2, at=at, say=say)
        assert said == ran and len(ran) == 4
        assert found.indices.sizes["factor"] == 2
        assert found.spread is not None
        assert found.spread.attrs["along"] == ("bollard_pull" if at else "wind_speed")


def test_base_of_listed_values_is_one_of_them() -> None:
    study = fake_engine.study_of({"wind_speed": np.array([0.0, 3.0, 9.0, 12.0])})
    assert factors_of(study).base["wind_speed"] == 3.0
    axis = Axis(name="wind_speed", values=np.array([0.0, 10.0]), kind="range")
    assert axis.at(np.array([0.5]))[0] == 5.0


def test_limits_of_the_study_judge_what_passes() -> None:
    dataset = synthetic.samples(64)
    found = responses(dataset, ["passes"])
    assert 0.0 < float(found["value"].mean()) < 1.0
    assert "time to steady" in found.attrs["limits_applied"]
