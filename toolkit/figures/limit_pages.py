"""Limits of a study, searched for on the model, written into a folder with a card for the day (floor 6)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.figures.box_joint import draw_box_joint
from toolkit.figures.card import save_card
from toolkit.figures.folder import Folder
from toolkit.figures.limit_job import BY_CHANCE, Job, LimitOptions, drawn_by_chance
from toolkit.figures.passing_share import draw_passing_share
from toolkit.figures.polar import draw_polar
from toolkit.figures.wind_current import draw_wind_current
from toolkit.findings.base_case import base_case, spread_values
from toolkit.findings.box import box_against_joint, by_sectors, worst_direction
from toolkit.findings.display import display_text
from toolkit.findings.go_card import go_card, operational_limit
from toolkit.findings.limit_search import ALL_LIMITS, NO_LIMIT, Evaluate, LimitSearch
from toolkit.findings.limit_tables import box_table, direction_table, draws_table
from toolkit.findings.limits import limit_words
from toolkit.findings.proportions import shares_of_scan
from toolkit.findings.reading import cautions, directions, provenance
from toolkit.findings.tables import wind_limit_table
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["LimitOptions", "write_limits"]

END = "end of what was searched"
_MOST_BARGES = 6
_MOST_LINES = 6
_READ_POLAR = (
    "Each sector reaches to the last wind that passed on the model; the ring is one limit for all directions, that of "
    "the worst. The ring in the middle is calm."
)
_READ_CURVE = (
    "Each mark is the last wind that passed on the model from every direction run; lines only join the marks, which "
    "stand a little aside of each other."
)
_READ_BOX = (
    "Between two currents the smaller limit holds. Box of single limits: each read with the other at its lowest. Areas "
    "from no wind and the lowest current. Promised too much: share of the box of single limits that does not hold. "
    "Given away: share of what holds that lies outside the largest box that holds."
)
_READ_DRAWS = (
    "A draw passes where it passes from every direction run. Bars and bands: {} % interval of the share (Wilson), of "
    "the draws alone. Lines only join the marks."
)


def write_limits(
    study: Study,
    folder: str | Path,
    evaluate: Evaluate,
    *,
    options: LimitOptions | None = None,
    say: Callable[[str], object] = lambda words: None,
) -> tuple[list[Path], dict[str, xr.Dataset]]:
    """Search the wind limits of a study on the model, and write figures, tables and cards.

    Parameters
    ----------
    study : Study
        Gives the base case, the barges, the limits and the choices.
    folder : path
        Where to write; made if it is not there, files of the same name replaced.
    evaluate : callable
        Table of cases to dataset, such as `toolkit.evaluate`.
    options : LimitOptions, optional
    say : callable
        Called with a line of progress for every search.

    Returns
    -------
    tuple
        Files written, and the datasets found by the name of their search. For
        each combination of the choices swept (at most six): limit by direction
        and barge with one limit for all, limit by displacement for each limit
        alone and all together, limit over current at several depths with box
        against joint, share of draws that pass (where draws are asked for), and
        a card of one page for the barge of the base case.

    Raises
    ------
    StudyError
        With every problem of the options; whatever `evaluate` raises.
    """
    chosen = options or LimitOptions()
    chosen.check()
    base = base_case(study, chosen.at)
    if chosen.draws and not drawn_by_chance(base.inputs):
        what = f"draws = {chosen.draws}, and nothing in the study is drawn by chance"
        remedy = f"Give {' or '.join(BY_CHANCE)} in the study or with --at"
        raise StudyError([Problem(where="draws", what=what, remedy=remedy)])
    out = Folder(path=Path(folder))
    found: dict[str, xr.Dataset] = {}
    last: LimitSearch | None = None
    for number in range(len(base.sets)):
        job = Job(study=study, out=out, evaluate=evaluate, options=chosen, base=base, number=number, say=say,
                   files=found)  # fmt: skip
        last = _by_direction(job)
        _by_displacement(job)
        _over_current(job)
        if chosen.draws:
            _by_chance(job)
    assert last is not None
    out.index(
        f"Wind limits: {study.title}",
        (
            f"Limits: {last.judged.attrs['limits_applied']}.",
            *base.notes,
            f"Wind searched to {display_text('wind_speed', chosen.top)}.",
            directions(last.judged.attrs),
            provenance(last.judged.attrs),
            cautions(last.judged.attrs),
        ),
    )
    return out.paths, found


def _compass(count: int) -> list[float]:
    return [float(v) for v in np.arange(count) * 360.0 / count]


def _barges(job: Job) -> list[float]:
    """Displacements to search: those of the study, or the one that was chosen."""
    own = float(job.inputs["displacement"])
    return [own] if "displacement" in job.options.at else list(spread_values(job.study, "displacement", _MOST_BARGES))


def _by_direction(job: Job) -> LimitSearch:
    """Limit by direction for each barge, one limit for all directions, and the card."""
    barges = _barges(job)
    own = min(barges, key=lambda mass: abs(mass - float(job.inputs["displacement"])))
    search = job.search("limit_by_direction", {"displacement": barges, "wind_from": _compass(job.options.directions)})
    found = search.found
    single = worst_direction(found)
    labels = {display_text("displacement", mass): place for place, mass in enumerate(barges)}
    title = job.titled("wind limit by the direction wind comes from, by barge displacement")
    job.out.sheet(
        draw_polar(
            {label: found.isel(displacement=place) for label, place in labels.items()},
            top=job.options.top, title=title,
            caption=job.caption(search, _READ_POLAR, ("displacement", "wind_from")), end=END,
            rings={label: float(single["single_limit"][place]) for label, place in labels.items()},
        ),
        job.named("limit_by_direction"), title,
    )  # fmt: skip
    job.out.table(wind_limit_table(found, search.judged), job.named("limit_by_direction"), title)
    job.out.table(direction_table(single, search.judged), job.named("one_limit_for_all_directions"),
                  job.titled("one limit for all directions against the limit by direction"))  # fmt: skip
    masses = np.broadcast_to(search.judged["displacement"].values, search.judged.sizes["case"])
    judged = search.judged.isel(case=np.flatnonzero(np.isclose(masses, own)))
    lowered = operational_limit(
        by_sectors(found.isel(displacement=barges.index(own)), 8),
        forecast_factor=job.options.forecast_factor, caution_factor=job.options.caution_factor,
    )  # fmt: skip
    conditions = search.dataset.drop_vars("displacement").assign_coords(displacement=own)
    words = f"{job.study.title}: {job.words}, barge of {display_text('displacement', own)}"
    card = go_card(lowered, judged, title=words, conditions=conditions)
    job.out.paths.extend(save_card(card, job.out.path, job.named("card")))
    job.out.entries.insert(0, (f"{job.named('card')}.pdf", job.titled("go / caution / no-go card")))
    return search


def _by_displacement(job: Job) -> None:
    """Limit from the worst direction over displacement: each limit alone, and all together."""
    barges = _barges(job)
    if len(barges) < 2:
        return
    compass = _compass(max(job.options.directions // 2, 1))
    search = job.search(
        "limit_by_displacement", {"displacement": barges, "wind_from": compass}, over=("wind_from",), each=True
    )
    found, limits = search.found, job.study.limits.in_force()
    told = {ALL_LIMITS: "all limits together", NO_LIMIT: "completes, no limit applied"}
    words = {c: told.get(c) or limit_words(c, limits[c]) for c in map(str, found["criterion"].values)}
    free = found["limit"].sel(criterion=NO_LIMIT).fillna(-1.0)
    idle = [c for c in words if c not in told and bool((found["limit"].sel(criterion=c).fillna(-1.0) == free).all())]
    shown = [c for c in (ALL_LIMITS, *(c for c in words if c not in told and c not in idle), NO_LIMIT)]
    title = job.titled("wind limit from every direction over displacement: each limit alone, and all together")
    lead = _READ_CURVE + (
        f" Alone no tighter than completing at all: {', '.join(words[c] for c in idle)}." if idle else ""
    )
    job.out.sheet(
        draw_wind_current(
            {words[c]: found.sel(criterion=c) for c in shown[:_MOST_LINES]}, along="displacement", top=job.options.top,
            title=title, caption=job.caption(search, lead, ("displacement", "wind_from")), end=END,
        ),
        job.named("limit_by_displacement"), title,
    )  # fmt: skip
    job.out.table(wind_limit_table(found, search.judged), job.named("limit_by_displacement"), title)


def _over_current(job: Job) -> None:
    """Limit over current at several depths, and the box of single limits against the joint one."""
    if len(job.options.currents) < 2:
        return
    inputs = {k: v for k, v in job.inputs.items() if k != "current_speed"}
    compass = _compass(max(job.options.directions // 2, 1))
    depths, missing = _depths(job, inputs)
    search = job.search(
        "limit_over_current",
        {"water_depth": list(depths.values()), "current_speed": list(job.options.currents), "wind_from": compass},
        over=("wind_from",),
    )
    labels = list(depths)
    by_depth = {label: search.found.isel(water_depth=place) for place, label in enumerate(labels)}
    leave = ("current_speed", "water_depth", "wind_from")
    by = f"barge of {display_text('displacement', inputs['displacement'])}"
    title = job.titled(f"{by}: wind limit from every direction over current, by water depth")
    job.out.sheet(
        draw_wind_current(by_depth, top=job.options.top, title=title, end=END,
                          caption=job.caption(search, _READ_CURVE + missing, leave)),
        job.named("limit_over_current"), title,
    )  # fmt: skip
    job.out.table(wind_limit_table(search.found, search.judged), job.named("limit_over_current"), title)
    boxes = box_against_joint(search.found)
    title = job.titled(f"{by}: single limits of wind and current against what holds jointly")
    job.out.sheet(
        draw_box_joint({label: boxes.isel(water_depth=place) for place, label in enumerate(labels)}, title=title,
                       caption=job.caption(search, _READ_BOX + missing, leave)),
        job.named("box_against_joint"), title,
    )  # fmt: skip
    job.out.table(box_table(boxes, search.judged), job.named("box_against_joint"), title)


def _depths(job: Job, inputs: Mapping[str, Any]) -> tuple[dict[str, float], str]:
    """Depths of water to search, by their words, and what is to be said of those at which somebody is aground."""
    own = float(inputs["water_depth"])
    calm = {**inputs, "wind_speed": 0.0, "current_speed": 0.0}
    draught = own / float(job.evaluate(calm)["depth_ratio"].values[0])
    depths = sorted({own, *(draught * ratio for ratio in job.options.depth_ratios)})
    asked = {f"{depth:.3g} m ({depth / draught:.2g} of draught)": depth for depth in depths}
    ends = job.evaluate({**calm, "water_depth": list(asked.values())})["outcome"].values
    afloat = {words: depth for (words, depth), end in zip(asked.items(), ends, strict=True) if end != Outcome.aground}
    aground = [words for words in asked if words not in afloat]
    job.out.left_out.extend(
        job.titled(f"limit over current: {words} left out, somebody is aground") for words in aground
    )
    return afloat or asked, f" Left out, tug or barge aground: {'; '.join(aground)}." if afloat and aground else ""


def _by_chance(job: Job) -> None:
    """Share of draws that pass over wind, and the wind up to which enough of them do."""
    compass = _compass(max(job.options.directions // 2, 1))
    search = job.search("share_of_draws", {"wind_from": compass}, over=("wind_from",))
    shares = shares_of_scan(search.found, job.options.draws)
    title = job.titled("share of draws of gusts and crew that pass over wind, from every direction")
    lead = _READ_DRAWS.format(f"{100.0 * float(shares.attrs['confidence']):g}")
    job.out.sheet(
        draw_passing_share({"": shares}, title=title, wanted=job.options.share, limit=float(search.found["limit"]),
                           caption=job.caption(search, lead, ("wind_from",))),
        job.named("share_of_draws"), title,
    )  # fmt: skip
    job.out.table(draws_table(shares, search.found, search.judged), job.named("share_of_draws"))
