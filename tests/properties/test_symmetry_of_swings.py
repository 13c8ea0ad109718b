"""Swings seen in a mirror, turned round, and carried along by a current: the same swing.

Run through the public entries. Between two runs that should be alike only rounding differs (sines of other angles, sums
in another order). Orders come in steps and a line is taut or slack, so rounding grows in a long run: fastest for a tug
that lies across her line, tenfold every 20 to 40 s once she works to and fro at the rate limit. Up to 120 s less than
3e-8 of each channel's size is seen, and without a line across her less than 1e-9 up to 150 degrees turned; the
tolerance is 1e-6 of the size, up to 120 s and 150 degrees. What a tug lying across her line does later is sensitive to
the last bits, and nothing is claimed of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pytest
import xarray as xr

import toolkit
from tests.one_case import REFERENCE, TONNE_FORCE, WAYS, table

BASE = {**REFERENCE, "bollard_pull": 30 * TONNE_FORCE}
WIND = {"wind_speed": 8.0, "wind_from": 70.0, "current_speed": 0.4, "current_to": 200.0, "initial_heading": 30.0}
CHANNELS = {
    "angle_turned": 180.0, "swing_rate": 1.0, "line_tension": 3e5, "contact_force": 3e5, "thrust_port": 1.5e5,
    "thrust_starboard": 1.5e5, "power_ordered": 1.0,
}  # fmt: skip
"""Channels that every transformation leaves as they are, and their sizes."""


def run(**values: Any) -> tuple[xr.Dataset, list[xr.Dataset]]:
    """Outcomes of all ways, and their histories."""
    outcomes = toolkit.evaluate(table(**BASE, **values))
    return outcomes, [toolkit.history(outcomes, case=i) for i in range(len(WAYS))]


@pytest.fixture(scope="module")
def windy() -> tuple[xr.Dataset, list[xr.Dataset]]:
    return run(**WIND)


def compared(history: xr.Dataset, other: xr.Dataset, way: tuple[str, str, str]) -> int:
    """Entries of two histories up to which they should be alike."""
    if way[:2] == ("swing_pull", "athwartships"):
        last = int(np.searchsorted(history["time"].values, 120.0))
    else:
        beyond = np.flatnonzero(history["angle_turned"].values > 150.0)
        last = int(beyond[0]) if beyond.size else history.sizes["time"]
    return min(last, history.sizes["time"], other.sizes["time"])


def assert_alike(
    first: tuple[xr.Dataset, list[xr.Dataset]],
    second: tuple[xr.Dataset, list[xr.Dataset]],
    renamed: Mapping[str, str] | None = None,
    ways: Sequence[int] = range(len(WAYS)),
) -> None:
    """Channels are alike; `renamed` says which channel the second run has under another name."""
    names = dict(renamed or {})
    assert sum(compared(first[1][i], second[1][i], WAYS[i]) > 200 for i in ways) >= 4  # enough to tell by
    for i in ways:
        n = compared(first[1][i], second[1][i], WAYS[i])
        for channel, size in CHANNELS.items():
            one, other = first[1][i][channel].values[:n], second[1][i][names.get(channel, channel)].values[:n]
            np.testing.assert_allclose(other, one, rtol=0.0, atol=1e-6 * size, err_msg=f"{WAYS[i]} {channel}")


SWAPPED = {"thrust_port": "thrust_starboard", "thrust_starboard": "thrust_port"}


def test_mirror_in_calm() -> None:
    starboard, port = run(turn="starboard"), run(turn="port")
    assert_alike(starboard, port, SWAPPED)
    # heel to the other side, drift to the other side
    for one, other in zip(starboard[1], port[1], strict=True):
        n = min(240, one.sizes["time"], other.sizes["time"])
        np.testing.assert_allclose(other["tug_heel"][:n], -one["tug_heel"][:n], atol=1e-5)
        np.testing.assert_allclose(other["barge_east"][:n], -one["barge_east"][:n], atol=1e-5)


def test_mirror_with_wind_and_current(windy: tuple[xr.Dataset, list[xr.Dataset]]) -> None:
    mirrored = {name: (360.0 - value) % 360.0 if name.endswith(("from", "to", "heading")) else value
                for name, value in WIND.items()}  # fmt: skip
    assert_alike(windy, run(turn="port", **mirrored), SWAPPED)


@pytest.mark.parametrize("angle", [37.0, 210.5])
def test_turning_the_whole_scene(windy: tuple[xr.Dataset, list[xr.Dataset]], angle: float) -> None:
    turned = {name: (value + angle) % 360.0 if name.endswith(("from", "to", "heading")) else value
              for name, value in WIND.items()}  # fmt: skip
    second = run(**turned)
    assert_alike(windy, second)
    a = math.radians(angle)
    for one, other in zip(windy[1], second[1], strict=True):
        n = min(240, one.sizes["time"], other.sizes["time"])
        north, east = one["barge_north"].values[:n], one["barge_east"].values[:n]
        np.testing.assert_allclose(other["barge_north"][:n], math.cos(a) * north - math.sin(a) * east, atol=1e-5)
        np.testing.assert_allclose(other["barge_east"][:n], math.sin(a) * north + math.cos(a) * east, atol=1e-5)


def test_bow_and_stern_are_alike_in_still_air() -> None:
    # the barge is symmetric fore and aft; the drag of still air is not (coefficients of bow and stern), so it is off.
    # A tug flank-on heads as the barge does, bow to bow or bow to stern: another manoeuvre, left out
    assert WAYS[6][1] == WAYS[7][1] == "athwartships" and WAYS[6][0] == "swing_push"
    bow, stern = (run(wind_load_multiplier=0.0, working_end=end) for end in ("bow", "stern"))
    assert_alike(bow, stern, ways=range(6))


def test_even_current_carries_the_whole_swing_along() -> None:
    # both hulls adrift at the start, and the wind shifted with the current, so that the air over the water is the same
    wind, current = (5.0, math.radians(70.0)), (0.5, math.radians(200.0))
    still = run(start="with_water", wind_speed=wind[0], wind_from=math.degrees(wind[1]))
    north = -wind[0] * math.cos(wind[1]) + current[0] * math.cos(current[1])
    east = -wind[0] * math.sin(wind[1]) + current[0] * math.sin(current[1])
    carried = run(
        start="with_water", current_speed=current[0], current_to=math.degrees(current[1]),
        wind_speed=math.hypot(north, east), wind_from=math.degrees(math.atan2(-east, -north)) % 360.0,
    )  # fmt: skip
    assert_alike(still, carried)
    for one, other in zip(still[1], carried[1], strict=True):
        n = min(240, one.sizes["time"], other.sizes["time"])
        time = one["time"].values[:n]
        for name, rate in (("north", math.cos(current[1])), ("east", math.sin(current[1]))):
            for hull in ("barge", "tug"):
                drifted = one[f"{hull}_{name}"].values[:n] + current[0] * rate * time
                np.testing.assert_allclose(other[f"{hull}_{name}"][:n], drifted, atol=1e-5)
