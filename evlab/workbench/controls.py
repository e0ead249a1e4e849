"""A control made from a glossary entry: basis, name, slider, and a box into which any value can be typed with its unit."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from typing import Any

import ipywidgets

from evlab.units import InputError
from evlab.workbench.page import Knob
from evlab.workbench.scale import FACTOR, Scale
from evlab.workbench.style import basis_mark, escape, sign
from evlab.workbench.turns import TURN

__all__ = ["Control", "fault"]

_FLAT = {"margin": "0"}


def fault(error: Exception, shown: str = "The picture still shows the last good value.") -> str:
    """An error in words beside what caused it; one that is no fault of the reader's keeps its traceback unfoldable.

    Parameters: `error`; `shown`, what the picture shows all the same."""
    if isinstance(error, InputError):
        word, words, more = "refused", str(error), ""
    else:
        word = "fault"
        words = f"This is a fault of the page, not yours: {type(error).__name__}: {error}"
        told = escape("".join(traceback.format_exception(error)))
        more = f"<details><summary>traceback, to report it</summary><pre>{told}</pre></details>"
    return (f'<div class="ev-line ev-danger" role="alert">{sign("danger")}<span><b>{word}</b> {escape(words)} '
            f"{shown}{more}</span></div>")


class Control:
    """One row.  `value` is the last good one, in SI; a new one is first offered to `offer(control, value)`, which raises
    when it cannot be."""

    def __init__(self, knob: Knob, key: str, value: float, vehicle: Callable[[], Any],
                 offer: Callable[[Control, float], None]):
        self.knob, self.key, self.value, self.basis = knob, key, value, ""
        self.scale = Scale(knob, value)
        self._vehicle, self._offer, self._quiet = vehicle, offer, False
        self.mark = ipywidgets.HTML(layout=_FLAT)
        self.slider = self._slider()
        said = self.scale.say(value)
        wide = f"{max(6.0, 0.6 * len(said) + 0.8):.1f}em"  # a long unit is seen whole
        self.box = ipywidgets.Text(said, continuous_update=False, layout={"width": wide, "margin": "0"})
        self.fault = ipywidgets.HTML(layout=_FLAT)
        self.slider.observe(self._slid, "value")
        self.box.observe(self._typed, "value")
        line = ipywidgets.HBox([self.mark, self.slider, self.box])
        line.add_class("ev-control-line")
        self.row = ipywidgets.VBox([line, self.fault])
        for name in ("ev-control", f"ev-key-{key}", f"ev-at-{knob.place or self.scale.entry.place or 'motion'}"):
            self.row.add_class(name)

    def _slider(self) -> Any:
        scale = self.scale
        return ipywidgets.IntSlider(
            value=scale.position(self.value), min=0, max=scale.last, description=scale.label, tooltip=scale.help,
            style={"description_width": "10em"}, layout={"width": "auto", "margin": "0", "flex": "1 1 auto"})

    # ------------------------------------------------------------ what it tells
    @property
    def rows(self) -> dict[str, Any]:
        """What screen readers and the line of help are told."""
        scale = self.scale
        return {"name": scale.label, "unit": scale.unit, "help": scale.help, "first": scale.first, "step": scale.step,
                "factor": FACTOR if self.knob.log else 0}

    def show_basis(self, basis: str) -> None:
        """Where the value comes from, as a ring that fills."""
        if basis != self.basis:
            self.basis, self.mark.value = basis, basis_mark(basis)

    # ------------------------------------------------------------ what happens
    def set(self, value: float) -> None:
        """Show this value; nothing else follows."""
        self.value, self.fault.value = value, ""
        self._show(value)

    def _show(self, value: float, box: bool = True, slider: bool = True) -> None:
        self._quiet = True
        try:
            if slider:
                self.slider.value = self.scale.position(value)
            if box:
                self.box.value = self.scale.say(value)
        finally:
            self._quiet = False

    def _slid(self, change: Any) -> None:
        with TURN:  # the quiet is that of this thread's own call, or it is over
            if not self._quiet:
                self._try(self.scale.at(change["new"]), slider=False)

    def _typed(self, change: Any) -> None:
        with TURN:
            if self._quiet:
                return
            try:
                value = self.scale.parse(change["new"], self._vehicle())
            except InputError as error:
                self.fault.value = fault(error)
                return
            self._try(value)
            note = self.scale.note(change["new"])
            if note and not self.fault.value:
                self.fault.value = f'<div class="ev-quiet" role="status">{escape(note)}</div>'

    def _try(self, value: float, slider: bool = True) -> None:
        """Offer the value; when it is refused, say so here, and leave what was typed to be corrected."""
        try:
            self._offer(self, value)
        except Exception as error:  # noqa: BLE001  shown beside the control; JupyterLab would show it nowhere
            self.fault.value = fault(error)
            return
        self.value, self.fault.value = value, ""
        self._show(value, slider=slider)
