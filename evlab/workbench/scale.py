"""A quantity as a control shows and reads it: SI inside, one spelling of its unit outside, a range with its reason."""

from __future__ import annotations

import math
import re
from typing import Any

from evlab.glossary import Entry, entry
from evlab.look import setting
from evlab.units import InputError, read
from evlab.workbench.page import Knob

__all__ = ["FACTOR", "Scale"]

_NUMBER = re.compile(r"[+\-\u2212]?[0-9]+(?:[.,][0-9]+)*(?:[eE][+\-\u2212]?[0-9]+)?")
_BARE = re.compile(rf"{_NUMBER.pattern}(?:\s*(?:\+/-|±)\s*{_NUMBER.pattern})?")
FACTOR = 10 ** (1 / 40)  # a step of a slider by factors: forty to a factor of ten, about 6 %


class Scale:
    """Between SI and what the page shows, for one knob.  `low` and `high` are SI, widened to hold the vehicle's own value."""

    def __init__(self, knob: Knob, present: float):
        self.knob = knob
        self.entry: Entry = entry(knob.quantity or knob.name)
        self.unit = self.entry.shown if knob.unit is None else knob.unit
        self.label = knob.label or self.entry.label
        self.where = f"{self.label} ({knob.name})" if knob.start is None else self.label
        self._zero = read(f"0 {self.unit}".strip(), self.entry).value
        self._step = read(f"1 {self.unit}".strip(), self.entry).value - self._zero
        low = self.entry.low if knob.low is None else knob.low
        high = self.entry.high if knob.high is None else knob.high
        if low is None or high is None:
            raise ValueError(f"the control {knob.name} has no range")
        self.low, self.high = min(low, present), max(high, present)
        self.whole = self.entry.kind == "count"

    @property
    def why(self) -> str:
        return self.knob.why or self.entry.why

    @property
    def help(self) -> str:
        """What the quantity is, its range, and why this range."""
        meaning = self.knob.meaning or self.entry.meaning
        return f"{self.label}: {meaning}. {self.say(self.low)} to {self.say(self.high)}: {self.why}."

    # ------------------------------------------------------------ numbers
    def outside(self, value: float) -> float:
        """SI in the shown unit."""
        return (value - self._zero) / self._step

    def inside(self, shown: float) -> float:
        """The shown unit in SI, without the noise of the last digits."""
        return read(f"{float(f'{shown:.10g}'):.12g} {self.unit}".strip(), self.entry).value

    # Sliders run over whole positions: the browser's own ones move a value to their grid by themselves, and tell so.
    @property
    def first(self) -> float:
        """The shown value at position 0."""
        return self.outside(self.low)

    @property
    def last(self) -> int:
        """The last position: the high end of the range."""
        high = self.outside(self.high)
        steps = math.log(high / self.first) / math.log(FACTOR) if self.knob.log else (high - self.first) / self.step
        return math.ceil(steps - 1e-6)

    def position(self, value: float) -> int:
        """The position nearest to a value."""
        shown = self.outside(value)
        steps = math.log(shown / self.first) / math.log(FACTOR) if self.knob.log else (shown - self.first) / self.step
        return self.last if self.same(value, self.high) else round(steps)

    def at(self, position: int) -> float:
        """The value at a position, inside the range; by factors, three figures of it."""
        if self.knob.log:
            shown = float(f"{self.first * FACTOR**position:.3g}")
        else:
            shown = self.first + self.step * position
        return min(max(self.inside(shown), self.low), self.high)

    def say(self, value: float) -> str:
        """'45 A', '0.012', '76': as short as it may be said, four figures of what is longer than a box."""
        if self.knob.none and value == 0:
            return self.knob.none
        shown = f"{self.outside(value):.6g}"
        return setting(float(shown if len(shown) <= 6 else f"{self.outside(value):.4g}"), self.unit)

    def same(self, one: float, other: float) -> bool:
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)

    @property
    def step(self) -> float:
        """The slider's step in the shown unit: about a hundredth of the range, a round number."""
        if self.knob.step:
            return self.knob.step
        if self.whole:
            return 1
        span = (self.outside(self.high) - self.outside(self.low)) / 100
        power = 10.0 ** math.floor(math.log10(span))
        return power * next(digit for digit in (1, 2, 5, 10) if digit * power >= span * 0.999)

    # ------------------------------------------------------------ text
    def parse(self, text: str, vehicle: Any) -> float:
        """The value of `parse_pair` alone."""
        return self.parse_pair(text, vehicle)[0]

    def parse_pair(self, text: str, vehicle: Any) -> tuple[float, float | None]:
        """What a reader typed: value and ± in SI (None: no ± was typed).  A bare number counts in the shown unit.

        Raises InputError in words.
        """
        text = text.strip().replace("\u2009", " ").replace("\u00a0", " ")
        value = self.knob.also(text, vehicle) if self.knob.also else None
        spread = None
        if value is None:
            value, spread = (0.0, None) if self.knob.none and text.lower() == self.knob.none else self._read(text)
        slack = 1e-9 * (self.high - self.low)
        if not self.low - slack <= value <= self.high + slack or (self.whole and value != math.floor(value)):
            whole = "a whole number from " if self.whole else ""
            raise InputError(f"Input {self.where} must be {whole}{self.say(self.low)} to {self.say(self.high)} "
                             f"({self.why}); instead received {text!r}.")
        if spread is not None and (self.whole or self.knob.start is not None):
            why = "a count is exact" if self.whole else "it holds for today only, and no file keeps it"
            raise InputError(f"{self.label} takes no ±: {why}. Type {self.say(value)} alone.")
        return min(max(value, self.low), self.high), spread

    def note(self, text: str) -> str:
        """How a number was read that some would read otherwise; "" for others."""
        bare = _BARE.fullmatch(text.strip())
        try:
            return read(f"{text.strip()} {self.unit}".strip() if bare else text, self.entry, self.where).note
        except InputError:
            return ""

    def say_pair(self, value: float, spread: float | None) -> str:
        """The value with its ±, '650 ± 65 F', as it may be typed again."""
        if spread is None:
            return self.say(value)
        step = float(f"{spread / self._step:.3g}")
        return f"{setting(float(f'{self.outside(value):.6g}'))} ± {setting(step, self.unit)}"

    def _read(self, text: str) -> tuple[float, float | None]:
        bare = _BARE.fullmatch(text)
        if not bare or not self.unit:
            got = read(text, self.entry, self.where)
            return got.value, got.spread
        try:
            got = read(f"{text} {self.unit}", self.entry, self.where)
            return got.value, got.spread
        except InputError as error:  # the message quotes what was typed
            raise InputError(str(error).replace(repr(f"{text} {self.unit}"), repr(text))) from None
