"""Course stability of a towed barge: rates worked beforehand, limits, published tendencies, and the course in time.

The rates are computed from the linear equations as written, with derivatives by
Clarke, Gedling and Hine (1983, from memory). The tendencies are those of
Fitriadhy and Yasukawa (Ship Technology Research 58, 2011; Ocean Engineering 64,
2013), whose abstracts were seen and whose tables of derivatives were not; their
barge is 60.96 x 21.34 x 2.74 m (dimensions from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from toolkit.loads.cross_flow import cross_flow
from toolkit.loads.linear_hull import linear_hull
from toolkit.particulars.added_mass import sway_added_mass, yaw_added_inertia
from toolkit.particulars.course_stability import CourseStability, TowedBarge, course_stability, towed_barge
from toolkit.particulars.hull_derivatives import (
    SKEG_FORCE,
    clarke_derivatives,
    linear_hull_coefficients,
    with_skegs,
)

DENSITY = 1025.0
LINES = np.array([0.5, 1.0, 2.0, 5.0])


def case(
    *, skegs: bool, speed: float = 1.0, hull: tuple[float, ...] = (100.0, 20.0, 4.0, 0.85)
) -> tuple[TowedBarge, float]:
    """Barge and her resistance, 0.03 on length times draught."""
    length, beam, draught, block = hull
    bare = clarke_derivatives(*hull)
    mass = DENSITY * length * beam * draught * block
    barge = towed_barge(
        with_skegs(bare) if skegs else bare,
        speed=speed,
        length=length,
        water_density=DENSITY,
        mass=mass,
        yaw_inertia=mass * (0.25 * length) ** 2,
    )
    return barge, 0.5 * DENSITY * 0.03 * length * draught * speed**2


def judged(*, skegs: bool, point: float, speed: float = 1.0) -> CourseStability:
    barge, resistance = case(skegs=skegs, speed=speed)
    return course_stability(barge, line_length=100.0 * LINES, tension=resistance, towing_point=100.0 * point)


@pytest.mark.parametrize(
    ("skegs", "point", "rates"),
    [
        (False, 0.5, [0.1293, 0.1210, 0.1003, 0.0678]),
        (False, 0.3, [0.1148, 0.1089, 0.0978, 0.0805]),
        (True, 0.5, [-0.1139, -0.0893, -0.0769, -0.0693]),
    ],
)
def test_growth_rates_worked_beforehand(skegs: bool, point: float, rates: list[float]) -> None:
    found = judged(skegs=skegs, point=point)
    np.testing.assert_allclose(found.growth_rate * 100.0, rates, atol=6e-5)  # per length over speed
    assert np.all(found.stable == skegs)
    assert np.all(found.statically_stable)
    # rates go with speed over length: the same barge at 2.5 m/s
    np.testing.assert_allclose(judged(skegs=skegs, point=point, speed=2.5).growth_rate, found.growth_rate * 2.5)
    np.testing.assert_allclose(judged(skegs=skegs, point=point, speed=2.5).period, found.period / 2.5)


def test_own_stability_and_static_condition() -> None:
    bare, resistance = case(skegs=False)
    at = course_stability(
        bare, line_length=100.0, tension=resistance, towing_point=np.array([0.219, 0.223, 0.5]) * 100.0
    )
    scale = (0.5 * DENSITY) ** 2 * 100.0**6
    assert at.own_stability[0] / scale == pytest.approx(-1e-5, abs=2e-6)
    np.testing.assert_array_equal(at.statically_stable, [False, True, True])  # the lever Nv / Yv is 0.221 L
    # towed by a point abaft the centre of the side force she runs off without swinging
    behind = course_stability(bare, line_length=100.0, tension=resistance, towing_point=-30.0)
    assert behind.growth_rate > 0.0
    assert behind.period == math.inf


def test_a_very_long_slack_line_leaves_her_own_stability() -> None:
    for skegs in (False, True):
        barge, resistance = case(skegs=skegs)
        free = course_stability(barge, line_length=1e9, tension=1e-6 * resistance, towing_point=50.0)
        # without a line two roots are nothing and two are those of sway and yaw
        masses = np.array([[barge.mass + barge.sway_added_mass, barge.sway_yaw_added],
                           [barge.yaw_sway_added, barge.yaw_inertia + barge.yaw_added_inertia]])  # fmt: skip
        loads = np.array([[barge.yv, barge.yr - barge.mass * barge.speed], [barge.nv, barge.nr]])
        own = np.max(np.linalg.eigvals(np.linalg.solve(masses, loads)).real)
        assert (own > 0.0) is (free.own_stability < 0.0)
        assert free.growth_rate == pytest.approx(max(own, 0.0), rel=1e-2, abs=1e-5)


def test_published_tendencies() -> None:
    hull = (60.96, 21.34, 2.74, 0.95)
    for skegs in (False, True):
        barge, resistance = case(skegs=skegs, hull=hull)
        found = course_stability(barge, line_length=60.96 * LINES, tension=resistance, towing_point=30.48)
        assert np.all(found.stable == skegs)  # unstable bare, stable with skegs
        if not skegs:
            assert np.all(np.diff(found.growth_rate) < 0.0)  # a longer line: a slower growth
    # the point nearer the bow steadies on a long line, and in this model on no other
    bow, inner = judged(skegs=False, point=0.5).growth_rate, judged(skegs=False, point=0.3).growth_rate
    np.testing.assert_array_equal(bow < inner, [False, False, False, True])


def test_shapes_and_refusal() -> None:
    barge, resistance = case(skegs=True)
    alone = course_stability(barge, line_length=100.0, tension=resistance, towing_point=50.0)
    assert np.shape(alone.growth_rate) == ()
    many = course_stability(barge, line_length=np.full((3, 2), 100.0), tension=resistance, towing_point=50.0)
    np.testing.assert_array_equal(many.growth_rate, np.full((3, 2), alone.growth_rate))
    with pytest.raises(ValueError, match="both"):
        towed_barge(clarke_derivatives(60.0, 16.0, 3.0, 0.9), speed=1.0, length=60.0, water_density=DENSITY, mass=1.0,
                    yaw_inertia=1.0, sway_added_mass=1.0)  # fmt: skip


@pytest.mark.parametrize("skeg_force", [0.0, SKEG_FORCE.value])
def test_small_sheers_in_time_grow_and_die_at_these_rates(skeg_force: float) -> None:
    """Kirchhoff's equations with the loads of the kernel, cross-flow drag too, behind a tug on a straight course."""
    length, beam, draught, block, speed, line, point = 60.0, 16.0, 3.0, 0.9, 1.5, 80.0, 30.0
    mass = DENSITY * length * beam * draught * block
    inertia = mass * (length**2 + beam**2) / 12.0
    surge_added, sway_added = 0.08 * mass, float(sway_added_mass(length, beam, draught, DENSITY))
    yaw_added = float(yaw_added_inertia(sway_added, length))
    bare = clarke_derivatives(length, beam, draught, block)
    extra = linear_hull_coefficients(
        bare, length=length, water_density=DENSITY, surge_added_mass=surge_added, sway_added_mass=sway_added,
        skeg_force=skeg_force,
    )  # fmt: skip
    coefficients = [float(x) for x in (extra.yv, extra.yr, extra.nv, extra.nr, extra.skeg, extra.skeg_x)]
    tension = 0.5 * DENSITY * 0.03 * length * draught * speed**2

    def rates(_: float, state: np.ndarray) -> list[float]:
        y, psi, v, r = state
        side, moment = linear_hull(speed, v, r, *coefficients, 0.5 * length)
        drag, couple = cross_flow(v, r, 0.5 * length, 0.5 * DENSITY * 0.43 * draught)
        angle = math.asin((y + point * math.sin(psi)) / line) + psi
        pull = -tension * math.sin(angle)
        sway = (side + drag + pull - (mass + surge_added) * speed * r) / (mass + sway_added)
        yaw = (moment + couple + point * pull - (sway_added - surge_added) * speed * v) / (inertia + yaw_added)
        return [speed * math.sin(psi) + v * math.cos(psi), r, sway, yaw]

    expected = course_stability(
        towed_barge(with_skegs(bare, skeg_force), speed=speed, length=length, water_density=DENSITY, mass=mass,
                    yaw_inertia=inertia, sway_added_mass=sway_added, yaw_added_inertia=yaw_added),
        line_length=line, tension=tension, towing_point=point,
    )  # fmt: skip
    # three of her periods, so that the other roots are gone; then the sheer over one period more
    period, size = float(expected.period), 1e-6
    times = period * np.array([3.0, 4.0])
    found = solve_ivp(rates, (0.0, times[-1]), [size, 0.0, 0.0, 0.0], t_eval=times, method="DOP853", rtol=1e-11,
                      atol=1e-18)  # fmt: skip
    growth = np.log(np.linalg.norm(found.y[:, 1]) / np.linalg.norm(found.y[:, 0])) / period
    assert growth == pytest.approx(float(expected.growth_rate), rel=0.02)
    assert bool(expected.stable) is (skeg_force > 0.0)
