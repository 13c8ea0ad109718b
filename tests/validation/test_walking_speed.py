"""The steady speed of a tug that walks, by the balance of her drives, the flow through them and her hull's drag."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import fsolve

from tests.one_case import TONNE_FORCE, columns_of
from toolkit.motion.crew import HOLD_SHARE, OPPOSED_SHARE, OPPOSED_UNTIL
from toolkit.motion.history import case_history
from toolkit.motion.manoeuvres.alone import COUPLE_SHARE
from toolkit.particulars import (
    depth_corrected_coefficient,
    ram_coefficient,
    tandem_thrust_ratio,
    tug_from_bollard_pull,
)

PULL = 30 * TONNE_FORCE
CALM = {"wind_load_multiplier": 0.0, "power_step": 0.001, "walk_distance": 300.0, "bollard_pull": PULL}
CODES = {"tractor": 0, "azimuth_stern_drive": 1}


def balanced_speed(tug_type: str, power: float) -> float:
    """Speed [m/s] at which side force, fore-and-aft force and yaw moment are balanced, from the particulars alone."""
    tug = tug_from_bollard_pull(bollard_pull=PULL, tug_type_code=np.array(CODES[tug_type]))
    full, half, x = float(tug.unit_thrust_ahead), float(tug.drive_half_spacing), float(tug.drive_x)
    centre = float(tug.lateral_resistance_x)
    # the side force that leaves the couple enough: equal moments of force and couple about the centre of the drag
    inner = COUPLE_SHARE * half
    side = HOLD_SHARE * power * full * inner / np.hypot(inner, x - centre)
    opposed = OPPOSED_SHARE * full * max(1.0 - side / (OPPOSED_UNTIL * full), 0.0)
    drag = 0.5 * 1025.0 * float(depth_corrected_coefficient(tug.cross_flow_drag_coefficient, tug.draught, 15.0))
    drag *= float(tug.length * tug.draught)
    ram = float(ram_coefficient(tug.propeller_diameter, 1025.0))
    astern = float(tug.unit_thrust_astern) / full
    tandem = float(tandem_thrust_ratio(2.0 * half / tug.propeller_diameter))

    def given(ahead: float, across: float, other: float, inward: float) -> tuple[float, float]:
        """Thrust in its direction, less what going astern and the other drive's wash take, and its direction."""
        thrust, angle = np.hypot(ahead, across), np.arctan2(across, ahead)
        share = 1.0 - 0.5 * (1.0 - astern) * (1.0 - np.cos(angle))
        if inward > 0.0:  # the other's wash comes this way, `inward` off the line between them
            cube = np.rad2deg(inward) ** 3
            left = tandem + (1.0 - tandem) * cube / (130.0 / tandem**3 + cube)
            share *= 1.0 - min(other / thrust, 1.0) * (1.0 - left)
        return thrust * share, angle

    def residual(unknown: np.ndarray) -> list[float]:
        speed, couple, ahead = unknown
        starboard, port = (ahead - couple, side - opposed), (ahead + couple, side + opposed)
        # the starboard drive's wash goes to port, toward the other; the port drive's goes clear of it
        toward = np.arctan2(abs(starboard[0]), starboard[1]) if starboard[1] > 0.0 else 0.0
        g1, a1 = given(*starboard, 0.0, 0.0)
        g2, a2 = given(*port, np.hypot(*starboard), toward)
        forces = []
        for thrust, angle in ((g1, a1), (g2, a2)):
            pull, flow = thrust * (1.0 - 0.1 * speed * np.sin(angle)), ram * np.sqrt(thrust) * speed * np.cos(angle)
            forces.append((pull * np.cos(angle) + flow * np.sin(angle), pull * np.sin(angle) - flow * np.cos(angle)))
        (ahead_1, side_1), (ahead_2, side_2) = forces
        hull = drag * speed * speed
        moment = x * (side_1 + side_2) + half * (ahead_2 - ahead_1) - centre * hull
        return [(side_1 + side_2 - hull) / full, moment / full, (ahead_1 + ahead_2) / full]

    guess = [0.5, side * (x - centre) / half, 0.0]
    solution, _, flag, message = fsolve(residual, guess, full_output=True)
    assert flag == 1, message
    return float(solution[0])


@pytest.mark.parametrize("tug_type", CODES)
@pytest.mark.parametrize("power", [0.25, 0.5, 1.0])
def test_steady_walk_is_the_balance_of_drives_and_drag(tug_type: str, power: float) -> None:
    channels, facts = case_history(columns_of(manoeuvre="walk", tug_type=tug_type, power_setting=power, **CALM))
    assert facts["outcome"] == 1.0
    time, east = channels["time"], channels["tug_east"]
    half_way = (time > 90.0) & (east - east[0] < 240.0)
    speed = np.polyfit(time[half_way], east[half_way], 1)[0]
    assert speed == pytest.approx(balanced_speed(tug_type, power), rel=0.03)  # less than 0.5 percent but at low power
