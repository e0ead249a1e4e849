"""The workbench: one page's controls, pictures, numbers and cautions around one vehicle and one model."""

from __future__ import annotations

import asyncio
import contextlib
import dataclasses
import time
from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

import ipywidgets

from evlab.cautions import by_change
from evlab.vehicle import load_vehicle
from evlab.workbench.cautions_strip import CautionsStrip
from evlab.workbench.choices import Choice, is_choice
from evlab.workbench.closing import close
from evlab.workbench.controls import Control, fault
from evlab.workbench.head import head_words
from evlab.workbench.keep_row import KeepRow
from evlab.workbench.live_picture import LivePicture
from evlab.workbench.mending import Mending
from evlab.workbench.own_file import OwnFile, known_row
from evlab.workbench.page import Case, Page
from evlab.workbench.page_sense import PageSense
from evlab.workbench.readouts import Numbers, Spreads, runs
from evlab.workbench.resting import Resting
from evlab.workbench.style import escape, sheet
from evlab.workbench.trying import Trying
from evlab.workbench.turns import TURN

__all__ = ["Workbench"]

_TAKEN = ("page", "pinned", "controls", "start_day", "groups", "frame", "vehicle", "day", "result", "spreads", "_spent", "_moved")
SLOW = 0.3  # s: a model that takes longer is run when a slider is let go, not while it moves
EM, LARGE_EM, LEFT, NARROW = 14, 18, 26.0, 70.0  # type [CSS px]; controls and the narrow pane [em], as in bench.css


class Workbench(Mending, Trying, OwnFile, ipywidgets.VBox):
    """A page's workbench.  `page` describes it; `vehicle` is the learner's own when none is given.

    Nothing is written but by `keep`, the method behind the button.  Making the workbench of a page again closes the one
    before.  `vehicle`, `day` and `result` are those of the present controls.
    """

    _open: ClassVar[dict[str, Workbench]] = {}  # ipywidgets keeps every widget alive until it is closed

    def __init__(self, page: Page, vehicle: Any = None) -> None:
        if page.name in Workbench._open:
            Workbench._open.pop(page.name).shut()
        self.page, self.base = page, vehicle if vehicle is not None else load_vehicle()
        self.vehicle = self.base
        self.pinned: Any = None
        self.spreads: Spreads | None = None
        self.controls = self._controls()
        self.start_day = {n: c.value for n, c in self.controls.items() if c.knob.start is not None}
        self.day: Mapping[str, Any] = dict(self.start_day)
        self._spent, self._active = [0.0, 0.0], 0
        self._moved: tuple[Any, Any] = (None, None)  # the control that was moved last, and the cautions before it moved
        self.followers: list[Any] = []  # boxes beside the bench that go with its type size and its controls
        self.resting = Resting(self._failed)
        self._widgets()
        super().__init__(self._lay_out())
        self.add_class("ev")
        self._wire()
        self._set_in_view()
        with TURN:
            self._begin()
        Workbench._open[page.name] = self  # last: one that could not be made is none to close
        with contextlib.suppress(RuntimeError):  # no loop in a script or a test: whoever wants to know calls `look`
            self._watching = asyncio.get_running_loop().create_task(self._watch())  # held, or the loop would forget it

    # ------------------------------------------------------------ made once
    def _controls(self) -> dict[str, Any]:
        """The page's controls, showing the vehicle as it stands and the values of the day as they begin."""
        made: dict[str, Any] = {}
        there = self.base.values()
        for knob in self.page.knobs:
            if knob.start is None and knob.name not in there:
                continue  # a field of another kind of store
            value: Any = knob.start if knob.start is not None else self.vehicle.value(knob.name).value
            if is_choice(knob):
                made[knob.name] = Choice(knob, str(len(made)), value, self._offer)
                continue
            if knob.within is not None:
                low, high = knob.within(self.base)
                knob = dataclasses.replace(knob, low=low, high=high)
            made[knob.name] = Control(knob, str(len(made)), value, lambda: self.vehicle, self._offer,
                                      self.vehicle.value(knob.name).spread if knob.start is None else None)
        return made

    def _widgets(self) -> None:
        flat = {"margin": "0"}
        self.sense = PageSense(rows=self._rows())
        self.above = ipywidgets.VBox(layout=flat)  # room for what a page sets above its controls
        self.head, self.reading, self.help, self.trouble = (ipywidgets.HTML(layout=flat) for _ in range(4))
        self.cautions, self.numbers, self.buttons = CautionsStrip(), Numbers(self.page), KeepRow()
        self.pictures = [LivePicture() for _ in self.page.pictures]
        self.large = ipywidgets.ToggleButton(description="Larger type", tooltip="For a projector")
        self.choice = ipywidgets.ToggleButtons(options=[p.title for p in self.page.pictures], index=0)
        self.help.value = '<span class="ev-quiet ev-help">Move a slider, or type a value with its unit.</span>'

    def _lay_out(self) -> list[Any]:
        self.groups = self._groups()
        self.grouped = ipywidgets.Box(tuple(self.groups.values()))
        left = ipywidgets.VBox([self.grouped, self.buttons, self.trouble])
        right = ipywidgets.VBox([*([self.choice] if len(self.pictures) > 1 else []), *self.pictures, self.reading])
        top, body = ipywidgets.HBox([self.head, self.large]), ipywidgets.Box([left, right, self.numbers])
        style = ipywidgets.HTML(f"<style>{sheet()}</style>", layout={"display": "none"})
        for box, name in ((top, "ev-top"), (body, "ev-body"), (left, "ev-left"), (right, "ev-right"), (self.grouped, "ev-groups"),
                          (self.reading, "ev-reading"), (self.choice, "ev-choice"), (self.help, "ev-helping")):
            box.add_class(name)
        return [style, self.sense, top, self.above, self.cautions, self.help, body]

    def _groups(self) -> dict[str, ipywidgets.VBox]:
        """The rows of the controls under their heads."""
        groups: dict[str, list[Any]] = {}
        for control in self.controls.values():
            groups.setdefault(control.knob.group, []).append(control.row)
        return {g: ipywidgets.VBox([ipywidgets.HTML(f"<h4>{escape(g)}</h4>", layout={"margin": "0"}), *rows])
                for g, rows in groups.items()}

    def _rows(self) -> dict[str, Any]:
        return {f"ev-key-{c.key}": c.rows for c in self.controls.values()}

    def _wire(self) -> None:
        self.buttons.keep.on_click(lambda _: self._guarded(self.keep))
        self.buttons.mine.on_click(lambda _: self._guarded(lambda: self._keep("mine")))
        self.buttons.theirs.on_click(lambda _: self._guarded(lambda: self._keep("theirs")))
        self.buttons.reload.on_click(lambda _: self._guarded(self.reload))
        self.buttons.reset.on_click(lambda _: self._guarded(self.reset))
        self.buttons.pin.observe(lambda change: self._guarded(self.pin if change["new"] else self.unpin), "value")
        self.choice.observe(lambda change: self._guarded(self._choose), "index")
        self.large.observe(lambda change: self._guarded(self._reshape), "value")
        self.sense.observe(lambda change: self._guarded(self._reshape), ["dark", "width", "dense"])

    def _guarded(self, act: Any) -> None:
        """Do it; an error is shown under the controls, since JupyterLab would show it nowhere."""
        try:
            with TURN:
                self.trouble.value = ""
                act()
        except Exception as error:  # noqa: BLE001  shown in words, traceback unfoldable
            self._failed(error)

    def _failed(self, error: Exception) -> None:
        self.trouble.value = fault(error)

    # ------------------------------------------------------------ the model
    def _run(self, vehicle: Any, day: Mapping[str, Any], first: bool = False) -> None:
        began = time.perf_counter()
        result, frame = self._made(vehicle, day)
        self._pace(time.perf_counter() - began)
        self.resting.drop()
        self.vehicle, self.day, self.result, self.spreads = vehicle, day, result, None
        self._mended()
        if first or frame != self.frame:
            self.frame = frame
            self._paper()
        self._show()
        self._set_in_view()

    def _made(self, vehicle: Any, day: Mapping[str, Any]) -> tuple[Any, Any]:
        """Result and axes; what the page refuses, it refuses here."""
        result = self.page.model(vehicle, day)
        self.page.cautions(result), [readout.shown(result) for readout in self.numbers.readouts]
        return result, self.page.widen(self.frame, result) if self.page.pictures[self._active].widens else self.frame

    def _pace(self, seconds: float) -> None:
        """Follow a slider while it moves, if the model is fast enough; the first run may still compile."""
        self._spent = [self._spent[-1], seconds]
        self._set_pace()

    def _set_pace(self) -> None:
        at_once = min(self._spent) < SLOW and not self.page.pictures[self._active].costly
        for control in self.controls.values():
            if control.slider is not None and control.slider.continuous_update != at_once:
                control.slider.continuous_update = at_once

    # ------------------------------------------------------------ another page in its place
    def take(self, page: Page) -> None:
        """A page with the same pictures instead, such as that of another route: what stands on the controls stays.

        Raises what its model raises, and then everything is as it was.
        """
        with TURN:
            before, turned = {name: getattr(self, name) for name in _TAKEN}, False
            try:
                self._turn_to(page)
                turned = True
            finally:
                if not turned:  # the error goes on to whoever asked for the page
                    dropped = self.groups
                    for name, value in before.items():
                        setattr(self, name, value)
                    self._regroup(dropped)
                    self._paper()
                    self._show()
            self._regroup(before["groups"])

    def _turn_to(self, page: Page) -> None:
        moved = {n: v for n, v in self.day.items() if not self.controls[n].scale.same(self.start_day[n], v)}
        self.page, self.pinned, self._spent, self._moved = page, None, [0.0, 0.0], (None, None)
        self.controls = self._controls()
        self.start_day = {n: c.value for n, c in self.controls.items() if c.knob.start is not None}
        day = dict(self.start_day)
        for name in set(moved) & set(day):
            scale = self.controls[name].scale
            day[name] = min(max(moved[name], scale.low), scale.high) if hasattr(scale, "low") else moved[name]
            self.controls[name].set(day[name])
        self.groups, self.frame = self._groups(), page.frame(self.vehicle)
        self.numbers.page, self.numbers.readouts = page, page.numbers_of(self._active)
        self._run(self.vehicle, day, first=True)

    def _regroup(self, old: dict[str, ipywidgets.VBox]) -> None:
        """Show the rows of the present page, and close those of the other."""
        self.numbers.page, self.numbers.readouts = self.page, self.page.numbers_of(self._active)
        self.grouped.children, self.sense.rows = tuple(self.groups.values()), self._rows()
        self.buttons.pin.value = self.pinned is not None
        self._set_in_view()
        for box in old.values():
            close(box)

    # ------------------------------------------------------------ showing
    def _show(self) -> None:
        self._picture(self._active)
        self._show_cautions()
        self.numbers.show(self.result, self.vehicle, self.spreads, self.pinned)
        self.buttons.show(*self.changes())
        for name, control in self.controls.items():
            control.show_basis("the day" if name in self.start_day else self.vehicle.value(name).basis)
        words = head_words(self.base, self.page.case)
        if self.head.value != words:
            self.head.value = words
        self.resting.later(self._at_rest())

    def _show_cautions(self) -> None:
        self.cautions.show(self.page.cautions(self.result), self._moved[1])

    def _picture(self, index: int) -> None:
        if index in self._old_paper:
            self._lay(index)
        reading = self.pictures[index].show(self.result, self.pinned)
        if index == self._active:
            quiet = ' <span class="ev-quiet">Thin grey: the pinned one.</span>' if self.pinned is not None else ""
            told = self.page.tell(self.result)
            more = f'<p class="ev-told">{escape(told)}</p>' if told else ""
            self.reading.value, self._reading = f"<p>{escape(reading)}{quiet}</p>{more}", f"{reading} {told}".strip()

    def _at_rest(self) -> Iterator[None]:
        """What waits until the controls rest: spoken words, the other pictures, the ±."""
        dangers = [f"Danger: {c.words}" for c in by_change(self.page.cautions(self.result), self._moved[1])
                   if c.state == "danger" and not getattr(c, "fold", "")]
        self.sense.say = " ".join([self._reading, *dangers])
        yield
        for index, picture in enumerate(self.page.pictures):  # what a result works out when asked: the axes must hold that, too
            if index == self._active or not picture.costly:
                [readout.read(self.result) for readout in self.page.numbers_of(index)]
                yield
        frame = self.page.widen(self.frame, self.result)
        if frame != self.frame:
            self.frame = frame
            self._paper()
        for index, picture in enumerate(self.page.pictures):
            if index in self._old_paper if index == self._active else not picture.costly:
                self._picture(index)
                yield
        for follower in self.followers:
            follower.refresh()
            yield
        if self.spreads is not None:
            return
        spreads = Spreads.empty(self.numbers.readouts)
        for run in runs(self.page, self.vehicle, self.day):
            spreads.add(self.page, self.result, run)
            yield
        self.spreads = spreads
        self.numbers.show(self.result, self.vehicle, spreads, self.pinned)

    def redraw(self) -> None:
        """Draw the picture on view anew: something has been added to the result."""
        with TURN:
            self._picture(self._active)

    def settle(self) -> None:
        """Do at once what waits until the controls rest: the other pictures and the ±."""
        self.resting.finish()

    @property
    def case(self) -> Case:
        """What the present controls come to."""
        return Case(self.vehicle, self.day, self.result)

    def changes(self) -> tuple[list[tuple[str, str, str]], list[tuple[str, str, str]]]:
        """What differs from the vehicle file, and what is only for the day: (label, before, now)."""
        kept: list[tuple[str, str, str]] = []
        day: list[tuple[str, str, str]] = []
        for name, control in self.controls.items() if self.refused is None else ():  # else the vehicle on view is another one
            before = self.start_day[name] if name in self.start_day else self.base.value(name).value
            now = self.day[name] if name in self.start_day else self.vehicle.value(name).value
            row = None
            if not control.scale.same(before, now):
                row = (control.scale.label, control.scale.say(before), control.scale.say(now))
            if getattr(control, "marks", False):
                row = known_row(control, self.base.value(name), self.vehicle.value(name)) or row
            if row:
                (day if name in self.start_day else kept).append(row)
        return kept, day

    # ------------------------------------------------------------ paper
    def _paper(self) -> None:
        """New paper for all pictures: theme, width, type or axes have changed.  It is laid when a picture is next drawn."""
        self._laid, self._old_paper = self._sheet(), set(range(len(self.pictures)))
        em, pane = (LARGE_EM if self.large.value else EM), self.sense.width or 1120
        self.cautions.signs = max(int((pane - 9 * em) / (0.52 * em)), 40)

    def _sheet(self) -> tuple[bool, int, float, bool]:
        return self.sense.dark, self.sense.width, self.sense.dense, self.large.value

    def _lay(self, index: int) -> None:
        em = LARGE_EM if self.large.value else EM
        zoom, pane = (1.3 if self.large.value else 1.0), self.sense.width or 1120
        beside = pane > NARROW * em
        wide = min(max(pane - (LEFT * em + 26 if beside else 6), 600), 1400)
        high = 5.2 if self.large.value else 5.6 if pane < 1500 else 6.6
        build = self.page.pictures[index].build(self.frame)
        self.pictures[index].shape(build, dark=self.sense.dark, size=(max(wide / (100 * zoom), 6.0), high), css_dpi=100 * zoom,
                                   dense=min(self.sense.dense, 2.0))
        self._old_paper.discard(index)

    def _reshape(self) -> None:
        """Lay new paper, once for all that the browser told in one message."""
        if self._sheet() == self._laid:
            return
        (self.add_class if self.large.value else self.remove_class)("ev-large")
        for follower in self.followers:
            (follower.add_class if self.large.value else follower.remove_class)("ev-large")
        self._paper()
        self._show_cautions()
        self._picture(self._active)
        self.resting.later(self._at_rest())

    def _choose(self) -> None:
        self._active = int(self.choice.index)
        if self.numbers.readouts != self.page.numbers_of(self._active):
            self.numbers.readouts, self.spreads = self.page.numbers_of(self._active), None
        self._show()
        self._set_in_view()
        self._set_pace()

    def _set_in_view(self) -> None:
        """The chosen picture and the controls that matter to it; the others stay where they are, out of sight."""
        for index, picture in enumerate(self.pictures):
            _see(picture, index == self._active)
        now = self._told()
        seen = [c for n, c in self.controls.items()
                if (self.page.matters(n, self._active) or c is self._mending)
                and (c.knob.when is None or c.knob.when(now))]
        for control in self.controls.values():
            _see(control.row, control in seen)
        for name, box in self.groups.items():
            _see(box, any(c.knob.group == name for c in seen))

    # ------------------------------------------------------------ buttons
    def pin(self) -> None:
        """Hold the present result to compare with."""
        self.pinned = self.result
        self._show()

    def unpin(self) -> None:
        self.pinned = None
        self._show()

    def reset(self) -> None:
        """All controls as in the vehicle file, axes and day as at the start."""
        for name, control in self.controls.items():
            if isinstance(control, Control):
                control.chosen = ""
                control.spread = None if name in self.start_day else self.base.value(name).spread
            control.set(self.start_day[name] if name in self.start_day else self.base.value(name).value)
        self.day, self._moved = dict(self.start_day), (None, None)
        self._begin()

    def shut(self) -> None:
        """Close every widget of this workbench; it cannot be used any more."""
        self.resting.drop()
        close(self)


def _see(widget: Any, seen: bool) -> None:
    (widget.remove_class if seen else widget.add_class)("ev-behind")
