"""Gusts: the spectrum, harmonics of a case and their random numbers, and their course in time."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.signal import welch

from toolkit.kernels import compiled
from toolkit.loads.gusts import advance_gusts, front_factor, turn_phasor
from toolkit.particulars.draws import GUST_STREAM, uniform_draws
from toolkit.particulars.gusts import (
    BAND_EDGES,
    GUST_BAND,
    HARBOUR_GUST_INTENSITY,
    HARMONICS,
    band_variances,
    gust_harmonics,
    gust_phasors,
    hourly_mean,
    mean_over,
    npd_spectrum,
    turbulence_intensity,
)

TICK = 0.5
FIRST_THREE = [0.0751511510959112, 0.9837951334859096, 0.9474135472691851]
"""Numbers of seed 1, stream 1, draw 0: a change of these changes every study with gusts."""


def series(mean: float, draws: np.ndarray, seconds: float, intensity: float = 1.0, seed: int = 1) -> np.ndarray:
    """Factor on the mean wind of each draw at every tick, straight from the sum of cosines."""
    time = np.arange(0.0, seconds, TICK)
    amplitude, frequency, phase = gust_harmonics(np.full(len(draws), mean), seed, draws, intensity)
    angle = 2.0 * math.pi * frequency[:, :, np.newaxis] * time + phase[:, :, np.newaxis]
    return 1.0 + np.einsum("nh,nht->nt", amplitude, np.cos(angle))


def test_spectrum_by_hand() -> None:
    # U0 10 m/s, 10 m, 0.01 Hz: reduced frequency 1.72, 320 / 2.28895^3.5613 (five figures)
    assert npd_spectrum(0.01, 10.0) == pytest.approx(320.0 / (1.0 + 1.72**0.468) ** 3.561, rel=3e-4)
    assert npd_spectrum(0.01, 10.0) == pytest.approx(16.77, abs=0.01)
    # 20 m/s at 20 m, 0.02 Hz
    reduced = 172 * 0.02 * 2 ** (2 / 3) * 2**-0.75
    expected = 320 * 4 * 2**0.45 / (1 + reduced**0.468) ** (5 / 3 / 0.468)
    assert npd_spectrum(0.02, 20.0, 20.0) == pytest.approx(expected, rel=1e-12)
    # far above the peak it falls with the power -5/3
    assert npd_spectrum(1e9, 10.0) / npd_spectrum(1e8, 10.0) == pytest.approx(10 ** (-5 / 3), rel=0.01)


def test_averaging_times() -> None:
    means = np.array([0.0, 3.0, 10.0, 20.0, 32.0])
    np.testing.assert_allclose(mean_over(600.0, hourly_mean(means)), means, rtol=1e-14)
    assert mean_over(3600.0, 12.0) == pytest.approx(12.0)
    assert 1.0 - hourly_mean(10.0) / 10.0 == pytest.approx(0.057, abs=2e-3)
    assert 1.0 - hourly_mean(20.0) / 20.0 == pytest.approx(0.074, abs=1e-3)
    assert turbulence_intensity(10.0) == pytest.approx(0.0858)
    assert turbulence_intensity(10.0, 100.0) == pytest.approx(0.0858 * 10**-0.22)


def test_variance_in_each_band_is_the_integral_of_the_spectrum() -> None:
    assert (BAND_EDGES[0], BAND_EDGES[-1]) == pytest.approx(GUST_BAND)
    variances = band_variances(np.array([4.0, 15.0]))
    for row, hourly in zip(variances, (4.0, 15.0), strict=True):
        for value, low, high in zip(row, BAND_EDGES[:-1], BAND_EDGES[1:], strict=True):
            exact = quad(lambda f, hourly=hourly: float(npd_spectrum(f, hourly)), low, high, epsrel=1e-12)[0]
            assert value == pytest.approx(exact, rel=1e-10)
    amplitude, _, _ = gust_harmonics(np.array([12.0, 12.0]), 1, np.array([0, 1]))
    np.testing.assert_allclose(0.5 * amplitude**2 * 144.0, [band_variances(hourly_mean(12.0))[0]] * 2, rtol=1e-12)


def test_variance_of_the_course_in_time() -> None:
    # an hour and more of every draw; what is left is the beat of neighbouring harmonics
    gusts = series(12.0, np.arange(40), 7200.0)
    expected = np.sum(band_variances(hourly_mean(12.0))) / 144.0
    assert np.mean(np.var(gusts, axis=1)) == pytest.approx(expected, rel=0.03)
    assert np.mean(gusts) == pytest.approx(1.0, abs=0.003)


def test_spectrum_of_the_course_in_time_is_the_formula() -> None:
    gusts = 12.0 * series(12.0, np.arange(200), 4096.0)
    frequency, density = welch(gusts, fs=1.0 / TICK, nperseg=4096, axis=-1)
    mean_density = np.mean(density, axis=0)
    expected = npd_spectrum(np.maximum(frequency, 1e-6), hourly_mean(12.0))
    for low, high in zip(BAND_EDGES[2:-1:2], BAND_EDGES[4::2], strict=False):  # pairs of bands that the window resolves
        inside = (frequency >= low) & (frequency < high)
        assert np.sum(mean_density[inside]) == pytest.approx(np.sum(expected[inside]), rel=0.12)
    assert np.max(mean_density[frequency > 0.15]) < 0.02 * np.max(expected[frequency > 0.15])


def test_gust_factor_is_that_of_the_standard_and_inshore_that_of_practice() -> None:
    for mean in (10.0, 15.0):
        gusts = series(mean, np.arange(300), 600.0)
        smooth = np.cumsum(np.pad(gusts, ((0, 0), (1, 0))), axis=1)
        peaks = np.max((smooth[:, 6:] - smooth[:, :-6]) / 6.0, axis=1)
        hourly = hourly_mean(mean)
        # 3 s over 10 min by the formula of the averaging times: 1.172 and 1.195
        assert np.mean(peaks) == pytest.approx(mean_over(3.0, hourly) / mean_over(600.0, hourly), abs=0.03)
        inshore = 1.0 + HARBOUR_GUST_INTENSITY.value * (np.mean(peaks) - 1.0)
        assert 1.30 < inshore < 1.40
        assert np.quantile(1.0 + HARBOUR_GUST_INTENSITY.value * (peaks - 1.0), 0.05) > 1.2


def test_agrees_with_a_spectrum_of_winds_over_land() -> None:
    # Kaimal in the form of DNV-RP-C205 (seen second hand), roughness 1 cm, the same variance within the band
    mean, hourly = 10.0, hourly_mean(10.0)
    length = 300.0 * (10.0 / 300.0) ** (0.46 + 0.074 * math.log(0.01))
    frequency = np.geomspace(*GUST_BAND, 200)
    kaimal = 6.868 * length / mean / (1.0 + 10.32 * frequency * length / mean) ** (5.0 / 3.0)
    kaimal *= np.sum(band_variances(hourly)) / np.trapezoid(kaimal, frequency)
    ratio = kaimal / npd_spectrum(frequency, hourly)
    assert np.min(ratio) > 0.59
    assert np.max(ratio) < 1.26


def test_draws_are_independent() -> None:
    uniform = uniform_draws(7, np.arange(4000), stream=GUST_STREAM, count=32)
    assert uniform.shape == (4000, 32)
    assert np.min(uniform) >= 0.0 and np.max(uniform) < 1.0
    # chance alone: 1 / sqrt(12 n) for the mean of a column, 1 / sqrt(n) for a correlation; five times as much fails
    assert np.max(np.abs(np.mean(uniform, axis=0) - 0.5)) < 5.0 / math.sqrt(12 * 4000)
    correlation = np.corrcoef(uniform.T) - np.eye(32)
    assert np.max(np.abs(correlation)) < 5.0 / math.sqrt(4000)
    assert np.corrcoef(uniform[:-1].ravel(), uniform[1:].ravel())[0, 1] == pytest.approx(0.0, abs=5 / math.sqrt(1.3e5))
    # winds of different draws, and of one draw of different seeds, do not go together
    gusts = series(12.0, np.arange(60), 3600.0)
    between = np.corrcoef(gusts) - np.eye(60)
    assert np.sqrt(np.mean(between**2)) < 0.2
    assert abs(np.mean(between)) < 0.02
    assert not np.any(uniform_draws(8, 3, stream=1, count=8) == uniform_draws(7, 3, stream=1, count=8))
    assert not np.any(uniform_draws(7, 3, stream=2, count=8) == uniform_draws(7, 3, stream=1, count=8))


def test_a_draw_is_the_same_in_any_company() -> None:
    draws = np.array([5, 0, 9, 5, 123456789012])
    together = uniform_draws(3, draws, stream=1, count=12)
    for row, draw in zip(together, draws, strict=True):
        np.testing.assert_array_equal(uniform_draws(3, int(draw), stream=1, count=12)[0], row)
    np.testing.assert_array_equal(uniform_draws(3, draws[::-1], stream=1, count=12), together[::-1])
    np.testing.assert_array_equal(uniform_draws(3, draws, stream=1, count=5), together[:, :5])
    seeds = np.array([3, 4, 3, 4, 3])
    np.testing.assert_array_equal(uniform_draws(seeds, draws, stream=1, count=12)[[0, 2, 4]], together[[0, 2, 4]])


def test_harmonics_of_a_case_are_the_same_bits_in_any_company() -> None:
    means, draws = np.linspace(2.0, 25.0, 37), np.arange(37) % 5
    together = gust_harmonics(means, 1, draws, 1.3)
    for case in (0, 8, 36):
        for whole, alone in zip(together, gust_harmonics(means[case], 1, int(draws[case]), 1.3), strict=True):
            np.testing.assert_array_equal(whole[case], alone[0])


def test_random_numbers_stay_as_they_are() -> None:
    # the published answer of Philox 4x64-10 at key 0 and counter 0 (numpy counts up once before it answers)
    answer = np.random.Philox(key=0, counter=2**256 - 1).random_raw(4)
    assert [f"{int(word):016x}" for word in answer] == [
        "16554d9eca36314c", "db20fe9d672d0fdc", "d7e772cee186176b", "7e68b68aec7ba23b"
    ]  # fmt: skip
    np.testing.assert_allclose(uniform_draws(1, 0, stream=1, count=3)[0], FIRST_THREE, rtol=1e-14)
    with pytest.raises(ValueError, match="negative"):
        uniform_draws(1, -1, stream=1, count=3)


def test_the_same_draw_brings_the_same_gusts_at_every_mean() -> None:
    means = np.array([5.0, 20.0, 0.0])
    amplitude, frequency, phase = gust_harmonics(means, 1, 4)
    np.testing.assert_array_equal(frequency, [frequency[0]] * 3)
    np.testing.assert_array_equal(phase, [phase[0]] * 3)
    assert np.all((frequency >= BAND_EDGES[:-1]) & (frequency <= BAND_EDGES[1:]))
    assert np.all(np.isfinite(amplitude))  # a calm too
    # stronger winds are gustier, by the spectrum
    assert np.sum(amplitude[1] ** 2) > np.sum(amplitude[0] ** 2)
    still, _, _ = gust_harmonics(means, 1, 4, 0.0)
    np.testing.assert_array_equal(still, 0.0)
    twice, _, _ = gust_harmonics(5.0, 1, 4, 2.0)
    np.testing.assert_allclose(twice[0], 2.0 * amplitude[0], rtol=1e-15)


@pytest.mark.parametrize("form", ["plain", "compiled"])
def test_harmonics_are_carried_on_as_the_cosines_go(form: str) -> None:
    lanes, ticks = 3, 400
    amplitude, frequency, phase = gust_harmonics(np.array([12.0, 6.0, 18.0]), 1, np.array([0, 1, 2]), 1.5)
    cosine, sine, turn_cosine, turn_sine = gust_phasors(frequency, phase, TICK)
    memory = np.concatenate([cosine.T.ravel(), sine.T.ravel()])
    parameters = np.concatenate([amplitude.T.ravel(), turn_cosine.T.ravel(), turn_sine.T.ravel()])
    block = HARMONICS * lanes
    advance = compiled(advance_gusts) if form == "compiled" else advance_gusts
    factors = np.array(
        [
            [advance(memory, parameters, 0, block, 0, block, 2 * block, HARMONICS, lanes, k) for k in range(lanes)]
            for _ in range(ticks)
        ]
    ).T
    time = TICK * np.arange(ticks)
    expected = 1.0 + np.einsum(
        "nh,nht->nt", amplitude, np.cos(2 * np.pi * frequency[:, :, None] * time + phase[:, :, None])
    )
    np.testing.assert_allclose(factors, expected, atol=1e-11)


def test_pairs_keep_their_length_for_an_hour() -> None:
    turn = 2.0 * math.pi * 0.0371 * TICK
    c, s = 1.0, 0.0
    for _ in range(7200):
        c, s = turn_phasor(c, s, math.cos(turn), math.sin(turn))
    assert math.hypot(c, s) == pytest.approx(1.0, abs=1e-11)
    assert (c, s) == pytest.approx((math.cos(7200 * turn), math.sin(7200 * turn)), abs=1e-9)


def test_wind_never_turns_about() -> None:
    memory, parameters = np.array([-1.0, 0.0]), np.array([1.7, 1.0, 0.0])
    assert advance_gusts(memory, parameters, 0, 1, 0, 1, 2, 1, 1, 0) == 0.0


def test_front() -> None:
    assert [front_factor(t, 60.0, 20.0, 1.5) for t in (0.0, 60.0, 70.0, 80.0, 500.0)] == [1.0, 1.0, 1.25, 1.5, 1.5]
    assert front_factor(1e4, math.inf, 20.0, 1.5) == 1.0
    course = np.array([front_factor(float(t), 60.0, 20.0, 0.6) for t in np.linspace(50.0, 90.0, 401)])
    assert np.all(np.diff(course) <= 0.0)
    assert course[-1] == pytest.approx(0.6)
    assert np.max(np.abs(np.diff(course, 2))) < 6.0 * 0.4 * (0.1 / 20.0) ** 2 * 1.01  # no corner
