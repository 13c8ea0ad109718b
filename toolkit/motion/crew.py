"""Named constants of how the master handles the tug, each with the spread it may have.

They are judgement of the authors, no source, unless a line says otherwise.
"""

from __future__ import annotations

__all__ = [
    "AIM_BEYOND",
    "ANTICIPATION",
    "APPROACH_GAP",
    "BROADSIDE_SHARE",
    "FENDER_HOLD",
    "FLOOR_RATE",
    "HEADING_FREQUENCY",
    "HELM_DELAY",
    "HELM_INTERVAL",
    "HOLD_SHARE",
    "LANDING_SPEED",
    "LANDING_TIME",
    "LOST_TIME",
    "OPPOSED_SHARE",
    "OPPOSED_UNTIL",
    "PATIENCE",
    "POOR_LEAD",
    "RESPONSE_TIME",
    "SHIFT_READY",
    "SHIFT_SPEED",
    "STATION_FREQUENCY",
    "STATION_SHARE",
    "TAKE_UP_SHARE",
    "TAKE_UP_SPEED",
    "TAKE_WEIGHT_POWER",
    "USELESS_LEAD",
]

ANTICIPATION = 4.0
"""Time over which the master reads the trend of the swing ahead [s]; spread 2 to 8."""
RESPONSE_TIME = 10.0
"""Time in which he means to bring the swing to the rate he wants [s]; spread 6 to 15."""
FLOOR_RATE = 0.0043633231299858
"""Rate he is content to work up to near the target: 15 degrees a minute [rad/s]; spread 8 to 20."""
TAKE_WEIGHT_POWER = 0.15
"""Share of bollard pull with which a slack line is stretched; common practice: dead slow to easy, 0.1 to 0.25."""
STATION_FREQUENCY = 0.12
"""Natural frequency with which the tug closes on her station [rad/s]; spread 0.08 to 0.2."""
HEADING_FREQUENCY = 0.18
"""Natural frequency with which the tug comes to her heading [rad/s]; spread 0.12 to 0.3."""
AIM_BEYOND = 0.5
"""How far beyond the target he means to stop, over the steady angle; spread 0 to 0.8."""
SHIFT_READY = 20.0
"""Time he allows for getting under way and settling again when he shifts [s]; spread 10 to 40."""
BROADSIDE_SHARE = 0.75
"""Share of the speed below at which she goes round lying across the line; spread 0.5 to 1."""
SHIFT_SPEED = 1.0
"""Speed at which she walks from one station to the other [m/s]; spread 0.7 to 1.5."""
STATION_SHARE = 0.4
"""Share of the bollard pull he uses along or across the line to keep station; spread 0.3 to 0.7."""
FENDER_HOLD = 0.5
"""Share of the fenders' half-spread at which their reaction is reckoned to act; spread 0.3 to 0.8."""
HOLD_SHARE = 0.9
"""Share of what the drives' couple can hold that he goes to, athwartships; spread 0.7 to 1."""
HELM_DELAY = 0.5
"""Delay from the look at the tug's own station to her drives being told [s]; spread 0.5 to 1.5."""
HELM_INTERVAL = 1.0
"""Interval between two looks at the tug's own station [s]; spread 0.5 to 2."""
LANDING_TIME = 25.0
"""Time he allows besides for landing on the side again [s]; spread 15 to 40."""
LANDING_SPEED = 0.15
"""Speed at which she comes onto the barge's side [m/s]; common practice 0.1 to 0.25."""
APPROACH_GAP = 4.0
"""Clear water she keeps from the barge's side while she walks along it [m]; spread 2 to 8."""
OPPOSED_SHARE = 0.2
"""Thrust with which the drives stand against each other when idle, over a drive's full thrust; spread 0.05 to 0.2."""
OPPOSED_UNTIL = 0.5
"""Thrust wanted, over a drive's full thrust, at which they no longer do; spread 0.2 to 0.6."""
POOR_LEAD = 0.5235987755982988
"""Lead error beyond which he eases power to regain his station: 30 degrees [rad]; spread 20 to 40."""
TAKE_UP_SPEED = 0.2
"""Speed at which she stretches a slack line [m/s]; common practice: let the line come tight first."""
TAKE_UP_SHARE = 0.15
"""The same over the speed of the barge's end at the rate limit; spread 0.2 to 0.6."""
USELESS_LEAD = 1.0471975511965976
"""Lead error at which the line no longer turns the barge: 60 degrees [rad]; common practice."""
LOST_TIME = 20.0
"""Time out of station, while working, after which the station counts as lost [s]; spread 10 to 40."""
PATIENCE = 300.0
"""Time a shift or the taking of weight may last before the station counts as lost [s]; spread 180 to 600."""
