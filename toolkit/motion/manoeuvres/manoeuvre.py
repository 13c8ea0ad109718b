"""What a manoeuvre is made of, for the module that brings one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars import Barge, Crew, Tug

__all__ = ["Given", "Manoeuvre", "Place", "Ran"]

Array = NDArray[np.float64]
Look = Callable[[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], int], None]


@dataclass(frozen=True, kw_only=True)
class Given:
    """Cases of one manoeuvre before they are run.

    Attributes
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input in dataset units (SI, angles in degrees); choices by code.
    barge, tug, crew : Barge, Tug, Crew
        Fields of shape (n,).
    athwart : ndarray of bool, shape (n,)
        The tug lies across the force.
    stern_drive : ndarray of bool, shape (n,)
        She is an azimuth stern drive, which tows over her bow.
    end, turn : ndarray, shape (n,)
        +1 where the bow is worked, or the turn is to starboard; else -1.
    push_pull : ndarray of bool, shape (n,)
        A line besides the fender.
    """

    columns: Mapping[str, Array]
    barge: Barge
    tug: Tug
    crew: Crew
    athwart: NDArray[np.bool_]
    stern_drive: NDArray[np.bool_]
    end: Array
    turn: Array
    push_pull: NDArray[np.bool_]

    def choice(self, name: str, word: str) -> NDArray[np.bool_]:
        """Where a choice input is a word."""
        from toolkit.quantities import INPUTS

        return np.asarray(self.columns[name] == INPUTS[name].choices.index(word))


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where the tug lies at the start.

    In the barge's axes, mirrored so that the ordered turn is to starboard;
    all of shape (n,).

    Attributes
    ----------
    x, y : ndarray
        Her midships, forward and to (mirrored) starboard of the barge's [m].
    heading : ndarray
        Off the barge's [rad].
    way : ndarray
        Speed through the water that both vessels make along the barge's axis,
        forward positive [m/s].
    """

    x: Array
    y: Array
    heading: Array
    way: Array | float = 0.0


@dataclass(frozen=True, kw_only=True)
class Ran:
    """Cases of one manoeuvre after they were run; arrays of shape (rows, n).

    Attributes
    ----------
    memories, finals, parameters : ndarray
        Memory and state at the end, and parameters; rows by `toolkit.motion.layout`.
    sound : ndarray of bool, shape (n,)
        Run, and not `not_converged`.
    completed : ndarray of bool, shape (n,)
    """

    memories: Array
    finals: Array
    parameters: Array
    sound: NDArray[np.bool_]
    completed: NDArray[np.bool_]


def _no_outcomes(_: Ran) -> dict[str, Array]:
    return {}


@dataclass(frozen=True, kw_only=True)
class Manoeuvre:
    """A manoeuvre: what its module hands over under the name ``MANOEUVRE``.

    Attributes
    ----------
    look : callable
        Kernel ``(s, p, m, report, k)``, compiled by itself: one look of the master, who
        orders the drives through `toolkit.motion.helm.steer` or `give_orders`
        and says in memory when he will look next.
    judge : callable
        Kernel of the same arguments, at every tick of a case that
        has not ended: notes what is the manoeuvre's own and sets
        ``MEMORY.outcome`` once it is over. What endangers every manoeuvre
        (deck edge, parted line, collision) has been judged before.
    rows : callable
        `Given` to its own rows of the parameters, by name: those of the group
        "manoeuvre" that it uses, ``own_1`` ..., and what it overrides of others.
    gear : callable
        `Given` to two arrays of bool, shape (n,): whether a line and whether a
        fender is used.
    place : callable
        `Given` and all rows to the `Place` of the tug at the start.
    outcomes : callable
        `Ran` to the values of its own outcomes, by name, in dataset units; NaN
        where one does not apply. Outcomes not named are missing.
    swings : bool
        Whether the outcomes of a swing (angle, target, overshoot) apply.
    """

    look: Look
    judge: Look
    rows: Callable[[Given], dict[str, Any]]
    gear: Callable[[Given], tuple[NDArray[np.bool_], NDArray[np.bool_]]]
    place: Callable[[Given, Mapping[str, Array]], Place]
    outcomes: Callable[[Ran], dict[str, Array]] = _no_outcomes
    swings: bool = False
