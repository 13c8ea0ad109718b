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
    _choice("tug", "tug_type", "tug type", ("tractor", "azimuth_stern_drive", "conventional"),
            "Drives: two azimuth drives forward of midships (tractor) or aft (azimuth stern drive), or two screws with rudders aft (conventional)."),
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
    _number("tug", "tug_towing_station", "tug's towing point forward of midships over length", "1", "percent", (-0.5, 0.5), NOT_GIVEN,
            "Towing point of the tug forward of her midships, over her length; by type and way of lying unless given.",
            "the towing point is on the tug"),
    _number("tug", "steering_angle", "steering limit of a conventional tug", "degree", "degree", (10.0, 60.0), 35.0,
            "Largest angle to which a conventional tug's rudders turn her wash; azimuth drives have no limit.",
            "rudders go to 35 degrees, steering nozzles and flaps a little further", COMMON),
    _number("tug", "greatest_righting_lever", "greatest righting lever of the tug", "m", "m", (0.02, 3.0), NOT_GIVEN,
            "Greatest righting lever of her full curve; given together with the two angles below, a heel beyond the deck edge is followed to capsize, else it ends the case.",
            "righting levers of harbour tugs"),
    _number("tug", "greatest_lever_angle", "heel of the greatest righting lever", "degree", "degree", (5.0, 70.0), NOT_GIVEN,
            "Heel at which the righting lever is greatest; beyond the deck edge.", "beyond it the lever falls"),
    _number("tug", "vanishing_angle", "angle of vanishing stability", "degree", "degree", (15.0, 80.0), NOT_GIVEN,
            "Heel at which the righting lever is nothing again: beyond it she capsizes.", "the series of heel hold to 80 degrees"),
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
    _choice("barge", "skegs", "skegs", ("none", "fitted"),
            "Whether the barge has a pair of skegs at her stern, which keep her straight in tow."),
    _number("barge", "steering_drag_multiplier", "multiplier on the barge's lift-like forces", "1", "", (0.0, 3.0), 1.0,
            "Multiplier on the linear hull forces of a barge that makes way, skegs included; spread 0.5 to 1.5.",
            "beyond a factor of 3 it is another hull"),
    _number("barge", "barge_towing_station", "barge's towing point from midships over length", "1", "percent", (0.0, 0.5), 0.5,
            "Distance of the barge's fitting from midships toward the end worked, over her length; 50 percent is the end itself.",
            "the fitting is on the barge"),
    _number("barge", "barge_towing_offset", "barge's towing point off the centreline over beam", "1", "percent", (-0.5, 0.5), 0.0,
            "Distance of the barge's fitting to starboard of her centreline, over her beam.", "the fitting is on the barge"),
    _number("barge", "drag_multiplier", "multiplier on the barge's water drag", "1", "", (0.0, 4.0), 1.0,
            "Multiplier on all water drag of the barge, to carry its uncertainty; spread 0.7 to 1.5.",
            "beyond a factor of 4 it is another hull"),
)  # fmt: skip

TOWLINE = (
    _number("towline", "line_length", "towline length", "m", "m", (3.0, 400.0), 15.0,
            "Length paid out, fairlead to fairlead.", "shorter lines bring the hulls together; longer ones belong to the open sea"),
    _choice("towline", "line_material", "towline material", ("hmpe", "polyester", "nylon", "steel"),
            "Material, which sets stretch and damping."),
    _choice("towline", "line_arrangement", "line arrangement", ("single", "bridle"),
            "single: one line to one fitting; bridle: two legs to the two corners of the end worked, joined where the towline begins."),
    _number("towline", "bridle_leg_length", "length of a bridle leg", "m", "m", (1.0, 100.0), NOT_GIVEN,
            "Length of each leg of a bridle; the barge's beam unless given. It comes on top of line_length.", "a leg reaches past half the beam", COMMON),
    _choice("towline", "making_fast", "making fast", ("one_way", "push_pull"),
            "one_way: a line to pull with or a fender to push with; push_pull: a push with a line of line_length from the bow to the push point besides, so that the tug can back and check."),
    _number("towline", "wash_on_barge_share", "share of the tug's wash on the barge", "1", "percent", (0.0, 2.0), 1.0,
            "Multiplier on what the wash of a pulling tug takes off her pull where it strikes the barge; spread 0.3 to 2, nobody has measured it on a short line.",
            "beyond twice the formula the pull would turn into a push", "DNV-RP-H103, from memory, not verified"),
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
    _number("environment", "gust_intensity", "gusts over those of the spectrum", "1", "percent", (0.0, 2.0), 0.0,
            "Gusts in time, as a share of the standard deviation of the spectrum of ISO 19901-1 (open water); 0 leaves them out, sheltered or built-up shores may need more than 1.",
            "twice open water is the wake of a town", "ISO 19901-1"),
    _number("environment", "draw", "number of the draw", "1", "", (0.0, 1e9), 0.0,
            "Number of the random draw of gusts and crew: cases with the same number meet the same gusts, whatever else differs. Whole numbers; sampled ones are cut to whole.",
            "a count"),
    _number("environment", "draw_seed", "seed of the draws", "1", "", (0.0, 4294967295.0), NOT_GIVEN,
            "Seed of the draws; the study's seed unless given.", "a whole number of 32 bits"),
    _number("environment", "front_factor", "gust front over the mean wind", "1", "", (0.2, 4.0), 1.0,
            "Factor on the wind from the time a gust front comes through; 1 is no front.", "a squall brings up to three or four times the wind before it"),
    _number("environment", "front_time", "time of the gust front", "s", "s", (0.0, 14400.0), 60.0,
            "Time from the start at which the front begins to come through.", "within the time limit"),
    _number("environment", "front_rise_time", "rise time of the gust front", "s", "s", (0.5, 600.0), 20.0,
            "Time in which the wind rises from the mean to the front's.", "half a second to ten minutes"),
    _number("environment", "wind_load_multiplier", "multiplier on wind loads", "1", "", (0.0, 3.0), 1.0,
            "Multiplier on the wind loads of both vessels, to carry their uncertainty; spread 0.7 to 1.3.",
            "beyond a factor of 3 it is another vessel"),
    _number("environment", "current_speed", "current speed", "m s-1", "knot", (0.0, 2.0), 0.0,
            "Uniform current over the basin.", "the drag data end at 1.5 m/s"),
    _number("environment", "current_to", "current to", "degree", "degree", (0.0, 360.0), 0.0,
            "True bearing the current runs TO, clockwise from north.", "a bearing"),
    _number("environment", "current_shear", "shear of the current", "s-1", "m/s/m", (-0.02, 0.02), 0.0,
            "Rise of the current's speed for each metre to the right of its direction, counted from the centre of the basin.",
            "0.02 is a knot more for each 26 m"),
    _number("environment", "tide", "height of tide", "m", "m", (-5.0, 15.0), 0.0,
            "Height of the tide above the level that water_depth is counted from; added to it.", "tidal ranges of the world"),
    _number("environment", "water_depth", "water depth", "m", "m", (1.0, 500.0), 15.0,
            "Depth of water, without the tide.", "below 1 m nothing floats"),
    _number("environment", "water_density", "water density", "kg m-3", "kg/m^3", (990.0, 1035.0), 1025.0,
            "Density of the water.", "fresh to salt water", "ITTC 7.5-02-01-03, rounded"),
    _number("environment", "basin_radius", "radius of the clear swing circle", "m", "m", (10.0, 2000.0), NOT_GIVEN,
            "Radius of clear water about the centre of the basin; gives room_to_edge if set.", "a swing circle"),
    _number("environment", "start_north", "start north of the basin's centre", "m", "m", (-2000.0, 2000.0), 0.0,
            "Barge's midships at the start, north of the centre of the basin.", "within the basin"),
    _number("environment", "start_east", "start east of the basin's centre", "m", "m", (-2000.0, 2000.0), 0.0,
            "Barge's midships at the start, east of the centre of the basin.", "within the basin"),
)  # fmt: skip

MANOEUVRES = ("swing_pull", "swing_push", "tow_ahead", "check_way", "side_push", "hold", "walk", "shift")
"""Words for the manoeuvres, in the order of their codes; each has a module of its name in `toolkit.motion.manoeuvres`."""

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

MANOEUVRE = (
    _choice("manoeuvre", "manoeuvre", "manoeuvre", MANOEUVRES,
            "swing_pull: pulling one end round on the line; swing_push: pushing on the barge's side; tow_ahead: towing from rest on a line; "
            "check_way: taking the way off; side_push: bodily sideways to a berth, or off it; hold: in place against wind and current; "
            "walk: the tug alone, sideways; shift: the tug alone, from one station to another."),
    _choice("manoeuvre", "tug_attitude", "tug attitude", ("fore_and_aft", "athwartships"),
            "How the tug lies to the force: fore_and_aft (line astern, or stem-on) or athwartships (across the line, or flank-on)."),
    _choice("manoeuvre", "working_end", "end worked", ("bow", "stern"),
            "End of the barge that is pulled, or whose shoulder or quarter is pushed."),
    _choice("manoeuvre", "turn", "way round", ("starboard", "port"), "Way the barge's head turns."),
    _number("manoeuvre", "target_angle", "angle to turn", "degree", "degree", (5.0, 360.0), 180.0,
            "Angle through which the barge is to be turned.", "more than a full turn is another manoeuvre"),
    _number("manoeuvre", "initial_heading", "barge heading at start", "degree", "degree", (0.0, 360.0), 0.0,
            "True heading of the barge's bow at the start, clockwise from north.", "a bearing"),
    _number("manoeuvre", "start_speed", "barge's speed at the start", "m s-1", "knot", (0.0, 4.0), 0.0,
            "Way through the water that barge and tug make at the start, toward the end worked in tow_ahead and away from it in check_way with the tug astern; other manoeuvres begin without.",
            "eight knots is beyond any tow in a basin"),
    _number("manoeuvre", "tow_distance", "distance to tow", "m", "m", (20.0, 5000.0), NOT_GIVEN,
            "Distance over the ground, along the course of the start, after which a tow ahead ends; unless given it ends once the speed is steady.", "from a barge's length to a harbour's"),
    _number("manoeuvre", "tow_speed_limit", "tow speed aimed at", "m s-1", "knot", (0.2, 4.0), NOT_GIVEN,
            "Speed of the barge through the water at which the master eases in a tow ahead; unless given he works up to power_setting, whatever the speed.",
            "below 0.2 m/s nothing is towed, eight knots is beyond any tow in a basin"),
    _choice("manoeuvre", "check_from", "tug's place as she checks", ("astern", "ahead"),
            "check_way: made fast at the trailing end and pulling against the way (astern), or ahead on her line, going astern herself and keeping clear (ahead)."),
    _number("manoeuvre", "slow_speed", "speed that counts as stopped", "m s-1", "knot", (0.01, 0.5), 0.05,
            "Speed below which the barge counts as stopped, or as held.", "a tenth of a knot can be seen"),
    _choice("manoeuvre", "side_way", "way of a side push", ("onto", "off"),
            "side_push and hold: onto the berth by pushing, or off it by pulling on a line."),
    _number("manoeuvre", "berth_gap", "gap to the berth", "m", "m", (0.0, 500.0), 15.0,
            "Clear water between the barge's far side and the berth's face at the start; or, off, to be opened.", "the width of a basin"),
    _number("manoeuvre", "approach_speed", "approach speed aimed at", "m s-1", "m/s", (0.02, 0.6), 0.12,
            "Speed at which the master means to come onto the berth.", "berthing speeds of guides: 0.1 to 0.3 m/s", COMMON),
    _number("manoeuvre", "hold_tolerance", "drift allowed while holding", "m", "m", (0.5, 50.0), 5.0,
            "Largest displacement of the barge's midships that counts as held.", "less cannot be seen, more is not held"),
    _number("manoeuvre", "hold_time", "time to hold", "s", "minute", (30.0, 7200.0), 600.0,
            "Time for which she is to be held, after a minute to take the weight.", "half a minute to two hours"),
    _number("manoeuvre", "walk_distance", "distance to walk", "m", "m", (2.0, 300.0), 20.0,
            "Distance the tug is to move sideways, the way `turn` says.", "a tug's width to across a basin"),
    _choice("manoeuvre", "station_from", "station left", STATIONS, "shift: where the tug lies at the start."),
    _choice("manoeuvre", "station_to", "station to take", (*STATIONS[1:], STATIONS[0]), "shift: where the tug is to go."),
    _number("manoeuvre", "make_fast_time", "time to make fast", "s", "s", (0.0, 1800.0), 0.0,
            "Time for which the tug keeps her new station while the line is made fast, in shift.", "half an hour is another manoeuvre", COMMON),
    _choice("manoeuvre", "start", "motion at start", ("over_ground", "with_water"),
            "over_ground: both vessels stopped over the ground; with_water: both drifting with the current."),
    _number("manoeuvre", "push_station", "push station from midships over length", "1", "percent", (0.05, 0.48), 0.4,
            "Distance of the push point from midships over barge length.", "a push at the very corner slips off; amidships it does not turn", COMMON),
    _number("manoeuvre", "lead_angle", "line lead off the barge's axis", "degree", "degree", (30.0, 150.0), 90.0,
            "Angle between the barge's axis, outward from the worked end, and the line the master aims at; 90 is square.",
            "outside it the pull tows more than it turns"),
    _number("manoeuvre", "swing_rate_limit", "swing rate limit", "degree s-1", "degree/minute", (0.05, 20.0), NOT_GIVEN,
            "Rate of turn the master aims not to exceed; 45 degrees a minute for an ordinary crew. Jerks may pass it: see peak_swing_rate.", "20 degrees a second is no limit at all", JUDGEMENT),
    _number("manoeuvre", "easing_angle", "angle before the target at which to ease", "degree", "degree", (1.0, 180.0), NOT_GIVEN,
            "Angle before the target heading from which the wanted rate falls to nothing; 40 degrees for an ordinary crew.", "handlers ease 20 to 40 degrees early", COMMON),
    _number("manoeuvre", "steady_angle", "steady: within this angle of the target", "degree", "degree", (0.5, 30.0), 5.0,
            "Largest angle off the target heading that counts as steady.", "a heading is read to half a degree"),
    _number("manoeuvre", "steady_rate", "steady: slower than this rate", "degree s-1", "degree/minute", (0.005, 1.0), 0.05,
            "Largest rate of turn that counts as steady; 3 degrees a minute by default.", "quadratic drag never quite stops a swing"),
    _number("manoeuvre", "steady_time", "steady: for this long on end", "s", "s", (0.5, 300.0), 15.0,
            "Time on end for which angle and rate must hold.", "a whole number of half seconds"),
    _number("manoeuvre", "time_limit", "time limit", "s", "minute", (10.0, 14400.0), 1800.0,
            "Simulated time after which a case ends as it stands.", "four hours is a day's work for a swing"),
)  # fmt: skip

CREW = (
    _choice("crew", "crew", "crew", ("ordinary", "careful", "hasty"),
            "Set of habits from which the keys of this table, swing_rate_limit and easing_angle are taken unless given."),
    _number("crew", "order_interval", "interval between orders", "s", "s", (0.5, 30.0), NOT_GIVEN,
            "Interval at which the master judges and gives a new order for power; the tug herself is steered every second. 2 s for an ordinary crew.", "a whole number of half seconds", JUDGEMENT),
    _number("crew", "order_delay", "delay of an order", "s", "s", (0.0, 30.0), NOT_GIVEN,
            "Delay from the judgement to the order for power taking effect; not longer than the interval. 1 s for an ordinary crew.", "not longer than order_interval", JUDGEMENT),
    _number("crew", "power_step", "smallest power step", "1", "percent", (0.001, 0.5), NOT_GIVEN,
            "Step in which power is ordered, as a share of a drive's full thrust; 1 percent for an ordinary crew.", "coarser than half power cannot steer", COMMON),
    _number("crew", "recognition_time", "time to see that something is wrong", "s", "s", (0.0, 120.0), NOT_GIVEN,
            "Time from a failure, or from a heel that asks for release, to the first action; 4 s for an ordinary crew.", "a crew that takes two minutes is asleep", JUDGEMENT),
    _number("crew", "crew_scatter", "scatter of the crew's times", "1", "percent", (0.0, 0.8), 0.0,
            "Coefficient of variation of interval, delay and recognition from draw to draw (lognormal); 0 takes them as they stand.", "beyond 80 percent a median says nothing", JUDGEMENT),
)  # fmt: skip

FAILURE = (
    _choice("failure", "failure", "failure",
            ("none", "starboard_drive_lost", "port_drive_lost", "black_out", "drive_stuck", "line_parts", "fender_slips", "late_order", "wrong_order"),
            "What fails: a drive lost, both lost until restart, the starboard drive stuck at its angle, the line parted, the fender without grip, orders late or given the wrong way."),
    _number("failure", "failure_time", "time of the failure", "s", "s", (0.0, 14400.0), 120.0,
            "Time from the start at which it fails.", "within the time limit"),
    _number("failure", "failure_angle", "angle turned at the failure", "degree", "degree", (0.0, 360.0), NOT_GIVEN,
            "Angle turned at which it fails, instead of failure_time.", "within the turn"),
    _number("failure", "restart_time", "time to restart", "s", "s", (1.0, 3600.0), 90.0,
            "Time from a black-out to power coming back.", "from a second to never within the case"),
    _number("failure", "fault_duration", "duration of a late or wrong order", "s", "s", (1.0, 300.0), 20.0,
            "Time for which orders are late, or given the wrong way, before it is noticed.", "longer would be seen"),
    _number("failure", "watch_time", "time to watch the consequence", "s", "s", (10.0, 3600.0), 300.0,
            "Time after a failure that the tug cannot mend for which the case is followed.", "half a minute to an hour"),
    _number("failure", "standby_pull", "pull of a standby tug", "N", "tonne_force", (1 * TONNE_FORCE, 120 * TONNE_FORCE), NOT_GIVEN,
            "Bollard pull of a standby tug; gives standby_holds if set.", "harbour tugs"),
    _number("failure", "standby_time", "time until a standby tug has hold", "s", "minute", (0.0, 3600.0), 300.0,
            "Time from the failure until a standby tug has hold of the barge.", "at once to an hour"),
    _number("failure", "release_heel_fraction", "heel at which the line is let go", "1", "percent", (0.1, 5.0), NOT_GIVEN,
            "Heel over the deck-edge angle at which the master lets the line go, after recognition_time and release_time; never unless given.",
            "below a tenth it would never be fast"),
    _number("failure", "release_time", "time of the emergency release", "s", "s", (0.0, 60.0), 3.0,
            "Time from the order to the line being free.", "class rules ask for 3 s", "IACS UR M79, second hand"),
)  # fmt: skip

NUMERICS = (
    _number("numerics", "step_refinement", "steps over those of the step rule", "1", "", (0.25, 32.0), 1.0,
            "Steps of a case over those of the step rule, rounded up to whole steps in half a second; `towage convergence` says what a study needs.",
            "a quarter of the steps is unstable, 32 times as many lose more by rounding than they gain"),
)  # fmt: skip

INPUTS: dict[str, Quantity] = {
    q.name: q for q in (*TUG, *BARGE, *TOWLINE, *ENVIRONMENT, *MANOEUVRE, *CREW, *FAILURE, *NUMERICS)
}
"""Every input by name. `math.nan` as default means: derived unless given."""

assert all(q.is_choice or math.isnan(float(q.default)) or q.low <= float(q.default) <= q.high for q in INPUTS.values())
