"""Loads and safe working loads of towing fittings on the towed side, and working load limits of lines."""

from __future__ import annotations

from typing import Literal

import numpy as np

from toolkit.particulars import towline_mbl
from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "escort_design_load",
    "harbour_design_load",
    "largest_total_load",
    "pull_allowed_by_fitting",
    "safe_towing_load",
    "winch_brake_holding",
    "working_load_limit",
]

TOWLINE_MBL = Source(
    name="warranty surveyors' rule, carried into DNV-ST-N001", section="main towline by bollard pull",
    certainty=Certainty.from_memory, note="3.0, 3.8 less BP/50 and 2.0; MSC/Circ.884 gives no such ratio",
)  # fmt: skip
stated(TOWLINE_MBL)(towline_mbl)

FITTINGS = Source(
    name="IMO MSC.1/Circ.1175", section="3.3 and 3.6", certainty=Certainty.verified,
    note="text of 2005 read",
)  # fmt: skip
FITTINGS_REVISED = Source(
    name="IMO MSC.1/Circ.1175/Rev.1", section="towing fittings", certainty=Certainty.from_memory,
    note="safe towing load marked TOW, 80 percent of the design load in harbour and escort alike",
)  # fmt: skip
MOORING_LINES = Source(
    name="OCIMF MEG4", section="line design break force and working load limit", certainty=Certainty.second_hand,
    note="a MOORING guideline, borrowed: no towing standard that was read gives these shares",
)  # fmt: skip


@stated(FITTINGS)
def harbour_design_load(towing_load: Numbers) -> Array:
    """Design load of a fitting for towing in harbour: 1.25 times the largest towing load intended [N].

    Parameters
    ----------
    towing_load : float or ndarray
        Largest towing load intended, such as the static bollard pull [N].

    Notes
    -----
    IMO MSC.1/Circ.1175, 3.3.1; verified.
    """
    return np.asarray(1.25 * as_array(towing_load))[()]


@stated(FITTINGS)
def escort_design_load(line_strength: Numbers) -> Array:
    """Design load of a fitting for other towage, such as escort: the nominal breaking strength of the line [N].

    Parameters
    ----------
    line_strength : float or ndarray
        Of the tow line by the equipment number, table 1 of the circular [N].

    Notes
    -----
    IMO MSC.1/Circ.1175, 3.3.2; verified. The table itself is not held here.
    """
    return np.asarray(as_array(line_strength) * 1.0)[()]


@stated(FITTINGS)
def largest_total_load(design_load: Numbers) -> Array:
    """Load that a fitting need take at most, however the line leads round it: twice the design load [N].

    Parameters
    ----------
    design_load : float or ndarray
        [N].

    Notes
    -----
    IMO MSC.1/Circ.1175, 3.3.3; verified. No more than one turn of one line.
    """
    return np.asarray(2.0 * as_array(design_load))[()]


@stated(FITTINGS)
def safe_towing_load(design_load: Numbers, service: Literal["harbour", "escort"] = "harbour") -> Array:
    """Largest safe working load that a fitting may be marked with [N].

    Parameters
    ----------
    design_load : float or ndarray
        Of `harbour_design_load` or `escort_design_load` [N].
    service : {"harbour", "escort"}
        80 percent of the design load in harbour, all of it in escort.

    Notes
    -----
    IMO MSC.1/Circ.1175, 3.6.1; verified. In harbour it comes to the bollard
    pull itself. For ships since 2024 see `pull_allowed_by_fitting`.
    """
    return np.asarray((0.8 if service == "harbour" else 1.0) * as_array(design_load))[()]


@stated(FITTINGS_REVISED)
def pull_allowed_by_fitting(design_load: Numbers) -> Array:
    """Safe towing load (TOW) by the revised circular: 80 percent of the design load in any service [N].

    Parameters
    ----------
    design_load : float or ndarray
        [N].

    Notes
    -----
    IMO MSC.1/Circ.1175/Rev.1, for ships with keels laid since 1 January 2024;
    from memory, not verified. There SWL is the word for mooring and TOW for towing.
    """
    return np.asarray(0.8 * as_array(design_load))[()]


@stated(MOORING_LINES)
def working_load_limit(design_strength: Numbers, material: Literal["wire", "synthetic"]) -> Array:
    """Load that a line should not pass in ordinary use [N].

    Parameters
    ----------
    design_strength : float or ndarray
        Minimum breaking load that the ship is designed for [N].
    material : {"wire", "synthetic"}
        55 percent for steel wire, 50 percent for all synthetics.

    Notes
    -----
    OCIMF MEG4, for MOORING; second hand. Borrowed as a yardstick: peaks of a
    towline above it wear the line, they do not part it.
    """
    return np.asarray((0.55 if material == "wire" else 0.50) * as_array(design_strength))[()]


@stated(MOORING_LINES)
def winch_brake_holding(design_strength: Numbers) -> Array:
    """Holding load of a mooring winch's brake in service: 60 percent of the design strength [N].

    Parameters
    ----------
    design_strength : float or ndarray
        Minimum breaking load that the ship is designed for [N].

    Notes
    -----
    OCIMF MEG4, for MOORING; second hand. A towing winch is another matter: MSC/Circ.884
    wants its brake to hold the breaking load of the line, and its release to work
    in any case.
    """
    return np.asarray(0.60 * as_array(design_strength))[()]
