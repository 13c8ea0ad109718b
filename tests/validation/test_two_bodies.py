"""Line and fender between two hulls: snatch and blow against their exact answers.

Two free bodies and a linear spring: peak force v sqrt(k mu) with mu = m1 m2 / (m1 + m2), energy 1/2 mu v^2
(mechanics; no source needed). Damping, drag, air and roll are off. The
equations are those of the engine, and so is the step where steps are meant.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.one_case import REFERENCE, Lane
from toolkit.motion.batch import STATES, step_lanes
from toolkit.motion.layout import LANES, MEMORY, STATE
from toolkit.motion.rigid import rolling_added_mass


def towing_in_line(speed: float) -> Lane:
    """Tug ahead of the barge in line, opening at a speed, the line just straight."""
    lane = Lane(manoeuvre="swing_pull", tug_type="tractor", **REFERENCE).without("water", "air", "damping", "added")
    p = lane.parameters()
    north = p.barge_half_length + p.line_length - p.tug_towing_x
    lane.place("barge", 0.0, 0.0, 0.0).place("tug", north, 0.0, 0.0)
    return lane.set(tug_surge=speed)


def reduced(first: float, second: float) -> float:
    return first * second / (first + second)


@pytest.mark.parametrize("speed", [0.25, 0.5])
def test_snatch_in_line(speed: float) -> None:
    lane = towing_in_line(speed)
    p = lane.parameters()
    mass = reduced(p.tug_surge_mass, p.barge_surge_mass)
    period = math.pi / math.sqrt(p.line_stiffness / mass)
    run = solve_ivp(lane.right_hand_side, (0.0, 1.2 * period), lane.s[::LANES].copy(), method="DOP853", rtol=1e-9,
                    atol=1e-10, max_step=period / 100, dense_output=True)  # fmt: skip
    tensions = []
    for time in np.linspace(0.0, 1.2 * period, 600):
        lane.right_hand_side(time, run.sol(time))
        tensions.append(lane.reported("tension"))
    # the sampled peak of a half sine misses at most (pi / 500)^2 / 8 = 5e-6
    assert max(tensions) == pytest.approx(speed * math.sqrt(p.line_stiffness * mass), rel=2e-5)
    assert tensions[-1] == 0.0  # slack again after half a period, and the hulls have exchanged momentum
    end = STATE.barge_surge // LANES
    total = p.tug_surge_mass + p.barge_surge_mass
    assert run.y[end, -1] == pytest.approx(2.0 * p.tug_surge_mass * speed / total, rel=1e-5)
    assert run.y[STATE.tug_surge // LANES, -1] == pytest.approx(
        (p.tug_surge_mass - p.barge_surge_mass) * speed / total, rel=1e-5
    )


def snatch_by_steps(step: float, count: int) -> tuple[float, float]:
    """Stretch and peak tension after a number of the engine's own steps."""
    lane = towing_in_line(0.5)
    n = STATES * LANES
    memory = np.zeros(len(MEMORY) * LANES)
    p = lane.parameters()
    for k in range(1, LANES):  # the other lanes hold the same case
        lane.s[k::LANES], lane.p[k::LANES], lane.o[k::LANES] = lane.s[::LANES], lane.p[::LANES], lane.o[::LANES]
    work = [np.zeros(n) for _ in range(3)]
    steps = np.full(n, step)
    for _ in range(count):
        step_lanes(lane.s, lane.p, lane.o, memory, *work, lane.report, steps)
    s = lane.state()
    stretch = (s.tug_north + p.tug_towing_x) - (s.barge_north + p.barge_half_length) - p.line_length
    return stretch, float(memory[MEMORY.peak_tension])


def test_the_step_of_the_engine_is_of_fourth_order() -> None:
    # while the line is taut all is smooth: stretch v / w sin(w t); a third of the way to the peak, each halving of the
    # step leaves a sixteenth of the error: order 4, and 3.8 to 4.3 as steps that are not yet small show it
    lane = towing_in_line(0.5)
    p = lane.parameters()
    omega = math.sqrt(p.line_stiffness / reduced(p.tug_surge_mass, p.barge_surge_mass))
    time = 0.5 / omega
    errors = [abs(snatch_by_steps(time / n, n)[0] - 0.5 / omega * math.sin(0.5)) for n in (1, 2, 4)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert np.all((orders > 3.8) & (orders < 4.3)), (errors, orders)


def test_peak_of_a_snatch_in_steps_of_the_longest_size() -> None:
    # 0.1 s steps see the peak of a half sine within (w h / 2)^2 / 2
    lane = towing_in_line(0.5)
    p = lane.parameters()
    mass = reduced(p.tug_surge_mass, p.barge_surge_mass)
    omega = math.sqrt(p.line_stiffness / mass)
    _, peak = snatch_by_steps(0.1, math.ceil(math.pi / omega / 0.1))
    exact = 0.5 * math.sqrt(p.line_stiffness * mass)
    assert 1.0 - 0.125 * (0.1 * omega) ** 2 - 1e-3 < peak / exact < 1.0 + 1e-3


@pytest.mark.parametrize("station", [0.0, 12.0])
def test_blow_on_the_fender(station: float) -> None:
    # stem-on at 0.25 m/s: stiffness of two fenders, mu of tug ahead and barge in sway, with her yaw off midships
    lane = Lane(manoeuvre="swing_push", tug_type="tractor", **REFERENCE)
    lane.without("water", "air", "damping", "friction", "added").set(pushed_side=-1.0)
    p = lane.parameters()
    speed = 0.25
    lane.place("barge", 0.0, 0.0, 0.0)
    lane.place("tug", station, -p.barge_half_beam - p.fender_first_x, math.pi / 2).set(tug_surge=speed)
    mobility = 1.0 / p.tug_surge_mass + 1.0 / p.barge_sway_mass + station**2 / p.barge_yaw_inertia
    stiffness = 2.0 * p.fender_stiffness
    half_period = math.pi / math.sqrt(stiffness * mobility)
    run = solve_ivp(lane.right_hand_side, (0.0, half_period), lane.s[::LANES].copy(), method="DOP853", rtol=1e-9,
                    atol=1e-10, max_step=half_period / 100, dense_output=True)  # fmt: skip
    forces = []
    for time in np.linspace(0.0, half_period, 500):
        lane.right_hand_side(time, run.sol(time))
        forces.append(lane.reported("contact"))
    # off midships the barge turns under the tug by a hundredth of a degree, which tilts the force: 1e-3
    tolerance = 2e-5 if station == 0.0 else 1e-3
    assert max(forces) == pytest.approx(speed * math.sqrt(stiffness / mobility), rel=tolerance)
    energy = max(forces) ** 2 / (2.0 * stiffness)
    assert energy == pytest.approx(0.5 * speed**2 / mobility, rel=2 * tolerance)


def energy_of(lane: Lane) -> float:
    """Kinetic energy of both hulls, roll included, with what line, fender and righting lever have taken up."""
    s, p = lane.state(), lane.parameters()
    kinetic = 0.5 * (
        p.barge_surge_mass * s.barge_surge**2 + p.barge_sway_mass * s.barge_sway**2
        + p.barge_yaw_inertia * s.barge_yaw**2
        + p.tug_surge_mass * s.tug_surge**2 + p.tug_sway_mass * s.tug_sway**2 + p.tug_yaw_inertia * s.tug_yaw**2
        + p.tug_roll_inertia * s.heel_rate**2
    )  # fmt: skip
    cosine = math.cos(s.heel)
    # integral of sin(h) (GM + BM/2 tan^2 h)
    righting = p.metacentric_height * (1 - cosine) + 0.5 * p.metacentric_radius * (1 / cosine + cosine - 2)
    line = lane.reported("tension") ** 2 / (2 * p.line_stiffness)
    shared = p.tug_sway_added_mass * p.tug_resistance_height * s.tug_sway * s.heel_rate
    return float(kinetic + p.tug_weight * righting + line + shared)


def energies_and_roll(lane: Lane, duration: float) -> tuple[np.ndarray, np.ndarray, float]:
    """Energies and tensions at sixty times, and the heel gone through [degree]."""
    start = lane.s[::LANES].copy()
    run = solve_ivp(lane.right_hand_side, (0.0, duration), start, method="DOP853", rtol=1e-8, atol=1e-9, max_step=0.1,
                    dense_output=True)  # fmt: skip
    energies, tensions = [], []
    times = np.linspace(0.0, duration, 60)
    for time in times:
        lane.right_hand_side(time, run.sol(time))
        energies.append(energy_of(lane))
        tensions.append(lane.reported("tension"))
    return np.array(energies), np.array(tensions), math.degrees(np.ptp(run.sol(times)[STATE.heel // LANES]))


@pytest.mark.parametrize("attitude", ["fore_and_aft", "athwartships"])
def test_energy_is_kept_through_an_oblique_snatch(attitude: str) -> None:
    # everything that takes energy is off; the hulls drift, turn and roll, the line snatches at an angle to both:
    # Kirchhoff's terms do no work, and the line's pull, its moments and its heeling lever are of one potential
    lane = Lane(manoeuvre="swing_pull", tug_type="tractor", tug_attitude=attitude, **REFERENCE)
    lane.without("water", "air", "damping", "added")
    c, sn = lane.state().tug_cosine, lane.state().tug_sine
    north, east = 0.5, 0.8  # the tug lies to starboard of the bow, so this opens the line at an angle
    lane.set(tug_surge=c * north + sn * east, tug_sway=c * east - sn * north, tug_yaw=-0.02)
    lane.set(barge_surge=-0.1, barge_sway=-0.2, barge_yaw=0.01)
    energies, tensions, rolled = energies_and_roll(lane, 6.0)
    assert max(tensions) > 1e5 and min(tensions) == 0.0
    assert rolled > (1.0 if attitude == "athwartships" else 0.1)
    np.testing.assert_allclose(energies, energies[0], rtol=1e-6)


def test_sway_and_roll_share_the_added_mass_without_making_energy() -> None:
    # beam to beam, so that nothing turns: a snatch that rolls the tug, whose added mass lies below her G
    lane = Lane(manoeuvre="swing_pull", tug_type="tractor", tug_attitude="athwartships", **REFERENCE)
    lane.without("water", "air", "damping").set(tug_surge_added_mass=0.0, tug_towing_x=0.0, barge_towing_x=0.0)
    lane.place("barge", 0.0, 0.0, 0.0).place("tug", 0.0, lane.parameters().line_length - 0.05, 0.0).set(tug_sway=0.6)
    assert lane.parameters().tug_sway_added_mass > 1e4
    energies, tensions, rolled = energies_and_roll(lane, 5.0)
    assert max(tensions) > 1e5 and rolled > 3.0
    np.testing.assert_allclose(energies, energies[0], rtol=1e-6)


def test_turning_rolling_and_surging_together_make_no_energy() -> None:
    # as above but attached off midships, turning and under way: all terms of the added mass below her G are at work
    lane = Lane(manoeuvre="swing_pull", tug_type="tractor", tug_attitude="athwartships", **REFERENCE)
    lane.without("water", "air", "damping")
    p = lane.parameters()
    assert p.tug_sway_added_mass > 1e4 and p.tug_surge_added_mass > 1e3 and p.tug_resistance_height < -0.5
    lane.place("barge", 0.0, 0.0, 0.0).place("tug", p.barge_towing_x, p.line_length - 0.05, 0.0)
    lane.set(tug_surge=1.5, tug_sway=0.8, tug_yaw=0.3, heel_rate=0.1)
    energies, tensions, rolled = energies_and_roll(lane, 6.0)
    assert max(tensions) > 1e5 and rolled > 3.0
    np.testing.assert_allclose(energies, energies[0], rtol=1e-6)


@pytest.mark.parametrize("case", range(20))
def test_rolling_added_mass_does_no_work(case: int) -> None:
    surge, yaw, roll, surge_mass, sway_mass, height = np.random.default_rng(case).normal(size=6)
    loads = rolling_added_mass(surge, yaw, roll, surge_mass, sway_mass, height)
    works = np.multiply(loads, (surge, yaw, roll))
    assert abs(works.sum()) < 1e-12 * np.abs(works).sum()


def test_rolling_added_mass_of_a_hull_that_only_turns_and_rolls() -> None:
    # 100 t of water 1 m below G, roll 0.1 rad/s: its 10 t m/s go to port, and she turns them at 0.2 rad/s: 2 kN astern
    assert rolling_added_mass(0.0, 0.2, 0.1, 10e3, 100e3, -1.0) == pytest.approx((-2000.0, 0.0, 0.0))
    # rolling so at 3 m/s: Munk's moment, -(A_v - A_u) u v, at the water's 0.1 m/s to port
    assert rolling_added_mass(3.0, 0.0, 0.1, 10e3, 100e3, -1.0) == pytest.approx((0.0, 27e3, 0.0))
    # turning at 0.2 rad/s: 10 t held in its circle 1 m below G, by 10 t x 3 m/s x 0.2 rad/s, heels her inwards
    assert rolling_added_mass(3.0, 0.2, 0.0, 10e3, 100e3, -1.0) == pytest.approx((0.0, 0.0, 6e3))
