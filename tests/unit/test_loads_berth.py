"""Barge against a straight berth: which corners touch, forces and moment, energy, friction."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from toolkit.kernels import compiled
from toolkit.loads.berth import berth_on_barge, corner_on_berth

HALF_LENGTH, HALF_BEAM = 30.0, 8.0
STIFFNESS, LOSS, FADE, FRICTION, CREEP = 1e6, 0.1, 0.02, 0.3, 0.05


def loads(
    clearance: float,
    normal: tuple[float, float],
    velocity: tuple[float, float, float] = (0.0, 0.0, 0.0),
    *,
    loss: float = LOSS,
    friction: float = FRICTION,
) -> tuple[float, float, float, float]:
    return berth_on_barge(clearance, *normal, *velocity, HALF_LENGTH, HALF_BEAM, STIFFNESS, loss, FADE, friction, CREEP)


def test_clear_of_the_face_there_is_nothing() -> None:
    assert loads(8.001, (0.0, -1.0), (0.3, 0.5, 0.01)) == (0.0, 0.0, 0.0, 0.0)


def test_flat_on_either_side_and_either_end() -> None:
    # 0.1 m into the fenders, flat: two corners of 1e5 N
    for normal, clearance in (((0.0, -1.0), 7.9), ((0.0, 1.0), 7.9), ((-1.0, 0.0), 29.9), ((1.0, 0.0), 29.9)):
        ahead, starboard, moment, pressed = loads(clearance, normal)
        assert (ahead, starboard) == pytest.approx((2e5 * normal[0], 2e5 * normal[1]))
        assert moment == pytest.approx(0.0, abs=1e-6)
        assert pressed == pytest.approx(2e5)


def test_a_corner_first_turns_her_alongside() -> None:
    # berth to starboard, bow turned toward it by 2 degrees: the starboard bow lands and she is turned to port
    angle = math.radians(2.0)
    normal = -math.sin(angle), -math.cos(angle)
    corner = HALF_LENGTH * math.sin(angle) + HALF_BEAM * math.cos(angle)
    ahead, starboard, moment, pressed = loads(corner - 0.05, normal)
    assert pressed == pytest.approx(0.05 * STIFFNESS)
    assert (ahead, starboard) == pytest.approx((pressed * normal[0], pressed * normal[1]))
    assert moment == pytest.approx(HALF_LENGTH * starboard - HALF_BEAM * ahead)
    assert moment < 0.0


def test_damping_and_friction_of_a_corner() -> None:
    # bow corner 0.1 m in, coming on at 0.2 m/s and sliding ahead at 1 m/s along the face to starboard
    ahead, starboard, normal = corner_on_berth(
        7.9, 0.0, -1.0, 1.0, 0.2, 0.0, HALF_LENGTH, HALF_BEAM, STIFFNESS, LOSS, FADE, FRICTION, CREEP
    )
    assert normal == pytest.approx(STIFFNESS * (0.1 + LOSS * 0.2))
    assert starboard == pytest.approx(-normal)
    assert ahead == pytest.approx(-FRICTION * normal, rel=2e-3)  # against the way she slides
    # a turning hull: the corner's own velocity counts
    spun = corner_on_berth(7.9, 0.0, -1.0, 0.0, 0.0, 0.01, HALF_LENGTH, HALF_BEAM, STIFFNESS, LOSS, FADE, 0.0, CREEP)[2]
    assert spun == pytest.approx(STIFFNESS * (0.1 + LOSS * 0.01 * HALF_LENGTH))


def test_a_turning_hull_landing_on_her_end() -> None:
    # berth ahead, starboard bow corner 8 m off her axis, turning to port: it comes on at 8 m times the rate of turn
    ahead, starboard, normal = corner_on_berth(
        29.9, -1.0, 0.0, 0.0, 0.0, -0.01, HALF_LENGTH, HALF_BEAM, STIFFNESS, LOSS, FADE, 0.0, CREEP
    )
    assert normal == pytest.approx(STIFFNESS * (0.1 + LOSS * 0.01 * HALF_BEAM))
    assert (ahead, starboard) == pytest.approx((-normal, 0.0))


@given(
    bearing=st.floats(0.0, 2.0 * math.pi),
    clearance=st.floats(5.0, 35.0),
    u=st.floats(-0.5, 0.5),
    v=st.floats(-0.5, 0.5),
    r=st.floats(-0.01, 0.01),
)
def test_never_pulls_mirrors_and_friction_takes_energy(
    bearing: float, clearance: float, u: float, v: float, r: float
) -> None:
    normal = math.cos(bearing), math.sin(bearing)
    ahead, starboard, moment, pressed = loads(clearance, normal, (u, v, r))
    assert pressed >= 0.0
    assert ahead * normal[0] + starboard * normal[1] == pytest.approx(pressed, abs=1e-6)
    mirrored = loads(clearance, (normal[0], -normal[1]), (u, -v, -r))
    assert mirrored == pytest.approx((ahead, -starboard, -moment, pressed), abs=1e-6 * (1.0 + pressed))
    smooth = loads(clearance, normal, (u, v, r), friction=0.0)
    power = (ahead - smooth[0]) * u + (starboard - smooth[1]) * v + (moment - smooth[2]) * r
    assert power <= 1e-6 * (1.0 + pressed)


@pytest.mark.parametrize("loss", [0.0, 0.15])
def test_a_landing_gives_back_no_more_than_it_brought(loss: float) -> None:
    """Flat landing without water about her: the peak is v sqrt(k m), and she leaves at the speed she came, or less."""
    mass, speed, k = 2.0e6, 0.15, 2.0 * STIFFNESS

    def rates(_: float, state: np.ndarray) -> list[float]:
        clearance, sway = state  # berth to starboard
        return [-sway, loads(float(clearance), (0.0, -1.0), (0.0, float(sway), 0.0), loss=loss)[1] / mass]

    end = solve_ivp(rates, (0.0, 12.0), [8.1, speed], max_step=0.01, rtol=1e-9, atol=1e-12)
    deepest = HALF_BEAM - np.min(end.y[0])
    left = -end.y[1, -1]
    if loss == 0.0:
        assert deepest * k == pytest.approx(speed * math.sqrt(k * mass), rel=1e-4)
        assert left == pytest.approx(speed, rel=1e-4)
    else:
        assert deepest * k < speed * math.sqrt(k * mass)
        assert 0.3 * speed < left < 0.95 * speed


def test_compiled_twin_gives_the_same() -> None:
    arguments = (8.2, -0.06, -0.998, 0.2, 0.1, 0.002, HALF_LENGTH, HALF_BEAM, STIFFNESS, LOSS, FADE, FRICTION, CREEP)
    plain = berth_on_barge(*arguments)
    assert plain[3] > 0.0
    assert compiled(berth_on_barge)(*arguments) == pytest.approx(plain, rel=1e-12)
