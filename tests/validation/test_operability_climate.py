"""Operability against closed forms of a climate, and against a real hourly record counted another way."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from toolkit.findings.operability import (
    ReadingOptions,
    availability,
    availability_by_direction,
    exceedance,
    invented_record,
    limit_table,
    operability,
    read_record,
    reading_lines,
    workable_time,
)
from toolkit.findings.operability.invented import (
    EFOLD_HOURS,
    MAIN_SECTOR,
    SEASONS,
    WEIBULL_SCALE,
    WEIBULL_SHAPE,
)

EVERY = [0.0, 90.0, 180.0, 270.0]


@pytest.fixture(scope="module")
def even() -> xr.Dataset:
    """Sixty years without seasons: some 30,000 independent hours."""
    return invented_record(60, seasonal=False)


def survival(speed: np.ndarray | float, scale: float = WEIBULL_SCALE) -> np.ndarray:
    return np.exp(-((np.asarray(speed) / scale) ** WEIBULL_SHAPE))


def test_exceedance_of_a_weibull_climate_is_its_closed_form(even: xr.Dataset) -> None:
    speeds = np.array([2.0, 5.0, 8.0, 10.0, 12.9, 15.4])
    expected = survival(speeds)
    # an autoregressive variable of memory T has n dt / 2 T independent values, about
    spread = np.sqrt(expected * (1 - expected) / (even.sizes["time"] / (2 * EFOLD_HOURS)))
    got = exceedance(even, speeds).values
    assert (np.abs(got - expected) < 4 * spread).all(), (got, expected, spread)
    # figures that the invented climate was stated with
    np.testing.assert_allclose(expected[3:], [0.10, 0.025, 0.006], rtol=0.1)


def test_availability_by_month_is_the_weibull_one_of_its_season() -> None:
    record = invented_record(60, seed=8)
    found = availability(workable_time(record, limit_table(EVERY, [9.0] * 4)))
    for month in range(1, 13):
        expected = 1.0 - float(survival(9.0, WEIBULL_SCALE * SEASONS.get(month, 1.0)))
        hours = int(found["known_by_month"].sel(month=month))
        spread = np.sqrt(expected * (1 - expected) / (hours / (2 * EFOLD_HOURS)))
        assert abs(float(found["share_by_month"].sel(rule="joint", month=month)) - expected) < 4 * spread


def test_joint_availability_is_the_sum_over_directions(even: xr.Dataset) -> None:
    """Speed and direction are independent, so the joint share is the mean of the closed forms over directions."""
    limit = limit_table([0, 45, 90, 135, 180, 225, 270, 315], [12.0, 12.0, 10.0, 10.0, 9.0, 5.0, 6.0, 11.0])
    bearings = np.arange(0.5, 360.0, 1.0)
    low, high, part = MAIN_SECTOR
    inside = (bearings > low) & (bearings < high)
    weight = np.where(inside, part / inside.sum(), (1.0 - part) / (~inside).sum())
    speeds = limit["limit"].values
    lesser = np.minimum(speeds, np.roll(speeds, -1))[(bearings // 45).astype(int)]
    expected = float((weight * (1.0 - survival(lesser))).sum())
    found = availability(workable_time(even, limit))
    spread = np.sqrt(expected * (1 - expected) / (even.sizes["time"] / (2 * EFOLD_HOURS)))
    assert abs(float(found["share"].sel(rule="joint")) - expected) < 4 * spread
    box = float(found["share"].sel(rule="box"))
    assert box == pytest.approx(1.0 - float(exceedance(even, 5.0)[0]))
    assert expected - box > 0.15  # what the box gives away


def test_the_invented_record_is_what_it_says(even: xr.Dataset) -> None:
    bearing = even["wind_from"].values
    low, high, part = MAIN_SECTOR
    assert np.mean((bearing >= low) & (bearing < high)) == pytest.approx(part, abs=0.01)
    elsewhere = np.histogram(np.mod(bearing - high, 360.0), bins=5, range=(0, 300))[0] / bearing.size
    np.testing.assert_allclose(elsewhere, (1 - part) / 5, atol=0.01)
    # the normal variable behind the speed, recovered through its distribution
    from scipy.special import ndtri

    normal = ndtri(np.clip(1.0 - survival(even["wind_speed"].values), 1e-12, 1 - 1e-12))
    lag = int(EFOLD_HOURS)
    assert np.mean(normal[lag:] * normal[:-lag]) == pytest.approx(np.exp(-1.0), abs=0.02)
    assert np.mean(normal[2 * lag :] * normal[: -2 * lag]) == pytest.approx(np.exp(-2.0), abs=0.02)
    again = invented_record(60, seasonal=False)
    xr.testing.assert_identical(even, again)
    assert not np.array_equal(invented_record(1, seed=1)["wind_speed"], invented_record(1, seed=2)["wind_speed"])
    assert "INVENTED" in reading_lines(even)[0] and "seed" in "".join(reading_lines(even))
    tide = invented_record(1, current=True)["current_speed"].values / (1852 / 3600)
    assert tide.max() == pytest.approx(0.8, abs=0.01)
    daily = pd.Series(tide).rolling(25).max()
    assert daily.min() == pytest.approx(0.2, abs=0.03)  # neaps


def test_windows_of_a_memoryless_climate_are_geometric() -> None:
    """Hours that know nothing of each other: a job of n hours can begin with the n-th power of the availability."""
    generator = np.random.default_rng(6)
    record = invented_record(20, seasonal=False)
    record["wind_speed"] = ("time", np.where(generator.uniform(size=record.sizes["time"]) < 0.7, 5.0, 15.0))
    found = operability(record, limit_table(EVERY, [10.0] * 4), job_hours=3.0)
    assert found.windows is not None and found.single_events is not None
    share = float(found.availability["share"].sel(rule="joint"))
    starts = found.windows["share_of_starts_by_length"].sel(rule="joint", length=[1.0, 2.0, 3.0, 6.0]).values
    np.testing.assert_allclose(starts, share ** np.array([1, 2, 3, 6]), rtol=0.02)
    # events last 1 / (share of calm) on average
    assert float(found.single_events["mean_duration"].sel(rule="joint")) == pytest.approx(1 / share, rel=0.01)
    # mean wait of a run of n successes in a row, less the n hours of the run itself
    wait = (1 - share**3) / ((1 - share) * share**3) - 3
    assert float(found.windows["mean_wait"].sel(rule="joint")) == pytest.approx(wait, rel=0.05)


def real_record() -> Path:
    """Typical year of a coastal station, which ships with a package of the test extra."""
    spec = importlib.util.find_spec("pvlib")
    path = Path(spec.origin).parent / "data" / "703165TY.csv" if spec is not None and spec.origin else Path("nowhere")
    if not path.is_file():
        pytest.skip("the typical-year file 703165TY.csv of the package pvlib is not installed")
    return path


def test_exceedance_of_a_real_record_comes_out_by_an_independent_count() -> None:
    """A coastal typical year counted by hand in pandas, from the file itself."""
    path = real_record()
    record = read_record(path, ReadingOptions(typical_year=True, times_at="end", averaging="2 min"))
    raw = pd.read_csv(path, skiprows=1)
    speed, bearing = raw["Wspd (m/s)"], raw["Wdir (degrees)"]
    month = raw["Date (MM/DD/YYYY)"].str[:2].astype(int)
    hour = raw["Time (HH:MM)"].str[:2].astype(int) - 1  # the hour that ends at that time
    assert len(raw) == record.sizes["time"] == 8760
    assert record.attrs["kind"] == "typical_year"

    thresholds = [0.0, 2.1, 5.1, 7.7, 10.3, 12.9, 15.4, 20.0]
    counts = exceedance(record, thresholds).values * 8760
    np.testing.assert_allclose(counts, [(speed > t).sum() for t in thresholds], atol=1e-6)

    limits = {0: 12.0, 90: 9.0, 180: 7.7, 270: 10.3}
    found = operability(record, limit_table(list(limits), list(limits.values())))

    def allowed(calm: bool, direction: float) -> float:
        if calm:
            return min(limits.values())
        below = int(direction // 90 * 90)
        return limits[below % 360] if direction % 90 == 0 else min(limits[below], limits[(below + 90) % 360])

    by_row = [allowed(s == 0, d) for s, d in zip(speed, bearing, strict=True)]
    for rule, fine in (("joint", speed <= pd.Series(by_row)), ("box", speed <= 7.7)):
        told = found.availability
        assert float(told["share"].sel(rule=rule)) * 8760 == pytest.approx(fine.sum(), abs=1e-6)
        by_month = told["share_by_month"].sel(rule=rule) * told["known_by_month"]
        np.testing.assert_allclose(by_month, fine.groupby(month).sum(), atol=1e-6)
        by_hour = told["share_by_hour"].sel(rule=rule) * told["known_by_hour"]
        np.testing.assert_allclose(by_hour, fine.groupby(hour).sum(), atol=1e-6)
        both = told["share_by_month_and_hour"].sel(rule=rule) * told["known_by_month_and_hour"]
        np.testing.assert_allclose(both, fine.groupby([month, hour]).sum().unstack(), atol=1e-6)
    assert found.events is None and found.years is None

    by = availability_by_direction(found.held, np.arange(0, 360, 10))
    blowing = bearing[speed > 0] % 360
    np.testing.assert_allclose(
        by["share_of_time"].values * 8760, [(blowing == b).sum() for b in range(0, 360, 10)], atol=1e-6
    )


def test_a_real_record_in_knots_at_another_height_tells_the_same(tmp_path: Path) -> None:
    """The same winds, written in knots as measured at 20 m, with a third of the hours lost."""
    raw = pd.read_csv(real_record(), skiprows=1)
    lost = np.arange(len(raw)) % 3 == 1
    written = pd.DataFrame({
        "time": pd.date_range("2001-01-01", periods=len(raw), freq="1h").strftime("%Y-%m-%dT%H:%MZ"),
        "wind_speed [kn]": raw["Wspd (m/s)"] * 2 ** (1 / 7) / (1852 / 3600),
        "wind_from [deg]": raw["Wdir (degrees)"],
    })  # fmt: skip
    path = tmp_path / "knots.csv"
    written[~lost].to_csv(path, index=False)
    record = read_record(path, ReadingOptions(height=20.0, step="1 h"))
    speed = raw["Wspd (m/s)"][~lost]
    assert int(record["wind_speed"].notnull().sum()) == len(speed)
    thresholds = [2.0, 5.0, 8.0, 13.0]  # between the steps of the file, so that rounding does not matter
    counts = exceedance(record, thresholds).values * len(speed)
    np.testing.assert_allclose(counts, [(speed > t).sum() for t in thresholds], atol=1e-6)
