"""`python -m toolkit` is the command `towage`."""

from __future__ import annotations

import sys

from toolkit.cli import main

if __name__ == "__main__":
    sys.exit(main())
