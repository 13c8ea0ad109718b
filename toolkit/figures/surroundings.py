"""What lies about a manoeuvre: the basin's edge, shoals and the berth, as a history carries them (floor 6)."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.figures.reading_history import number
from toolkit.figures.scene import Scene

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["BEYOND", "Surroundings", "View", "draw_surroundings", "near_parts", "surroundings_of", "view_of"]

Points = NDArray[np.float64]

BEYOND = 1.6
"""Distance from the start, over that of the farthest corner of a hull, beyond which a view does not reach out."""

EDGE_STYLE: dict[str, Any] = {"fill": False, "edgecolor": "black", "linestyle": (0, (6, 2)), "linewidth": 1.1}


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """Edge, shoals and berth; points are (east, north) of the basin's centre [m].

    Attributes
    ----------
    radius : float
        Of a round basin about the centre [m]; NaN if none is given.
    edge : ndarray, shape (n, 2), or None
        Corners of the basin.
    shoals : tuple of ndarray, shape (n, 2)
        Corners of each shoal.
    berth : ndarray, shape (2, 2), or None
        Ends of the berth.
    """

    radius: float
    edge: Points | None
    shoals: tuple[Points, ...]
    berth: Points | None

    def legend(self) -> str:
        """How each part that is there is drawn; empty where there is none."""
        parts = (
            (self.edge is not None or math.isfinite(self.radius), "dashed: edge of the basin"),
            (bool(self.shoals), "grey area: shoal"),
            (self.berth is not None, "heavy grey line: berth"),
        )
        words = "; ".join(told for there, told in parts if there)
        return f"{words[0].upper()}{words[1:]}." if words else ""


@dataclass(frozen=True, kw_only=True)
class View:
    """What a plan view of a whole case shows.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        Corners of the hulls, and of those surroundings that lie near enough,
        as (east, north) [m].
    pair : float
        Largest reach, east or north, of barge and tug together at one moment [m].
    words : str
        On the edge of the basin; says so where it lies beyond the view or is not given.
    """

    points: Points
    pair: float
    words: str

    def reach(self) -> float:
        """Larger side of the view [m]."""
        return float(np.ptp(self.points, axis=0).max())


def view_of(scene: Scene, around: Surroundings, places: NDArray[np.int64]) -> View:
    """Find how far a plan view should reach.

    Parameters
    ----------
    scene : Scene
    around : Surroundings
        Parts farther from the start than :data:`BEYOND` times the hulls are
        drawn, but the view does not reach out to them.
    places : ndarray of int
        Entries looked at; the first is the start.
    """
    hulls = scene.corners(places)
    start = np.array([scene.barge.east[places[0]], scene.barge.north[places[0]]])
    near, words = near_parts(hulls, start, around)
    return View(
        points=np.vstack((hulls, *near)),
        pair=max(float(np.ptp(scene.corners(places[k : k + 1]), axis=0).max()) for k in range(places.size)),
        words=words,
    )


def near_parts(hulls: Points, start: Points, around: Surroundings) -> tuple[list[Points], str]:
    """Surroundings that a view of some hulls reaches out to, and words on the edge of the basin.

    Parameters
    ----------
    hulls : ndarray, shape (n, 2)
        Corners of all hulls as (east, north) [m].
    start : ndarray, shape (2,)
        The barge's midships at the start [m].
    around : Surroundings
        Parts farther from the start than :data:`BEYOND` times the hulls are left out.

    Returns
    -------
    list of ndarray, shape (n, 2)
        Corners of the parts near enough [m].
    str
        Says so where the edge lies beyond the view or is not given.
    """
    limit = BEYOND * float(np.abs(hulls - start).max())
    near = [shape for shape in (around.edge, *around.shoals, around.berth)
            if shape is not None and float(np.abs(shape - start).max()) <= limit]  # fmt: skip
    inside = any(shape is around.edge for shape in near)
    words = "edge of the basin as given" if around.edge is not None else "no basin radius given"
    if math.isfinite(around.radius):
        inside, words = around.radius <= limit, f"basin radius {around.radius:.0f} m"
        if inside:
            near.append(around.radius * np.array([[-1.0, -1.0], [1.0, 1.0]]))
    elif around.edge is None:
        inside = True
    return near, words if inside else f"{words} (beyond the drawing)"


def surroundings_of(history: xr.Dataset) -> Surroundings:
    """Read the surroundings of a history.

    Parameters
    ----------
    history : xarray.Dataset
        With ``basin_radius`` [m], and the attributes ``basin_edge`` (corners),
        ``basin_shoals`` (corners of each) and ``berth_line`` (two ends), each
        as JSON of points [north, east] of the basin's centre [m]; all optional.

    Returns
    -------
    Surroundings

    Raises
    ------
    StudyError
        For every attribute that is no such JSON.
    """
    problems: list[Problem] = []
    edges = _polygons(history, "basin_edge", 3, problems, many=False)
    shoals = _polygons(history, "basin_shoals", 3, problems, many=True)
    berths = _polygons(history, "berth_line", 2, problems, many=False)
    if berths and len(berths[0]) != 2:
        problems.append(_problem("berth_line", f"it has {len(berths[0])} points", "two points"))
    if problems:
        raise StudyError(problems)
    return Surroundings(
        radius=number(history, "basin_radius"),
        edge=edges[0] if edges else None,
        shoals=tuple(shoals),
        berth=berths[0] if berths else None,
    )


def _problem(name: str, what: str, wanted: str) -> Problem:
    return Problem(
        where=f"history attribute '{name}'",
        what=what,
        why="it is drawn in the plan view",
        remedy=f"Give {wanted} as JSON, each point [north, east] in metres from the basin's centre, or leave it out",
    )


def _polygons(history: xr.Dataset, name: str, least: int, problems: list[Problem], *, many: bool) -> list[Points]:
    """Polygons of an attribute as (east, north); what is wrong goes to `problems`."""
    text = history.attrs.get(name)
    if text is None or text == "":
        return []
    try:
        value = json.loads(text) if isinstance(text, str) else text
        if not isinstance(value, list):
            raise TypeError
        shapes = [np.asarray(shape, dtype=np.float64) for shape in (value if many or not value else [value])]
    except (TypeError, ValueError):
        shapes = [np.empty(0)]
    for shape in shapes:
        if shape.ndim != 2 or shape.shape[1] != 2 or len(shape) < least or not np.isfinite(shape).all():
            wanted = f"{'lists of ' if many else ''}{least} points or more"
            problems.append(_problem(name, f"{name} = {str(text)[:60]!r} holds no such points", wanted))
            return []
    return [shape[:, ::-1] for shape in shapes]


def draw_surroundings(ax: Any, found: Surroundings) -> None:
    """Draw edge (dashed), shoals (dotted over) and berth (heavy line) into axes of east and north [m]."""
    from matplotlib.patches import Circle, Polygon

    for shoal in found.shoals:
        ax.add_patch(Polygon(shoal, facecolor="#f0f0f0", edgecolor="#777777", hatch="..", linewidth=0.6, zorder=0.5))
    if math.isfinite(found.radius):
        ax.add_patch(Circle((0.0, 0.0), found.radius, **EDGE_STYLE))
    if found.edge is not None:
        ax.add_patch(Polygon(found.edge, **EDGE_STYLE))
    if found.berth is not None:
        ax.plot(*found.berth.T, color="#444444", linewidth=4.0, solid_capstyle="butt", zorder=0.8)
