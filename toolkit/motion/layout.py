"""Where each number of a case stands in the arrays of the kernel.

Numbers of many cases stand in arrays ``[row, case]``. The kernel works on
`LANES` cases at once, in flat arrays in which each row is `LANES` long: with
offsets known when it is compiled, a compiler sees that rows do not overlap and
works on many lanes with one instruction. A named tuple filled with its own
indices names the rows.
"""

from __future__ import annotations

from typing import Any, NamedTuple

__all__ = [
    "LANES",
    "MEMORY",
    "MEMORY_ROW",
    "ORDER",
    "PARAMETER_ROW",
    "REPORT",
    "REPORT_ROW",
    "STATE",
    "STATE_ROW",
    "Memory",
    "Order",
    "P",
    "Parameters",
    "Report",
    "State",
]

Column = Any


class State(NamedTuple):
    """Rows of the state. Velocities are through the water, in each hull's own axes."""

    barge_north: int
    barge_east: int
    barge_cosine: int
    barge_sine: int
    barge_surge: int
    barge_sway: int
    barge_yaw: int
    turned: int
    tug_north: int
    tug_east: int
    tug_cosine: int
    tug_sine: int
    tug_surge: int
    tug_sway: int
    tug_yaw: int
    heel: int
    heel_rate: int
    thrust_starboard: int
    starboard_cosine: int
    starboard_sine: int
    thrust_port: int
    port_cosine: int
    port_sine: int
    drive_energy: int


class Order(NamedTuple):
    """Rows of the orders in force: thrust [N] and direction of both drives."""

    thrust_starboard: int
    starboard_cosine: int
    starboard_sine: int
    thrust_port: int
    port_cosine: int
    port_sine: int


class Report(NamedTuple):
    """Rows of what a right-hand side reports besides the rates."""

    tension: int
    contact: int
    contact_station: int
    side: int


class Memory(NamedTuple):
    """Rows of what the master and the log of a case remember from tick to tick."""

    time: int
    phase: int
    hand: int
    phase_start: int
    power: int
    insistence: int
    judged_at: int
    next_judgement: int
    power_due: int
    power_pending: int
    power_in_force: int
    lead: int
    rate_cap: int
    last_rate: int
    next_look: int
    order_due: int
    pending_thrust_starboard: int
    pending_starboard_cosine: int
    pending_starboard_sine: int
    pending_thrust_port: int
    pending_port_cosine: int
    pending_port_sine: int
    lost_since: int
    steady_since: int
    first_taut: int
    time_to_turn: int
    time_to_steady: int
    last_turned: int
    most_turned: int
    peak_rate: int
    peak_tension: int
    tension_sum: int
    tension_time: int
    slack_time: int
    ticks: int
    window_sum: int
    window_total: int
    peak_window: int
    peak_contact: int
    heel_starboard: int
    heel_port: int
    heel_toward: int
    heel_away: int
    heel_caution_time: int
    drift_square: int
    swept_barge_square: int
    swept_all_square: int
    centre_square: int
    poorest_lead: int
    off_axis: int
    looks: int
    saturated: int
    shifts: int
    fast_time: int
    outcome: int


class Parameters(NamedTuple):
    """Rows of what a case is made of: SI and radians; axes x ahead, y starboard, z down.

    Heights are upward from the tug's centre of gravity. Masses include added mass.
    """

    steps_per_tick: Column
    # barge
    barge_surge_mass: Column
    barge_sway_mass: Column
    barge_yaw_inertia: Column
    barge_coupling: Column
    barge_half_length: Column
    barge_half_beam: Column
    barge_cross_flow: Column
    barge_surge_linear: Column
    barge_surge_quadratic: Column
    barge_wind_lateral: Column
    barge_wind_frontal: Column
    barge_wind_transverse: Column
    barge_wind_bow: Column
    barge_wind_stern: Column
    barge_wind_cross: Column
    barge_wind_offset: Column
    # tug
    tug_surge_mass: Column
    tug_sway_mass: Column
    tug_sway_added_mass: Column
    tug_surge_added_mass: Column
    tug_yaw_inertia: Column
    tug_roll_inertia: Column
    tug_roll_damping: Column
    tug_weight: Column
    metacentric_height: Column
    metacentric_radius: Column
    deck_edge_angle: Column
    tug_half_length: Column
    tug_half_beam: Column
    tug_cross_flow: Column
    tug_resistance_centre: Column
    tug_resistance_height: Column
    tug_surge_linear: Column
    tug_surge_quadratic: Column
    tug_wind_lateral: Column
    tug_wind_frontal: Column
    tug_wind_transverse: Column
    tug_wind_bow: Column
    tug_wind_stern: Column
    tug_wind_cross: Column
    tug_wind_height: Column
    # drives
    unit_thrust: Column
    drive_x: Column
    drive_half_spacing: Column
    drive_height: Column
    astern_ratio: Column
    athwart_share: Column
    athwart_band_sine: Column
    tandem_ratio: Column
    speed_loss: Column
    ram: Column
    spool: Column
    spool_settle: Column
    slew: Column
    slew_settle: Column
    power_factor: Column
    # line
    line_length: Column
    line_stiffness: Column
    line_loss_time: Column
    line_fade: Column
    line_sag: Column
    line_sag_tension: Column
    line_slack: Column
    taut_distance: Column
    slack_distance: Column
    line_breaking: Column
    tug_towing_x: Column
    tug_towing_height: Column
    barge_towing_x: Column
    # fender
    fender_stiffness: Column
    fender_loss_time: Column
    fender_fade: Column
    fender_friction: Column
    fender_creep: Column
    fender_height: Column
    fender_reach: Column
    fender_first_x: Column
    fender_first_y: Column
    fender_second_x: Column
    fender_second_y: Column
    pushed_side: Column
    # surroundings
    wind_north: Column
    wind_east: Column
    current_north: Column
    current_east: Column
    # manoeuvre
    pushing: Column
    athwart: Column
    end: Column
    turn: Column
    stern_first: Column
    target: Column
    station: Column
    lead: Column
    shift_time: Column
    rate_limit: Column
    easing_angle: Column
    power_setting: Column
    power_step: Column
    order_interval: Column
    order_delay: Column
    steady_angle: Column
    steady_rate: Column
    steady_time: Column
    time_limit: Column
    heel_caution: Column
    side_force: Column
    most_force: Column
    drag_speed: Column
    start_north: Column
    start_east: Column
    wash_share: Column


LANES = 16
"""Cases side by side; a fixed number, so that no remainder is computed by other instructions."""

STATE = State(*range(0, LANES * len(State._fields), LANES))
"""Where the row of each state begins in the kernel's flat arrays; add the lane."""
ORDER = Order(*range(0, LANES * len(Order._fields), LANES))
"""The same for the orders."""
REPORT = Report(*range(0, LANES * len(Report._fields), LANES))
"""The same for the report."""
MEMORY = Memory(*range(0, LANES * len(Memory._fields), LANES))
"""The same for the memory."""
P = Parameters(*range(0, LANES * len(Parameters._fields), LANES))
"""The same for the parameters."""

STATE_ROW = State(*range(len(State._fields)))
"""Row numbers of the state, in arrays of many cases."""
REPORT_ROW = Report(*range(len(Report._fields)))
"""Row numbers of the report."""
MEMORY_ROW = Memory(*range(len(Memory._fields)))
"""Row numbers of the memory."""
PARAMETER_ROW = Parameters(*range(len(Parameters._fields)))
"""Row numbers of the parameters."""
