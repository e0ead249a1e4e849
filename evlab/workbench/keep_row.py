"""Keep, Pin, Reset, and what differs from the vehicle file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ipywidgets

from evlab.look import MINUS
from evlab.workbench.style import escape, state_line

__all__ = ["KeepRow"]

_FLAT = {"margin": "0"}


class KeepRow(ipywidgets.VBox):
    """The buttons under the controls.  Their clicks are given methods by the workbench."""

    def __init__(self, keeps: bool = True) -> None:
        self.keep = ipywidgets.Button(description="Keep in my vehicle", disabled=True,
                                      tooltip="Writes what differs into your vehicle file; nothing else writes it")
        self.pin = ipywidgets.ToggleButton(description="Pin to compare",
                                           tooltip="Holds the present result as a thin grey line and a column")
        self.reset = ipywidgets.Button(description="Reset", disabled=True, tooltip="All controls as in the vehicle file")
        self.words = ipywidgets.HTML(layout=_FLAT)
        self.notice = ipywidgets.HTML(layout=_FLAT)
        self.mine = ipywidgets.Button(description="Keep mine", tooltip="Writes the values of this page where both changed the same")
        self.theirs = ipywidgets.Button(description="Take the file's",
                                        tooltip="Keeps the values of the file where both changed the same")
        self.reload = ipywidgets.Button(description="Reload my vehicle",
                                        tooltip="Shows the vehicle as the file now holds it; what only you moved stays moved")
        self.asking = ipywidgets.HBox([self.mine, self.theirs, self.reload])
        super().__init__([self.notice, self.asking, ipywidgets.HBox([self.keep, self.pin, self.reset]), self.words])
        self.quiet()
        self.add_class("ev-keys")
        self.words.add_class("ev-differs")

    def show(self, changes: list[tuple[str, str, str]], day: list[tuple[str, str, str]], told: str = "") -> None:
        """What differs: (label, before, now) of the vehicle's fields, and of the day, which no file keeps."""
        self.keep.disabled, self.reset.disabled = not changes, not (changes or day)
        pieces = [f"{label} {before} → {now}" for label, before, now in changes]
        if day:
            pieces.append("only for today: " + ", ".join(f"{label} {now}" for label, _, now in day))
        words = "; ".join(pieces).replace("-", MINUS) if pieces else "as in my vehicle"
        self.words.value = told or f'<span class="ev-quiet">{escape(words)}</span>'

    def kept(self, words: str, beside: bool = False) -> str:
        """The line after keeping."""
        return state_line("caution" if beside else "ok", "kept in another file" if beside else "kept", escape(words))

    # ------------------------------------------------------------ the file was changed elsewhere
    def quiet(self) -> None:
        """Nothing to say of the file, nothing to ask."""
        self._say("", ())

    def changed(self, rows: list[str]) -> None:
        """The file was changed elsewhere: what it now says."""
        now = f"It now says: {escape('; '.join(rows))}. " if rows else ""
        self._say(state_line("caution", "changed on disk", f"Your vehicle file was changed in another page or program. {now}"
                             "Nothing on this page has moved. Reload shows the new values; Keep puts both together.", "status"),
                  (self.reload,))

    def ask(self, clashes: Sequence[Any]) -> None:
        """Both changed the same field: show both values and ask."""
        rows = "".join(f"<tr><th scope='row'>{escape(c.label)}</th><td>{escape(c.mine)}</td><td>{escape(c.theirs)}</td></tr>"
                       for c in clashes)
        self._say(state_line("caution", "not kept yet", "Your vehicle file was changed elsewhere, "
                             "in a value that was changed here, too. "
                             "Which should stay?", "alert")
                  + "<table class='ev-clashes'><tr><td></td><th scope='col'>on this page</th><th scope='col'>in the file</th></tr>"
                  f"{rows}</table>", (self.mine, self.theirs))

    def _say(self, words: str, buttons: Sequence[Any]) -> None:
        if self.notice.value != words:
            self.notice.value = words
        for button in (self.mine, self.theirs, self.reload):
            (button.remove_class if button in buttons else button.add_class)("ev-behind")
        (self.asking.remove_class if buttons else self.asking.add_class)("ev-behind")
