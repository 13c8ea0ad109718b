"""Cases of a configuration run again, and the ground they sweep drawn (floor 6)."""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.configurations import Configuration
from toolkit.figures.folder import Folder
from toolkit.figures.reading_history import number
from toolkit.figures.scene import Hull, scene_of, swept_places
from toolkit.figures.surroundings import Surroundings, surroundings_of
from toolkit.figures.swept_runs import READ_SWEPT, draw_swept
from toolkit.figures.view import caption, default_place, number_axes
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_values
from toolkit.findings.swept import CONDITIONS, SweptRun, chosen_cases, swept_share
from toolkit.quantities import INPUTS, Outcome
from toolkit.quantities.units import BEARINGS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["add_swept", "rerun", "swept_run"]

_CONFIGURATION = ("tug", "barge", "towline")
"""Sections of a study file that make a configuration: held at one value where anything else is swept."""
_HELD = ("basin_radius",)
"""Inputs that are held besides: there is one basin in a figure."""
_MOST_TOLD = 4
_SPACING = 0.2
"""Most that a point of a hull moves from one outline to the next, over the smaller beam."""


def add_swept(
    out: Folder, part: Configuration, count: int, done: Callable[[int], object] = lambda runs: None
) -> xr.Dataset | None:
    """Run some cases of a configuration again and draw the ground they sweep.

    Tug, barge and towline are held at one value (see
    :func:`toolkit.figures.view.default_place`) where anything else is swept on
    a grid; all else varies, and the caption says over what.

    Parameters
    ----------
    out : Folder
        Where to write ``swept_outlines``.
    part : Configuration
        The cases.
    count : int
        Most runs; drawn at random with the seed of the study.
    done : callable
        Called with 1 after every run.

    Returns
    -------
    xarray.Dataset or None
        From :func:`toolkit.findings.swept.swept_share`; None, and a line among
        what is left out, where no case has been run.

    Raises
    ------
    StudyError
        If the results do not tell which case is which.
    """
    dataset, judged, notes = _held(part)
    cases = chosen_cases(dataset, count, seed=int(dataset.attrs.get("seed", 0)))
    if not cases:
        out.left_out.append(f"{part.titled('swept outlines')}: no case has been run that could be run again.")
        return None
    runs, around, same = rerun(dataset, cases, done)
    found = swept_share(runs)
    title = part.titled(f"ground swept by {len(runs)} run{'s' if len(runs) > 1 else ''}")
    lead = (READ_SWEPT, around.legend(), _runs_text(found), _origin_text(dataset, len(cases), len(cases) < count, same))
    text = caption(
        dataset, _picked(judged, cases), lead=[words for words in lead if words],
        notes=(*notes, _varying_text(dataset)),
    )  # fmt: skip
    out.sheet(draw_swept(found, around, title=title, caption=text), part.named("swept_outlines"), title)
    return found


def rerun(
    dataset: xr.Dataset, cases: Sequence[int], done: Callable[[int], object] = lambda runs: None
) -> tuple[list[SweptRun], Surroundings, int]:
    """Run cases again and keep where both vessels lay.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results that `toolkit.history` can run again.
    cases : sequence of int
        Positions in C order over the dimensions of ``outcome``; one at least.
    done : callable
        Called with 1 after every run.

    Returns
    -------
    runs : list of SweptRun
    around : Surroundings
        Of the first.
    same : int
        Runs that ended as the results say: fewer where these come from another
        model than the one at hand.
    """
    from toolkit.execution.history import history

    stored = np.ravel(dataset["outcome"].values)
    runs, around, same = [], None, 0
    for case in cases:
        with warnings.catch_warnings():  # another model is told of in the caption, once
            warnings.filterwarnings("ignore", message="the results were made with model")
            one = history(dataset, case=case)
        around = around or surroundings_of(one)
        runs.append(swept_run(one))
        same += int(Outcome[runs[-1].outcome]) == int(stored[case])
        done(1)
    assert around is not None
    return runs, around, same


def swept_run(history: xr.Dataset) -> SweptRun:
    """Outlines of both vessels of one case, close enough together to cover what they sweep.

    Parameters
    ----------
    history : xarray.Dataset
        From :func:`toolkit.history`.
    """
    scene = scene_of(history)
    barge = tug = np.empty((0, 4, 2))
    track = np.full((2, 2), np.nan)
    if scene is not None:
        places = swept_places(scene, _SPACING)
        barge, tug = (_outlines(hull, places) for hull in (scene.barge, scene.tug))
        ends = places[[0, -1]]
        track = np.column_stack((scene.barge.east[ends], scene.barge.north[ends]))
    rooms = [number(history, name) for name in ("room_to_edge", "clearance_to_edge")]
    return SweptRun(
        case=int(history.attrs["case"]),
        outcome=str(history.attrs["outcome"]),
        barge=barge,
        tug=tug,
        track=track,
        room=min((room for room in rooms if math.isfinite(room)), default=math.nan),
        conditions={name: number(history, name) for name in CONDITIONS},
    )


def _outlines(hull: Hull, places: NDArray[np.int64]) -> NDArray[np.float64]:
    return np.array([hull.at(int(place)) for place in places])


def _held(part: Configuration) -> tuple[xr.Dataset, xr.Dataset, tuple[str, ...]]:
    """Cases of one tug, barge and towline where anything else is swept on a grid, and words on what is held."""
    dataset, judged = part.dataset, part.judged
    axes = number_axes(dataset)
    vessels = [axis for axis in axes if axis in INPUTS and INPUTS[axis].section in _CONFIGURATION]
    held = [axis for axis in axes if axis in _HELD]
    if set(axes) - {*vessels, *held}:
        held += vessels
    places: dict[str, int] = {}
    notes = []
    for axis in held:
        places[axis], why = default_place(dataset, axis)
        value = display_text(axis, axis_values(dataset, axis)[places[axis]])
        notes.append(f"{long_name(axis)} {value} ({why} of {dataset.sizes[axis]})")
    return dataset.isel(places), judged.isel(places), tuple(notes)


def _varying_text(dataset: xr.Dataset) -> str:
    """Inputs that vary over the runs, and over what."""
    sampled = dataset["outcome"].dims == ("case",)
    names = [name for name in INPUTS if sampled and name in dataset.coords and dataset[name].dims == ("case",)]
    told = []
    for name in names or number_axes(dataset):
        values = list(dict.fromkeys(axis_values(dataset, name)))
        words = [display_text(name, value) for value in (values if isinstance(values[0], str) else sorted(values))]
        span = ", ".join(words)
        if len(words) > _MOST_TOLD:
            ends = [word.removeprefix(f"{BEARINGS.get(name)} ") for word in (words[0], words[-1])]
            span = " to ".join(ends) + ("" if sampled else f", {len(words)} values")
        told.append(f"{long_name(name)} ({span})")
    return f"what varies: {', '.join(told)}" if told else "nothing varies"


def _runs_text(found: xr.Dataset) -> str:
    """How many of the runs completed, and how the others ended."""
    count, whole = (int(found.attrs[f"{what}_count"]) for what in ("run", "completed"))
    codes, numbers = np.unique(found["outcome"].values, return_counts=True)
    ends = [
        f"{Outcome(int(code)).name.replace('_', ' ')} {times}"
        for code, times in zip(codes, numbers, strict=True)
        if int(code) != int(Outcome.completed)
    ]
    text = f"{whole} of {count} runs completed" + (f"; failed: {', '.join(ends)}." if ends else ".")
    lost = int(found.attrs["without_place"])
    return text + (f" {lost} of them cannot be drawn: no place is known." if lost else "")


def _origin_text(dataset: xr.Dataset, count: int, fewer: bool, same: int) -> str:
    """Where the runs come from, and whether they ended as the results say."""
    from toolkit.motion.engine import model_hash

    size = dataset["outcome"].size
    text = f"{count} different cases of {size:,}, " + (
        "all that there are." if fewer else f"drawn at random with seed {int(dataset.attrs.get('seed', 0))}."
    )
    made_with = str(dataset.attrs.get("model_hash", ""))
    if made_with and made_with != model_hash():
        text += f" Run again with model {model_hash()}, which is not that of the results."
    return text if same == count else f"{text} {count - same} of them ended otherwise than in the results."


def _picked(judged: xr.Dataset, cases: Sequence[int]) -> xr.Dataset:
    """Judgement of some cases, along one axis."""
    import xarray as xr

    dims = judged["passes"].dims
    if not dims:
        return judged
    places = np.unravel_index(np.asarray(cases), judged["passes"].shape)
    found: dict[Any, Any] = {dim: xr.DataArray(place, dims="run") for dim, place in zip(dims, places, strict=True)}
    return judged.isel(found)
