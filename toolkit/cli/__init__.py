"""The command `towage`: thin over the Python interface (floor 7)."""

from toolkit.cli.main import main

__all__ = ["main"]
