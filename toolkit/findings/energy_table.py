"""The balance of energy of a case as a table (floor 5)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from toolkit.findings.table import Table
from toolkit.quantities.wording import CAUTIONS

if TYPE_CHECKING:
    from toolkit.motion.energy import EnergyBalance

__all__ = ["energy_table"]


def energy_table(balance: EnergyBalance, title: str = "Balance of energy") -> Table:
    """Works, energies held and what is left over, a row each.

    Parameters
    ----------
    balance : EnergyBalance
    title : str

    Returns
    -------
    Table
        With every work of `toolkit.motion.energy.WORKS`, also those that are nothing.
    """
    from toolkit.motion.energy import STORES, TOLERANCE, WORKS

    gross = balance.gross if balance.gross > 0.0 else math.nan

    def row(what: str, number: float) -> tuple[str, float, float]:
        return what, number, 100.0 * number / gross

    rows = [row(f"work: {meaning}", balance.works[name]) for name, meaning in WORKS.items()]
    rows += [row(f"gained: {meaning}", balance.end[name] - balance.start[name]) for name, meaning in STORES.items()]
    rows += [row("all works", math.fsum(balance.works.values())), row("all that was gained", balance.gained)]
    rows.append(row("imbalance: gained less works", balance.imbalance))
    if math.isnan(balance.share):
        verdict = "The drives did no work: there is nothing to set the imbalance against."
    else:
        fits = "within" if balance.share <= TOLERANCE else "BEYOND"
        verdict = (
            f"Imbalance {100.0 * balance.share:.2g} % of the gross work of the drives, {fits} the "
            f"{100.0 * TOLERANCE:g} % that is held to."
        )
    return Table(
        title=title,
        header=("what", "energy [J]", "over gross work of the drives [%]"),
        rows=tuple(rows),
        notes=(
            verdict,
            f"{balance.duration:g} s simulated; gross work of the drives {balance.gross:.4g} J: their thrust on the "
            "tug through the water, ahead and astern counted alike. It is not the energy of the engines.",
            "Energies as seen from the water, added mass included; works positive where the hulls gain. An imbalance "
            "that is small says that the equations hold together, not that the loads are right.",
            f"Cautions: {CAUTIONS}",
        ),
    )  # fmt: skip
