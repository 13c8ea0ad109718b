"""Sheared current: the field, the rate of turn its drag feels, and the free drift of a hull through it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from toolkit.kernels import compiled
from toolkit.loads.cross_flow import cross_flow
from toolkit.loads.shear import local_current, shear_acceleration, turn_through_water

SHEAR = 0.004
bearings = st.floats(0.0, 2.0 * math.pi)


def unit(bearing: float) -> tuple[float, float]:
    return math.cos(bearing), math.sin(bearing)


def water(north: float, east: float, to: float, speed: float = 0.5, shear: float = SHEAR) -> tuple[float, float]:
    direction = unit(to)
    return local_current(north, east, speed * direction[0], speed * direction[1], shear, *direction)


def test_field_by_hand() -> None:
    # running north, faster to the east: 0.5 m/s at the origin, 0.9 m/s 100 m to the east, 0.1 m/s 100 m to the west
    assert water(30.0, 100.0, 0.0) == pytest.approx((0.9, 0.0))
    assert water(-70.0, -100.0, 0.0) == pytest.approx((0.1, 0.0))
    # running east the right hand is south
    assert water(-100.0, 12.0, math.pi / 2.0) == pytest.approx((0.0, 0.9))
    # still at the origin, and even
    assert water(0.0, 50.0, 0.0, speed=0.0) == pytest.approx((0.2, 0.0))
    assert water(33.0, 50.0, 0.0, shear=0.0) == (0.5, 0.0)


@given(to=bearings, north=st.floats(-200.0, 200.0), east=st.floats(-200.0, 200.0), step=st.floats(-50.0, 50.0))
def test_water_is_even_along_its_own_direction(to: float, north: float, east: float, step: float) -> None:
    direction = unit(to)
    moved = water(north + step * direction[0], east + step * direction[1], to)
    assert moved == pytest.approx(water(north, east, to), abs=1e-12)


@given(to=bearings, heading=bearings, v=st.floats(-1.0, 1.0), r=st.floats(-0.02, 0.02))
def test_drag_along_the_hull_is_that_of_the_effective_turn(to: float, heading: float, v: float, r: float) -> None:
    half, c = 30.0, 0.5 * 1025.0 * 0.43 * 3.0
    cosine, sine = unit(heading)
    place, velocity = (40.0, -25.0), water(40.0, -25.0, to)

    def cross(x: float) -> float:
        """Cross velocity through the local water at a station, from the velocity over the ground at midships."""
        there = water(place[0] + x * cosine, place[1] + x * sine, to)
        starboard = -sine * (velocity[0] - there[0]) + cosine * (velocity[1] - there[1])
        return v + x * r + starboard

    effective = turn_through_water(r, cosine, sine, SHEAR, *unit(to))
    force, moment = cross_flow(v, effective, half, c)
    turn = (cross(half) - cross(-half)) / (2.0 * half)
    assert effective == pytest.approx(turn, abs=1e-12)
    stagnation = -v / effective if abs(effective) * half > abs(v) else 0.0
    whole = [
        quad(lambda x, n=n: -c * x**n * cross(x) * abs(cross(x)), -half, half, points=[stagnation])[0] for n in (0, 1)
    ]
    scale = c * half * (abs(v) + abs(effective) * half) ** 2
    assert (force, moment / half) == pytest.approx((whole[0], whole[1] / half), abs=1e-8 * scale + 1e-12)


def test_faster_water_on_the_bow_carries_it_along() -> None:
    # current north, faster in the east; a hull heading east lies still in the water amidships: her bow is swept north,
    # to port, as it would be if she turned to starboard in still water
    effective = turn_through_water(0.0, 0.0, 1.0, SHEAR, 1.0, 0.0)
    assert effective == pytest.approx(SHEAR)
    assert cross_flow(0.0, effective, 30.0, 600.0)[1] < 0.0
    # along the current no station lies in faster water
    assert turn_through_water(0.01, 1.0, 0.0, SHEAR, 1.0, 0.0) == 0.01
    assert turn_through_water(0.01, -1.0, 0.0, SHEAR, 1.0, 0.0) == 0.01


@given(to=bearings, heading=bearings, north=st.floats(-3.0, 3.0), east=st.floats(-3.0, 3.0))
def test_acceleration_against_finite_differences(to: float, heading: float, north: float, east: float) -> None:
    cosine, sine = unit(heading)
    place, step = (12.0, 55.0), 1e-3
    before = water(place[0] - step * north, place[1] - step * east, to)
    after = water(place[0] + step * north, place[1] + step * east, to)
    change = [(b - a) / (2.0 * step) for a, b in zip(before, after, strict=True)]
    expected = -(cosine * change[0] + sine * change[1]), -(cosine * change[1] - sine * change[0])
    found = shear_acceleration(north, east, cosine, sine, SHEAR, *unit(to))
    assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("turning", [0.0, 0.03])
def test_a_hull_without_loads_keeps_her_velocity_over_the_ground(turning: float) -> None:
    """Rigid mass, no forces: velocities through the water change, the track over the ground stays straight and even."""
    to, speed = math.radians(70.0), 0.5
    direction = unit(to)

    def rates(_: float, state: np.ndarray) -> list[float]:
        north, east, heading, u, v = state
        cosine, sine = unit(heading)
        stream = local_current(north, east, speed * direction[0], speed * direction[1], SHEAR, *direction)
        ground = cosine * u - sine * v + stream[0], sine * u + cosine * v + stream[1]
        ahead, starboard = shear_acceleration(*ground, cosine, sine, SHEAR, *direction)
        return [*ground, turning, turning * v + ahead, -turning * u + starboard]

    start = [10.0, -20.0, 0.4, 1.5, 0.3]
    first = rates(0.0, np.array(start))[:2]
    end = solve_ivp(rates, (0.0, 300.0), start, rtol=1e-11, atol=1e-11).y[:, -1]
    assert tuple(end[:2]) == pytest.approx((10.0 + 300.0 * first[0], -20.0 + 300.0 * first[1]), abs=1e-6)
    assert rates(0.0, end)[:2] == pytest.approx(first, abs=1e-8)


def test_compiled_twins_give_the_same() -> None:
    direction = unit(1.1)
    for function, arguments in (
        (local_current, (20.0, -30.0, 0.2, 0.4, SHEAR, *direction)),
        (turn_through_water, (0.01, *unit(0.3), SHEAR, *direction)),
        (shear_acceleration, (0.7, -0.2, *unit(0.3), SHEAR, *direction)),
    ):
        assert compiled(function)(*arguments) == pytest.approx(function(*arguments), rel=1e-14)
