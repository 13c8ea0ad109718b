"""Gusts in time: harmonics carried on without trigonometry, and a front that passes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.scalars import smooth_step

__all__ = ["advance_gusts", "front_factor", "turn_phasor"]


@kernel
def turn_phasor(cosine: float, sine: float, turn_cosine: float, turn_sine: float) -> tuple[float, float]:
    """Cosine and sine of an angle after a turn, given as its cosine and sine."""
    return cosine * turn_cosine - sine * turn_sine, sine * turn_cosine + cosine * turn_sine


@kernel
def advance_gusts(
    memory: NDArray[np.float64],
    parameters: NDArray[np.float64],
    cosine: int,
    sine: int,
    amplitude: int,
    turn_cosine: int,
    turn_sine: int,
    count: int,
    lanes: int,
    k: int,
) -> float:
    """Factor of the gusts on the mean wind now; then carry the harmonics on by a tick.

    Parameters
    ----------
    memory : ndarray, flat
        Holds cosine and sine of each harmonic, and receives those a tick later.
    parameters : ndarray, flat
        Holds their amplitudes over the mean and their turn in a tick.
    cosine, sine : int
        Offsets in `memory` of the first harmonic's row; the others follow row by row.
    amplitude, turn_cosine, turn_sine : int
        The same in `parameters`.
    count, lanes, k : int
        Number of harmonics, length of a row, lane.

    Returns
    -------
    float
        ``1 + sum(a cos)``, held above zero.

    Notes
    -----
    Starting values and turns from `toolkit.particulars.gusts.gust_phasors`. A
    turn is exact but for rounding: after 7200 ticks the length of a pair is
    off by less than 1e-11, so it is not put back to one.
    """
    factor = 1.0
    for harmonic in range(count):
        row = harmonic * lanes + k
        c, s = memory[cosine + row], memory[sine + row]
        factor += parameters[amplitude + row] * c
        memory[cosine + row], memory[sine + row] = turn_phasor(
            c, s, parameters[turn_cosine + row], parameters[turn_sine + row]
        )
    return factor if factor > 0.0 else 0.0


@kernel
def front_factor(time: float, start: float, rise: float, factor: float) -> float:
    """Factor on the mean wind as a gust front comes in.

    Parameters
    ----------
    time : float
        [s].
    start : float
        Time at which the wind begins to change; beyond the end of the case for no front [s].
    rise : float
        Time until it has changed, above zero [s].
    factor : float
        Wind after the front over wind before; below 1 for a lull.

    Returns
    -------
    float

    Notes
    -----
    A cubic step without a corner; the wind stays as the front leaves it. The
    shape is judgement.
    """
    return 1.0 + (factor - 1.0) * smooth_step((time - start) / rise)
