"""Every combination of the few inputs that a check looks at."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.study.study import Study

__all__ = ["combinations"]

MOST_COMBINATIONS = 100_000


def combinations(study: Study, names: Iterable[str]) -> dict[str, NDArray[Any]]:
    """Columns over every combination of some inputs that the study holds.

    Parameters
    ----------
    study : Study
        On a grid all other axes are held at their first level.
    names : iterable of str
        Inputs that matter to the caller.

    Returns
    -------
    dict of str to ndarray
        Every input, shape (n,); each combination stands for the same number
        of cases. Beyond 100,000 combinations an even selection of them.
    """
    wanted = set(names)
    if not study.design.is_grid:
        return study.columns(_selection(study.size))
    lengths = tuple(len(axis) if axis.name in wanted else 1 for axis in study.axes)
    places = np.unravel_index(_selection(math.prod(lengths)), lengths) if lengths else ()
    return study.columns(np.ravel_multi_index(places, study.shape) if lengths else 0)


def _selection(count: int) -> NDArray[np.int64]:
    if count <= MOST_COMBINATIONS:
        return np.arange(count, dtype=np.int64)
    return np.unique(np.linspace(0, count - 1, MOST_COMBINATIONS).astype(np.int64))
