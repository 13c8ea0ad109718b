"""What can be done to the bytes of a file so that it is no longer what it was."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np

from toolkit.quantities import INPUTS, OUTCOMES

__all__ = ["mutate_bytes", "mutate_json", "mutate_record", "mutate_study"]

Change = Callable[[np.random.Generator, bytes], bytes]

ODD_VALUES = (
    "true", "nan", "inf", "-inf", "1e999", "-0.0", "9" * 400, "1" + "0" * 30, "[]", "{}", '""', "''", "[[[[]]]]",
    "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", '"12 parsec"', '"12 kn kn"', '"-5 t"', '"1e308 t"', '"nan t"',
    '"inf m"', '"5 m/0"', '"\\u0000"', '"\\uFEFF"', '"٣ m"', '"5,5 m"', '"5 t; rm"', '"from 720 deg"', '"<script>"',
    "[1, 'a', true]", '["5 t", "5 t"]', "{ from = 1, to = 0, count = 2 }", "{ from = '5 t', to = '80 t', count = 1e9 }",
    "{ from = '5 t', to = '80 t', count = -1 }", "{ count = 3 }", "0x7f", "0b1",
    '"' + "m" * 5000 + '"', "[" * 300 + "]" * 300,
    '"../../x"', '"/etc/passwd"', "4", "-1", "0", "65536", "1.5",
)  # fmt: skip
ODD_TEXT = (
    b"\x00",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\r\n",
    b"\n[",
    b'"""',
    b"\xc3\x28",
    "\u202e".encode(),
    b"=",
    b"#",
    b"]]",
)


def _place(draw: np.random.Generator, content: bytes) -> int:
    return int(draw.integers(0, max(len(content), 1)))


def _flip(draw: np.random.Generator, content: bytes) -> bytes:
    changed = bytearray(content)
    for _ in range(int(draw.integers(1, 9))):
        if changed:
            changed[_place(draw, content)] = int(draw.integers(0, 256))
    return bytes(changed)


def _cut(draw: np.random.Generator, content: bytes) -> bytes:
    return content[: _place(draw, content)]


def _drop(draw: np.random.Generator, content: bytes) -> bytes:
    a, b = sorted(_place(draw, content) for _ in range(2))
    return content[:a] + content[b:]


def _insert(draw: np.random.Generator, content: bytes) -> bytes:
    at = _place(draw, content)
    return content[:at] + ODD_TEXT[int(draw.integers(len(ODD_TEXT)))] * int(draw.integers(1, 4)) + content[at:]


def _recode(draw: np.random.Generator, content: bytes) -> bytes:
    text = content.decode("utf-8", "replace")
    return text.encode(str(draw.choice(["utf-16", "utf-32", "cp037", "utf-8-sig"])), "replace")


def _empty(_: np.random.Generator, __: bytes) -> bytes:
    return b""


def _noise(draw: np.random.Generator, _: bytes) -> bytes:
    return draw.bytes(int(draw.integers(1, 3000)))


ANY_BYTES: tuple[Change, ...] = (_flip, _cut, _drop, _insert, _recode, _empty, _noise)


def _on_lines(change: Callable[[np.random.Generator, list[str]], None]) -> Change:
    def changed(draw: np.random.Generator, content: bytes) -> bytes:
        lines = content.decode("utf-8", "replace").split("\n")
        change(draw, lines)
        return "\n".join(lines).encode("utf-8", "replace")

    return changed


def _line(draw: np.random.Generator, lines: list[str], holding: str = "") -> int:
    found = [number for number, line in enumerate(lines) if holding in line]
    return int(draw.choice(found)) if found else 0


def _double(draw: np.random.Generator, lines: list[str]) -> None:
    lines.insert(_line(draw, lines), lines[_line(draw, lines)])


def _swap(draw: np.random.Generator, lines: list[str]) -> None:
    a, b = _line(draw, lines), _line(draw, lines)
    lines[a], lines[b] = lines[b], lines[a]


def _remove(draw: np.random.Generator, lines: list[str]) -> None:
    del lines[_line(draw, lines)]


def _rename(draw: np.random.Generator, lines: list[str]) -> None:
    at = _line(draw, lines, "=")
    names = [*INPUTS, *OUTCOMES, "kind", "samples", "edge", "title", "seed", "a b", '"../x"', "é", ""]
    lines[at] = f"{draw.choice(names)} ={lines[at].partition('=')[2]}"


def _revalue(draw: np.random.Generator, lines: list[str]) -> None:
    at = _line(draw, lines, "=")
    lines[at] = f"{lines[at].partition('=')[0]}= {ODD_VALUES[int(draw.integers(len(ODD_VALUES)))]}"


def _reunit(draw: np.random.Generator, lines: list[str]) -> None:
    at = _line(draw, lines, '"')
    unit = str(draw.choice(["kn", "t", "m", "deg", "percent", "bananas", "m**9", "kg m", "", "deg/min", "s-1"]))
    lines[at] = re.sub(r'(\d) [^"]*"', rf'\g<1> {unit}"', lines[at])


def _retable(draw: np.random.Generator, lines: list[str]) -> None:
    at = _line(draw, lines, "[")
    tables = (
        "[tug]",
        "[[tug]]",
        "[limits]",
        "[leg]",
        "[[leg]]",
        "[basin]",
        "[run]",
        "[design]",
        "[tug.a.b]",
        "[]",
        "tug = 3",
    )
    lines[at] = str(draw.choice(tables))


OF_STUDIES: tuple[Change, ...] = tuple(
    _on_lines(change) for change in (_double, _swap, _remove, _rename, _revalue, _revalue, _revalue, _reunit, _retable)
)


def _column(draw: np.random.Generator, lines: list[str]) -> None:
    at = int(draw.integers(0, len(lines)))
    cells = lines[at].split(",")
    odd = [
        "",
        "nan",
        "-9999",
        "1e400",
        "north",
        "inf",
        "12:00",
        '"',
        "2001-02-30",
        "0000-00-00",
        "5;6",
        "-3",
        "361",
        "1,5",
    ]
    cells[int(draw.integers(0, len(cells)))] = str(draw.choice(odd))
    lines[at] = ",".join(cells)


def _head(draw: np.random.Generator, lines: list[str]) -> None:
    heads = ("time,wind_speed [kn],wind_from [deg]", "time,wind_speed [parsec],wind_from [deg]", "time,time,wind_speed",
             "date,wind", "a;b;c", "", "time,wind_from [deg]", "wind_speed,wind_from,time", "# nothing")  # fmt: skip
    lines[0] = str(draw.choice(heads))


def _separator(draw: np.random.Generator, lines: list[str]) -> None:
    other = str(draw.choice([";", "\t", "|", ",,", " "]))
    lines[:] = [line.replace(",", other) for line in lines]


def _shuffle(draw: np.random.Generator, lines: list[str]) -> None:
    lines[1:] = [str(line) for line in draw.permutation(lines[1:])]


def _fill(draw: np.random.Generator, lines: list[str]) -> None:
    value = str(draw.choice(["nan", "", "-5", "999", "1e308", "x"]))
    column = int(draw.integers(0, 3))
    for at in range(1, len(lines)):
        cells = lines[at].split(",")
        if column < len(cells):
            cells[column] = value
            lines[at] = ",".join(cells)


OF_RECORDS: tuple[Change, ...] = tuple(
    _on_lines(change) for change in (_column, _column, _double, _swap, _remove, _head, _separator, _shuffle, _fill)
)


def _literal(draw: np.random.Generator, content: bytes) -> bytes:
    """Another value in the place of one of JSON."""
    text = content.decode("utf-8", "replace")
    found = list(re.finditer(r'(?<=: )("(?:[^"\\]|\\.)*"|-?[\d.]+|true|false|null|\[\])', text))
    if not found:
        return b"{}"
    odd = ("null", "-1", "0", "1e999", "NaN", "[]", "{}", '""', '"x"', '"<script>alert(1)</script>"', "99999999999",
           '"|O"', '"pickle"', '"float16"', "[1]", "true", '"../../../x"', '{"a": 1}')  # fmt: skip
    place = found[int(draw.integers(len(found)))]
    return (text[: place.start()] + odd[int(draw.integers(len(odd)))] + text[place.end() :]).encode()


def _some(changes: tuple[Change, ...], draw: np.random.Generator, content: bytes) -> bytes:
    for _ in range(1 + int(draw.exponential(0.5))):
        content = changes[int(draw.integers(len(changes)))](draw, content)
    return content


def mutate_bytes(draw: np.random.Generator, content: bytes) -> bytes:
    """Any file, changed."""
    return _some(ANY_BYTES, draw, content)


def mutate_study(draw: np.random.Generator, content: bytes) -> bytes:
    """A study file, changed by its bytes or, more often, by its lines."""
    return _some(OF_STUDIES if draw.random() < 0.7 else ANY_BYTES, draw, content)


def mutate_record(draw: np.random.Generator, content: bytes) -> bytes:
    """A weather record in CSV, changed by its bytes or, more often, by its cells."""
    return _some(OF_RECORDS if draw.random() < 0.7 else ANY_BYTES, draw, content)


def mutate_json(draw: np.random.Generator, content: bytes) -> bytes:
    """A file of JSON, changed by its bytes or, more often, by its values."""
    return _some((_literal,) if draw.random() < 0.7 else ANY_BYTES, draw, content)
