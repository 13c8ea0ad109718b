"""Table and figure of what the time step changes (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from toolkit.figures.convergence import draw_step
from toolkit.figures.folder import Folder
from toolkit.figures.style import CAUTION, DIRECTION_NOTE
from toolkit.findings.reading import provenance
from toolkit.findings.research_tables import step_table

if TYPE_CHECKING:
    from toolkit.motion.convergence import Accuracy

__all__ = ["add_time_step"]


def add_time_step(out: Folder, rows: Sequence[Accuracy], attributes: Mapping[str, Any], what: str, name: str) -> None:
    """Table and figure of what the time step changes.

    Parameters
    ----------
    out : Folder
        Where they go.
    rows : sequence of Accuracy
        From :mod:`toolkit.motion.convergence`.
    attributes : mapping
        Of results of the same model, for the notes.
    what : str
        What was compared, in a sentence that begins with a few words and a colon.
    name : str
        File name of the table; that of the figure ends in ``_figure``.
    """
    out.table(step_table(rows, attributes, what), name, what)
    title = f"Convergence in the time step: {what.split(':')[0].lower()}"
    text = (what, f"{DIRECTION_NOTE}. {provenance(attributes)}", CAUTION)
    out.sheet(draw_step(rows, title=title, caption=text), f"{name}_figure", title)
