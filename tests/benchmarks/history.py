"""How fast the engine was from commit to commit: run `python -m tests.benchmarks.history [REVISION ...]`.

Each revision is checked out into a folder of its own, where `tests.benchmarks.rate` as it was then is run with a kernel
compiled anew; what it printed is added to `history.csv` beside this file, one row a figure. A row is told by commit,
day and machine, so that only rows of one machine are compared; a revision measured again replaces its rows.
"""

from __future__ import annotations

import argparse
import csv
import os
import platform
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path

HISTORY = Path(__file__).with_name("history.csv")
HEADER = ("commit", "committed", "measured", "machine", "figure", "value")
TOP = Path(__file__).resolve().parents[2]

Row = dict[str, str]


def machine() -> str:
    """Name of a kind of machine: system, processor and number of processors it may use."""
    return f"{platform.system()} {platform.machine()}, {processor()}, {len(os.sched_getaffinity(0))} processors"


def processor() -> str:
    """Model of the processor, as Linux names it."""
    try:
        names = re.findall(r"^model name\s*:\s*(.+)$", Path("/proc/cpuinfo").read_text(encoding="utf-8"), re.MULTILINE)
    except OSError:
        names = []
    return " ".join(names[0].split()) if names else "unknown processor"


def figures(printed: str) -> list[tuple[str, str]]:
    """Figures and their values from what the benchmark printed: two columns, two blanks or more apart."""
    found, head = [], ""
    for line in printed.splitlines():
        parts = re.split(r"\s{2,}", line.strip(), maxsplit=1)
        if len(parts) != 2:
            continue
        what, value = parts
        if line.startswith("  "):
            what = f"{head}: {what}"
        else:
            head = what
        found.append((what, value))
    return found


def read(path: Path) -> list[Row]:
    """Rows of a history; none where there is no file."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def merged(rows: Sequence[Row], new: Sequence[Row]) -> list[Row]:
    """History with the rows of one commit and machine put in, in place of any older ones."""
    same = {(row["commit"], row["machine"]) for row in new}
    kept = [row for row in rows if (row["commit"], row["machine"]) not in same]
    return sorted([*kept, *new], key=lambda row: (row["machine"], row["committed"], row["commit"]))


def write(path: Path, rows: Iterable[Row]) -> None:
    """Write a history."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, HEADER, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def git(*words: str) -> str:
    """What git says."""
    return subprocess.run(["git", *words], cwd=TOP, capture_output=True, text=True, check=True).stdout.strip()


def measured(revision: str, options: Sequence[str]) -> list[Row]:
    """Figures of one revision."""
    commit = git("rev-parse", "--short=10", f"{revision}^{{commit}}")
    committed = git("show", "-s", "--format=%cI", commit)
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder, "tree")
        git("worktree", "add", "--detach", str(tree), commit)
        try:
            surroundings = {**os.environ, "PYTHONPATH": str(tree), "TOWAGE_CACHE_DIR": str(Path(folder, "kernels"))}
            done = subprocess.run(
                [sys.executable, "-m", "tests.benchmarks.rate", *options],
                cwd=tree, env=surroundings, capture_output=True, text=True, check=True,
            )  # fmt: skip
        finally:
            git("worktree", "remove", "--force", str(tree))
    day = datetime.now(UTC).date().isoformat()
    return [
        dict(zip(HEADER, (commit, committed, day, machine(), what, value), strict=True))
        for what, value in figures(done.stdout)
    ]


def main() -> None:
    """Measure revisions and put them into the history."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.history", description=__doc__)
    parser.add_argument("revisions", nargs="*", default=["HEAD"], metavar="REVISION", help="commits or tags [HEAD]")
    parser.add_argument("--cases", help="cases of the engine's runs (a power of two)")
    parser.add_argument("--output", type=Path, default=HISTORY, help="the file")
    given = parser.parse_args()
    for revision in given.revisions:
        rows = measured(revision, ["--cases", given.cases] if given.cases else [])
        write(given.output, merged(read(given.output), rows))
        print(f"{revision}: {len(rows)} figures into {given.output}")


if __name__ == "__main__":
    main()
