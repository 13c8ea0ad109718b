"""What all cases of a table have in common and no column can hold: the basin's edges, and the legs of a job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["NO_SETTING", "Setting"]


def _no_edges() -> NDArray[np.float64]:
    return np.zeros((0, 5))


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Basin and legs.

    Attributes
    ----------
    edges : ndarray, shape (segments, 5)
        Edges of basin and shoals, see `toolkit.motion.room.clearance`; none
        unless given.
    legs : tuple of mapping of str to float
        Legs of a job in their order: what each leg changes of the inputs, in
        dataset units, choices by code. None: each case is one manoeuvre.
    """

    edges: NDArray[np.float64] = field(default_factory=_no_edges)
    legs: tuple[Mapping[str, float], ...] = ()


NO_SETTING = Setting()
"""Open water, one manoeuvre."""
