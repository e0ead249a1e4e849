"""The style sheet of a page and its small pieces of HTML: signs, lines with a state, marks of a basis."""

from __future__ import annotations

import functools
import html
from pathlib import Path

from evlab.look import BOOK

__all__ = ["BASIS_WORDS", "basis_mark", "escape", "sheet", "sign", "state_line"]

_RING = '<circle cx="8" cy="8" r="6.6" fill="none" stroke="currentColor" stroke-width="1.6"/>'
_SHAPES = {
    "ok": _RING + '<path d="M4.8 8.3l2.3 2.3 4.2-5" fill="none" stroke="currentColor" stroke-width="1.8"/>',
    "note": '<rect x="1.6" y="1.6" width="12.8" height="12.8" fill="none" stroke="currentColor" stroke-width="1.6"/>'
            '<path d="M8 7v5M8 3.8v1.8" stroke="currentColor" stroke-width="1.8"/>',
    "caution": '<path d="M8 1.6L15 14.2H1z" fill="none" stroke="currentColor" stroke-width="1.6" stroke-linejoin="round"/>'
               '<path d="M8 6v4M8 11.2v1.6" stroke="currentColor" stroke-width="1.8"/>',
    "danger": '<path d="M5 1.2h6L14.8 5v6L11 14.8H5L1.2 11V5z" fill="currentColor"/>'
              '<path d="M4 8h8" stroke="var(--ev-paper)" stroke-width="2.4"/>',
}
BASIS_WORDS = {
    "assumed": "assumed: nobody has measured it yet",
    "designed": "designed: it was chosen",
    "measured": "measured",
    "computed": "computed",
    "the day": "a value of the day: not kept in the vehicle file",
}


def escape(words: object) -> str:
    """Words as HTML text, quotes included."""
    return html.escape(str(words), quote=True)


def sign(state: str) -> str:
    """The sign of a state (ok, note, caution, danger); the word always stands beside it."""
    return f'<svg class="ev-sign" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">{_SHAPES[state]}</svg>'


def state_line(state: str, word: str, inner: str, role: str = "") -> str:
    """One line: sign, word, and what there is to say (`inner` is HTML)."""
    spoken = f' role="{role}"' if role else ""
    return f'<div class="ev-line ev-{state}"{spoken}>{sign(state)}<b>{escape(word)}</b><span>{inner}</span></div>'


def basis_mark(basis: str, words: str = "") -> str:
    """The ring of a basis, which fills as knowledge grows, with its words for those who do not see it."""
    ring = BOOK["basis"].get(basis, {"sign": "·"})["sign"]
    words = escape(words or BASIS_WORDS.get(basis, basis))
    return f'<span class="ev-basis" role="img" aria-label="{words}" title="{words}">{ring}</span>'


@functools.cache
def sheet() -> str:
    """One style sheet for both themes: the page picks by JupyterLab's own mark, so no kernel is asked."""
    rules = (Path(__file__).parent / "bench.css").read_text(encoding="utf-8")
    light, dark = _colours("light"), _colours("dark")
    return (f".ev{{{light}}} body[data-jp-theme-light=false] .ev{{{dark}}} "
            f"@media print {{.ev, body[data-jp-theme-light=false] .ev{{{light}}}}} {rules}")


def _colours(theme: str) -> str:
    values = {key: BOOK["theme"][theme][key] for key in ("paper", "ink", "ink2", "rule", "band")}
    for place, colours in BOOK["place"].items():
        values |= {place: colours[theme]["line"]}
    for state, colours in BOOK["state"].items():
        values |= {state: colours[theme]["text"], f"{state}-back": colours[theme]["back"]}
    return ";".join(f"--ev-{name}:{colour}" for name, colour in values.items())
