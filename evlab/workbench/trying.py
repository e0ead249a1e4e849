"""How a workbench tries a control's new value: the whole case is run with it, or all stays as it was."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from evlab.units import InputError
from evlab.workbench.choices import Choice
from evlab.workbench.controls import Control

__all__ = ["Trying"]


class Trying:
    """What a workbench does with a value that is offered."""

    page: Any
    base: Any
    result: Any
    controls: dict[str, Any]
    start_day: dict[str, Any]
    _moved: tuple[Any, Any]
    _run: Any

    def _offer(self, control: Control | Choice, value: Any) -> None:
        """A control's new value: the whole case is run with it.  Raises when it cannot be; all then stays as it was."""
        values = {n: c.value for n, c in self.controls.items()} | {control.knob.name: value}
        waiting = [c for c in self.controls.values() if c is not control and getattr(c, "waiting", None)]
        try:
            self._run_with(control, values)
        except InputError:
            if not waiting or not self._offer_waiting(control, values, waiting):
                raise
            return
        for other in waiting:
            if self._offer_waiting(control, values, [other]):
                values[other.knob.name] = other.value

    def _offer_waiting(self, control: Control | Choice, values: Mapping[str, Any], waiting: list[Control]) -> bool:
        """Try refused values again, together.  Returns whether they are now in use."""
        tried = [(c, c.waiting, (c.spread, c.chosen)) for c in waiting if c.waiting is not None]
        for c, typed, _ in tried:
            c.spread, c.chosen = typed.spread, ""
        try:
            self._run_with(control, {**values, **{c.knob.name: typed.value for c, typed, _ in tried}})
        except Exception as error:  # noqa: BLE001  a fault of the page is shown where the refused value stands
            for c, typed, (spread, chosen) in tried:
                c.spread, c.chosen = spread, chosen
                if not isinstance(error, InputError):
                    c.hold(typed, error)
            return False
        for c, typed, _ in tried:
            c.accept(typed)
        return True

    def _run_with(self, control: Control | Choice, values: Mapping[str, Any]) -> None:
        day = {n: v for n, v in values.items() if n in self.start_day}
        changed = {n: v for n, v in values.items() if n not in day and not self._as_kept(n, v)}
        vehicle = self._stated(self.base.change(changed) if changed else self.base, values)
        stood = self._moved
        if stood[0] is not control:
            self._moved = (control, self.page.cautions(self.result))
        ran = False
        try:
            self._run(self.page.follow(vehicle) if vehicle is not self.base else vehicle, day)
            ran = True
        finally:
            if not ran:
                self._moved = stood

    def _stated(self, vehicle: Any, values: Mapping[str, Any]) -> Any:
        """The vehicle with each ± and basis that the reader gave by a control."""
        for name, control in self.controls.items():
            if not getattr(control, "marks", False):
                continue
            there = vehicle.value(name)
            basis = control.chosen or there.basis
            same = control.spread is None or (there.spread is not None and math.isclose(control.spread, there.spread, rel_tol=1e-9))
            if basis != there.basis or not same:
                vehicle = vehicle.adopt({name: (values[name], control.spread)}, basis=basis)
        return vehicle

    def _as_kept(self, name: str, value: Any) -> bool:
        return self.controls[name].scale.same(value, self.base.value(name).value)
