"""The kernel's lanes driven from Python, one tick at a time: for records of orders, replays and references."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import compiled
from toolkit.motion.batch import load_lane, rates_of_lanes, step_lanes
from toolkit.motion.conditions import change_conditions
from toolkit.motion.ending import close_tick, note_tick
from toolkit.motion.layout import (
    GUST_ROWS,
    LANES,
    MEMORY,
    MEMORY_ROW,
    ORDER,
    PARAMETER_ROW,
    REPORT,
    REPORT_ROW,
    STATE,
    STATE_ROW,
)
from toolkit.motion.log import TICK, WINDOW, note_step
from toolkit.motion.manoeuvres import manoeuvre_of
from toolkit.motion.orders import take_due_orders, time_to_look
from toolkit.motion.prepare import Prepared

__all__ = ["Lanes", "OrderRecord", "record_orders", "replay"]

Array = NDArray[np.float64]


class Lanes:
    """One full set of lanes with the kernel's own compiled functions, called one at a time.

    It does what `toolkit.motion.batch.run_batch` does, to the last bit, but can
    be stopped at every tick. Of use where something is to be put in between:
    another integrator, a record of orders, a replay. Some twenty calls from
    Python a tick make it slower than the batch, by a factor of five or so.

    Parameters
    ----------
    prepared : Prepared
        Cases; none aground.
    cases : sequence of int
        At most `LANES` of them; a case short of that stands in the lanes left.
    steps : int
        Steps a tick.
    plain : bool
        Call the plain Python functions instead of the compiled ones; slow, for
        tests.

    Attributes
    ----------
    state, parameters, orders, memory, report, rates : ndarray, shape (rows, LANES)
        Views of what the kernel works on.
    """

    def __init__(self, prepared: Prepared, cases: Sequence[int], steps: int, *, plain: bool = False) -> None:
        if not 0 < len(cases) <= LANES:
            raise ValueError(f"cases = {len(cases)} is outside [1, {LANES}]: one set of lanes. Split them")
        translate: Callable[[Any], Any] = (lambda function: function) if plain else compiled
        self.cases = list(cases)
        self.steps = int(steps)
        self._s, self._d, self._total, self._trial = (np.zeros(len(STATE) * LANES) for _ in range(4))
        self._o, self._m = np.zeros(len(ORDER) * LANES), np.zeros(len(MEMORY) * LANES)
        self._p, self._w = np.zeros(len(PARAMETER_ROW) * LANES), np.zeros(WINDOW * LANES)
        self._report = np.zeros(len(REPORT) * LANES)
        self._g, self._h, self._basin = np.zeros(GUST_ROWS * LANES), np.zeros(len(STATE) * LANES), np.zeros((0, 5))
        self.state, self.rates = self._s.reshape(-1, LANES), self._d.reshape(-1, LANES)
        self.orders, self.memory = self._o.reshape(-1, LANES), self._m.reshape(-1, LANES)
        self.parameters, self.report = self._p.reshape(-1, LANES), self._report.reshape(-1, LANES)
        self._rates_of_lanes, self._step = translate(rates_of_lanes), translate(step_lanes)
        self._note_step, self._note_tick = translate(note_step), translate(note_tick)
        self._time_to_look, self._take_due_orders = translate(time_to_look), translate(take_due_orders)
        self._close_tick, self._change = translate(close_tick), translate(change_conditions)
        chosen = [*self.cases, *[self.cases[-1]] * (LANES - len(self.cases))]
        table = np.ascontiguousarray(prepared.parameters[:, chosen])
        table[PARAMETER_ROW.steps_per_tick] = self.steps
        manoeuvres = [manoeuvre_of(code) for code in table[PARAMETER_ROW.manoeuvre]]
        self._looks = [translate(manoeuvre.look) for manoeuvre in manoeuvres]
        self._judges = [translate(manoeuvre.judge) for manoeuvre in manoeuvres]
        initial = np.ascontiguousarray(prepared.initial[:, chosen])
        gusts = np.ascontiguousarray(prepared.gusts[:, chosen]) if prepared.gusts.size else prepared.gusts
        for k in range(LANES):
            translate(load_lane)(
                initial, table, gusts, self._s, self._p, self._o, self._m, self._w, self._g, self._h, k, k
            )  # fmt: skip
        self.change_conditions()

    def change_conditions(self) -> None:
        """Bring wind, drives and line of all lanes to what they are at the end of a tick."""
        for k in range(LANES):
            self._change(self._s, self._p, self._o, self._m, self._g, TICK, k)

    @property
    def arguments(self) -> tuple[Array, Array, Array, Array, Array]:
        """The flat arrays under the views, in the order that `derivatives` takes them."""
        return self._s, self._p, self._o, self._d, self._report

    def weigh(self) -> None:
        """Right-hand side at the present state: brings `rates` and `report` up to date."""
        self._rates_of_lanes(*self.arguments)

    def begin(self) -> None:
        """Weigh the loads at the start, from which the mean of tension counts too."""
        self.weigh()
        self.memory[MEMORY_ROW.window_first] = self.report[REPORT_ROW.tension]

    def look(self, k: int) -> None:
        """Let due orders come into force in lane `k`, and the master look if it is time to."""
        if self._time_to_look(self._s, self._p, self._o, self._m, k):
            self._looks[k](self._s, self._p, self._m, self._report, k)
            self._take_due_orders(self._s, self._p, self._o, self._m, k)

    def integrate(self) -> None:
        """Advance all lanes by one tick in the engine's own steps; peaks at every step are noted."""
        for _ in range(self.steps):
            self._step(
                self._s, self._p, self._o, self._m, self._d, self._total, self._trial, self._report, self._h
            )  # fmt: skip
        self.change_conditions()
        self.weigh()

    def note_peaks(self, k: int) -> None:
        """Note peaks in lane `k`, once `weigh` has been called."""
        self._note_step(self._s, self._p, self._m, self._report, k)

    def note(self, k: int) -> None:
        """Note the end of a tick in lane `k`, once `weigh` has been called."""
        self.note_peaks(k)
        self._m[MEMORY.window_sum + k] -= self._report[REPORT.tension + k]
        if self._note_tick(self._s, self._p, self._m, self._report, self._w, self._basin, k):
            self._judges[k](self._s, self._p, self._m, self._report, k)
        self._close_tick(self._m, k)


@dataclass(frozen=True, kw_only=True)
class OrderRecord:
    """What the drives were told, tick by tick, in cases that the engine ran to their ends.

    Attributes
    ----------
    orders : tuple of ndarray, each of shape (ticks, rows of orders)
        Orders in force during each tick of each case.
    states : tuple of ndarray, each of shape (ticks, rows of state)
        State at the start of each tick of each case.
    memories : ndarray, shape (rows of memory, n)
        Log of each case at its end, as `run_prepared` gives it.
    finals : ndarray, shape (rows of state, n)
    """

    orders: tuple[Array, ...]
    states: tuple[Array, ...]
    memories: Array
    finals: Array


def sets_of_lanes(prepared: Prepared) -> list[tuple[int, list[int]]]:
    """Steps a tick, and cases, of each set of lanes that holds all cases; none may be aground."""
    if prepared.aground.any():
        raise ValueError("a case aground is not run: leave it out")
    steps = prepared.parameters[PARAMETER_ROW.steps_per_tick].astype(np.int64)
    found = []
    for count in np.unique(steps):
        picked = np.flatnonzero(steps == count)
        found += [(int(count), picked[i : i + LANES].tolist()) for i in range(0, len(picked), LANES)]
    return found


def record_orders(prepared: Prepared) -> OrderRecord:
    """Run cases to their ends, and keep the orders and the states of every tick.

    Parameters
    ----------
    prepared : Prepared
        None aground. About half a megabyte a case is kept.

    Returns
    -------
    OrderRecord
    """
    size = prepared.initial.shape[1]
    memories, finals = np.zeros((len(MEMORY_ROW), size)), np.zeros((len(STATE_ROW), size))
    orders: list[Array] = [np.zeros((0, len(ORDER)))] * size
    states: list[Array] = [np.zeros((0, len(STATE)))] * size
    for steps, cases in sets_of_lanes(prepared):
        lanes = Lanes(prepared, cases, steps)
        lanes.begin()
        for k in range(len(cases)):
            lanes.look(k)
        running = list(range(len(cases)))
        told, stood = [lanes.orders.copy()], [lanes.state.copy()]
        while running:
            lanes.integrate()
            for k in list(running):
                lanes.note(k)
                if lanes.memory[MEMORY_ROW.outcome, k] == 0.0:
                    lanes.look(k)
                if lanes.memory[MEMORY_ROW.outcome, k] != 0.0:
                    memories[:, cases[k]], finals[:, cases[k]] = lanes.memory[:, k], lanes.state[:, k]
                    orders[cases[k]] = np.stack([entry[:, k] for entry in told])
                    states[cases[k]] = np.stack([entry[:, k] for entry in stood])
                    running.remove(k)
            told.append(lanes.orders.copy())
            stood.append(lanes.state.copy())
    return OrderRecord(orders=tuple(orders), states=tuple(states), memories=memories, finals=finals)


def put_back(state: Array, recorded: Array) -> None:
    """Set a state to a recorded one, but for what only adds up and drives nothing: angle turned and energy."""
    turned, energy = state[STATE_ROW.turned], state[STATE_ROW.drive_energy]
    state[:] = recorded
    state[STATE_ROW.turned], state[STATE_ROW.drive_energy] = turned, energy


def replay(
    prepared: Prepared, record: OrderRecord, factor: float = 1.0, span: int | None = None
) -> tuple[Array, Array]:
    """Run cases again under recorded orders, whatever the barge then does, in other steps.

    Parameters
    ----------
    prepared : Prepared
        The cases of the record.
    record : OrderRecord
    factor : float
        Steps a tick over the engine's own; rounded up to whole steps.
    span : int, optional
        Ticks after which both vessels are put back to where the record has
        them, so that what is compared is the error made over a span and not
        what an unsteered tug makes of it; angle turned and drive energy run
        on and add the errors of all spans up. Never, unless given.

    Returns
    -------
    memories : ndarray, shape (rows of memory, n)
        Log of each case after as many ticks as it had in the record. What
        depends on the master's own memory (poorest lead, shifts) is not filled.
    finals : ndarray, shape (rows of state, n)
    """
    size = prepared.initial.shape[1]
    memories, finals = np.zeros((len(MEMORY_ROW), size)), np.zeros((len(STATE_ROW), size))
    for steps, cases in sets_of_lanes(prepared):
        lanes = Lanes(prepared, cases, math.ceil(steps * factor))
        lanes.begin()
        lengths = [len(record.orders[case]) for case in cases]
        for tick in range(max(lengths)):
            running = [k for k, length in enumerate(lengths) if tick < length]
            for k in running:
                lanes.orders[:, k] = record.orders[cases[k]][tick]
                if span and tick and tick % span == 0:
                    put_back(lanes.state[:, k], record.states[cases[k]][tick])
            lanes.integrate()
            for k in running:
                lanes.note(k)
                if tick == lengths[k] - 1:
                    memories[:, cases[k]], finals[:, cases[k]] = lanes.memory[:, k], lanes.state[:, k]
    return memories, finals
