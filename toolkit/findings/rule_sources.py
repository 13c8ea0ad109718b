"""How certain the text of each rule is, as a table (floor 5)."""

from __future__ import annotations

from toolkit.findings.table import Table
from toolkit.rules import Certainty, rule_sources

__all__ = ["rule_sources_table"]

_DOUBTFUL_FIRST = (
    Certainty.from_memory, Certainty.common_practice, Certainty.second_hand, Certainty.partly_verified,
    Certainty.verified, Certainty.derived,
)  # fmt: skip


def rule_sources_table() -> Table:
    """List every rule that is coded, with its source and the certainty of its text, the least certain first.

    Returns
    -------
    Table
        One row a function of `toolkit.rules`, or of `toolkit.particulars` where the formula lives there.
    """
    sources = sorted(rule_sources().items(), key=lambda item: _DOUBTFUL_FIRST.index(item[1].certainty))
    counts = {certainty: sum(source.certainty is certainty for _, source in sources) for certainty in Certainty}
    return Table(
        title="Rules and the certainty of their texts",
        header=("function", "source", "section", "certainty", "note"),
        rows=tuple((name, one.name, one.section, str(one.certainty), one.note) for name, one in sources),
        notes=(
            f"{len(sources)} functions: " + ", ".join(f"{n} {certainty}" for certainty, n in counts.items() if n) + ".",
            "A rule whose text is from memory is not to be quoted as the rule.",
        ),
    )
