"""The folder that figures and tables are written into, and its index (floor 6)."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from toolkit.execution.whole import write_whole
from toolkit.figures.style import Sheet
from toolkit.findings.table import Table, write_table

__all__ = ["Folder"]


@dataclass(kw_only=True)
class Folder:
    """Where things go, and the list of what is there.

    Attributes
    ----------
    path : pathlib.Path
        The folder; made by whoever writes first.
    paths : list of pathlib.Path
        Files written so far.
    entries : list of tuple
        Name and words of each figure and table, for the index.
    left_out : list of str
        What could have been drawn and was not, for the index.
    """

    path: Path
    paths: list[Path] = field(default_factory=list)
    entries: list[tuple[str, str]] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)

    def sheet(self, made: Sheet, name: str, words: str) -> None:
        """Save a figure."""
        self.paths.extend(made.save(self.path, name))
        self.entries.append((f"{name}.png", words))

    def table(self, table: Table, name: str, words: str = "") -> None:
        """Save a table; told in the index by its title unless `words` are given."""
        self.paths.extend(write_table(table, self.path, name))
        self.entries.append((f"{name}.md", words or table.title))

    def index(self, title: str, lines: tuple[str, ...]) -> None:
        """Write ``index.md``: what the results are, what is here, and what was left out."""
        text = [f"# {title}", "", *(f"- {line}" for line in lines), "", "## Figures and tables", ""]
        text.extend(f"- [{name}]({name}): {words}" for name, words in self.entries)
        text.extend(["", "Every figure is there as PNG and SVG, every table as Markdown and CSV."])
        if self.left_out:
            text.extend(["", "## Left out", "", *(f"- {line}" for line in self.left_out)])
        path = self.path / "index.md"
        write_whole(path, "\n".join([*text, ""]))
        self.paths.append(path)
