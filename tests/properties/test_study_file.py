"""What holds for every study: its content, not its wording, decides; nothing it says brings it down."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from toolkit.errors import StudyError
from toolkit.quantities import INPUTS, OUTCOMES, Quantity
from toolkit.quantities.units import format_value
from toolkit.study import parse_study, study_from_canonical

# Inputs whose values cannot clash with one another, so that every drawn study can be run.
FREE = [
    quantity
    for quantity in INPUTS.values()
    if quantity.section in ("environment", "towline", "manoeuvre")
    and quantity.name
    not in ("water_depth", "line_length", "lead_angle", "order_interval", "order_delay", "steady_time", "current_shear")
]


def text_of(quantity: Quantity, share: float) -> str:
    """A value of the interval as a user writes it."""
    high = quantity.high if quantity.name not in ("wind_from", "current_to", "initial_heading") else 359.0
    return format_value(quantity, quantity.low + share * (high - quantity.low), digits=6)


@st.composite
def one_value(draw: st.DrawFn, quantity: Quantity) -> str:
    if quantity.is_choice:
        return draw(st.sampled_from(quantity.choices))
    return text_of(quantity, draw(st.floats(0.01, 0.99)))


@st.composite
def lines(draw: st.DrawFn) -> list[tuple[str, str, str]]:
    """Table, key and value of some inputs; up to three are swept."""
    found = []
    swept = 0
    for quantity in draw(st.lists(st.sampled_from(FREE), unique=True, max_size=8)):
        values = draw(st.lists(one_value(quantity), min_size=1, max_size=3, unique=True))
        if len(values) > 1 and swept < 3:
            swept += 1
            found.append((quantity.section, quantity.name, json.dumps(values)))
        else:
            found.append((quantity.section, quantity.name, json.dumps(values[0])))
    return found


def file_of(entries: list[tuple[str, str, str]]) -> str:
    """A study file with its tables in the order in which they first come."""
    tables: dict[str, list[str]] = {}
    for table, key, value in entries:
        tables.setdefault(table, []).append(f"{key} = {value}")
    return "\n".join(line for table, keys in tables.items() for line in (f"[{table}]", *keys))


@settings(max_examples=60)
@given(lines(), st.randoms(use_true_random=False))
def test_hash_does_not_depend_on_the_order_of_keys(entries: list[tuple[str, str, str]], chance: Any) -> None:
    shuffled = list(entries)
    chance.shuffle(shuffled)
    one, other = parse_study(file_of(entries)), parse_study(file_of(shuffled) + "\n# a remark")
    assert one.hash() == other.hash()
    assert (one.dims, one.shape) == (other.dims, other.shape)


@settings(max_examples=60)
@given(lines())
def test_study_comes_back_from_its_content_bit_for_bit(entries: list[tuple[str, str, str]]) -> None:
    study = parse_study(file_of(entries))
    back = study_from_canonical(json.loads(json.dumps(study.canonical(), allow_nan=False)))
    assert back.hash() == study.hash()
    cases = np.arange(study.size)
    for name, values in study.columns(cases).items():
        np.testing.assert_array_equal(values, back.columns(cases)[name])


@settings(max_examples=60)
@given(lines(), st.data())
def test_every_case_holds_the_coordinates_of_its_place(
    entries: list[tuple[str, str, str]], data: st.DataObject
) -> None:
    study = parse_study(file_of(entries))
    number = data.draw(st.integers(0, study.size - 1))
    columns = study.columns([number])
    place = np.unravel_index(number, study.shape) if study.shape else ()
    for name, at in zip(study.dims, place, strict=True):
        held = columns[name][0]
        wanted = study.axis_coordinates()[name][at]
        assert (INPUTS[name].choices[held] if INPUTS[name].is_choice else held) == wanted
    for name, fixed in study.fixed.items():
        held = columns[name][0]
        if isinstance(fixed, str):
            assert INPUTS[name].choices[held] == fixed
        else:
            drawn = name == "draw_seed" and held == study.seed  # the study's own, where something is drawn
            assert held == fixed or drawn or (math.isnan(held) and math.isnan(fixed))


@given(st.floats(0.0, 1.0))
def test_hash_does_not_depend_on_the_unit(share: float) -> None:
    knots = round(58.0 * share, 6)
    speed = knots * 1852.0 / 3600.0
    texts = (f'"{knots} kn"', f'"{speed:.14g} m/s"', f'"{speed * 3.6:.14g} km/h"')
    hashes = {parse_study(f"[environment]\nwind_speed = {text}").canonical()["fixed"]["wind_speed"] for text in texts}
    assert max(hashes) - min(hashes) <= 1e-11 * max(hashes)


KEYS = st.sampled_from(["title", "seed", "tug", "design", "limits", "run", "kind", "samples", "from", "to", "count",
                        "spacing", *INPUTS, *OUTCOMES])  # fmt: skip
TOP = st.sampled_from(["tug", "barge", "environment", "manoeuvre", "design", "limits", "run", "title", "seed", "tugs"])
SCALARS = (
    st.sampled_from(["30 t", "12 kn", "from 240 deg", "off", "", "swing_push", "sobol", "1,5 m", "-3 m", "nan t"])
    | st.integers(-(10**6), 10**20)
    | st.floats()
    | st.booleans()
    | st.text(max_size=8)
)
VALUES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=4), max_leaves=12
)


def toml_of(value: object) -> str:
    """TOML of nested values, tables inline."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        # as a basic string of TOML, in which surrogates cannot stand
        return json.dumps(value.encode("utf-8", "replace").decode(), ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return "[" + ", ".join(toml_of(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml_of(item)}" for key, item in value.items()) + "}"
    return repr(value)


@settings(max_examples=200)
@given(st.dictionaries(TOP, VALUES, max_size=5))
def test_any_file_is_read_or_refused_in_words(content: dict[str, object]) -> None:
    text = "\n".join(f"{key} = {toml_of(value)}" for key, value in content.items())
    try:
        study = parse_study(text)
    except StudyError as refusal:
        assert refusal.problems
        assert all(problem.where and problem.what for problem in refusal.problems)
    else:
        study.columns([study.size - 1])


@settings(max_examples=100)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        parse_study(text)
    except StudyError as refusal:
        assert refusal.problems
