"""A port authority's question, from results to a figure: which tug for which barge and wind.

Run the study first (``towage run experiments/marrowby_basin.toml``), then::

    python experiments/port_authority.py results/marrowby_basin.zarr results/marrowby_basin/examples
"""

from __future__ import annotations

import sys
from pathlib import Path

import toolkit
from toolkit.figures.requirement_map import draw_requirement
from toolkit.figures.view import caption
from toolkit.findings import apply_limits, requirement
from toolkit.findings.requirement_tables import basis_lines


def main(source: str, folder: str) -> list[Path]:
    """Requirement for a push, every other input at the worst of its values, as a map; the files written."""
    judged = apply_limits(toolkit.open_results(source)).sel(manoeuvre="swing_push")
    found = requirement(judged, share=1.0)
    told = caption(judged, judged, lead=basis_lines(found, judged))
    made = draw_requirement(found, title="Required bollard pull, swing push", caption=told)
    return made.save(Path(folder), "port_authority")


if __name__ == "__main__":
    print(*main(*(sys.argv[1:] or ("results/marrowby_basin.zarr", "results/marrowby_basin/examples"))), sep="\n")
