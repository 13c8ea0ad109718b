"""What line and fender do to one hull they do to the other, in any position: forces and moments sum to nothing.

With the centripetal terms off, rate of velocity times mass is the force on a hull. Exact mechanics; the tolerance is
rounding, relative to the force times the distance it acts at.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.one_case import REFERENCE, Lane


def forces(lane: Lane) -> tuple[np.ndarray, np.ndarray]:
    """North and east force and moment about the origin, on barge and on tug."""
    rates, s, p = lane.rates(), lane.state(), lane.parameters()
    found = []
    for hull in ("barge", "tug"):
        ahead = getattr(rates, f"{hull}_surge") * getattr(p, f"{hull}_surge_mass")
        side = getattr(rates, f"{hull}_sway") * getattr(p, f"{hull}_sway_mass")
        moment = getattr(rates, f"{hull}_yaw") * getattr(p, f"{hull}_yaw_inertia")
        c, sn = getattr(s, f"{hull}_cosine"), getattr(s, f"{hull}_sine")
        north, east = c * ahead - sn * side, sn * ahead + c * side
        total = moment + getattr(s, f"{hull}_north") * east - getattr(s, f"{hull}_east") * north
        found.append(np.array([north, east, total]))
    return found[0], found[1]


speeds = st.floats(-1.0, 1.0)
angles = st.floats(-math.pi, math.pi)


def moving(lane: Lane, velocities: list[float], heel: float) -> Lane:
    names = ("barge_surge", "barge_sway", "barge_yaw", "tug_surge", "tug_sway", "tug_yaw", "heel_rate")
    scale = (1.0, 1.0, 0.05, 1.0, 1.0, 0.2, 0.2)
    lane.set(**{name: v * k for name, v, k in zip(names, velocities, scale, strict=True)})
    return lane.set(heel=heel, barge_coupling=0.0)


def check(lane: Lane, size: float) -> None:
    on_barge, on_tug = forces(lane)
    assert abs(on_barge[:2] + on_tug[:2]).max() <= 1e-12 * size
    assert abs(on_barge[2] + on_tug[2]) <= 1e-12 * size * 100.0


@settings(max_examples=60)
@given(bearing=angles, barge=angles, tug=angles, stretch=st.floats(0.01, 0.6), heel=st.floats(-0.2, 0.2),
       velocities=st.lists(speeds, min_size=7, max_size=7))  # fmt: skip
def test_towline(
    bearing: float, barge: float, tug: float, stretch: float, heel: float, velocities: list[float]
) -> None:
    lane = moving(Lane(manoeuvre="swing_pull", **REFERENCE).without("water", "air", "added"), velocities, heel)
    p = lane.parameters()
    lane.place("barge", 40.0, -25.0, barge)
    point = np.array([40.0 + p.barge_towing_x * math.cos(barge), -25.0 + p.barge_towing_x * math.sin(barge)])
    point += (p.line_length + stretch) * np.array([math.cos(bearing), math.sin(bearing)])
    tow_y = p.tug_towing_height * math.sin(heel)
    lane.place("tug", point[0] - p.tug_towing_x * math.cos(tug) + tow_y * math.sin(tug),
               point[1] - p.tug_towing_x * math.sin(tug) - tow_y * math.cos(tug), tug)  # fmt: skip
    check(lane, p.line_stiffness * p.line_length)
    tension = lane.reported("tension")
    assume(tension > 0.0)
    on_barge, _ = forces(lane)
    assert math.hypot(on_barge[0], on_barge[1]) == pytest.approx(tension, rel=1e-9)


@settings(max_examples=60)
@given(barge=angles, off=st.floats(-0.3, 0.3), station=st.floats(-25.0, 25.0), depth=st.floats(0.0, 0.5),
       heel=st.floats(-0.1, 0.1), velocities=st.lists(speeds, min_size=7, max_size=7), flank=st.booleans())  # fmt: skip
def test_fender_with_friction(
    barge: float, off: float, station: float, depth: float, heel: float, velocities: list[float], flank: bool
) -> None:
    attitude = "athwartships" if flank else "fore_and_aft"
    lane = Lane(manoeuvre="swing_push", tug_attitude=attitude, **REFERENCE).without("water", "air", "added")
    lane = moving(lane, velocities, heel)
    p = lane.parameters()
    across = p.pushed_side * (p.barge_half_beam + p.fender_reach - depth)
    heading = barge + off + (0.0 if flank else -0.5 * math.pi * p.pushed_side)
    c, s = math.cos(barge), math.sin(barge)
    lane.place("barge", -30.0, 60.0, barge)
    lane.place("tug", -30.0 + c * station - s * across, 60.0 + s * station + c * across, heading)
    check(lane, p.fender_stiffness * 2.0)
