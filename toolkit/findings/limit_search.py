"""Where an envelope ends, found by halving on the model itself, all curves at once (floor 5).

A bracket is scanned first, in even steps: what passes again beyond the first
failure is flagged, and only the first failure is followed. Every round of
halving is one table of cases.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.findings.display import long_name
from toolkit.findings.envelope import EnvelopeStatus, status_attributes
from toolkit.findings.limit_curves import ALL_LIMITS, NO_LIMIT, Brackets, Curves, Evaluate
from toolkit.findings.limits import limits_of
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["ALL_LIMITS", "NO_LIMIT", "Evaluate", "LimitSearch", "find_limit"]


@dataclass(frozen=True, kw_only=True)
class LimitSearch:
    """Limits that were searched for, and the cases that were run for them.

    Attributes
    ----------
    found : xarray.Dataset
        On the axes of the curves, and ``criterion`` if each limit was searched
        alone: ``limit``, ``first_failing``, ``status``, ``limited_by`` and
        ``not_monotone`` as from
        :func:`toolkit.findings.envelope.largest_passing`; ``scan_share``, the
        share that passes at each value of the scan, along ``scan``. Attributes
        ``resolution``, ``scan_step``, ``evaluated_count``.
    judged : xarray.Dataset
        Every case run, along ``case``, judged by all limits; without the inputs
        that have one value.
    dataset : xarray.Dataset
        The outcomes judged; inputs with one value as scalar coordinates.
    """

    found: xr.Dataset
    judged: xr.Dataset
    dataset: xr.Dataset


def find_limit(
    evaluate: Evaluate,
    cases: Mapping[str, Any],
    name: str,
    low: float,
    high: float,
    limits: object | None = None,
    *,
    over: Iterable[str] = (),
    draws: str | None = None,
    share: float = 1.0,
    steps: int = 10,
    resolution: float | None = None,
    each: bool = False,
) -> LimitSearch:
    """Find the largest value of an input up to which the job passes, for every curve at once.

    Parameters
    ----------
    evaluate : callable
        Table of cases to dataset along ``case``, such as `toolkit.evaluate`.
    cases : mapping
        Inputs by name: one value for all cases, or a list, tuple or array,
        which becomes an axis. Dataset units, words, or texts with units, as
        `evaluate` takes them.
    name : str
        Input searched along, such as ``wind_speed``.
    low, high : float
        Bracket [dataset unit].
    limits : mapping or dataclass, optional
        Limits in dataset units; without, only completing counts.
    over : iterable of str
        Axes along which every case must pass, such as ``wind_from``.
    draws : str, optional
        Axis along which at least `share` of the cases must pass.
    share : float
        In (0, 1].
    steps : int
        Even steps of the scan from `low` to `high`, 1 to 1000.
    resolution : float, optional
        Width of the bracket at which halving ends [dataset unit]; a sixteenth
        of a step unless given.
    each : bool
        Whether every limit is also searched alone, and completing without any,
        along ``criterion``.

    Returns
    -------
    LimitSearch
        The limit is the last value that passed, the truth lies within
        `resolution` above it, as far as the scan saw all there is to see.

    Raises
    ------
    StudyError
        With every problem of the arguments; whatever `evaluate` raises.
    """
    search = Curves(
        evaluate=evaluate, cases=dict(cases), name=name, limits=limits_of(_nothing(), limits or {}),
        over=tuple(over), draws=draws, share=share, each=each,
    )  # fmt: skip
    search.check(low, high, steps, resolution)
    scan = np.linspace(low, high, steps + 1)
    finest = (high - low) / steps / 16.0 if resolution is None else float(resolution)
    brackets = search.scan(scan)
    rounds = 0
    while (active := brackets.wider_than(finest)).any():
        middle = np.where(active, 0.5 * (brackets.lower + brackets.upper), np.nan)
        passes, why = search.at(middle)
        brackets.lower = np.where(active & passes, middle, brackets.lower)
        brackets.reason = np.where(active & ~passes, why, brackets.reason)
        brackets.upper = np.where(active & ~passes, middle, brackets.upper)
        rounds += 1
    return _gathered(search, brackets, scan, {"resolution": finest, "rounds": rounds})


def _nothing() -> xr.Dataset:
    import xarray as xr

    return xr.Dataset()


def _gathered(search: Curves, brackets: Brackets, scan: NDArray[np.float64], told: Mapping[str, Any]) -> LimitSearch:
    """Put all that was found into datasets."""
    import xarray as xr

    dims = ["criterion", *search.curves]
    status = np.where(np.isfinite(brackets.lower), int(EnvelopeStatus.limited), int(EnvelopeStatus.never_passes))
    status = np.where(np.isfinite(brackets.upper), status, int(EnvelopeStatus.passes_throughout))
    dataset, judged = search.gathered()
    found = xr.Dataset(
        {
            "limit": (dims, brackets.lower),
            "first_failing": (dims, brackets.upper),
            "status": (dims, status.astype(np.int8), status_attributes()),
            "limited_by": (dims, brackets.reason.astype(np.int8), dict(judged["binding_limit"].attrs)),
            "not_monotone": (dims, brackets.passes_again),
            "scan_share": ([*dims, "scan"], brackets.shares),
        },
        coords={
            "criterion": search.criteria,
            "scan": scan,
            **{name: _coordinate(name, values) for name, values in search.curves.items()},
        },
        attrs={
            **judged.attrs,
            "axis": search.name,
            "worst_over": " ".join(search.over),
            "draws": search.draws or "",
            "draw_count": len(search.axes[search.draws]) if search.draws else 0,
            "share": float(search.share),
            "scan_step": float(scan[1] - scan[0]),
            "evaluated_count": int(dataset.sizes["case"]),
            **told,
        },
    )
    unit = INPUTS[search.name].unit if search.name in INPUTS else ""
    words = long_name(search.name)
    found["limit"].attrs = {"long_name": f"largest {words} for which all smaller pass", "units": unit}
    found["first_failing"].attrs = {"long_name": f"{words} that does not pass first", "units": unit}
    found["limited_by"].attrs["long_name"] = "what ends the envelope"
    found["not_monotone"].attrs = {"long_name": "a larger value of the scan passes again"}
    found["scan_share"].attrs = {"long_name": "share of cases that pass at each value of the scan", "units": "1"}
    return LimitSearch(
        found=found if search.each else found.isel(criterion=0, drop=True), judged=judged, dataset=dataset
    )


def _coordinate(name: str, values: list[Any]) -> Any:
    """Coordinate of an axis: numbers in dataset units, words as they are, texts with units read."""
    from toolkit.quantities.units import parse

    quantity = INPUTS.get(name)
    if quantity is not None and not quantity.is_choice:
        values = [parse(quantity, v) if isinstance(v, str) else float(v) for v in values]
        return (name, values, {"units": quantity.unit, "long_name": quantity.long_name})
    return (name, values)
