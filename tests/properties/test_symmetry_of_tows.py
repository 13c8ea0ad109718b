"""Tows and checks seen in a mirror, turned round, and by the other end: the same again.

Between two runs that should be alike only rounding differs; the tolerance is 1e-6 of each channel's size over the
first 150 s, within which less than 1e-8 is seen. What a sheering barge does later is sensitive to the last bits.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import xarray as xr

import toolkit
from tests.one_case import TONNE_FORCE
from toolkit.quantities import INPUTS

WAYS = [
    (manoeuvre, check_from, tug)
    for manoeuvre, check_from in (("tow_ahead", "astern"), ("check_way", "astern"), ("check_way", "ahead"))
    for tug in INPUTS["tug_type"].choices
]
BASE = {"bollard_pull": 30 * TONNE_FORCE, "line_length": 35.0, "displacement": 1.5e6, "start_speed": 1.2,
        "power_setting": 0.3, "bow_drag_coefficient": 0.2}  # fmt: skip
WIND = {"wind_speed": 8.0, "wind_from": 70.0, "current_speed": 0.4, "current_to": 200.0, "initial_heading": 30.0}
CHANNELS = {"swing_rate": 1.0, "line_tension": 3e5, "tug_heel": 10.0, "thrust_port": 1.5e5, "thrust_starboard": 1.5e5,
            "power_ordered": 1.0, "barge_north": 100.0, "barge_east": 100.0, "tug_north": 100.0,
            "tug_east": 100.0}  # fmt: skip
"""Channels and their sizes."""
ENTRIES = 300


def run(**values: Any) -> list[xr.Dataset]:
    """Histories of all ways."""
    names = ("manoeuvre", "check_from", "tug_type")
    outcomes = toolkit.evaluate({**{name: [way[i] for way in WAYS] for i, name in enumerate(names)}, **BASE, **values})
    return [toolkit.history(outcomes, case=i) for i in range(len(WAYS))]


def assert_alike(
    first: list[xr.Dataset], second: list[xr.Dataset], signs: dict[str, float] | None = None, swapped: bool = False
) -> None:
    """Channels of two runs are alike, but for signs, and for the drives, which change sides in a mirror."""
    other_name = {"thrust_port": "thrust_starboard", "thrust_starboard": "thrust_port"} if swapped else {}
    for way, one, other in zip(WAYS, first, second, strict=True):
        n = min(ENTRIES, one.sizes["time"], other.sizes["time"])
        assert n > 50
        for channel, size in CHANNELS.items():
            expected = (signs or {}).get(channel, 1.0) * one[channel].values[:n]
            found = other[other_name.get(channel, channel)].values[:n]
            np.testing.assert_allclose(found, expected, rtol=0.0, atol=1e-6 * size, err_msg=f"{way} {channel}")


@pytest.fixture(scope="module")
def windy() -> list[xr.Dataset]:
    return run(**WIND)


MIRROR = {"tug_heel": -1.0, "barge_east": -1.0, "tug_east": -1.0}


def test_mirror_in_calm() -> None:
    assert_alike(run(turn="starboard"), run(turn="port"), MIRROR, swapped=True)


def test_mirror_with_wind_and_current(windy: list[xr.Dataset]) -> None:
    mirrored = {name: (360.0 - value) % 360.0 if name.endswith(("from", "to", "heading")) else value
                for name, value in WIND.items()}  # fmt: skip
    assert_alike(windy, run(turn="port", **mirrored), MIRROR, swapped=True)


def test_turning_the_whole_scene(windy: list[xr.Dataset]) -> None:
    angle = 137.0
    turned = {name: (value + angle) % 360.0 if name.endswith(("from", "to", "heading")) else value
              for name, value in WIND.items()}  # fmt: skip
    second = run(**turned)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    back = [
        history.assign(
            {
                f"{hull}_north": c * history[f"{hull}_north"] + s * history[f"{hull}_east"] for hull in ("barge", "tug")
            } | {
                f"{hull}_east": c * history[f"{hull}_east"] - s * history[f"{hull}_north"] for hull in ("barge", "tug")
            }
        )
        for history in second
    ]  # fmt: skip
    assert_alike(windy, back)


def test_either_end_in_still_air() -> None:
    # the bare barge is alike fore and aft; the coefficients of still air are not, so it is off
    bow, stern = (run(working_end=end, wind_load_multiplier=0.0) for end in ("bow", "stern"))
    half_turn = dict.fromkeys(("barge_north", "barge_east", "tug_north", "tug_east"), -1.0)
    assert_alike(bow, stern, half_turn)
