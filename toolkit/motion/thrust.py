"""Both drives of the tug: their forces on her, and what their wash does to the barge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.drives import direction_share, drive_force, wash_share
from toolkit.loads.scalars import clip
from toolkit.loads.wash import wash_on_barge
from toolkit.motion.layout import STATE, P

__all__ = ["ahead_or_astern", "barge_wash", "drive_loads"]


@kernel
def drive_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, drive_height: float
) -> tuple[float, float, float, float, float]:
    """Force ahead and to starboard [N, N] and yaw moment [N m] of the drives, and the thrust of each at rest [N].

    Notes
    -----
    A drive whose thrust is negative gives it straight astern, whatever its
    direction: the screws of a conventional tug reverse, and her rudders do
    nothing then. Azimuth drives are never negative.
    """
    ut, vt, rt, heel_rate = (
        s[STATE.tug_surge + k], s[STATE.tug_sway + k], s[STATE.tug_yaw + k], s[STATE.heel_rate + k],
    )  # fmt: skip
    signed_1, signed_2 = s[STATE.thrust_starboard + k], s[STATE.thrust_port + k]
    t1, c1, s1 = ahead_or_astern(signed_1, s[STATE.starboard_cosine + k], s[STATE.starboard_sine + k])
    t2, c2, s2 = ahead_or_astern(signed_2, s[STATE.port_cosine + k], s[STATE.port_sine + k])
    astern, share, band = p[P.astern_ratio + k], p[P.athwart_share + k], p[P.athwart_band_sine + k]
    tandem = p[P.tandem_ratio + k]
    drive_x, drive_y = p[P.drive_x + k], p[P.drive_half_spacing + k]
    per_both = 1.0 / ((t1 + 1.0) * (t2 + 1.0))
    weight_on_port = p[P.wash_share + k] * clip(t1 * (t1 + 1.0) * per_both, 0.0, 1.0)
    weight_on_starboard = p[P.wash_share + k] * clip(t2 * (t2 + 1.0) * per_both, 0.0, 1.0)
    loss, ram = p[P.speed_loss + k], p[P.ram + k]
    drive_side = vt + drive_x * rt + drive_height * heel_rate
    given_1 = t1 * direction_share(c1, astern, share, band) * wash_share(-s2, c2, tandem, weight_on_starboard)
    given_2 = t2 * direction_share(c2, astern, share, band) * wash_share(s1, c1, tandem, weight_on_port)
    ahead_1, side_1 = drive_force(given_1, c1, s1, ut - drive_y * rt, drive_side, loss, ram)
    ahead_2, side_2 = drive_force(given_2, c2, s2, ut + drive_y * rt, drive_side, loss, ram)
    moment = drive_x * (side_1 + side_2) + drive_y * (ahead_2 - ahead_1)
    return ahead_1 + ahead_2, side_1 + side_2, moment, given_1, given_2


@kernel
def ahead_or_astern(thrust: float, cosine: float, sine: float) -> tuple[float, float, float]:
    """Size and direction of a thrust that may be negative, which is straight astern."""
    astern = thrust < 0.0
    return abs(thrust), -1.0 if astern else cosine, 0.0 if astern else sine


@kernel
def barge_wash(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, relative_cosine: float, relative_sine: float,
    tug_station: float, tug_offset: float, given_1: float, given_2: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Force ahead, to starboard [N, N] and yaw moment [N m] of both drives' wash on the barge.

    `relative_cosine` and `relative_sine` are of the tug's heading off the
    barge's, `tug_station` and `tug_offset` her midships in the barge's axes
    [m], `given_1` and `given_2` the thrusts [N].
    """
    _, c1, s1 = ahead_or_astern(
        s[STATE.thrust_starboard + k], s[STATE.starboard_cosine + k], s[STATE.starboard_sine + k]
    )
    _, c2, s2 = ahead_or_astern(s[STATE.thrust_port + k], s[STATE.port_cosine + k], s[STATE.port_sine + k])
    x, y = p[P.drive_x + k], p[P.drive_half_spacing + k]
    half_length, half_beam = p[P.barge_half_length + k], p[P.barge_half_beam + k]
    draught, strength = p[P.barge_draught + k], p[P.barge_wash + k]
    spread, radius = p[P.jet_spread + k], p[P.jet_radius + k]
    ahead_1, side_1, moment_1 = wash_on_barge(
        given_1,
        relative_sine * s1 - relative_cosine * c1,
        -relative_sine * c1 - relative_cosine * s1,
        -(tug_station + relative_cosine * x - relative_sine * y),
        -(tug_offset + relative_sine * x + relative_cosine * y),
        half_length, half_beam, draught, strength, spread, radius,
    )  # fmt: skip
    ahead_2, side_2, moment_2 = wash_on_barge(
        given_2,
        relative_sine * s2 - relative_cosine * c2,
        -relative_sine * c2 - relative_cosine * s2,
        -(tug_station + relative_cosine * x + relative_sine * y),
        -(tug_offset + relative_sine * x - relative_cosine * y),
        half_length, half_beam, draught, strength, spread, radius,
    )  # fmt: skip
    return ahead_1 + ahead_2, side_1 + side_2, moment_1 + moment_2
