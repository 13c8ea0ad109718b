"""What an outcome may be at all: bounds that hold for every case, however extreme its inputs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.setting import NO_SETTING, Setting
from toolkit.quantities import DERIVED, INPUTS, OUTCOMES, Outcome, RangeFlag

Columns = dict[str, NDArray[Any]]

ALWAYS = (
    "end_time", "residual_speed", "residual_swing_rate", "peak_swing_rate", "peak_heel", "peak_heel_fraction",
    "time_above_heel_caution", "drift_distance", "swept_radius_barge", "swept_radius_all", "drive_energy", "shifts",
    "share_beyond_drag_speed",
)  # fmt: skip
"""Outcomes that every case has which ran."""

SIGNED = {
    "residual_swing_rate", "room_to_edge", "overrun_margin", "course_growth_rate", "drift_along_berth", "tow_speed",
}  # fmt: skip
"""Outcomes that may be below nothing."""

SHARES = {
    "share_of_time_slack", "held_share", "saturated_share", "recovered", "standby_holds", "share_beyond_drag_speed",
}  # fmt: skip

TIMES = {
    "time_to_turn", "time_to_steady", "time_above_heel_caution", "time_to_tow_speed", "stopping_time", "time_to_berth",
    "failed_at", "time_to_contact", "released_at",
}  # fmt: skip

HIGHEST: dict[str, float] = {
    "peak_heel": 180.0, "peak_heel_toward": 180.0, "peak_heel_away": 180.0, "peak_heel_after_failure": 180.0,
    "poorest_line_lead": 180.0 + 1e-9, "peak_lead_off_axis": 180.0 + 1e-9, "contact_angle": 180.0 + 1e-9,
    "residual_speed": 65.0, "contact_speed": 65.0, "walking_speed": 65.0, "tow_speed": 15.0,
    "residual_swing_rate": 720.0, "peak_swing_rate": 720.0,
}  # fmt: skip
"""Speeds [m/s] of which a case is called not converged, angles past the round: nothing is above."""

WANTED: dict[str, tuple[str, ...]] = {
    "swing_pull": ("time_to_steady", "overshoot", "peak_tension", "peak_tension_3s", "tension_over_mbl"),
    "swing_push": ("time_to_steady", "overshoot", "peak_contact_force"),
    "tow_ahead": ("tow_speed", "overrun_margin", "peak_tension"),
    "check_way": ("stopping_time", "stopping_distance", "peak_tension"),
    "side_push": ("time_to_berth", "drift_along_berth"),
    "hold": ("held_share", "mean_power_held"),
    "walk": ("walking_speed", "swept_radius_tug"),
    "shift": ("walking_speed", "swept_radius_tug"),
}
"""Outcomes that a completed manoeuvre has."""

MINUTE = 60.0
TICK = 0.5
"""A case ends at a tick [s]."""


def most_power(pull: NDArray[np.float64]) -> NDArray[np.float64]:
    """Shaft power [W] that no tug of a bollard pull [N] takes: 200 kW for a tonne is ten times what is usual."""
    return pull / 9806.65 * 200e3


def longest(columns: Columns, setting: Setting) -> NDArray[np.float64]:
    """Longest time [s] that each case may take."""
    limit = columns["time_limit"]
    if not setting.legs:
        return np.asarray(limit, dtype=np.float64)
    total = np.zeros(limit.shape)
    for leg in setting.legs:
        total = total + leg.get("time_limit", limit)
    return total


def wrong(
    columns: Columns, outcomes: Columns, setting: Setting = NO_SETTING
) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    """What is wrong with outcomes, in words, each with the cases in which it is.

    Parameters
    ----------
    columns : dict of str to ndarray, shape (n,)
        Inputs as the engine takes them.
    outcomes : dict of str to ndarray, shape (n,)
        As `evaluate_columns` returns them.
    setting : Setting
        That the cases were run in.

    Yields
    ------
    str, ndarray of bool, shape (n,)
    """
    code = outcomes["outcome"]
    ran = ~np.isin(code, [int(Outcome.aground), int(Outcome.not_converged), int(Outcome.not_run)])
    if not setting.legs:
        yield from _silent(outcomes, ~ran)
    yield "outcome is no code of a case that was run", ~np.isin(code, [int(each) for each in Outcome if each])
    yield (
        "range_flags hold an unknown bit",
        (outcomes["range_flags"] < 0) | (outcomes["range_flags"] >= 2 * max(RangeFlag)),
    )
    for name in DERIVED:
        yield f"{name} is not finite", ~np.isfinite(outcomes[name])
    for name in ALWAYS:
        yield f"{name} is missing in a case that ran", ran & ~np.isfinite(outcomes[name])
    limit = longest(columns, setting)
    with np.errstate(invalid="ignore"):
        for name in OUTCOMES:
            if name in ("outcome", "range_flags"):
                continue
            values = outcomes[name]
            yield f"{name} is infinite", np.isinf(values)
            if name not in SIGNED:
                yield f"{name} is below nothing", values < 0.0
            if name in SHARES:
                yield f"{name} is above 1", values > 1.0 + 1e-9
            if name in TIMES:
                yield f"{name} is after the end", values > outcomes["end_time"] + TICK
            if name in HIGHEST:
                carried = outcomes["drift_distance"] if name in ("residual_speed", "walking_speed") else 0.0
                most = HIGHEST[name] + np.abs(columns["current_shear"]) * carried  # shear has no end across the basin
                yield f"{name} is above {HIGHEST[name]:g}", np.abs(values) > most
        yield "end_time is after the time limit", outcomes["end_time"] > limit + TICK * max(1, len(setting.legs))
        yield (
            "drive_energy is more than the drives can take",
            (outcomes["drive_energy"] > most_power(columns["bollard_pull"]) * (outcomes["end_time"] + TICK)),
        )
        for peak, mean in (("peak_tension", "peak_tension_3s"), ("peak_tension", "mean_tension")):
            yield f"{peak} is below {mean}", outcomes[peak] < outcomes[mean] * (1.0 - 1e-9)
        sudden = np.isin(code, [Outcome.line_parted, Outcome.deck_edge_immersed, Outcome.capsized])
        yield "the line held beyond its breaking load", (outcomes["tension_over_mbl"] > 1.0) & ~sudden
    if not setting.legs:
        yield from _measures(columns, outcomes)


def _measures(columns: Columns, outcomes: Columns) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    """What a completed manoeuvre was done for and is missing."""
    completed = outcomes["outcome"] == int(Outcome.completed)
    manoeuvres = INPUTS["manoeuvre"].choices
    for manoeuvre, names in WANTED.items():
        its_own = completed & (np.asarray(columns["manoeuvre"]) == manoeuvres.index(manoeuvre))
        for name in names:
            short = (outcomes["end_time"] < MINUTE) & (name == "tow_speed")  # a mean of a whole minute
            yield f"{name} is missing in a completed {manoeuvre}", its_own & ~short & ~np.isfinite(outcomes[name])


def _silent(outcomes: Columns, failed: NDArray[np.bool_]) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    """Measures that stand in a case which was not run, or did not converge."""
    for name in OUTCOMES:
        if name not in ("outcome", "range_flags"):
            yield f"{name} has a value in a case without a run", failed & ~np.isnan(outcomes[name])


def described(columns: Columns, case: int) -> str:
    """Inputs of a case that are not at their defaults."""
    told = []
    for name, quantity in INPUTS.items():
        value = columns[name][case]
        if quantity.is_choice:
            word = quantity.choices[int(value)]
            told += [] if word == quantity.default else [f"{name}={word!r}"]
        elif not (value == quantity.default or (np.isnan(value) and quantity.derived_unless_given)):
            told.append(f"{name}={float(value)!r}")
    return ", ".join(told) or "all at their defaults"


def findings(columns: Columns, outcomes: Columns, setting: Setting = NO_SETTING, most: int = 2) -> Sequence[str]:
    """Sentences on what is wrong, with the inputs of a few of the cases."""
    told = []
    for words, where in wrong(columns, outcomes, setting):
        cases = np.flatnonzero(where)
        for case in cases[:most]:
            ended = Outcome(int(outcomes["outcome"][case])).name
            told.append(f"{words} ({len(cases)} cases), {ended}: {described(columns, int(case))}")
    return told
