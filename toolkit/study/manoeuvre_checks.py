"""Checks of what single manoeuvres are given: times against the time limit, way at the start, a berth that is drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem
from toolkit.quantities import INPUTS
from toolkit.quantities.manoeuvres import FACTS, idle_inputs
from toolkit.quantities.units import format_value
from toolkit.study.combinations import combinations

if TYPE_CHECKING:
    from toolkit.study.study import Study

__all__ = ["berth_warnings", "duration_problems", "duration_warnings", "target_warnings", "way_warnings"]

WITH_WAY = ("tow_ahead", "check_way")
"""Manoeuvres that begin with the way that start_speed says."""
AT_A_BERTH = ("side_push", "hold")
"""Manoeuvres with a face of a berth."""
FACE_INPUTS = (
    "displacement", "loading", "barge_beam", "barge_length", "manoeuvre", "side_way", "turn", "berth_gap",
    "initial_heading", "start_north", "start_east",
)  # fmt: skip
"""Inputs that decide where the face lies."""
MOST_FACES = 500
"""Faces that are looked at."""
FACE_MARGIN = 1.0
"""Distance of a drawn berth off the face from which the two disagree [m]; judgement, spread 0.5 to 2."""

Mask = NDArray[np.bool_]


def _is(columns: dict[str, NDArray[np.float64]], manoeuvre: str) -> Mask:
    return np.asarray(columns["manoeuvre"] == INPUTS["manoeuvre"].choices.index(manoeuvre))


def _too_long(study: Study) -> list[tuple[str, str, Mask, Mask, dict[str, NDArray[np.float64]], float]]:
    """Times that have to pass within the time limit: name, what comes on top, cases concerned, cases without enough."""
    from toolkit.motion.manoeuvres.alone import SETTLED_TIME
    from toolkit.motion.manoeuvres.hold import TAKE_OVER_TIME

    found = []
    for manoeuvre, name, more, words in (
        ("hold", "hold_time", TAKE_OVER_TIME, f"and {TAKE_OVER_TIME:g} s to take the weight"),
        ("shift", "make_fast_time", SETTLED_TIME, f"and {SETTLED_TIME:g} s in place"),
    ):
        columns = combinations(study, ["manoeuvre", name, "time_limit"])
        concerned = _is(columns, manoeuvre)
        short = concerned & (columns[name] + more > columns["time_limit"] * (1.0 + 1e-9))
        if short.any():
            found.append((name, words, concerned, short, columns, more))
    return found


def duration_problems(study: Study) -> list[Problem]:
    """Times to hold or to make fast for which no case has the time; as for `toolkit.study.checks.study_problems`."""
    problems: list[Problem] = []
    for name, words, concerned, short, columns, more in [] if study.legs else _too_long(study):
        if not short[concerned].all():
            continue
        least = int(np.argmin(np.where(short, columns[name] - columns["time_limit"], np.inf)))
        time, limit = float(columns[name][least]), float(columns["time_limit"][least])
        shown, of_limit = format_value(INPUTS[name], time), format_value(INPUTS["time_limit"], limit)
        problems.append(
            Problem(where=f"{study.source}: {INPUTS[name].section}.{name}",
                    what=f"{name} = {shown} {words} is longer than time_limit = {of_limit}",
                    why="every such case would end as timed_out",
                    remedy=f"Write time_limit = '{np.ceil((time + more) / 60.0):g} min' or more, or a shorter {name}")
        )  # fmt: skip
    return problems


def duration_warnings(study: Study) -> list[str]:
    """Cases that have not the time to hold or to make fast, in sentences."""
    from toolkit.study.legs import leg_study

    parts = [leg_study(study, number) for number in range(1, len(study.legs) + 1)] or [study]
    found = []
    for number, part in enumerate(parts, start=1):
        leg = f"Leg {number}: in" if study.legs else "In"
        for name, words, _, short, _, _ in _too_long(part):
            share = f"{max(1.0, 100.0 * float(np.mean(short))):.0f} percent"
            found.append(f"{leg} {share} of the cases {name} {words} is longer than time_limit: they end `timed_out`.")
    return found


def target_warnings(study: Study) -> list[str]:
    """Angles to turn that a heading to turn to puts aside, in sentences."""
    from toolkit.study.legs import leg_study

    parts = [leg_study(study, number) for number in range(1, len(study.legs) + 1)] or [study]
    found = []
    for number, part in enumerate(parts, start=1):
        columns = combinations(part, ["manoeuvre", "target_angle", "target_heading"])
        swings = np.isin(columns["manoeuvre"], [code for code, word in enumerate(FACTS) if FACTS[word].swings])
        heading = swings & np.isfinite(columns["target_heading"])
        if (heading & (columns["target_angle"] != INPUTS["target_angle"].default)).any():
            share = f"{max(1.0, 100.0 * float(np.mean(heading))):.0f} percent"
            leg = f"Leg {number}: target_angle" if study.legs else "target_angle"
            found.append(f"{leg} is not used where target_heading is given, which is in {share} of the cases.")
    return found


def way_warnings(study: Study) -> list[str]:
    """Way at the start that a manoeuvre does not begin with, in a sentence; of a job its first leg."""
    columns = combinations(study, ["manoeuvre", "start_speed"])
    choices = INPUTS["manoeuvre"].choices
    given = np.unique(columns["manoeuvre"][columns["start_speed"] > 0.0]).astype(int)
    idle = [choices[code] for code in given if choices[code] not in WITH_WAY]
    if study.axis("start_speed") is not None:  # what is known to be unused is told of a swept input anyway
        idle = [word for word in idle if "start_speed" not in idle_inputs(word)]
    if not idle:
        return []
    words = " and ".join((", ".join(idle[:-1]), idle[-1])) if len(idle) > 1 else idle[0]
    return [
        f"start_speed has no effect where manoeuvre is {words}: only {' and '.join(WITH_WAY)} begin with way on, "
        "the others as `start` says."
    ]


def berth_warnings(study: Study) -> list[str]:
    """A berth drawn elsewhere than where the barge comes to one, in a sentence; of a job its first leg."""
    if study.basin is None or not study.basin.berth:
        return []
    from toolkit.motion.layout import PARAMETER_ROW
    from toolkit.motion.prepare import prepare
    from toolkit.motion.setting_rows import NEVER_GIVEN

    columns = combinations(study, FACE_INPUTS, MOST_FACES)
    p = prepare(columns).parameters
    faced = (p[PARAMETER_ROW.berth_distance] < NEVER_GIVEN) & np.any([_is(columns, w) for w in AT_A_BERTH], axis=0)
    if not faced.any():
        return []
    north, east, distance = (
        p[row][faced] for row in (PARAMETER_ROW.berth_north, PARAMETER_ROW.berth_east, PARAMETER_ROW.berth_distance)
    )
    off = np.array([distance + north * place[0] + east * place[1] for place in study.basin.berth])
    farthest = np.max(np.abs(off), axis=0)
    apart = farthest > FACE_MARGIN
    if not apart.any():
        return []
    share = max(1.0, 100.0 * float(np.mean(apart)))
    text = (
        f"In {share:.0f} percent of the cases with a berth the one drawn in [basin] lies off the face that the barge "
        f"comes to, by up to {farthest.max():.3g} m: berth_gap, initial_heading, start_north and start_east decide "
        "where that is, the drawing decides nothing."
    )
    onto = _is(columns, "side_push") & (columns["side_way"] == INPUTS["side_way"].choices.index("onto"))
    gaps = columns["berth_gap"][faced] - np.mean(off, axis=0)
    parallel = np.all(np.ptp(off, axis=0) < FACE_MARGIN)
    if onto[faced].all() and parallel and np.ptp(gaps) < FACE_MARGIN and gaps.min() >= 0.0:
        text += f" berth_gap = '{float(np.mean(gaps)):.3g} m' would bring the two together."
    return [text]
