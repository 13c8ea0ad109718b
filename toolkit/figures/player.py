"""A page that plays one case: a single HTML file that needs no network (floor 6)."""

from __future__ import annotations

import base64
import hashlib
import json
import math
from html import escape
from importlib.resources import files
from pathlib import Path
from string import Template
from typing import TYPE_CHECKING, Any

from toolkit.execution.whole import write_whole
from toolkit.figures.player_data import Moment, moments_of, player_data, readings_of
from toolkit.figures.reading_history import clock, fact, number, outcome_name, streams_of
from toolkit.figures.scene import scene_of
from toolkit.figures.strips import Strip, strips_of
from toolkit.figures.surroundings import surroundings_of
from toolkit.findings.conditions import facts_of_results, legs_of
from toolkit.findings.display import display_text, long_name
from toolkit.findings.limits import limit_words, limits_of, limits_text
from toolkit.findings.reading import cautions, directions, provenance
from toolkit.quantities import INPUTS, OUTCOMES, RangeFlag
from toolkit.quantities.channels import CHANNELS
from toolkit.quantities.units import format_value

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["content_hash", "embedded_json", "player_page", "write_player"]

SCRIPTS = ("plan.js", "graphs.js", "controls.js")


def write_player(history: xr.Dataset, path: str | Path, *, limits: object | None = None) -> Path:
    """Write a page that plays one case.

    Parameters
    ----------
    history : xarray.Dataset
        As :func:`toolkit.history` returns it: channels along ``time``, facts as
        attributes or scalar variables. What is missing or does not apply is
        left out; without any entry the page says why nothing moves.
    path : path
        HTML file to write. Its folder is made, a file of the same name replaced.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the attribute ``limits``.

    Returns
    -------
    pathlib.Path
        The file. It opens from the disk and asks no network for anything.

    Raises
    ------
    StudyError
        If surroundings or limits of the history cannot be read.
    """
    place = Path(path)
    page = player_page(history, limits=limits)
    place.parent.mkdir(parents=True, exist_ok=True)
    write_whole(place, page)
    return place


def player_page(history: xr.Dataset, *, limits: object | None = None) -> str:
    """Page of :func:`write_player` as text.

    Words of the history are escaped; the page's own script and style are
    allowed by their hashes, anything else by nothing.
    """
    strips = strips_of(history, limits)
    moments = moments_of(history, strips)
    in_force = limits_of(history, limits)
    style, script = _resource("page.css"), "\n".join(_resource(name) for name in SCRIPTS)
    case = history.attrs.get("case")
    title = str(history.attrs.get("title") or "One case") + ("" if case is None else f", case {int(case)}")
    entries = history.sizes.get("time", 0)
    return Template(_resource("page.html")).substitute(
        policy=f"default-src 'none'; style-src {content_hash(style)}; script-src {content_hash(script)}; "
        "base-uri 'none'; form-action 'none'",
        style=style,
        script=script,
        data=embedded_json(player_data(history, strips, moments)),
        title=escape(title),
        outcome=escape(outcome_name(history)),
        told=escape(_told(history)),
        cautions=escape(cautions(history.attrs)),
        directions=escape(directions(history.attrs)),
        provenance=escape(provenance(history.attrs)),
        limits=escape(f"Limits: {limits_text(in_force)}."),
        flags=escape(_flags(history)),
        figures=_figures(history, in_force),
        inputs=_inputs(history),
        streams="".join(_stream(stream.toward, stream.words) for stream in streams_of(history)),
        readings="".join(
            f'<dt>{escape(CHANNELS[name].long_name)}</dt><dd data-reading="{place}">-</dd>'
            for place, name in enumerate(readings_of(history))
        ),
        plan_note=escape(_plan_note(history)),
        graphs="".join(_graph(strip) for strip in strips),
        moments="".join(_moment(place, one) for place, one in enumerate(moments)),
        hidden="" if entries else " hidden",
        still="" if entries else f'<p class="still">Nothing moves: {escape(outcome_name(history))}.</p>',
    )


def _resource(name: str) -> str:
    return (files("toolkit.figures") / "player_page" / name).read_text(encoding="utf-8")


def content_hash(text: str) -> str:
    """Hash by which a page's policy allows one script or style."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def embedded_json(data: dict[str, Any]) -> str:
    """JSON that no parser of HTML can take for markup."""
    text = json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _told(history: xr.Dataset) -> str:
    """The times that matter, behind the outcome; of a job its end alone, for its legs have their own clocks."""
    times = () if legs_of(history) else ("time_to_turn", "time_to_steady", facts_of_results(history).time)
    told = [
        f"{long_name(name)} {clock(number(history, name))}"
        for name in dict.fromkeys(times)
        if name != "end_time" and math.isfinite(number(history, name))
    ]
    end = number(history, "end_time")
    if math.isfinite(end):
        told.append(f"end after {clock(end)}")
    return "".join(f"; {words}" for words in told)


def _plan_note(history: xr.Dataset) -> str:
    scene, around = scene_of(history), surroundings_of(history)
    if scene is None:
        return "The history holds no positions, or lacks the dimensions of the hulls."
    words = ["The bar across the barge marks her bow."]
    if scene.line is not None:
        words.append("Line: heavy when taut, dotted when slack.")
    if scene.drives:
        largest = format_value(CHANNELS["thrust_port"], scene.largest_thrust(), digits=2)
        words.append(f"Arrows on the tug: thrust of each drive on her; one as long as the tug is {largest}.")
    return " ".join((*words, around.legend()))


def _flags(history: xr.Dataset) -> str:
    value = number(history, "range_flags")
    bits = 0 if math.isnan(value) else int(value)
    named = [flag.name.replace("_", " ") for flag in RangeFlag if flag.name and flag & bits]
    return f"Outside the range of the model's data: {', '.join(named)}." if named else ""


def _figures(history: xr.Dataset, limits: dict[str, float]) -> str:
    rows = []
    for name, quantity in OUTCOMES.items():
        value = number(history, name)
        if name not in ("outcome", "range_flags") and math.isfinite(value):
            limit = limit_words(name, limits[name]).removeprefix(quantity.long_name).strip() if name in limits else ""
            cells = (display_text(name, value), limit, quantity.help)
            rows.append(_row(quantity.long_name, cells))
    return "".join(rows)


def _inputs(history: xr.Dataset) -> str:
    rows = []
    for name, quantity in INPUTS.items():
        value = fact(history, name)
        if isinstance(value, str) or math.isfinite(value):
            rows.append(_row(quantity.long_name, (display_text(name, value),)))
    return "".join(rows)


def _row(head: str, cells: tuple[str, ...]) -> str:
    return f'<tr><th scope="row">{escape(head)}</th>{"".join(f"<td>{escape(cell)}</td>" for cell in cells)}</tr>'


def _stream(toward: float, words: tuple[str, ...]) -> str:
    """Wind or current: an arrow that points where it goes, and its words."""
    text = f"<span>{escape(', '.join(words))}</span>"
    if math.isnan(toward):
        return f"<li>{text}</li>"
    turn = f"rotate({toward % 360.0:.0f})"
    arrow = f'<path transform="{turn}" d="M0 20V-8M-7-6 0-20 7-6Z" stroke="#1a1a1a" stroke-width="3"/>'
    return f'<li><svg viewBox="-24 -24 48 48" aria-hidden="true">{arrow}</svg>{text}</li>'


def _graph(strip: Strip) -> str:
    levels = strip.level_words()
    words = ". ".join(part[0].upper() + part[1:] for part in (strip.note, levels) if part)
    heading = f"{strip.words} [{strip.unit}]"
    return (
        f'<figure class="graph"><figcaption><strong>{escape(heading)}</strong>{escape(f" {words}." if words else "")}'
        f'</figcaption><svg data-strip role="img" aria-label="{escape(heading)} along time"></svg></figure>'
    )


def _moment(place: int, moment: Moment) -> str:
    return (
        f'<li><button type="button" data-moment="{place}">{escape(clock(moment.time))}</button> '
        f"{escape(moment.words)}</li>"
    )
