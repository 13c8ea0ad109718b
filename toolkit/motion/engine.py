"""From a table of cases to their outcomes."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import COMPILED_PARTS, source_hash
from toolkit.motion.batch import workplace
from toolkit.motion.building import engine
from toolkit.motion.layout import MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.outcomes import outcomes_of
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.setting import NO_SETTING, Setting
from toolkit.motion.stepping import STEP_RULE

__all__ = ["evaluate_columns", "model_hash", "outcomes_of", "queues", "run_prepared", "step_rule"]

Array = NDArray[np.float64]
Outcomes = dict[str, NDArray[Any]]
NOTHING = np.zeros((0, 0))
"""A history of no entries."""
MODEL_PARTS = (*COMPILED_PARTS, "particulars")
"""What decides results, below the package."""


def step_rule() -> str:
    """Scheme and step, in one line."""
    return STEP_RULE


@cache
def model_hash() -> str:
    """Hash of the sources that decide results: 16 hexadecimal digits."""
    return source_hash(MODEL_PARTS)


def run_prepared(
    prepared: Prepared, history: Array | None = None, setting: Setting = NO_SETTING
) -> tuple[Array, Array]:
    """Run prepared cases to their ends.

    Parameters
    ----------
    prepared : Prepared
    history : ndarray, shape (CHANNELS, entries), optional
        Receives the history of the first case.
    setting : Setting
        Edges of the basin.

    Returns
    -------
    memories : ndarray, shape (rows of memory, n)
    finals : ndarray, shape (rows of state, n)
        Both untouched, zero, for cases aground, which are not run.
    """
    parameters = prepared.parameters
    size = parameters.shape[1]
    memories, finals = np.zeros((len(MEMORY_ROW), size)), np.zeros((len(STATE_ROW), size))
    recorded = history if history is not None else NOTHING
    waiting = queues(prepared, as_they_are=recorded.size > 0)
    for code, run in engine(list(waiting)).items():
        picked = waiting[code]
        some_memories, some_finals = np.zeros((len(MEMORY_ROW), picked.size)), np.zeros((len(STATE_ROW), picked.size))
        run(
            np.ascontiguousarray(prepared.initial[:, picked]), np.ascontiguousarray(parameters[:, picked]),
            np.ascontiguousarray(prepared.gusts[:, picked] if prepared.gusts.size else prepared.gusts),
            setting.edges, some_memories, some_finals, recorded if picked[0] == 0 else NOTHING, *workplace(),
        )  # fmt: skip
        memories[:, picked], finals[:, picked] = some_memories, some_finals
    return memories, finals


def queues(prepared: Prepared, *, as_they_are: bool = False) -> dict[int, NDArray[np.int64]]:
    """Cases in the order in which lanes take them.

    Those of the most steps a tick come first. The work of a case is its steps a
    tick times its ticks, of which the former are known beforehand, and a case of
    much work that begins last leaves all other lanes idle.

    Parameters
    ----------
    prepared : Prepared
    as_they_are : bool
        Whether to leave the cases in the order of the table.

    Returns
    -------
    dict of int to ndarray of int
        Code of a manoeuvre to its cases; those aground are in none.
    """
    steps = prepared.parameters[PARAMETER_ROW.steps_per_tick]
    order = np.arange(steps.size) if as_they_are else np.argsort(-steps, kind="stable")
    order = order[~prepared.aground[order]]
    codes = prepared.parameters[PARAMETER_ROW.manoeuvre, order].astype(np.int64)
    return {int(code): order[codes == code] for code in np.unique(codes)}


def evaluate_columns(columns: Columns, setting: Setting = NO_SETTING) -> Outcomes:
    """Outcomes of a table of cases.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input of the register by name: SI, angles in degrees, choices by
        code, NaN for what is to be derived.
    setting : Setting
        Edges of the basin, and legs, the same for all cases.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every outcome and derived coordinate of the register, in its dataset
        unit; NaN where it does not apply. ``outcome`` and ``range_flags`` are
        integers.

    Notes
    -----
    What a case comes to depends on its own column alone, to the last bit.
    """
    if setting.legs:
        from toolkit.motion.job import evaluate_job

        return evaluate_job(columns, setting)
    prepared = prepare(columns)
    memories, finals = run_prepared(prepared, setting=setting)
    return outcomes_of(columns, prepared, memories, finals)
