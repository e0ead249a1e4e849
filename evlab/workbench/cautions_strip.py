"""The strip of cautions: danger before caution before note, in three rows whose room is always kept; the rest folds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import ipywidgets

from evlab.workbench.style import escape, state_line

__all__ = ["CautionsStrip"]

_ORDER = ("danger", "caution", "note")
ROWS, TALL = 3, 2  # rows of the strip; rows that one danger or caution may take


class CautionsStrip(ipywidgets.HTML):
    """`show(cautions)`: each has .state, .words, .source.  `signs` is how many fit into a row: the page's width tells."""

    def __init__(self) -> None:
        super().__init__(layout={"margin": "0"})
        self.signs = 130
        self.add_class("ev-cautions")

    def show(self, cautions: Sequence[Any]) -> None:
        """Bring the strip up to date; equal words are told once."""
        told = {(c.state, c.words): c for c in cautions}
        lines, shown, free = sorted(told.values(), key=lambda c: _ORDER.index(c.state)), [], ROWS
        while lines and free > 0:
            caution = lines.pop(0)
            rows = min(free, 1 if caution.state == "note" else TALL, -(-len(caution.words) // self.signs))
            shown.append(self._line(caution, rows * self.signs))
            free -= rows
        if lines:
            rest = "".join(self._line(c, len(c.words)) for c in lines)
            shown.append(f'<details class="ev-rest"><summary>{len(lines)} more</summary><div>{rest}</div></details>')
        self.value = "".join(shown)

    def _line(self, caution: Any, room: int) -> str:
        """One caution; what does not fit unfolds; its source on hovering."""
        title = f' title="{escape(caution.source)}"' if getattr(caution, "source", "") else ""
        first, rest = split(caution.words, room)
        if not rest:
            return state_line(caution.state, caution.state, f"<span{title}>{escape(first)}</span>")
        inner = f"<details{title}><summary>{escape(first)} <u>more</u></summary>{escape(rest)}</details>"
        return state_line(caution.state, caution.state, inner)


def split(words: str, room: int) -> tuple[str, str]:
    """Words that fit, ending where a sentence or a part of it ends, and what is left."""
    if len(words) <= room:
        return words, ""
    fits = room - 6
    ends = [found.end() for found in re.finditer(r"[.:;,](?= )", words) if found.end() <= fits]
    end = ends[-1] if ends else max(words.rfind(" ", 0, fits), 1)
    return words[:end], words[end:].strip()
