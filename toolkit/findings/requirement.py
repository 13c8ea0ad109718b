"""The smallest and the largest tug that pass, for each band of displacement and wind (floor 5).

A requirement is a run of values that all pass, never a single one: a tug
between the smallest and the largest is allowed, so every value run between
them has to pass in every case of the band.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from enum import IntEnum
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import StudyError
from toolkit.findings.bands import BANDED, Bands, band_coordinates
from toolkit.findings.display import display_text, long_name
from toolkit.findings.margins import check_factor, tighten
from toolkit.findings.reached import cut_into_bands, reached_in_bands, reason_at
from toolkit.findings.reading import axis_is_numeric, axis_values, require

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["RequirementStatus", "requirement", "runs_of"]

_ROUNDING = 1e-9


class RequirementStatus(IntEnum):
    """How a requirement was found."""

    none_passes = 0
    found = 1
    smallest_run_passes = 2
    not_run = 3
    margin_too_large = 4


def runs_of(reached: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of every unbroken run of True, in order.

    Parameters
    ----------
    reached : ndarray of bool, shape (n,)
    """
    steps = np.diff(np.concatenate([[0], reached.astype(np.int8), [0]]))
    return [(int(a), int(b) - 1) for a, b in zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0), strict=True)]


def requirement(
    judged: xr.Dataset,
    *,
    axis: str = "bollard_pull",
    bands: Mapping[str, Sequence[float] | None] | None = None,
    keep: Iterable[str] = (),
    free: Iterable[str] = (),
    share: float = 1.0,
    margin: float = 1.0,
    limit_margin: float = 1.0,
) -> xr.Dataset:
    """Find the smallest and the largest value of an axis that pass in every case of a band.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`: a grid.
    axis : str
        What is asked for: ``bollard_pull``, or ``power_setting`` for a cap.
    bands : mapping, optional
        Input to the ends of its bands [dataset unit], rising, or to None for
        bands between the values run. By default displacement and wind speed.
        A band counts as its worst case: all values run within it, and the next
        ones outside where an end was not run. Bands of wind and current begin
        at the lowest value run, for a rule says 'up to'.
    keep : iterable of str
        Dimensions to keep, such as ``manoeuvre``.
    free : iterable of str
        Dimensions whose value is whoever decides's to choose, such as
        ``power_setting`` or ``line_length``: one value has to do for the whole
        band, the best is taken and named. Along all other dimensions
        (directions, draws, ...) cases are pooled.
    share : float
        Share of the cases pooled that must pass, in (0, 1]. Cases not run count
        as not passing.
    margin : float
        1 or more: the value asked for over the smallest that passes. Of a tug
        that brings only 1/margin of her certificate, nothing is lost: the run
        of passing values must reach from the smallest to margin times it.
    limit_margin : float
        1 or more: every limit is tightened by it
        (:func:`toolkit.findings.margins.tighten`).

    Returns
    -------
    xarray.Dataset
        On the bands (``<axis>_band``, ends as ``<axis>_low`` and
        ``<axis>_high``) and `keep`: ``smallest`` and ``largest`` value run of
        the lowest run of passing values that holds the margin, ``asked``,
        `margin` times the smallest [unit of the axis; NaN where none];
        ``status`` (:class:`RequirementStatus`; ``smallest_run_passes``: the
        grid begins there, less may do; ``not_run``: cases not run leave it
        open); ``binds`` (code of `binding_limit`: what the next smaller value
        fails for; where the grid begins, the limit with the largest
        utilisation; where none passes, what the best value fails for);
        ``binds_above``, what the next larger value fails for, 0 where the grid
        ends; ``share``, the smallest share of passing cases in the band at the
        smallest value (at the best value where none passes), with
        ``passing_count`` of ``case_count``; ``utilisation`` there, the largest
        among passing cases; flags ``nothing_less`` (the grid begins at the
        smallest), ``passes_again`` (a larger value passes
        beyond a gap), ``not_all_run``, and ``falls_along_<axis>`` (less is
        asked than in a lower band). For each numeric dimension of `free`,
        ``<name>_from`` and ``<name>_to``, smallest and largest that pass with
        the smallest value; for others ``<name>_words``. Computed.

    Raises
    ------
    StudyError
        With every problem of the arguments; see
        :func:`toolkit.findings.reached.cut_into_bands`.
    """
    import xarray as xr

    require(judged, ("passes", "was_run", "utilisation", "nearest_limit", "binding_limit"), "a requirement")
    problems = check_factor("margin", margin, 1.0, 10.0, "it asks for more, it does not ask for less")
    if problems:
        raise StudyError(problems)
    wanted = {*(bands or ()), *BANDED}
    alone = {n: c for n, c in judged.coords.items() if not c.ndim and n not in wanted}
    field, cut = cut_into_bands(tighten(judged.drop_vars(list(alone)), limit_margin), axis, bands)
    chosen = [d for d in free if d in field["passes"].dims and d not in (axis, *cut)]
    kept = [d for d in keep if d in field["passes"].dims and d not in (axis, *cut, *chosen)]
    over = [str(d) for d in field["passes"].dims if d not in (axis, *cut, *chosen, *kept)]
    reached = reached_in_bands(field, axis, cut, (*kept, *chosen), share)
    reached = reached.stack(choice=chosen) if chosen else reached.expand_dims("choice")
    cells = [*(b.dim for b in cut.values()), *kept]
    reached = reached.transpose(axis, "choice", *cells, ...)
    shape = tuple(reached.sizes[d] for d in cells)
    values = np.array(axis_values(field, axis))
    rows = [_decide(reached.isel(dict(zip(cells, place, strict=True))), values, margin) for place in np.ndindex(*shape)]
    found = xr.Dataset(
        {name: (cells, np.array([row[name] for row in rows]).reshape(shape)) for name in _TYPES},
        coords={d: reached[d] for d in cells if d in reached.coords},
    ).astype(_TYPES)
    found = found.assign_coords(band_coordinates(cut, field))
    found = found.assign_coords({n: c for n, c in alone.items() if n == "manoeuvre"})  # says which inputs are not used
    for name, words in _choices(reached, [row["choices"] for row in rows], chosen, field).items():
        found[name] = (cells, np.array(words).reshape(shape))
    for name, bands_of in cut.items():
        found[f"falls_along_{name}"] = _falls(found["asked"], bands_of)
    found.attrs = {
        **field.attrs, "axis": axis, "share": float(share), "margin": float(margin),
        "limit_margin": float(limit_margin), "banded": " ".join(cut), "kept": " ".join(kept),
        "free": " ".join(chosen), "pooled": " ".join(over),
    }  # fmt: skip
    return _described(found, axis, str(field[axis].attrs.get("units", "")))


_TYPES: dict[str, Any] = {
    "smallest": np.float64, "asked": np.float64, "largest": np.float64, "status": np.int8, "binds": np.int16,
    "binds_above": np.int16, "share": np.float64, "passing_count": np.int64, "case_count": np.int64,
    "utilisation": np.float64, "nothing_less": np.bool_, "passes_again": np.bool_, "not_all_run": np.bool_,
}  # fmt: skip


def _decide(cell: xr.Dataset, values: NDArray[np.float64], margin: float) -> dict[str, Any]:
    """Requirement of one cell, on (axis, choice)."""
    ok, may = cell["reached"].values, cell["may_reach"].values
    any_ok = np.asarray(ok.any(axis=1))
    runs = runs_of(any_ok)
    held = [(a, b) for a, b in runs if values[a] * margin <= values[b] * (1.0 + _ROUNDING)]
    row: dict[str, Any] = {"smallest": np.nan, "asked": np.nan, "largest": np.nan, "binds_above": 0}
    if runs:
        first, last = held[0] if held else runs[0]
        row["smallest"], row["largest"] = float(values[first]), float(values[last])
        row["asked"] = float(values[first] * margin) if held else np.nan
        status = RequirementStatus.found if first else RequirementStatus.smallest_run_passes
        row["status"] = int(status if held else RequirementStatus.margin_too_large)
        works = ok[first]
        row["binds"] = _reason(cell, first - 1) if first else _nearest(cell, first, works)
        row["binds_above"] = _reason(cell, last + 1) if last + 1 < values.size else 0
        row["passes_again"] = runs[-1][1] > last
        row["not_all_run"] = bool((may & ~ok)[:first].any())
    else:
        first = int(np.argmax(cell["share"].values.max(axis=1)))
        works = np.zeros(ok.shape[1], dtype=bool)
        row["status"] = int(RequirementStatus.not_run if may.any() else RequirementStatus.none_passes)
        row["binds"] = _reason(cell, first)
        row["passes_again"], row["not_all_run"] = False, bool(may.any())
    row["nothing_less"] = first == 0
    best = int(np.argmax(cell["share"].values[first]))
    here = cell.isel({cell["share"].dims[0]: first, "choice": best})
    row |= {name: here[name].item() for name in ("share", "passing_count", "case_count", "utilisation")}
    row["choices"] = np.flatnonzero(works)
    return row


def _reason(cell: xr.Dataset, place: int) -> int:
    """Why most cases at one value of the axis do not pass, over all choices."""
    counts = cell["reason_count"].isel({cell["share"].dims[0]: place})
    return reason_at(counts.sum([d for d in counts.dims if d != "binding"]))


def _nearest(cell: xr.Dataset, place: int, works: NDArray[np.bool_]) -> int:
    """Limit with the largest utilisation at one value of the axis, among the choices that do."""
    used = np.where(works, np.nan_to_num(cell["utilisation"].values[place], nan=-1.0), np.inf)
    return int(cell["nearest"].values[place][int(np.argmin(used))])


def _choices(
    reached: xr.Dataset, places: Sequence[NDArray[np.intp]], chosen: Sequence[str], field: xr.Dataset
) -> dict[str, list[Any]]:
    """Values of each free dimension that pass with the smallest value, by cell."""
    columns: dict[str, list[Any]] = {}
    for name in chosen:
        options = reached[name].values
        picked = [options[place] for place in places]
        if axis_is_numeric(field, name):
            columns[f"{name}_from"] = [float(p.min()) if p.size else np.nan for p in picked]
            columns[f"{name}_to"] = [float(p.max()) if p.size else np.nan for p in picked]
        else:
            columns[f"{name}_words"] = [
                " or ".join(display_text(name, str(w)) for w in dict.fromkeys(p)) for p in picked
            ]
    return columns


def _falls(asked: xr.DataArray, bands: Bands) -> xr.DataArray:
    """Whether less is asked than in some lower band; where nothing passes, more than anything is asked."""
    filled = asked.fillna(np.inf)
    order = filled.transpose(bands.dim, ...).values
    lower = np.maximum.accumulate(order, axis=0)
    return filled.transpose(bands.dim, ...).copy(data=order < lower).transpose(*asked.dims)


def _described(found: xr.Dataset, axis: str, unit: str) -> xr.Dataset:
    words = long_name(axis)
    found["smallest"].attrs = {"long_name": f"smallest {words} run that passes", "units": unit}
    found["largest"].attrs = {"long_name": f"largest {words} run up to which all pass", "units": unit}
    found["asked"].attrs = {"long_name": f"{words} asked for, with the margin", "units": unit}
    found["status"].attrs = {
        "long_name": "how the requirement was found",
        "flag_values": np.array([int(s) for s in RequirementStatus], dtype=np.int8),
        "flag_meanings": " ".join(s.name for s in RequirementStatus),
    }
    for name, text in (
        ("binds", "what binds: fails with less, or is nearest"),
        ("binds_above", "what fails with more"),
        ("share", "smallest share of passing cases in the band"),
        ("passing_count", "passing cases where the share is smallest"),
        ("case_count", "cases pooled in one share"),
        ("utilisation", "largest value over limit among passing cases"),
        ("nothing_less", "the grid begins at the smallest value"),
        ("passes_again", "a larger value passes beyond a gap"),
        ("not_all_run", "cases not run leave a smaller value open"),
    ):
        found[name].attrs = {"long_name": text, "units": "1"}
    return found
