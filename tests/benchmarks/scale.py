"""What a run costs beside the engine, by its size: run `python -m tests.benchmarks.scale` from the repository.

Swings sampled over eight factors by a Sobol' sequence, run into a store by formulas that take next to no time,
so that what is measured is the table of cases, the scheduling and the store. Each run is a process of its own; its
memory is the most that it held at any time, all packages included.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from tests.benchmarks.rate import no_rate_recorded, swings
from tests.fake_engine import MODEL
from toolkit.execution.attributes import BYTES_PER_CASE
from toolkit.execution.runner import run_with
from toolkit.study import RunOptions

SIZES = (1_000, 10_000, 100_000, 1_000_000)


@dataclass(frozen=True, kw_only=True)
class Cost:
    """What one run took."""

    cases: int
    workers: int
    seconds: float
    processor_seconds: float
    peak_memory: int
    store_bytes: int
    files: int


def cost_of(count: int, workers: int) -> Cost:
    """Run so many cases in this process, and measure it."""
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder, "scale.zarr")
        study = swings(count, cases_per_chunk=RunOptions().cases_per_chunk)
        clock, processor = time.perf_counter(), time.process_time()
        with no_rate_recorded():  # these are no rates of the engine
            run_with(MODEL, study, store, workers=workers, scheduler="threads" if workers > 1 else "serial")
        seconds, processor = time.perf_counter() - clock, time.process_time() - processor
        sizes = [file.stat().st_size for file in store.rglob("*") if file.is_file()]
    return Cost(
        cases=count, workers=workers, seconds=seconds, processor_seconds=processor, store_bytes=sum(sizes),
        files=len(sizes), peak_memory=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
    )  # fmt: skip


def measured(count: int, workers: int) -> Cost:
    """`cost_of` in a process of its own."""
    program = [sys.executable, "-m", "tests.benchmarks.scale", "--alone", str(count), str(workers)]
    done = subprocess.run(program, capture_output=True, text=True, check=True, cwd=Path(__file__).resolve().parents[2])
    return Cost(**json.loads(done.stdout))


def table(costs: Sequence[Cost]) -> str:
    """Costs as a Markdown table."""
    lines = [
        "| cases | workers | time [s] | microseconds a case | of these on a processor | peak memory [MB] "
        "| store [MB] | bytes a case, of which raw | files |",
        "|---:|---:|---:|---:|---:|---:|---:|---:|---:|",
    ]
    lines += [
        f"| {c.cases:,} | {c.workers} | {c.seconds:.1f} | {1e6 * c.seconds / c.cases:.0f} "
        f"| {1e6 * c.processor_seconds / c.cases:.0f} | {c.peak_memory / 1e6:.0f} | {c.store_bytes / 1e6:.1f} "
        f"| {c.store_bytes / c.cases:.0f}, {BYTES_PER_CASE} | {c.files:,} |"
        for c in costs
    ]
    return "\n".join(lines)


def draw(costs: Sequence[Cost], path: Path) -> None:
    """Draw time and memory against cases."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.0, 3.8), layout="constrained")
    shown = figure.subplots(1, 2)
    for workers, marker in ((1, "o"), (2, "s")):
        some = [cost for cost in costs if cost.workers == workers]
        cases = [cost.cases for cost in some]
        style = {"color": "black", "marker": marker, "linestyle": "-" if workers == 1 else "--"}
        shown[0].loglog(cases, [cost.seconds for cost in some], label=f"{workers} worker{'s'[: workers - 1]}", **style)
        shown[1].semilogx(cases, [cost.peak_memory / 1e6 for cost in some], **style)
    shown[0].set(xlabel="cases", ylabel="time beside the engine [s]", title="Time")
    shown[1].set(xlabel="cases", ylabel="peak memory of the process [MB]", title="Memory", ylim=(0.0, None))
    shown[0].legend()
    for axes in shown:
        axes.grid(alpha=0.3)
    figure.savefig(path, dpi=150)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.scale")
    parser.add_argument("--most", type=int, default=SIZES[-1], help="cases of the largest run")
    parser.add_argument("--figure", metavar="FILE", type=Path, help="draw it, too")
    parser.add_argument("--alone", type=int, nargs=2, metavar=("CASES", "WORKERS"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.alone:
        print(json.dumps(asdict(cost_of(*given.alone))))
        return
    costs = [measured(count, workers) for workers in (1, 2) for count in SIZES if count <= given.most]
    print(table(costs))
    if given.figure:
        draw(costs, given.figure)


if __name__ == "__main__":
    main()
