"""Equations on a page: each as LaTeX, with the reader's own numbers, its symbols, range and source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evlab.equation import Equation
from evlab.glossary import Entry, entry
from evlab.sources import SOURCES

__all__ = ["Shown", "Worked"]


@dataclass(frozen=True)
class Shown:
    """One equation with the numbers [SI] it is worked with, and why it stands here."""

    equation: Equation
    values: Mapping[str, float]
    why: str = ""


class Worked:
    """A list of worked equations; shows itself as the last line of a cell."""

    def __init__(self, lead: str, rows: Sequence[Shown]):
        self.lead, self.rows = lead, tuple(rows)

    def __repr__(self) -> str:
        return "\n".join([self.lead, *(f"{row.equation.title} {row.equation.worked(**row.values)}" for row in self.rows)])

    def _repr_markdown_(self) -> str:
        return "\n\n".join([self.lead, *(f"<br>\n\n{_block(row)}" for row in self.rows)])


def _block(row: Shown) -> str:
    e = row.equation
    names = (e.left, *e.inputs)
    symbols = "; ".join(f"${entry(n).symbol}$ {_plain(entry(n).meaning)}{_unit(entry(n))}" for n in names)
    sources = "; ".join(f"{SOURCES[key].words} [{SOURCES[key].mark}]" for key in e.source)
    why = f" {row.why}" if row.why else ""
    return (f"**{e.title}**{why}\n\n$\\displaystyle {e.worked(**row.values)}$\n\n"
            f"<details><summary>Symbols, range, source of {e.tag}</summary>\n\n{symbols}.\n\n"
            f"Range: {_plain(e.range)}.\n\nSource: {_plain(sources)}.\n\n</details>")


def _plain(words: str) -> str:
    """Words that Markdown leaves alone."""
    return words.replace("*", r"\*").replace("_", r"\_").replace("^2", "²").replace("$", r"\$")


def _unit(e: Entry) -> str:
    spelling = e.shown or next((s for s in e.accepts if s), "")
    return f", {spelling}" if spelling else ""
