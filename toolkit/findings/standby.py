"""When a standby tug is needed: where the job passes while all is well and does not once something fails (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.bands import BANDED, band_coordinates
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.margins import tighten
from toolkit.findings.reached import cut_into_bands, reached_in_bands
from toolkit.findings.reading import axis_values, require
from toolkit.quantities import OUTCOMES, Outcome
from toolkit.study.limits import AT_LEAST

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["INTACT", "Standby", "failure_consequences", "standby_need", "without_standby"]

INTACT = "none"
"""Word of ``failure`` for a case in which nothing fails."""

CONSEQUENCES: tuple[str, ...] = (
    "recovered", "drift_after_failure", "time_to_contact", "peak_heel_after_failure", "peak_tension_after_failure",
    "drift_distance", "room_to_edge", "standby_demand", "standby_holds",
)  # fmt: skip
"""Outcomes told for each failure, as far as they are there."""

YES_OR_NO: frozenset[str] = frozenset({"recovered", "standby_holds"})
"""Of these, those that are 1 or 0: their share is told."""

_SMALL_IS_BAD = AT_LEAST | {"time_to_contact"}


class Standby(IntEnum):
    """Whether a standby tug is needed."""

    not_permitted = 0
    not_needed = 1
    needed = 2
    not_run = 3


def _words(dataset: xr.Dataset, axis: str, intact: str) -> list[str]:
    """Words of the failures, without the intact one."""
    words = [str(w) for w in axis_values(dataset, axis)] if axis in dataset["passes"].dims else []
    if intact not in words or len(words) < 2:
        raise StudyError(
            [
                Problem(
                    where=str(dataset.attrs.get("title", "dataset")),
                    what=f"{axis} is not swept with '{intact}' and something that fails",
                    why="a standby tug answers to the difference between the two",
                    remedy=f"Write {axis} = ['{intact}', ...] in the study; it has: {', '.join(words) or 'none'}",
                )
            ]
        )
    return [word for word in words if word != intact]


def standby_need(
    judged: xr.Dataset,
    *,
    failed: xr.Dataset | None = None,
    axis: str = "bollard_pull",
    failure: str = "failure",
    intact: str = INTACT,
    bands: Mapping[str, Sequence[float] | None] | None = None,
    keep: Iterable[str] = (),
    share: float = 1.0,
    failure_share: float | None = None,
    limit_margin: float = 1.0,
) -> xr.Dataset:
    """Say for each tug and band whether the job passes with all well and not with a failure.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`: a grid with `failure`
        among its axes.
    failed : xarray.Dataset, optional
        The same cases judged by the limits that hold once something has failed;
        the same as `judged` unless given.
    axis : str
        What tells tugs apart.
    failure, intact : str
        Name of the axis of failures, and its word for none.
    bands, keep, share, limit_margin
        As for :func:`toolkit.findings.requirement.requirement`.
    failure_share : float, optional
        Share of cases that must pass with a failure; `share` unless given.

    Returns
    -------
    xarray.Dataset
        Along `failure` (without `intact`), `axis`, the bands and `keep`:
        ``need`` (:class:`Standby`; ``not_permitted``: it does not pass even
        with all well); ``intact_share`` and ``failure_share``, smallest shares
        of passing cases in the band; ``binds``, what most cases fail for with
        the failure (code of `binding_limit`, 0 where it passes). Without
        `axis`: ``smallest_without``, the smallest value from which on no
        standby tug is needed as far as the job is permitted [unit of the axis;
        NaN where there is none]. Computed.

    Raises
    ------
    StudyError
        If `failure` is not swept with `intact` and something else, and as for
        the requirement.
    """
    import xarray as xr

    words = _words(judged, failure, intact)
    alone = [n for n, c in judged.coords.items() if not c.ndim and n not in {*(bands or ()), *BANDED}]
    field, cut = cut_into_bands(tighten(judged.drop_vars(alone), limit_margin), axis, bands)
    after = judged if failed is None else failed
    other, _ = cut_into_bands(tighten(after.drop_vars(alone), limit_margin), axis, bands)
    kept = [k for k in keep if k not in (axis, failure, *cut)]
    well = reached_in_bands(field.sel({failure: intact}), axis, cut, kept, share)
    with_it = reached_in_bands(
        other.sel({failure: words}), axis, cut, (*kept, failure), share if failure_share is None else failure_share
    )
    well = well.drop_vars(failure, errors="ignore")
    open_still = (well["may_reach"] & ~well["reached"]) | (with_it["may_reach"] & ~with_it["reached"])
    need = xr.where(with_it["reached"], int(Standby.not_needed), int(Standby.needed))
    need = xr.where(well["reached"], need, int(Standby.not_permitted))
    need = xr.where(open_still, int(Standby.not_run), need).astype(np.int8)
    found = xr.Dataset(
        {
            "need": need,
            "intact_share": well["share"],
            "failure_share": with_it["share"],
            "binds": _most(with_it["reason_count"]),
            "smallest_without": _smallest_without(need, field[axis], axis),
        }
    )
    found = found.assign_coords(band_coordinates(cut, field)).transpose(failure, axis, ...)
    found.attrs = {
        **field.attrs, "axis": axis, "failure": failure, "banded": " ".join(cut), "kept": " ".join(kept),
        "share": float(share), "failure_share": float(share if failure_share is None else failure_share),
        "limits_with_failure": str(other.attrs.get("limits_applied", "")),
    }  # fmt: skip
    found["need"].attrs = {
        "long_name": "standby tug",
        "flag_values": np.array([int(s) for s in Standby], dtype=np.int8),
        "flag_meanings": " ".join(s.name for s in Standby),
    }
    found["intact_share"].attrs = {"long_name": "smallest share passing, nothing fails", "units": "1"}
    found["failure_share"].attrs = {"long_name": "smallest share passing with the failure", "units": "1"}
    found["smallest_without"].attrs = {
        "long_name": "smallest value from which on no standby tug is needed",
        "units": field[axis].attrs.get("units", ""),
    }  # fmt: skip
    return found


def _most(counts: xr.DataArray) -> xr.DataArray:
    """Code that most cases have; 0 where there is none."""
    import xarray as xr

    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    listed = np.array([codes[str(n)] for n in counts["binding"].values], dtype=np.int16)
    most = xr.apply_ufunc(lambda place: listed[place], counts.argmax("binding"))
    codes_of: xr.DataArray = xr.where(counts.sum("binding") > 0, most, 0).astype(np.int16)
    return codes_of


def _smallest_without(need: xr.DataArray, values: xr.DataArray, axis: str) -> xr.DataArray:
    """Smallest value that is permitted without, and from which on none that is permitted needs a standby tug."""
    fine = need == int(Standby.not_needed)
    bad = (need == int(Standby.needed)) | (need == int(Standby.not_run))
    worse_above = (
        bad.isel({axis: slice(None, None, -1)}).astype(np.int8).cumsum(axis).isel({axis: slice(None, None, -1)})
    )
    return values.reset_coords(drop=True).where(fine & (worse_above == 0)).min(axis)


def without_standby(here: xr.Dataset) -> list[float]:
    """Values of the axis [its unit] with which one failure in one band asks for no standby tug, larger ones may again.

    Parameters
    ----------
    here : xarray.Dataset
        From :func:`standby_need`, of one failure and one band.
    """
    values = here[str(here.attrs["axis"])].values[here["need"].values == int(Standby.not_needed)]
    return [float(value) for value in values]


def failure_consequences(
    dataset: xr.Dataset, judged: xr.Dataset, *, failure: str = "failure", intact: str = INTACT
) -> xr.Dataset:
    """What each failure leads to, over the cases that pass while all is well.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement, a grid with `failure` among its axes.
    failure, intact : str
        Name of the axis, and its word for none.

    Returns
    -------
    xarray.Dataset
        Along `failure` (without `intact`): ``pair_count``, cases that were run
        both ways; ``intact_passing_count``, those that pass while all is well;
        ``still_passing_count`` of them with the failure;
        ``ended_count``, how they end with the failure, along ``ended``; and for
        each outcome of `CONSEQUENCES` that is there ``<name>_median`` and
        ``<name>_worst`` over them (largest; smallest of room and of time to
        contact), of the cases that have a value; ``<name>_share`` of those of
        `YES_OR_NO`. Computed.
    """
    import xarray as xr

    words = _words(judged, failure, intact)
    require(dataset, ("outcome",), "the consequence of failures")
    told = [n for n in CONSEQUENCES if n in dataset.data_vars]
    names = [o.name for o in Outcome]
    well = judged[["passes", "was_run"]].sel({failure: intact}, drop=True).compute()
    parts = []
    for word in words:
        here = judged[["passes", "was_run", "outcome"]].sel({failure: word}, drop=True).compute()
        both = well["was_run"] & here["was_run"]
        base = both & well["passes"]
        part = xr.Dataset(
            {
                "pair_count": both.sum(),
                "intact_passing_count": base.sum(),
                "still_passing_count": (base & here["passes"]).sum(),
                "ended_count": xr.DataArray(
                    [int((base & (here["outcome"] == int(o))).sum()) for o in Outcome],
                    dims="ended", coords={"ended": names},
                ),
            }
        )  # fmt: skip
        for name in told:
            values = dataset[name].sel({failure: word}, drop=True).where(base).values
            for end, value in _summary(name, values[np.isfinite(values)]).items():
                part[f"{name}_{end}"] = value
        parts.append(part)
    found = xr.concat(parts, dim=failure).assign_coords({failure: words})
    for name in told:
        unit = OUTCOMES[name].unit if name in OUTCOMES else str(dataset[name].attrs.get("units", "1"))
        for end in ("share",) if name in YES_OR_NO else ("median", "worst"):
            found[f"{name}_{end}"].attrs = {"units": unit or "1"}
    return found.assign_attrs(judged.attrs, failure=failure, consequences=" ".join(told))


def _summary(name: str, values: NDArray[np.float64]) -> dict[str, float]:
    """Share of yes, or median and worst, of the values that there are; NaN without any."""
    if name in YES_OR_NO:
        return {"share": float(values.mean()) if values.size else np.nan}
    worst = np.min if name in _SMALL_IS_BAD else np.max
    return {
        "median": float(np.median(values)) if values.size else np.nan,
        "worst": float(worst(values)) if values.size else np.nan,
    }
