"""What a column of a record is, and its unit, from the words of its heading (floor 5)."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse

__all__ = ["FLOWS", "factor_of", "in_brackets", "missing_columns", "role_of_standard_name", "roles_of", "time_pattern"]

FLOWS: dict[str, tuple[str, str, str, str, str]] = {
    "wind": ("wind_speed", "wind_from", "wind_to", "wind_east", "wind_north"),
    "current": ("current_speed", "current_to", "current_from", "current_east", "current_north"),
}
"""Of wind and current: speed, bearing as this package has it, bearing the other way, components east and north."""

_WORDS: dict[str, str] = {
    "time": "time, timestamp, date time, datetime, date and time, valid time, local time, utc, time utc, utc time",
    "date": "date, day",
    "wind_speed": "wind speed, windspeed, mean wind speed, wind speed mean, mean wind, wind, wspd, wsp, ws, ff",
    "wind_from": "wind from, wind direction, winddirection, wind from direction, wind bearing, wind dir, wdir, wd, dd",
    "wind_to": "wind to, wind to direction",
    "wind_east": "wind east, eastward wind",
    "wind_north": "wind north, northward wind",
    "current_speed": "current speed, currentspeed, current",
    "current_to": "current to, current set, set, current direction, current dir",
    "current_from": "current from, current from direction",
    "current_east": "current east, eastward current",
    "current_north": "current north, northward current",
}
_ROLE_OF_WORDS = {words: role for role, text in _WORDS.items() for words in text.split(", ")}

_STANDARD_NAMES: dict[str, str] = {
    "time": "time",
    "wind_speed": "wind_speed",
    "wind_from_direction": "wind_from",
    "wind_to_direction": "wind_to",
    "eastward_wind": "wind_east",
    "northward_wind": "wind_north",
    "sea_water_speed": "current_speed",
    "sea_water_velocity_to_direction": "current_to",
    "direction_of_sea_water_velocity": "current_to",
    "sea_water_velocity_from_direction": "current_from",
    "eastward_sea_water_velocity": "current_east",
    "northward_sea_water_velocity": "current_north",
}

_ENDINGS: dict[str, str] = {
    "kn": "kn", "kt": "kn", "kts": "kn", "knot": "kn", "knots": "kn", "mps": "m/s", "kmh": "km/h", "deg": "deg",
}  # fmt: skip
"""Units that may end a heading without brackets, such as `wind_speed_kn`."""

_SPELLINGS = {
    "mps": "m/s", "kmh": "km/h", "kph": "km/h", "km/hr": "km/h", "meter/second": "m/s", "metre/second": "m/s",
    "degrees_true": "deg", "degree_true": "deg", "deg true": "deg", "degt": "deg", "°t": "deg", "degrees true": "deg",
}  # fmt: skip


def in_brackets(heading: str) -> tuple[str, str]:
    """Words of a heading, and what stands in brackets at its end: ``wind_speed [kn]`` gives ``wind_speed, kn``."""
    found = re.fullmatch(r"\s*(.*?)\s*[\[(]\s*([^\[\]()]*?)\s*[\])]\s*", heading)
    return (found.group(1), found.group(2)) if found else (heading.strip(), "")


def _parted(heading: str) -> tuple[str, str]:
    """Words and unit of a heading, the unit in brackets or as its last word."""
    words, unit = in_brackets(heading)
    plain = " ".join(re.findall(r"[a-z0-9]+", words.lower()))
    first, _, last = plain.rpartition(" ")
    if not unit and first in _ROLE_OF_WORDS and last in _ENDINGS:
        return first, _ENDINGS[last]
    return plain, unit


def role_of_standard_name(name: str) -> str:
    """What a variable of that CF standard name is, out of `ROLES`; empty if nothing that is wanted."""
    return _STANDARD_NAMES.get(name, "")


def roles_of(
    headings: Sequence[str], chosen: Mapping[str, str], *, where: str, problems: list[Problem]
) -> dict[str, tuple[str, str]]:
    """Column and unit by what it is.

    Parameters
    ----------
    headings : sequence of str
        Headings or names, in the order of the file.
    chosen : mapping
        Columns that the user has named, by what they are.
    where : str
        File, for messages.
    problems : list of Problem
        Added to: columns named that are not there, and two that are alike.

    Returns
    -------
    dict
        From ``wind_speed`` and the like to heading and the unit in it.
    """
    found: dict[str, tuple[str, str]] = {}
    for role, column in chosen.items():
        matches = [h for h in headings if h == column] or [h for h in headings if in_brackets(h)[0] == column]
        if not matches:
            shown = ", ".join(headings[:20]) + (", ..." if len(headings) > 20 else "")
            problems.append(
                Problem(where=where, what=f"there is no column '{column}' for {role}", remedy=f"There are: {shown}")
            )
        else:
            found[role] = (matches[0], _parted(matches[0])[1])
    taken = {column for column, _ in found.values()}
    for heading in headings:
        words, unit = _parted(heading)
        role = _ROLE_OF_WORDS.get(words, "")
        if not role or role in chosen or heading in taken:
            continue
        if role in found:
            problems.append(
                Problem(where=where, what=f"'{found[role][0]}' and '{heading}' both look like {role}",
                        remedy=f"Say which: columns {role}={heading}")
            )  # fmt: skip
        else:
            found[role] = (heading, unit)
    return found


def missing_columns(found: Mapping[str, object], *, where: str, headings: Sequence[str]) -> list[Problem]:
    """What a record lacks: a time, and wind as speed and bearing or as two components; current whole or not at all."""
    problems = []
    shown = ", ".join(headings[:20]) + (", ..." if len(headings) > 20 else "")
    if "time" not in found and "date" not in found:
        problems.append(Problem(where=where, what="no column of times was recognised",
                                remedy=f"Name it: columns time=NAME. There are: {shown}"))  # fmt: skip
    for flow, (speed, bearing, other, east, north) in FLOWS.items():
        some = {speed, bearing, other, east, north} & set(found)
        whole = speed in found and (bearing in found or other in found)
        if whole or {east, north} <= some or (flow == "current" and not some):
            continue
        lacking = speed if speed not in found else bearing
        if east in found or north in found:
            lacking = east if north in found else north
        problems.append(
            Problem(where=where, what=f"no column of {lacking} was recognised",
                    why="the limit hangs on speed and direction",
                    remedy=f"Name it: columns {lacking}=NAME. There are: {shown}")
        )  # fmt: skip
    return problems


def factor_of(role: str, unit: str, *, where: str, problems: list[Problem]) -> float:
    """What a column is multiplied by to be in the unit of datasets (m/s, degrees).

    A speed without a unit is a problem, never a guess; a bearing without one is
    in degrees. What is no such unit is added to `problems`; then 1 comes back.
    """
    name = "wind_from" if role in {FLOWS[f][k] for f in FLOWS for k in (1, 2)} else "current_speed"
    text = re.sub(r"\s+", " ", unit.strip())
    text = _SPELLINGS.get(text.lower(), text).replace(".", " ")
    if not text and name == "wind_from":
        return 1.0
    remedy = f"Say it: units {role}={'deg' if name == 'wind_from' else 'kn (or m/s, km/h)'}"
    if not text:
        problems.append(
            Problem(where=where, what=f"{role} has no unit", why="knots and m/s differ by a factor of two",
                    remedy=remedy)
        )  # fmt: skip
        return 1.0
    try:
        return float(parse(INPUTS[name], f"1 {text}"))
    except StudyError:
        problems.append(
            Problem(where=where, what=f"{role} has the unit '{unit}', which is no unit of its kind", remedy=remedy)
        )
        return 1.0


def time_pattern(*brackets: str) -> str:
    """Pattern in strftime's signs of brackets such as ``MM/DD/YYYY`` and ``HH:MM``; empty where they are none."""
    parts = []
    for text in brackets:
        date, hour, clock = text.partition("HH")
        date = date.replace("YYYY", "%Y").replace("MM", "%m").replace("DD", "%d")
        parts.append(date + (hour + clock).replace("HH", "%H").replace("MM", "%M").replace("SS", "%S"))
    pattern = " ".join(parts).strip()
    left = re.sub(r"%[YmdHMS]", "", pattern)
    return pattern if "%Y" in pattern and "%d" in pattern and not re.search(r"[A-Za-z%]", left.replace("T", "")) else ""
