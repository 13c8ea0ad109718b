"""Holding a barge in a steady beam wind: the power in use is the static force of the wind over the bollard pull.

Closed form, statics of a barge at rest: the force of the wind abeam, by the barge's own rows (half the air's density,
windage, height factor, coefficient), is all that pulls at her. Her windage is symmetric fore and aft, so its centre is
amidships, where the tug works. Wash is off: it takes a part of the pull that the closed form does not know.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.one_case import REFERENCE, TONNE_FORCE
from tests.stacked import endings, run, stacked
from toolkit.motion.layout import PARAMETER_ROW
from toolkit.motion.prepare import prepare

BASE: dict[str, Any] = {
    "manoeuvre": "hold", "bollard_pull": 5 * TONNE_FORCE, **REFERENCE, "loading": 0.3, "power_setting": 1.0,
    "line_length": 40.0, "wash_on_barge_share": 0.0, "wind_from": 90.0,
}  # fmt: skip


def static_shares(cases: list[dict[str, Any]]) -> np.ndarray:
    """Static force of the beam wind on the barge over the bollard pull."""
    p = prepare(stacked(cases)).parameters
    wind = np.hypot(p[PARAMETER_ROW.wind_north], p[PARAMETER_ROW.wind_east])
    force = p[PARAMETER_ROW.barge_wind_lateral] * p[PARAMETER_ROW.barge_wind_transverse] * wind**2
    return np.asarray(force / (2.0 * p[PARAMETER_ROW.unit_thrust]))


@pytest.mark.parametrize("way", ["onto", "off"])
def test_power_in_use_is_the_static_share(way: str) -> None:
    cases = [{**BASE, "side_way": way, "tug_type": tug, "wind_speed": v}
             for tug in ("tractor", "azimuth_stern_drive", "conventional") for v in (12.0, 18.0)]  # fmt: skip
    found, share = run(cases), static_shares(cases)
    assert endings(found) == ["completed"] * len(cases)
    assert 0.1 < share.min() < share.max() < 0.4
    # a line that hangs pulls by its weight too, and a push is a shade firmer than it need be: 3 percent
    np.testing.assert_allclose(found["mean_power_held"], share, rtol=0.03)


@pytest.mark.parametrize("way", ["onto", "off"])
def test_never_held_where_the_static_force_exceeds_the_pull(way: str) -> None:
    cases = [{**BASE, "side_way": way, "wind_speed": 29.0, "bollard_pull_derate": derate, "tug_type": tug}
             for derate in (0.3, 0.6, 0.8) for tug in ("tractor", "azimuth_stern_drive")]  # fmt: skip
    assert static_shares(cases).min() > 1.0
    found = run(cases)
    assert not set(endings(found)) & {"completed", "not_run"}
