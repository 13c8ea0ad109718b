"""Register of outcomes and derived coordinates, and the codes of how a case ended."""

from __future__ import annotations

from enum import IntEnum, IntFlag

from toolkit.quantities.quantity import Quantity

__all__ = ["DERIVED", "OUTCOMES", "Outcome", "RangeFlag"]


class Outcome(IntEnum):
    """How a case ended. Zero is the fill value of a store: not run yet."""

    not_run = 0
    completed = 1
    not_steady = 2
    timed_out = 3
    deck_edge_immersed = 4
    capsized = 5
    line_parted = 6
    lost_station = 7
    collided = 8
    aground = 9
    not_converged = 10


class RangeFlag(IntFlag):
    """Marks, one bit each, for where a case left the range of a model's data."""

    shallow_added_mass = 1
    drag_speed = 2
    tug_family = 4
    barge_family = 8
    line_sag = 16
    coarse_step = 32


DERIVED: dict[str, Quantity] = {
    q.name: q
    for q in (
        Quantity(name="depth_ratio", long_name="water depth over barge draught", role="derived",
                 help="Water depth over the barge's draught as loaded."),
        Quantity(name="displacement_as_loaded", long_name="barge displacement as loaded", unit="kg", user_unit="tonne", role="derived",
                 help="Displacement of the barge with the cargo that `loading` says."),
        Quantity(name="static_wind_demand", long_name="beam wind force times 1.25 over bollard pull", role="derived",
                 help="The static rule: force of the wind on the beam of the barge times 1.25, over the pull available; passes at 1 or less."),
    )
}  # fmt: skip

OUTCOMES: dict[str, Quantity] = {
    q.name: q
    for q in (
        Quantity(name="outcome", long_name="how the case ended", unit="", help="Code of how the case ended."),
        Quantity(name="end_time", long_name="time at which the case ended", unit="s", user_unit="minute",
                 help="Simulated time at which the case ended, for whatever cause."),
        Quantity(name="time_to_turn", long_name="time to turn", unit="s", user_unit="minute",
                 help="Time at which the target heading was first passed; missing if it never was."),
        Quantity(name="time_to_steady", long_name="time to steady", unit="s", user_unit="minute",
                 help="Time from which the barge stayed within steady_angle of the target and slower than steady_rate for steady_time; missing if never."),
        Quantity(name="overshoot", long_name="overshoot", unit="degree", user_unit="degree",
                 help="Largest angle turned beyond the target heading; nothing if she was steady short of it, missing if she never came there."),
        Quantity(name="residual_speed", long_name="speed of the barge at the end", unit="m s-1", user_unit="knot",
                 help="Speed of the barge's midships over the ground when the case ended: she is turned, and still under way."),
        Quantity(name="residual_swing_rate", long_name="swing rate at the end", unit="degree s-1", user_unit="degree/minute",
                 help="Rate of turn when the case ended, positive in the ordered way round."),
        Quantity(name="peak_swing_rate", long_name="peak swing rate", unit="degree s-1", user_unit="degree/minute",
                 help="Largest rate of turn in the ordered way round."),
        Quantity(name="peak_heel", long_name="peak tug heel", unit="degree", user_unit="degree",
                 help="Largest heel of the tug to either side."),
        Quantity(name="peak_heel_toward", long_name="peak tug heel toward the force", unit="degree", user_unit="degree",
                 help="Largest heel of the tug toward the side on which line or barge load her, while they do; missing if they never do from the side."),
        Quantity(name="peak_heel_away", long_name="peak tug heel away from the force", unit="degree", user_unit="degree",
                 help="Largest heel of the tug away from the side on which line or barge load her, while they do."),
        Quantity(name="peak_heel_fraction", long_name="peak heel over deck-edge angle", help="Peak heel over the angle at which the deck edge reaches the water."),
        Quantity(name="time_above_heel_caution", long_name="time above heel caution", unit="s", user_unit="s",
                 help="Time with heel above one third of the deck-edge angle."),
        Quantity(name="peak_tension", long_name="peak line tension", unit="N", user_unit="tonne_force",
                 help="Largest instantaneous tension; missing where no line is used."),
        Quantity(name="peak_tension_3s", long_name="peak 3 s mean line tension", unit="N", user_unit="tonne_force",
                 help="Largest mean of tension over any 3 s, on a half-second raster; missing where no line is used."),
        Quantity(name="mean_tension", long_name="mean line tension", unit="N", user_unit="tonne_force",
                 help="Mean tension from the line first coming taut to the target heading being passed, or to the end if it never was."),
        Quantity(name="tension_over_mbl", long_name="peak tension over breaking load", help="Peak tension over the line's minimum breaking load."),
        Quantity(name="tension_over_swl", long_name="peak 3 s tension over fitting SWL", help="Peak 3 s mean tension over the safe working load of the barge's fitting."),
        Quantity(name="peak_line_energy", long_name="peak energy stored in the line", unit="J", user_unit="kJ",
                 help="Elastic energy in the line at peak tension, which is what snaps back if it parts."),
        Quantity(name="share_of_time_slack", long_name="share of time slack", help="Share of the time between first taut and the target heading in which the line was slack."),
        Quantity(name="poorest_line_lead", long_name="poorest line lead", unit="degree", user_unit="degree",
                 help="Largest angle of the taut line off the lead aimed at, while working."),
        Quantity(name="peak_lead_off_axis", long_name="line lead off the tug's working axis", unit="degree", user_unit="degree",
                 help="Largest angle, in any phase, between the loaded line and the tug's fore-and-aft line (or her beam, lying across): the girting lead."),
        Quantity(name="peak_contact_force", long_name="peak contact force", unit="N", user_unit="tonne_force",
                 help="Largest force between fender and barge; missing where the tug does not push."),
        Quantity(name="drift_distance", long_name="drift distance", unit="m", user_unit="m",
                 help="Largest displacement of the barge's midships from its start, over the ground."),
        Quantity(name="swept_radius_barge", long_name="swept radius of the barge", unit="m", user_unit="m",
                 help="Largest distance from the barge's starting midships to any corner of the barge."),
        Quantity(name="swept_radius_all", long_name="swept radius of barge, line and tug", unit="m", user_unit="m",
                 help="Largest distance from the barge's starting midships to any corner of barge or tug."),
        Quantity(name="room_to_edge", long_name="room to the basin edge", unit="m", user_unit="m",
                 help="Basin radius less the largest distance of any corner of barge or tug from the basin's centre; missing if no basin radius is given."),
        Quantity(name="saturated_share", long_name="share of time at the power limit",
                 help="Share of the orders given while working in which the power wanted was above power_setting."),
        Quantity(name="drive_energy", long_name="drive energy", unit="J", user_unit="kWh",
                 help="Shaft energy of both drives by the actuator-disc power of the thrust delivered."),
        Quantity(name="shifts", long_name="shifts of the tug", help="Times the tug left her station for the other one to check or correct the swing."),
        Quantity(name="share_beyond_drag_speed", long_name="share of time beyond the drag data",
                 help="Share of time in which either end of the barge moved through the water faster than 1.5 m/s, where the drag data end."),
        Quantity(name="range_flags", long_name="marks for leaving the range of a model's data", unit="", help="Bits: see flag_meanings."),
    )
}  # fmt: skip
