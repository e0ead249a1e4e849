"""One value of a vehicle: what is known of it (assumed, designed, measured), which of these is used, and its checks."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from evlab.glossary import SPELLINGS, Entry, entry, nearest
from evlab.units import InputError, heed, read, si, write
from evlab.wires import metric

__all__ = [
    "BASES", "Known", "Value", "adopted", "changed", "known", "plain_basis", "refuse", "rows_found", "shown", "with_enamel",
    "with_known",
]

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
        must = f'a number and its unit in quotes, like "{raw if abs(raw) < 1e6 else 1:g} {spelling}" (units: {units})'
        raise refuse(where, must, f"{raw!r}, without a unit")
    if isinstance(raw, str):
        got = heed(read(raw, e, where), where)
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
    least = 0 if e.low == 0 else 1
    must = f"a whole number from {least} up, like {math.isqrt(int((e.low or 1) * (e.high or 1)))}"
    try:
        got = read(raw, e, where) if isinstance(raw, str) else None
        number = got.value if got else si(raw, e, where)
    except InputError:
        raise refuse(where, must, repr(raw)) from None
    if number != math.floor(number) or number < least or number > 1e6 or (got and got.spread is not None):
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


# ---------------------------------------------------------------- another value
def changed(old: Value, raw: Any) -> Value:
    """The value with another plain value, number, text or Quantity; see Vehicle.change."""
    e = old.entry
    this = known(e, raw, f"{e.short} of [{e.table}]", numbers_are_si=True)
    basis = plain_basis(e)
    before = old.known.get(basis)
    if before is not None and before.spread is not None and this.spread is None and not isinstance(raw, str):
        this = replace(this, spread=before.spread * (this.value / before.value if before.value else 1.0))
    if not old.log and len(old.known) == 1 and old.basis in (basis, "assumed"):
        unit = old.known[old.basis].unit if this.unit is None else this.unit
        return Value(old.field, basis, {basis: replace(this, unit=unit)})
    return with_known(old, basis, this)


WIRE, ENAMEL = "motor.winding.wire_diameter", "motor.winding.wire_overall"


def with_enamel(now: Mapping[str, Value], given: Mapping[str, Any], before: Mapping[str, Value]) -> dict[str, Value]:
    """The values with the enamel that goes with another bare diameter, where the enamel was not given with it."""
    made = dict(now)
    if WIRE in given and ENAMEL not in given and made[WIRE].value != before[WIRE].value:
        made[ENAMEL] = _enamel_of(made[ENAMEL], made[WIRE].value)
    return made


def _enamel_of(old: Value, bare: float) -> Value:
    """The diameter over the enamel for another bare diameter [m]: by the table of grade 2, assumed until it is measured.

    Nothing stated (0) stays so: the table is asked where the wire is used.  A measured value is kept beside, not in use.
    """
    if not old.value:
        return old
    try:
        over = metric(bare).overall
    except InputError:
        over = 0.0  # no such row: refused in words where the wire is used
    measured = {basis: this for basis, this in old.known.items() if basis == "measured"}
    return Value(old.field, "assumed", {**measured, "assumed": Known(over, unit=old.known[old.basis].unit)}, old.log, old.sha256)


def rows_found(found: Any) -> dict[str, tuple[Any, Any, str]]:
    """{field: (value, spread, log)} of what was found, in whichever dress it comes."""
    if hasattr(found, "table"):
        frame = found.table()
        log = str(getattr(found, "log", "") or "")
        return {str(name): (row["value"], row["sd"], log) for name, row in frame.iterrows()}
    if not isinstance(found, Mapping):
        raise refuse("found of adopt", "{field: (value, spread)}", type(found).__name__)
    rows = {}
    for name, row in found.items():
        parts = tuple(row) if isinstance(row, tuple | list) else (row,)
        if not 1 <= len(parts) <= 3:
            raise refuse(f"{name} of adopt", "(value, spread) or (value, spread, log)", row)
        value, spread, log = (*parts, None, "")[:3] if len(parts) == 1 else (*parts, "")[:3]
        rows[str(name)] = (value, spread, str(log or ""))
    return rows


def adopted(old: Value, value: Any, spread: Any, log: str, basis: str) -> Value:
    """The value with what was measured or designed, beside what else is known; `log` is the file it comes from."""
    e = old.entry
    if e.kind not in ("chosen", "found"):
        raise refuse(f"{e.name} of adopt", "a quantity that can be measured", repr(value))
    this = known(e, value, f"{e.short} of [{e.table}], {basis},", numbers_are_si=True)
    if spread is not None and not (isinstance(spread, float) and math.isnan(spread)):
        this = replace(this, spread=_spread(e, spread))
    file = Path(log) if log else None
    mark = hashlib.sha256(file.read_bytes()).hexdigest() if file is not None and file.is_file() else ""
    return with_known(old, basis, this, log=log, sha256=mark)


def _spread(e: Entry, spread: Any) -> float:
    """A spread in SI: a number, or text such as '6 F' (a step, so '2 degC' is 2 K)."""
    if isinstance(spread, str):
        parts = spread.split(maxsplit=1) or [""]
        unit = parts[1] if len(parts) > 1 else ""
        return float(read(f"0 +/- {parts[0]} {unit}", e, f"spread of {e.name}").spread or 0.0)
    try:
        number = float(spread)
    except (TypeError, ValueError, OverflowError):
        raise refuse(f"spread of {e.name}", "a number or text with its unit, like '6 F'", spread) from None
    if not math.isfinite(number) or number < 0:
        raise refuse(f"spread of {e.name}", "zero or more", spread)
    return number
