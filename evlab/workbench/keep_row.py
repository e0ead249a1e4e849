"""Keep, Pin, Reset, and what differs from the vehicle file."""

from __future__ import annotations

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
        super().__init__([ipywidgets.HBox([self.keep, self.pin, self.reset]), self.words])
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

    def kept(self, words: str) -> str:
        """The line after keeping."""
        return state_line("ok", "kept", escape(words))
