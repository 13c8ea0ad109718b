"""A barge alone under a force or a couple held in her own axes: the entry for closed forms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.loads.cross_flow import cross_flow
from toolkit.loads.resistance import surge_resistance
from toolkit.motion.layout import Parameters
from toolkit.motion.prepare import prepare
from toolkit.motion.rigid import planar_accelerations
from toolkit.particulars import barge_problems
from toolkit.quantities import INPUTS
from toolkit.quantities.units import format_interval, format_value, within

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["barge_alone"]

Array = NDArray[np.float64]

WHERE = "barge alone"
RELATIVE_ERROR = 1e-10
"""Error allowed to a step of the integration, relative to each state."""
ABSOLUTE_ERROR = 1e-12
"""The same where a state is about nothing, in SI and radians."""
STEADY_SHARE = 1e-3
"""How near the motion at the end must be to the steady one, over the velocities themselves, to report it."""


def barge_alone(
    *,
    force: float = 0.0,
    lever: float = 0.0,
    couple: float = 0.0,
    displacement: float = 454e3,
    loading: float = 1.0,
    barge_length: float = math.nan,
    barge_beam: float = math.nan,
    barge_draught: float = math.nan,
    cross_flow_drag_coefficient: float = math.nan,
    bow_drag_coefficient: float = 0.5,
    drag_multiplier: float = 1.0,
    added_mass_multiplier: float = 1.0,
    water_density: float = 1025.0,
    water_depth: float = math.inf,
    coupling: bool = True,
    initial_surge: float = 0.0,
    initial_sway: float = 0.0,
    initial_swing_rate: float = 0.0,
    duration: float = 600.0,
    time_step: float = 0.5,
    angles: Sequence[float] = (90.0, 180.0),
) -> xr.Dataset:
    r"""Swing a barge alone, without tug, wind or current.

    Parameters
    ----------
    force : float
        Force on the barge, athwartships in her own axes, to starboard
        positive; it turns with her [N].
    lever : float
        Where the force acts, forward of midships [m]; not beyond her ends.
    couple : float
        Couple on the barge besides, bow to starboard positive [N m].
    displacement, loading, barge_length, barge_beam, barge_draught
        The inputs of a study by the same names, in SI; NaN takes a dimension
        from the family of barges.
    cross_flow_drag_coefficient : float
        In deep water [1]; NaN takes that of UFC 4-159-03.
    bow_drag_coefficient, drag_multiplier, added_mass_multiplier, water_density : float
        The inputs of a study by the same names.
    water_depth : float
        [m]; infinity, the default, leaves the depth effect on drag out.
    coupling : bool
        False leaves out the centripetal and Munk terms of the equations of
        motion, so that drag alone balances the force; closed forms of the
        balance of loads want that, a real barge does not.
    initial_surge, initial_sway : float
        Velocity at the start, ahead and to starboard [m s-1].
    initial_swing_rate : float
        Rate of turn at the start, bow to starboard positive [degree s-1].
    duration, time_step : float
        Time simulated, and interval of the times returned [s].
    angles : sequence of float
        Angles turned through, whichever way round, whose times are wanted
        [degree]; positive.

    Returns
    -------
    xarray.Dataset
        Along ``time`` [s]: ``angle_turned`` [degree, to starboard positive],
        ``swing_rate`` [degree s-1], ``surge_velocity``, ``sway_velocity``
        [m s-1, of midships in the barge's axes], ``advance``, ``transfer`` [m,
        of midships from the start, ahead and to starboard of the heading at
        the start]. Along ``angle`` [degree]: ``time_to_turn`` [s], NaN where
        the angle was not reached. Scalars: ``steady_swing_rate``,
        ``steady_surge_velocity``, ``steady_sway_velocity`` (the exact
        equilibrium, and NaN where the motion did not come within 0.1 percent
        of one by the end, as under no force at all: a coasting swing never
        becomes steady), and ``yaw_inertia`` [kg m2], ``yaw_drag`` [N m s2
        rad-2] that the closed forms need.

    Raises
    ------
    StudyError
        With every problem of the arguments.

    Notes
    -----
    The loads, particulars and equations of motion are those of the engine,
    integrated by an explicit Runge-Kutta method of eighth order with error
    control. Under a couple alone, with :math:`k = \rho C_D T L^4 / 64` and
    inertia :math:`I`, the rate is :math:`\sqrt{N/k} \tanh(t \sqrt{kN}/I)` and
    the time to an angle :math:`I / \sqrt{kN} \cosh^{-1} e^{k \psi / I}`; left
    to coast from :math:`r_0` she turns :math:`(I/k) \ln(1 + k r_0 t / I)`.
    Drag data reach to 1.5 m/s (UFC 4-159-03); nothing is flagged here.

    Examples
    --------
    >>> import toolkit
    >>> swing = toolkit.barge_alone(couple=3e6, displacement=2656.8e3, barge_length=60, barge_beam=16,
    ...                             barge_draught=3, cross_flow_drag_coefficient=1.0)
    >>> round(float(swing["steady_swing_rate"]), 3)
    3.977
    """
    given = {
        "displacement": displacement, "loading": loading, "barge_length": barge_length, "barge_beam": barge_beam,
        "barge_draught": barge_draught, "cross_flow_drag_coefficient": cross_flow_drag_coefficient,
        "bow_drag_coefficient": bow_drag_coefficient, "drag_multiplier": drag_multiplier,
        "added_mass_multiplier": added_mass_multiplier, "water_density": water_density, "water_depth": water_depth,
    }  # fmt: skip
    free = {
        "force": (force, "N"), "lever": (lever, "m"), "couple": (couple, "N m"),
        "initial_surge": (initial_surge, "m s-1"), "initial_sway": (initial_sway, "m s-1"),
        "initial_swing_rate": (initial_swing_rate, "degree s-1"),
        "duration": (duration, "s"), "time_step": (time_step, "s"),
        **{f"angles[{i}]": (angle, "degree") for i, angle in enumerate(angles)},
    }  # fmt: skip
    problems = _input_problems(given) + _free_problems(free)
    if problems:
        raise StudyError(problems)
    row = _parameters(given, lever)
    moment = couple + force * lever
    motion = [initial_surge, initial_sway, math.radians(initial_swing_rate)]
    return _swing(row, float(force), moment, coupling, motion, duration, time_step, [float(a) for a in angles])


def _refusal(what: str, why: str, remedy: str) -> Problem:
    return Problem(where=WHERE, what=what, why=why, remedy=remedy)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool)


def _input_problems(given: dict[str, float]) -> list[Problem]:
    """Problems of inputs that are in the register."""
    problems = []
    for name, value in given.items():
        quantity = INPUTS[name]
        if not _is_number(value):
            problems.append(_refusal(f"{name} = {value!r} is not a number", "", f"Give it in {quantity.unit}"))
        elif (name == "water_depth" and value == math.inf) or (quantity.derived_unless_given and math.isnan(value)):
            continue
        elif not within(quantity, value):
            shown = format_value(quantity, float(value))
            problems.append(
                _refusal(
                    f"{name} = {shown} is outside {format_interval(quantity)}",
                    quantity.why,
                    f"Give a number in {quantity.unit if quantity.unit != '1' else 'shares of one'} within it",
                )
            )
    return problems


def _free_problems(free: dict[str, tuple[float, str]]) -> list[Problem]:
    """Problems of arguments that are not in the register."""
    problems = []
    for name, (value, unit) in free.items():
        if not _is_number(value) or not math.isfinite(value):
            problems.append(_refusal(f"{name} = {value!r} is not a finite number", "", f"Give it in {unit}"))
        elif (name.startswith("angles") or name in ("duration", "time_step")) and value <= 0.0:
            why = "angles count whichever way round" if name.startswith("angles") else "time runs forward"
            problems.append(_refusal(f"{name} = {value:g} [{unit}] is not above 0", why, "Give a positive number"))
    if not problems and free["duration"][0] / free["time_step"][0] > 1e6:
        steps = free["duration"][0] / free["time_step"][0]
        what = f"duration over time_step = {steps:.3g} is outside [0, 1e+06]"
        problems.append(_refusal(what, "so many times fill the memory", "Give a longer time_step"))
    return problems


def _parameters(given: dict[str, float], lever: float) -> Parameters:
    """Numbers of the barge as the engine draws them up, of one case."""
    columns: dict[str, NDArray[Any]] = {
        name: np.zeros(1, dtype=np.int64) if quantity.is_choice else np.array([float(quantity.default)])
        for name, quantity in INPUTS.items()
    }
    columns |= {name: np.array([float(value)]) for name, value in given.items()}
    prepared = prepare(columns)
    problems = [misfit.problem(WHERE) for misfit in barge_problems(prepared.barge)]
    draught, depth = float(prepared.barge.draught[0]), given["water_depth"]
    if depth <= draught:
        problems.append(
            _refusal(f"water_depth = {depth:g} [m] is not above the draught of {draught:.4g} [m]", "she is aground",
                     "Give deeper water")
        )  # fmt: skip
    half = 0.5 * float(prepared.barge.length[0])
    if abs(lever) > half * (1.0 + 1e-12):
        problems.append(
            _refusal(f"lever = {lever:g} [m] is outside [{-half:g}, {half:g}]", "the force would act beyond her ends",
                     "Give a smaller lever, or the rest of its moment as a couple")
        )  # fmt: skip
    if problems:
        raise StudyError(problems)
    return Parameters(*(float(value) for value in prepared.parameters[:, 0]))


def _accelerations(
    row: Parameters, surge: float, sway: float, yaw: float, force: float, moment: float, coupling: float
) -> tuple[float, float, float]:
    """Accelerations under the water's loads and those applied, by the engine's functions."""
    side, turning = cross_flow(sway, yaw, row.barge_half_length, row.barge_cross_flow)
    ahead = surge_resistance(surge, row.barge_surge_linear, row.barge_surge_quadratic)
    return planar_accelerations(
        surge, sway, yaw, row.barge_surge_mass, row.barge_sway_mass, row.barge_yaw_inertia, coupling,
        ahead, side + force, turning + moment,
    )  # fmt: skip


def _swing(
    row: Parameters, force: float, moment: float, coupling: bool, motion: list[float], duration: float,
    time_step: float, angles: list[float],
) -> xr.Dataset:  # fmt: skip
    """Integrate, and put the swing into a dataset."""
    import xarray as xr
    from scipy.integrate import solve_ivp

    share = 1.0 if coupling else 0.0

    def rates(_time: float, y: Array) -> list[float]:
        surge, sway, yaw, turned = (float(value) for value in y[:4])
        cosine, sine = math.cos(turned), math.sin(turned)
        return [
            *_accelerations(row, surge, sway, yaw, force, moment, share),
            yaw, cosine * surge - sine * sway, sine * surge + cosine * sway,
        ]  # fmt: skip

    def passing(angle: float) -> Any:
        return lambda _time, y: abs(y[3]) - math.radians(angle)

    times = np.arange(math.floor(duration / time_step * (1.0 + 1e-12)) + 1) * time_step
    times = np.minimum(times, duration)
    solution = solve_ivp(
        rates, (0.0, duration), [*motion, 0.0, 0.0, 0.0], method="DOP853", t_eval=times,
        events=[passing(angle) for angle in angles], rtol=RELATIVE_ERROR, atol=ABSOLUTE_ERROR,
    )  # fmt: skip
    if not solution.success:
        raise StudyError([_refusal("the motion was not integrated to its end", solution.message, "Give milder loads")])
    surge, sway, yaw, turned, advance, transfer = solution.y
    steady = _steady(row, force, moment, share, solution.y[:3, -1])
    passed = [float(moments[0]) if len(moments) else math.nan for moments in solution.t_events or ()]
    length = 2.0 * row.barge_half_length
    dataset = xr.Dataset(
        {
            "angle_turned": ("time", np.degrees(turned), _about("degree", "angle turned, to starboard positive")),
            "swing_rate": ("time", np.degrees(yaw), _about("degree s-1", "rate of turn, to starboard positive")),
            "surge_velocity": ("time", surge, _about("m s-1", "velocity ahead of midships")),
            "sway_velocity": ("time", sway, _about("m s-1", "velocity to starboard of midships")),
            "advance": ("time", advance, _about("m", "way of midships along the heading at the start")),
            "transfer": ("time", transfer, _about("m", "way of midships to starboard of the heading at the start")),
            "time_to_turn": ("angle", np.array(passed), _about("s", "time to turn through the angle")),
            "steady_swing_rate": ((), math.degrees(steady[2]), _about("degree s-1", "steady rate of turn")),
            "steady_surge_velocity": ((), steady[0], _about("m s-1", "steady velocity ahead")),
            "steady_sway_velocity": ((), steady[1], _about("m s-1", "steady velocity to starboard")),
            "yaw_inertia": ((), row.barge_yaw_inertia, _about("kg m2", "yaw inertia with added inertia")),
            "yaw_drag": ((), row.barge_cross_flow * length**4 / 32.0,
                         _about("N m s2 rad-2", "drag moment of pure yaw over rate of turn squared")),
        },
        coords={
            "time": ("time", times, _about("s", "time")),
            "angle": ("angle", np.array(angles), _about("degree", "angle to turn through")),
        },
        attrs={
            "title": "barge alone under a load held in her axes",
            "coupling": "full equations of motion" if coupling else "centripetal and Munk terms left out",
            "caution": "A check of the loads, not a manoeuvre: no tug, no wind, no current.",
        },
    )  # fmt: skip
    return dataset


def _about(units: str, long_name: str) -> dict[str, str]:
    return {"units": units, "long_name": long_name}


def _steady(row: Parameters, force: float, moment: float, share: float, last: Array) -> tuple[float, float, float]:
    """Equilibrium next to the last velocities; NaN where there is none that they have come close to."""
    from scipy.optimize import root

    nothing = (math.nan, math.nan, math.nan)
    if force == 0.0 and moment == 0.0:
        return nothing
    half = row.barge_half_length
    scale = np.array([1.0, 1.0, 1.0 / half])
    size = max(float(np.max(np.abs(last / scale))), 1e-9)

    def rates(x: Array) -> list[float]:
        surge, sway, yaw = (float(value) for value in x * scale * size)
        rate = _accelerations(row, surge, sway, yaw, force, moment, share)
        return [rate[0], rate[1], rate[2] * half]

    start = last / scale / size
    found = root(rates, start, tol=1e-13)
    strength = abs(force) / row.barge_sway_mass + abs(moment) * half / row.barge_yaw_inertia
    near = float(np.max(np.abs(found.x - start))) <= STEADY_SHARE
    if not near or float(np.max(np.abs(rates(found.x)))) > 1e-9 * strength:
        return nothing
    surge, sway, yaw = (float(value) for value in found.x * scale * size)
    return surge, sway, yaw
