"""A control for a field that is one of several words, or yes and no; the same face as a `Control`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets

from evlab.glossary import entry
from evlab.workbench.controls import fault
from evlab.workbench.page import Knob
from evlab.workbench.style import basis_mark
from evlab.workbench.turns import TURN

__all__ = ["Choice", "is_choice"]

_FLAT = {"margin": "0"}
_SAID = {True: "yes", False: "no"}


def is_choice(knob: Knob) -> bool:
    """Whether a knob's field is one of several words, or yes and no."""
    return entry(knob.quantity or knob.name).kind in ("choice", "switch")


class Words:
    """Between a word of the file and what the page shows: what a `Scale` is for numbers."""

    def __init__(self, knob: Knob) -> None:
        self.entry = entry(knob.quantity or knob.name)
        self.label, self.unit = knob.label or self.entry.label, ""
        self.options = [True, False] if self.entry.kind == "switch" else list(self.entry.choices)
        self.help = f"{self.label}: {knob.meaning or self.entry.meaning}."

    def say(self, value: Any) -> str:
        return _SAID[value] if isinstance(value, bool) else str(value)

    def same(self, one: Any, other: Any) -> bool:
        return bool(one == other)


class Choice:
    """One row with a list; a new choice is first offered to `offer(control, value)`, which raises when it cannot be."""

    slider = None  # nothing that moves

    def __init__(self, knob: Knob, key: str, value: Any, offer: Callable[[Any, Any], None]) -> None:
        self.knob, self.key, self.value, self.basis = knob, key, value, ""
        self.scale = Words(knob)
        self._offer, self._quiet = offer, False
        self.mark, self.fault = ipywidgets.HTML(layout=_FLAT), ipywidgets.HTML(layout=_FLAT)
        self.box = ipywidgets.Dropdown(options=[(self.scale.say(o), o) for o in self.scale.options], value=value,
                                       description=self.scale.label, tooltip=self.scale.help, style={"description_width": "10em"},
                                       layout={"width": "auto", "margin": "0", "flex": "1 1 auto"})
        self.box.observe(self._chosen, "value")
        line = ipywidgets.HBox([self.mark, self.box])
        line.add_class("ev-control-line")
        self.row = ipywidgets.VBox([line, self.fault])
        for name in ("ev-control", "ev-choosing", f"ev-key-{key}", f"ev-at-{knob.place or self.scale.entry.place or 'motion'}"):
            self.row.add_class(name)

    @property
    def rows(self) -> dict[str, Any]:
        """What screen readers and the line of help are told."""
        return {"name": self.scale.label, "unit": "", "help": self.scale.help, "first": 0, "step": 1, "factor": 0}

    def show_basis(self, basis: str) -> None:
        """Where the value comes from, as a ring that fills."""
        if basis != self.basis:
            self.basis, self.mark.value = basis, basis_mark(basis)

    def set(self, value: Any) -> None:
        """Show this value; nothing else follows."""
        self.value, self.fault.value, self._quiet = value, "", True
        self.box.value = value
        self._quiet = False

    def _chosen(self, change: Any) -> None:
        with TURN:
            if self._quiet:
                return
            try:
                self._offer(self, change["new"])
            except Exception as error:  # noqa: BLE001  shown beside the control; JupyterLab would show it nowhere
                self.set(self.value)
                self.fault.value = fault(error)
                return
            self.value, self.fault.value = change["new"], ""
