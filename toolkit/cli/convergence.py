"""The verb `convergence`: which time step a study needs, found at its own corners."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from toolkit.cli import verbs
from toolkit.cli.waiting import tell_of_compiling
from toolkit.errors import Problem, StudyError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from toolkit.motion.convergence import Accuracy

__all__ = ["add_convergence", "convergence"]

FACTORS = (0.5, 0.75, 1.0, 2.0, 4.0)
"""Steps over those of the step rule that are tried."""
REFERENCE = 16.0
"""Those of the reference."""
JUDGED = (
    "time_to_turn", "time_to_berth", "stopping_time", "tow_speed", "walking_speed", "peak_tension",
    "peak_contact_force",
)  # fmt: skip
SHOWN = (*JUDGED, "peak_tension_3s", "peak_heel")


def add_convergence(parser: ArgumentParser) -> None:
    """Arguments of the verb."""
    parser.add_argument("study", metavar="STUDY", help="study file (TOML)")
    parser.add_argument("--cases", type=int, default=64, metavar="N",
                        help="most corners of the study that are tried [64]")  # fmt: skip
    parser.add_argument("--share", type=float, default=99.0, metavar="PERCENT",
                        help="share of them that has to be within 0.5 percent [99]")  # fmt: skip
    parser.add_argument("--output", metavar="DIR", help="folder [results/<study>]")


def convergence(options: Namespace) -> None:
    """Play the orders of the corners of a study back at several steps, and name the coarsest that will do."""
    _check_numbers(options)
    from tqdm import tqdm

    from toolkit.execution.provenance import provenance
    from toolkit.execution.store import writing
    from toolkit.figures.folder import Folder
    from toolkit.figures.step_page import add_time_step
    from toolkit.motion.convergence import coarsest, step_error
    from toolkit.motion.engine import model_hash, step_rule
    from toolkit.study import load_study
    from toolkit.study.checks import interplay_problems
    from toolkit.study.corners import corner_columns

    place = Path(options.study)
    study = load_study(place)
    problems = interplay_problems(study)
    if problems:
        raise StudyError(problems)
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem
    with writing(folder, kept=""):
        folder.mkdir(parents=True, exist_ok=True)
    tell_of_compiling(study.manoeuvres)
    columns, corners = corner_columns(study, options.cases)
    count = len(columns["manoeuvre"])
    print(f"{count} of {corners} corners of {place}, their orders played back at each step", flush=True)
    rounds = (len(FACTORS) + 2) * max(1, len(study.legs))
    with tqdm(total=rounds, unit="rounds", leave=False, disable=None) as bar:
        rows = step_error(columns, (*FACTORS, REFERENCE), setting=study.setting, names=SHOWN, done=bar.update)
    if not rows:
        raise StudyError([Problem(where=str(place), what="at no corner is there water under both vessels")])
    attributes = provenance(title=study.title, model_hash=model_hash(), step_rule=step_rule())
    attributes["study_hash"] = study.hash()
    what = (
        f"Error of the step alone: the orders of {count} of the {corners} corners of the study '{study.title}' played "
        f"back at each step, both vessels put back to the record every 30 s, against {REFERENCE:g} times the steps of "
        f"the rule. 'Step / 2': twice the steps of the rule. The rule: {attributes['step_rule']}."
    )
    out = Folder(path=folder)
    with writing(folder, kept=""):
        add_time_step(out, rows, attributes, what, "convergence")
    _print_rows(rows)
    met = [name for name in JUDGED if any(row.cases for row in rows if row.outcome == name)]
    if met:
        _say(coarsest(rows, met, options.share / 100.0), met, options.share)
    else:
        print(f"No case has any of {', '.join(JUDGED)}: nothing to judge a step by.")
    verbs.list_files(out.paths, attributes["cautions"])


def _print_rows(rows: Sequence[Accuracy]) -> None:
    from toolkit.findings.display import long_name

    print(f"{'steps':>8}  {'outcome':<28} {'cases':>5} {'median':>9} {'largest':>9} {'within 0.5 %':>13}")
    for row in rows:
        if row.cases or row.changed:
            print(f"x {row.run.removeprefix('step / '):>6}  {long_name(row.outcome):<28} {row.cases:5d} "
                  f"{row.median:9.1e} {row.largest:9.1e} {100.0 * row.share_within:11.1f} %"
                  + ("" if row.changed == 0.0 else f"  {100.0 * row.changed:.1f} % lack it or gain it"))  # fmt: skip


def _say(found: str, met: Sequence[str], share: float) -> None:
    want = f"{share:g} % of the cases within 0.5 % in {', '.join(met)}"
    if not found:
        print(f"No step tried is fine enough for {want}. Look at the table; try other materials or a smaller --share.")
        return
    factor = float(found.removeprefix("step / "))
    print(f"Coarsest step with {want}: that of the rule over {factor:g}.")
    if factor == 1.0:
        print("That is what a run does unless told otherwise.")
    else:
        print(f"For it write in the study: [numerics] step_refinement = {factor:g}")


def _check_numbers(options: Namespace) -> None:
    problems = []
    if options.cases < 1:
        problems.append(Problem(where="--cases", what=f"cases = {options.cases} is below 1", remedy="Give 1 or more"))
    if not 0.0 < options.share <= 100.0:
        problems.append(
            Problem(where="--share", what=f"share = {options.share:g} % is outside (0, 100]",
                    why="it is a share of the cases", remedy="Give 99, or 100 for all of them")
        )  # fmt: skip
    if problems:
        raise StudyError(problems)
