"""An independent reference: cases through SciPy's integrators instead of the engine's loop.

Right-hand side, master, helm and log are the engine's own; step, order, error
control, peaks and the passing of the target are not. Orders change at ticks
alone, so the integrator starts anew at every tick and sees only the kinks of
the line coming tight and of the fender touching, which its error control
steps over finely.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import compiled
from toolkit.motion.derivatives import derivatives
from toolkit.motion.lanes import Lanes, OrderRecord, put_back
from toolkit.motion.layout import LANES, MEMORY_ROW, PARAMETER_ROW, REPORT_ROW, STATE_ROW
from toolkit.motion.log import TICK
from toolkit.motion.prepare import Prepared

__all__ = ["Reference", "reference_run"]

Array = NDArray[np.float64]

PAIRS = (
    (STATE_ROW.barge_cosine, STATE_ROW.barge_sine),
    (STATE_ROW.tug_cosine, STATE_ROW.tug_sine),
    (STATE_ROW.starboard_cosine, STATE_ROW.starboard_sine),
    (STATE_ROW.port_cosine, STATE_ROW.port_sine),
)
"""Directions, brought back to length one at every tick."""

PEAKS = (
    MEMORY_ROW.peak_tension,
    MEMORY_ROW.peak_contact,
    MEMORY_ROW.heel_starboard,
    MEMORY_ROW.heel_port,
    MEMORY_ROW.heel_toward,
    MEMORY_ROW.heel_away,
)
"""What is noted at every step, and by the integrator's dense output in between."""


class Reference:
    """One case under one of SciPy's integrators.

    Parameters
    ----------
    prepared : Prepared
    case : int
        Which of its cases; not aground.
    method : str
        Of `scipy.integrate.solve_ivp`: ``DOP853``, ``RK45``, ``Radau``, ``LSODA``.
    rtol, atol : float
        Tolerances of a step, relative, and absolute over the size of each
        state: 1 m, 1 m/s, 1 rad, 1 rad/s, full thrust of a drive.
    max_step : float
        Longest step [s].
    samples : int
        Places of the dense output at which peaks are looked for in each step of
        the integrator; 1 for the ends of the steps alone.
    plain : bool
        Use the plain Python right-hand side; slow, for comparisons of speed.

    Attributes
    ----------
    evaluations : int
        Right-hand sides that the integrator asked for.
    time_to_turn : float
        Root of the integrator's own event, NaN before.
    """

    def __init__(
        self, prepared: Prepared, case: int, *, method: str = "DOP853", rtol: float = 1e-9, atol: float = 1e-9,
        max_step: float = TICK, samples: int = LANES, plain: bool = False,
    ) -> None:  # fmt: skip
        self.case = case
        self.lanes = Lanes(prepared, [case], int(prepared.parameters[PARAMETER_ROW.steps_per_tick, case]), plain=plain)
        # a second set of the same lanes weighs the loads along a step
        self._along = Lanes(prepared, [case], self.lanes.steps, plain=plain)
        self._rates = derivatives if plain else compiled(derivatives)
        self._options: dict[str, Any] = {
            "method": method, "rtol": rtol, "atol": atol * self._sizes(), "max_step": max_step,
        }  # fmt: skip
        self._samples = samples
        self._shares = np.arange(1, samples + 1) / samples
        self.evaluations = 0
        self.time_to_turn = np.nan

    def _sizes(self) -> Array:
        sizes = np.ones(len(STATE_ROW))
        sizes[[STATE_ROW.thrust_starboard, STATE_ROW.thrust_port]] = self.lanes.parameters[PARAMETER_ROW.unit_thrust, 0]
        sizes[STATE_ROW.drive_energy] = np.inf  # a sum that drives nothing need not govern the step
        return sizes

    def _right_hand_side(self) -> Callable[[float, Array], Array]:
        state, rates = self.lanes.state, self.lanes.rates
        arguments = self.lanes.arguments
        function = self._rates

        def right_hand_side(_: float, y: Array) -> Array:
            state[:, 0] = y
            function(*arguments, 0)
            self.evaluations += 1
            return rates[:, 0].copy()

        return right_hand_side

    def integrate(self) -> None:
        """Advance by one tick; the peaks of tension, contact and heel are taken from the dense output."""
        from scipy.integrate import solve_ivp

        lanes = self.lanes
        target = lanes.parameters[PARAMETER_ROW.target, 0]
        time = lanes.memory[MEMORY_ROW.time, 0]

        def passed(_: float, y: Array) -> float:
            return float(y[STATE_ROW.turned] - target)

        waiting = np.isnan(self.time_to_turn) and lanes.state[STATE_ROW.turned, 0] < target
        solution: Any = solve_ivp(
            self._right_hand_side(), (0.0, TICK), lanes.state[:, 0].copy(), dense_output=True,
            events=passed if waiting else None, **self._options,
        )  # fmt: skip
        if waiting and solution.t_events[0].size:
            self.time_to_turn = time + float(solution.t_events[0][0])
        self._note_along(solution.t, solution.sol)
        end = solution.y[:, -1]
        for pair in PAIRS:
            end[list(pair)] /= np.hypot(*end[list(pair)])
        lanes.state[:, 0] = end if solution.success else np.nan

    def _note_along(self, times: Array, dense: Callable[[Array], Array]) -> None:
        """Note peaks within the integrator's steps, and the mean of tension over the tick."""
        lanes, along = self.lanes, self._along
        along.orders[:] = lanes.orders[:, :1]
        places = np.concatenate([[0.0], (times[:-1, None] + np.diff(times)[:, None] * self._shares).ravel()])
        states = dense(places)
        tension = np.zeros(places.size)
        for first in range(0, places.size, LANES):
            some = states[:, first : first + LANES]
            count = some.shape[1]
            along.state[:, :count] = some
            along.state[:, count:] = some[:, -1:]
            for k in range(count):
                self._rates(*along.arguments, k)
                along.note_peaks(k)
            tension[first : first + count] = along.report[REPORT_ROW.tension, :count]
        for row in PEAKS:
            lanes.memory[row, 0] = max(lanes.memory[row, 0], along.memory[row].max())
        # less what the log makes of the ends of a sum over steps
        ends = 0.5 * (tension[-1] - lanes.memory[MEMORY_ROW.window_first, 0])
        lanes.memory[MEMORY_ROW.window_sum, 0] = np.trapezoid(tension, places) / TICK * lanes.steps - ends

    def run(self, record: OrderRecord | None = None, span: int | None = None) -> tuple[Array, Array]:
        """Run the case to its end.

        Parameters
        ----------
        record : OrderRecord, optional
            Orders to follow instead of the master's own, to their end.
        span : int, optional
            As for `toolkit.motion.lanes.replay`.

        Returns
        -------
        memory : ndarray, shape (rows of memory,)
        final : ndarray, shape (rows of state,)
        """
        lanes = self.lanes
        outcome = lanes.memory[MEMORY_ROW.outcome]
        self._rates(*lanes.arguments, 0)
        lanes.memory[MEMORY_ROW.window_first, 0] = lanes.report[REPORT_ROW.tension, 0]
        if record is None:
            lanes.look(0)
        length = None if record is None else len(record.orders[self.case])
        tick = 0
        while (outcome[0] == 0.0) if length is None else (tick < length):
            if record is not None:
                lanes.orders[:, 0] = record.orders[self.case][tick]
                if span and tick and tick % span == 0:
                    put_back(lanes.state[:, 0], record.states[self.case][tick])
            self.integrate()
            lanes.change_conditions()
            self._rates(*lanes.arguments, 0)
            # the log adds the last weighing to the sum and takes it off again, as it does for the engine
            lanes.note(0)
            if record is None and outcome[0] == 0.0:
                lanes.look(0)
            tick += 1
        memory = lanes.memory[:, 0].copy()
        if memory[MEMORY_ROW.time_to_turn] >= 0.0 and not np.isnan(self.time_to_turn):
            memory[MEMORY_ROW.time_to_turn] = self.time_to_turn
        return memory, lanes.state[:, 0].copy()


def reference_run(
    prepared: Prepared, record: OrderRecord | None = None, span: int | None = None, **options: Any
) -> tuple[Array, Array]:
    """Run prepared cases to their ends under one of SciPy's integrators.

    Parameters
    ----------
    prepared : Prepared
        None aground.
    record, span
        As for `Reference.run`.
    **options
        As for `Reference`.

    Returns
    -------
    memories : ndarray, shape (rows of memory, n)
    finals : ndarray, shape (rows of state, n)
        As `toolkit.motion.engine.run_prepared` gives them, so that
        `toolkit.motion.engine.outcomes_of` reads them.
    """
    size = prepared.initial.shape[1]
    memories, finals = np.zeros((len(MEMORY_ROW), size)), np.zeros((len(STATE_ROW), size))
    for case in range(size):
        memories[:, case], finals[:, case] = Reference(prepared, case, **options).run(record, span)
    return memories, finals
