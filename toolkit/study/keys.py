"""Every key that a study file may hold, as text or as Markdown."""

from __future__ import annotations

import dataclasses
from typing import Any

from toolkit.quantities import INPUTS, OUTCOMES, Quantity
from toolkit.quantities.units import format_interval, format_value, user_label
from toolkit.study.limits import AT_LEAST, Limits

__all__ = ["key_rows", "keys_markdown", "keys_text"]

Row = tuple[str, str, str, str, str]
"""Key, unit, interval, default, help."""


def key_rows() -> dict[str, list[Row]]:
    """Rows of every table of a study file; the keys before the first table come under the empty name."""
    from toolkit.study.tables import DesignTable, RunTable, TopKeys

    rows: dict[str, list[Row]] = {"": _model_rows(TopKeys)}
    for quantity in INPUTS.values():
        rows.setdefault(quantity.section, []).append(_input_row(quantity))
    rows["limits"] = [_limit_row(field) for field in dataclasses.fields(Limits)]
    rows["design"] = _model_rows(DesignTable)
    rows["run"] = _model_rows(RunTable)
    return rows


def _input_row(quantity: Quantity) -> Row:
    if quantity.is_choice:
        return quantity.name, "word", ", ".join(quantity.choices), str(quantity.default), quantity.help
    default = "derived" if quantity.derived_unless_given else format_value(quantity, float(quantity.default))
    return quantity.name, user_label(quantity) or "none", format_interval(quantity), default, quantity.help


def _limit_row(field: Any) -> Row:
    quantity = OUTCOMES[field.name]
    sense = "at least" if field.name in AT_LEAST else "at most"
    default = "off" if field.default is None else format_value(quantity, field.default)
    return field.name, user_label(quantity) or "none", f"{sense}, or off", default, quantity.help


def _model_rows(model: Any) -> list[Row]:
    rows = []
    for name, field in model.model_fields.items():
        low = next((bound.ge for bound in field.metadata if hasattr(bound, "ge")), None)
        high = next((bound.le for bound in field.metadata if hasattr(bound, "le")), "...")
        words = getattr(field.annotation, "__args__", ())
        if low is not None:
            interval = f"[{low}, {high}]"
        else:
            interval = ", ".join(word for word in words if isinstance(word, str)) or "text"
        rows.append((name, "none", interval, "none" if field.default in (None, "") else str(field.default),
                     str(field.description)))  # fmt: skip
    return rows


def keys_text() -> str:
    """Every key, two lines each, for a terminal."""
    lines = []
    for table, rows in key_rows().items():
        lines.append(f"[{table}]" if table else "Before the first table")
        width = max(len(row[0]) for row in rows)
        for key, unit, interval, default, text in rows:
            shown = "" if unit in ("none", "word") else f"  unit {unit},"
            lines.append(f"  {key:<{width}}{shown}  {interval}, default {default}")
            lines.append(f"  {'':<{width}}  {text}")
        lines.append("")
    return "\n".join([*lines, *WRITING])


def keys_markdown() -> str:
    """Every key as tables in Markdown."""
    lines = []
    for table, rows in key_rows().items():
        lines += [f"### `[{table}]`" if table else "### Before the first table", ""]
        lines += ["| Key | Unit | Allowed | Default | Meaning |", "|---|---|---|---|---|"]
        for key, unit, interval, default, text in rows:
            lines.append(f"| `{key}` | {unit} | {interval} | {default} | {text} |")
        lines.append("")
    return "\n".join([*lines, *WRITING])


WRITING = (
    "A value is text with its unit in quotes (key = \"15 m\"), a bare number for a ratio (key = 0.5), or a word.",
    "`t` means tonnes-force for a pull, a tension or a safe working load, and tonnes for a displacement.",
    "Wind comes FROM a true bearing (\"from 240 deg\"), current runs TO one (\"to 90 deg\"), clockwise from north.",
    "A list sweeps its values; { from = \"5 t\", to = \"80 t\", count = 6, spacing = \"log\" } sweeps a range.",
    "A sampled design takes ranges without count, and lists as levels of equal share.",
    "A job has a table [[leg]] for each of its legs, in order, with what it changes of [manoeuvre], [towline], [crew]"
    " and [failure]: one value a key. Each leg begins where the one before it ended.",
    "[basin] takes edge = [[\"40 m\", \"-60 m\"], ...], the corners of the basin in order, each north and east of its"
    " centre; shoals = [[...], ...], the corners of each; and berth, the two ends of a line to be drawn.",
)  # fmt: skip
