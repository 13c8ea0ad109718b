"""Screening and Sobol' indices of functions whose indices are known in closed form.

Ishigami and Homma 1990 (doi 10.1109/ISUMA.1990.151285), with a = 7, b = 0.1, on [-pi, pi]^3; the indices follow from
its three variances. The g-function of Sobol' 1993 on [0, 1]^n; each factor has variance 1 / (3 (1 + a)^2) and mean 1.
Both closed forms are integrated anew here by quadrature, so that nothing rests on a remembered number.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import xarray as xr

from toolkit.findings.sensitivity import Factors, running_means, screen, sobol
from toolkit.findings.sensitivity.factors import Evaluate
from toolkit.quantities import Outcome
from toolkit.study import Axis

Function = Callable[[np.ndarray], np.ndarray]
A, B = 7.0, 0.1
WEIGHTS = np.array([0.0, 1.0, 4.5, 9.0, 99.0])


def ishigami(x: np.ndarray) -> np.ndarray:
    return np.sin(x[0]) + A * np.sin(x[1]) ** 2 + B * x[2] ** 4 * np.sin(x[0])


def g_function(x: np.ndarray) -> np.ndarray:
    return np.prod((np.abs(4.0 * x - 2.0) + WEIGHTS[:, None]) / (1.0 + WEIGHTS[:, None]), axis=0)


def factors(count: int, low: float, high: float) -> Factors:
    axes = tuple(Axis(name=f"x{k + 1}", values=np.array([low, high]), kind="range") for k in range(count))
    return Factors(axes=axes, base={axis.name: 0.5 * (low + high) for axis in axes})


def evaluate_with(function: Function, fails: Function | None = None) -> Evaluate:
    """A table of cases to results with outcome `y`; where `fails`, the case does not complete and has none."""

    def run(table: Any) -> xr.Dataset:
        x = np.array([table[f"x{k + 1}"] for k in range(len(table))])
        y, bad = function(x), np.zeros(x.shape[1], bool) if fails is None else fails(x)
        code = np.where(bad, int(Outcome.line_parted), int(Outcome.completed)).astype(np.int8)
        return xr.Dataset({"outcome": ("case", code), "y": ("case", np.where(bad, np.nan, y))})

    return run


def ishigami_indices() -> tuple[np.ndarray, np.ndarray]:
    alone = np.array([0.5 * (1.0 + B * np.pi**4 / 5.0) ** 2, A**2 / 8.0, 0.0])
    with_third = B**2 * np.pi**8 * 8.0 / 225.0
    total = alone + np.array([with_third, 0.0, with_third])
    return alone / (alone.sum() + with_third), total / (alone.sum() + with_third)


def g_indices() -> tuple[np.ndarray, np.ndarray]:
    alone = 1.0 / (3.0 * (1.0 + WEIGHTS) ** 2)
    variance = np.prod(1.0 + alone) - 1.0
    total = np.array([v * np.prod(np.delete(1.0 + alone, k)) for k, v in enumerate(alone)])
    return alone / variance, total / variance


def by_quadrature(function: Function, count: int, low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
    """First and total indices by Gauss-Legendre points on each half of every factor, for few factors."""
    points, weights = np.polynomial.legendre.leggauss(12)
    points = np.concatenate([0.25 * points + 0.25, 0.25 * points + 0.75])
    weights = np.concatenate([weights, weights]) * 0.25
    grid = np.array(np.meshgrid(*[low + (high - low) * points] * count, indexing="ij"))
    value = function(grid.reshape(count, -1)).reshape(grid.shape[1:])

    def mean(values: np.ndarray, axes: list[int]) -> np.ndarray:
        for axis in axes:
            values = np.moveaxis(np.tensordot(values, weights, (axis, 0))[None], 0, axis)
        return values

    every = list(range(count))
    centred = value - mean(value, every)
    variance = mean(centred**2, every).item()
    first, total = [], []
    for k in every:
        others = [axis for axis in every if axis != k]
        first.append(mean(mean(centred, others) ** 2, [k]).item() / variance)
        total.append(1.0 - mean(mean(centred, [k]) ** 2, others).item() / variance)
    return np.array(first), np.array(total)


def test_closed_forms_agree_with_quadrature() -> None:
    for known, found in zip(ishigami_indices(), by_quadrature(ishigami, 3, -np.pi, np.pi), strict=True):
        np.testing.assert_allclose(found, known, atol=1e-9)

    def padded(x: np.ndarray) -> np.ndarray:
        return g_function(np.vstack([x, np.tile([[0.25], [0.25]], x.shape[1])]))  # both factors are 1 there

    first, total = by_quadrature(padded, 3, 0.0, 1.0)
    alone = 1.0 / (3.0 * (1.0 + WEIGHTS[:3]) ** 2)
    np.testing.assert_allclose(first, alone / (np.prod(1.0 + alone) - 1.0), atol=1e-9)
    assert total[0] > first[0]


@pytest.mark.parametrize(
    ("function", "count", "low", "high", "known"),
    [(ishigami, 3, -np.pi, np.pi, ishigami_indices()), (g_function, 5, 0.0, 1.0, g_indices())],
)
def test_sobol_indices_are_the_known_ones(
    function: Function, count: int, low: float, high: float, known: tuple[np.ndarray, np.ndarray]
) -> None:
    found = sobol(evaluate_with(function), factors(count, low, high), samples=2048, names=["y"], resamples=99)
    here = found.sel(quantity="y")
    for order, exact in zip(("first_order", "total_order"), known, strict=True):
        np.testing.assert_allclose(here[order], exact, atol=0.02)
        inside = (here[f"{order}_low"].values - 0.01 <= exact) & (exact <= here[f"{order}_high"].values + 0.01)
        assert inside.all()
        np.testing.assert_allclose(here[f"{order}_half"], exact, atol=0.05)
    assert int(found["case_count"]) == 2048 * (count + 2) and float(found["failed_share"]) == 0.0


def test_intervals_hold_the_known_indices_over_many_seeds() -> None:
    first, total = ishigami_indices()
    hits = []
    for seed in range(12):
        here = sobol(
            evaluate_with(ishigami), factors(3, -np.pi, np.pi), samples=256, names=["y"], resamples=99, seed=seed
        ).sel(quantity="y")
        for order, exact in (("first_order", first), ("total_order", total)):
            hits.append((here[f"{order}_low"].values <= exact) & (exact <= here[f"{order}_high"].values))
    assert np.mean(hits) > 0.85


def test_failure_that_hangs_on_one_input_is_explained_by_it_alone() -> None:
    """Fails where the first input is in its upper quarter: variance 3/16, all of it the first input's."""
    run = evaluate_with(lambda x: x[1] + 3.0, lambda x: x[0] >= 0.75)
    found = sobol(run, factors(2, 0.0, 1.0), samples=512, names=["completed", "y"], resamples=49)
    done = found.sel(quantity="completed")
    np.testing.assert_allclose(done["first_order"], [1.0, 0.0], atol=0.02)
    np.testing.assert_allclose(done["total_order"], [1.0, 0.0], atol=0.02)
    assert float(done["variance"]) == pytest.approx(3.0 / 16.0, abs=1e-3)
    assert float(found["failed_share"]) == pytest.approx(0.25, abs=2e-3)
    # the value they lack is the worst seen, about 4: a quarter of the cases at 4, the others even over 3 to 4
    y = found.sel(quantity="y")
    assert float(y["stood_in_share"]) == pytest.approx(0.25, abs=2e-3)
    between, within = 3.0 / 16.0 * 0.5**2, 0.75 / 12.0
    assert float(y["first_order"][0]) == pytest.approx(between / (between + within), abs=0.03)
    assert float(y["first_order"][1]) == pytest.approx(0.75**2 / 12.0 / (between + within), abs=0.03)


def test_a_constant_response_shares_nothing_out() -> None:
    found = sobol(evaluate_with(lambda x: 0.0 * x[0] + 5.0), factors(2, 0.0, 1.0), samples=16, resamples=9, names=["y"])
    assert np.isnan(found["total_order"]).all() and float(found["variance"][0]) == 0.0


def test_elementary_effects_of_a_plane_are_its_slopes() -> None:
    slopes = np.array([3.0, -2.0, 0.0])
    run = evaluate_with(lambda x: slopes @ x + 1.0)
    here = screen(run, factors(3, 0.0, 2.0), names=["y"], count=6).sel(quantity="y")
    np.testing.assert_allclose(here["mean_effect"], 2.0 * slopes, atol=1e-12)  # over a width of 2
    np.testing.assert_allclose(here["mean_size"], np.abs(2.0 * slopes), atol=1e-12)
    np.testing.assert_allclose(here["deviation"], 0.0, atol=1e-12)


def test_elementary_effects_of_a_product_deviate() -> None:
    """Effect of x1 in x1 x2 is x2, at 0, 1/3, 2/3 and 1 alike: mean 1/2, variance 5/36."""
    run = evaluate_with(lambda x: x[0] * x[1])
    here = screen(run, factors(2, 0.0, 1.0), names=["y"], count=4000).sel(quantity="y")
    np.testing.assert_allclose(here["mean_effect"], 0.5, atol=0.02)
    np.testing.assert_allclose(here["deviation"], np.sqrt(5.0 / 36.0), atol=0.01)


def test_running_means_settle_on_the_known_mean() -> None:
    """Mean of Ishigami's function: a / 2."""
    found = running_means(evaluate_with(ishigami), factors(3, -np.pi, np.pi), names=["y"], samples=512).sel(
        quantity="y"
    )
    last = found.isel(count=-1)
    assert float(last["low"]) - 0.01 <= A / 2.0 <= float(last["high"]) + 0.01
    assert float(last["error"]) < 0.25 * float(last["random_error"])
    assert float(found["random_error"][0]) == pytest.approx(8.0 * float(last["random_error"]))
    assert found["count"].values.tolist() == [8, 16, 32, 64, 128, 256, 512]


def test_running_means_have_the_interval_of_students_t_over_replicates() -> None:
    """By the textbook's formula on the means themselves: mean of R of them, plus and minus t s / sqrt(R)."""
    ran: list[np.ndarray] = []

    def run(table: Any) -> xr.Dataset:
        found = evaluate_with(lambda x: x[0] ** 2)(table)
        ran.append(found["y"].values)
        return found

    found = running_means(run, factors(2, 0.0, 1.0), names=["y"], samples=16, replicates=5, level=0.8).sel(quantity="y")
    means = ran[0].reshape(5, 16)
    t = 1.5332  # Student's t of 4 degrees of freedom, 90 percent to one side (any table)
    for count in (8, 16):
        here, each = found.sel(count=count), means[:, :count].mean(axis=1)
        np.testing.assert_allclose(here["value"], each)
        error = np.sqrt(np.sum((each - each.mean()) ** 2) / 4.0)
        assert float(here["error"]) == pytest.approx(error)
        assert float(here["mean"]) == pytest.approx(each.mean())
        assert float(here["low"]) == pytest.approx(each.mean() - t * error / np.sqrt(5.0), rel=1e-5)
        assert float(here["high"]) == pytest.approx(each.mean() + t * error / np.sqrt(5.0), rel=1e-5)
        scatter = np.sqrt(np.sum((ran[0] - ran[0].mean()) ** 2) / 79.0)
        assert float(here["random_error"]) == pytest.approx(scatter / np.sqrt(count))


def test_bootstrap_intervals_close_on_their_median_as_the_level_goes_to_nothing() -> None:
    run, two = evaluate_with(lambda x: x[0] + 0.5 * x[1]), factors(2, 0.0, 1.0)
    wide, narrow, none = (
        sobol(run, two, samples=64, names=["y"], resamples=199, level=level).sel(quantity="y")
        for level in (0.95, 0.5, 0.0)
    )
    for order in ("first_order", "total_order"):
        np.testing.assert_array_equal(none[f"{order}_low"], none[f"{order}_high"])
        middle = none[f"{order}_low"]
        assert (wide[f"{order}_low"] < narrow[f"{order}_low"]).all() and (narrow[f"{order}_low"] < middle).all()
        assert (middle < narrow[f"{order}_high"]).all() and (narrow[f"{order}_high"] < wide[f"{order}_high"]).all()


def test_deviation_of_elementary_effects_is_that_of_a_sample() -> None:
    """Two trajectories: effects a and b deviate by |a - b| / sqrt(2), and their mean by half."""
    run = evaluate_with(lambda x: x[0] * x[1])
    here = screen(run, factors(2, 0.0, 1.0), names=["y"], count=2, seed=3).sel(quantity="y")
    # sizes and effects alike here, all positive: the largest of two is mean + deviation / sqrt(2), a third of a whole
    ends = np.stack([here["mean_effect"] - here["deviation"] / np.sqrt(2.0),
                     here["mean_effect"] + here["deviation"] / np.sqrt(2.0)])  # fmt: skip
    np.testing.assert_allclose(3.0 * ends, np.round(3.0 * ends), atol=1e-9)
    assert (here["deviation"] > 0.0).any()
