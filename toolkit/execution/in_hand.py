"""Which case of a study is meant by one of a dataset, which may be a part of the results."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["case_in_hand", "checked", "locate_in_study", "one_of", "refused"]


def refused(what: str, remedy: str) -> StudyError:
    """Error of one problem, told of a history."""
    return StudyError([Problem(where="history", what=what, remedy=remedy)])


def checked(case: object, size: int) -> int:
    """Number of a case, if it is one of `size` cases."""
    if not size:
        raise refused("the dataset holds no case", "Select at least one")
    if isinstance(case, bool) or not isinstance(case, int | np.integer) or not 0 <= case < size:
        raise refused(f"case = {case} is outside [0, {size - 1}]", "Give the number of a case")
    return int(case)


def one_of(dataset: xr.Dataset, case: int) -> xr.Dataset:
    """One case of a dataset, counted in C order over the dimensions of ``outcome``."""
    outcome = dataset["outcome"]
    place = np.unravel_index(case, outcome.shape) if outcome.ndim else ()
    found: xr.Dataset = dataset.isel(dict(zip(outcome.dims, map(int, place), strict=True)))
    return found


def locate_in_study(study: Study, selection: Mapping[str, object]) -> int:
    """Number of the case of a study that a selection names; bare numbers are in the units of datasets."""
    from toolkit.study import locate

    return locate(study, {name: _as_text(name, value) for name, value in selection.items()})


def case_in_hand(study: Study, results: xr.Dataset, case: int | None, selection: Mapping[str, object]) -> int:
    """Number in a study of one case of its results, or of a part of them.

    Parameters
    ----------
    study : Study
        Behind the results.
    results : xarray.Dataset
        With the swept inputs as coordinates, along dimensions or scalar.
    case : int or None
        Counted in C order over the dimensions that `results` have.
    selection : mapping
        Else: values of swept inputs. One that has a single value in `results`
        need not be named.

    Returns
    -------
    int
        Position in C order over `study.shape`.

    Raises
    ------
    StudyError
        If no single case of `results` is meant, or a swept input is no longer
        among its coordinates, so that nobody can tell which case it is.
    """
    names = [axis.name for axis in study.axes] if study.design.is_grid else ["case"]
    lost = [name for name in names if name not in results.coords]
    if lost:
        raise refused(
            f"the dataset has no coordinate {', '.join(lost)}",
            "Select from the results with isel or sel, which keep it, or give the study itself",
        )
    size = int(results["outcome"].size)
    if case is None and size == 1 and not selection:
        case = 0
    if case is not None:
        return _number(study, one_of(results, checked(case, size)))
    if not study.design.is_grid or any(results[name].dims not in ((), (name,)) for name in names):
        raise refused("the dataset is no grid", f"Name the case by its number in it, case=0 to {size - 1}")
    single = {n: v[0] for n in names if n not in selection and len(v := np.unique(results[n].values)) == 1}
    number = locate_in_study(study, {**single, **selection})
    wanted = dict(zip(names, np.unravel_index(number, study.shape), strict=True))
    for name, place in wanted.items():
        held = np.atleast_1d(results[name].values)
        if not any(_same(value, study.axis(name), int(place)) for value in held.tolist()):
            raise refused(
                f"{name} = {selection.get(name)} is a value of the study, and not of the dataset given",
                "Select it from the dataset, or give the whole results",
            )
    return number


def _number(study: Study, one: xr.Dataset) -> int:
    """Number in the study of a dataset of one case."""
    if study.design.is_grid:
        return locate_in_study(study, {axis.name: one[axis.name].values.item() for axis in study.axes})
    return checked(int(one["case"].item()), study.size)


def _same(value: Any, axis: Any, place: int) -> bool:
    level = axis.values[place]
    return value == level if isinstance(level, str) else bool(np.isclose(value, level, rtol=1e-9, atol=1e-12))


def _as_text(name: str, value: object) -> object:
    """A bare number with the unit of datasets written behind it."""
    quantity = INPUTS.get(name)
    if quantity is None or isinstance(value, str | bool) or not isinstance(value, int | float | np.number):
        return value
    return f"{float(value)!r} {quantity.unit if quantity.unit != '1' else ''}".strip()
