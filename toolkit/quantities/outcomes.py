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
    line_released = 11
    edge_met = 12
    not_held = 13


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
        Quantity(name="swing_rate_limit_in_force", long_name="swing rate limit in force", unit="degree s-1", user_unit="degree/minute", role="derived",
                 help="Rate of turn the master aims not to exceed: swing_rate_limit, or by crew and displacement."),
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
                 help="Time at which the target heading was first passed; missing if it never was. In a job that of the last swing, from the start of the first leg."),
        Quantity(name="time_to_steady", long_name="time to steady", unit="s", user_unit="minute",
                 help="Time from which the barge stayed within steady_angle of the target and slower than steady_rate for steady_time; missing if never. In a job that of the last swing, from the start of the first leg."),
        Quantity(name="overshoot", long_name="overshoot", unit="degree", user_unit="degree",
                 help="Largest angle turned beyond the target heading; nothing if she was steady short of it, missing if she never came there."),
        Quantity(name="residual_speed", long_name="speed of the barge at the end", unit="m s-1", user_unit="knot",
                 help="Speed of the barge's midships over the ground when the case ended: she is turned, and still under way."),
        Quantity(name="residual_swing_rate", long_name="swing rate at the end", unit="degree s-1", user_unit="degree/minute",
                 help="Rate of turn when the case ended, positive in the ordered way round."),
        Quantity(name="heading_at_end", long_name="heading of the barge at the end", unit="degree", user_unit="degree",
                 help="True heading of the barge's bow when the case ended, clockwise from north."),
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
                 help="Largest displacement of the barge's midships from its start, over the ground; in a job from the start of the first leg."),
        Quantity(name="swept_radius_barge", long_name="swept radius of the barge", unit="m", user_unit="m",
                 help="Largest distance from the barge's starting midships to any corner of the barge; in a job from the start of the first leg."),
        Quantity(name="swept_radius_all", long_name="swept radius of barge, line and tug", unit="m", user_unit="m",
                 help="Largest distance from the barge's starting midships to any corner of barge or tug; in a job from the start of the first leg."),
        Quantity(name="room_to_edge", long_name="room to the basin edge", unit="m", user_unit="m",
                 help="Basin radius less the largest distance of any corner of barge or tug from the basin's centre; missing if no basin radius is given."),
        Quantity(name="clearance_to_edge", long_name="least clearance to the basin's edges", unit="m", user_unit="m",
                 help="Least distance of any part of barge or tug from the edges of basin and shoals of the study; 0 where one was met, missing if the study has none."),
        Quantity(name="tow_speed", long_name="steady tow speed", unit="m s-1", user_unit="knot",
                 help="Mean speed of the barge through the water over the last full minute of a tow ahead, counted from the start."),
        Quantity(name="time_to_tow_speed", long_name="time to tow speed", unit="s", user_unit="minute",
                 help="Time at which a tow ahead first came to 95 percent of its steady speed; missing unless it became steady."),
        Quantity(name="distance_to_tow_speed", long_name="distance to tow speed", unit="m", user_unit="m",
                 help="Distance through the water to the time_to_tow_speed."),
        Quantity(name="sheer_yaw", long_name="sheer of the barge, yaw", unit="degree", user_unit="degree",
                 help="Half the range of the barge's heading in the last full two minutes of a tow ahead, counted from the start."),
        Quantity(name="sheer_sway", long_name="sheer of the barge, sideways", unit="m", user_unit="m",
                 help="Half the range of the barge's midships across the course in the last full two minutes of a tow ahead, counted from the start."),
        Quantity(name="course_growth_rate", long_name="growth rate of the sheer, linear", unit="s-1", user_unit="m/s/m",
                 help="Greatest growth rate of small sheers by the linear criterion at the steady tow speed; below nothing the tow is course-stable."),
        Quantity(name="stopping_time", long_name="stopping time", unit="s", user_unit="minute",
                 help="Time until the barge's speed through the water, along the course of the start, fell below slow_speed, in check_way."),
        Quantity(name="stopping_distance", long_name="stopping distance", unit="m", user_unit="m",
                 help="Distance through the water that the barge ran until then."),
        Quantity(name="overrun_margin", long_name="least margin before the barge overruns the tug", unit="m", user_unit="m",
                 help="Least clear water between the tug and the end of the barge that follows her, along the barge's axis, while the line is on; below nothing she is alongside or overrun. Missing where no barge follows the tug."),
        Quantity(name="time_to_berth", long_name="time to berth", unit="s", user_unit="minute",
                 help="Time until the barge first touched the berth, or, off it, until the gap was opened; in a job from the start of the first leg."),
        Quantity(name="contact_speed", long_name="contact speed at the berth", unit="m s-1", user_unit="m/s",
                 help="Speed across the berth's face of the corner that touched first."),
        Quantity(name="contact_angle", long_name="angle at the berth", unit="degree", user_unit="degree",
                 help="Angle between the barge's side and the berth's face at that time."),
        Quantity(name="berthing_energy", long_name="berthing energy", unit="J", user_unit="kJ",
                 help="Energy to be absorbed by PIANC's form: added mass by under-keel clearance, eccentricity of the corner that touches; all of it where both corners land together."),
        Quantity(name="drift_along_berth", long_name="drift along the berth", unit="m", user_unit="m",
                 help="Displacement of the barge's midships along the berth at that time, ahead positive."),
        Quantity(name="held_share", long_name="share of time held", help="Share of the time in which the barge was within hold_tolerance of her place, in hold; counted from a minute after the start, for the tug to take the weight."),
        Quantity(name="mean_power_held", long_name="mean power while holding", unit="1", user_unit="percent",
                 help="Mean share of the bollard pull in use on the barge over the same time, in hold; what the tug needs for herself against wind and current comes on top."),
        Quantity(name="walking_speed", long_name="walking speed", unit="m s-1", user_unit="knot",
                 help="Largest speed of the tug through the water across her own length, in walk and shift."),
        Quantity(name="swept_radius_tug", long_name="swept radius of the tug", unit="m", user_unit="m",
                 help="Largest distance of the tug's midships from where she began, in walk and shift."),
        Quantity(name="legs_completed", long_name="legs completed", help="Number of legs of a job that were completed; missing where the study has no legs."),
        Quantity(name="governing_leg", long_name="leg that governs", help="Number, from 1, of the leg with the largest share of the default limits on heel over deck-edge angle, tension over breaking load and tension over fitting SWL."),
        Quantity(name="governing_share", long_name="share of the limits in the governing leg", help="That share: 1 is at the default limit."),
        Quantity(name="failed_at", long_name="time at which something failed", unit="s", user_unit="s", help="Time at which something failed; missing where nothing did."),
        Quantity(name="drift_after_failure", long_name="drift after the failure", unit="m", user_unit="m",
                 help="Largest displacement of the barge's midships from where it was at the failure, until the tug has her in hand again: able to work, and the barge moving away slower than slow_speed; to the end if she never has. What the barge moves the way she is meant to go in tow_ahead, check_way and side_push does not count, what she moves back or across it does."),
        Quantity(name="peak_heel_after_failure", long_name="peak tug heel after the failure", unit="degree", user_unit="degree",
                 help="Largest heel of the tug to either side after the failure."),
        Quantity(name="peak_tension_after_failure", long_name="peak line tension after the failure", unit="N", user_unit="tonne_force",
                 help="Largest instantaneous tension after the failure."),
        Quantity(name="time_to_contact", long_name="time from failure to contact", unit="s", user_unit="s",
                 help="Time from the failure until barge or tug met an edge of the basin, or the barge the face of her berth in side_push and hold, whichever was first; missing if neither. At her berth she must first have come clear of it by half a metre."),
        Quantity(name="recovered", long_name="whether the case recovered", help="1 where the manoeuvre was completed in spite of the failure, 0 where not or where both drives were out at the end; missing where nothing failed."),
        Quantity(name="standby_demand", long_name="pull to hold the barge after the failure", unit="N", user_unit="tonne_force",
                 help="Static pull that holds the barge broadside against wind and current, which a standby tug would have to have; missing where nothing failed."),
        Quantity(name="standby_holds", long_name="whether a standby tug would hold", help="1 where standby_pull covers standby_demand and she has hold before any contact, or the case recovered without her before that; 0 where not; missing without a failure or a standby tug."),
        Quantity(name="released_at", long_name="time the line was let go", unit="s", user_unit="s", help="Time at which the emergency release set the line free; missing if it never did."),
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
