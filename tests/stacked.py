"""Cases written one by one, run side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.one_case import columns_of
from toolkit.motion.engine import evaluate_columns
from toolkit.quantities import Outcome

Columns = dict[str, NDArray[Any]]


def stacked(cases: Sequence[dict[str, Any]]) -> Columns:
    """Columns of several cases, each as for `columns_of`."""
    columns = [columns_of(**case) for case in cases]
    return {name: np.concatenate([each[name] for each in columns]) for name in columns[0]}


def run(cases: Sequence[dict[str, Any]]) -> Columns:
    """Outcomes of several cases."""
    return evaluate_columns(stacked(cases))


def endings(outcomes: Columns) -> list[str]:
    """How the cases ended, in words."""
    return [Outcome(int(code)).name for code in outcomes["outcome"]]
