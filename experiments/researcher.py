"""A researcher's question, from results to a figure: pull or push, all else alike.

Run the study first (``towage run experiments/marrowby_basin.toml``), then::

    python experiments/researcher.py results/marrowby_basin.zarr results/marrowby_basin/examples
"""

from __future__ import annotations

import sys
from pathlib import Path

import toolkit
from toolkit.figures.paired_difference import draw_paired_differences
from toolkit.figures.view import caption
from toolkit.findings import apply_limits, compare_along
from toolkit.findings.research_tables import comparison_lines


def main(source: str, folder: str) -> list[Path]:
    """Paired differences of push and pull, with their intervals and the pairs that failed; the files written."""
    results = toolkit.open_results(source)
    found = compare_along(results, "manoeuvre", "swing_pull", "swing_push")
    told = caption(results, apply_limits(results), lead=comparison_lines(found))
    made = draw_paired_differences([found], title="Push less pull, all else alike", caption=told)
    return made.save(Path(folder), "researcher")


if __name__ == "__main__":
    print(*main(*(sys.argv[1:] or ("results/marrowby_basin.zarr", "results/marrowby_basin/examples"))), sep="\n")
