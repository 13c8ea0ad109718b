"""Screening toolkit for one tug handling an unpowered barge: sweeps, outcomes, operating envelopes.

The public names load on first use, so that importing the package costs nothing:

`load_study`
    Read a study file.
`run`
    Run a study, or a study file, into its store and open the results.
`evaluate`
    Evaluate a table of cases in memory.
`history`
    Run one case again and keep its time history.
`barge_alone`
    Swing a barge alone under a force or a couple: the entry for closed forms.
`open_results`
    Open the results of a run.

A screening aid only: it defers to local rules, class, pilots and licensed practice.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from toolkit.execution.history import history
    from toolkit.execution.records import evaluate
    from toolkit.execution.results import open_results
    from toolkit.execution.runner import run_study as run
    from toolkit.motion.barge_alone import barge_alone
    from toolkit.study import load_study

    __version__: str

__all__ = ["__version__", "barge_alone", "evaluate", "history", "load_study", "open_results", "run"]

_HOMES = {
    "barge_alone": ("toolkit.motion.barge_alone", "barge_alone"),
    "evaluate": ("toolkit.execution.records", "evaluate"),
    "history": ("toolkit.execution.history", "history"),
    "load_study": ("toolkit.study", "load_study"),
    "open_results": ("toolkit.execution.results", "open_results"),
    "run": ("toolkit.execution.runner", "run_study"),
}


def __getattr__(name: str) -> Any:
    if name == "__version__":
        return import_module("toolkit.execution.provenance").version()
    if name not in _HOMES:
        raise AttributeError(f"module 'toolkit' has no attribute '{name}'")
    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
