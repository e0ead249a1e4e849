"""A workbench and the vehicle file that it shares with other pages and programs: keep, look, reload."""

from __future__ import annotations

import asyncio
import math
from pathlib import Path
from typing import Any, ClassVar

from evlab import keeping, merging
from evlab.workbench.controls import Control
from evlab.workbench.head import place
from evlab.workbench.turns import TURN

__all__ = ["LOOK", "OwnFile", "known_row"]

LOOK = 1.5  # s between two looks at the vehicle file


class OwnFile:
    """What a workbench does with its vehicle's file."""

    _open: ClassVar[Any]
    page: Any
    base: Any
    vehicle: Any
    buttons: Any
    take: Any
    changes: Any
    refused: Any
    _show: Any
    _failed: Any
    _must_be_mended: Any

    def keep(self) -> None:
        """Write the vehicle file: the only thing that does.  Says where, also when it was written beside."""
        self._keep("")

    def _keep(self, prefer: str) -> None:
        self._must_be_mended()
        got = merging.keep_together(self.vehicle, prefer)
        if got.kept is None:
            self.buttons.ask(got.clashes)
            return
        beside = Path(got.kept) != keeping.home(self.base._origin)
        self._base_on(got.vehicle, got.vehicle)
        labels = [got.vehicle.value(f).entry.label for f in got.taken]
        more = f" Taken over from the other page or program: {', '.join(labels)}." if labels else ""
        self.buttons.quiet()
        told = f"{got.kept!r} ({place(Path(got.kept))}){more}"
        self.buttons.show(*self.changes(), told=self.buttons.kept(told, beside))

    def _base_on(self, base: Any, vehicle: Any) -> None:
        """Go on from another state of the vehicle file; `vehicle` is what the controls then show."""
        before, same = (self.base, self.vehicle), vehicle is self.vehicle
        self.base, self.vehicle = base, vehicle
        done = False
        try:
            self._show() if same else self.take(self.page)
            done = True
        finally:
            if not done:
                self.base, self.vehicle = before

    def look(self) -> None:
        """Say so when the vehicle file has been changed elsewhere since this page read it."""
        theirs = merging.changed_file(self.base)
        if theirs is None:
            self.buttons.quiet()
            return
        rows = [f"{theirs.value(f).entry.label} {theirs.value(f).shown}" for f in self.base.differences(theirs)
                if f in theirs.values()]
        self.buttons.changed(rows)

    def reload(self) -> None:
        """The vehicle as its file now holds it; what was moved here and not there stays moved."""
        theirs = merging.changed_file(self.base)
        if theirs is not None:
            own = self.vehicle if self.refused is None else self.base  # while it is refused, another one is on view
            made, _, _ = merging.put_together(own, theirs, "theirs")
            self._base_on(theirs, made)
        self.buttons.quiet()

    async def _watch(self) -> None:
        """Look at the vehicle file every second or two, for as long as the page is open."""
        seen: Any = None
        while True:
            await asyncio.sleep(LOOK)
            if self._open.get(self.page.name) is not self:  # closed meanwhile
                return
            now = keeping.stamp(self.base._origin)
            if now != seen:
                seen = now
                self._guarded_quietly(self.look)

    def _guarded_quietly(self, act: Any) -> None:
        try:
            with TURN:
                act()
        except Exception as error:  # noqa: BLE001  a task's error shows nowhere
            self._failed(error)


def known_row(control: Control, before: Any, now: Any) -> tuple[str, str, str] | None:
    """How value, ± and basis of a field differ from the file; None when only the value does, or nothing."""
    one, other = (control.scale.say_pair(v.value, v.spread) for v in (before, now))
    if before.basis != now.basis and control.chosen:
        return control.scale.label, f"{one} ({before.basis})", f"{other} ({now.basis})"
    if control.scale.same(before.value, now.value) and one == other:
        return None
    stated = now.spread is not None and (before.spread is None or not math.isclose(
        now.spread * before.value, before.spread * now.value, rel_tol=1e-6))
    return (control.scale.label, one, other) if stated else None
