"""An invented record of wind and current, for demonstrations: the climate is nobody's (floor 5)."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse

__all__ = ["DEFAULT_SEED", "EFOLD_HOURS", "MAIN_SECTOR", "WEIBULL_SCALE", "WEIBULL_SHAPE", "invented_record"]

WEIBULL_SHAPE = 1.9
"""Shape of the Weibull distribution of the mean wind; invented."""

WEIBULL_SCALE = 6.5
"""Its scale in spring and autumn [m s-1]; invented."""

SEASONS: dict[int, float] = {12: 1.15, 1: 1.15, 2: 1.15, 6: 0.85, 7: 0.85, 8: 0.85}
"""Factor on the scale by month, 1 in the months that are not named; invented."""

EFOLD_HOURS = 8.0
"""Time in which the autocorrelation of the normal variable behind speed, and behind direction, falls to 1/e [hour]."""

MAIN_SECTOR = (210.0, 270.0, 0.35)
"""Bearings between which the wind comes from for a share of the time, evenly; elsewhere it is even too; invented."""

GUST_FACTOR = 1.35
"""Gust over mean; invented."""

TIDES: tuple[tuple[float, float], ...] = ((12.4206, 0.5), (12.0, 0.3))
"""Periods of the lunar and the solar half-day tide [hour], and currents [knot]: 0.2 kn at neaps, 0.8 at springs."""

FLOOD_TO = 90.0
"""Bearing the flood runs TO [degree]; the ebb runs the other way."""

DEFAULT_SEED = 20261125


def invented_record(
    years: int = 10, *, seed: int = DEFAULT_SEED, seasonal: bool = True, current: bool = False
) -> xr.Dataset:
    """Hourly record of the invented Marrowby Basin.

    Parameters
    ----------
    years : int
        Number of years, 1 to 100; they begin in 2001, which means nothing.
    seed : int
        Of numpy's default generator; the same seed gives the same record.
    seasonal : bool
        Whether the scale changes with the season.
    current : bool
        Whether to add a tidal current.

    Returns
    -------
    xarray.Dataset
        As :func:`toolkit.findings.operability.read_record` gives it, with ``kind``
        ``invented``, ``seed`` and ``gust_factor`` among the attributes. Mean wind
        at 10 m over ten minutes; hours are UTC.

    Notes
    -----
    A first-order autoregressive normal variable, its correlation falling by e
    in `EFOLD_HOURS`, is mapped through its distribution to the Weibull one of
    the month; a second one, independent of it, to the bearing, its middle to
    the middle of `MAIN_SECTOR`. Hence no daily run of the wind, no storms from
    one quarter, and an even length of memory: a stand-in, no climate.
    """
    problems = [
        Problem(where=name, what=f"{name} = {value!r} is no whole number within [{low}, {high}]", remedy="Give one")
        for name, value, low, high in (("years", years, 1, 100), ("seed", seed, 0, 2**63 - 1))
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high
    ]
    if problems:
        raise StudyError(problems)
    from scipy.special import ndtr

    time = pd.date_range("2001-01-01", f"{2001 + years}-01-01", freq="h", inclusive="left")
    generator = np.random.default_rng(seed)
    factor = np.ones(13)
    if seasonal:
        factor[list(SEASONS)] = list(SEASONS.values())
    share = np.clip(ndtr(_correlated(generator, time.size)), 1e-12, 1.0 - 1e-12)
    speed = WEIBULL_SCALE * factor[time.month] * (-np.log1p(-share)) ** (1.0 / WEIBULL_SHAPE)
    bearing = _bearing(np.asarray(ndtr(_correlated(generator, time.size)), dtype=np.float64))
    told = [
        f"Weibull wind of shape {WEIBULL_SHAPE:g} and scale {WEIBULL_SCALE:g} m/s"
        + (", times 1.15 from December to February and 0.85 from June to August" if seasonal else ""),
        f"{100 * MAIN_SECTOR[2]:g} % of the time from {MAIN_SECTOR[0]:g} to {MAIN_SECTOR[1]:g} degrees",
        f"autocorrelation falling by e in {EFOLD_HOURS:g} h, gust factor {GUST_FACTOR:g}, seed {seed}",
    ]
    variables = {"wind_speed": ("time", speed), "wind_from": ("time", bearing)}
    if current:
        stream = _tide(time.size)
        variables["current_speed"] = ("time", np.abs(stream))
        variables["current_to"] = ("time", np.where(stream >= 0.0, FLOOD_TO, (FLOOD_TO + 180.0) % 360.0))
        told.append("tidal current of 0.2 kn at neaps to 0.8 kn at springs, flood to 090 and ebb to 270 degrees")
    record = xr.Dataset(variables, coords={"time": time, "local_time": ("time", time)})
    for name, unit in (("wind_speed", "m s-1"), ("wind_from", "degree"), ("current_speed", "m s-1"),
                       ("current_to", "degree")):  # fmt: skip
        if name in record:
            record[name].attrs = {"long_name": INPUTS[name].long_name, "units": unit}
    record.attrs = {
        "title": f"Marrowby Basin, {years} {'year' if years == 1 else 'years'}",
        "kind": "invented",
        "seed": seed,
        "gust_factor": GUST_FACTOR,
        "step_hours": 1.0,
        "time_zone": "UTC",
        "hours_zone": "UTC",
        "reading": json.dumps({"told": told, "steps": time.size, "known_steps": time.size, "gaps": 0,
                               "longest_gap_hours": 0.0}),
    }  # fmt: skip
    return record


def _correlated(generator: np.random.Generator, size: int) -> NDArray[np.float64]:
    """Normal variable of variance 1, its autocorrelation falling by e in `EFOLD_HOURS`, from its steady state."""
    from scipy.signal import lfilter

    memory = float(np.exp(-1.0 / EFOLD_HOURS))
    drawn = generator.standard_normal(size)
    drawn[1:] *= np.sqrt(1.0 - memory**2)
    return np.asarray(lfilter([1.0], [1.0, -memory], drawn), dtype=np.float64)


def _bearing(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Bearing by the share of the distribution below it; both ends meet opposite the main sector."""
    low, high, part = MAIN_SECTOR
    rest = (1.0 - part) / 2.0
    away = (low + high) / 2.0 - 180.0
    turned = np.interp(share, [0.0, rest, 1.0 - rest, 1.0], [away, low, high, away + 360.0])
    return np.mod(turned, 360.0)


def _tide(size: int) -> NDArray[np.float64]:
    """Current along the flood [m s-1]: two waves that start together, at springs."""
    knot = float(parse(INPUTS["current_speed"], "1 kn"))
    hours = np.arange(size)
    waves = [knot * height * np.sin(2.0 * np.pi * hours / period) for period, height in TIDES]
    return np.asarray(np.sum(waves, axis=0))
