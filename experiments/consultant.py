"""A consultant's question, from results to a figure: up to which wind, by the direction it comes from.

Run the study first (``towage run experiments/marrowby_basin.toml``), then::

    python experiments/consultant.py results/marrowby_basin.zarr results/marrowby_basin/examples
"""

from __future__ import annotations

import sys
from pathlib import Path

import toolkit
from toolkit.figures.polar import draw_polar
from toolkit.figures.view import caption
from toolkit.findings import apply_limits, wind_limit


def main(source: str, folder: str) -> list[Path]:
    """Wind limits of the middle barge and tug, everything else the worst of its values; the files written."""
    results = toolkit.open_results(source)
    case = {axis: results.sizes[axis] // 2 for axis in ("bollard_pull", "displacement")}
    judged = apply_limits(results.isel(case)).sel(manoeuvre="swing_push")
    over = [axis for axis in judged["passes"].dims if axis not in ("wind_speed", "wind_from")]
    found = wind_limit(judged, over=over)
    made = draw_polar(
        {"swing push": found},
        top=float(results["wind_speed"].max()),
        title="Wind limit by the direction wind comes from, swing push",
        caption=caption(results.isel(case).sel(manoeuvre="swing_push"), judged),
    )
    return made.save(Path(folder), "consultant")


if __name__ == "__main__":
    print(*main(*(sys.argv[1:] or ("results/marrowby_basin.zarr", "results/marrowby_basin/examples"))), sep="\n")
