"""Stations of a tug about a barge: where the words for them put her, and how she heads there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.manoeuvres.manoeuvre import Given
from toolkit.quantities import INPUTS

__all__ = ["station_place"]

Array = NDArray[np.float64]

LINE_SLACK = 1.5
"""What a line of its length has over at a station on a line, to make it fast [m]; judgement, spread 1 to 4."""
SIDE_CLEAR = 2.0
"""Clear water between fender and barge at a station alongside [m]; judgement, spread 1 to 4."""
END_CLEAR = 2.0
"""Least clear water between tug and barge at a station off her end [m]; judgement, spread 1.5 to 6."""
ENDS = {"bow": 1.0, "stern": -1.0, "shoulder": 1.0, "quarter": -1.0, "side": 0.0}
"""What a word for a station says of the end it is at."""
SIDES = {"starboard": 1.0, "port": -1.0}
"""What its first word says of the side."""


def station_place(given: Given, name: str) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
    """Where a tug lies at her station, and how.

    Parameters
    ----------
    given : Given
    name : str
        Input that names the station, such as `station_to`.

    Returns
    -------
    x, y : ndarray, shape (n,)
        Her midships in the barge's mirrored axes [m].
    heading : ndarray, shape (n,)
        Off the barge's, mirrored [rad].
    off_end : ndarray of bool, shape (n,)
        Whether the station is off an end of the barge, on a line.
    """
    c, barge, tug = given.columns, given.barge, given.tug
    words = [INPUTS[name].choices[int(code)] for code in c[name]]
    off_end = np.array([word.endswith("_line") for word in words])
    end = np.array([ENDS[next(part for part in word.split("_") if part in ENDS)] for word in words])
    side = given.turn * np.array([SIDES.get(word.split("_")[0], 0.0) for word in words])
    # off the end with her line astern of her; to lie across it later, with the bitts she then uses toward the barge
    own = c["tug_towing_station"]
    tow = np.where(given.athwart, tug.towing_point_x_athwartships, tug.towing_point_x_fore_and_aft)
    tow = np.where(np.isnan(own), tow, own * tug.length)
    outward = np.where(end > 0.0, 0.0, np.pi) + np.where(given.stern_drive, np.pi, 0.0)
    heading = np.where(given.athwart, np.where(end * tow > 0.0, np.pi, 0.0), outward)
    roomy = np.where(given.choice("tug_type", "conventional"), 2.0, 1.0)  # she keeps her place less well
    off = c["barge_towing_station"] * barge.length + c["line_length"] - roomy * LINE_SLACK
    off = np.maximum(off - end * tow * np.cos(heading), 0.5 * (barge.length + tug.length) + END_CLEAR)
    # alongside, stem-on or flank-on with her drives toward the nearer end
    contact = np.where(given.athwart, tug.flank_contact_y, tug.stem_contact_x)
    beside = 0.5 * barge.beam + contact + roomy * SIDE_CLEAR
    flank = np.where(tug.drive_x * np.where(end == 0.0, 1.0, end) > 0.0, 0.0, np.pi)
    return (
        end * np.where(off_end, off, c["push_station"] * barge.length),
        np.where(off_end, given.turn * c["barge_towing_offset"] * barge.beam, side * beside),
        np.where(off_end, heading, np.where(given.athwart, flank, -0.5 * np.pi * side)),
        off_end,
    )
