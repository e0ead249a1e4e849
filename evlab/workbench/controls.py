"""A control made from a glossary entry: basis, name, slider, and a box into which any value can be typed with its unit."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import ipywidgets

from evlab.look import BOOK
from evlab.units import InputError
from evlab.vehicle_values import BASES
from evlab.workbench.page import Knob
from evlab.workbench.scale import FACTOR, Scale
from evlab.workbench.style import BASIS_WORDS, basis_mark, escape, sign
from evlab.workbench.turns import TURN

__all__ = ["Control", "Typed", "fault"]

_FLAT = {"margin": "0"}
_CHOICES = [(f"{BOOK['basis'][basis]['sign']} {basis}", basis) for basis in BASES]  # the words of the vehicle file
_BASES_TOLD = "; ".join(BASIS_WORDS[basis] for basis in BASES)


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


def _em(words: str) -> float:
    return max(6.0, 0.6 * len(words) + 0.8)


def _wide(words: str) -> str:
    """The width at which a box shows the words whole [em]."""
    return f"{_em(words):.1f}em"


@dataclass(frozen=True)
class Typed:
    """A value [SI] and its ± [SI], or None without one."""

    value: float
    spread: float | None = None


class Control:
    """One row.  `value` is the last good one, in SI; a new one is first offered to `offer(control, value)`, which raises
    when it cannot be."""

    def __init__(self, knob: Knob, key: str, value: float, vehicle: Callable[[], Any],
                 offer: Callable[[Control, float], None], spread: float | None = None):
        self.knob, self.key, self.value, self.basis, self.spread = knob, key, value, "", spread
        self.scale = Scale(knob, value)
        self.waiting: Typed | None = None  # what was refused with the present other values: tried again when they change
        self._vehicle, self._offer, self._quiet = vehicle, offer, False
        self.chosen = ""  # the basis that the reader chose for the present value
        self.marks = knob.start is None and self.scale.entry.kind in ("chosen", "found")  # the reader may say what basis it has
        self.mark = self._basis_list() if self.marks else ipywidgets.HTML(layout=_FLAT)
        self.slider = self._slider()
        said = self.scale.say_pair(value, spread)
        self.box = ipywidgets.Text(said, continuous_update=False, layout={"width": _wide(said), "margin": "0"})
        self.fault = ipywidgets.HTML(layout=_FLAT)
        self.slider.observe(self._slid, "value")
        self.box.observe(self._typed, "value")
        line = ipywidgets.HBox([self.mark, self.slider, self.box])
        line.add_class("ev-control-line")
        self.row = ipywidgets.VBox([line, self.fault])
        for name in ("ev-control", f"ev-key-{key}", f"ev-at-{knob.place or self.scale.entry.place or 'motion'}"):
            self.row.add_class(name)

    def _basis_list(self) -> Any:
        made = ipywidgets.Dropdown(options=_CHOICES, tooltip="Where this value comes from: click to say it",
                                    layout={"width": "1.2em", "margin": "0", "flex": "none"})
        made.add_class("ev-basis-choice")
        made.observe(self._marked, "value")
        return made

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
                "factor": FACTOR if self.knob.log else 0, "basis": f"{scale.label}: {_BASES_TOLD}" if self.marks else ""}

    def show_basis(self, basis: str) -> None:
        """Where the value comes from, as a ring that fills."""
        if basis != self.basis:
            self.basis = basis
            self._show_mark()

    def _show_mark(self) -> None:
        self._quiet = True
        try:
            self.mark.value = self.basis if self.marks else basis_mark(self.basis)
        finally:
            self._quiet = False

    def _marked(self, change: Any) -> None:
        with TURN:
            if self._quiet:
                return
            before, self.chosen = self.chosen, change["new"]
            try:
                self._offer(self, self.value)
            except Exception as error:  # noqa: BLE001  shown beside the control
                self.chosen, self.fault.value = before, fault(error)
                self._show_mark()
                return
            if self.waiting is None:
                self.fault.value = ""

    # ------------------------------------------------------------ what happens
    def set(self, value: float) -> None:
        """Show this value; nothing else follows."""
        self.accept(Typed(value, self.spread))

    def accept(self, typed: Typed, slider: bool = True) -> None:
        """This value is now the one in use: show it."""
        self.value, self.spread, self.fault.value, self.waiting = typed.value, typed.spread, "", None
        self._quiet = True
        try:
            if slider:
                self.slider.value = self.scale.position(typed.value)
            self._say(self.scale.say_pair(typed.value, typed.spread))
        finally:
            self._quiet = False

    def _say(self, words: str) -> None:
        self.box.value = words
        if _em(words) > float(self.box.layout.width[:-2]):  # only ever wider: a box that shrinks would jump under the hand
            self.box.layout.width = _wide(words)

    def hold(self, typed: Typed, error: Exception) -> None:
        """This value cannot be used with the others as they are: say so, and wait for them to change.

        After a fault of the page nothing is waited for: trying again would only bring the fault to another control.
        """
        self.waiting, self.fault.value = (typed if isinstance(error, InputError) else None), fault(error)
        if self.waiting is None:
            return
        said = self.scale.say_pair(typed.value, typed.spread)
        self._quiet = True
        try:
            self._say(said)
        finally:
            self._quiet = False
        note = escape(f"{said} is not in use. In use, and kept, is {self.scale.say_pair(self.value, self.spread)}. "
                      "It is tried again as soon as another value changes.")
        self.fault.value += f'<div class="ev-waiting">{note}</div>'

    def _slid(self, change: Any) -> None:
        with TURN:  # the quiet is that of this thread's own call, or it is over
            if not self._quiet:
                value = self.scale.at(change["new"])
                self._try(Typed(value, self._scaled(value)), slider=False)

    def _typed(self, change: Any) -> None:
        with TURN:
            if self._quiet:
                return
            try:
                value, spread = self.scale.parse_pair(change["new"], self._vehicle())
            except InputError as error:
                self.waiting, self.fault.value = None, fault(error)
                return
            self._try(Typed(value, self._scaled(value) if spread is None else spread))
            note = self.scale.note(change["new"])
            if note and not self.fault.value:
                self.fault.value = f'<div class="ev-quiet" role="status">{escape(note)}</div>'

    def _scaled(self, value: float) -> float | None:
        """The present ±, in proportion, for a value that comes without one."""
        return None if self.spread is None or not self.value else self.spread * value / self.value

    def _try(self, typed: Typed, slider: bool = True) -> None:
        """Offer the value; when it is refused, say so here, and leave what was typed to be corrected."""
        before = Typed(self.value, self.spread), self.chosen
        if not self.scale.same(self.value, typed.value):
            self.chosen = ""  # another value: what was said of the old one says nothing of it
        self.spread = typed.spread
        try:
            self._offer(self, typed.value)
        except Exception as error:  # noqa: BLE001  shown beside the control; JupyterLab would show it nowhere
            self.spread, self.chosen = before[0].spread, before[1]
            self.hold(typed, error)
            return
        self.accept(typed, slider=slider)
