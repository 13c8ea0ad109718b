"""Where each number of a case stands in the arrays of the kernel.

Numbers of many cases stand in arrays ``[row, case]``. The kernel works on
`LANES` cases at once, in flat arrays in which each row is `LANES` long: with
offsets known when it is compiled, a compiler sees that rows do not overlap and
works on many lanes with one instruction. A named tuple filled with its own
indices names the rows.
"""

from __future__ import annotations

from typing import NamedTuple

from toolkit.motion.parameter_rows import Parameters
from toolkit.particulars.gusts import HARMONICS

__all__ = [
    "GUST_ROWS",
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
    berth: int
    barge_ahead: int
    barge_side: int
    barge_moment: int
    tug_ahead: int
    tug_side: int
    tug_moment: int
    tug_roll: int
    given_starboard: int
    given_port: int


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
    # surroundings, failures, release
    begun: int
    gust: int
    window_first: int
    starboard_lost: int
    port_lost: int
    steering_lost: int
    failed_at: int
    recognised: int
    failed_north: int
    failed_east: int
    drift_after_square: int
    drift_last: int
    in_hand: int
    berth_clear: int
    berth_met_at: int
    heel_before: int
    tension_before: int
    alarm_at: int
    released_at: int
    least_clearance: int
    edge_met_at: int
    least_margin: int
    edge_time: int
    # a manoeuvre's own
    own_1: int
    own_2: int
    own_3: int
    own_4: int
    own_5: int
    own_6: int
    own_7: int
    own_8: int
    own_9: int
    own_10: int
    own_11: int
    own_12: int
    own_13: int
    own_14: int
    own_15: int
    own_16: int
    own_17: int
    own_18: int
    own_19: int
    own_20: int
    own_21: int
    own_22: int
    own_23: int
    own_24: int


GUST_ROWS = 5 * HARMONICS
"""Rows of the gusts of a case: cosines and sines of their harmonics, amplitudes, cosines and sines of a tick's turn."""

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
