"""Invented results that keep the dataset contract, for tests of findings and figures.

The numbers are made by simple formulas that rise and fall the way a swing's do;
they are not the model's. The place is the invented Marrowby Basin.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr

from toolkit.quantities import DERIVED, INPUTS, OUTCOMES, Outcome

TONNE_FORCE = 9806.65
KNOT = 1852.0 / 3600.0
LIMITS = {
    "peak_heel_fraction": 0.67,
    "tension_over_mbl": 0.5,
    "tension_over_swl": 1.0,
    "time_to_steady": 720.0,
    "swept_radius_all": 95.0,
}


def default_axes(size: int = 6) -> dict[str, Any]:
    """Axes of a grid in dataset units: pull, displacement, wind speed and direction."""
    return {
        "bollard_pull": np.geomspace(5, 80, size) * TONNE_FORCE,
        "displacement": np.geomspace(300, 10000, size) * 1e3,
        "wind_speed": np.array([0.0, 10.0, 20.0, 30.0]) * KNOT,
        "wind_from": np.arange(0.0, 360.0, 45.0),
    }


def _inputs(axes: Mapping[str, Any], fixed: Mapping[str, Any]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name, quantity in INPUTS.items():
        if name not in axes:
            values[name] = fixed.get(name, quantity.default)
    return values


def _given(inputs: Mapping[str, Any]) -> dict[str, Any]:
    """Fixed inputs as a dataset holds them: without those that are derived."""
    return {name: value for name, value in inputs.items() if isinstance(value, str) or not np.isnan(value)}


def _outcomes(x: Mapping[str, Any]) -> dict[str, Any]:
    """Formulas over broadcastable arrays of inputs."""
    pull = x["bollard_pull"] * x["power_setting"]
    mass = x["displacement"]
    push = x["manoeuvre"] == "swing_push"
    length = 30.0 * (mass / 300e3) ** 0.36
    wind_force = 6.0 * (length * 2.2) * x["wind_speed"] ** 2
    across = 0.6 + 0.4 * np.cos(np.deg2rad(x["wind_from"] - 240.0))
    demand = 1.25 * wind_force / x["bollard_pull"]
    net = np.maximum(pull - wind_force * across, 1.0)
    time = 25.0 + 1.6 * np.sqrt(mass * length / net) * (1.0 + 0.25 * ~push)
    heel = np.minimum(0.12 + 0.5 * pull / (20 * TONNE_FORCE) * (1.0 + 0.02 * x["wind_speed"]), 1.4)
    tension = np.where(push, np.nan, pull * (1.15 + 2.0 / x["line_length"]) + 0.3 * wind_force)
    swl = (mass / 1e3) ** 0.52 * 0.42 * TONNE_FORCE
    radius = 0.5 * length * np.where(push, 1.25, 1.0) + np.where(push, 10.0, x["line_length"] + 25.0)
    drift = 0.3 * length * np.where(push, 1.6, 1.0) + 1.5 * x["wind_speed"]
    mbl = 2.5 * x["bollard_pull"]
    rate = 180.0 / time
    values = {
        "end_time": time + 90.0, "time_to_turn": time, "time_to_steady": time + 60.0,
        "overshoot": 12.0 * rate, "residual_speed": 0.04 * x["wind_speed"] + 0.0 * rate,
        "residual_swing_rate": 0.02 * rate, "peak_swing_rate": 1.6 * rate,
        "peak_heel": 13.0 * heel, "peak_heel_toward": 13.0 * heel, "peak_heel_away": 3.0 * heel,
        "peak_heel_fraction": heel, "time_above_heel_caution": 60.0 * heel, "peak_tension": tension,
        "peak_tension_3s": 0.9 * tension, "mean_tension": 0.6 * tension,
        "tension_over_mbl": tension / mbl, "tension_over_swl": 0.9 * tension / swl,
        "peak_line_energy": tension * 0.3, "share_of_time_slack": 0.02 + 0 * tension,
        "poorest_line_lead": 12.0 + 0 * tension, "peak_lead_off_axis": 8.0 + 0 * tension,
        "peak_contact_force": np.where(push, pull * 1.2, np.nan), "drift_distance": drift,
        "swept_radius_barge": radius - np.where(push, 4.0, 20.0), "swept_radius_all": radius,
        "room_to_edge": x["basin_radius"] - radius, "saturated_share": np.minimum(mass / 1e7, 1.0),
        "drive_energy": pull * time * 6.0, "shifts": 1.0 * push, "share_beyond_drag_speed": 0.0,
        "range_flags": 0.0,
    }  # fmt: skip
    outcome = np.full(np.broadcast(*values.values(), demand).shape, int(Outcome.completed))
    outcome = np.where(time > 1500.0, int(Outcome.not_steady), outcome)
    outcome = np.where(pull < 1.02 * wind_force * across, int(Outcome.lost_station), outcome)
    outcome = np.where(heel > 1.0, int(Outcome.deck_edge_immersed), outcome)
    values |= {"depth_ratio": x["water_depth"] / 3.0, "displacement_as_loaded": mass, "static_wind_demand": demand}
    return {"outcome": outcome, **values}


def results(
    axes: Mapping[str, Any] | None = None,
    *,
    limits: Mapping[str, float] | None = None,
    outcome: int | None = None,
    not_run: Sequence[int] = (),
    **fixed: Any,
) -> xr.Dataset:
    """Make a grid of invented results.

    Parameters
    ----------
    axes : mapping, optional
        Swept inputs and their values in dataset units; `default_axes` if None.
    limits : mapping, optional
        Limits put into the attribute; `LIMITS` if None.
    outcome : int, optional
        An outcome code for every case.
    not_run : sequence of int
        Flat positions of cases that were not run.
    **fixed
        Values of inputs that are not swept.
    """
    axes = default_axes() if axes is None else dict(axes)
    coords = {name: np.asarray(values) for name, values in axes.items()}
    shape = tuple(v.size for v in coords.values())
    inputs = _inputs(axes, fixed)
    spread = {
        name: values.reshape([-1 if d == name else 1 for d in coords]) for name, values in coords.items()
    }  # fmt: skip
    values = _outcomes({**{k: np.asarray(v) for k, v in inputs.items()}, **spread})
    codes = np.broadcast_to(values.pop("outcome"), shape).astype(np.int8).copy()
    if outcome is not None:
        codes[...] = outcome
    codes.ravel()[list(not_run)] = 0
    done = codes == int(Outcome.completed)
    data: dict[str, Any] = {"outcome": (tuple(coords), codes)}
    kept_always = {"peak_heel", "peak_heel_fraction", "end_time", "peak_tension", *DERIVED}
    for name, value in values.items():
        array = np.broadcast_to(value, shape).astype(np.float64)
        keep = codes != 0 if name in kept_always else done
        data[name] = (tuple(coords), np.where(keep, array, np.nan))
    dataset = xr.Dataset(data, coords={**coords, **_given(inputs)})
    for name in dataset.variables:
        quantity = {**INPUTS, **DERIVED, **OUTCOMES}[str(name)]
        dataset[name].attrs = {"long_name": quantity.long_name, "units": quantity.unit or "1"}
    return dataset.assign_attrs(attributes(LIMITS if limits is None else limits))


def attributes(limits: Mapping[str, float]) -> dict[str, str]:
    """Attributes of an invented dataset."""
    return {
        "Conventions": "CF-1.11",
        "title": "Marrowby Basin, invented",
        "toolkit_version": "0.1.0",
        "study_hash": "0123456789abcdef",
        "model_hash": "fedcba9876543210",
        "created": "2001-01-01T00:00:00Z",
        "limits": json.dumps(dict(limits)),
    }


def samples(count: int = 200, seed: int = 5) -> xr.Dataset:
    """Invented results along ``case``: pull, displacement and wind drawn at random."""
    generator = np.random.default_rng(seed)
    drawn = {
        "bollard_pull": generator.uniform(5, 80, count) * TONNE_FORCE,
        "displacement": np.exp(generator.uniform(np.log(300), np.log(10000), count)) * 1e3,
        "wind_speed": generator.uniform(0, 15, count),
    }
    inputs = _inputs(drawn, {})
    values = _outcomes({**{k: np.asarray(v) for k, v in inputs.items()}, **drawn})
    codes = values.pop("outcome").astype(np.int8)
    done = codes == int(Outcome.completed)
    data = {k: ("case", np.where(done, np.broadcast_to(v, count), np.nan)) for k, v in values.items()}
    coords = {**{k: ("case", v) for k, v in drawn.items()}, **_given(inputs)}
    return xr.Dataset({"outcome": ("case", codes), **data}, coords=coords, attrs=attributes(LIMITS))


def history(manoeuvre: str = "swing_pull", count: int = 700, *, outcome: int = 1) -> xr.Dataset:
    """Invented time history of one case, with facts as attributes, as a re-run gives it."""
    pull = manoeuvre == "swing_pull"
    time = np.linspace(0.0, 350.0, count)
    share = np.clip((time - 15.0) / 270.0, 0.0, 1.0)
    turned = 184.0 * (share - np.sin(2 * np.pi * share) / (2 * np.pi))
    heading = np.deg2rad(turned)
    north, east = 9.0 * np.sin(heading / 2), 14.0 * (1 - np.cos(heading / 2))
    reach = 17.0 + (27.0 if pull else 0.0)
    side = heading + np.deg2rad(75.0 if pull else 0.0)
    bow_north, bow_east = north + 14.0 * np.cos(heading), east + 14.0 * np.sin(heading)
    if pull:
        tug_heading = side + np.pi
        tug_north, tug_east = bow_north + (reach - 14.0) * np.cos(side), bow_east + (reach - 14.0) * np.sin(side)
    else:
        tug_heading = heading + np.pi / 2
        tug_north = bow_north - 17.0 * np.cos(tug_heading)
        tug_east = bow_east - 17.0 * np.sin(tug_heading)
    load = 6.5 * TONNE_FORCE * np.sin(np.pi * share) * (1.0 + 0.2 * np.sin(time / 3.0) * np.exp(-time / 80.0))
    phase = np.select([time < 15, time < 90, time < 180, time < 190, time < 290], [0, 1, 2, 3, 4], 5)
    channels = {
        "barge_north": north, "barge_east": east, "barge_heading": np.rad2deg(heading), "angle_turned": turned,
        "swing_rate": np.gradient(turned, time), "tug_north": tug_north, "tug_east": tug_east,
        "tug_heading": np.rad2deg(tug_heading) % 360.0, "tug_heel": 8.0 * load / 6.5 / TONNE_FORCE,
        "line_tension": load if pull else np.full(count, np.nan),
        "contact_force": np.full(count, np.nan) if pull else load,
        "line_lead": 5.0 * np.sin(time / 20.0) if pull else np.full(count, np.nan),
        "thrust_port": 0.5 * load, "thrust_starboard": 0.48 * load,
        "azimuth_port": (170.0 + 15.0 * np.sin(time / 9.0)) % 360,
        "azimuth_starboard": 190.0 - 9.0 * np.sin(time / 9.0),
        "phase": phase.astype(float), "power_ordered": np.round(load / 6.5 / TONNE_FORCE, 1) * 0.5,
    }  # fmt: skip
    facts = {
        "barge_length": 34.0, "barge_beam": 9.0, "tug_length": 24.0, "tug_beam": 9.5, "deck_edge_angle": 13.0,
        "line_mbl": 75.0 * TONNE_FORCE if pull else np.nan, "barge_fitting_swl": 9.0 * TONNE_FORCE if pull else np.nan,
        "tug_towing_point": -3.0, "barge_towing_point": 14.0, "outcome": Outcome(outcome).name,
        "time_to_turn": 280.0, "time_to_steady": 284.0, "peak_heel": 9.2, "drift_distance": 16.0,
        "swept_radius_barge": 33.0, "swept_radius_all": 62.0 if pull else 48.0, "peak_tension": float(np.max(load)),
        "end_time": 350.0, "tension_over_mbl": 0.11, "tension_over_swl": 0.9,
    }  # fmt: skip
    inputs = _inputs({}, {"manoeuvre": manoeuvre, "wind_speed": 7.7, "wind_from": 240.0, "current_speed": 0.25,
                          "current_to": 90.0, "basin_radius": 95.0})  # fmt: skip
    inputs = {k: v for k, v in _given(inputs).items() if k not in facts}
    return xr.Dataset(
        {k: ("time", v) for k, v in channels.items()},
        coords={"time": time, **inputs},
        attrs=attributes(LIMITS) | facts,
    )
