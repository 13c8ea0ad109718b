"""Operability in one call: a record held against a limit, in every way that the record allows (floor 5)."""

from __future__ import annotations

from dataclasses import dataclass

import xarray as xr

from toolkit.findings.operability.climate import availability, availability_by_direction
from toolkit.findings.operability.limit import lessened
from toolkit.findings.operability.spells import events, windows
from toolkit.findings.operability.workable import workable_time
from toolkit.findings.operability.years import yearly

__all__ = ["CALM_HOURS", "JOB_HOURS", "Operability", "operability"]

JOB_HOURS = 3.0
"""Length of a job unless one is given: make fast, swing, berth and let go; a judgement."""

CALM_HOURS = 4.0
"""Calms shorter than this do not end an event of exceedance unless another length is given; common practice."""


@dataclass(frozen=True, kw_only=True)
class Operability:
    """What a record says of a limit.

    Attributes
    ----------
    record, limit, held : xarray.Dataset
        The record; the operational limit, lessened; and the one held against the other.
    availability, by_direction : xarray.Dataset
        Shares of time.
    events, single_events, windows, years : xarray.Dataset or None
        Events with short calms dropped and as they come; windows; years. None
        for a typical year, of which they cannot be told.
    notes : tuple of str
        How limit and record fit together: gusts, forecast, current.
    """

    record: xr.Dataset
    limit: xr.Dataset
    held: xr.Dataset
    availability: xr.Dataset
    by_direction: xr.Dataset
    events: xr.Dataset | None
    single_events: xr.Dataset | None
    windows: xr.Dataset | None
    years: xr.Dataset | None
    notes: tuple[str, ...]


def operability(
    record: xr.Dataset,
    limit: xr.Dataset,
    *,
    forecast_factor: float = 1.0,
    gust_factor: float | None = None,
    job_hours: float = JOB_HOURS,
    calm_hours: float = CALM_HOURS,
) -> Operability:
    """Hold a record against a limit and find availability, events, windows and years.

    Parameters
    ----------
    record : xarray.Dataset
        From :func:`toolkit.findings.operability.read_record` or
        :func:`toolkit.findings.operability.invented_record`.
    limit : xarray.Dataset
        From :func:`toolkit.findings.operability.limit_table` or
        :func:`toolkit.findings.operability.limit_of_results`.
    forecast_factor : float
        Forecast allowance: operational limit over limit [1].
    gust_factor : float, optional
        Gust over mean in the record. By default that which the record states,
        for limits that rest on runs without gusts in time; else none.
    job_hours, calm_hours : float
        Length of the job; calms shorter than this do not end an event [hour].

    Returns
    -------
    Operability
        Everything; for a typical year without events, windows and years.

    Raises
    ------
    StudyError
        If a factor or a length is not legal, or the limit hangs on a current
        that the record does not have.
    """
    stated = record.attrs.get("gust_factor")
    in_runs = str(limit.attrs.get("gusts_in_runs", "False")) == "True"
    gusts = gust_factor
    if gusts is None and stated is not None and not in_runs and "rests_on" in limit.attrs:
        gusts = float(stated)
    lower = lessened(limit, forecast_factor=forecast_factor, gust_factor=gusts)
    held = workable_time(record, lower)
    spliced = record.attrs["kind"] == "typical_year"
    return Operability(
        record=record,
        limit=lower,
        held=held,
        availability=availability(held),
        by_direction=availability_by_direction(held, lower["limit"]["wind_from"].values),
        events=None if spliced else events(held, calm_hours=calm_hours),
        single_events=None if spliced else events(held),
        windows=None if spliced else windows(held, job_hours=job_hours),
        years=None if spliced else yearly(held),
        notes=_notes(record, limit, lower, forecast_factor, gusts, in_runs=in_runs),
    )


def _notes(
    record: xr.Dataset, limit: xr.Dataset, lower: xr.Dataset, forecast: float, gusts: float | None, *, in_runs: bool
) -> tuple[str, ...]:
    notes = []
    if gusts is not None:
        ran = float(limit.attrs["gust_factor"])
        notes.append(f"Gusts: the limit on the mean wind is that of the runs times {ran:g} / {gusts:g}, gust factor "
                     "of the runs over that of the record")  # fmt: skip
        if in_runs:
            notes.append("The runs had gusts in time as well: gusts are counted twice")
    elif "rests_on" not in limit.attrs:
        notes.append("The limit as given is held against the mean wind: gusts are allowed for only if they are in it")
    elif in_runs:
        notes.append("Gusts are in the runs; the limit is one on the mean wind")
    else:
        notes.append("No gust factor is stated: the limit of a steady wind is held against the mean wind, and gusts "
                     "above the mean are not allowed for")  # fmt: skip
    if forecast != 1.0:
        notes.append(f"Forecast allowance: operational limit = limit times {forecast:g}")
    dims = lower["limit"].dims
    ran_current = str(limit.attrs.get("ran_current", ""))
    if "current_speed" in dims:
        lowest = float(lower["limit"]["current_speed"].min())
        notes.append("The limit is read at the current of the record: the least of the neighbouring currents run"
                     + ("; currents below the lowest run are held against that" if lowest > 0 else ""))  # fmt: skip
    elif "current_speed" in record:
        notes.append("The current of the record is not used: " + (f"the runs have a current of {ran_current}"
                     if ran_current else "the limit does not hang on the current"))  # fmt: skip
    elif ran_current:
        notes.append(f"The runs have a current of {ran_current}; the record says nothing of it")
    return tuple(notes)
