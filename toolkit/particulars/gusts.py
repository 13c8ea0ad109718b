"""Particulars of the gusts: a published spectrum of the wind as a sum of harmonics for each case."""

from __future__ import annotations

import math

import numpy as np

from toolkit.particulars.common import Array, Judged, Numbers, as_array
from toolkit.particulars.draws import GUST_STREAM, WholeNumbers, uniform_draws

__all__ = [
    "BAND_EDGES",
    "GUST_BAND",
    "HARBOUR_GUST_INTENSITY",
    "HARMONICS",
    "band_variances",
    "gust_harmonics",
    "gust_phasors",
    "hourly_mean",
    "mean_over",
    "npd_spectrum",
    "turbulence_intensity",
]

HARMONICS = 16
"""Harmonics of the gusts, one in each of as many bands of even width in the logarithm of frequency."""

GUST_BAND = (1.0 / 600.0, 0.1)
"""Frequencies of the gusts [Hz]: slower ones are in the ten-minute mean; quicker ones, with eddies of 100 m and less at
10 m/s, do not cover a barge at once."""

BAND_EDGES = np.geomspace(*GUST_BAND, HARMONICS + 1)
"""Edges of the bands [Hz], shape (HARMONICS + 1,)."""

HARBOUR_GUST_INTENSITY = Judged(value=1.7, low=1.0, high=2.5)
"""Gust intensity that stands for a basin among land and sheds; 1 is the open sea of the spectrum. The greatest 3 s
mean in ten minutes at 10 to 15 m/s is then 1.32 to 1.37 times the ten-minute mean; over open sea 1.19 to 1.21."""

_HOUR = 3600.0
_TEN_MINUTES = 600.0
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(8)


def turbulence_intensity(hourly: Numbers, height: Numbers = 10.0) -> Array:
    r"""Standard deviation of the wind over its hourly mean, over open sea [1].

    Parameters
    ----------
    hourly : float or ndarray, shape (n,)
        One-hour mean at 10 m [m s-1].
    height : float or ndarray, shape (n,)
        Above the water [m].

    Notes
    -----
    :math:`0.06 (1 + 0.043 U_0) (z/10)^{-0.22}`: ISO 19901-1, strong winds over
    open sea; its constants were checked in two public implementations, the
    standard itself was not seen.
    """
    return np.asarray(0.06 * (1.0 + 0.043 * as_array(hourly)) * (as_array(height) / 10.0) ** -0.22)[()]


def mean_over(seconds: Numbers, hourly: Numbers) -> Array:
    r"""Greatest mean of the wind at 10 m over a shorter time, within the hour [m s-1].

    Parameters
    ----------
    seconds : float or ndarray, shape (n,)
        Averaging time, up to 3600 s.
    hourly : float or ndarray, shape (n,)
        One-hour mean at 10 m [m s-1].

    Notes
    -----
    :math:`U_0 (1 - 0.41 I_u \ln (t/3600))`, ISO 19901-1, as in `turbulence_intensity`.
    """
    mean = as_array(hourly)
    return np.asarray(mean * (1.0 - 0.41 * turbulence_intensity(mean) * np.log(as_array(seconds) / _HOUR)))[()]


def hourly_mean(ten_minute_mean: Numbers) -> Array:
    """One-hour mean that belongs to a ten-minute mean at 10 m [m s-1].

    Parameters
    ----------
    ten_minute_mean : float or ndarray, shape (n,)
        [m s-1].

    Notes
    -----
    The inverse of `mean_over` at 600 s, a quadratic. At 10 m/s it takes 5.7
    percent off, at 20 m/s 7.4.
    """
    mean = as_array(ten_minute_mean)
    rise = 0.41 * 0.06 * math.log(_HOUR / _TEN_MINUTES)
    slope = 1.0 + rise
    return np.asarray(2.0 * mean / (slope + np.sqrt(slope * slope + 4.0 * 0.043 * rise * mean)))[()]


def npd_spectrum(frequency: Numbers, hourly: Numbers, height: Numbers = 10.0) -> Array:
    r"""Spectral density of the wind's speed along its mean [m2 s-1], that is (m/s)2 per Hz, one-sided.

    Parameters
    ----------
    frequency : float or ndarray
        [Hz].
    hourly : float or ndarray
        One-hour mean at 10 m, above zero [m s-1].
    height : float or ndarray
        Above the water [m].

    Notes
    -----
    :math:`S = 320 (U_0/10)^2 (z/10)^{0.45} / (1 + \tilde f^n)^{5/(3n)}`, with
    :math:`\tilde f = 172 f (z/10)^{2/3} (U_0/10)^{-3/4}` and n = 0.468: the NPD
    spectrum of ISO 19901-1, measured over open sea, for 1/600 to 0.5 Hz (range
    from memory). Its constants were checked in two independent public
    implementations; the standard itself was not seen. Inshore turbulence is
    stronger: see `HARBOUR_GUST_INTENSITY`. Kaimal's and Harris's spectra want
    a length of turbulence and a roughness that a study rarely knows; over a
    roughness of 1 cm, Kaimal's in the form of DNV-RP-C205 with the same
    variance within `GUST_BAND` lies between 0.6 and 1.25 times this one at 10 m/s.
    """
    level, up = as_array(hourly) / 10.0, as_array(height) / 10.0
    reduced = 172.0 * as_array(frequency) * up ** (2.0 / 3.0) * level**-0.75
    return np.asarray(320.0 * level**2 * up**0.45 / (1.0 + reduced**0.468) ** (5.0 / (3.0 * 0.468)))[()]


def band_variances(hourly: Numbers) -> Array:
    """Variance of the wind at 10 m in each band of `BAND_EDGES` [m2 s-2], shape (n, HARMONICS).

    Parameters
    ----------
    hourly : float or ndarray, shape (n,)
        One-hour mean at 10 m [m s-1].

    Notes
    -----
    The integral of `npd_spectrum` in the logarithm of frequency, by Gauss's
    rule with eight points a band: exact to rounding.
    """
    middle, half = 0.5 * np.log(BAND_EDGES[1:] * BAND_EDGES[:-1]), 0.5 * np.diff(np.log(BAND_EDGES))
    frequency = np.exp(middle[:, np.newaxis] + half[:, np.newaxis] * _POINTS)
    density = npd_spectrum(frequency, np.atleast_1d(as_array(hourly))[:, np.newaxis, np.newaxis])
    return np.asarray(half * np.sum(_WEIGHTS * frequency * density, axis=-1))


def gust_harmonics(
    mean_speed: Numbers, seed: WholeNumbers, draw: WholeNumbers, intensity: Numbers = 1.0
) -> tuple[Array, Array, Array]:
    """Gusts of each case as a sum of harmonics.

    Parameters
    ----------
    mean_speed : float or ndarray, shape (n,)
        Ten-minute mean at 10 m [m s-1].
    seed, draw : int or ndarray of int, shape (n,)
        As in `toolkit.particulars.draws.uniform_draws`.
    intensity : float or ndarray, shape (n,)
        Factor on the gusts: 0 off, 1 the spectrum of the open sea [1].

    Returns
    -------
    amplitude : ndarray, shape (n, HARMONICS)
        Over the mean speed [1].
    frequency : ndarray, shape (n, HARMONICS)
        One in each band, drawn evenly in its logarithm [Hz].
    phase : ndarray, shape (n, HARMONICS)
        [rad].

    Notes
    -----
    The factor on the mean is ``1 + sum(a cos(2 pi f t + phase))``. Amplitudes
    come from the integral of the spectrum over each band, so the variance
    within `GUST_BAND` is that of the spectrum for every case. Frequencies and
    phases depend on seed and draw alone: the same draw brings the same gusts
    at every mean, stronger or weaker, in any order and chunk. Lulls and gusts
    are alike and the distribution is near to a normal one, as in any sum of
    harmonics; the mean over ten minutes of one draw is not exactly the mean.
    Gusts are felt by both hulls at once and do not change the wind's direction.
    """
    speed, number, strength = np.broadcast_arrays(
        np.atleast_1d(as_array(mean_speed)), np.atleast_1d(np.asarray(draw)), np.atleast_1d(as_array(intensity))
    )
    mean = np.maximum(speed, 1e-3)  # in a calm the factor has nothing to work on, but must be a number
    amplitude = np.sqrt(2.0 * band_variances(hourly_mean(mean))) * (strength / mean)[:, np.newaxis]
    uniform = uniform_draws(seed, number, stream=GUST_STREAM, count=2 * HARMONICS)
    frequency = BAND_EDGES[:-1] * (BAND_EDGES[1:] / BAND_EDGES[:-1]) ** uniform[:, :HARMONICS]
    return amplitude, frequency, 2.0 * math.pi * uniform[:, HARMONICS:]


def gust_phasors(frequency: Array, phase: Array, tick: float) -> tuple[Array, Array, Array, Array]:
    """Harmonics as pairs of cosine and sine, and their turn in a tick, for `toolkit.loads.gusts.advance_gusts`.

    Parameters
    ----------
    frequency, phase : ndarray, shape (n, HARMONICS)
        Of `gust_harmonics` [Hz], [rad].
    tick : float
        Time between two calls of the kernel function [s].

    Returns
    -------
    cosine, sine, turn_cosine, turn_sine : ndarray, shape (n, HARMONICS)
        At the start, and of the angle turned in a tick.
    """
    turn = 2.0 * math.pi * as_array(frequency) * tick
    return np.cos(phase), np.sin(phase), np.cos(turn), np.sin(turn)
