"""Tug and barge by another route: Lagrange's equations from the kinetic energy, loads written anew.

Nothing here comes from `toolkit.motion` but the numbers of a case (masses, coefficients) and the orders its drives
were given. The equations of motion are derived by sympy from the kinetic energy in earth-fixed coordinates: north,
east and heading of each hull and the heel of the tug. The energy is that of the hulls as rigid bodies and of the
water about them: the added mass of the tug sits below her centre of gravity and goes with her as she rolls, so what
sway, yaw and roll do to each other comes out of the derivation. Line and fender give forces by the derivatives of
their length and compression; every other load by the virtual work at the place where it acts. The coordinates are
those of an observer who drifts with an even current. Loads are written from their sources by quadrature, library
functions and root finding, where the package has closed forms and series.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import sympy as sp
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from toolkit.motion.layout import ORDER, STATE_ROW, Parameters
from toolkit.motion.log import TICK
from toolkit.motion.prepare import Prepared

Array = NDArray[np.float64]

TOLERANCE = 1e-9
"""Of a step, relative and over 1 m, 1 m/s, 1 rad, full thrust."""


@dataclass(frozen=True)
class Equations:
    """Compiled results of the derivation, each a function of numbers."""

    barge: Callable[..., Any]
    """Mass matrix and the terms quadratic in velocities, of three coordinates."""
    tug: Callable[..., Any]
    """The same of four."""
    line: Callable[..., Any]
    """Length between the towing points and its derivatives by all seven coordinates."""
    fender: Callable[..., Any]
    """Place of a fender point in the barge's axes: along, across, and the derivatives of both by all seven."""


def lagrange(energy: sp.Expr, q: list[sp.Symbol], v: list[sp.Symbol]) -> tuple[sp.Matrix, sp.Matrix]:
    """Mass matrix M and terms c of ``M a + c = Q``, from ``d/dt dT/dv - dT/dq = Q``."""
    momentum = sp.Matrix([energy.diff(each) for each in v])
    mass = momentum.jacobian(v)
    terms = momentum.jacobian(q) * sp.Matrix(v) - sp.Matrix([energy.diff(each) for each in q])
    return mass, terms


@cache
def equations() -> Equations:
    """Derive the equations of motion; some seconds, once."""
    x, y, psi, phi = q = list(sp.symbols("x y psi phi"))
    xd, yd, r, p = v = list(sp.symbols("xd yd r p"))
    u, w = xd * sp.cos(psi) + yd * sp.sin(psi), yd * sp.cos(psi) - xd * sp.sin(psi)
    mu, mv, inertia = sp.symbols("mu mv inertia")
    barge = lagrange((mu * u**2 + mv * w**2 + inertia * r**2) / 2, q[:3], v[:3])
    m, au, av, iz, ix, h = sp.symbols("m au av iz ix h")
    # the water about the tug, at h from her centre of gravity (upward positive, starboard down as heel grows)
    water = au * (u - r * h * sp.sin(phi)) ** 2 + av * (w + h * sp.cos(phi) * p) ** 2
    tug = lagrange((m * (u**2 + w**2) + iz * r**2 + ix * p**2 + water) / 2, q, v)

    bx, by, bpsi = sp.symbols("bx by bpsi")
    every = [bx, by, bpsi, x, y, psi, phi]

    def turned(angle: Any, a: Any, b: Any) -> sp.Matrix:
        return sp.Matrix([sp.cos(angle) * a - sp.sin(angle) * b, sp.sin(angle) * a + sp.cos(angle) * b])

    fx, fy, tx, th = sp.symbols("fx fy tx th")
    gap = sp.Matrix([bx, by]) + turned(bpsi, fx, fy) - sp.Matrix([x, y]) - turned(psi, tx, th * sp.sin(phi))
    reach = sp.sqrt(gap.dot(gap))
    px, py, ph = sp.symbols("px py ph")
    point = sp.Matrix([x, y]) + turned(psi, px, py * sp.cos(phi) + ph * sp.sin(phi)) - sp.Matrix([bx, by])
    place = turned(-bpsi, point[0], point[1])

    def made(arguments: list[Any], *results: Any) -> Callable[..., Any]:
        return sp.lambdify(arguments, results, modules="math", cse=True)  # type: ignore[no-any-return]

    return Equations(
        barge=made([*q[:3], *v[:3], mu, mv, inertia], *[part.tolist() for part in barge]),
        tug=made([*q, *v, m, au, av, iz, ix, h], *[part.tolist() for part in tug]),
        line=made([*every, fx, fy, tx, th], reach, [reach.diff(each) for each in every]),
        fender=made([*every, px, py, ph], place.tolist(), place.jacobian(every).tolist()),
    )


def halves(length: float, v: float, r: float) -> list[tuple[float, float]]:
    """Parts of a hull on which the cross flow has one sign."""
    half = 0.5 * length
    if r != 0.0 and -half < -v / r < half:
        return [(-half, -v / r), (-v / r, half)]
    return [(-half, half)]


def cross_flow(v: float, r: float, length: float, c: float) -> tuple[float, float]:
    """Side force and moment of ``-c w |w|`` along a hull, w = v + x r, by Gauss's rule on each part."""
    side = moment = 0.0
    nodes = (-math.sqrt(0.6), 0.0, math.sqrt(0.6))
    for low, high in halves(length, v, r):
        for node, weight in zip(nodes, (5 / 9, 8 / 9, 5 / 9), strict=True):
            x = 0.5 * (low + high) + 0.5 * (high - low) * node
            force = -c * (v + x * r) * abs(v + x * r) * 0.5 * (high - low) * weight
            side += force
            moment += x * force
    return side, moment


def small_drift(u: float, v: float, r: float, length: float) -> float:
    """Weight of forces of small drift angles: 1 ahead, a half at 30 degrees of drift."""
    return u * u / (u * u + 3.0 * (v * v + (0.5 * r * length) ** 2) + 1e-30)


def barge_water(u: float, v: float, r: float, p: Parameters) -> tuple[float, float, float]:
    """Water on the barge about midships."""
    length = 2.0 * p.barge_half_length
    side, moment = cross_flow(v, r, length, p.barge_cross_flow)
    skeg = -p.barge_skeg * abs(u) * (v + p.barge_skeg_x * r)
    weight = small_drift(u, v, r, length)
    side += weight * (p.barge_sway_by_sway * abs(u) * v + p.barge_sway_by_yaw * u * r + skeg)
    moment += weight * (
        p.barge_yaw_by_sway * u * v + p.barge_yaw_by_yaw * abs(u) * r + p.barge_skeg_x * skeg
    )  # fmt: skip
    return -u * (p.barge_surge_linear + p.barge_surge_quadratic * abs(u)), side, moment


def tug_water(u: float, v: float, r: float, p: Parameters) -> tuple[float, float, float]:
    """Water on the tug about midships; v at the height of her lateral resistance."""
    length, centre = 2.0 * p.tug_half_length, p.tug_resistance_centre
    side, moment = cross_flow(v + centre * r, r, length, p.tug_cross_flow)
    moment += centre * side
    end = -math.copysign(p.tug_lift_reach, u)  # the trailing one
    lift = -(p.tug_lift_aft if u > 0.0 else p.tug_lift_fore) * abs(u) * (v + end * r) * small_drift(u, v, r, length)
    ahead = -u * (p.tug_surge_linear + p.tug_surge_quadratic * abs(u))
    return ahead, side + lift, moment + end * lift


def wind(ahead: float, side: float, length: float, of: dict[str, float]) -> tuple[float, float, float]:
    """Blendermann's form for air that moves past a hull, ahead and to starboard."""
    speed = math.hypot(ahead, side)
    if speed == 0.0 or of["lateral"] == 0.0:
        return 0.0, 0.0, 0.0
    angle = math.atan2(-side, -ahead)  # from the bow, starboard positive: where it comes from
    end = of["bow"] if abs(angle) < 0.5 * math.pi else of["stern"]
    ratio = end * of["frontal"] / (of["transverse"] * of["lateral"])
    shape = 1.0 - 0.5 * of["cross"] * (1.0 - ratio) * math.sin(2.0 * angle) ** 2
    force_ahead = -(speed**2) * of["frontal"] * end * math.cos(angle) / shape
    force_side = -(speed**2) * of["lateral"] * of["transverse"] * math.sin(angle) / shape
    return force_ahead, force_side, force_side * (of["offset"] + 0.18 * length * (0.5 * math.pi - abs(angle)))


def wind_numbers(p: Parameters, hull: str) -> dict[str, float]:
    """Coefficients of :func:`wind`."""
    keys = ("lateral", "frontal", "transverse", "bow", "stern", "cross")
    offset = p.barge_wind_offset if hull == "barge" else 0.0
    return {key: getattr(p, f"{hull}_wind_{key}") for key in keys} | {"offset": offset}


def line_at_rest(stretch: float, p: Parameters) -> float:
    """Tension of stretch and sag: the root of ``stretch = T / k - S / T^2``."""
    k, sag = p.line_stiffness, p.line_sag
    if k == 0.0:
        return 0.0
    if sag == 0.0:
        return max(k * stretch, 0.0)
    top = k * max(stretch, 0.0) + 2.0 * (k * sag) ** (1.0 / 3.0)
    return float(brentq(lambda t: t**3 - k * stretch * t * t - k * sag, 0.0, top, xtol=1e-9, rtol=1e-14))


def smooth(x: float) -> float:
    x = min(max(x, 0.0), 1.0)
    return 3.0 * x**2 - 2.0 * x**3


def wash(
    thrust: float, jet: tuple[float, float], apart: tuple[float, float], p: Parameters
) -> tuple[float, float, float]:
    """Wash of one drive on the barge: DNV-RP-H103's share stopped, faded off her outline."""
    jx, jy = jet
    hl, hb = p.barge_half_length, p.barge_half_beam
    along, offset = apart[0] * jx + apart[1] * jy, jx * apart[1] - jy * apart[0]
    width, depth = hl * abs(jy) + hb * abs(jx), hl * abs(jx) + hb * abs(jy)
    distance = max(along - depth, 1.0)
    radius = p.jet_radius + p.jet_spread * distance
    stopped = 1.0 - (1.0 + 0.015 * 2.0 * width * p.barge_draught / distance) ** -2.1
    share = min(max(p.barge_wash * stopped, 0.0), 1.0)
    share *= smooth((width + radius - abs(offset)) / (2.0 * radius if radius < width else width + radius))
    share *= smooth(0.5 + 0.5 * along / depth)
    force = thrust * share
    return force * jx, force * jy, force * min(max(offset, -width), width)


@dataclass
class LagrangianRun:
    """A case replayed by Lagrange's equations.

    Attributes
    ----------
    barge, tug : ndarray, shape (ticks, 3)
        North, east [m] and heading [rad, running on] over the ground at each tick.
    heel : ndarray, shape (ticks,)
        [rad].
    tension, contact : ndarray, shape (ticks,)
        [N].
    """

    barge: Array
    tug: Array
    heel: Array
    tension: Array
    contact: Array


class Replay:
    """One case in earth-fixed coordinates that drift with an even current.

    State: the seven coordinates, their rates, then thrust and direction of either drive.
    """

    def __init__(self, prepared: Prepared, case: int = 0) -> None:
        self.p = Parameters(*prepared.parameters[:, case].tolist())
        s = prepared.initial[:, case]
        self.equations = equations()
        self.orders = np.zeros(6)
        self.tension = self.contact = 0.0
        p = self.p
        assert p.current_shear == 0.0 and p.bridle_half_spread == 0.0 and p.gust_share == 0.0 and p.failure == 0.0
        self.wind = p.mean_wind_north - p.current_north, p.mean_wind_east - p.current_east
        self.air = {hull: wind_numbers(p, hull) for hull in ("barge", "tug")}

        def hull(name: str) -> tuple[list[float], list[float]]:
            row = STATE_ROW._asdict()
            c, sn = s[row[f"{name}_cosine"]], s[row[f"{name}_sine"]]
            u, v, r = s[row[f"{name}_surge"]], s[row[f"{name}_sway"]], s[row[f"{name}_yaw"]]
            place = [s[row[f"{name}_north"]], s[row[f"{name}_east"]], math.atan2(sn, c)]
            return place, [c * u - sn * v, sn * u + c * v, r]

        (b, bd), (t, td) = hull("barge"), hull("tug")
        drives = []
        for side in ("starboard", "port"):
            row = STATE_ROW._asdict()
            drives += [s[row[f"thrust_{side}"]], math.atan2(s[row[f"{side}_sine"]], s[row[f"{side}_cosine"]])]
        self.state = np.array([*b, *t, s[STATE_ROW.heel], *bd, *td, s[STATE_ROW.heel_rate], *drives])

    def drive_rates(self, drives: Array) -> list[float]:
        """Spooling and slewing toward the orders."""
        p, rates = self.p, []
        for i in range(2):
            thrust, angle = drives[2 * i : 2 * i + 2]
            ordered, off = self.orders[3 * i], math.atan2(self.orders[3 * i + 2], self.orders[3 * i + 1]) - angle
            wanted = max(math.cos(off), 0.0) * ordered
            rates.append(min(max((wanted - thrust) * p.spool_pace, -p.spool), p.spool))
            turn = math.sin(off) * p.slew_pace
            near = math.cos(off) > 0.0
            rates.append(min(max(turn, -p.slew), p.slew) if near else math.copysign(p.slew, turn))
        return rates

    def thrusts(self, drives: Array, u: float, v: float, r: float, roll: float) -> list[tuple[float, ...]]:
        """Of each drive: athwart place, thrust at rest, direction, and force ahead and to starboard, moving."""
        p, found = self.p, []
        size = [abs(drives[0]), abs(drives[2])]
        angle = [drives[1 + 2 * i] if drives[2 * i] >= 0.0 else math.pi for i in range(2)]
        for i in range(2):
            other = 1 - i
            c, sn = math.cos(angle[i]), math.sin(angle[i])
            band = smooth((p.athwart_band_sine + 0.1 - abs(c)) / 0.2)
            share = (1.0 - 0.5 * (1.0 - p.astern_ratio) * (1.0 - c)) * (1.0 - (1.0 - p.athwart_share) * band)
            # the other's wash runs against its thrust; toward this drive if to the side on which this one sits
            toward = -math.sin(angle[other]) * (1.0 if i == 0 else -1.0)
            if toward > 0.0:
                off = math.degrees(math.asin(min(abs(math.cos(angle[other])), 1.0)))
                tandem = p.tandem_ratio
                left = tandem + (1.0 - tandem) * off**3 / (130.0 / tandem**3 + off**3)
                weight = p.wash_share * min(size[other] / (size[i] + 1.0), 1.0)
                share *= 1.0 - weight * (1.0 - left)
            given = size[i] * share
            place = p.drive_half_spacing * (1.0 if i == 0 else -1.0)
            ahead, side = u - place * r, v + p.drive_x * r + roll
            along, across = ahead * c + side * sn, side * c - ahead * sn
            pull = given * min(max(1.0 - p.speed_loss * along, 0.0), 1.0)
            drag = p.ram * math.sqrt(given) * across
            found.append((place, given, angle[i], pull * c + drag * sn, pull * sn - drag * c))
        return found

    def right_hand_side(self, _: float, y: Array) -> Array:
        """Rates of the state."""
        p = self.p
        q, v, drives = y[:7].tolist(), y[7:14].tolist(), y[14:]
        force = np.zeros(7)

        def push(hull: int, ahead: float, side: float, moment: float) -> None:
            """Virtual work of a load in a hull's own axes."""
            c, sn = math.cos(q[hull + 2]), math.sin(q[hull + 2])
            force[hull] += c * ahead - sn * side
            force[hull + 1] += sn * ahead + c * side
            force[hull + 2] += moment

        velocities = []
        for hull in (0, 3):
            c, sn = math.cos(q[hull + 2]), math.sin(q[hull + 2])
            velocities.append((c * v[hull] + sn * v[hull + 1], c * v[hull + 1] - sn * v[hull], v[hull + 2], c, sn))
        (ub, vb, rb, cb, sb), (ut, vt, rt, ct, st) = velocities
        heel, rolling = q[6], v[6]
        cosine = math.cos(heel)

        push(0, *barge_water(ub, vb, rb, p))
        low = p.tug_resistance_height * cosine
        ahead, side, moment = tug_water(ut, vt + low * rolling, rt, p)
        push(3, ahead, side, moment)
        force[6] += low * side
        for hull, name, c, sn in ((0, "barge", cb, sb), (3, "tug", ct, st)):
            north, east = self.wind[0] - v[hull], self.wind[1] - v[hull + 1]
            half = p.barge_half_length if hull == 0 else p.tug_half_length
            ahead, side, moment = wind(c * north + sn * east, c * east - sn * north, 2.0 * half, self.air[name])
            push(hull, ahead, side, moment)
            if hull == 3:
                force[6] += p.tug_wind_height * side

        high = p.drive_height * cosine
        for place, given, angle, ahead, side in self.thrusts(drives, ut, vt, rt, high * rolling):
            push(3, ahead, side, p.drive_x * side - place * ahead)
            force[6] += high * side
            if p.barge_wash > 0.0:
                away = angle + q[5] - q[2] + math.pi
                at_north = q[3] + ct * p.drive_x - st * place - q[0]
                at_east = q[4] + st * p.drive_x + ct * place - q[1]
                apart = -(cb * at_north + sb * at_east), -(cb * at_east - sb * at_north)
                push(0, *wash(given, (math.cos(away), math.sin(away)), apart, p))

        if p.line_stiffness > 0.0:
            reach, slope = self.equations.line(
                *q, p.barge_towing_x, p.barge_towing_y, p.tug_towing_x, p.tug_towing_height
            )
            stretch, rate = reach - p.line_length, float(np.dot(slope, v))
            damping = p.line_stiffness * p.line_loss_time * min(max(stretch / p.line_fade, 0.0), 1.0) * rate
            self.tension = max(line_at_rest(stretch, p) + damping, 0.0)
            force -= self.tension * np.asarray(slope)
        if p.fender_stiffness > 0.0:
            self.touch(q, v, force)

        tangent = math.tan(heel)
        righting = math.sin(heel) * (p.metacentric_height + 0.5 * p.metacentric_radius * tangent * tangent)
        force[6] -= p.tug_weight * righting + p.tug_roll_damping * rolling

        mass, terms = self.equations.barge(*q[:3], *v[:3], p.barge_surge_mass, p.barge_sway_mass, p.barge_yaw_inertia)
        barge = np.linalg.solve(mass, force[:3] - np.ravel(terms))
        below = p.tug_resistance_height
        mass, terms = self.equations.tug(
            *q[3:], *v[3:], p.tug_surge_mass - p.tug_surge_added_mass, p.tug_surge_added_mass, p.tug_sway_added_mass,
            p.tug_yaw_inertia, p.tug_roll_inertia - p.tug_sway_added_mass * below**2, below,
        )  # fmt: skip
        tug = np.linalg.solve(mass, force[3:] - np.ravel(terms))
        return np.array([*v, *barge, *tug, *self.drive_rates(drives)])

    def touch(self, q: list[float], v: list[float], force: Array) -> None:
        """Add the fender's springs and friction: by the derivatives of compression and of the place along the side."""
        p, self.contact = self.p, 0.0
        for x, y in ((p.fender_first_x, p.fender_first_y), (p.fender_second_x, p.fender_second_y)):
            (along, across), (by_along, by_across) = self.equations.fender(*q, x, y, p.fender_height)
            along, across = along[0], across[0]
            squeeze = p.barge_half_beam - p.pushed_side * across
            if not 0.0 < squeeze < 2.0:
                continue
            slope, slip = -p.pushed_side * np.asarray(by_across), float(np.dot(by_along, v))
            on_side = min(max((p.barge_half_length - abs(along)) / 0.5, 0.0), 1.0)
            damped = p.fender_loss_time * min(squeeze / p.fender_fade, 1.0) * float(slope @ v)
            normal = on_side * max(p.fender_stiffness * (squeeze + damped), 0.0)
            friction = -p.fender_friction * normal * slip / math.hypot(slip, p.fender_creep)
            force += -normal * slope + friction * np.asarray(by_along)
            self.contact += normal

    def run(self, orders: Array, tolerance: float = TOLERANCE) -> LagrangianRun:
        """Follow recorded orders, one row a tick, from the start; positions are given over the ground."""
        sizes = np.ones(18)
        sizes[[14, 16]] = self.p.unit_thrust
        states, tensions, contacts = [], [], []
        for told in orders:
            self.right_hand_side(0.0, self.state)
            states.append(self.state)
            tensions.append(self.tension)
            contacts.append(self.contact)
            self.orders = told
            solution = solve_ivp(
                self.right_hand_side, (0.0, TICK), self.state, method="DOP853", rtol=tolerance, atol=tolerance * sizes,
                max_step=0.1,
            )  # fmt: skip
            assert solution.success
            self.state = solution.y[:, -1]
        found = np.array(states)
        drift = TICK * np.arange(len(found))[:, None] * np.array([self.p.current_north, self.p.current_east])
        found[:, 0:2] += drift
        found[:, 3:5] += drift
        return LagrangianRun(
            barge=found[:, 0:3], tug=found[:, 3:6], heel=found[:, 6], tension=np.array(tensions),
            contact=np.array(contacts),
        )  # fmt: skip


def orders_of(record: Any, case: int = 0) -> Array:
    """Orders in force in each tick of a record: thrust, cosine and sine; starboard drive, then port."""
    assert ORDER._fields == (
        "thrust_starboard", "starboard_cosine", "starboard_sine", "thrust_port", "port_cosine", "port_sine"
    )  # fmt: skip
    return np.asarray(record.orders[case])
