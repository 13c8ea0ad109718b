"""Random legal studies: their text, what is run of them, and whether what came out can be true at all."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.fuzz.watch import watched
from tests.sane import Columns, findings
from toolkit.errors import StudyError
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.setting import Setting
from toolkit.quantities import INPUTS, Outcome, Quantity
from toolkit.quantities.units import BEARINGS, format_value
from toolkit.study import Study, parse_study
from toolkit.study.legs import LEG_INPUTS, OF_THE_START

__all__ = ["Tally", "fuzz_studies", "study_text"]

MOST_CASES = 12
"""Cases of a study; one beyond it is drawn anew."""
BATCH = 1024
"""Cases that are run at once."""
SECONDS_PER_BATCH = 300.0
HALVES = ("order_interval", "steady_time")
"""Inputs that are whole numbers of half seconds."""
NAMES = {int(outcome): outcome.name for outcome in Outcome}
WHOLE = ("draw", "draw_seed")
PARTICULARS = [name for name, q in INPUTS.items() if q.section in ("tug", "barge") and q.derived_unless_given]
"""Dimensions of hulls, which seldom go together when all are drawn at random."""


@dataclass
class Tally:
    """What was drawn and what came of it."""

    studies: int = 0
    refused: int = 0
    jobs: int = 0
    basins: int = 0
    cases: int = 0
    ended: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


def _number(draw: np.random.Generator, quantity: Quantity) -> float:
    """A value of the interval: an end now and then, evenly over the decades where it spans several."""
    low, high = quantity.low, quantity.high
    if quantity.name == "time_limit":
        high = 1200.0 if draw.random() < 0.99 else 14400.0  # long ones are dear
    chance = draw.random()
    if chance < 0.2:
        value = low if chance < 0.1 else high
    elif low > 0.0 and high / low > 30.0:
        value = math.exp(draw.uniform(math.log(low), math.log(high)))
    else:
        value = float(draw.uniform(low, high))
    if quantity.name in HALVES:
        value = max(0.5, round(2.0 * value) / 2.0)
    return float(math.floor(value)) if quantity.name in WHOLE else value


def _text(draw: np.random.Generator, quantity: Quantity) -> str:
    if quantity.is_choice:
        return str(draw.choice(quantity.choices))
    return format_value(quantity, _number(draw, quantity), digits=10)


def _keys(draw: np.random.Generator, names: list[str]) -> list[str]:
    """Some of the inputs; mostly few, now and then nearly all."""
    share = min(1.0, float(draw.exponential(0.12)))
    return [name for name in names if draw.random() < (share if name not in PARTICULARS else 0.5 * share)]


def study_text(draw: np.random.Generator) -> str:
    """Text of a random study: each value legal by itself, few cases."""
    names = [name for name in INPUTS if name not in ("time_limit", "manoeuvre")]
    given = ["manoeuvre", "time_limit", *_keys(draw, names)]
    sampled = draw.random() < 0.15
    swept = set(draw.permutation(given)[: draw.integers(0, 4)]) - {"time_limit"}
    tables: dict[str, list[str]] = {}
    ranged = False
    for name in given:
        quantity = INPUTS[name]
        values = list(dict.fromkeys(_text(draw, quantity) for _ in range(draw.integers(2, 4))))
        if name not in swept or len(values) < 2:
            written = json.dumps(values[0])
        elif sampled and not quantity.is_choice and name not in HALVES:
            ends = sorted(_number(draw, quantity) for _ in range(2))
            word = BEARINGS.get(name, "")  # 'from' or 'to', which a range says itself
            low, high = (json.dumps(format_value(quantity, end, digits=10).removeprefix(word).strip()) for end in ends)
            written, ranged = f"{{ from = {low}, to = {high} }}", True
        else:
            written, ranged = json.dumps(values), True
        tables.setdefault(quantity.section, []).append(f"{name} = {written}")
    lines = [f"seed = {draw.integers(0, 2**31)}"]
    for table, entries in tables.items():
        lines += [f"[{table}]", *entries]
    if sampled and ranged:
        kind = draw.choice(["sobol", "latin_hypercube"])
        lines += ["[design]", f'kind = "{kind}"', f"samples = {2 ** draw.integers(0, 4)}"]
    if draw.random() < 0.1:
        north, east = draw.uniform(30.0, 400.0, 2)
        corners = [[f"{a * north:.1f} m", f"{b * east:.1f} m"] for a, b in ((1, 1), (1, -1), (-1, -1), (-1, 1))]
        lines += ["[basin]", f"edge = {json.dumps(corners)}"]
    if draw.random() < 0.2:
        for number in range(draw.integers(1, 5)):
            keys = [name for name in LEG_INPUTS if number == 0 or name not in OF_THE_START]
            few = {"manoeuvre", "time_limit", *draw.choice(keys, size=draw.integers(0, 6))}
            lines += ["[[leg]]", *(f"{name} = {json.dumps(_text(draw, INPUTS[name]))}" for name in keys if name in few)]
    return "\n".join(lines)


def _legal(draw: np.random.Generator, tally: Tally) -> tuple[str, Study]:
    """A study that can be run, and its text; those that are refused are counted."""
    while True:
        text = study_text(draw)
        try:
            study = parse_study(text)
        except StudyError as refused:
            tally.refused += 1
            if not refused.problems or not all(problem.what for problem in refused.problems):
                tally.wrong.append(f"refused without a word:\n{text}")
            continue
        except Exception as error:
            tally.wrong.append(f"{type(error).__name__}: {error} from\n{text}")
            continue
        if study.size <= MOST_CASES:
            return text, study


def fuzz_studies(count: int, seed: int) -> Tally:
    """Draw so many legal studies and run all their cases.

    Parameters
    ----------
    count : int
    seed : int

    Returns
    -------
    Tally
        `wrong` says what cannot be true, with the inputs it came from.
    """
    draw, tally = np.random.default_rng(seed), Tally()
    pool: list[Columns] = []
    for number in range(count):
        text, study = _legal(draw, tally)
        tally.studies += 1
        tally.jobs += bool(study.legs)
        tally.basins += study.basin is not None
        columns, setting = study.columns(np.arange(study.size)), study.setting
        if setting.legs or setting.edges.size:
            _evaluate(columns, setting, tally, text)
        else:
            pool.append(columns)
        if pool and (number == count - 1 or sum(len(each["turn"]) for each in pool) >= BATCH):
            _evaluate({name: np.concatenate([each[name] for each in pool]) for name in INPUTS}, Setting(), tally, "")
            pool = []
    return tally


def _evaluate(columns: Columns, setting: Setting, tally: Tally, text: str) -> None:
    size = len(columns["turn"])
    with watched(SECONDS_PER_BATCH, f"{size} cases\n{text}"):
        try:
            found = evaluate_columns(columns, setting)
        except Exception as error:
            tally.wrong.append(f"{type(error).__name__}: {error} in a batch of {size}\n{text}")
            return
    tally.cases += size
    tally.ended.update(NAMES.get(int(code), "unknown") for code in found["outcome"])
    tally.wrong.extend(_sentences(columns, found, setting))


def _sentences(columns: Columns, found: dict[str, Any], setting: Setting) -> Iterator[str]:
    legs = f" legs {setting.legs}" if setting.legs else ""
    for sentence in findings(columns, found, setting):
        yield sentence + legs
