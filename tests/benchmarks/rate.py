"""How fast the engine is, and against what: run `python -m tests.benchmarks.rate` from the top of the repository.

All figures are of one run on the machine at hand and mean little where other work shares it. A case is a finished
swing of 180 degrees, by pulling or pushing, the tug lying either way, in wind and current.
"""

from __future__ import annotations

import argparse
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.one_case import TONNE_FORCE, columns_of
from toolkit.execution.layout import Model, current_model
from toolkit.execution.runner import run_with
from toolkit.kernels import compiled
from toolkit.motion.batch import rates_of_lanes, workplace
from toolkit.motion.building import engine
from toolkit.motion.convergence import SPAN
from toolkit.motion.engine import evaluate_columns, outcomes_of, queues, run_prepared, step_rule
from toolkit.motion.lanes import Lanes, record_orders, replay
from toolkit.motion.layout import LANES, MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.log import TICK
from toolkit.motion.prepare import prepare
from toolkit.motion.reference import Reference, reference_run
from toolkit.quantities import INPUTS
from toolkit.study import Axis, Design, RunOptions, Study

Columns = dict[str, NDArray[Any]]

CASES_PER_CHUNK = RunOptions().cases_per_chunk
INTEGRATOR: dict[str, Any] = {"method": "RK45", "rtol": 1e-3, "atol": 1e-3, "samples": 8}
"""SciPy's integrator at about the engine's accuracy: peaks at the ends of its steps alone are low by some percent."""


def swings(samples: int, *, cases_per_chunk: int = CASES_PER_CHUNK) -> Study:
    """Sobol' samples of swings in the invented Marrowby Basin, every way of lying."""
    ranges = {
        "bollard_pull": (20.0 * TONNE_FORCE, 60.0 * TONNE_FORCE),
        "displacement": (3e5, 2e6),
        "line_length": (12.0, 40.0),
        "wind_speed": (0.0, 8.0),
        "wind_from": (0.0, 360.0),
        "current_speed": (0.0, 0.3),
    }
    axes: list[Axis] = []
    for name, quantity in INPUTS.items():
        if name in ranges:
            axes.append(Axis(name=name, values=np.array(ranges[name]), kind="range"))
        elif name == "manoeuvre":
            axes.append(Axis(name=name, values=("swing_pull", "swing_push")))
        elif name == "tug_attitude":
            axes.append(Axis(name=name, values=quantity.choices))
    swept = {axis.name for axis in axes}
    return Study(
        title="Marrowby Basin: rate",
        source="rate.toml",
        axes=tuple(axes),
        fixed={name: quantity.default for name, quantity in INPUTS.items() if name not in swept},
        design=Design(kind="sobol", samples=samples),
        run=RunOptions(cases_per_chunk=cases_per_chunk),
    )


def columns_of_swings(samples: int) -> Columns:
    """The table of cases of :func:`swings`."""
    return swings(samples).columns(np.arange(samples))


@dataclass(frozen=True, kw_only=True)
class Rate:
    """Cases a second, and how long they lasted in simulated time."""

    cases: int
    seconds: float
    simulated: float
    steps_a_tick: float
    right_hand_sides: float

    @property
    def cases_per_second(self) -> float:
        return self.cases / self.seconds

    @property
    def simulated_per_second(self) -> float:
        """Simulated seconds in a second."""
        return self.simulated / self.seconds

    def in_words(self) -> str:
        return f"{self.cases_per_second:.4g} cases/s, {self.simulated_per_second:.3g} simulated s/s"


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    begun = time.perf_counter()
    done = work()
    return time.perf_counter() - begun, done


def rate_in_memory(columns: Columns, workers: int) -> Rate:
    """The engine alone, in chunks shared out to threads."""
    size = len(columns["manoeuvre"])
    chunks = [
        {name: values[first : first + CASES_PER_CHUNK] for name, values in columns.items()}
        for first in range(0, size, CASES_PER_CHUNK)
    ]
    with ThreadPoolExecutor(workers) as pool:
        seconds, found = timed(lambda: list(pool.map(evaluate_columns, chunks)))
    steps = prepare(columns).parameters[PARAMETER_ROW.steps_per_tick]
    ended = np.nan_to_num(np.concatenate([part["end_time"] for part in found]))
    return Rate(
        cases=size,
        seconds=seconds,
        simulated=float(ended.sum()),
        steps_a_tick=float(steps.mean()),
        # four a step and one more at the end of a tick
        right_hand_sides=float((ended / TICK * 4.0 * steps).sum()),
    )


def nanoseconds_per_right_hand_side(calls: int = 20_000) -> float:
    """The right-hand side alone, all lanes, called from compiled code: best of five."""
    import numba

    fast = compiled(rates_of_lanes)

    @numba.njit(nogil=True)  # type: ignore[misc]
    def repeat(s: Any, p: Any, o: Any, d: Any, report: Any, times: int) -> None:
        for _ in range(times):
            fast(s, p, o, d, report)

    lanes = Lanes(prepare(columns_of()), [0], 5)
    repeat(*lanes.arguments, 1)
    return min(timed(partial(repeat, *lanes.arguments, calls))[0] for _ in range(5)) / calls / LANES * 1e9


class Stopwatch:
    """An evaluator like the engine's, that keeps the time each part takes, summed over threads."""

    def __init__(self) -> None:
        self.parts = {"preparation": 0.0, "kernel": 0.0, "outcomes": 0.0}
        self._lock = threading.Lock()

    def __call__(self, columns: Columns) -> Columns:
        preparing, prepared = timed(lambda: prepare(columns))
        running, ended = timed(lambda: run_prepared(prepared))
        reading, found = timed(lambda: outcomes_of(columns, prepared, *ended))
        with self._lock:
            for part, seconds in zip(self.parts, (preparing, running, reading), strict=True):
                self.parts[part] += seconds
        return found


@contextmanager
def no_rate_recorded() -> Iterator[None]:
    """Keep the rate of this run out of the file that `towage check` reads."""
    import toolkit.execution.runner as runner

    before = runner.record_rate
    runner.record_rate = lambda *_, **__: None  # type: ignore[assignment]
    try:
        yield
    finally:
        runner.record_rate = before


def shares_of_time(samples: int, workers: int) -> tuple[float, dict[str, float]]:
    """Wall time of a run into a store, and the share of the workers' time in each part."""
    watch = Stopwatch()
    model = Model(watch, current_model().hash, step_rule())
    with tempfile.TemporaryDirectory() as folder, no_rate_recorded():
        seconds, results = timed(
            lambda: run_with(model, swings(samples), Path(folder) / "rate.zarr", workers=workers)
        )  # fmt: skip
        results.close()
    shares = {part: spent / (workers * seconds) for part, spent in watch.parts.items()}
    shares["scheduling, store and idle"] = 1.0 - sum(shares.values())
    return seconds, shares


def one_by_one(case: int, columns: Columns, options: dict[str, Any]) -> tuple[float, float, int]:
    """One case through SciPy: seconds, simulated seconds, right-hand sides."""
    reference = Reference(prepare({name: values[case : case + 1] for name, values in columns.items()}), 0, **options)
    seconds, (memory, _) = timed(reference.run)
    return seconds, float(memory[MEMORY_ROW.time]), reference.evaluations


def rate_of_solve_ivp(columns: Columns, workers: int) -> Rate:
    """A loop over `scipy.integrate.solve_ivp` with the compiled right-hand side, cases shared out to processes."""
    size = len(columns["manoeuvre"])
    work = partial(one_by_one, columns=columns, options=INTEGRATOR)
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        list(pool.map(work, range(workers)))  # each process loads the compiled code first
        seconds, found = timed(lambda: list(pool.map(work, range(size))))
    return Rate(
        cases=size, seconds=seconds, simulated=sum(part[1] for part in found), steps_a_tick=np.nan,
        right_hand_sides=sum(part[2] for part in found),
    )  # fmt: skip


def rate_of_plain_python(columns: Columns, simulated: float) -> Rate:
    """The same loop with plain NumPy and Python, in one process, for the first seconds of each case."""
    size = len(columns["manoeuvre"])
    short = columns | {"time_limit": np.full(size, simulated)}
    found = [one_by_one(case, short, {**INTEGRATOR, "plain": True}) for case in range(size)]
    return Rate(
        cases=size, seconds=sum(part[0] for part in found), simulated=sum(part[1] for part in found),
        steps_a_tick=np.nan, right_hand_sides=sum(part[2] for part in found),
    )  # fmt: skip


def warm_up() -> float:
    """Seconds that the first case takes, which are those of compiling or of loading compiled code."""
    return timed(lambda: evaluate_columns(columns_of(time_limit=10.0)))[0]


def idle_share(columns: Columns) -> float:
    """Share of the lanes' work in lanes that had no case left."""
    prepared = prepare(columns)
    steps = prepared.parameters[PARAMETER_ROW.steps_per_tick]
    waiting = queues(prepared)
    worked, wanted = 0, 0.0
    for code, run in engine(list(waiting)).items():
        picked = waiting[code]
        memories, finals = np.zeros((len(MEMORY_ROW), picked.size)), np.zeros((len(STATE_ROW), picked.size))
        worked += run(
            np.ascontiguousarray(prepared.initial[:, picked]), np.ascontiguousarray(prepared.parameters[:, picked]),
            np.zeros((0, 0)), np.zeros((0, 5)), memories, finals, np.zeros((0, 0)), *workplace(),
        )  # fmt: skip
        wanted += float((memories[MEMORY_ROW.ticks] * steps[picked]).sum())
    return 1.0 - wanted / worked


def errors_of_peak_force(columns: Columns) -> dict[str, NDArray[np.float64]]:
    """Relative errors of peak tension or contact force, on the same orders, of the engine and of `INTEGRATOR`."""
    prepared = prepare(columns)
    record = record_orders(prepared)
    logs = {
        "engine": replay(prepared, record, 1, SPAN),
        "solve_ivp": reference_run(prepared, record, SPAN, **INTEGRATOR),
        "fine": replay(prepared, record, 16, SPAN),
    }
    peaks = {}
    for way, (memories, finals) in logs.items():
        found = outcomes_of(columns, prepared, memories, finals)
        peaks[way] = np.where(np.isnan(found["peak_tension"]), found["peak_contact_force"], found["peak_tension"])
    fine = peaks.pop("fine")
    return {way: np.abs(peak / fine - 1.0) for way, peak in peaks.items()}


def table(cases: int, few: int, plain_seconds: float) -> list[tuple[str, str]]:
    """Everything measured, line by line."""
    lines = [("first case, compiling or loading", f"{warm_up():.2f} s")]

    def faster_than(slow: float) -> None:
        lines.append(("  the engine with 2 workers is faster by", f"{double.simulated_per_second / slow:.0f} times"))

    columns = columns_of_swings(cases)
    single, double = rate_in_memory(columns, 1), rate_in_memory(columns, 2)
    lasting = double.simulated / double.cases
    each = single.seconds / single.right_hand_sides * 1e9
    chunk = min(cases, CASES_PER_CHUNK)
    idle = idle_share(columns_of_swings(chunk))
    lines += [
        ("scheme and step", step_rule()),
        ("cases; mean simulated time; mean step", f"{cases}; {lasting:.0f} s; {TICK / double.steps_a_tick:.3f} s"),
        ("engine, 1 worker", single.in_words()),
        ("engine, 2 workers", double.in_words()),
        ("right-hand side alone", f"{nanoseconds_per_right_hand_side():.1f} ns a case"),
        ("all of the engine over its right-hand sides", f"{each:.1f} ns a case"),
        (f"lanes idle, chunks of {chunk}", f"{100.0 * idle:.1f} %"),
    ]
    seconds, shares = shares_of_time(cases, 2)
    lines.append(("run into a store, 2 workers", f"{cases / seconds:.0f} cases/s"))
    lines += [(f"  share of time: {part}", f"{100.0 * share:.1f} %") for part, share in shares.items()]

    loop = rate_of_solve_ivp(columns_of_swings(few), 2)
    settings = f"{INTEGRATOR['method']}, rtol {INTEGRATOR['rtol']:g}"
    calls = f"{loop.right_hand_sides / loop.simulated:.0f} right-hand sides a simulated s"
    lines.append((f"solve_ivp ({settings}), compiled right-hand side, 2 processes", f"{loop.in_words()}, {calls}"))
    faster_than(loop.simulated_per_second)
    for way, errors in errors_of_peak_force(columns_of_swings(few)).items():
        middle, most = np.nanquantile(errors, (0.5, 0.9))  # of the cases in which both met a force
        lines.append((f"  error of peak force, {way}", f"median {middle:.1e}, 90 % within {most:.1e}"))
    plain = rate_of_plain_python(columns_of_swings(4), plain_seconds)
    twice = 2.0 * plain.simulated_per_second
    what = f"the same in plain Python: first {plain_seconds:g} s of 4 cases in 1 process, reckoned for 2"
    lines.append((what, f"{twice / lasting:.2g} cases/s, {twice:.3g} simulated s/s"))
    faster_than(twice)
    return lines


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.rate", description=(__doc__ or "").splitlines()[0]
    )
    parser.add_argument("--cases", type=int, default=16384, help="cases of the engine's runs (a power of two)")
    parser.add_argument("--few", type=int, default=16, help="cases of the solve_ivp loop")
    parser.add_argument("--plain-seconds", type=float, default=15.0, help="simulated seconds of each plain case")
    given = parser.parse_args()
    lines = table(given.cases, given.few, given.plain_seconds)
    width = max(len(what) for what, _ in lines)
    for what, value in lines:
        print(f"{what:{width}}  {value}")


if __name__ == "__main__":
    main()
