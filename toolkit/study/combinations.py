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


def combinations(study: Study, names: Iterable[str], most: int = MOST_COMBINATIONS) -> dict[str, NDArray[Any]]:
    """Columns over every combination of some inputs that the study holds.

    Parameters
    ----------
    study : Study
        On a grid all other axes are held at their first level.
    names : iterable of str
        Inputs that matter to the caller.
    most : int
        Combinations beyond which an even selection of them is taken.

    Returns
    -------
    dict of str to ndarray
        Every input, shape (n,); each combination stands for the same number
        of cases.
    """
    wanted = set(names)
    if not study.design.is_grid:
        return study.columns(_selection(study.size, most))
    lengths = tuple(len(axis) if axis.name in wanted else 1 for axis in study.axes)
    places = np.unravel_index(_selection(math.prod(lengths), most), lengths) if lengths else ()
    return study.columns(np.ravel_multi_index(places, study.shape) if lengths else 0)


def _selection(count: int, most: int) -> NDArray[np.int64]:
    if count <= most:
        return np.arange(count, dtype=np.int64)
    return np.unique(np.linspace(0, count - 1, most).astype(np.int64))
