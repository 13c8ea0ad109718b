"""The basin of a study: its edge, shoals in it, and a berth, from the table `[basin]`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.quantities import Quantity
from toolkit.quantities.units import parse

if TYPE_CHECKING:
    from toolkit.study.study import Study

__all__ = ["Basin", "basin_from_canonical", "basin_problems", "basin_warnings", "read_basin"]

Point = tuple[float, float]
Polygon = tuple[Point, ...]

KEYS = ("edge", "shoals", "berth")
MOST_EDGES = 200
"""Edges of basin and shoals together: every one is measured every second of a case."""
MOST_STARTS = 500
"""Starts that are looked at."""
FARTHEST = 5000.0
CORNER = Quantity(
    name="corner", long_name="place north or east of the basin's centre", unit="m", user_unit="m", role="input",
    section="basin", low=-FARTHEST, high=FARTHEST, default=20.0, why="a basin is not larger",
)  # fmt: skip
START_INPUTS = (
    "displacement", "barge_length", "barge_beam", "bollard_pull", "tug_type", "tug_length", "tug_beam", "line_length",
    "manoeuvre", "tug_attitude", "working_end", "turn", "initial_heading", "start_north", "start_east", "station_from",
)  # fmt: skip
PAIR = "Write a place as ['20 m', '-35 m']: north and east of the basin's centre"


@dataclass(frozen=True, kw_only=True)
class Basin:
    """Edges that both vessels keep clear of; every place north and east of the basin's centre [m].

    Attributes
    ----------
    edge : tuple of pairs
        Corners of the basin, in which both lie; none: open water.
    shoals : tuple of tuples of pairs
        Corners of each shoal, on which neither may come.
    berth : tuple of two pairs, or empty
        Ends of a berth, which is drawn and decides nothing.
    """

    edge: Polygon = ()
    shoals: tuple[Polygon, ...] = ()
    berth: Polygon = ()

    @property
    def polygons(self) -> tuple[tuple[int, Polygon], ...]:
        """Every polygon with its number: 0 for the basin, 1, 2, ... for shoals."""
        numbered = [(0, self.edge)] if self.edge else []
        return (*numbered, *enumerate(self.shoals, start=1))

    @property
    def edges(self) -> NDArray[np.float64]:
        """Edges as `toolkit.motion.room.clearance` takes them, shape (edges, 5)."""
        rows = [
            (*corner, *polygon[(place + 1) % len(polygon)], float(number))
            for number, polygon in self.polygons
            for place, corner in enumerate(polygon)
        ]
        return np.array(rows, dtype=np.float64).reshape(-1, 5)

    def canonical(self) -> dict[str, Any]:
        """Content that decides results, and the berth, ready for JSON."""
        return {
            "edge": [list(corner) for corner in self.edge],
            "shoals": [[list(corner) for corner in shoal] for shoal in self.shoals],
            "berth": [list(corner) for corner in self.berth],
        }


def basin_from_canonical(content: Mapping[str, Any]) -> Basin:
    """Inverse of `Basin.canonical`; raises KeyError, TypeError or ValueError for what is none."""

    def polygon(corners: Sequence[Any]) -> Polygon:
        found = tuple((float(north), float(east)) for north, east in corners)
        if not all(abs(value) <= FARTHEST for corner in found for value in corner):
            raise ValueError("a corner of the basin is out of range")
        return found

    return Basin(
        edge=polygon(content["edge"]), shoals=tuple(polygon(shoal) for shoal in content["shoals"]),
        berth=polygon(content["berth"]),
    )  # fmt: skip


def read_basin(table: Mapping[str, Any], name: str, problems: list[Problem]) -> Basin | None:
    """Basin of a study file.

    Parameters
    ----------
    table : mapping
        Keys and values of `[basin]` as TOML gave them.
    name : str
        File name, for messages.
    problems : list of Problem
        Added to.

    Returns
    -------
    Basin or None
        None if there is a problem.
    """
    from toolkit.study.tables import nearest

    before = len(problems)
    for key in table:
        if key not in KEYS:
            problems.append(
                Problem(where=f"{name}: basin.{key}", what=f"{key} is not a key of [basin]", remedy=nearest(key, KEYS))
            )  # fmt: skip
    if not table:
        problems.append(Problem(where=f"{name}: basin", what="[basin] is empty", remedy=f"Write edge = [...]. {PAIR}"))
    edge = _polygon(table["edge"], f"{name}: basin.edge", problems) if "edge" in table else ()
    given = table.get("shoals", [])
    if not isinstance(given, list):
        problems.append(Problem(where=f"{name}: basin.shoals", what="shoals is not a list of shoals", remedy=PAIR))
        given = []
    shoals = [_polygon(shoal, f"{name}: basin.shoals[{place}]", problems) for place, shoal in enumerate(given)]
    berth = _places(table["berth"], f"{name}: basin.berth", problems) if "berth" in table else ()
    if berth is not None and "berth" in table and (len(berth) != 2 or berth[0] == berth[-1]):
        problems.append(
            Problem(where=f"{name}: basin.berth", what=f"berth has {len(set(berth))} ends and not two", remedy=PAIR)
        )  # fmt: skip
    if len(problems) > before:
        return None
    basin = Basin(edge=edge or (), shoals=tuple(shoal for shoal in shoals if shoal), berth=berth or ())
    count = len(basin.edges)
    if count > MOST_EDGES:
        problems.append(
            Problem(where=f"{name}: basin", what=f"{count} edges are more than {MOST_EDGES}",
                    why="each is measured every second of a case", remedy="Leave corners out")
        )  # fmt: skip
        return None
    return basin


def _places(value: object, where: str, problems: list[Problem]) -> Polygon | None:
    """Places of a list of pairs; None where there is a problem."""
    if not isinstance(value, list):
        problems.append(Problem(where=where, what="it is not a list of places", remedy=PAIR))
        return None
    found: list[Point] = []
    before = len(problems)
    for place, pair in enumerate(value):
        if not isinstance(pair, list) or len(pair) != 2:
            problems.append(Problem(where=f"{where}[{place}]", what=f"{str(pair)[:60]} is not a place", remedy=PAIR))
            continue
        values: list[float] = []
        for number in pair:
            try:
                values.append(float(f"{float(parse(CORNER, number, where=f'{where}[{place}]')):.12g}"))
            except StudyError as error:
                problems.extend(error.problems)
        if len(values) == 2:
            found.append((values[0], values[1]))
    return tuple(found) if len(problems) == before else None


def _polygon(value: object, where: str, problems: list[Problem]) -> Polygon | None:
    """Corners of a polygon that crosses itself nowhere; None where there is a problem."""
    corners = _places(value, where, problems)
    if corners is None:
        return None
    if len(corners) > 1 and corners[0] == corners[-1]:
        corners = corners[:-1]  # closed by hand
    if len(corners) < 3:
        problems.append(Problem(where=where, what=f"it has {len(corners)} corners", why="an area has three or more"))
        return None
    if len(set(corners)) < len(corners):
        twice = next(corner for corner in corners if corners.count(corner) > 1)
        problems.append(
            Problem(where=where, what=f"it comes to ({twice[0]:g} m, {twice[1]:g} m) twice",
                    remedy="Give every corner once, in order round the area")
        )  # fmt: skip
        return None
    crossing = _crossing(corners)
    if crossing:
        first, second = crossing
        problems.append(
            Problem(where=where, what=f"its sides from corner {first} and from corner {second}, counted from 0, cross",
                    remedy="Give the corners in order round the area")
        )  # fmt: skip
        return None
    return corners


def _crossing(corners: Polygon) -> tuple[int, int] | None:
    """Two sides of a polygon that meet where they should not; None if there are none."""
    count = len(corners)
    sides = [(corners[i], corners[(i + 1) % count]) for i in range(count)]
    for i in range(count):
        for j in range(i + 1, count):
            together = j == i + 1 or (i == 0 and j == count - 1)
            if _meet(*sides[i], *sides[j]) if not together else _folds(corners, j if j == i + 1 else 0):
                return i, j
    return None


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _on(a: Point, b: Point, c: Point) -> bool:
    """Whether c, in line with a and b, lies between them."""
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two segments have a point in common."""
    one, two, three, four = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if one * two < 0.0 and three * four < 0.0:
        return True
    touches = ((one, a, b, c), (two, a, b, d), (three, c, d, a), (four, c, d, b))
    return any(turn == 0.0 and _on(p, q, r) for turn, p, q, r in touches)


def _folds(corners: Polygon, place: int) -> bool:
    """Whether a polygon turns straight back at a corner."""
    a, b, c = corners[place - 1], corners[place], corners[(place + 1) % len(corners)]
    back = (a[0] - b[0]) * (c[0] - b[0]) + (a[1] - b[1]) * (c[1] - b[1])
    return _turn(a, b, c) == 0.0 and back > 0.0


def _beyond(study: Study) -> dict[str, NDArray[np.bool_]]:
    """Whether barge and tug lie where they must not at the start, for an even selection of what decides it."""
    from toolkit.motion.layout import PARAMETER_ROW, STATE_ROW
    from toolkit.motion.prepare import prepare
    from toolkit.motion.room import clearance
    from toolkit.study.combinations import combinations

    edges = study.basin.edges if study.basin is not None else np.zeros((0, 5))
    prepared = prepare(combinations(study, START_INPUTS, MOST_STARTS))
    s, p = prepared.initial, prepared.parameters
    found = {}
    for hull in ("barge", "tug"):
        rows = [s[getattr(STATE_ROW, f"{hull}_{part}")] for part in ("north", "east", "cosine", "sine")]
        rows += [p[getattr(PARAMETER_ROW, f"{hull}_half_{part}")] for part in ("length", "beam")]
        found[hull] = np.array([clearance(edges, *map(float, each)) <= 0.0 for each in zip(*rows, strict=True)])
    return found


def basin_problems(study: Study) -> list[Problem]:
    """The barge lies beyond the basin's edge, or on a shoal, in every case as it begins."""
    if study.basin is None or not len(study.basin.edges) or not _beyond(study)["barge"].all():
        return []
    return [
        Problem(where=f"{study.source}: basin", what="in every case the barge begins beyond the edge or on a shoal",
                why="all four of her corners have to lie within the basin and clear of shoals",
                remedy="Move her with environment.start_north and start_east, or check the order of north and east")
    ]  # fmt: skip


def basin_warnings(study: Study) -> list[str]:
    """Cases in which a vessel begins where she must not, in sentences."""
    if study.basin is None or not len(study.basin.edges):
        return []
    found = []
    for hull, beyond in _beyond(study).items():
        share = float(np.mean(beyond))
        if share > 0.0:
            part = "all" if share == 1.0 else f"{max(1, math.floor(100.0 * share)):d} percent"
            where = "beyond the basin's edge or on a shoal"
            found.append(f"In {part} of the cases the {hull} begins {where}: the outcome is `edge_met`.")
    return found
