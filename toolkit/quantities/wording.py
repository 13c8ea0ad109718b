"""Words that go with every result: cautions and conventions of direction."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["CAUTIONS", "DIRECTIONS", "GIRTING", "LIMIT_CAUTIONS", "NOT_MODELLED", "SNAP_BACK", "limit_cautions"]

CAUTIONS = (
    "Screening aid only: outcomes of a reduced-order model that nobody has checked against a particular tug, barge or "
    "basin, and no substitute for pilots, trials, class approval or local rules. "
    "Not modelled: waves, squat and banks, a second tug, a winch that renders. "
    "Girting: a line or a barge that leads across a tug can capsize her in seconds. "
    "Snap-back: a parting line recoils with the energy stored in it; nobody belongs in its way. "
    "Local rules, class, pilots and licensed practice come first."
)
"""Text that goes with every dataset, and onto whatever shows a decision."""

NOT_MODELLED = (
    "Not modelled: waves, heave and pitch; squat, banks and walls; gusts across the wind; a second tug; a winch that "
    "renders or recovers; free surfaces and moving cargo; contact other than of the fender with the barge's side and of "
    "her corners with a berth; what another master would do. Added mass in shallow water, and the wash of a tug on a "
    "barge on a short line, rest on no data."
)
"""What the model leaves out, for whatever has room for it."""

GIRTING = (
    "Heel within its limit is no safety from girting: a line that leads across a tug capsizes her faster than it can be "
    "let go, and less force may do it than parts the line."
)
"""What goes beside a limit on heel."""

SNAP_BACK = (
    "Tension within its limit is no safety from snap-back: wear, a bad lead or a bight weakens a line that the model "
    "takes for new. Keep people out of its way."
)
"""What goes beside a limit on tension."""

LIMIT_CAUTIONS = {
    "peak_heel_fraction": GIRTING,
    "peak_heel": GIRTING,
    "tension_over_mbl": SNAP_BACK,
    "tension_over_swl": SNAP_BACK,
}
"""What goes beside a limit, by its name."""

DIRECTIONS = (
    "Bearings and headings are true, in degrees clockwise from north. Wind comes FROM wind_from; current runs TO "
    "current_to. Angles turned and rates of turn are positive the way round that was ordered. Heel is positive with "
    "starboard down."
)
"""The conventions of direction in datasets."""


def limit_cautions(names: Iterable[str]) -> tuple[str, ...]:
    """Cautions that go beside limits, each once.

    Parameters
    ----------
    names : iterable of str
        Names of the limits in force.

    Returns
    -------
    tuple of str
    """
    return tuple(dict.fromkeys(LIMIT_CAUTIONS[name] for name in names if name in LIMIT_CAUTIONS))
