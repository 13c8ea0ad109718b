"""Fuzz the toolkit: random legal studies, and the command on mutated studies, weather records and stores.

``python -m tests.fuzz --studies 10000 --mutations 1000 --seed 1`` prints what was drawn, how it ended and all that
went wrong; it leaves with 1 if anything did. A seed draws the same again.
"""

from __future__ import annotations

import argparse
import sys
import time

from tests.fuzz.commands import fuzz_commands
from tests.fuzz.studies import fuzz_studies

MOST_SHOWN = 40


def main() -> int:
    """Run both kinds and say what came of them."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--studies", type=int, default=10_000, help="random legal studies [10000]")
    parser.add_argument("--mutations", type=int, default=1000, help="mutated files [1000]")
    parser.add_argument("--seed", type=int, default=1, help="of all that is drawn [1]")
    parser.add_argument("--kinds", nargs="+", default=["study", "record", "store"], help="of the mutated files")
    parser.add_argument("--first", type=int, default=0, help="number of the first mutation [0]")
    options = parser.parse_args()
    wrong: list[str] = []
    if options.studies:
        began = time.monotonic()
        drawn = fuzz_studies(options.studies, options.seed)
        print(f"{drawn.studies} legal studies ({drawn.jobs} jobs, {drawn.basins} basins), {drawn.cases} cases in "
              f"{time.monotonic() - began:.0f} s; {drawn.refused} more were refused in words")  # fmt: skip
        print("; ".join(f"{word} {count}" for word, count in drawn.ended.most_common()))
        wrong += drawn.wrong
    if options.mutations:
        began = time.monotonic()
        mutated = fuzz_commands(options.mutations, options.seed, tuple(options.kinds), options.first)
        print(
            f"{options.mutations} mutated files, {mutated.ended.total()} commands in {time.monotonic() - began:.0f} s"
        )
        for how, count in sorted(mutated.ended.items()):
            print(f"  {how}: {count}")
        wrong += mutated.wrong
    for words in wrong[:MOST_SHOWN]:
        print(f"- {words}")
    print(f"{len(wrong)} things wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
