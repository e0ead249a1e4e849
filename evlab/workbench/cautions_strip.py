"""The strip of cautions: danger before caution before note, three lines, the rest folded; its room is always kept."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import ipywidgets

from evlab.workbench.style import escape, state_line

__all__ = ["CautionsStrip"]

_ORDER = ("danger", "caution", "note")
LINES, ROOM = 3, 130  # lines of the strip, signs in each


class CautionsStrip(ipywidgets.HTML):
    """`show(cautions)`: each has .state, .words, .source (and .field, which it may be about)."""

    def __init__(self) -> None:
        super().__init__(layout={"margin": "0"})
        self.add_class("ev-cautions")

    def show(self, cautions: Sequence[Any]) -> None:
        """Bring the strip up to date; equal words are told once."""
        told = {(c.state, c.words): c for c in cautions}
        lines = sorted(told.values(), key=lambda c: _ORDER.index(c.state))
        rows = [state_line(c.state, c.state, _words(c)) for c in lines[:LINES]]
        rest = [state_line(c.state, c.state, _words(c)) for c in lines[LINES:]]
        if rest:
            rows.append(f'<details class="ev-rest"><summary>{len(rest)} more</summary><div>{"".join(rest)}</div></details>')
        self.value = "".join(rows)


def _words(caution: Any) -> str:
    """The caution in one line, if it must be with the rest unfoldable; its source on hovering."""
    source = getattr(caution, "source", "")
    title = f' title="{escape(source)}"' if source else ""
    first, rest = _split(caution.words)
    if not rest:
        return f"<span{title}>{escape(first)}</span>"
    return f"<details{title}><summary>{escape(first)} <u>more</u></summary>{escape(rest)}</details>"


def _split(words: str) -> tuple[str, str]:
    """Words for one line, ending where a sentence or a part of it ends, and what is left."""
    if len(words) <= ROOM:
        return words, ""
    ends = [found.end() for found in re.finditer(r"[.:;,](?= )", words) if found.end() <= ROOM]
    end = (ends or [words.rfind(" ", 0, ROOM)])[-1]
    return words[:end], words[end:].strip()
