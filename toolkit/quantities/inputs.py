"""Register of inputs: every key of a study file, in the order of the file."""

from __future__ import annotations

import math

from toolkit.quantities.quantity import NOT_GIVEN, Quantity

__all__ = ["INPUTS"]

TONNE_FORCE = 9806.65
KNOT = 1852.0 / 3600.0
JUDGEMENT = "judgement of the authors, no source"
COMMON = "common practice, no source"


def _number(
    section: str,
    name: str,
    long_name: str,
    unit: str,
    user_unit: str,
    interval: tuple[float, float],
    default: float,
    help: str,
    why: str,
    source: str = JUDGEMENT,
) -> Quantity:
    return Quantity(
        name=name, long_name=long_name, unit=unit, user_unit=user_unit, role="input",
        section=section, low=interval[0], high=interval[1], default=default, help=help,
        why=why, source=source,
    )  # fmt: skip


def _choice(section: str, name: str, long_name: str, choices: tuple[str, ...], help: str) -> Quantity:
    return Quantity(
        name=name, long_name=long_name, unit="", role="input", section=section,
        choices=choices, default=choices[0], help=help,
    )  # fmt: skip


def _particular(section: str, name: str, long_name: str, interval: tuple[float, float], help: str) -> Quantity:
    return _number(
        section, name, long_name, "m", "m", interval, NOT_GIVEN,
        help + " Derived from the family unless given.", "the families were drawn up for this size",
    )  # fmt: skip


TUG = (
    _number("tug", "bollard_pull", "bollard pull", "N", "tonne_force",
            (3 * TONNE_FORCE, 120 * TONNE_FORCE), 30 * TONNE_FORCE,
            "Certified continuous bollard pull ahead, of both drives together; tonnes-force where 't' is written.",
            "the family of tugs is drawn up for harbour tugs of this pull"),
    _choice("tug", "tug_type", "tug type", ("tractor", "azimuth_stern_drive"),
            "Where the two azimuth drives sit: forward of midships (tractor) or aft (azimuth stern drive)."),
    _number("tug", "power_setting", "power setting", "1", "percent", (0.02, 1.0), 0.5,
            "Largest share of the bollard pull that the master orders to turn or check the barge; keeping the tug on her station may take more.",
            "below 2 percent a drive is not clutched in; above 100 percent it has no certificate"),
    _number("tug", "bollard_pull_derate", "share of certified pull available", "1", "percent", (0.3, 1.0), 1.0,
            "Share of the certified bollard pull that is really available (age, fouling, sea water inlet).",
            "a tug below 30 percent of its certificate is out of service"),
    _number("tug", "astern_pull_ratio", "astern pull over ahead pull", "1", "percent", (0.3, 1.1), NOT_GIVEN,
            "Bollard pull astern over ahead; by tug type unless given.", "azimuth drives give 80 to 100 percent astern", COMMON),
    _number("tug", "athwart_thrust_share", "thrust share with drives athwartships", "1", "percent", (0.3, 1.0), 1.0,
            "Thrust left where a drive points athwartships within the band; 1 switches the limit off.",
            "operators limit thrust to about half there; below 30 percent nobody does", COMMON),
    _number("tug", "athwart_band", "half-width of the athwartships band", "degree", "degree", (5.0, 80.0), 40.0,
            "Half-width, either side of athwartships, of the band in which athwart_thrust_share applies; edges are smooth.",
            "a band wider than 80 degrees would cover ahead and astern too", COMMON),
    _number("tug", "spool_time", "idle to full thrust", "s", "s", (0.1, 60.0), 8.0,
            "Time of a drive from idle to full thrust.", "diesel drives take 6 to 15 s", COMMON),
    _number("tug", "slew_time", "half-turn of a drive", "s", "s", (0.5, 80.0), 13.5,
            "Time of a drive to turn through 180 degrees.", "azimuth drives take 10 to 15 s; SOLAS allows 78 s", COMMON),
    _number("tug", "thrust_speed_loss", "thrust lost for each m/s of speed", "s m-1", "s/m", (0.0, 0.3), 0.10,
            "Share of thrust lost for each m/s of speed along it; spread 0.05 to 0.12.",
            "at 0.3 a drive is spent at 6.5 knots", "from memory, not verified"),
    _number("tug", "cross_velocity_share", "share of the drives' cross-velocity force", "1", "percent", (0.0, 1.5), 1.0,
            "Share of the momentum force by which a drive resists motion across its thrust; spread 0.5 to 1.",
            "momentum theory gives 1", "momentum theory"),
    _number("tug", "mutual_wash_share", "share of the drives' wash on each other", "1", "percent", (0.0, 1.5), 1.0,
            "Share of the loss that a drive suffers in the other's wash; 0 leaves it out, spread 0.5 to 1.2.",
            "tandem thrusters in the open give 1", "Dang and Laheij 2004, from memory, not verified"),
    _number("tug", "tug_drag_multiplier", "multiplier on the tug's water drag", "1", "", (0.0, 4.0), 1.0,
            "Multiplier on all water drag of the tug, to carry its uncertainty; spread 0.7 to 1.3.",
            "beyond a factor of 4 it is another hull"),
    _number("tug", "fender_friction", "fender friction coefficient", "1", "", (0.0, 1.0), 0.3,
            "Coulomb friction of the tug's fender on the barge's side; spread 0.15 to 0.5.",
            "dry rubber on steel stays below 1", "wet rubber on steel, from memory, not verified"),
    _particular("tug", "tug_length", "tug length on the waterline", (6.0, 60.0), "Length on the waterline."),
    _particular("tug", "tug_beam", "tug moulded beam", (2.5, 25.0), "Moulded beam."),
    _particular("tug", "tug_draught", "tug draught", (0.6, 9.0), "Draught, which also is what may touch the ground."),
    _number("tug", "tug_displacement", "tug displacement", "kg", "tonne", (1e3, 3e6), NOT_GIVEN,
            "Displacement of the tug as she works. Derived from the family unless given.",
            "a massless tug is legal only as a test particular"),
    _particular("tug", "tug_freeboard", "tug freeboard amidships", (0.05, 5.0), "Least freeboard amidships, which sets the deck-edge angle."),
    _particular("tug", "metacentric_height", "tug metacentric height", (0.15, 6.0), "Metacentric height upright, corrected for free surfaces."),
    _particular("tug", "towing_point_height", "towing point above waterline", (0.1, 8.0), "Height of the tug's towing point above the waterline."),
    _particular("tug", "fender_height", "fender above waterline", (0.05, 6.0), "Height of the tug's fender contact above the waterline."),
)  # fmt: skip

BARGE = (
    _number("barge", "displacement", "barge displacement, laden", "kg", "tonne", (1e5, 1.5e7), 454e3,
            "Displacement of the barge at her laden draught; `loading` says how much of the cargo is aboard.",
            "the family of box-like barges is drawn up for this size"),
    _number("barge", "loading", "share of cargo aboard", "1", "percent", (0.0, 1.0), 1.0,
            "Share of the cargo aboard: 0 is light, 1 is laden.", "a barge carries between none and all of her cargo"),
    _particular("barge", "barge_length", "barge length", (12.0, 140.0), "Length on the waterline."),
    _particular("barge", "barge_beam", "barge beam", (4.0, 40.0), "Moulded beam."),
    _particular("barge", "barge_draught", "barge draught, laden", (0.5, 10.0), "Draught at the laden displacement."),
    _particular("barge", "barge_freeboard", "barge freeboard, laden", (0.2, 8.0), "Freeboard at the laden displacement."),
    _number("barge", "barge_fitting_swl", "safe working load of the barge's fitting", "N", "tonne_force",
            (1 * TONNE_FORCE, 200 * TONNE_FORCE), NOT_GIVEN,
            "Safe working load of the bitts the line is made fast to. Derived from the family unless given.",
            "a mark below 1 t is no towing fitting"),
    _number("barge", "cross_flow_drag_coefficient", "cross-flow drag coefficient, deep", "1", "", (0.0, 3.2), NOT_GIVEN,
            "Cross-flow drag coefficient in deep water; 0.22 sqrt(length/beam) of UFC 4-159-03 eq. 12 unless given.",
            "3.2 is the blocked-flow value of UFC 4-159-03"),
    _number("barge", "bow_drag_coefficient", "end drag coefficient", "1", "", (0.0, 1.2), 0.5,
            "Drag coefficient of bow and stern together on beam times draught: raked ends 0.2, square ends 1.0.",
            "square ends reach about 1.0"),
    _number("barge", "added_mass_multiplier", "multiplier on the barge's added mass", "1", "", (0.0, 4.0), 1.0,
            "Multiplier on the deep-water added mass of the barge; spread 1 to 3 in shallow water, where no source serves.",
            "two-dimensional blockage gives about 4 at twice the draught, an upper bound"),
    _number("barge", "drag_multiplier", "multiplier on the barge's water drag", "1", "", (0.0, 4.0), 1.0,
            "Multiplier on all water drag of the barge, to carry its uncertainty; spread 0.7 to 1.5.",
            "beyond a factor of 4 it is another hull"),
)  # fmt: skip

TOWLINE = (
    _number("towline", "line_length", "towline length", "m", "m", (3.0, 400.0), 15.0,
            "Length paid out, fairlead to fairlead.", "shorter lines bring the hulls together; longer ones belong to the open sea"),
    _choice("towline", "line_material", "towline material", ("hmpe", "polyester", "nylon", "steel"),
            "Material, which sets stretch and damping."),
    _number("towline", "line_mbl", "towline minimum breaking load", "N", "tonne_force",
            (5 * TONNE_FORCE, 600 * TONNE_FORCE), NOT_GIVEN,
            "Minimum breaking load; from the bollard pull by the towline rule unless given.", "no towline is made outside this range"),
)  # fmt: skip

ENVIRONMENT = (
    _number("environment", "wind_speed", "wind speed", "m s-1", "knot", (0.0, 30.0), 0.0,
            "Ten-minute mean at 10 m height.", "no harbour towage above 30 m/s"),
    _number("environment", "wind_from", "wind from", "degree", "degree", (0.0, 360.0), 0.0,
            "True bearing the wind comes FROM, clockwise from north.", "a bearing"),
    _number("environment", "gust_factor", "gust factor", "1", "", (1.0, 2.5), 1.0,
            "Factor on the mean wind, held for the whole case.", "sheltered harbours reach about 1.5"),
    _number("environment", "wind_load_multiplier", "multiplier on wind loads", "1", "", (0.0, 3.0), 1.0,
            "Multiplier on the wind loads of both vessels, to carry their uncertainty; spread 0.7 to 1.3.",
            "beyond a factor of 3 it is another vessel"),
    _number("environment", "current_speed", "current speed", "m s-1", "knot", (0.0, 2.0), 0.0,
            "Uniform current over the basin.", "the drag data end at 1.5 m/s"),
    _number("environment", "current_to", "current to", "degree", "degree", (0.0, 360.0), 0.0,
            "True bearing the current runs TO, clockwise from north.", "a bearing"),
    _number("environment", "water_depth", "water depth", "m", "m", (1.0, 500.0), 15.0,
            "Depth of water at the time of the manoeuvre.", "below 1 m nothing floats"),
    _number("environment", "water_density", "water density", "kg m-3", "kg/m^3", (990.0, 1035.0), 1025.0,
            "Density of the water.", "fresh to salt water", "ITTC 7.5-02-01-03, rounded"),
    _number("environment", "basin_radius", "radius of the clear swing circle", "m", "m", (10.0, 2000.0), NOT_GIVEN,
            "Radius of clear water about the centre of the basin; gives room_to_edge if set.", "a swing circle"),
    _number("environment", "start_north", "start north of the basin's centre", "m", "m", (-2000.0, 2000.0), 0.0,
            "Barge's midships at the start, north of the centre of the basin.", "within the basin"),
    _number("environment", "start_east", "start east of the basin's centre", "m", "m", (-2000.0, 2000.0), 0.0,
            "Barge's midships at the start, east of the centre of the basin.", "within the basin"),
)  # fmt: skip

MANOEUVRE = (
    _choice("manoeuvre", "manoeuvre", "manoeuvre", ("swing_pull", "swing_push"),
            "swing_pull: pulling one end round on the line; swing_push: pushing on the barge's side."),
    _choice("manoeuvre", "tug_attitude", "tug attitude", ("fore_and_aft", "athwartships"),
            "How the tug lies to the force: fore_and_aft (line astern, or stem-on) or athwartships (across the line, or flank-on)."),
    _choice("manoeuvre", "working_end", "end worked", ("bow", "stern"),
            "End of the barge that is pulled, or whose shoulder or quarter is pushed."),
    _choice("manoeuvre", "turn", "way round", ("starboard", "port"), "Way the barge's head turns."),
    _number("manoeuvre", "target_angle", "angle to turn", "degree", "degree", (5.0, 360.0), 180.0,
            "Angle through which the barge is to be turned.", "more than a full turn is another manoeuvre"),
    _number("manoeuvre", "initial_heading", "barge heading at start", "degree", "degree", (0.0, 360.0), 0.0,
            "True heading of the barge's bow at the start, clockwise from north.", "a bearing"),
    _choice("manoeuvre", "start", "motion at start", ("over_ground", "with_water"),
            "over_ground: both vessels stopped over the ground; with_water: both drifting with the current."),
    _number("manoeuvre", "push_station", "push station from midships over length", "1", "percent", (0.05, 0.48), 0.4,
            "Distance of the push point from midships over barge length.", "a push at the very corner slips off; amidships it does not turn", COMMON),
    _number("manoeuvre", "lead_angle", "line lead off the barge's axis", "degree", "degree", (30.0, 150.0), 90.0,
            "Angle between the barge's axis, outward from the worked end, and the line the master aims at; 90 is square.",
            "outside it the pull tows more than it turns"),
    _number("manoeuvre", "swing_rate_limit", "swing rate limit", "degree s-1", "degree/minute", (0.05, 20.0), 0.75,
            "Rate of turn the master aims not to exceed; 45 degrees a minute by default. Jerks may pass it: see peak_swing_rate.", "20 degrees a second is no limit at all", JUDGEMENT),
    _number("manoeuvre", "easing_angle", "angle before the target at which to ease", "degree", "degree", (1.0, 180.0), 40.0,
            "Angle before the target heading from which the wanted rate falls to nothing.", "handlers ease 20 to 40 degrees early", COMMON),
    _number("manoeuvre", "order_interval", "interval between orders", "s", "s", (0.5, 30.0), 2.0,
            "Interval at which the master judges the swing and gives a new order for power; the tug herself is steered every second.", "a whole number of half seconds", JUDGEMENT),
    _number("manoeuvre", "order_delay", "delay of an order", "s", "s", (0.0, 30.0), 1.0,
            "Delay from the judgement to the order for power taking effect; not longer than the interval.", "not longer than order_interval", JUDGEMENT),
    _number("manoeuvre", "power_step", "smallest power step", "1", "percent", (0.001, 0.5), 0.01,
            "Step in which power is ordered, as a share of a drive's full thrust.", "coarser than half power cannot steer", COMMON),
    _number("manoeuvre", "steady_angle", "steady: within this angle of the target", "degree", "degree", (0.5, 30.0), 5.0,
            "Largest angle off the target heading that counts as steady.", "a heading is read to half a degree"),
    _number("manoeuvre", "steady_rate", "steady: slower than this rate", "degree s-1", "degree/minute", (0.005, 1.0), 0.05,
            "Largest rate of turn that counts as steady; 3 degrees a minute by default.", "quadratic drag never quite stops a swing"),
    _number("manoeuvre", "steady_time", "steady: for this long on end", "s", "s", (0.5, 300.0), 15.0,
            "Time on end for which angle and rate must hold.", "a whole number of half seconds"),
    _number("manoeuvre", "time_limit", "time limit", "s", "minute", (10.0, 14400.0), 1800.0,
            "Simulated time after which a case ends as it stands.", "four hours is a day's work for a swing"),
)  # fmt: skip

INPUTS: dict[str, Quantity] = {q.name: q for q in (*TUG, *BARGE, *TOWLINE, *ENVIRONMENT, *MANOEUVRE)}
"""Every input by name. `math.nan` as default means: derived unless given."""

assert all(q.is_choice or math.isnan(float(q.default)) or q.low <= float(q.default) <= q.high for q in INPUTS.values())
