"""Turning or mirroring limit and record together changes nothing; nothing is read to the limit's favour."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.weather import made_record
from toolkit.findings.operability import (
    availability,
    events,
    exceedance,
    limit_at,
    limit_table,
    windows,
    workable_time,
)
from toolkit.findings.operability.spells import drop_short_calms, spells

COUNTS = st.integers(4, 24)
TURNS = st.integers(0, 359)
SEEDS = st.integers(0, 2**32 - 1)


def rose(seed: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Bearings on whole degrees, no two more than 90 degrees apart, and limits; some never."""
    generator = np.random.default_rng(seed)
    bearings = np.unique(np.concatenate([np.arange(0, 360, 90), generator.integers(0, 360, count)]))
    limits = generator.uniform(2.0, 14.0, bearings.size)
    limits[generator.uniform(size=bearings.size) < 0.1] = np.nan
    return bearings, limits


def weather(seed: int, size: int = 120) -> tuple[np.ndarray, np.ndarray]:
    generator = np.random.default_rng(seed + 1)
    speed = 6.0 * generator.weibull(1.9, size)
    speed[generator.uniform(size=size) < 0.05] = np.nan
    speed[generator.uniform(size=size) < 0.05] = 0.0
    bearing = generator.integers(0, 360, size).astype(float)
    bearing[(speed == 0.0) | (generator.uniform(size=size) < 0.05)] = np.nan
    return speed, bearing


@settings(max_examples=30)
@given(SEEDS, COUNTS, TURNS, st.booleans())
def test_turned_and_mirrored_together_nothing_changes(seed: int, count: int, turn: int, mirrored: bool) -> None:
    bearings, limits = rose(seed, count)
    speed, bearing = weather(seed)
    sign = -1 if mirrored else 1
    one = workable_time(made_record(speed, bearing), limit_table(bearings, limits))
    other = workable_time(
        made_record(speed, (sign * bearing + turn) % 360), limit_table((sign * bearings + turn) % 360, limits)
    )
    np.testing.assert_array_equal(one["workable"], other["workable"])
    np.testing.assert_array_equal(one["limit"], other["limit"])


@settings(max_examples=30)
@given(SEEDS, COUNTS)
def test_the_limit_is_no_more_than_that_of_either_neighbour(seed: int, count: int) -> None:
    bearings, limits = rose(seed, count)
    limit = limit_table(bearings, limits)
    every = np.arange(0.0, 360.0, 0.5)
    found = limit_at(limit, every)
    nearest = np.abs((every[:, None] - bearings[None, :] + 180.0) % 360.0 - 180.0)
    given_limits = np.where(np.isnan(limits), -np.inf, limits)
    assert (found <= given_limits[np.argmin(nearest, axis=1)]).all()
    on = limit_at(limit, bearings.astype(float))
    np.testing.assert_array_equal(on, given_limits)


@settings(max_examples=30)
@given(SEEDS, COUNTS, st.floats(0.3, 1.0))
def test_a_lower_limit_never_gives_more_time(seed: int, count: int, factor: float) -> None:
    bearings, limits = rose(seed, count)
    record = made_record(*weather(seed))
    high = workable_time(record, limit_table(bearings, limits))
    low = workable_time(record, limit_table(bearings, limits * factor))
    assert (high["workable"] | ~low["workable"]).all()
    assert (low["workable"].sel(rule="joint") | ~low["workable"].sel(rule="box")).all()


@settings(max_examples=30)
@given(SEEDS, st.integers(1, 12), st.integers(0, 12))
def test_spells_account_for_every_step(seed: int, job: int, calm: int) -> None:
    record = made_record(*weather(seed))
    held = workable_time(record, limit_table([0, 90, 180, 270], [7.0] * 4))
    known = held["known"].values
    state = np.where(known, held["workable"].sel(rule="joint").values, -1).astype(np.int8)
    table = spells(state)
    np.testing.assert_array_equal(np.repeat(table["state"], table["steps"]), state)
    dropped = drop_short_calms(state, calm)
    assert (dropped <= state).all() and ((dropped == -1) == (state == -1)).all()
    share = float(availability(held)["share"].sel(rule="joint"))
    told = events(held, calm_hours=calm).sel(rule="joint")
    assert float(told["conditional_availability"]) <= share + 1e-12
    exceeded = float(told["count"]) * (float(told["mean_duration"]) if int(told["count"]) else 0.0)
    assert np.isclose(exceeded + float(told["conditional_availability"]) * known.sum(), known.sum())
    found = windows(held, job_hours=job).sel(rule="joint")
    assert float(found["share_in_windows"]) <= share + 1e-12
    # by a loop: a start is possible where the next hours are all known and workable, and untold at a gap
    possible = sum((state[n : n + job] == 1).sum() == job for n in range(state.size))
    impossible = sum(
        any(state[k] == 0 and (state[n:k] == 1).all() for k in range(n, min(n + job, state.size)))
        for n in range(state.size)
    )
    assert np.isclose(float(found["share_of_starts"]), possible / (possible + impossible))


@settings(max_examples=30)
@given(SEEDS)
def test_exceedance_falls_from_the_share_that_is_not_calm(seed: int) -> None:
    speed, bearing = weather(seed)
    shares = exceedance(made_record(speed, bearing), np.linspace(0, 30, 61)).values
    assert (np.diff(shares) <= 0).all() and shares[-1] == 0.0
    known = speed[~np.isnan(speed)]
    assert np.isclose(shares[0], (known > 0).mean())
