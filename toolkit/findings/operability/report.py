"""What was found in reading a record: one line a fact, and a table (floor 5)."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.findings.table import Cell, Table
from toolkit.quantities.wording import CAUTIONS, DIRECTIONS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["reading_counts", "reading_lines", "reading_table", "record_words"]

_FAULTS: tuple[tuple[str, str, str], ...] = (
    ("time_unreadable", "time that cannot be read", "left out"),
    ("row_unreadable", "words where a number belongs, or cells too many or too few", "no wind speed known"),
    ("speed_missing", "no wind speed", "no wind speed known"),
    ("speed_out_of_range", "wind speed below 0 or above 75 m/s", "no wind speed known"),
    ("calms", "calm: wind speed 0", "kept, without a direction"),
    ("direction_missing", "no direction though the wind blows", "kept, judged by the least limit of all directions"),
    ("direction_out_of_range", "direction outside 0 to 360 degrees (codes for variable wind)",
     "kept, judged by the least limit of all directions"),
    ("current_missing", "no current speed", "current unknown"),
    ("current_out_of_range", "current speed below 0 or above 10 m/s", "current unknown"),
    ("current_direction_missing", "no direction though the current runs",
     "kept, judged by the least limit of all directions of the current"),
    ("unsorted", "earlier than the row before", "sorted"),
    ("duplicates_alike", "repeated, with the same values", "one kept"),
    ("duplicates_that_differ", "repeated, with other values", "the one with the most wind kept"),
    ("merged_within_step", "more than one in a step", "the one with the most wind kept"),
)  # fmt: skip


def reading_counts(record: xr.Dataset) -> dict[str, Any]:
    """Counts of all that was found in reading a record.

    Raises
    ------
    StudyError
        If the dataset is no record as this package reads or makes one.
    """
    try:
        counts = json.loads(str(record.attrs["reading"]))
    except (KeyError, ValueError):
        counts = None
    if not isinstance(counts, dict) or "wind_speed" not in record or "step_hours" not in record.attrs:
        raise StudyError([
            Problem(where=str(record.attrs.get("title", "record")), what="it is no record of this package",
                    remedy="Read it with read_record, or make one with invented_record")
        ])  # fmt: skip
    return counts


def record_words(record: xr.Dataset) -> str:
    """Name and kind of a record in a few words, for captions."""
    kind = {"invented": "INVENTED record, nobody's wind", "typical_year": "typical year spliced of several years"}
    words = kind.get(str(record.attrs["kind"]))
    return f"{record.attrs['title']}: {words}" if words else str(record.attrs["title"])


def reading_lines(record: xr.Dataset) -> tuple[str, ...]:
    """What was read and how, one line a fact, for print."""
    counts = reading_counts(record)
    step = float(record.attrs["step_hours"])
    if record.attrs["kind"] == "invented":
        return (record_words(record), *counts["told"], f"{counts['steps']:,} steps of {step:g} h")
    known, steps = counts["known_steps"], counts["steps"]
    span = f"{counts['first']} to {counts['last']}{' UTC' if record.attrs['time_zone'] else ''}"
    if record.attrs["kind"] == "typical_year":
        span += ", all put into one year"
    lines = [
        record_words(record),
        f"{counts['rows']:,} rows, {counts['usable']:,} with a wind speed",
        f"{steps:,} steps of {step:g} h from {span}; wind known in {known:,} ({100 * known / steps:.2f} %)",
        _gaps(counts["gaps"], counts["longest_gap_hours"]),
    ]
    if counts["other_steps"]:
        others = ", ".join(f"{words} ({100 * share:.0f} % of rows)" for words, share in counts["other_steps"].items())
        lines.append(f"Times also differ by {others}: where rows are wider apart than a step, the steps between "
                     "are gaps. Say the step if another is meant")  # fmt: skip
    for key, words, done in _FAULTS:
        if counts.get(key):
            first = counts["first_rows"].get(key)
            where = f", first in {'lines' if len(first) > 1 else 'line'} {', '.join(map(str, first))}" if first else ""
            lines.append(
                f"{counts[key]:,} row{'s' if counts[key] > 1 else ''}: {words}: {done}{where if key != 'calms' else ''}"
            )
    lines.extend(_height_and_time(record, counts))
    lines.extend(counts["told"])
    return tuple(lines)


def _gaps(count: int, longest: float) -> str:
    if not count:
        return "no gaps"
    if count == 1:
        return f"1 gap, of {longest:g} h; nothing is filled in"
    return f"{count:,} gaps, the longest {longest:g} h; nothing is filled in"


def _height_and_time(record: xr.Dataset, counts: dict[str, Any]) -> list[str]:
    """How wind was brought to 10 m and ten minutes, and in which zone hours are counted."""
    height, factor = counts["height"], counts["averaging_factor"]
    if height is None:
        lines = ["Height of the wind not said: taken as 10 m"]
    else:
        lines = [f"Wind at {height:g} m brought to 10 m by the one-seventh power law (common practice, no source), "
                 f"times {counts['height_factor']:.4g}"]  # fmt: skip
    averaging = counts["averaging"]
    if averaging:
        made = "no factor was applied" if factor == 1.0 else f"winds were multiplied by {factor:g}"
        lines.append(f"Averaging time {averaging}; limits are for ten-minute means, and {made}")
    else:
        made = "" if factor == 1.0 else f" once multiplied by {factor:g}"
        lines.append(f"Averaging time not said: taken as the ten-minute mean that limits are for{made}")
    zone, hours = str(record.attrs["time_zone"]), str(record.attrs["hours_zone"])
    if zone:
        lines.append(f"Times in {zone}; hours and months counted in {hours}")
    else:
        lines.append("Time zone not said: hours and months are counted as the times stand")
    lines.append(f"A time is the {counts['times_at']} of the step that its value stands for")
    if record.attrs["kind"] == "typical_year":
        years = counts["spliced_years"]
        spliced = f"Spliced of months of {len(years)} years ({', '.join(map(str, years))})" if years else "Typical year"
        lines.append(f"{spliced}: exceedance alone can be found; events, windows and good and bad years would join "
                     "days that never met")  # fmt: skip
    return lines


def reading_table(record: xr.Dataset) -> Table:
    """Reading report as a table: faults first, with what was done."""
    counts = reading_counts(record)
    rows: list[tuple[Cell, ...]] = [("rows of the file", int(counts.get("rows", 0)), "")]
    rows.extend((words, int(counts[key]), done) for key, words, done in _FAULTS if key in counts)
    rows.append(("steps", int(counts["steps"]), f"{float(record.attrs['step_hours']):g} h each"))
    rows.append(("steps with a wind speed", int(counts["known_steps"]), ""))
    rows.append(("gaps", int(counts["gaps"]), "left open"))
    rows.append(("longest gap [h]", float(counts["longest_gap_hours"]), ""))
    return Table(
        title=f"What was read: {record.attrs['title']}",
        header=("what", "number", "what was done"),
        rows=tuple(rows),
        notes=(*(f"{line}." for line in reading_lines(record)), DIRECTIONS, CAUTIONS),
    )
