"""Every figure and table of a comparison of configurations, written into a folder (floor 6)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.figures.folder import Folder
from toolkit.figures.interaction import draw_interaction
from toolkit.figures.paired_difference import draw_difference_curve, draw_paired_differences
from toolkit.figures.push_pull import draw_pairs
from toolkit.figures.view import bare, caption
from toolkit.figures.win_map import draw_win_map
from toolkit.findings import apply_limits, limits_of, pair, share_of_runs, shares_text
from toolkit.findings.alike import value_at
from toolkit.findings.compare import paired_quantities
from toolkit.findings.conditions import facts_of_results
from toolkit.findings.display import as_sentence, long_name
from toolkit.findings.interaction import interaction
from toolkit.findings.paired import DRAW, compare_along, compare_results
from toolkit.findings.reading import axis_values, cautions, directions, provenance, require
from toolkit.findings.research_tables import comparison_lines, paired_difference_table, preference_table
from toolkit.findings.win_map import win_map

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "MOST_COMPARED", "READ_DIFFERENCES", "Compared", "comparison_sets", "draw_comparison", "draw_interactions",
    "draw_two_compared",
]  # fmt: skip

MOST_COMPARED = 6
"""Most configurations that are set against the first."""

_MAP_ORDER = (
    "bollard_pull", "displacement", "wind_speed", "power_setting", "line_length", "current_speed", "water_depth",
)  # fmt: skip
_ROOM = "swept_radius_all"
READ_DIFFERENCES = (
    "Dots: mean paired difference of the pairs of which both completed; thick line: bootstrap of whole blocks, thin: "
    "Student's t over blocks. What the pairs of which one failed would add is not in it: see the bars, and the table "
    "of preferences."
)
"""How the figure of paired differences is read, for its caption."""

_READ_CURVE = "Every pair run, in the order of its difference; pairs of which one failed stand at the end of the other."
_READ_MAP = (
    "Number and shade: share of pairs in which the one does better less that of the other; completing beats not "
    "completing, then the smaller {} wins. Bold: a test of signs supports it; brackets: it does not."
)
_READ_INTERACTION = "Failed cases count in the means{}. Parallel lines: the two inputs only add up."
_READ_TRADE = "Each pair has all other inputs alike. Pairs of which one failed are counted in the table, not drawn."


def draw_comparison(
    dataset: xr.Dataset,
    folder: str | Path,
    *,
    axis: str = "",
    values: Sequence[Any] = (),
    second: xr.Dataset | None = None,
    names: tuple[str, str] = ("first", "second"),
    over: Sequence[str] = (),
    quantity: str | None = None,
    quantities: Iterable[str] | None = None,
) -> tuple[list[Path], list[xr.Dataset]]:
    """Compare configurations pair by pair, and write what was found.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results; with `axis`, of all configurations.
    folder : path
        Where to write.
    axis : str
        Input whose values are the configurations.
    values : sequence of str or float, optional
        Those to compare, each with the first; all of the axis unless given, up
        to `MOST_COMPARED` against the first.
    second : xarray.Dataset, optional
        Results of the second configuration, instead of `axis`.
    names : tuple of str
        What to call the two, with `second`.
    over : sequence of str, optional
        The two axes of the map; the first two of the usual ones unless given.
    quantity : str, optional
        Outcome of curve, map and interaction; the time of the job unless given.
    quantities : iterable of str, optional
        Outcomes to compare.

    Returns
    -------
    paths : list of pathlib.Path
        Files written.
    comparisons : list of xarray.Dataset
        From :func:`toolkit.findings.paired.compare_results`.

    Raises
    ------
    StudyError
        If there is nothing to compare, or as `compare_results` raises.
    """
    quantity = quantity or facts_of_results(dataset).time
    wanted = (quantity, *_trade(dataset), *(paired_quantities(dataset) if quantities is None else quantities))
    require(dataset, (quantity,), "judging the pairs")
    free = [str(dim) for dim in dataset["outcome"].dims if dim != axis]
    unknown = [name for name in over if name not in free]
    if unknown:
        raise StudyError(
            Problem(where="map", what=f"{name} is no axis of the comparison", remedy=f"Choose from: {', '.join(free)}")
            for name in unknown
        )
    dataset = _in_memory(dataset, wanted)
    second = None if second is None else _in_memory(second, wanted)
    sets, left = comparison_sets(dataset, axis, values, second, names)
    options: dict[str, Any] = {} if quantities is None else {"quantities": tuple(quantities)}
    comparisons = [
        compare_results(*both, names=named, **options)
        if second is not None
        else compare_along(dataset, axis, *values, **options)
        for both, named, values in sets
    ]
    out = Folder(path=Path(folder), left_out=left)
    out.path.mkdir(parents=True, exist_ok=True)
    judged = bare(apply_limits(dataset))
    out.table(paired_difference_table(comparisons), "paired_differences")
    out.table(preference_table(comparisons), "preferences")
    lines = [line for found in comparisons for line in (comparison_lines(found)[0], comparison_lines(found)[-1])]
    basis = " ".join(dict.fromkeys(lines))
    title = "Paired differences" + (f" by {long_name(axis)}" if axis else "")
    text = caption(dataset, judged, lead=(READ_DIFFERENCES, basis))
    out.sheet(draw_paired_differences(comparisons, title=title, caption=text), "paired_differences_figure", title)
    for place, (both, named, _) in enumerate(sets):
        draw_two_compared(out, both, named, f"_{place + 1}" if len(sets) > 1 else "", (dataset, judged), over, quantity)
    if axis:
        draw_interactions(out, dataset, judged, axis, over, quantity)
    out.index(
        f"Comparison: {dataset.attrs.get('title', 'untitled')}",
        (
            *dict.fromkeys(line for found in comparisons for line in comparison_lines(found)),
            f"Runs: {shares_text(share_of_runs(judged))}",
            directions(dataset.attrs),
            provenance(dataset.attrs),
            cautions(dataset.attrs),
        ),
    )
    return out.paths, comparisons


def _trade(dataset: xr.Dataset) -> tuple[str, str]:
    """The time of the job and the room it takes."""
    return facts_of_results(dataset).time, _ROOM


def _in_memory(dataset: xr.Dataset, names: Iterable[str]) -> xr.Dataset:
    """What is compared or judged, read once."""
    return dataset[
        [n for n in dict.fromkeys(("outcome", *names, *limits_of(dataset))) if n in dataset.data_vars]
    ].compute()


Compared = tuple[tuple["xr.Dataset", "xr.Dataset"], tuple[str, str], tuple[Any, Any]]
"""Two results to compare, the words for each, and the two values that set them apart."""


def comparison_sets(
    dataset: xr.Dataset, axis: str, values: Sequence[Any], second: xr.Dataset | None, names: tuple[str, str]
) -> tuple[list[Compared], list[str]]:
    """Pairs of results to compare, with their names and values, and what is left out.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results; values along `axis` are set against the first of them.
    axis : str
        A swept input, unless `second` is given.
    values : sequence
        Values [dataset units] or words of the axis; empty for all.
    second : xarray.Dataset, optional
        Results that are set against `dataset` as a whole.
    names : tuple of str
        Words for the two, where `second` is given.

    Returns
    -------
    sets : list of Compared
        At most `MOST_COMPARED`.
    left : list of str
        Sentences on values that are not compared.

    Raises
    ------
    StudyError
        If there are not two values to compare, or one is not on the axis.
    """
    if second is not None:
        return [((dataset, second), names, names)], []
    given = list(values) or (axis_values(dataset, axis) if axis in dataset["outcome"].dims else [])
    places = [value_at(dataset, axis, value) for value in given]
    if len({place for place, _ in places}) < 2:
        swept = ", ".join(str(dim) for dim in dataset["outcome"].dims if dim not in (DRAW, "case"))
        raise StudyError(
            [
                Problem(
                    where="comparison",
                    what=f"{axis or 'no input'} has {len(set(places))} of the values to compare",
                    why="two configurations make a pair",
                    remedy=f"Name a swept input with two values or more ({swept or 'none is swept on a grid'}), "
                    "or the results of a second configuration",
                )
            ]
        )
    left = [
        f"{long_name(axis)} {words}: not compared; name the values to compare."
        for _, words in places[1 + MOST_COMPARED :]
    ]
    sets = []
    for (one, first), (other, then), wanted in zip(
        [places[0]] * MOST_COMPARED, places[1 : 1 + MOST_COMPARED], given[1 : 1 + MOST_COMPARED], strict=False
    ):
        both = (dataset.isel({axis: one}, drop=True), dataset.isel({axis: other}, drop=True))
        sets.append((both, (first, then), (given[0], wanted)))
    return sets, left


def _map_axes(dims: Sequence[str], over: Sequence[str]) -> tuple[str, ...]:
    """Two axes of a map: those asked for, else the first two of the usual ones."""
    free = [dim for dim in dims if dim not in (DRAW, "case")]
    usual = [*(name for name in _MAP_ORDER if name in free), *(name for name in free if name not in _MAP_ORDER)]
    return tuple(over) or tuple(usual[:2])


def draw_two_compared(
    out: Folder, both: tuple[xr.Dataset, xr.Dataset], names: tuple[str, str], suffix: str,
    whole: tuple[xr.Dataset, xr.Dataset], over: Sequence[str], quantity: str,
) -> None:  # fmt: skip
    """Draw the curve, the map and the trade-off of two configurations.

    Parameters
    ----------
    out : Folder
        Where to write.
    both : tuple of xarray.Dataset
        Results of the two.
    names : tuple of str
        Words for them.
    suffix : str
        Appended to the names of the files.
    whole : tuple of xarray.Dataset
        The results and their judgement that the captions tell of.
    over : sequence of str
        The two axes of the map; empty for the usual ones.
    quantity : str
        The outcome compared.
    """
    dataset, judged = whole
    trade = _trade(dataset)
    pairs = pair(*map(bare, both), names=names, quantities=dict.fromkeys((quantity, *trade))).compute()
    words = f"{names[1]} against {names[0]}"
    if quantity in str(pairs.attrs["quantities"]).split():
        title = as_sentence(f"{long_name(quantity)}, every pair: {words}")
        sheet = draw_difference_curve(
            pairs, quantity, title=title, caption=caption(dataset, judged, lead=(_READ_CURVE,))
        )
        out.sheet(sheet, f"every_pair{suffix}", title)
        axes = _map_axes([str(dim) for dim in pairs["both_completed"].dims], over)
        if len(axes) == 2:
            found = win_map(pairs, axes, quantity)
            title = f"Where each does better: {words}"
            rest = [str(d) for d in pairs["both_completed"].dims if d not in axes]
            voter = "draw" if DRAW in rest else "pair"
            within = f"Counted together in a cell: {', '.join(map(long_name, rest)) or 'nothing else is swept'}; each "
            within += f"{voter} is a vote, up to {found.attrs['votes']} a cell (fewer than six support nothing)."
            text = caption(dataset, judged, lead=(_READ_MAP.format(long_name(quantity)), within))
            out.sheet(draw_win_map(found, title=title, caption=text), f"where_better{suffix}", title)
        else:
            out.left_out.append(f"Map of where each does better, {words}: fewer than two axes are swept on a grid.")
    if set(trade) <= set(str(pairs.attrs["quantities"]).split()):
        title = f"Time against room: {words}"
        text = caption(dataset, judged, lead=(_READ_TRADE,))
        sheet = draw_pairs(pairs, horizontal=trade[0], title=title, caption=text)
        out.sheet(sheet, f"time_against_room{suffix}", title)


def draw_interactions(
    out: Folder, dataset: xr.Dataset, judged: xr.Dataset, axis: str, over: Sequence[str], quantity: str
) -> None:
    """Draw means over each axis of the map, a line a configuration.

    Parameters
    ----------
    out : Folder
        Where to write.
    dataset, judged : xarray.Dataset
        Results and their judgement.
    axis : str
        The swept input that sets the configurations apart.
    over : sequence of str
        The axes of the map; empty for the usual ones.
    quantity : str
        The outcome drawn; nothing is drawn if the results lack it.
    """
    dims = [str(dim) for dim in dataset["outcome"].dims if dim != axis]
    if quantity not in dataset.data_vars:
        return
    for other in _map_axes(dims, over):
        found = interaction(dataset, other, axis, quantity)
        stand_in = str(found.attrs["stand_in"])
        lead = _READ_INTERACTION.format(f" (for a value they lack: {stand_in})" if stand_in else "")
        if DRAW in dims:
            lead += " Upright lines: Student's t interval over draws."
        title = as_sentence(f"{long_name(quantity)} over {long_name(other)}, by {long_name(axis)}")
        made = draw_interaction(found, title=title, caption=caption(dataset, judged, lead=(lead,)))
        out.sheet(made, f"interaction_{axis}_{other}", title)
