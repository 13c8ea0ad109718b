"""The report of a consultant: the operating envelope, a card for the day, and the time that it leaves (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from toolkit.figures.box_joint import draw_box_joint
from toolkit.figures.card import draw_card
from toolkit.figures.configurations import Configuration, configurations
from toolkit.figures.operability import draw_exceedance, draw_hours, draw_months, draw_windows
from toolkit.figures.pages import draw_polar_page, draw_wind_current_page
from toolkit.figures.view import caption, default_place
from toolkit.findings import apply_limits, share_of_runs, shares_text, wind_limit
from toolkit.findings.box import box_against_joint, by_sectors, worst_direction
from toolkit.findings.conditions import idle_of, said_once
from toolkit.findings.display import display_text, long_name
from toolkit.findings.go_card import go_card, operational_limit
from toolkit.findings.joint import count_limits
from toolkit.findings.limit_tables import box_table, direction_table
from toolkit.findings.operability import operability, reading_lines
from toolkit.findings.operability.results_limit import limit_of_found
from toolkit.findings.operability.tables import basis_lines, by_direction_table, operability_table
from toolkit.findings.reading import axis_is_numeric, axis_values, bare
from toolkit.findings.tables import limits_table, wind_limit_table
from toolkit.report.content import Content, Section, begin_at, gathered, of_results, picture_of

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["consultant"]

READER = "Consultant: the operating envelope"
QUESTION = (
    "Up to which wind, from which direction and with which current, may the job go; which limit binds; and how much of "
    "the time does that leave?"
)
_COMMANDS = ("towage limits STUDY", "towage operability RESULTS --record FILE", "towage envelope RESULTS")
_POOLED = ("current_to", "draw")
_READ_BOX = (
    "Box of single limits: each read with the other at its lowest. Promised too much: share of the box that does not "
    "hold. Given away: share of what holds that lies outside the largest box that holds."
)


@dataclass(frozen=True, kw_only=True)
class _Middle:
    """One configuration, cut to wind speed and direction: every other axis at one value, or the worst over it."""

    part: Configuration
    dataset: xr.Dataset
    judged: xr.Dataset
    found: xr.Dataset
    single: xr.Dataset | None
    over: tuple[str, ...]
    words: str

    @property
    def limit(self) -> float:
        """Wind that holds from every direction [m s-1]; -1 where not even calm does."""
        value = float(self.found["limit"] if self.single is None else self.single["single_limit"])
        return -1.0 if math.isnan(value) else value

    @property
    def mean(self) -> float:
        """Mean over directions of the limit [m s-1]."""
        return self.limit if self.single is None else float(self.single["mean_limit"])


def consultant(
    dataset: xr.Dataset,
    *,
    limits: object | None = None,
    judged: xr.Dataset | None = None,
    record: xr.Dataset | None = None,
) -> Content:
    """Findings of a consultant.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results, in memory; axes cut before where one value is wanted.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the dataset.
    judged : xarray.Dataset, optional
        The same cases as judged already, instead of by `limits`.
    record : xarray.Dataset, optional
        Wind, and current, over time, from
        :func:`toolkit.findings.operability.read_record`.

    Returns
    -------
    Content
        Where wind speed is not swept on a grid, it says so in place of an answer.

    Raises
    ------
    StudyError
        If the record does not fit the limits.
    """
    judged = apply_limits(dataset, limits) if judged is None else judged
    runs = f"It rests on {shares_text(share_of_runs(bare(judged)))}"
    swept = {
        name: name in judged["passes"].dims and axis_is_numeric(judged, name) for name in ("wind_speed", "wind_from")
    }
    if not judged["passes"].size:
        return Content(reader=READER, question=QUESTION, answer=("There is no case in these results.", runs))
    if not swept["wind_speed"]:
        why = "No wind limit can be read from these results: wind speed is not swept on a grid."
        return Content(reader=READER, question=QUESTION, answer=(why, runs), commands=_COMMANDS)
    parts, left = configurations(dataset, judged, {})
    middles = sorted((_middle(part) for part in parts), key=lambda one: (-one.limit, -one.mean))
    time = _time(middles[0], record, directional=swept["wind_from"])
    return Content(
        reader=READER,
        question=QUESTION,
        answer=(
            _answer(middles, directional=swept["wind_from"]),
            *(time.paragraphs if time.tables else ()),
            f"That limit rests on {shares_text(share_of_runs(bare(middles[0].judged)))}",
            runs.replace("It rests", "The whole report rests"),
        ),
        sections=(
            _by_direction(middles, judged, left),
            _single_and_joint(parts, judged, middles),
            _card(middles[0], directional=swept["wind_from"]),
            time,
        ),
        assumptions=(
            "A wind limit is the last grid speed at which it and every smaller speed pass; nothing is read between "
            "grid speeds, and nothing beyond the last one.",
            f"Limits of one configuration are for {middles[0].words or 'the only case of its kind'}.",
        ),
        commands=_COMMANDS,
        grid=("wind_speed", "wind_from") if swept["wind_from"] else ("wind_speed",),
        begin=begin_at(middles[0].dataset),
    )


def _middle(part: Configuration) -> _Middle:
    dims = [str(dim) for dim in part.judged["passes"].dims]
    over = tuple(dim for dim in dims if dim in _POOLED)
    places: dict[str, int] = {}
    notes: list[str] = []
    idle = idle_of(part.dataset)
    for dim in dims:
        if dim in ("wind_speed", "wind_from"):
            continue
        if dim in over:
            notes.append(f"{long_name(dim)} the worst of {part.judged.sizes[dim]}")
            continue
        places[dim] = default_place(part.dataset, dim)[0]
        if dim not in idle:
            notes.append(f"{long_name(dim)} {display_text(dim, axis_values(part.dataset, dim)[places[dim]])}")
    judged = part.judged.isel(places)
    found = wind_limit(judged, over=over).compute()
    single = worst_direction(found) if "wind_from" in found["limit"].dims else None
    return _Middle(
        part=part, dataset=part.dataset.isel(places), judged=judged, found=found, single=single, over=over,
        words=said_once(", ".join(notes)),
    )  # fmt: skip


def _answer(middles: Sequence[_Middle], *, directional: bool) -> str:
    best = middles[0]
    way = f"By {best.part.words}, the best of {len(middles)} ways run, the job" if len(middles) > 1 else "The job"
    given = f" (with {best.words})" if best.words else ""
    top = max(axis_values(best.part.dataset, "wind_speed"))
    end = ", where the winds run end" if math.isclose(best.limit, top) else ""
    if not directional:
        told = "holds up to no wind at all: not even the lowest wind run passes" if best.limit < 0 else (
            f"holds up to a wind of {display_text('wind_speed', best.limit)}{end}"
        )  # fmt: skip
        return f"{way}{given} {told}."
    by = best.found["limit"]
    most = float(by.max()) if bool(by.notnull().any()) else math.nan
    if best.limit < 0:
        if math.isnan(most):
            return f"{way}{given} passes from no direction, not even in the lowest wind run."
        bearing = float(best.found["wind_from"].values[int(np.argmax(by.fillna(-1.0).values))])
        return (
            f"{way}{given} has no wind limit that holds from every direction: from some not even the lowest wind run "
            f"passes; wind {display_text('wind_from', bearing)} it holds up to {display_text('wind_speed', most)}."
        )
    if math.isclose(most, best.limit):
        return f"{way}{given} holds up to {display_text('wind_speed', best.limit)} from every direction{end}."
    worst = "" if best.single is None else display_text("wind_from", float(best.single["worst_from"]))
    holds = (
        f"up to {display_text('wind_speed', best.limit)} from every direction (least {worst}){end}"
        if best.limit > 0.0
        else f"from every direction in a calm alone (least {worst})"
    )
    return (
        f"{way}{given} holds {holds}, and up to {display_text('wind_speed', most)} from the direction that allows most."
    )


def _by_direction(middles: Sequence[_Middle], judged: xr.Dataset, left: Sequence[str]) -> Section:
    out = gathered()
    out.left_out.extend(left)
    for one in middles:
        plain = Configuration(
            words=one.part.words, suffix=one.part.suffix, dataset=one.part.dataset, judged=bare(one.part.judged)
        )
        draw_polar_page(out, plain, {})
        draw_wind_current_page(out, plain, {})
        if one.single is not None:
            title = one.part.titled(f"one limit for all directions against the limit by direction, {one.words}")
            out.table(direction_table(one.single, bare(one.judged)), "", title.rstrip(", "))
        else:
            out.table(wind_limit_table(one.found, bare(one.judged)), "", one.part.titled(f"wind limit, {one.words}"))
    return out.section("Wind limits")


def _single_and_joint(parts: Sequence[Configuration], judged: xr.Dataset, middles: Sequence[_Middle]) -> Section:
    out = gathered()
    counts = {"": count_limits(bare(judged))}
    counts |= {part.words: count_limits(bare(part.judged)) for part in parts if part.words}
    out.table(limits_table(counts, bare(judged)), "")
    told = "Each limit read on its own promises more than all of them together keep; the table counts by how much."
    part = middles[0].part
    if "current_speed" not in part.judged["passes"].dims or not axis_is_numeric(part.judged, "current_speed"):
        more = "Current speed is not swept in these results: wind is not set against current here."
        return out.section("Single limits against the joint one", (told, more))
    dims = [str(dim) for dim in part.judged["passes"].dims]
    over = [dim for dim in dims if dim in (*_POOLED, "wind_from")]
    kept = ("wind_speed", "current_speed", *over)
    cut = bare(part.judged).isel({dim: default_place(part.dataset, dim)[0] for dim in dims if dim not in kept})
    boxes = box_against_joint(wind_limit(cut, over=over).compute())
    title = part.titled("single limits of wind and current against what holds jointly")
    out.sheet(
        draw_box_joint({"": boxes}, title=title, caption=caption(part.dataset, cut, lead=(_READ_BOX,))), "", title
    )
    out.table(box_table(boxes, cut), "")
    return out.section("Single limits against the joint one", (told,))


def _card(best: _Middle, *, directional: bool) -> Section:
    heading = "Go / caution / no-go card"
    if not directional or best.over:
        why = "Wind direction is not swept" if not directional else "Directions of the current or draws are pooled"
        return Section(heading=heading, paragraphs=(f"{why} in these results: no card by direction is drawn.",))
    count = min(8, best.found.sizes["wind_from"])
    lowered = operational_limit(by_sectors(best.found, count))
    title = f"{of_results(best.dataset)}{f': {best.part.words}' if best.part.words else ''}"
    card = go_card(lowered, bare(best.judged), title=title, conditions=best.dataset)
    words = (*card.criteria, *card.abort, *card.basis, card.cautions)
    picture = picture_of(draw_card(card), f"Card for the day: {title}", words)
    return Section(heading=heading, paragraphs=(f"For {best.words}." if best.words else "",), pictures=(picture,))


def _time(best: _Middle, record: xr.Dataset | None, *, directional: bool) -> Section:
    heading = "How much of the time that is"
    if record is None:
        told = "No record of the wind was given (--record FILE): nothing is said of how often these limits are kept."
        return Section(heading=heading, paragraphs=(told,))
    if not directional:
        return Section(
            heading=heading, paragraphs=("Wind direction is not swept: a record cannot be held against it.",)
        )
    limit = limit_of_found(best.found, best.judged, configuration=best.words or "its only configuration")
    found = operability(record, limit)
    joint = 100.0 * float(found.availability["share"].sel(rule="joint"))
    box = 100.0 * float(found.availability["share"].sel(rule="box"))
    out = gathered()
    for draw, title in ((draw_exceedance, "Time with more wind than a speed, and the limits"),
                        (draw_months, "Availability by month, box against joint"),
                        (draw_hours, "Availability by hour of day and month, joint limit")):  # fmt: skip
        out.sheet(draw(found), "", title)
    if found.windows is not None:
        out.sheet(draw_windows(found), "", "Starts that leave time for the job, and year by year")
    out.table(operability_table(found), "")
    out.table(by_direction_table(found), "")
    told = (
        f"Of the time known in the record, the limit by direction can be kept in {joint:.1f} %, one limit for all "
        f"directions in {box:.1f} %. No allowance for the forecast is taken off here."
    )
    return out.section(heading, (told,), [(0, line) for line in (*basis_lines(found), *reading_lines(record))])
