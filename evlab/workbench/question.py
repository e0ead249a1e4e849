"""Predict, then check: the answer comes from the model at the reader's present controls, and only when Check is pressed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import ipywidgets

from evlab.glossary import SPELLINGS, Entry, entry
from evlab.look import setting, shown
from evlab.units import InputError, read
from evlab.workbench.closing import close
from evlab.workbench.page import Case
from evlab.workbench.page_sense import PageSense
from evlab.workbench.style import escape, sheet, state_line
from evlab.workbench.turns import TURN

__all__ = ["Asked", "Question", "Questions", "unit_slip"]

Slip = tuple[Any, str]
BARE = re.compile(r"[+\-\u2212]?[0-9][0-9.,eE+\-\u2212]*")  # a number that nothing follows


@dataclass(frozen=True)
class Asked:
    """One question.  Everything is asked of the `Case` of the present controls.

    A number: `quantity` is the glossary's name for its unit, `unit` how the answer is told, `share` and `least` (SI) the
    tolerance, whichever is wider.  A choice: `options`.  `answer(case)` is SI, or one of the options; it raises
    InputError, in words, where the present controls leave nothing to ask.  `slips(case, answer)` are usual mistakes:
    (what it leads to, why).  `worked(case, answer)` is the reasoning, HTML with $LaTeX$.
    """

    text: Callable[[Case], str]
    answer: Callable[[Case], Any]
    worked: Callable[[Case, Any], str]
    hints: tuple[str, ...]
    quantity: str = ""
    unit: str = ""
    share: float = 0.03
    least: float = 0.0
    options: tuple[str, ...] = ()
    slips: Callable[[Case, Any], Sequence[Slip]] = lambda case, answer: ()

    @property
    def tolerance(self) -> str:
        """The tolerance in words."""
        if self.options:
            return ""
        least = f"{setting(float(f'{_in(self.least, self):.6g}'), self.unit)}" if self.least else ""
        share = f"{setting(100 * self.share, '%')}" if self.share else ""
        return f"right within {' or '.join(filter(None, (share, least)))}" + (", whichever is wider" if least and share else "")

    def near(self, value: float, answer: float) -> bool:
        return abs(value - answer) <= max(self.share * abs(answer), self.least)


def _in(value: float, asked: Asked) -> float:
    """SI in the unit the answer is told in."""
    e = entry(asked.quantity)
    one, zero = read(f"1 {asked.unit}".strip(), e).value, read(f"0 {asked.unit}".strip(), e).value
    return (value - zero) / (one - zero)


def _said(answer: Any, asked: Asked) -> str:
    """The answer in words or in its unit; a count is whole."""
    if asked.options:
        return str(answer)
    return setting(round(answer)) if entry(asked.quantity).kind == "count" else shown(_in(answer, asked), asked.unit)


def unit_slip(number: float, unit: str, e: Entry, near: Callable[[float], bool], bare: bool = False) -> str:
    """Whether the typed number would be right in another unit of the same family, in words; "" if not.

    `bare`: no unit was typed, so `unit` is the one that then counts.
    """
    for other in SPELLINGS[e.family]:
        if SPELLINGS[e.family][other] == SPELLINGS[e.family][unit]:
            continue
        if near(read(f"{number:.12g} {other}".strip(), e).value):
            said, wrote = setting(float(f"{number:.6g}")), f"you wrote {unit or 'no unit'}"
            return (f"{said} is the number {f'in {other}' if other else 'as a plain share'}, but "
                    f"{f'a number without a unit counts in {unit} here' if bare else wrote}.")
    return ""


class Question(ipywidgets.VBox):
    """One question of a workbench: text, a box or a choice, Check, a spoken verdict, and the folded worked answer."""

    def __init__(self, bench: Any, asked: Asked, number: int = 1) -> None:
        flat = {"margin": "0"}
        self.bench, self.asked, self.number, self.hinted = bench, asked, number, 0
        self._shown_for: Any = None  # the result that the verdict on view speaks of
        self._last: tuple[Any, Any, bool, str] = (None, None, False, "")  # prediction and result judged last; right; the verdict
        self.text, self.verdict = ipywidgets.HTML(layout=flat), ipywidgets.HTML(layout=flat)
        self.worked = ipywidgets.HTMLMath(layout=flat)
        self.box: Any = self._entry()
        self._judged: Any = None  # what stood in the box at the last press of Check
        self.box.observe(self._altered, "value")
        told = "Checks your prediction against the model at the present controls"
        self.button = ipywidgets.Button(description="Check", tooltip=told)
        self.button.on_click(lambda _: self.check())
        self.button.add_class("ev-check")
        super().__init__([self.text, ipywidgets.HBox([self.box, self.button]), self.verdict, self.worked])
        self.verdict.add_class("ev-verdict")
        self.add_class("ev-question")
        self.refresh()

    def _entry(self) -> Any:
        if self.asked.options:
            return ipywidgets.ToggleButtons(options=self.asked.options, value=None)
        like = f"number and unit, like 1.5 {self.asked.unit}" if self.asked.unit else "a number, like 14"
        return ipywidgets.Text(description="My prediction", placeholder=like, continuous_update=False,
                               style={"description_width": "initial"}, layout={"width": "26em"})

    def refresh(self) -> None:
        """After the controls have moved: the text with the present numbers; an earlier verdict does not hold any more."""
        bare = f"without a unit it counts in {self.asked.unit}" if self.asked.unit else ""
        quiet = "; ".join(filter(None, (self.asked.tolerance, bare)))
        try:
            text = f"{self.asked.text(self.bench.case)}{f' <span class=ev-quiet>({escape(quiet)})</span>' if quiet else ''}"
        except InputError as error:  # the present controls leave nothing to ask
            text = escape(error)
        self.text.value = f"<p><b>{self.number}.</b> {text}</p>"
        if self._shown_for is self.bench.result and self._shown_for is not None:
            return
        self._outdated("The controls have moved since: predict again.")
        self.worked.value = '<p class="ev-quiet">The worked answer unfolds here after a prediction.</p>'

    def _outdated(self, why: str) -> None:
        """A verdict on view speaks of what stands there no more."""
        if self._shown_for is not None:
            self.verdict.value = state_line("note", "not checked", escape(why))
        self._shown_for = None

    def _altered(self, change: Any) -> None:
        with TURN:
            if self.box.value != self._judged:  # as it now is: the news itself may be late
                self._outdated("Your prediction has changed: press Check or Enter.")

    # ------------------------------------------------------------ checking
    def press(self, typed: str, chosen: int) -> None:
        """Check what the browser shows: its words, or the place of its option (-1: none), may not have come by themselves yet."""
        with TURN:
            now = typed if not self.asked.options else self.asked.options[chosen] if chosen >= 0 else None
            self._judged = now
            self.box.value = now
            self.check()

    def check(self) -> bool:
        """Check the prediction at the present controls.  Returns whether it was right."""
        try:
            with TURN:
                self._judged = self.box.value
                return self._check()
        except InputError as error:
            self.verdict.value = state_line("note", "not checked", escape(error))
        except Exception as error:  # noqa: BLE001  a click's error would show nowhere
            self.verdict.value = state_line("danger", "fault", escape(f"{type(error).__name__}: {error}"))
        self._shown_for = self.bench.result
        return False

    def _check(self) -> bool:
        asked, case = self.asked, self.bench.case
        guess, number, unit, bare = self._guess()
        if self._last[0] == guess and self._last[1] is case.result:  # the same prediction again uses up no other hint
            self.verdict.value, self._shown_for = self._last[3], case.result
            return self._last[2]
        answer = asked.answer(case)
        right = bool(guess == answer if asked.options else asked.near(guess, answer))
        told = escape(_said(answer, asked))
        if right:
            self.verdict.value = state_line("ok", "right", f"The model says {told}.")
        else:
            self.verdict.value = state_line("note", "not yet", escape(self._why(case, answer, guess, number, unit, bare)))
        self._shown_for, self._last = case.result, (guess, case.result, right, self.verdict.value)
        self.worked.value = (f"<details><summary>Worked answer</summary><p>{asked.worked(case, answer)}</p>"
                             f"<p><b>The model says {told}.</b></p></details>")
        return right

    def _guess(self) -> tuple[Any, float, str, bool]:
        """The prediction: SI or an option; the number and its unit, and whether the unit was left out."""
        if self.asked.options:
            if self.box.value is None:
                raise InputError("Choose one of the answers first.")
            return self.box.value, 0.0, "", False
        if not self.box.value.strip():
            raise InputError("Write your prediction first: a number and its unit.")
        e, text = entry(self.asked.quantity), self.box.value.strip()
        bare = bool(self.asked.unit) and BARE.fullmatch(text) is not None
        got = read(f"{text} {self.asked.unit}" if bare else text, e, "your prediction")
        if got.note and "," in text:  # a thousand times too much or not? neither a hint nor a "right" may hang on it
            raise InputError(f"{got.note} Write it with a point, or without a sign, as you mean it.")
        one, zero = read(f"1 {got.unit}".strip(), e).value, read(f"0 {got.unit}".strip(), e).value
        return got.value, (got.value - zero) / (one - zero), got.unit, bare

    def _why(self, case: Case, answer: Any, guess: Any, number: float, unit: str, bare: bool) -> str:
        """The usual slip that leads to this answer, or the next hint."""
        asked = self.asked
        for wrong, words in asked.slips(case, answer):
            if guess == wrong if asked.options else asked.near(guess, wrong):
                return words
        if not asked.options:
            slip = unit_slip(number, unit, entry(asked.quantity), lambda x: asked.near(x, answer), bare)
            if slip:
                return slip
        if not asked.hints:
            return ""
        self.hinted = min(self.hinted + 1, len(asked.hints))
        return f"Hint {self.hinted} of {len(asked.hints)}: {asked.hints[self.hinted - 1]}"


class Questions(ipywidgets.VBox):
    """All questions of a page.  Making them again for a page closes the ones before."""

    _open: ClassVar[dict[str, Questions]] = {}

    def __init__(self, bench: Any, asked: Sequence[Asked]) -> None:
        name = bench.page.name
        if name in Questions._open:
            close(Questions._open.pop(name))
        Questions._open[name] = self
        self.questions = [Question(bench, one, i) for i, one in enumerate(asked, 1)]
        style = ipywidgets.HTML(f"<style>{sheet()}</style>", layout={"display": "none"})
        sense = PageSense()
        sense.on_msg(self._pressed)
        super().__init__([style, sense, *self.questions])
        self.add_class("ev")
        if bench.large.value:
            self.add_class("ev-large")
        bench.followers[:] = [self]

    def _pressed(self, _: Any, told: Any, buffers: Any) -> None:
        """A press of Check in the browser: which question, and what stands in its box."""
        self.questions[told["check"]].press(told["typed"], told["chosen"])

    def refresh(self) -> None:
        """After the controls of the workbench have moved."""
        for question in self.questions:
            question.refresh()
