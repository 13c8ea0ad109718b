"""Where a dataset comes from: version, commit, packages, time, study and model."""

from __future__ import annotations

import json
import os
import platform
import subprocess
from datetime import UTC, datetime
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

from toolkit.quantities.wording import CAUTIONS, DIRECTIONS

__all__ = [
    "CONVENTIONS",
    "DISTRIBUTION",
    "commit",
    "package_versions",
    "provenance",
    "timestamp",
    "version",
]

DISTRIBUTION = "towage-envelope"
CONVENTIONS = "CF-1.11"

PACKAGES = ("numpy", "numba", "scipy", "xarray", "zarr", "dask", "netCDF4", "pandas", "pint")


@cache
def version() -> str:
    """Version of the installed distribution, or ``unknown`` where it runs uninstalled."""
    return _installed(DISTRIBUTION) or "unknown"


def package_versions() -> dict[str, str]:
    """Versions of the packages that results depend on, as installed."""
    return {name: found for name in PACKAGES if (found := _installed(name)) is not None}


@cache
def commit() -> str:
    """Commit of the source tree that the package is imported from.

    Returns
    -------
    str
        40 hexadecimal digits, with ``+changes`` if files of the package differ
        from that commit; ``unknown`` if the package does not lie in a checkout
        of its own, or git is not at hand. Never fails.
    """
    package = Path(__file__).resolve().parents[1]
    if not (package.parent / ".git").exists():
        return "unknown"
    head = _git(package, "rev-parse", "HEAD")
    if not head:
        return "unknown"
    changes = _git(package, "status", "--porcelain", "--", str(package))
    return head if changes == "" else f"{head}+changes"


def timestamp() -> str:
    """Time now in UTC, ISO 8601, or the time that ``SOURCE_DATE_EPOCH`` freezes."""
    frozen = os.environ.get("SOURCE_DATE_EPOCH", "")
    try:
        moment = datetime.fromtimestamp(int(frozen), tz=UTC)
    except (ValueError, OverflowError, OSError):
        moment = datetime.now(tz=UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def provenance(*, title: str, model_hash: str, step_rule: str) -> dict[str, Any]:
    """Global attributes of a dataset that do not depend on a study.

    Parameters
    ----------
    title : str
        Title of the study or table.
    model_hash : str
        Hash of the model's sources.
    step_rule : str
        Scheme and step of the integrator.

    Returns
    -------
    dict
        Texts and numbers only, so that JSON and NetCDF both take them.
    """
    now = timestamp()
    maker = f"{DISTRIBUTION} {version()}, commit {commit()}"
    return {
        "Conventions": CONVENTIONS,
        "title": title,
        "source": f"{DISTRIBUTION} {version()}: reduced-order model of one tug handling an unpowered barge",
        "history": f"{now}: created by {maker}",
        "created": now,
        "toolkit_version": version(),
        "commit": commit(),
        "model_hash": model_hash,
        "step_rule": step_rule,
        "package_versions": json.dumps(package_versions(), sort_keys=True),
        "python": platform.python_version(),
        "machine": f"{platform.system()} {platform.machine()}",
        "cautions": CAUTIONS,
        "directions": DIRECTIONS,
    }


def _installed(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _git(folder: Path, *words: str) -> str | None:
    """Output of a git command, or None if it fails for whatever reason."""
    try:
        done = subprocess.run(
            # a run that is killed at this moment must leave no lock in the checkout
            ["git", "--no-optional-locks", "-C", str(folder), *words],
            capture_output=True,
            text=True,
            timeout=10,
            check=False,
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return done.stdout.strip() if done.returncode == 0 else None
