"""The strip of cautions: what the last control brought up first, in three rows whose room is always kept; the rest folds.

Hazards that are always true stand in one fold, named in its head; what nobody has measured stands in another.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

import ipywidgets

from evlab.cautions import UNMEASURED, by_change
from evlab.workbench.style import escape, state_line

__all__ = ["CautionsStrip"]

ROWS, TALL = 3, 2  # rows of the strip; rows that one danger or caution may take


class CautionsStrip(ipywidgets.HTML):
    """`show(cautions)`: each has .state, .words, .source.  `signs` is how many fit into a row: the page's width tells."""

    def __init__(self) -> None:
        super().__init__(layout={"margin": "0"})
        self.signs = 130
        self.add_class("ev-cautions")

    def show(self, cautions: Sequence[Any], before: Sequence[Any] | None = None) -> None:
        """Bring the strip up to date; equal words are told once.  `before`: the cautions before the last control moved."""
        told = {(c.state, c.words): c for c in cautions}
        always, unmeasured = (folded(told.values(), lacking) for lacking in (False, True))
        lines, shown, free = by_change([c for c in told.values() if not _fold(c)], before), [], ROWS
        while lines and free > 0:
            caution = lines.pop(0)
            rows = min(free, 1 if caution.state == "note" else TALL, -(-len(caution.words) // self.signs))
            shown.append(self._line(caution, rows * self.signs))
            free -= rows
        folds = [self._folded(f"{len(lines)} more", lines)] if lines else []
        if always:
            folds.append(self._folded("Always: " + ", ".join(dict.fromkeys(_fold(c) for c in always)), always))
        if unmeasured:
            folds.append(self._folded(unmeasured[0].words.split(".")[0], unmeasured))
        self.value = f'<div class="ev-now-lines">{"".join(shown)}</div><div class="ev-folds">{"".join(folds)}</div>'

    def _folded(self, head: str, cautions: Iterable[Any]) -> str:
        inner = "".join(self._line(c, len(c.words)) for c in cautions)
        return f'<details class="ev-rest"><summary>{escape(head)}</summary><div>{inner}</div></details>'

    def _line(self, caution: Any, room: int) -> str:
        """One caution; what does not fit unfolds; its source on hovering."""
        title = f' title="{escape(caution.source)}"' if getattr(caution, "source", "") else ""
        first, rest = split(caution.words, room)
        if not rest:
            return state_line(caution.state, caution.state, f"<span{title}>{escape(first)}</span>")
        inner = f"<details{title}><summary>{escape(first)} <u>more</u></summary>{escape(rest)}</details>"
        return state_line(caution.state, caution.state, inner)


def _fold(caution: Any) -> str:
    return str(getattr(caution, "fold", ""))


def folded(cautions: Iterable[Any], lacking: bool) -> list[Any]:
    """The folded cautions, the gravest first: those of values that nobody has measured (`lacking`), or the others."""
    return by_change([c for c in cautions if _fold(c) and (_fold(c) == UNMEASURED) == lacking], None)


def split(words: str, room: int) -> tuple[str, str]:
    """Words that fit, ending where a sentence or a part of it ends, and what is left."""
    if len(words) <= room:
        return words, ""
    fits = room - 6
    ends = [found.end() for found in re.finditer(r"[.:;,](?= )", words) if found.end() <= fits]
    end = ends[-1] if ends else max(words.rfind(" ", 0, fits), 1)
    return words[:end], words[end:].strip()
