"""Go, caution and no-go: limits brought down to what is decided by on the day (floor 5)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.findings.conditions import fixed_text
from toolkit.findings.display import as_sentence, axis_label, display_text, display_unit, long_name, to_display
from toolkit.findings.envelope import EnvelopeStatus
from toolkit.findings.limits import binding_short, limit_words, limits_of
from toolkit.findings.margins import check_factor
from toolkit.findings.reading import axis_values, cautions, directions, provenance
from toolkit.findings.shares import share_of_runs, shares_text

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["ABORT_LINES", "CAUTION_FACTOR", "FORECAST_FACTOR", "Card", "check_factors", "go_card", "operational_limit"]

FORECAST_FACTOR = 0.8
"""Operational limit over limit found, for what a forecast may miss; judgement of the authors, spread 0.6 to 1."""

CAUTION_FACTOR = 0.75
"""Where caution begins, over the operational limit; judgement of the authors, spread 0.5 to 0.9."""

ABORT_LINES: tuple[str, ...] = (
    "In this order: ease, stop, slack the line, let go, call the standby tug.",
    "Tug's list past a third of her deck-edge angle for more than a few seconds, or once past the limit.",
    "Line leading toward her beam with the barge gathering way: ease at once; never let the barge pass her.",
    "Power at its limit and the barge still falling off for 20 s.",
    "A drive lost, an order not answered, or mean wind beyond this card.",
)
"""When to break off; common practice, no source."""


def check_factors(forecast_factor: float, caution_factor: float) -> list[Problem]:
    """Problems of the two factors of :func:`operational_limit`."""
    return [
        *check_factor("forecast factor", forecast_factor, 1e-3, 1.0, "it lowers a limit, it does not raise it"),
        *check_factor("caution factor", caution_factor, 1e-3, 1.0, "caution begins below the limit"),
    ]


def operational_limit(
    found: xr.Dataset, *, forecast_factor: float = FORECAST_FACTOR, caution_factor: float = CAUTION_FACTOR
) -> xr.Dataset:
    """Bring limits down by an allowance for the forecast, and say from where on caution is due.

    Parameters
    ----------
    found : xarray.Dataset
        Limits from :func:`toolkit.findings.largest_passing` or
        :func:`toolkit.findings.limit_search.find_limit`, counted from zero.
    forecast_factor : float
        Operational limit over limit found, in (0, 1].
    caution_factor : float
        Where caution begins over the operational limit, in (0, 1].

    Returns
    -------
    xarray.Dataset
        `found` with ``operational`` and ``caution_from`` [unit of the limit; NaN
        where not even the smallest value passes].

    Raises
    ------
    StudyError
        If a factor is not in (0, 1].
    """
    problems = check_factors(forecast_factor, caution_factor)
    if problems:
        raise StudyError(problems)
    unit = found["limit"].attrs.get("units", "")
    lowered = found.assign(
        operational=found["limit"] * forecast_factor, caution_from=found["limit"] * (forecast_factor * caution_factor)
    )
    lowered["operational"].attrs = {"long_name": "operational limit, allowing for the forecast", "units": unit}
    lowered["caution_from"].attrs = {"long_name": "caution from here on", "units": unit}
    return lowered.assign_attrs(forecast_factor=float(forecast_factor), caution_factor=float(caution_factor))


@dataclass(frozen=True, kw_only=True)
class Card:
    """What is decided by on the day, for one job, on one page.

    Attributes
    ----------
    title, job : str
        Which job, and the conditions it holds for.
    unit : str
        Unit of the numbers in `rows`, such as ``kn``.
    axis, along : str
        Quantity that is limited, and direction (or other input) of the rows.
    places : tuple of float
        Direction or value of each row [dataset unit].
    labels : tuple of str
        Words of each row.
    go, no_go : tuple of float
        Whole units up to which it is go, and above which no-go, of each row; in
        between caution. Rounded down. Both -1 where it is never go.
    marks : tuple of str
        What to know of each row: what binds; that the limit is the end of what
        was run; that a larger value passed again.
    criteria, abort, basis : tuple of str
        Limits the job was judged by; when to break off; what it rests on.
    cautions : str
    """

    title: str
    job: str
    unit: str
    axis: str
    along: str
    places: tuple[float, ...]
    labels: tuple[str, ...]
    go: tuple[float, ...]
    no_go: tuple[float, ...]
    marks: tuple[str, ...]
    criteria: tuple[str, ...]
    abort: tuple[str, ...]
    basis: tuple[str, ...]
    cautions: str

    def words(self, row: int) -> tuple[str, str, str]:
        """Go, caution and no-go of one row in words."""
        if self.no_go[row] < 0:
            return ("-", "-", "always")
        go, top = self.go[row], self.no_go[row]
        between = f"above {go:g} to {top:g}" if top > go else "-"
        return (f"to {go:g}", between, f"above {top:g}")

    def to_markdown(self) -> str:
        """The card as Markdown."""
        lines = [f"# Go / caution / no-go: {self.title}", "", self.job, ""]
        lines.append(
            f"| {axis_label(self.along)} | go [{self.unit}] | caution [{self.unit}] | no-go [{self.unit}] | note |"
        )
        lines.append("|---|---|---|---|---|")
        for row, label in enumerate(self.labels):
            lines.append(f"| {label} | {' | '.join(self.words(row))} | {self.marks[row]} |")
        for heading, said in (
            ("Judged by", self.criteria),
            ("Break off (common practice, no source)", self.abort),
            ("Basis", self.basis),
        ):
            lines += ["", f"**{heading}**", "", *(f"- {line}" for line in said)]
        lines += ["", f"**Cautions.** {self.cautions}", ""]
        return "\n".join(lines)


def go_card(
    lowered: xr.Dataset,
    judged: xr.Dataset,
    *,
    title: str,
    along: str = "wind_from",
    conditions: xr.Dataset | None = None,
) -> Card:
    """Make a card from operational limits along one input.

    Parameters
    ----------
    lowered : xarray.Dataset
        From :func:`operational_limit`, along `along` alone.
    judged : xarray.Dataset
        The cases it rests on.
    title : str
        Which job.
    along : str
        Input of the rows.
    conditions : xarray.Dataset, optional
        Gives the inputs with one value; `judged` unless given.

    Returns
    -------
    Card
    """
    axis = str(lowered.attrs["axis"])
    here = lowered.compute().sortby(along)
    factors = (float(here.attrs["forecast_factor"]), float(here.attrs["caution_factor"]))
    go = tuple(_whole(axis, v) for v in here["caution_from"].values)
    top = tuple(_whole(axis, v) for v in here["operational"].values)
    values = axis_values(here, along)
    step = here.attrs.get("resolution")
    how = (
        f"Limits searched on the model to {_speed(axis, step)}, after a scan in steps of "
        f"{_speed(axis, here.attrs['scan_step'])}."
        if step is not None
        else "Limits are the last value of a grid that passes with all smaller ones."
    )
    return Card(
        title=title,
        job=f"Holds for: {fixed_text(judged if conditions is None else conditions)}.",
        unit=display_unit(axis),
        axis=axis,
        along=along,
        places=tuple(float(v) for v in values),
        labels=tuple(display_text(along, v).removeprefix("from ").removeprefix("to ") for v in values),
        go=go,
        no_go=top,
        marks=tuple(_mark(here.isel({along: row})) for row in range(here.sizes[along])),
        criteria=tuple(limit_words(n, v) for n, v in limits_of(judged).items()),
        abort=ABORT_LINES,
        basis=(
            f"{as_sentence(long_name(axis))}: {_what(axis)}. No-go above {factors[0]:g} times the limit found "
            f"(allowance for the forecast), caution from {factors[1]:g} of that; rounded down to whole "
            f"{display_unit(axis)}.",
            how,
            *_chance(here),
            f"Runs: {shares_text(share_of_runs(judged))}",
            directions(judged.attrs),
            provenance(judged.attrs),
            "Review date: ______________   Approved by: ______________",
        ),
        cautions=cautions(judged.attrs),
    )


def _chance(here: xr.Dataset) -> tuple[str, ...]:
    """Share of draws that a limit rests on; empty where nothing was drawn."""
    count = int(here.attrs.get("draw_count", 0))
    share = 100.0 * float(here.attrs.get("share", 1.0))
    return (f"Each limit holds in at least {share:.4g} % of {count} draws of gusts and crew.",) if count else ()


def _what(axis: str) -> str:
    return "ten-minute mean at 10 m height" if axis == "wind_speed" else "as in the study"


def _whole(axis: str, value: Any) -> float:
    """Value in whole units of the user, rounded down; -1 where there is none."""
    number = float(to_display(axis, value))
    return float(math.floor(number + 1e-9)) if math.isfinite(number) else -1.0


def _speed(axis: str, value: Any) -> str:
    return f"{float(to_display(axis, value)):.2g} {display_unit(axis)}"


def _mark(row: xr.Dataset) -> str:
    status = EnvelopeStatus(int(row["status"]))
    words = []
    if int(row["limited_by"]):
        words.append(binding_short(int(row["limited_by"])))
    if status is EnvelopeStatus.passes_throughout:
        words.append("end of what was run")
    if status is EnvelopeStatus.not_run:
        words.append("next value not run")
    if bool(row["not_monotone"]):
        words.append("passes again above")
    return ", ".join(words)
