"""The edge between what people write and what the toolkit holds.

A user's text (`12 kn`, `45 t`, `from 240 deg`) becomes one number in the unit
of the dataset, and back. pint does the arithmetic, over a registry of the
trade's units alone: no prefixes and no plurals are guessed, an angle is a
dimension of its own, so that a percentage cannot pass for a bearing, and the
registry loads in milliseconds.
"""

from __future__ import annotations

import difflib
import math
import re
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from toolkit.errors import Problem, StudyError
from toolkit.quantities.quantity import Quantity

__all__ = [
    "BEARINGS", "OFF", "example", "format_interval", "format_value", "parse", "to_user_unit", "user_label", "within",
]  # fmt: skip

BEARINGS: dict[str, str] = {"wind_from": "from", "current_to": "to", "initial_heading": "", "target_heading": ""}
"""Inputs that are true bearings, with the word that may stand before them."""

OFF: frozenset[str] = frozenset({"swing_rate_limit"})
"""Inputs for which `off` may be written: their upper bound, which never binds."""

INTERVAL_TOLERANCE = 1e-9
"""Relative slack at the ends of an interval, for the rounding of a conversion."""

LONGEST_QUOTE = 100
"""Letters of a user's text that a message quotes."""

_UNITS: tuple[tuple[str, str, str], ...] = (
    ("metre", "[length]", "m metre metres meter meters"),
    ("kilometre", "1000 metre", "km kilometre kilometres kilometer kilometers"),
    ("centimetre", "0.01 metre", "cm centimetre centimetres centimeter centimeters"),
    ("millimetre", "0.001 metre", "mm millimetre millimetres millimeter millimeters"),
    ("foot", "0.3048 metre", "ft foot feet"),
    ("inch", "0.0254 metre", "in inch inches"),
    ("fathom", "1.8288 metre", "fathom fathoms"),
    ("nautical_mile", "1852 metre", "nmi nautical_mile nautical_miles"),
    ("second", "[time]", "s sec second seconds"),
    ("minute", "60 second", "min mins minute minutes"),
    ("hour", "3600 second", "h hr hour hours"),
    ("kilogram", "[mass]", "kg kilogram kilograms"),
    ("tonne", "1000 kilogram", "t tonne tonnes metric_ton metric_tons"),
    ("pound", "0.45359237 kilogram", "lb lbs pound pounds"),
    ("degree", "[angle]", "deg degs degree degrees °"),
    ("radian", f"{180.0 / math.pi!r} degree", "rad radian radians"),
    ("turn", "360 degree", "turn turns rev revolution revolutions"),
    ("rpm", "turn / minute", "rpm"),
    ("knot", "nautical_mile / hour", "kn kt kts knot knots"),
    ("newton", "kilogram * metre / second**2", "N newton newtons"),
    ("kilonewton", "1000 newton", "kN kilonewton kilonewtons"),
    ("meganewton", "1000000 newton", "MN meganewton meganewtons"),
    ("tonne_force", "9806.65 newton", "tf tonne_force tonnes_force tonne-force tonnes-force"),
    ("kilogram_force", "9.80665 newton", "kgf kilogram_force"),
    ("pound_force", "0.45359237 kilogram_force", "lbf pound_force pounds_force"),
    ("kip", "1000 pound_force", "kip kips"),
    ("joule", "newton * metre", "J joule joules"),
    ("kilojoule", "1000 joule", "kJ"),
    ("kilowatt_hour", "3600000 joule", "kWh"),
    ("percent", "0.01", "percent per_cent %"),
)
_SPELLINGS: dict[str, str] = {word: name for name, _, words in _UNITS for word in words.split()}
_LABELS = {"tonne_force": "t", "tonne": "t", "knot": "kn", "degree": "deg", "degree/minute": "deg/min",
           "minute": "min", "percent": "%", "m/s/m": "1/s", "": ""}  # fmt: skip

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")
_FACTOR = re.compile(r"\s*([*/]?)\s*(tonnes?-force|[A-Za-z_]+|°|%)\s*(?:(?:\^|\*\*)?\s*(-?\d))?")


@cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(None)
    for name, definition, _ in _UNITS:
        registry.define(f"{name} = {definition}")
    return registry


def parse(quantity: Quantity, value: object, *, where: str = "", wrap: bool = True) -> float | str:
    """Number in the dataset's unit, or the word of a choice, from what a user wrote.

    Parameters
    ----------
    quantity : Quantity
        The input, or an outcome that is being given a limit.
    value : str, int or float
        Text with a unit; a bare number for a ratio only; a word for a choice.
    where : str, optional
        File and key for the message.
    wrap : bool
        Whether a bearing of 360 comes back as 0; not wanted for the end of a range.

    Returns
    -------
    float or str
        In `quantity.unit`. `t` is
        tonnes-force where the quantity is a force, tonnes where it is a mass.

    Raises
    ------
    StudyError
        With one problem, if the text cannot be read, its unit does not fit,
        or the number is outside the interval of the quantity.
    """
    place = where or ".".join(part for part in (quantity.section, quantity.name) if part)

    def refuse(what: str, why: str = "", remedy: str = "") -> StudyError:
        return StudyError([Problem(where=place, what=what, why=why, remedy=remedy or _write(quantity))])

    shown = f"{quantity.name} = {value!r}" if isinstance(value, str) else f"{quantity.name} = {value}"
    if len(shown) > LONGEST_QUOTE:
        shown = f"{shown[: LONGEST_QUOTE - 3]}..."
    if quantity.is_choice:
        if value in quantity.choices:
            return str(value)
        raise refuse(f"{shown} is not one of {', '.join(quantity.choices)}", "", _nearest_choice(quantity, value))
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise refuse(f"{shown} is not a value with a unit")
    if isinstance(value, str):
        if value.strip() == "off":
            if quantity.name in OFF:
                return quantity.high
            raise refuse(f"{shown} cannot be switched off")
        number, expression = _split(quantity, shown, value, refuse)
    else:
        number, expression = (float(value) if abs(value) < 1e300 else math.inf), ""
    if not math.isfinite(number):
        raise refuse(f"{shown} is not a finite number")
    if not expression:
        if quantity.unit != "1":
            raise refuse(f"{shown} has no unit", "only ratios go without one")
        result = number
    else:
        result = _convert(quantity, shown, number, expression, refuse)
    if not within(quantity, result):
        raise refuse(f"{shown} is outside {format_interval(quantity)}", quantity.why)
    result = min(max(result, quantity.low), quantity.high)
    if wrap and quantity.name in BEARINGS and result == 360.0:
        return 0.0
    return result + 0.0  # never a negative zero


def _split(quantity: Quantity, shown: str, value: str, refuse: Any) -> tuple[float, str]:
    """Number and unit expression of a text, the word of a bearing taken off."""
    text = value.strip()
    word = re.match(r"(from|to)\b\s*", text)
    if word:
        allowed = BEARINGS.get(quantity.name)
        if allowed != word.group(1):
            why = f"{quantity.name} takes the word '{allowed}'" if allowed else f"{quantity.name} takes no such word"
            raise refuse(f"{shown} has the word '{word.group(1)}' before its number", why)
        text = text[word.end() :]
    if re.match(r"[+-]?(nan|inf|infinity)\b", text, re.IGNORECASE):
        raise refuse(f"{shown} is not a finite number")
    number = _NUMBER.match(text)
    if number is None:
        raise refuse(f"{shown} does not start with a number")
    rest = text[number.end() :]
    if re.match(r"\s*,\s*\d", rest):
        raise refuse(
            f"{shown} has a comma in its number",
            "a comma may mean decimals or thousands",
            "Write decimals with a point and thousands without a mark: 1.5, or 1500",
        )
    return float(number.group()), rest.strip()


def _convert(quantity: Quantity, shown: str, number: float, expression: str, refuse: Any) -> float:
    """Number in the quantity's unit; refuses unknown units and wrong dimensions."""
    spelled, unknown = _spell(expression)
    if unknown:
        near = difflib.get_close_matches(unknown, _SPELLINGS, n=1, cutoff=0.6)
        hint = f"the nearest unit known is '{near[0]}'" if near else ""
        raise refuse(f"{shown} has a unit that is not known, '{unknown}'", hint)
    registry = _registry()
    unit = registry.parse_units(spelled)
    target = _unit_of(quantity)
    if quantity.user_unit == "tonne_force" and unit == registry.tonne:
        unit = registry.tonne_force
    if unit.dimensionality != target.dimensionality:
        kind = _kind(unit)
        raise refuse(f"{shown} is {kind + ' and ' if kind else ''}not {_kind(target)}")
    return float(registry.Quantity(number, unit).m_as(target))


def _spell(expression: str) -> tuple[str, str]:
    """pint expression of a unit text, and the first word in it that is no unit."""
    text = re.sub(r"\bper\b", "/", expression.replace("per cent", "percent"))
    text = re.sub(r"^\s*1\s*/", "/", text)
    factors: list[str] = ["1"] if text.lstrip().startswith("/") else []
    position = 0
    while position < len(text):
        factor = _FACTOR.match(text, position)
        if factor is None or (not factors and factor.group(1)):
            return "", text[position:].strip()[:30] or expression[:30]
        sign, word, power = factor.groups()
        if word not in _SPELLINGS:
            return "", word
        factors.append(f"{sign or ('*' if factors else '')} {_SPELLINGS[word]}**({power or 1})")
        position = factor.end()
    return " ".join(factors), ""


def _unit_of(quantity: Quantity) -> Any:
    """pint unit of the dataset's unit, which is spelled `m s-1`."""
    return _registry().parse_units(_spell(quantity.unit)[0] if quantity.unit != "1" else "")


def _kind(unit: Any) -> str:
    """What a unit measures, in words."""
    names = {"metre": "a length", "second": "a time", "kilogram": "a mass", "degree": "an angle", "newton": "a force",
             "knot": "a speed", "rpm": "a rate of turn", "kilogram/metre**3": "a density", "": "a ratio"}  # fmt: skip
    registry = _registry()
    for spelling, name in names.items():
        if registry.parse_units(spelling).dimensionality == unit.dimensionality:
            return name
    return ""


def _nearest_choice(quantity: Quantity, value: object) -> str:
    near = difflib.get_close_matches(str(value), quantity.choices, n=1)
    return f"Write '{near[0]}'" if near else _write(quantity)


def _write(quantity: Quantity) -> str:
    return f"Write for example {example(quantity)}"


def within(quantity: Quantity, value: float) -> bool:
    """Whether a number in the dataset's unit lies in the interval of its quantity, up to rounding."""
    slack = INTERVAL_TOLERANCE * max(abs(value), 1e-9)
    return quantity.low - slack <= value <= quantity.high + slack


def example(quantity: Quantity) -> str:
    """Text that `parse` accepts for a quantity, quoted as in a study file."""
    if quantity.is_choice:
        return f"'{quantity.choices[0]}'"
    value = float(quantity.default)
    if math.isnan(value) or value == 0.0:
        factor = _user_factor(quantity)
        if math.isinf(quantity.low):
            value = (10.0 if quantity.user_unit else 0.5) / factor
        else:
            middle = math.sqrt(max(quantity.low, 0.0) * quantity.high) or 0.5 * quantity.high
            value = float(f"{middle * factor:.1g}") / factor
    text = format_value(quantity, value)
    return text if quantity.unit == "1" and not quantity.user_unit else f"'{text}'"


def format_interval(quantity: Quantity) -> str:
    """Closed interval of a quantity in the unit that people use, such as `[3 t, 120 t]`."""
    low, high = (_format_number(quantity, bound, 6) for bound in (quantity.low, quantity.high))
    return f"[{low}, {high}]"


def format_value(quantity: Quantity, value: float | str, *, digits: int = 4) -> str:
    """Text for captions and messages: `30 t`, `12 kn`, `from 240 deg`.

    Parameters
    ----------
    quantity : Quantity
        What the value is.
    value : float or str
        In `quantity.unit`; for a choice the word or its code.
    digits : int
        Significant digits kept.

    Returns
    -------
    str
        In the unit that people use; `not given` for NaN.
    """
    if isinstance(value, str):
        return value
    if quantity.is_choice:
        return quantity.choices[int(value)]
    if math.isnan(value):
        return "not given"
    if quantity.name in OFF and value >= quantity.high:
        return "off"
    word = BEARINGS.get(quantity.name, "")
    text = _format_number(quantity, value, digits)
    return f"{word} {text}" if word else text


def _format_number(quantity: Quantity, value: float, digits: int) -> str:
    if math.isinf(value):
        return "no bound"
    scaled = value * _user_factor(quantity)
    if scaled == 0.0:
        text = "0"
    elif 1e-5 <= abs(scaled) < 1e12:
        places = max(digits - 1 - math.floor(math.log10(abs(scaled))), 0)
        text = f"{float(f'{scaled:.{digits - 1}e}'):.{places}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    else:
        text = f"{scaled:.{digits - 1}e}"
    label = user_label(quantity)
    return f"{text} {label}" if label else text


def user_label(quantity: Quantity) -> str:
    """Short name of the unit that people use, empty for a bare ratio: `t`, `kn`, `deg/min`."""
    return _LABELS.get(quantity.user_unit, quantity.user_unit)


def to_user_unit(quantity: Quantity, values: ArrayLike) -> NDArray[np.float64]:
    """Values in the unit that people use.

    Parameters
    ----------
    quantity : Quantity
        What the values are.
    values : array_like of float
        In `quantity.unit`, any shape.

    Returns
    -------
    ndarray of float
        The same shape, in `quantity.user_unit`.
    """
    return np.asarray(values, dtype=np.float64) * _user_factor(quantity)


@cache
def _user_factor(quantity: Quantity) -> float:
    """What a value in the dataset's unit is multiplied by to be in the user's."""
    if not quantity.user_unit or quantity.unit in ("", quantity.user_unit):
        return 1.0
    registry = _registry()
    # 1 over the factor of the other way, so that a round user's value stays round
    return 1.0 / float(registry.Quantity(1.0, _spell(quantity.user_unit)[0]).m_as(_unit_of(quantity)))
