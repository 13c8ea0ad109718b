"""What each manoeuvre is for, which inputs it uses, and what a reader wants to see of it (floor 0).

The one place for such facts: merging of equal cases, warnings, captions,
figures and reports ask here. An input wrongly left out of `uses` would give
wrong numbers silently, for cases that differ in it alone are run once; a test
changes every idle input of every manoeuvre and compares all outcomes bit for bit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

__all__ = [
    "FACTS", "FAILURES", "JOB", "LEAST_IS_WORST", "MANOEUVRES", "MAYBE_IDLE", "STATIONS", "WHOLE_NUMBERS", "Condition",
    "Facts",
    "JobFacts", "always_holds", "conditions_of_use", "facts_of", "idle_in_job", "idle_inputs", "silent_inputs",
]  # fmt: skip

Condition = tuple[Mapping[str, tuple[str, ...]], ...]
"""When an input is used: any of these, each of which asks choice inputs to be one of some words."""

ALWAYS: Condition = ({},)

STATIONS = (
    "bow_line",
    "stern_line",
    "port_shoulder",
    "starboard_shoulder",
    "port_quarter",
    "starboard_quarter",
    "port_side",
    "starboard_side",
)
"""Words for places of a tug about a barge."""

FAILURES = (
    "none",
    "starboard_drive_lost",
    "port_drive_lost",
    "black_out",
    "drive_stuck",
    "line_parts",
    "fender_slips",
    "late_order",
    "wrong_order",
)
"""Words for what fails, nothing first."""

_LINE_STATIONS = STATIONS[:2]
_SIDE_STATIONS = STATIONS[2:]

TARGET = ("target_angle", "target_heading", "easing_angle", "steady_angle", "steady_rate", "steady_time")
MASTER = ("power_setting", "order_interval", "order_delay", "watch_time")
LINE = (
    "line_length", "line_material", "line_mbl", "wash_on_barge_share", "towing_point_height", "tug_towing_station",
    "barge_fitting_swl", "release_heel_fraction", "release_time",
)  # fmt: skip
FITTING = ("line_arrangement", "bridle_leg_length", "barge_towing_station", "barge_towing_offset")
FENDER = ("fender_friction", "fender_height")
LYING = ("tug_attitude", "working_end")
_ON_A_FENDER: Condition = ({"side_way": ("onto",)},)
_ON_A_LINE: Condition = ({"side_way": ("off",)}, {"making_fast": ("push_pull",)})
_IF_FAILED: tuple[tuple[str, ...], Condition] = (("slow_speed",), ({"failure": FAILURES[1:]},))
"""How slow counts as in hand again, after a failure."""
_BODILY = (
    (MASTER, ALWAYS),
    _IF_FAILED,
    (("side_way", "tug_attitude"), ALWAYS),
    (("working_end",), ({"tug_attitude": ("athwartships",)},)),
    (("making_fast", "fender_height"), _ON_A_FENDER),
    (LINE, _ON_A_LINE),
)


@dataclass(frozen=True, kw_only=True)
class Facts:
    """Facts of one manoeuvre.

    Attributes
    ----------
    purpose : str
        What it is for, in words for the study file.
    uses : tuple
        Groups of inputs, each with the condition under which it is used. Of
        the inputs that stand in any manoeuvre's groups, those that do not
        stand in this one's are idle; inputs in no group are used by all.
    figures : tuple of str
        Outcomes that are drawn; the first says how well it went, and is drawn
        even where no case has a value.
    time : str
        The outcome that is the time of the job.
    noun : str
        What one case of it is called.
    static_rule : bool
        Whether the static rule, wind force against pull, is meant for it.
    swings : bool
        Whether it turns the barge to a target heading.
    keeps_rate_limit : bool
        Whether the master heeds `swing_rate_limit`.
    valued_though_failed : tuple of str
        Outcomes among `figures` whose values say something of a case that did
        not complete too.
    """

    purpose: str
    uses: tuple[tuple[tuple[str, ...], Condition], ...]
    figures: tuple[str, ...]
    time: str
    noun: str
    static_rule: bool = False
    swings: bool = False
    keeps_rate_limit: bool = False
    valued_though_failed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class JobFacts:
    """What `Facts` says of a manoeuvre, for jobs of several legs.

    Attributes
    ----------
    figures, time, noun, valued_though_failed
        As in :class:`Facts`.
    """

    figures: tuple[str, ...]
    time: str
    noun: str
    valued_though_failed: tuple[str, ...]


_SWING_FIGURES = (
    "time_to_steady", "time_to_turn", "peak_heel_fraction", "peak_tension", "peak_contact_force", "room_to_edge",
    "residual_speed",
)  # fmt: skip
_ALONE_FIGURES = ("end_time", "walking_speed", "swept_radius_tug", "peak_heel_fraction")

FACTS: Mapping[str, Facts] = {
    "swing_pull": Facts(
        purpose="pulling one end round on the line",
        uses=((TARGET, ALWAYS), (MASTER, ALWAYS), _IF_FAILED, (LYING, ALWAYS), (LINE, ALWAYS), (FITTING, ALWAYS),
              (("lead_angle",), ALWAYS)),
        figures=_SWING_FIGURES,
        time="time_to_steady",
        noun="swing",
        static_rule=True,
        swings=True,
        keeps_rate_limit=True,
    ),
    "swing_push": Facts(
        purpose="pushing on the barge's side",
        uses=((TARGET, ALWAYS), (MASTER, ALWAYS), _IF_FAILED, (LYING, ALWAYS), (FENDER, ALWAYS),
              (("push_station", "making_fast"), ALWAYS), (LINE, ({"making_fast": ("push_pull",)},))),
        figures=_SWING_FIGURES,
        time="time_to_steady",
        noun="swing",
        static_rule=True,
        swings=True,
        keeps_rate_limit=True,
    ),
    "tow_ahead": Facts(
        purpose="towing from rest on a line",
        uses=((MASTER, ALWAYS), _IF_FAILED, (("working_end",), ALWAYS), (LINE, ALWAYS), (FITTING, ALWAYS),
              (("start_speed", "tow_distance", "tow_speed_limit"), ALWAYS)),
        figures=("tow_speed", "time_to_tow_speed", "distance_to_tow_speed", "sheer_yaw", "course_growth_rate",
                 "overrun_margin", "peak_heel_fraction", "peak_tension", "room_to_edge"),
        time="time_to_tow_speed",
        noun="tow",
        valued_though_failed=("overrun_margin",),
    ),
    "check_way": Facts(
        purpose="taking the way off",
        uses=((MASTER, ALWAYS), (("working_end",), ALWAYS), (LINE, ALWAYS), (FITTING, ALWAYS),
              (("start_speed", "check_from", "slow_speed"), ALWAYS)),
        figures=("stopping_distance", "stopping_time", "overrun_margin", "peak_heel_fraction", "peak_tension",
                 "room_to_edge"),
        time="stopping_time",
        noun="check",
        valued_though_failed=("overrun_margin",),
    ),
    "side_push": Facts(
        purpose="bodily sideways to a berth, or off it",
        uses=(*_BODILY, (("berth_gap", "approach_speed"), ALWAYS), (("fender_friction",), ALWAYS)),  # off: the berth's
        figures=("time_to_berth", "contact_speed", "contact_angle", "berthing_energy", "drift_along_berth",
                 "peak_heel_fraction", "peak_tension", "peak_contact_force"),
        time="time_to_berth",
        noun="side push",
        static_rule=True,
        keeps_rate_limit=True,
    ),
    "hold": Facts(
        purpose="in place against wind and current",
        uses=(*_BODILY, (("hold_tolerance", "hold_time"), ALWAYS), (("fender_friction",), _ON_A_FENDER)),
        figures=("held_share", "mean_power_held", "drift_distance", "peak_heel_fraction", "peak_tension",
                 "peak_contact_force"),
        time="end_time",
        noun="hold",
        static_rule=True,
        keeps_rate_limit=True,
        valued_though_failed=("held_share", "mean_power_held", "drift_distance"),
    ),
    "walk": Facts(
        purpose="the tug alone, sideways",
        uses=((("power_setting", "walk_distance"), ALWAYS), _IF_FAILED),
        figures=_ALONE_FIGURES,
        time="end_time",
        noun="walk",
    ),
    "shift": Facts(
        purpose="the tug alone, from one station to another",
        uses=(
            (("tug_attitude", "station_from", "station_to", "make_fast_time"), ALWAYS),
            _IF_FAILED,
            (("line_length", "tug_towing_station", "barge_towing_station", "barge_towing_offset"),
             ({"station_from": _LINE_STATIONS}, {"station_to": _LINE_STATIONS})),
            (("push_station",), ({"station_from": _SIDE_STATIONS}, {"station_to": _SIDE_STATIONS})),
        ),
        figures=_ALONE_FIGURES,
        time="end_time",
        noun="shift",
    ),
}  # fmt: skip
"""Facts of every manoeuvre by its word, in the order of their codes."""

JOB = JobFacts(
    figures=("end_time", "legs_completed", "governing_leg", "governing_share", "peak_heel_fraction", "peak_tension",
             "peak_contact_force", "room_to_edge"),
    time="end_time",
    noun="job",
    valued_though_failed=("legs_completed", "governing_leg", "governing_share"),
)  # fmt: skip
"""What is drawn of a job."""

LEAST_IS_WORST: frozenset[str] = frozenset(
    {
        "room_to_edge",
        "clearance_to_edge",
        "overrun_margin",
        "tow_speed",
        "held_share",
        "walking_speed",
        "legs_completed",
    }
)
"""Outcomes of which the smallest value is the worst; of all others it is the largest."""

WHOLE_NUMBERS: frozenset[str] = frozenset({"legs_completed", "governing_leg"})
"""Outcomes that count or number something: between their values there is nothing."""

MANOEUVRES: tuple[str, ...] = tuple(FACTS)
"""Words for the manoeuvres, in the order of their codes; each has a module of its name in `toolkit.motion.manoeuvres`."""

MAYBE_IDLE: tuple[str, ...] = tuple(
    dict.fromkeys(name for facts in FACTS.values() for names, _ in facts.uses for name in names)
)
"""Inputs that some manoeuvre does not use, or not always."""


def conditions_of_use(manoeuvre: str) -> dict[str, Condition]:
    """When a manoeuvre uses each of :data:`MAYBE_IDLE`; with no alternative at all, never."""
    found: dict[str, Condition] = dict.fromkeys(MAYBE_IDLE, ())
    for names, condition in FACTS[manoeuvre].uses:
        for name in names:
            found[name] = (*found[name], *condition)
    return found


def _holds(condition: Condition, words: Mapping[str, str]) -> bool:
    """Whether a condition may hold; a choice whose word is not known may be any."""
    return any(all(words.get(name, wanted[0]) in wanted for name, wanted in each.items()) for each in condition)


def always_holds(condition: Condition, words: Mapping[str, object]) -> bool:
    """Whether a condition holds whatever the words are that are not given."""
    return any(all(words.get(name) in wanted for name, wanted in each.items()) for each in condition)


def idle_inputs(manoeuvre: str, words: Mapping[str, object] | None = None) -> frozenset[str]:
    """Inputs that change no outcome of a manoeuvre, to the last bit.

    Parameters
    ----------
    manoeuvre : str
        Its word; nothing is idle for one that is not known.
    words : mapping, optional
        Words of choice inputs by name; other entries are not looked at. Where
        one is not given it may be any: then only what is idle either way is named.

    Returns
    -------
    frozenset of str
    """
    if manoeuvre not in FACTS:
        return frozenset()
    known = {name: word for name, word in (words or {}).items() if isinstance(word, str)}
    return frozenset(name for name, when in conditions_of_use(manoeuvre).items() if not _holds(when, known))


def silent_inputs(manoeuvre: str, words: Mapping[str, object] | None = None) -> frozenset[str]:
    """Inputs that say nothing of how a manoeuvre goes; parameters as for :func:`idle_inputs`.

    Those, and `swing_rate_limit` where the master does not heed it, though the
    derived coordinate of it still tells what was asked for.
    """
    idle = idle_inputs(manoeuvre, words)
    known = manoeuvre in FACTS
    return idle | {"swing_rate_limit"} if known and not FACTS[manoeuvre].keeps_rate_limit else idle


def idle_in_job(legs: Iterable[Mapping[str, object]], words: Mapping[str, object] | None = None) -> frozenset[str]:
    """Inputs of a job that none of its legs uses, or that every leg sets for itself.

    Parameters
    ----------
    legs : iterable of mapping
        What each leg changes: words of choices and numbers.
    words : mapping, optional
        Inputs of the whole job; as for :func:`idle_inputs`.
    """
    unused = []
    for number, leg in enumerate(legs):
        here = {**(words or {}), **leg}
        # a later leg begins as the one before left both vessels
        begun = frozenset({"station_from", "start_speed"}) if number else frozenset()
        unused.append(silent_inputs(str(here.get("manoeuvre", "")), here) | frozenset(leg) | begun)
    return frozenset.intersection(*unused) if unused else frozenset()


def facts_of(manoeuvre: str | None) -> Facts | JobFacts:
    """Facts of a manoeuvre; of a job for None; of a swing where the word is not known."""
    return JOB if manoeuvre is None else FACTS.get(manoeuvre, FACTS[MANOEUVRES[0]])
