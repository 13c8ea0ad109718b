"""What a time history holds: its channels by name, with units and words."""

from __future__ import annotations

from toolkit.quantities.quantity import Quantity

__all__ = ["CHANNELS"]


ON_TUG = "Direction of the thrust on the tug, clockwise from the tug's bow."


def _channel(name: str, long_name: str, unit: str, user_unit: str, help: str) -> Quantity:
    return Quantity(name=name, long_name=long_name, unit=unit, user_unit=user_unit, role="outcome", help=help)


CHANNELS: dict[str, Quantity] = {
    q.name: q
    for q in (
        _channel("time", "time", "s", "s", "Simulated time since the first order."),
        _channel("barge_north", "barge midships, north of the basin's centre", "m", "m", "Over the ground, from the centre of the basin; the barge begins at start_north, start_east."),
        _channel("barge_east", "barge midships, east of the basin's centre", "m", "m", "Over the ground, from the centre of the basin; the barge begins at start_north, start_east."),
        _channel("barge_heading", "barge heading", "degree", "degree", "True, clockwise from north."),
        _channel("angle_turned", "angle turned", "degree", "degree", "Positive the way round that was ordered."),
        _channel("swing_rate", "swing rate", "degree s-1", "degree/minute", "Positive the way round that was ordered."),
        _channel("tug_north", "tug midships, north of the basin's centre", "m", "m", "Over the ground, from the centre of the basin; the barge begins at start_north, start_east."),
        _channel("tug_east", "tug midships, east of the basin's centre", "m", "m", "Over the ground, from the centre of the basin; the barge begins at start_north, start_east."),
        _channel("tug_heading", "tug heading", "degree", "degree", "True, clockwise from north."),
        _channel("tug_heel", "tug heel", "degree", "degree", "Positive with starboard down."),
        _channel("line_tension", "line tension", "N", "tonne_force", "Tension of the towline; zero when slack."),
        _channel("contact_force", "contact force", "N", "tonne_force", "Between the tug's fender and the barge."),
        _channel("line_lead", "line lead off the lead aimed at", "degree", "degree", "Angle off that lead."),
        _channel("thrust_port", "thrust of the port drive", "N", "tonne_force", "Thrust delivered."),
        _channel("thrust_starboard", "thrust of the starboard drive", "N", "tonne_force", "Thrust delivered."),
        _channel("azimuth_port", "direction of the port thrust", "degree", "degree", ON_TUG),
        _channel("azimuth_starboard", "direction of the starboard thrust", "degree", "degree", ON_TUG),
        _channel("phase", "phase of the manoeuvre", "", "", "Code of the phase."),
        _channel("leg", "leg of the job", "", "", "Number of the leg, from 1; of a job alone."),
        _channel("power_ordered", "power ordered", "1", "percent", "Share of the full thrust that the master orders."),
        _channel("gust", "wind over the mean wind", "1", "", "Factor of gusts and front on the mean wind."),
    )
}  # fmt: skip
"""Every channel of a history by name."""
