"""Judged shares of a tug's dimensions, for all tugs and by type, each with its spread."""

from __future__ import annotations

from dataclasses import dataclass

from toolkit.particulars.common import COMMON, FROM_MEMORY, Judged

__all__ = [
    "AZIMUTH_STERN_DRIVE",
    "CONVENTIONAL",
    "DRIVE_DEPTH_SHARE",
    "DRIVE_HALF_SPACING_SHARE",
    "FENDER_FREEBOARD_SHARE",
    "FLANK_CONTACT_SHARE",
    "FRONTAL_WINDAGE_SHARE",
    "GRAVITY_HEIGHT_SHARE",
    "LATERAL_RESISTANCE_DEPTH_SHARE",
    "LATERAL_WINDAGE_SHARE",
    "ROLL_DAMPING_RATIO",
    "ROLL_GYRADIUS_SHARE",
    "STEM_CONTACT_SHARE",
    "TOWING_POINT_ABOVE_DECK",
    "TRACTOR",
    "TUG_CROSS_FLOW_DRAG",
    "TUG_END_DRAG",
    "TYPE_SHARES",
    "WATERPLANE_FACTOR",
    "WINDAGE_HEIGHT_SHARE",
    "YAW_GYRADIUS_SHARE",
    "TypeShares",
]

TRACTOR, AZIMUTH_STERN_DRIVE, CONVENTIONAL = 0, 1, 2
"""Codes of the choices of `tug_type`."""

WATERPLANE_FACTOR = Judged(value=0.85, low=0.8, high=1.6)
"""Metacentric radius over that of a box, B squared / (12 T). Fine hulls have more; less gives less righting lever."""

ROLL_GYRADIUS_SHARE = Judged(value=0.38, low=0.35, high=0.42, mark=FROM_MEMORY)
"""Roll radius of gyration, added mass included, over beam."""

ROLL_DAMPING_RATIO = Judged(value=0.08, low=0.05, high=0.20, mark=FROM_MEMORY)
"""Roll damping over critical; the upper part with a deep skeg or bilge keels."""

YAW_GYRADIUS_SHARE = Judged(value=0.25, low=0.22, high=0.28, mark=FROM_MEMORY)
"""Yaw radius of gyration of the mass over length."""

GRAVITY_HEIGHT_SHARE = Judged(value=0.05, low=-0.2, high=0.3)
"""Centre of gravity above the waterline over draught."""

LATERAL_RESISTANCE_DEPTH_SHARE = Judged(value=0.5, low=0.4, high=0.65, mark=FROM_MEMORY)
"""Centre of lateral resistance below the waterline over draught; lower with a skeg."""

TUG_CROSS_FLOW_DRAG = Judged(value=1.0, low=0.7, high=1.3)
"""Cross-flow drag coefficient of a tug with skeg in deep water, on length times draught."""

TUG_END_DRAG = Judged(value=0.1, low=0.08, high=0.2, mark="UFC 4-159-03, form drag of ships; spread by judgement")
"""Form drag coefficient ahead, on beam times draught."""

LATERAL_WINDAGE_SHARE = Judged(value=0.18, low=0.15, high=0.22)
"""Lateral windage over length squared."""

FRONTAL_WINDAGE_SHARE = Judged(value=0.65, low=0.5, high=0.8)
"""Frontal windage over beam squared."""

WINDAGE_HEIGHT_SHARE = Judged(value=0.11, low=0.09, high=0.13)
"""Centroid of the lateral windage above the waterline over length."""

TOWING_POINT_ABOVE_DECK = Judged(value=0.084, low=0.06, high=0.16)
"""Towing point above the deck edge over beam: 0.8 m on a beam of 9.5 m."""

FENDER_FREEBOARD_SHARE = Judged(value=0.9, low=0.6, high=1.4)
"""Fender contact above the waterline over freeboard."""

DRIVE_DEPTH_SHARE = Judged(value=0.75, low=0.6, high=0.8)
"""Axis of the drives below the waterline over draught, the draught being to the lowest point."""

DRIVE_HALF_SPACING_SHARE = Judged(value=0.24, low=0.2, high=0.27)
"""Drive off the centreline over beam."""

STEM_CONTACT_SHARE = Judged(value=0.15, low=0.05, high=0.3)
"""Half the spread of the bow fender's contact, stem-on, over beam."""

FLANK_CONTACT_SHARE = Judged(value=0.25, low=0.15, high=0.35)
"""Half the spread of the side fender's contact, flank-on, over length."""


@dataclass(frozen=True, kw_only=True)
class TypeShares:
    """What tells one type of tug from the other; lengthwise places over length, forward of midships.

    Attributes
    ----------
    drive_x : Judged
        The two drives.
    lateral_resistance_x : Judged
        Centre of lateral resistance.
    towing_point_fore_and_aft : Judged
        Towing point with the line ahead or astern.
    towing_point_athwartships : Judged
        Bitts the line is made fast to as the tug lies across it: close to the
        drives, so that they can walk her without turning her.
    astern_pull_ratio : Judged
        Bollard pull astern over ahead.
    """

    drive_x: Judged
    lateral_resistance_x: Judged
    towing_point_fore_and_aft: Judged
    towing_point_athwartships: Judged
    astern_pull_ratio: Judged


TYPE_SHARES: tuple[TypeShares, ...] = (
    TypeShares(
        drive_x=Judged(value=0.28, low=0.22, high=0.33),
        lateral_resistance_x=Judged(value=-0.10, low=-0.18, high=-0.05),
        towing_point_fore_and_aft=Judged(value=-0.30, low=-0.40, high=-0.22),
        towing_point_athwartships=Judged(value=0.24, low=0.15, high=0.33),
        astern_pull_ratio=Judged(value=0.90, low=0.80, high=1.0, mark=COMMON),
    ),
    TypeShares(
        drive_x=Judged(value=-0.42, low=-0.46, high=-0.36),
        lateral_resistance_x=Judged(value=0.0, low=-0.05, high=0.08),
        towing_point_fore_and_aft=Judged(value=0.42, low=0.36, high=0.46),
        towing_point_athwartships=Judged(value=-0.38, low=-0.44, high=-0.28),
        astern_pull_ratio=Judged(value=0.93, low=0.85, high=1.0, mark=COMMON),
    ),
    TypeShares(
        drive_x=Judged(value=-0.42, low=-0.46, high=-0.38),
        lateral_resistance_x=Judged(value=-0.03, low=-0.08, high=0.03),
        towing_point_fore_and_aft=Judged(value=-0.08, low=-0.15, high=0.0, mark=COMMON),
        towing_point_athwartships=Judged(value=-0.08, low=-0.15, high=0.0, mark=COMMON),
        astern_pull_ratio=Judged(value=0.5, low=0.4, high=0.7, mark=COMMON),
    ),
)
"""By code of `tug_type`. A tractor tows over her skeg, abaft her centre of lateral
resistance, so that a slack helm leaves her trailing the line; an azimuth stern
drive tows over the bow; a conventional tug tows from a hook little abaft midships,
ahead of her rudders, and can be girted for that."""
