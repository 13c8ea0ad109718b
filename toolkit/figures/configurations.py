"""Parts of a dataset, one for each combination of the choices that are swept (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.findings.conditions import idle_of
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_values
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["MOST_SETS", "Configuration", "configurations"]

MOST_SETS = 6
"""Most combinations of choices that are drawn, each as a set of figures of its own."""

_FIRST = ("manoeuvre", "tug_attitude", "tug_type", "working_end", "turn")
_NAMED = frozenset(
    {"working_end", "turn", "start", "check_from", "side_way", "station_from", "station_to", "skegs", "crew", "failure",
     "line_arrangement", "making_fast"}
)  # fmt: skip
"""Choices whose words say little without their name."""


@dataclass(frozen=True, kw_only=True)
class Configuration:
    """One combination of choices.

    Attributes
    ----------
    words : str
        For titles, such as ``swing pull, athwartships``; empty if no choice is swept.
    suffix : str
        For names of files, such as ``swing_pull_athwartships``.
    dataset, judged : xarray.Dataset
        Its cases.
    """

    words: str
    suffix: str
    dataset: xr.Dataset
    judged: xr.Dataset

    def named(self, name: str) -> str:
        """Name of a file of this set."""
        return f"{name}_{self.suffix}" if self.suffix else name

    def titled(self, words: str) -> str:
        """Title of a figure or table of this set."""
        text = words[:1].upper() + words[1:]
        return f"{text}: {self.words}" if self.words else text


def _choices(dataset: xr.Dataset) -> dict[str, list[str]]:
    """Choices that vary, most telling first, and their words in the order of the dataset."""
    names = (*_FIRST, *(name for name, quantity in INPUTS.items() if quantity.is_choice and name not in _FIRST))
    found: dict[str, list[str]] = {}
    for name in names:
        if name in dataset.coords and dataset[name].dims in ((name,), ("case",)):
            found[name] = list(dict.fromkeys(axis_values(dataset, name)))
    return {name: words for name, words in found.items() if len(words) > 1}


def _select(dataset: xr.Dataset, judged: xr.Dataset, name: str, word: str) -> tuple[xr.Dataset, xr.Dataset]:
    """Cases with one word of a choice, an axis of a grid or a coordinate of samples."""
    here = np.array(axis_values(dataset, name)) == word
    if dataset[name].dims == ("case",):
        places = {"case": np.nonzero(here)[0]}
        return dataset.isel(places).assign_coords({name: word}), judged.isel(places).assign_coords({name: word})
    place = {name: int(np.argmax(here))}
    return dataset.isel(place), judged.isel(place)


def configurations(
    dataset: xr.Dataset, judged: xr.Dataset, at: Mapping[str, Any]
) -> tuple[list[Configuration], list[str]]:
    """Part a dataset by its choices, and say which combinations are left out.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement: a grid or samples.
    at : mapping
        Choices that are cut at one word anyway.

    Returns
    -------
    tuple
        Configurations, at most `MOST_SETS`, and lines of text on what is left
        out. A choice that would exceed them is cut at its first word.
        A choice that a manoeuvre does not use makes no set of its own in it.
    """
    swept = {name: words for name, words in _choices(dataset).items() if name not in at}
    shown: dict[str, list[str]] = {}
    left: list[str] = []
    sets = 1
    for name, words in swept.items():
        if sets * len(words) <= MOST_SETS:
            shown[name], sets = words, sets * len(words)
        else:
            dataset, judged = _select(dataset, judged, name, words[0])
            rest = ", ".join(display_text(name, word) for word in words[1:])
            left.append(
                f"{long_name(name)}: figures and limit tables are for {display_text(name, words[0])} alone, not for "
                f"{rest}. Counts of cases are of all. To draw another, give `at` of `toolkit.figures.draw_envelope`."
            )
    found = [
        _configuration(dataset, judged, dict(zip(shown, combination, strict=True)))
        for combination in product(*shown.values())
        if not _repeats(dataset, dict(zip(shown, combination, strict=True)), shown)
    ]
    return found, left


def _idle(dataset: xr.Dataset, chosen: Mapping[str, str]) -> frozenset[str]:
    """Choices of a combination that its manoeuvre does not use."""
    import xarray as xr

    fixed = {str(name): values for name, values in dataset.coords.items() if not values.ndim}
    return idle_of(xr.Dataset(coords={**fixed, **chosen}, attrs=dataset.attrs)) & set(chosen)


def _repeats(dataset: xr.Dataset, chosen: Mapping[str, str], shown: Mapping[str, Sequence[str]]) -> bool:
    """Whether a combination only repeats another: a push uses no line, whatever its material."""
    return any(chosen[name] != shown[name][0] for name in _idle(dataset, chosen))


def _configuration(dataset: xr.Dataset, judged: xr.Dataset, chosen: Mapping[str, str]) -> Configuration:
    told = [name for name in chosen if name not in _idle(dataset, chosen)]
    for name, word in chosen.items():
        dataset, judged = _select(dataset, judged, name, word)
    return Configuration(
        words=", ".join(_said(name, chosen[name]) for name in told),
        suffix="_".join(chosen[name] for name in told),
        dataset=dataset,
        judged=judged,
    )


def _said(name: str, word: str) -> str:
    """Words for a choice in a title; those that say little alone with their name."""
    text = display_text(name, word)
    return f"{long_name(name)} {text}" if name in _NAMED else text
