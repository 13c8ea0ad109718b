"""Every figure and table of an analysis of sensitivity, written into a folder (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from toolkit.figures.convergence import draw_sample_size
from toolkit.figures.folder import Folder
from toolkit.figures.interaction import draw_spread
from toolkit.figures.sensitivity import draw_indices, draw_screening
from toolkit.figures.step_page import add_time_step
from toolkit.figures.style import CAUTION, DIRECTION_NOTE
from toolkit.findings.display import long_name
from toolkit.findings.reading import cautions, directions, provenance
from toolkit.findings.research_tables import sample_size_table, sensitivity_table, spread_table
from toolkit.findings.sensitivity.words import basis_lines

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.findings.sensitivity.analysis import Analysis
    from toolkit.motion.convergence import Accuracy

__all__ = ["draw_sensitivity"]

_READ_SCREENING = (
    "Bars: mean size of the change of an outcome as an input goes over its whole width, the others being anywhere; "
    "diamonds: deviation of these changes, large where they hang on other inputs (Morris 1991)."
)
_READ_INDICES = (
    "Share of the variance of an outcome that an input accounts for, alone and with all its interactions (Sobol' "
    "indices); bars below 0 or beyond 1 are errors of the sample."
)
_READ_SPREAD = (
    "{} draws of the coefficients, each even over its stated spread and independent, the same at every value; all "
    "else at the base: {}."
)
_READ_RUNNING = (
    "Each sequence is scrambled anew; their spread is the error of one. All inputs are varied, as in the screening."
)


def _caption(found: xr.Dataset, *lead: str) -> tuple[str, ...]:
    return (
        " ".join(lead),
        " ".join(basis_lines(found)),
        f"{DIRECTION_NOTE}. {provenance(found.attrs)}",
        CAUTION,
    )


def draw_sensitivity(
    analysis: Analysis, folder: str | Path, *, steps: Mapping[str, Sequence[Accuracy]] | None = None
) -> list[Path]:
    """Draw an analysis of sensitivity.

    Parameters
    ----------
    analysis : Analysis
        From :func:`toolkit.findings.sensitivity.analysis.analyse`.
    folder : path
        Where to write.
    steps : mapping, optional
        What was compared, in a sentence, to rows of
        :mod:`toolkit.motion.convergence`.

    Returns
    -------
    list of pathlib.Path
        Files written.
    """
    out = Folder(path=Path(folder), left_out=list(analysis.left_out))
    out.path.mkdir(parents=True, exist_ok=True)
    screened, indices, running, spread = analysis.screened, analysis.indices, analysis.running, analysis.spread
    out.table(sensitivity_table(screened, indices), "sensitivity")
    title = "Screening: what an input changes over its whole width"
    out.sheet(draw_screening(screened, title=title, caption=_caption(screened, _READ_SCREENING)), "screening", title)
    title = "Sobol' indices: shares of the variance"
    out.sheet(draw_indices(indices, title=title, caption=_caption(indices, _READ_INDICES)), "indices", title)
    if spread is not None:
        out.table(spread_table(spread), "spread_of_coefficients")
        lead = _READ_SPREAD.format(spread.attrs["samples"], spread.attrs["base"])
        title = f"Spread of the coefficients, over {long_name(str(spread.attrs['along']))}"
        out.sheet(
            draw_spread(spread, title=title, caption=_caption(spread, lead)), "spread_of_coefficients_figure", title
        )
    out.table(sample_size_table(running), "sample_size")
    title = "Convergence in the number of samples"
    out.sheet(
        draw_sample_size(running, title=title, caption=_caption(running, _READ_RUNNING)), "sample_size_figure", title
    )
    for number, (what, rows) in enumerate((steps or {}).items(), start=1):
        add_time_step(out, rows, screened.attrs, what, f"time_step_{number}")
    out.index(
        f"Sensitivity: {analysis.title}",
        (
            f"Varied: {', '.join(map(long_name, analysis.factors.names))}.",
            f"Base: {analysis.factors.base_text()}.",
            *dict.fromkeys(line for found in (screened, indices) for line in basis_lines(found)),
            directions(screened.attrs),
            provenance(screened.attrs),
            cautions(screened.attrs),
        ),
    )
    return out.paths
