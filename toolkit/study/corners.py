"""The corners of a study: cases at the ends of what it sweeps."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.study.study import Axis, Design, Study

__all__ = ["corner_columns"]


def corner_columns(study: Study, most: int = 64) -> tuple[dict[str, NDArray[Any]], int]:
    """Table of cases at the ends of all that a study sweeps.

    Parameters
    ----------
    study : Study
        Of any design.
    most : int
        Corners beyond which an even selection of them, drawn with the seed of
        the study, is taken.

    Returns
    -------
    columns : dict of str to ndarray, shape (n,)
        As `Study.columns` gives them: smallest and largest value of each
        range or list of numbers, every word of a choice.
    corners : int
        Number of all corners.
    """
    axes = tuple(_ends(axis) for axis in study.axes)
    corners = math.prod(len(axis) for axis in axes)
    places = np.arange(corners, dtype=np.int64)
    if corners > most:
        draw = np.random.default_rng(study.seed)
        # one from each of `most` equal slices, so that no axis is left at one end
        edges = np.linspace(0, corners, most + 1).astype(np.int64)
        places = draw.integers(edges[:-1], edges[1:])
    return dataclasses.replace(study, axes=axes, design=Design()).columns(places), corners


def _ends(axis: Axis) -> Axis:
    if isinstance(axis.values, tuple):
        return dataclasses.replace(axis, kind="levels")
    values = np.unique([np.min(axis.values), np.max(axis.values)])
    return dataclasses.replace(axis, kind="levels", values=values)
