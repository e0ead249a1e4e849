"""Predict, then check: the answer comes from the model at the reader's present controls, and only when Check is pressed."""

from __future__ import annotations

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


def unit_slip(number: float, unit: str, e: Entry, near: Callable[[float], bool]) -> str:
    """Whether the typed number would be right in another unit of the same family, in words; "" if not."""
    for other in SPELLINGS[e.family]:
        if SPELLINGS[e.family][other] == SPELLINGS[e.family][unit]:
            continue
        if near(read(f"{number:.12g} {other}".strip(), e).value):
            said = setting(float(f"{number:.6g}"))
            return f"{said} is the number in {other or 'plain numbers'}, but you wrote {unit or 'no unit'}."
    return ""


class Question(ipywidgets.VBox):
    """One question of a workbench: text, a box or a choice, Check, a spoken verdict, and the folded worked answer."""

    def __init__(self, bench: Any, asked: Asked, number: int = 1) -> None:
        flat = {"margin": "0"}
        self.bench, self.asked, self.number, self.tries = bench, asked, number, 0
        self._checked: Any = None  # the result at which the last prediction was checked
        self.text, self.verdict = ipywidgets.HTML(layout=flat), ipywidgets.HTML(layout=flat)
        self.worked = ipywidgets.HTMLMath(layout=flat)
        self.box: Any = self._entry()
        told = "Checks your prediction against the model at the present controls"
        self.button = ipywidgets.Button(description="Check", tooltip=told)
        self.button.on_click(lambda _: self.check())
        super().__init__([self.text, ipywidgets.HBox([self.box, self.button]), self.verdict, self.worked])
        self.verdict.add_class("ev-verdict")
        self.add_class("ev-question")
        self.refresh()

    def _entry(self) -> Any:
        if self.asked.options:
            return ipywidgets.ToggleButtons(options=self.asked.options, value=None)
        return ipywidgets.Text(description="My prediction", placeholder=f"number and unit, like 1.5 {self.asked.unit}",
                               continuous_update=False, style={"description_width": "initial"}, layout={"width": "26em"})

    def refresh(self) -> None:
        """After the controls have moved: the text with the present numbers; an earlier verdict does not hold any more."""
        tolerance = f' <span class="ev-quiet">({escape(self.asked.tolerance)})</span>' if self.asked.tolerance else ""
        try:
            text = f"{self.asked.text(self.bench.case)}{tolerance}"
        except InputError as error:  # the present controls leave nothing to ask
            text = escape(error)
        self.text.value = f"<p><b>{self.number}.</b> {text}</p>"
        if self._checked is self.bench.result and self._checked is not None:
            return
        if self._checked is not None:
            self.verdict.value = state_line("note", "moved", "The controls have moved since: predict again.")
        self._checked = None
        self.worked.value = '<p class="ev-quiet">The worked answer unfolds here after a prediction.</p>'

    # ------------------------------------------------------------ checking
    def check(self) -> bool:
        """Check the prediction at the present controls.  Returns whether it was right."""
        try:
            with TURN:
                return self._check()
        except InputError as error:
            self.verdict.value = state_line("note", "not checked", escape(error))
        except Exception as error:  # noqa: BLE001  a click's error would show nowhere
            self.verdict.value = state_line("danger", "fault", escape(f"{type(error).__name__}: {error}"))
        return False

    def _check(self) -> bool:
        asked, case = self.asked, self.bench.case
        guess, number, unit = self._guess()
        answer = asked.answer(case)
        self.tries += 1
        right = guess == answer if asked.options else asked.near(guess, answer)
        told = escape(_said(answer, asked))
        if right:
            self.verdict.value = state_line("ok", "right", f"The model says {told}.")
        else:
            self.verdict.value = state_line("note", "not yet", escape(self._why(case, answer, guess, number, unit)))
        self._checked = case.result
        self.worked.value = (f"<details><summary>Worked answer</summary><p>{asked.worked(case, answer)}</p>"
                             f"<p><b>The model says {told}.</b></p></details>")
        return bool(right)

    def _guess(self) -> tuple[Any, float, str]:
        if self.asked.options:
            if self.box.value is None:
                raise InputError("Choose one of the answers first.")
            return self.box.value, 0.0, ""
        if not self.box.value.strip():
            raise InputError("Write your prediction first: a number and its unit.")
        e = entry(self.asked.quantity)
        got = read(self.box.value, e, "your prediction")
        one, zero = read(f"1 {got.unit}".strip(), e).value, read(f"0 {got.unit}".strip(), e).value
        return got.value, (got.value - zero) / (one - zero), got.unit

    def _why(self, case: Case, answer: Any, guess: Any, number: float, unit: str) -> str:
        """The usual slip that leads to this answer, or the next hint."""
        asked = self.asked
        for wrong, words in asked.slips(case, answer):
            if guess == wrong if asked.options else asked.near(guess, wrong):
                return words
        if not asked.options:
            slip = unit_slip(number, unit, entry(asked.quantity), lambda x: asked.near(x, answer))
            if slip:
                return slip
        if not asked.hints:
            return ""
        at = min(self.tries, len(asked.hints))
        return f"Hint {at} of {len(asked.hints)}: {asked.hints[at - 1]}"


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
        super().__init__([style, PageSense(), *self.questions])
        self.add_class("ev")
        if bench.large.value:
            self.add_class("ev-large")
        bench.followers[:] = [self]

    def refresh(self) -> None:
        """After the controls of the workbench have moved."""
        for question in self.questions:
            question.refresh()
