"""A barge alone against the closed forms of a swing, through the public entry.

The closed forms are derived, not quoted: quadratic drag of pure yaw with k = rho CD T L^4 / 64 (the cross-flow
principle, Faltinsen 1990, ch. 6, from memory, not verified) and the inertia of a box with strip-theory added inertia.
Nothing here says how a real barge swings: no measured swing was found to compare with.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, fsolve

import toolkit
from tests.one_case import REFERENCE

RHO, LENGTH, DRAUGHT, BEAM = 1025.0, 60.0, 3.0, 16.0
BOX: dict[str, Any] = {**REFERENCE, "cross_flow_drag_coefficient": 1.0}


def test_inertia_and_drag_of_the_reference_barge() -> None:
    swing = toolkit.barge_alone(couple=3e6, duration=1.0, **BOX)
    # solid box 8.537e8, added 4.643e8 (conformal map, four figures); k worked by hand
    assert swing["yaw_inertia"] == pytest.approx(1.31801e9, rel=2e-5)
    assert swing["yaw_drag"] == pytest.approx(RHO * DRAUGHT * LENGTH**4 / 64.0, rel=1e-12)


@pytest.mark.parametrize(
    ("force", "coefficient", "rate", "quarter", "half"),
    [(100e3, 1.0, 3.977, 41.9, 66.0), (300e3, 1.0, 6.888, 24.2, 38.1), (100e3, 0.8, 4.446, 40.9, 63.3)],
)
def test_couple(force: float, coefficient: float, rate: float, quarter: float, half: float) -> None:
    swing = toolkit.barge_alone(couple=force * LENGTH / 2, **{**BOX, "cross_flow_drag_coefficient": coefficient})
    # printed beforehand to the figures given
    assert swing["steady_swing_rate"] == pytest.approx(rate, abs=5.1e-4)
    np.testing.assert_allclose(swing["time_to_turn"], [quarter, half], atol=0.051)
    # and exactly: r = sqrt(N/k) tanh(t/tau), tau = I / sqrt(k N); the integrator's error is 1e-10 a step
    k, inertia, moment = float(swing["yaw_drag"]), float(swing["yaw_inertia"]), force * LENGTH / 2
    tau = inertia / math.sqrt(k * moment)
    assert math.radians(swing["steady_swing_rate"]) == pytest.approx(math.sqrt(moment / k), rel=1e-9)
    exact = [tau * math.acosh(math.exp(k * math.radians(angle) / inertia)) for angle in (90.0, 180.0)]
    np.testing.assert_allclose(swing["time_to_turn"], exact, rtol=1e-8)
    time = swing["time"].values
    np.testing.assert_allclose(
        np.radians(swing["swing_rate"]), math.sqrt(moment / k) * np.tanh(time / tau), rtol=1e-7, atol=1e-10
    )
    np.testing.assert_allclose(
        np.radians(swing["angle_turned"]), inertia / k * (np.logaddexp(time / tau, -time / tau) - math.log(2)),
        rtol=1e-7, atol=1e-9,
    )  # fmt: skip


def test_coast_down() -> None:
    # r = r0 / (1 + k r0 t / I), psi = I/k ln(1 + k r0 t / I); from 1 to 0.1 degree/s she turns I/k ln 10 = 279 degrees
    swing = toolkit.barge_alone(initial_swing_rate=1.0, duration=2000.0, **BOX)
    k, inertia, start = float(swing["yaw_drag"]), float(swing["yaw_inertia"]), math.radians(1.0)
    growth = 1.0 + k * start * swing["time"].values / inertia
    np.testing.assert_allclose(np.radians(swing["swing_rate"]), start / growth, rtol=1e-8)
    np.testing.assert_allclose(np.radians(swing["angle_turned"]), inertia / k * np.log(growth), rtol=1e-8, atol=1e-12)
    turned = np.interp(-0.1, -swing["swing_rate"].values, swing["angle_turned"].values)
    assert turned == pytest.approx(279.0, abs=0.5)


def loads(v: float, r: float, coefficient: float = 1.0) -> tuple[float, float]:
    """Cross-flow side force and yaw moment by quadrature: written afresh, not the toolkit's closed form."""
    c, half = 0.5 * RHO * coefficient * DRAUGHT, LENGTH / 2
    split = [-v / r] if r and abs(v / r) < half else None
    force = quad(lambda x: abs(v + x * r) * (v + x * r), -half, half, points=split)[0]
    moment = quad(lambda x: x * abs(v + x * r) * (v + x * r), -half, half, points=split)[0]
    return -c * force, -c * moment


@pytest.mark.parametrize(
    ("share", "ratio", "q", "drift"),
    [(0.5, 3.71934, 0.14085, 0.52387), (0.4, 3.15409, 0.19165, 0.60449), (0.25, 3**0.5, 0.5, 3**0.5 / 2)],
)  # fmt: skip
def test_single_force_balanced_by_drag_alone(share: float, ratio: float, q: float, drift: float) -> None:
    # the centripetal and Munk terms left out: N(v, r) = a Y(v, r); made non-dimensional by sqrt(rho CD T L / 2F)
    force, lever = 100e3, share * LENGTH
    swing = toolkit.barge_alone(force=force, lever=lever, coupling=False, duration=3000.0, **BOX)
    scale = math.sqrt(RHO * DRAUGHT * LENGTH / (2.0 * force))
    rate, sway = math.radians(swing["steady_swing_rate"]), float(swing["steady_sway_velocity"])
    assert rate * LENGTH * scale == pytest.approx(ratio, abs=6e-6)
    assert sway * scale == pytest.approx(drift, abs=6e-6)
    assert sway / (rate * LENGTH) == pytest.approx(q, abs=6e-6)

    # its own root, from the balance written afresh: pivot abaft midships by q L, then the size of the force
    def balance(trial: float) -> float:
        y, n = loads(trial * LENGTH, 1.0)
        return n - lever * y

    root = brentq(balance, 0.01, 0.9, xtol=1e-14)
    expected = math.sqrt(force / -loads(root * LENGTH, 1.0)[0])
    assert rate == pytest.approx(expected, rel=1e-8)
    assert sway == pytest.approx(root * LENGTH * expected, rel=1e-8)


@pytest.mark.parametrize(("share", "ratio"), [(0.5, 3.995), (0.4, 3.569), (0.25, 2.80)])
def test_single_force_with_all_terms(share: float, ratio: float) -> None:
    force, lever = 100e3, share * LENGTH
    swing = toolkit.barge_alone(force=force, lever=lever, duration=3000.0, **BOX)
    scale = LENGTH * math.sqrt(RHO * DRAUGHT * LENGTH / (2.0 * force))
    rate = math.radians(swing["steady_swing_rate"])
    assert rate * scale == pytest.approx(ratio, abs=5.1e-4 if share > 0.3 else 5.1e-3)  # printed to these figures

    # its own root: masses from box and conformal map, friction by the ITTC line itself, form drag of the blunt ends
    mass = REFERENCE["displacement"]
    surge_mass, sway_mass = 1.08 * mass, mass + 1547.6e3

    def resistance(u: float) -> float:
        reynolds = max(abs(u) * LENGTH / 1.19e-6, 1e4)
        wetted = LENGTH * BEAM + 2 * DRAUGHT * (LENGTH + BEAM)
        friction = 0.075 / (math.log10(reynolds) - 2.0) ** 2
        return -0.5 * RHO * u * abs(u) * (friction * wetted + 0.5 * BEAM * DRAUGHT)

    def balance(x: np.ndarray) -> list[float]:
        u, v, r = x[0], x[1], x[2] / LENGTH
        y, n = loads(v, r)
        return [
            (resistance(u) + sway_mass * v * r) / force,
            (y + force - surge_mass * u * r) / force,
            (n + force * lever - (sway_mass - surge_mass) * u * v) / (force * lever),
        ]

    start = [
        float(swing["steady_surge_velocity"]) * 0.9,
        float(swing["steady_sway_velocity"]) * 1.2,
        rate * LENGTH * 0.95,
    ]
    root, _, found, message = fsolve(balance, start, full_output=True, xtol=1e-12)
    assert found == 1, message
    # 1e-3: the toolkit's friction is a polynomial within 9 percent of the line, and a hundredth of the balance
    assert rate == pytest.approx(root[2] / LENGTH, rel=1e-3)
    assert swing["steady_surge_velocity"] == pytest.approx(root[0], rel=2e-2)
    assert swing["steady_sway_velocity"] == pytest.approx(root[1], rel=2e-2)


def test_coupling_hardly_moves_the_time_of_half_a_turn() -> None:
    # the terms make the steady rate 7 and 13 percent higher, and the time to 180 degrees 0.5 percent shorter at most
    for share in (0.5, 0.4):
        times = [
            float(toolkit.barge_alone(force=1e5, lever=share * LENGTH, coupling=c, **BOX)["time_to_turn"][1])
            for c in (True, False)
        ]
        assert times[0] == pytest.approx(times[1], rel=0.01)


def test_force_to_the_power_of_minus_one_half() -> None:
    # all loads and inertia terms are quadratic in velocity, so four times the force draws the same outline in half the
    # time; exactly for a couple
    one, four = (
        toolkit.barge_alone(couple=c, duration=400.0 / n, time_step=0.5 / n, **BOX) for c, n in ((2e6, 1), (8e6, 2))
    )
    np.testing.assert_allclose(four["angle_turned"], one["angle_turned"], rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(2.0 * four["time_to_turn"], one["time_to_turn"], rtol=1e-9)
    # ... and for a force but for the linear part of friction, which is under a thousandth of the loads
    for lever in (30.0, 24.0, 15.0):
        one, four = (
            toolkit.barge_alone(force=f, lever=lever, duration=150.0 / n, time_step=0.5 / n, **BOX)
            for f, n in ((1e5, 1), (4e5, 2))
        )
        np.testing.assert_allclose(2.0 * four["time_to_turn"], one["time_to_turn"], rtol=1e-4)
        for name in ("advance", "transfer"):
            np.testing.assert_allclose(four[name], one[name], atol=0.05)


@pytest.mark.parametrize(
    ("name", "factor", "power"), [("cross_flow_drag_coefficient", 4.0, -0.5), ("couple", 4.0, 0.5)]
)  # fmt: skip
def test_steady_rate_goes_with_the_root(name: str, factor: float, power: float) -> None:
    case = {**BOX, "cross_flow_drag_coefficient": 0.5, "couple": 1e6, "duration": 2000.0}
    first = toolkit.barge_alone(**case)
    second = toolkit.barge_alone(**{**case, name: case[name] * factor})
    assert second["steady_swing_rate"] / first["steady_swing_rate"] == pytest.approx(factor**power, rel=1e-8)


def test_depth_of_one_and_a_half_draughts_halves_the_rate() -> None:
    # UFC 4-159-03 eq. 11, h/T 1.5: the coefficient of this box (L/B 3.75) rises 3.89 times, the rate falls to 0.507
    case = {**REFERENCE, "couple": 1e6, "duration": 2000.0}
    ratio = (
        toolkit.barge_alone(water_depth=4.5, **case)["steady_swing_rate"]
        / toolkit.barge_alone(**case)["steady_swing_rate"]
    )
    assert ratio == pytest.approx(0.507, abs=5e-4)


def test_pure_sway_push() -> None:
    # F = 1/2 rho CD L T v^2: 1.0412 m/s for 100 kN amidships, printed to four decimals; no turning, and unstable to it,
    # so only as long as rounding has not grown
    swing = toolkit.barge_alone(force=1e5, duration=300.0, coupling=False, **BOX)
    assert swing["sway_velocity"][-1] == pytest.approx(1.0412, abs=1e-4)
    assert abs(float(swing["angle_turned"][-1])) < 1e-6
