"""One value of a vehicle: what is known of it (assumed, designed, measured), which of these is used, and its checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from evlab.glossary import SPELLINGS, Entry, entry, nearest
from evlab.units import InputError, read, si, write

__all__ = ["BASES", "Known", "Value", "known", "plain_basis", "refuse", "shown", "with_known"]

BASES = ("assumed", "designed", "measured")  # from the weakest to the strongest
_WORDS = ("text", "choice", "switch")


@dataclass(frozen=True, slots=True)
class Known:
    """A value with one basis: SI float (int for a count, text, true or false), spread [SI] or None, and the spelling of
    its unit as the maker wrote it (None: the glossary's)."""

    value: Any
    spread: float | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Value:
    """What a vehicle says of one field: `value` [SI], `basis`, `spread` [SI] or None; `known` has it for each basis."""

    field: str
    basis: str
    known: Mapping[str, Known]
    log: str = ""
    sha256: str = ""

    @property
    def value(self) -> Any:
        return self.known[self.basis].value

    @property
    def spread(self) -> float | None:
        return self.known[self.basis].spread

    @property
    def entry(self) -> Entry:
        return entry(self.field)

    @property
    def unit(self) -> str:
        """The SI unit as pint reads it; "" for none."""
        return self.entry.unit

    @property
    def shown(self) -> str:
        """Value, spread and unit as a maker reads them: '650 F +/- 65 F'."""
        return shown(self.entry, self.known[self.basis])

    def __repr__(self) -> str:
        return f"{self.entry.label}: {self.shown}" + (f" ({self.basis})" if self.entry.kind not in _WORDS else "")


def shown(e: Entry, this: Known) -> str:
    """A known value for people, in the maker's own unit."""
    if e.kind in _WORDS:
        return {True: "yes", False: "no"}.get(this.value, this.value) if e.kind == "switch" else str(this.value)
    if e.kind == "count":
        return str(this.value)
    unit = e.shown if this.unit is None else this.unit
    text = write(float(f"{this.value:.6g}"), e, None if this.spread is None else float(f"{this.spread:.3g}"), unit)
    return text.replace("+/-", "±")


def plain_basis(e: Entry) -> str:
    """What a plain value of this field counts as: a found one is assumed until measured, a chosen one is designed."""
    return "assumed" if e.kind == "found" else "designed"


def known(e: Entry, raw: Any, where: str, *, numbers_are_si: bool) -> Known:
    """A raw value, checked against its glossary entry.

    Parameters: `e`, the field; `raw`, text with its unit, a number, a Quantity, true or false; `where`, the words that
    name field and place in a message; `numbers_are_si`, whether a number without a unit is SI (in code)
    or lacks its unit (in a file).
    Raises InputError in words.
    """
    if e.kind in _WORDS:
        return _word(e, raw, where)
    if e.kind == "count":
        return Known(_count(e, raw, where))
    bare = isinstance(raw, int | float) and not isinstance(raw, bool)
    if bare and e.unit and not numbers_are_si:
        spelling = e.shown if e.shown in SPELLINGS[e.family] else e.accepts[0]
        units = ", ".join(filter(None, e.accepts))
        must = f'a number and its unit in quotes, like "{raw:g} {spelling}" (units: {units})'
        raise refuse(where, must, f"{raw!r}, without a unit")
    if isinstance(raw, str):
        got = read(raw, e, where)
        made = Known(got.value, got.spread, got.unit)
    elif isinstance(raw, list | dict) or raw is None:
        raise refuse(where, "one value", raw)
    else:
        made = Known(si(raw, e, where))
    _check(e, made, raw, where)
    return made


def with_known(old: Value, basis: str, this: Known, *, log: str = "", sha256: str = "") -> Value:
    """The value with one more (or another) known value, which is then the one in use; the others are kept."""
    before = old.known.get(basis)
    if this.unit is None and (before or old.known[old.basis]).unit is not None:
        this = replace(this, unit=(before or old.known[old.basis]).unit)
    if basis == "measured":
        return Value(old.field, basis, {**old.known, basis: this}, log, sha256)
    return Value(old.field, basis, {**old.known, basis: this}, old.log, old.sha256)


# ---------------------------------------------------------------- the checks
def refuse(where: str, must: str, got: object, hint: str = "") -> InputError:
    """The one sentence of a refusal (a hint may follow); `got` is shown as it is when it is text, else by its repr."""
    text = got if isinstance(got, str) else repr(got)
    text = text if len(text) < 80 else text[:77] + "..."
    return InputError(f"Input {where} must be {must}; instead received {text}.{hint}")


def _word(e: Entry, raw: Any, where: str) -> Known:
    if e.kind == "switch":
        if not isinstance(raw, bool):
            raise refuse(where, "true or false, without quotes", repr(raw))
    elif not isinstance(raw, str):
        raise refuse(where, "text in quotes", raw)
    elif e.choices and raw not in e.choices:
        raise refuse(where, " or ".join(f'"{c}"' for c in e.choices), repr(raw), nearest(raw, e.choices))
    return Known(raw)


def _count(e: Entry, raw: Any, where: str) -> int:
    must = f"a whole number from 1 up, like {math.isqrt(int((e.low or 1) * (e.high or 1)))}"
    try:
        got = read(raw, e, where) if isinstance(raw, str) else None
        number = got.value if got else si(raw, e, where)
    except InputError:
        raise refuse(where, must, repr(raw)) from None
    if number != math.floor(number) or number < 1 or number > 1e6 or (got and got.spread is not None):
        raise refuse(where, must, repr(raw))
    return int(number)


def _check(e: Entry, this: Known, raw: Any, where: str) -> None:
    told = repr(raw) if isinstance(raw, str | int | float) else str(raw)
    if not math.isfinite(this.value):
        raise refuse(where, "a finite number", told)
    if this.value < 0 or (e.positive and this.value == 0):
        zero = "absolute zero" if e.family == "temperature" else "zero"
        raise refuse(where, f"above {zero}" if e.positive else f"{zero} or more", told)
    if e.ceiling is not None and this.value > e.ceiling:
        slip = e.ceiling == 1 and not isinstance(raw, str) and this.value <= 100
        raise refuse(where, f"at most {write(e.ceiling, e)}", told, f' Percent is written "{told} %".' if slip else "")
