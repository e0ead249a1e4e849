"""How a workbench opens: with the vehicle of the file, or, where the model refuses that, with what mends it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from evlab.units import InputError
from evlab.workbench.choices import Choice
from evlab.workbench.controls import Control, fault
from evlab.workbench.page import TRIKE, trike

__all__ = ["Mending", "shown_for"]


def shown_for(
    vehicle: Any, model: Callable[[Any], Any], stand_in: Callable[[Any], Any] = trike, stands: str = TRIKE
) -> tuple[Any, str]:
    """What `model` makes of the vehicle, and its name; of one that it refuses, what it makes of the stand-in, and why."""
    try:
        return model(vehicle), str(vehicle.name)
    except InputError as wrong:
        return model(stand_in(vehicle)), f"{wrong} Until this is mended, here stands {stands}"


class Mending:
    """What a workbench does with a vehicle that its page cannot show.

    `refused` says why, until a control has mended it; `_mending` is that control, or None where none can alone.
    """

    page: Any
    base: Any
    vehicle: Any
    frame: Any
    day: Mapping[str, Any]
    controls: dict[str, Any]
    start_day: dict[str, Any]
    trouble: Any
    buttons: Any
    _run: Any
    _made: Any
    _set_in_view: Any
    _as_kept: Any
    refused: InputError | None = None
    _mending: Control | Choice | None = None

    def _begin(self) -> None:
        """The vehicle as its file has it; one that the model refuses is told in words, and another one shown until it is mended."""
        self._mended()
        try:
            self.frame = self.page.frame(self.base)
            self._run(self.base, self.day, first=True)
        except InputError as wrong:
            other = self.page.stand_in(self.base)
            try:
                self.frame = self.page.frame(other)
                self._run(other, self.day, first=True)
            except InputError:  # it is not the vehicle that the page cannot show
                raise wrong from None
            self._refuse(wrong, other)

    def _refuse(self, wrong: InputError, other: Any) -> None:
        """Say what is wrong beside the first control that alone can mend it; beside none, under all of them."""
        self.refused, self._mending = wrong, next((c for n, c in self.controls.items() if self._mends(n, other)), None)
        words = f"{wrong} Until this is mended, the pictures show {self.page.stands}, and nothing is kept."
        if self._mending is None:
            self.trouble.value = fault(InputError(words), shown="")
        else:
            n, scale = self._mending.knob.name, self._mending.scale
            hint = f" {scale.label} {scale.say(other.value(n).value)} would do."
            self._mending.fault.value = fault(InputError(words + hint), shown="")
        self.buttons.show([], [])
        self._set_in_view()

    def _mends(self, name: str, other: Any) -> bool:
        if name in self.start_day or self._as_kept(name, other.value(name).value):
            return False
        try:
            self._made(self.base.change({name: other.value(name).value}), self.day)
        except InputError:
            return False
        return True

    def _mended(self) -> None:
        """A vehicle of the learner's own is on view: nothing more is to be said of one that was refused."""
        if self.refused is None:
            return
        self.trouble.value = ""
        if self._mending is not None:
            self._mending.fault.value = ""
        self.refused = self._mending = None

    def _must_be_mended(self) -> None:
        """Raises why the vehicle was refused, while it is."""
        if self.refused is not None:
            raise self.refused

    def _told(self) -> dict[str, Any]:
        """The values that the controls stand for: of a refused vehicle its own, since another one is on view."""
        if self.refused is not None:
            return {n: c.value for n, c in self.controls.items()}
        return {n: self.day[n] if n in self.day else self.vehicle.value(n).value for n in self.controls}
