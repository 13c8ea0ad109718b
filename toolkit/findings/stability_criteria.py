"""Each tug of a study held against the criteria of the published stability rules (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Mapping

from toolkit.findings.rule_levers import SEVEREST_INTERCEPTED, criteria_without_lever, levers_of
from toolkit.findings.stability import stability_notes
from toolkit.findings.study_tugs import tugs_of
from toolkit.findings.table import Cell, Table
from toolkit.rules import Assessment, RightingCurve
from toolkit.study import Study

__all__ = ["criteria_table"]


def criteria_table(
    study: Study,
    curves: Mapping[int, RightingCurve] | None = None,
    *,
    intercepted: float = SEVEREST_INTERCEPTED,
) -> Table:
    """Hold each tug of a study against each criterion of the rules.

    Parameters
    ----------
    study, curves, intercepted
        As in `stability_table`.

    Returns
    -------
    Table
        One row a tug and criterion: rule, what she has, what is asked, verdict,
        the certainty of the rule's text, and the reason.
    """
    tugs = tugs_of(study)
    rows: list[tuple[Cell, ...]] = []
    for tug in tugs:
        curve = (curves or {}).get(tug.number, tug.curve)
        by_lever = [one for rule in levers_of(tug, intercepted) for one in rule.criteria(curve)]
        for one in (*by_lever, *criteria_without_lever(tug, curve)):
            value, limit, unit = _shown(one)
            what = f"at least {value:.4g}" if one.at_least and not math.isnan(value) else value
            rows.append((tug.number, tug.label, one.source.cited, one.criterion, what, one.sense, limit, unit,
                         str(one.verdict), str(one.source.certainty), one.note))  # fmt: skip
    return Table(
        title=f"{study.title}: criteria of towing stability",
        header=("tug", "which", "rule", "criterion", "has", "must be", "limit", "unit", "verdict",
                "certainty of the text", "note"),
        rows=tuple(rows), notes=stability_notes(study, tugs, None, curves, intercepted),
    )  # fmt: skip


def _shown(one: Assessment) -> tuple[float, float, str]:
    """Value, limit and unit as people read them: angles in degrees."""
    if one.unit != "rad":
        return one.value, one.limit, one.unit
    return math.degrees(one.value), math.degrees(one.limit), "deg"
