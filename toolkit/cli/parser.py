"""Arguments of the command and its help."""

from __future__ import annotations

import argparse
import textwrap

from toolkit.cli import verbs
from toolkit.quantities.wording import CAUTIONS

__all__ = ["build_parser"]

EXIT_CODES = """\
Exit codes: 0 fine; 1 anything unexpected, in one line (TOWAGE_DEBUG=1 keeps the traceback);
2 problems of input, all named; 3 a store or file that is not there, is cut short, is in the way
or belongs to another study or model; 130 stopped by Ctrl-C (the same `towage run` goes on)."""


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
        description="Sweep one tug swinging an unpowered barge; store the outcomes; draw the operating envelope.",
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
    run.add_argument("--scheduler", metavar="WHAT", help="threads, processes, or the address of a dask scheduler")
    run.add_argument("--no-progress", action="store_true", help="no bar")
    run.add_argument("--fresh", action="store_true", help="throw away results that are there")
    run.set_defaults(verb=verbs.run)

    history = add("history", "run one case again; write its time history and draw it")
    history.add_argument("source", metavar="STUDY_OR_STORE", help="study file, store, or exported NetCDF file")
    history.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                         help="values of the swept inputs, such as wind_speed='12 kn'")  # fmt: skip
    history.add_argument("--case", type=int, metavar="N", help="number of the case, instead of --at")
    history.add_argument("--output", metavar="DIR", help="folder [results/<study>/history-<case>]")
    history.set_defaults(verb=verbs.history)

    envelope = add("envelope", "judge results by their limits and draw the operating envelope")
    envelope.add_argument("source", metavar="STORE_OR_STUDY", help="store, exported NetCDF file, or study file")
    envelope.add_argument("--output", metavar="DIR", help="folder [results/<study>]")
    envelope.add_argument("--limits", metavar="STUDY", help="study file whose [limits] are used instead")
    envelope.set_defaults(verb=verbs.envelope)

    export = add("export", "write results as CF NetCDF or CSV")
    export.add_argument("source", metavar="STORE_OR_STUDY", help="store, or study file whose store is meant")
    export.add_argument("--netcdf", metavar="FILE", help="NetCDF file to write")
    export.add_argument("--csv", metavar="FILE", help="CSV file to write, one row a case")
    export.add_argument("--overwrite", action="store_true", help="replace files that are there")
    export.set_defaults(verb=verbs.export)
    return parser
