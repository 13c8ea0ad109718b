"""Arguments of the command and its help."""

from __future__ import annotations

import argparse
import textwrap

from toolkit.cli import decisions, operability, report, research, verbs
from toolkit.cli.convergence import add_convergence
from toolkit.cli.convergence import convergence as convergence_verb
from toolkit.cli.stability import stability as stability_verb
from toolkit.quantities.wording import CAUTIONS

__all__ = ["build_parser"]

EXIT_CODES = """\
Exit codes: 0 fine; 1 anything unexpected, in one line (TOWAGE_DEBUG=1 keeps the traceback);
2 problems of input, all named; 3 a store or file that is not there, is cut short, is in the way,
cannot be written (no room, no right), belongs to another study or model or is in use by another
run, or a dask scheduler whose workers do not come; 130 stopped by Ctrl-C. After 3 and 130 blocks
that are done stay done: once the cause is gone the same `towage run` goes on."""


class _Version(argparse.Action):
    """`--version`, looked up only when asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from toolkit.execution.provenance import version

        print(f"towage {version()}")
        parser.exit()


def build_parser() -> argparse.ArgumentParser:
    """Parser of the command; `verb` of what it returns is the function to call."""
    cautions = textwrap.fill(f"Cautions. {CAUTIONS}", 96)
    parser = argparse.ArgumentParser(
        prog="towage",
        description="Sweep one tug handling an unpowered barge; store the outcomes; draw the operating envelope.",
        epilog=f"{EXIT_CODES}\n\n{cautions}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and leave")
    subparsers = parser.add_subparsers(title="verbs", required=True, metavar="VERB")

    def add(name: str, help: str) -> argparse.ArgumentParser:
        return subparsers.add_parser(
            name, help=help, description=help[0].upper() + help[1:] + ".", epilog=f"{EXIT_CODES}\n\n{cautions}",
            formatter_class=argparse.RawDescriptionHelpFormatter, allow_abbrev=False,
        )  # fmt: skip

    check = add("check", "say what a study will run, how long and how large, or every problem of it")
    check.add_argument("study", nargs="?", metavar="STUDY", help="study file (TOML)")
    check.add_argument("--keys", action="store_true", help="list every key with unit, interval, default and meaning")
    check.add_argument("--markdown", action="store_true", help="with --keys: as Markdown tables")
    check.set_defaults(verb=verbs.check)

    run = add("run", "run every case of a study that has not been run yet")
    run.add_argument("study", metavar="STUDY", help="study file (TOML)")
    run.add_argument("--store", metavar="PATH", help="Zarr store [results/<study>.zarr]")
    run.add_argument("--workers", type=int, metavar="N", help="blocks that run side by side [processors]")
    run.add_argument("--serial", action="store_true", help="one block after the other, the reference")
    run.add_argument(
        "--scheduler",
        metavar="WHAT",
        help="threads, processes, or a dask scheduler: its address, as tcp://host:8786, or file NAME.json",
    )
    run.add_argument("--no-progress", action="store_true", help="no bar")
    run.add_argument("--fresh", action="store_true", help="throw away results that are there")
    run.add_argument(
        "--reuse",
        metavar="OLD",
        help="store of a smaller grid or shorter Sobol' sequence: take its "
        "cases over into --store, run only the others (OLD is only read)",
    )
    run.add_argument(
        "--verify", action="store_true", help="read blocks that are done; run those again that cannot be read"
    )
    run.set_defaults(verb=verbs.run)

    history = add("history", "run one case again; write its time history and draw it")
    history.add_argument("source", metavar="STUDY_OR_STORE", help="study file, store, or exported NetCDF file")
    history.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                         help="values of the swept inputs, such as wind_speed='12 kn'")  # fmt: skip
    history.add_argument("--case", type=int, metavar="N", help="number of the case, instead of --at")
    history.add_argument("--output", metavar="DIR", help="folder [results/<study>/history-<case>]")
    history.add_argument("--animate", nargs="+", action="extend", choices=("html", "gif", "mp4"), metavar="WHAT",
                         help="html (a page that plays it), gif, mp4 (needs ffmpeg) [html]")  # fmt: skip
    history.add_argument("--energy", action="store_true",
                         help="also add up the work of every load: table of works and what is left over")  # fmt: skip
    history.set_defaults(verb=verbs.history)

    envelope = add("envelope", "judge results by their limits and draw the operating envelope")
    envelope.add_argument("source", metavar="STORE_OR_STUDY", help="store, exported NetCDF file, or study file")
    envelope.add_argument("--output", metavar="DIR", help="folder [results/<study>]")
    envelope.add_argument("--limits", metavar="STUDY", help="study file whose [limits] are used instead")
    envelope.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                          help="axes to cut, such as displacement='1500 t': judge and draw these alone")  # fmt: skip
    envelope.add_argument("--swept", type=int, default=0, metavar="N",
                          help="draw the ground that N cases of each configuration sweep, run again [0]")  # fmt: skip
    envelope.set_defaults(verb=verbs.envelope)

    requirement = add("requirement", "draw up the smallest and largest tug for each band, as a rule with its basis")
    decisions.add_requirement(requirement)
    requirement.set_defaults(verb=decisions.requirement)

    limits = add("limits", "search the wind limits of a study on the model; write curves and a go / no-go card")
    decisions.add_limits(limits)
    limits.set_defaults(verb=decisions.limits)

    stability = add("stability", "set the tugs of a study against published stability rules, beside the simulated heel")
    stability.add_argument("study", metavar="STUDY", help="study file (TOML)")
    stability.add_argument("--results", metavar="STORE", help="results of the study [its own store, if it is there]")
    stability.add_argument("--righting-levers", metavar="FILE",
                           help="CSV file with heel [deg] and lever [m], and tug where there are several")  # fmt: skip
    stability.add_argument("--intercepted", type=float, metavar="SHARE",
                           help="share s of 46 CFR 173.095 that the rudder intercepts [1, the severest]")  # fmt: skip
    stability.add_argument("--output", metavar="DIR", help="folder [results/<study>]")
    stability.set_defaults(verb=stability_verb)

    convergence = add("convergence", "find the coarsest time step that is within 0.5 percent at the corners of a study")
    add_convergence(convergence)
    convergence.set_defaults(verb=convergence_verb)

    compare = add("compare", "compare configurations pair by pair, all else alike, with intervals")
    compare.add_argument("source", metavar="STORE_OR_STUDY", help="store, exported NetCDF file, or study file")
    compare.add_argument("--axis", metavar="NAME", help="input whose values are compared [the first swept choice]")
    compare.add_argument("--values", nargs="+", metavar="VALUE", help="values to compare, each with the first [all]")
    compare.add_argument("--with", dest="other", metavar="STORE", help="results of the other configuration")
    compare.add_argument("--over", nargs="+", metavar="NAME", help="two axes of the map of where each does better")
    compare.add_argument("--quantity", metavar="NAME",
                         help="outcome by which pairs are judged in the map [the time of the job]")  # fmt: skip
    compare.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                         help="axes to cut, such as wind_speed='10 kn'")  # fmt: skip
    compare.add_argument("--output", metavar="DIR", help="folder [results/<study>/comparison]")
    compare.set_defaults(verb=research.compare)

    sensitivity = add("sensitivity", "find which inputs and coefficients move the outcomes of a study")
    sensitivity.add_argument("study", metavar="STUDY", help="study file (TOML)")
    sensitivity.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                             help="swept inputs to hold, such as manoeuvre=swing_pull")  # fmt: skip
    sensitivity.add_argument("--outcomes", nargs="+", metavar="NAME",
                             help="outcomes to explain, or completed, passes [those that apply]")  # fmt: skip
    sensitivity.add_argument("--no-coefficients", action="store_true", help="vary no coefficient of the model")
    sensitivity.add_argument("--trajectories", type=int, default=10, metavar="N", help="of the screening [10]")
    sensitivity.add_argument("--keep", type=int, default=6, metavar="N",
                             help="inputs that go from the screening into the indices [6]")  # fmt: skip
    sensitivity.add_argument("--samples", type=int, default=256, metavar="N", help="of the indices, power of two [256]")
    sensitivity.add_argument("--replicates", type=int, default=8, metavar="N", help="sequences of running means [8]")
    sensitivity.add_argument("--steps", action="store_true", help="also refine the time step")
    sensitivity.add_argument("--seed", type=int, metavar="N", help="of all designs [that of the study]")
    sensitivity.add_argument("--workers", type=int, metavar="N", help="blocks that run side by side [processors]")
    sensitivity.add_argument("--output", metavar="DIR", help="folder [results/<study>/sensitivity]")
    sensitivity.set_defaults(verb=research.sensitivity)

    operable = add("operability", "hold a record of wind, and current, against the wind limit of one configuration")
    operability.add_arguments(operable)
    operable.set_defaults(verb=operability.operability)

    page = add("report", "write one page of HTML: answer, figures, tables and an envelope to move through")
    report.add_arguments(page)
    page.set_defaults(verb=report.report)

    export = add("export", "write results as CF NetCDF or CSV")
    export.add_argument("source", metavar="STORE_OR_STUDY", help="store, or study file whose store is meant")
    export.add_argument("--netcdf", metavar="FILE", help="NetCDF file to write")
    export.add_argument("--csv", metavar="FILE", help="CSV file to write, one row a case")
    export.add_argument("--overwrite", action="store_true", help="replace files that are there")
    export.set_defaults(verb=verbs.export)
    return parser
