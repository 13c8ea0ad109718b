"""One picture of a case at one moment: plan view, clock, and strips of time beside it (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.reading_history import (
    channel,
    clock,
    events_of,
    outcome_name,
    phase_spans,
    streams_of,
)
from toolkit.figures.scene import Drive, Scene, scene_of, swept_places
from toolkit.figures.strips import Strip, strips_of
from toolkit.figures.style import CAUTION, DIRECTION_NOTE, nothing_to_draw, wrapped
from toolkit.figures.surroundings import draw_surroundings, surroundings_of, view_of
from toolkit.findings.limits import limits_of, limits_text
from toolkit.findings.reading import provenance
from toolkit.quantities.channels import CHANNELS
from toolkit.quantities.units import format_value

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["DOTS", "HEIGHT", "INKS", "WIDTH", "MovingView", "Picture", "thrust_arrow"]

WIDTH, HEIGHT = 960, 640
"""Size of a picture [pixels], both even, as films want them."""

DOTS = 100
"""Pixels an inch."""

SMALL, PLAIN, LARGE = 7.0, 8.0, 15.0
"""Sizes of words [points]; at 100 dots an inch the smallest are 10 pixels high."""

DARK, BLUE, THRUST, BARGE_FILL, TUG_FILL = "#1a1a1a", "#00224e", "#e06000", "#dcdcdc", "#cfc08a"
INKS = (DARK, BLUE, THRUST, BARGE_FILL, TUG_FILL, "#777777")
"""Colours of what is drawn, each told by its shape and shade as well."""

WHOLE_VIEW = 4.0
"""Reach of the whole case over that of barge and tug together, up to which one view shows it all."""

WINDOW = 3.0
"""Size of a view that follows the barge, over that of barge and tug together."""

Picture = NDArray[np.uint8]


def thrust_arrow(drive: Drive, place: int, metres: float) -> NDArray[np.float64]:
    """Arrow of a drive's thrust on the tug.

    Parameters
    ----------
    drive : Drive
    place : int
        Entry.
    metres : float
        Length of the arrow [m]; it begins at the drive.

    Returns
    -------
    ndarray, shape (7, 2)
        Corners, forward and to starboard of the tug's midships [m].
    """
    head = min(0.5 * metres, 2.4)
    shaft, wide = 0.16 * head + 0.15, 0.45 * head + 0.2
    along = np.array([0.0, metres - head, metres - head, metres, metres - head, metres - head, 0.0])
    across = np.array([-shaft, -shaft, -wide, 0.0, wide, shaft, shaft])
    turn = math.radians(float(drive.direction[place]))
    c, s = math.cos(turn), math.sin(turn)
    return np.column_stack((drive.ahead + along * c - across * s, drive.starboard + along * s + across * c))


class MovingView:
    """Painter of the pictures of one case.

    What stands still is painted once and copied; only what moves is painted
    anew. Make and use it inside :func:`toolkit.figures.style.drawing`.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``, facts as attributes or scalar variables.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the attribute ``limits``.
    """

    def __init__(self, history: xr.Dataset, limits: object | None = None) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self._history = history
        self._scene = scene_of(history)
        self._strips = strips_of(history, limits)
        self._around = surroundings_of(history)
        self._spans = phase_spans(history)
        self._power = channel(history, "power_ordered")
        self._figure = Figure(figsize=(WIDTH / DOTS, HEIGHT / DOTS), dpi=DOTS)
        self._canvas: Any = FigureCanvasAgg(self._figure)
        self._moving: list[Any] = []
        self._center: NDArray[np.float64] | None = None
        self._window = math.inf
        self._words(limits)
        self._streams()
        self._plan = self._figure.add_axes((0.062, 0.175, 0.565, 0.755))
        if self._scene is None:
            nothing_to_draw(self._plan, f"Nothing moves: {outcome_name(history)}.\nThe history holds no positions.")
        else:
            self._add_plan(self._scene)
        self._clock = self._text(0.665, 0.955, LARGE, weight="bold", family="DejaVu Sans Mono")
        self._state = self._text(0.665, 0.895, PLAIN)
        self._now = [self._add_strip(place, strip) for place, strip in enumerate(self._strips)]
        self._background: Any = None

    def pictures(self, places: NDArray[np.int64]) -> Iterator[Picture]:
        """Paint the case at some entries, in order; arrays of shape (HEIGHT, WIDTH, 3).

        Without any entry one picture says so.
        """
        if not places.size:
            self._canvas.draw()
            yield self._taken()
        for place in places:
            if self._turn_page(int(place)) or self._background is None:
                self._canvas.draw()
                self._background = self._canvas.copy_from_bbox(self._figure.bbox)
            self._canvas.restore_region(self._background)
            self._move(int(place))
            for artist in self._moving:
                self._figure.draw_artist(artist)
            yield self._taken()

    def _taken(self) -> Picture:
        return np.asarray(self._canvas.buffer_rgba())[:, :, :3].copy()

    def _text(self, x: float, y: float, points: float, **more: Any) -> Any:
        return self._kept(self._figure.text(x, y, "", fontsize=points, va="top", color=DARK, **more))

    def _kept(self, artist: Any) -> Any:
        """Note what is painted anew for every picture."""
        artist.set_animated(True)
        self._moving.append(artist)
        return artist

    def _words(self, limits: object | None) -> None:
        """Title on top, and below what the picture rests on."""
        history = self._history
        case = history.attrs.get("case")
        title = str(history.attrs.get("title") or "One case") + ("" if case is None else f", case {int(case)}")
        room = 72.0 * WIDTH / DOTS - 20.0
        self._figure.text(0.012, 0.985, "\n".join(wrapped((title,), 0.63 * room, points=9.0)[:1]), fontsize=9.0,
                          va="top", parse_math=False)  # fmt: skip
        largest = self._scene.largest_thrust() if self._scene else 0.0
        line = "Line: heavy when taut, dotted when slack. " if self._scene and self._scene.line else ""
        lines = (
            f"{line}Arrows on the tug: thrust of each drive on her, the longest "
            f"{format_value(CHANNELS['thrust_port'], largest, digits=2)}. Bar: bow of the barge. Curve: track of her "
            f"midships. Upright lines: events; level lines: what a value is read against, where it is near. "
            f"{self._around.legend()} Ended: {outcome_name(history)}. "
            f"Limits: {limits_text(limits_of(history, limits))}.",
            f"{DIRECTION_NOTE}. {CAUTION} {provenance(history.attrs)}",
        )
        self._figure.text(0.012, 0.008, "\n".join(wrapped(lines, room, points=SMALL)), fontsize=SMALL, va="bottom",
                          parse_math=False)  # fmt: skip

    def _streams(self) -> None:
        """North, wind and current as arrows with their words, above the strips."""
        ax: Any = self._figure.add_axes((0.655, 0.715, 0.335, 0.1))
        ax.set_xlim(0.0, 3.35)
        ax.set_ylim(0.0, 1.0)
        ax.axis("off")
        rows = [(("north",), 0.0), *((s.words, s.toward) for s in streams_of(self._history))]
        box = ax.get_position()
        half = 26.0 / np.array([box.width * WIDTH / 3.35, box.height * HEIGHT])  # 26 pixels either way
        for x, (words, toward) in zip((0.2, 0.88, 2.25), rows, strict=True):
            if not math.isnan(toward):
                ahead = half * [math.sin(math.radians(toward)), math.cos(math.radians(toward))]
                middle = np.array([x, 0.5])
                ax.annotate("", xy=middle + ahead, xytext=middle - ahead, arrowprops={
                    "arrowstyle": "-|>", "color": DARK, "linewidth": 1.4, "shrinkA": 0, "shrinkB": 0})  # fmt: skip
            ax.text(x + (0.1 if toward == 0.0 else 0.32), 0.5, "\n".join(words), fontsize=SMALL, va="center")

    def _add_plan(self, scene: Scene) -> None:
        ax = self._plan
        ax.grid(linewidth=0.3, color="#bbbbbb")
        ax.set_axisbelow(True)
        ax.set_xlabel("east of the basin's centre [m]")
        ax.set_ylabel("north of the basin's centre [m]", labelpad=1.0)
        draw_surroundings(ax, self._around)
        self._frame(scene)
        (self._track,) = ax.plot([], [], color=BLUE, linewidth=0.9)
        self._barge = ax.fill([0.0], [0.0], facecolor=BARGE_FILL, edgecolor=BLUE, linewidth=1.6)[0]
        (self._bow,) = ax.plot([], [], color=BLUE, linewidth=1.6)
        (self._line,) = ax.plot([], [], color=DARK)
        self._tug = ax.fill([0.0], [0.0], facecolor=TUG_FILL, edgecolor=DARK, linewidth=1.2)[0]
        self._arrows = [ax.fill([0.0], [0.0], facecolor=THRUST, edgecolor=DARK, linewidth=0.7)[0] for _ in scene.drives]
        for artist in (self._track, self._barge, self._bow, self._line, self._tug, *self._arrows):
            self._kept(artist)

    def _frame(self, scene: Scene) -> None:
        """Show the whole case if barge and tug stay legible in it, otherwise leaf from view to view."""
        places = swept_places(scene)
        view = view_of(scene, self._around, places)
        self._plan.set_title(f"plan view; {view.words}")
        if view.reach() <= WHOLE_VIEW * view.pair:
            self._look_at(view.points, 1.1)
            return
        self._window = WINDOW * view.pair
        self._plan.set_title("plan view; it follows the barge")
        self._turn_page(int(places[0]))

    def _look_at(self, points: NDArray[np.float64], room: float, least: float = 1.0) -> None:
        """Set the limits of the plan to take in points, one scale on both axes, `least` metres high and wide."""
        box = self._plan.get_position()
        shape = box.width * WIDTH / (box.height * HEIGHT)
        low, high = points.min(axis=0), points.max(axis=0)
        east, north = 0.5 * (low + high)
        wide, tall = np.maximum(room * (high - low), least)
        tall = max(tall, wide / shape)
        self._plan.set_xlim(east - 0.5 * shape * tall, east + 0.5 * shape * tall)
        self._plan.set_ylim(north - 0.5 * tall, north + 0.5 * tall)

    def _turn_page(self, place: int) -> bool:
        """Bring a view that follows the barge back to her where a hull would leave it; True if it was moved."""
        if self._scene is None or not math.isfinite(self._window):
            return False
        corners = self._scene.corners(np.array([place]))
        if not corners.size:
            return False
        if self._center is not None and float(np.abs(corners - self._center).max()) <= 0.49 * self._window:
            return False
        self._center = 0.5 * (corners.min(axis=0) + corners.max(axis=0))
        self._look_at(corners, 1.0, self._window)
        return True

    def _add_strip(self, place: int, strip: Strip) -> tuple[Any, Any]:
        """Draw one strip, pale as a whole; returns the part so far and the cursor."""
        height = 0.505 / max(len(self._strips), 4)
        ax = self._figure.add_axes((0.69, 0.675 - (place + 1) * height + 0.028, 0.295, height - 0.043))
        time = channel(self._history, "time") / 60.0
        ax.set_title(f"{strip.words} [{strip.unit}]", loc="left", fontsize=SMALL, pad=2.0)
        ax.set_ylim(strip.low, strip.high)
        if time.size:
            ax.set_xlim(time[0], max(float(time[-1]), float(time[0]) + 1.0 / 60.0))
        ax.tick_params(labelsize=6.0, length=2.0, labelbottom=place == len(self._strips) - 1)
        ax.locator_params(axis="y", nbins=4)
        if place == len(self._strips) - 1:
            ax.set_xlabel("time [min]", fontsize=SMALL, labelpad=0.5)
        for level in strip.levels:
            ax.axhline(level.value, color=DARK, linewidth=0.7, linestyle=level.line)
        for event in events_of(self._history):
            ax.axvline(event.time / 60.0, color="#777777", linewidth=0.7, linestyle=event.line)
        told = ", ".join(f"{level.words} {level.value:.3g}" for level in strip.levels if level.value >= 0.0)
        ax.set_title(told, loc="right", fontsize=6.0, pad=2.0)
        ax.plot(time, strip.values, color="#b0b0b0", linewidth=0.8)
        so_far = self._kept(ax.plot([], [], color=BLUE, linewidth=1.5)[0])
        cursor = self._kept(ax.axvline(float(time[0]) if time.size else 0.0, color=DARK, linewidth=0.9))
        return so_far, cursor

    def _move(self, place: int) -> None:
        """Put all that moves where it is at one entry."""
        time = channel(self._history, "time")
        last = place == time.size - 1
        self._clock.set_text(clock(float(time[place])))
        self._state.set_text(self._state_words(place, last=last))
        for strip, (so_far, cursor) in zip(self._strips, self._now, strict=True):
            so_far.set_data(time[: place + 1] / 60.0, strip.values[: place + 1])
            cursor.set_xdata([time[place] / 60.0] * 2)
        if self._scene is not None:
            self._move_hulls(self._scene, place)

    def _state_words(self, place: int, *, last: bool) -> str:
        seconds = float(channel(self._history, "time")[place])
        words = next((words for start, _, words in reversed(self._spans) if start <= seconds), "not recorded")
        told = [f"ended: {outcome_name(self._history)}" if last else f"phase: {words}"]
        if math.isfinite(self._power[place]):
            told.append(f"power ordered {format_value(CHANNELS['power_ordered'], float(self._power[place]), digits=2)}")
        lines = [", ".join(told)]
        lines += [
            f"{strip.words} {strip.values[place]:z.{0 if strip.name == 'angle_turned' else 1}f} {strip.unit}"
            for strip in self._strips
            if math.isfinite(strip.values[place])
        ][-2:]
        return "\n".join(lines)

    def _move_hulls(self, scene: Scene, place: int) -> None:
        known, tug_known = bool(scene.barge.known()[place]), bool(scene.tug.known()[place])
        self._track.set_data(scene.barge.east[: place + 1], scene.barge.north[: place + 1])
        for artist, shown in ((self._barge, known), (self._bow, known), (self._tug, tug_known)):
            artist.set_visible(shown)
        if known:
            self._barge.set_xy(scene.barge.at(place))
            self._bow.set_data(*scene.barge.at(place, scene.barge.outline[:2] * [0.9, 1.0]).T)
        if tug_known:
            self._tug.set_xy(scene.tug.at(place))
        taut = scene.line is not None and bool(scene.line.taut[place])
        self._line.set_visible(scene.line is not None and bool(scene.line.on[place]) and known and tug_known)
        self._line.set_data(*scene.line_ends(place).T)
        self._line.set_linewidth(2.2 if taut else 1.1)
        self._line.set_linestyle("-" if taut else (0, (1.2, 1.6)))
        longest = float(np.ptp(scene.tug.outline[:, 0]))
        top = scene.largest_thrust()
        for drive, artist in zip(scene.drives, self._arrows, strict=True):
            thrust = float(drive.thrust[place])
            shown = tug_known and math.isfinite(float(drive.direction[place])) and thrust > 0.02 * top
            artist.set_visible(shown)
            if shown:
                artist.set_xy(scene.tug.at(place, thrust_arrow(drive, place, longest * thrust / top)))
