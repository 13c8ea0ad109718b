"""Tables of rules held against the cases, and of standby tugs (floor 5)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.display import axis_label, display_text, display_unit, long_name, to_display
from toolkit.findings.limits import BINDING_MEANINGS, binding_words
from toolkit.findings.reading import axis_values
from toolkit.findings.standby import YES_OR_NO, Standby, without_standby
from toolkit.findings.table import Cell, Table, notes_on

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["back_test_lines", "back_test_table", "consequences_table", "standby_lines", "standby_table"]

_KINDS = ("right_permitted", "too_lax", "too_strict", "right_refused")


def back_test_table(tested: xr.Dataset, judged: xr.Dataset) -> Table:
    """How often each rule is right, too lax and too strict: in all, and by value of one input.

    Parameters
    ----------
    tested : xarray.Dataset
        From :func:`toolkit.findings.rule_test.back_test_rules`.
    judged : xarray.Dataset
        The judged cases.
    """
    by = str(tested.attrs["by"])
    rows: list[tuple[Cell, ...]] = []
    for name in tested["rule"].values:
        here = tested.sel(rule=name)
        rows.append(_counted(str(name), "all", here.sum(by) if by else here))
        for place, value in enumerate(axis_values(tested, by) if by else ()):
            rows.append(_counted(str(name), f"{long_name(by)} {display_text(by, value)}", here.isel({by: place})))
    share, pooled = float(tested.attrs["share"]), str(tested.attrs["pooled"]).split()
    behind = int(np.max(tested["case_count"].values))
    told = (
        f"A decision is one tug, barge and wind; it passes where at least {100.0 * share:.4g} % of the {behind} cases "
        f"behind it do ({', '.join(map(long_name, pooled))})."
        if pooled
        else "Every case is a decision."
    )
    return Table(
        title="Rules against the simulated cases: too lax, too strict",
        header=(
            "rule", "part", "decisions", "right: permitted, passes [%]", "too lax: permitted, does not pass [%]",
            "too strict: not permitted, passes [%]", "right: not permitted, does not pass [%]",
            "too lax most often for", "left open",
        ),
        rows=tuple(rows),
        notes=notes_on(judged, told, "Left open: decisions that hang on cases not run; they are in no share."),
    )  # fmt: skip


def _counted(rule: str, part: str, here: xr.Dataset) -> tuple[Cell, ...]:
    number = int(here["decision_count"])
    shares = [100.0 * int(here[kind]) / number if number else math.nan for kind in _KINDS]
    return (rule, part, number, *shares, _first_reason(here["lax_reason_count"]), int(here["open_count"]))


def _first_reason(counts: xr.DataArray) -> str:
    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    numbers = counts.values
    if not numbers.max(initial=0):
        return ""
    return binding_words(codes[str(counts["binding"].values[int(np.argmax(numbers))])])


def back_test_lines(tested: xr.Dataset) -> tuple[str, ...]:
    """One sentence a rule: how often it is too lax and too strict."""
    by = str(tested.attrs["by"])
    lines = []
    for name in tested["rule"].values:
        here = tested.sel(rule=name)
        here = here.sum(by) if by else here
        number = int(here["decision_count"])
        if not number:
            lines.append(f"{name}: no decision to hold it against.")
            continue
        permitted = int(here["right_permitted"]) + int(here["too_lax"])
        lax, strict = int(here["too_lax"]), int(here["too_strict"])
        of = f" ({100.0 * lax / permitted:.0f} % of what it permits)" if permitted else ""
        reason = _first_reason(here["lax_reason_count"])
        lines.append(
            f"{name}: of {number:,} decisions (tug, barge, wind) it is too lax in {lax:,}{of}"
            f"{f', most often for {reason}' if reason else ''}, and too strict in {strict:,}."
        )
    return tuple(lines)


def standby_lines(need: xr.Dataset) -> tuple[str, ...]:
    """One line a failure and row of bands: from which pull on no standby tug is needed.

    Parameters
    ----------
    need : xarray.Dataset
        From :func:`toolkit.findings.standby.standby_need`.

    Returns
    -------
    tuple of str
        Neighbouring bands with the same answer are named together; a failure
        with one answer everywhere is one line.
    """
    axis, failure = str(need.attrs["axis"]), str(need.attrs["failure"])
    dims = [str(d) for d in need["smallest_without"].dims if d != failure]
    rows, last = dims[:-1], dims[-1:]
    lines = []
    for word in need[failure].values:
        of_failure = need.sel({failure: word})
        told = []
        for place in np.ndindex(*(need.sizes[d] for d in rows)):
            row = of_failure.isel(dict(zip(rows, (int(i) for i in place), strict=True)))
            where = ", ".join(f"{_short_name(d)}{str(row[d].item()).replace('_', ' ')}" for d in rows)
            told.append((where, _along(row, axis, last)))
        answers = {said for _, said in told}
        if len(answers) == 1 and ";" not in next(iter(answers)):
            told = [("everywhere", next(iter(answers)).split(": ", 1)[-1])]
        lines += [f"{str(word).replace('_', ' ')}, {where or 'everywhere'}: {said}." for where, said in told]
    return tuple(lines)


def _along(row: xr.Dataset, axis: str, last: list[str]) -> str:
    """Answers along the last bands, the same ones in a row named together."""
    if not last:
        return _need_words(row, axis)
    (dim,) = last
    groups: list[tuple[list[str], str]] = []
    for place in range(row.sizes[dim]):
        here = row.isel({dim: place})
        said = _need_words(here, axis)
        if not groups or groups[-1][1] != said:
            groups.append(([], said))
        groups[-1][0].append(str(here[dim].item()).replace("_", " "))
    if len(groups) == 1:
        return f"any {long_name(dim.removesuffix('_band'))} run: {groups[0][1]}"
    return "; ".join(f"{_short_name(dim)}{', '.join(labels)}: {said}" for labels, said in groups)


def _short_name(dim: str) -> str:
    return f"{long_name(dim.removesuffix('_band'))} " if dim.endswith("_band") else ""


def _need_words(here: xr.Dataset, axis: str) -> str:
    """What holds in one band with one failure."""
    kinds = {Standby(int(k)) for k in np.unique(here["need"].values)}
    if kinds <= {Standby.not_permitted}:
        return "not permitted even with all well"
    if Standby.not_run in kinds and not kinds & {Standby.needed, Standby.not_needed}:
        return "not decided, cases were not run"
    if Standby.needed not in kinds and Standby.not_run not in kinds:
        return "no standby tug needed"
    limit = float(here["smallest_without"])
    if math.isnan(limit):
        free = f"{long_name(axis)} {', '.join(display_text(axis, value) for value in without_standby(here))}"
        if Standby.needed not in kinds:
            return f"no standby tug needed with {free}, not decided with larger ones"
        so_far = " as far as cases were run" if Standby.not_run in kinds else ""
        if Standby.not_needed in kinds:
            return f"a standby tug needed{so_far}, save with {free}"
        return f"a standby tug needed with every tug that may do the job{so_far}"
    return f"a standby tug needed unless {long_name(axis)} is at least {display_text(axis, limit)}"


def standby_table(need: xr.Dataset, judged: xr.Dataset) -> Table:
    """One row a failure, tug and band: passing shares with all well and with the failure, and what follows.

    Parameters
    ----------
    need : xarray.Dataset
        From :func:`toolkit.findings.standby.standby_need`.
    judged : xarray.Dataset
        The judged cases.
    """
    axis = str(need.attrs["axis"])
    dims = [str(d) for d in need["need"].dims]
    rows: list[tuple[Cell, ...]] = []
    for place in np.ndindex(*(need.sizes[d] for d in dims)):
        here = need.isel(dict(zip(dims, (int(i) for i in place), strict=True)))
        keys: list[Cell] = [
            float(to_display(d, here[d].item())) if d == axis else str(here[d].item()).replace("_", " ") for d in dims
        ]
        code = int(here["binds"])
        rows.append(
            (
                *keys, 100.0 * float(here["intact_share"]), 100.0 * float(here["failure_share"]),
                Standby(int(here["need"])).name.replace("_", " "), binding_words(code) if code else "",
            )
        )  # fmt: skip
    well, with_it = (100.0 * float(need.attrs[name]) for name in ("share", "failure_share"))
    return Table(
        title="Standby tug: the job with all well and with a failure",
        header=(
            *(axis_label(d) if d == axis else long_name(d.removesuffix("_band")) for d in dims),
            "least share passing, all well [%]", "least share passing with the failure [%]", "standby tug",
            "with the failure binds",
        ),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            f"Needed: at least {well:.4g} % of the cases pass in every case of the band with all well, "
            f"and fewer than {with_it:.4g} % with the failure. Not permitted: they do not pass even with all well.",
            f"Limits with a failure: {need.attrs['limits_with_failure']}.",
        ),
    )  # fmt: skip


def _ends(name: str) -> tuple[str, ...]:
    """What is told of one consequence."""
    return ("share",) if name in YES_OR_NO else ("median", "worst")


def consequences_table(found: xr.Dataset, judged: xr.Dataset) -> Table:
    """What each failure leads to, over the cases that pass while all is well.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.standby.failure_consequences`.
    judged : xarray.Dataset
        The judged cases.
    """
    failure = str(found.attrs["failure"])
    told = str(found.attrs["consequences"]).split()
    rows: list[tuple[Cell, ...]] = []
    for word in found[failure].values:
        here = found.sel({failure: word})
        base = int(here["intact_passing_count"])
        ends = here["ended_count"]
        ranked = sorted(((int(ends.sel(ended=e)), str(e)) for e in ends["ended"].values), reverse=True)
        said = ", ".join(f"{e.replace('_', ' ')} {n:,}" for n, e in ranked[:3] if n)
        values = [
            100.0 * float(here[f"{n}_share"]) if end == "share" else float(to_display(n, here[f"{n}_{end}"].item()))
            for n in told
            for end in _ends(n)
        ]
        still = 100.0 * int(here["still_passing_count"]) / base if base else math.nan
        rows.append((str(word).replace("_", " "), int(here["pair_count"]), base, still, said, *values))
    columns = []
    for name in told:
        unit = "%" if name in YES_OR_NO else display_unit(name)
        columns += [f"{long_name(name)}, {end}{f' [{unit}]' if unit else ''}" for end in _ends(name)]
    return Table(
        title="What failures lead to",
        header=(failure, "cases run both ways", "pass with all well", "of these still pass [%]", "of these end as",
                *columns),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            "Values with the failure, over the cases that pass while all is well and have a value; worst is the "
            "largest, of room and of time to contact the smallest.",
        ),
    )  # fmt: skip
