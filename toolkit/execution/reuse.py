"""Taking over cases that another store holds, so that a sweep can be extended without running it again.

The other store is only read. Where a case of the new study would stand in the old one follows from the old axes on a
grid, and from its number in a Sobol' sequence; it is taken over if **all** its inputs are there bit for bit, those
that it does not use left aside. The whole of its inputs is thus the key of a case: nothing has to be kept beside the
results, no two cases can be taken for one, and it holds for stores of any age.
"""

from __future__ import annotations

import os
import uuid
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import StoreError, StudyError
from toolkit.execution.attributes import RESULT_NAMES, result_type
from toolkit.execution.blocks import Blocks
from toolkit.execution.creation import BLOCK_DONE
from toolkit.execution.differences import difference, of_the_model
from toolkit.execution.distinct import Columns, used_columns
from toolkit.execution.integrity import UNREADABLE, check_study, cut_short, first_line, study_content
from toolkit.execution.layout import Model, global_attributes
from toolkit.execution.store import Store, open_group, read_block
from toolkit.quantities import INPUTS
from toolkit.study.canonical import study_from_canonical
from toolkit.study.combinations import combinations
from toolkit.study.unused import maybe_unused

if TYPE_CHECKING:
    from toolkit.study import Axis, Study

__all__ = ["Earlier", "open_earlier"]

Rows = NDArray[np.int64]

DRAWS = ("draw_seed", "gust_intensity", "crew_scatter")
"""Inputs on which it hangs what is drawn at random in a case."""


@dataclass(frozen=True, kw_only=True)
class Earlier:
    """A store whose cases are taken over.

    Attributes
    ----------
    store : Store
        Open for reading.
    study : Study
        That it holds.
    """

    store: Store
    study: Study

    def find(self, distinct: Columns, cases: Rows) -> tuple[NDArray[np.bool_], Columns]:
        """Outcomes of the cases that the store holds.

        Parameters
        ----------
        distinct : dict of ndarray
            Shape (n,) for every input, as `used_columns` gives them.
        cases : ndarray of int
            Shape (n,): their numbers in the study that is run.

        Returns
        -------
        held : ndarray of bool
            Shape (n,).
        results : dict of ndarray
            Outcomes of the cases held, in order.
        """
        places = self._places(distinct, cases)
        there = used_columns(self.study.columns(places))
        held = np.ones(len(places), dtype=np.bool_)
        for name, values in distinct.items():
            held &= _bits(values) == _bits(there[name])
        block, within = self.store.blocks.locate(places)
        held &= _marks(self.store)[block]
        block, within = block[held], within[held]
        results = {name: np.empty(len(block), dtype=result_type(name)) for name in RESULT_NAMES}
        for number in np.unique(block).tolist():
            rows = block == number
            found = _block(self.store, number)
            for name, column in results.items():
                column[rows] = found[name][within[rows]]
        return held, results

    def _places(self, distinct: Columns, cases: Rows) -> Rows:
        """Where each case would stand; anywhere, if it has no place."""
        if not self.study.design.is_grid:
            return np.where(cases < self.study.size, cases, 0)
        if not self.study.axes:
            return np.zeros(len(cases), dtype=np.int64)
        levels = [_level(axis, distinct[axis.name]) for axis in self.study.axes]
        return np.asarray(np.ravel_multi_index(levels, self.study.shape), dtype=np.int64)


def open_earlier(path: str | os.PathLike[str], study: Study, model: Model, into: Path) -> Earlier:
    """Open a store to take its cases over into that of another study.

    Parameters
    ----------
    path : path
        The store with the cases.
    study : Study
        What is to be run.
    model : Model
        What it is to be run with.
    into : Path
        Store that is to be written.

    Raises
    ------
    StoreError
        If it is the store to be written, is not a store, was made with
        another model or step, or can have no case in common with the study;
        the message says why.
    """
    place = Path(path).absolute()
    if place == into.absolute():
        raise StoreError(
            f"{path}: a store cannot be extended in itself. Name the extended one with --store, and this one with "
            "--reuse; it is only read, and may be deleted afterwards."
        )
    group = open_group(place, mode="r", remedy="Give the store whose cases are to be taken over")
    check_study(place, group.attrs)
    refused = of_the_model(dict(group.attrs), global_attributes(study, model))
    if not refused:
        try:
            old = study_from_canonical(study_content(place, group.attrs), source=str(path))
        except StudyError as error:
            refused = [problem.what for problem in error.problems]
        else:
            refused = _nothing_shared(old, study)
    if refused:
        lines = "\n".join(f"  - {line}" for line in refused)
        raise StoreError(
            f"{path}: no case can be taken over from it:\n{lines}\nLeave --reuse out, or name another store."
        )
    try:
        outcome = group["outcome"]
        blocks = Blocks(shape=outcome.shape, chunks=outcome.chunks)
    except UNREADABLE as error:
        raise cut_short(place, first_line(error)) from None
    return Earlier(store=Store(path=place, blocks=blocks, token=uuid.uuid4().hex), study=old)


def _nothing_shared(old: Study, new: Study) -> list[str]:
    """Why two studies can have no case in common; empty if they may have some."""
    if "latin_hypercube" in (old.design.kind, new.design.kind):
        return ["a Latin hypercube cannot be extended, as every stratum already holds its one case; "
                "a Sobol' sequence and a grid can"]  # fmt: skip
    if old.legs or new.legs:
        return ["cases of a job are not told apart by what their legs use, so none is taken over"]
    if (old.basin and old.basin.edges.tolist()) != (new.basin and new.basin.edges.tolist()):
        return ["the edges of the basin are not the same"]
    if old.design.kind != new.design.kind:
        return [difference("design", old.design.kind, new.design.kind)]
    lines = []
    if not new.design.is_grid:
        if old.seed != new.seed:
            lines.append(difference("seed", old.seed, new.seed))
        for name in (name for name in INPUTS if old.axis(name) or new.axis(name)):
            axes = [axis.canonical() for study in (old, new) if (axis := study.axis(name))]
            if len(axes) < 2 or axes[0] != axes[1]:
                lines.append(difference(f"axis {name}", _values(old, name), _values(new, name)))
    unused = maybe_unused(old) | maybe_unused(new)
    for name in INPUTS:
        there, here = _values(old, name), _values(new, name)
        fixed = old.axis(name) is None and new.axis(name) is None
        if (fixed or new.design.is_grid) and name not in unused and not set(there) & set(here):
            lines.append(difference(name, there, here))
    return lines


def _values(study: Study, name: str) -> list[float | str | None]:
    """Values of an input in a study, or the ends of the range it is sampled from; None where it is derived."""
    axis = study.axis(name)
    if name == "draw_seed":  # which may come from the study's own seed
        values = np.unique(combinations(study, DRAWS)[name]).tolist()
    else:
        values = [study.fixed[name]] if axis is None else list(axis.values)
    return [None if value != value else value if isinstance(value, str) else float(value) for value in values]


def _level(axis: Axis, values: NDArray[np.generic]) -> Rows:
    """Level of an axis at which each value stands, or the next one if it stands at none."""
    order = np.argsort(axis.codes, kind="stable")
    place = np.searchsorted(axis.codes, values, sorter=order)
    return np.asarray(order[np.minimum(place, len(order) - 1)], dtype=np.int64)


def _bits(values: NDArray[np.generic]) -> NDArray[np.int64]:
    return values.astype(np.float64).view(np.int64)


@lru_cache(maxsize=4)
def _marks(store: Store) -> NDArray[np.bool_]:
    try:
        return np.asarray(open_group(store.path, mode="r")[BLOCK_DONE][:] != 0)
    except UNREADABLE as error:
        raise cut_short(store.path, f"{BLOCK_DONE}: {first_line(error)}") from None


_block = lru_cache(maxsize=8)(read_block)
"""Outcomes of a block; a few are kept, as the blocks of the new study may cut across them."""
