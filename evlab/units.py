"""The one pint registry, the text grammar for a maker's values, and the named conversions of turning speeds.

Inside the package values are SI floats.  A maker's text has its own small grammar and never meets pint's expression
parser, which reads "0,8 mm" as 0 mm, "1 000 F" as 0 F and "45 a" as years without a word.
"""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from evlab.glossary import SPELLINGS, Entry

if TYPE_CHECKING:
    import pint

__all__ = [
    "InputError", "Reading", "electrical_to_mechanical", "heed", "hz_to_rad_s", "listed", "made_by", "mechanical_to_electrical",
    "one_of", "quantity", "rad_s_to_hz", "rad_s_to_rpm", "read", "registry", "rpm_to_rad_s", "si", "si_array", "to_shown", "told",
    "write",
]


class InputError(ValueError):
    """A value of a maker's that cannot be used; the message says what, where, and what would be right."""


@dataclass(frozen=True)
class Reading:
    """What a text said: value and spread [SI unit of its entry], and the spelling of the unit.

    `note` says how a number was read that some would read otherwise (1,250 and 1.250: one and a quarter), else "".
    """

    value: float
    spread: float | None
    unit: str
    note: str = ""


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry:
    """The one registry of the package (made at first use: pint takes a tenth of a second)."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=1024)
def _scale(unit: str, si_unit: str) -> tuple[float, float]:
    """(factor, offset) with si = factor * x + offset, asked of pint once."""
    q = registry().Quantity
    zero, one = (float(q(x, unit).to(si_unit or "dimensionless").magnitude) for x in (0.0, 1.0))
    if zero == 0.0:
        return one, 0.0
    factor = float(q(1.0, f"delta_{unit}").to(si_unit).magnitude)  # degC: take the step, not a difference of big numbers
    return factor, zero


def _to_si(x: float, unit: str, si_unit: str) -> float:
    """x in `unit` as an SI float; a divisor is divided by, so that 95 % is 0.95 and not 0.9500000000000001."""
    factor, offset = _scale(unit, si_unit)
    divisor = round(1.0 / factor) if factor < 1.0 else 0
    if divisor and math.isclose(divisor * factor, 1.0, rel_tol=1e-12):
        return x / divisor + offset
    return x * factor + offset


# ---------------------------------------------------------------- text
_NUMBER = r"[+\-\u2212]?[0-9]+(?:[.,][0-9]+)?(?:[eE][+\-\u2212]?[0-9]+)?"
_UNIT = r"(?:1/)?[^0-9+±\s](?:[^+±]*[^+±\s])?"  # a spelling: begins with no other digit, holds no plus sign
_TEXT = re.compile(rf"\s*({_NUMBER})\s*({_UNIT})?\s*(?:(?:\+/-|±)\s*({_NUMBER})\s*({_UNIT})?\s*)?")
_THOUSANDS = re.compile(r"[+\-\u2212]?[1-9][0-9]{0,2}[.,][0-9]{3}")


def told(got: object) -> str:
    """Anything as one short line for a message; text in quotation marks."""
    said = got if isinstance(got, str) else str(got)
    line = " ".join(said.split()) if "\n" in said else said
    line = line if len(line) < 80 else f"{line[:77]}..."
    return repr(line) if isinstance(got, str) else line


def made_by(name: str, value: Any, sign: str, make: str) -> None:
    """Refuse in words what has not the `sign` of a thing that `make` makes."""
    if not hasattr(value, sign) or isinstance(value, type):
        raise InputError(f"Input {name} must be made by {make}; instead received {told(value)}.")


def one_of(name: str, value: Any, words: Iterable[str]) -> None:
    """Refuse what is not one of these words; an array or a list is none of them."""
    there = tuple(words)
    if not isinstance(value, str) or value not in there:
        must = " or ".join(there) if len(there) == 2 else f"one of {', '.join(there)}"
        raise InputError(f"Input {name} must be {must}; instead received {told(value)}.")


def listed(name: str, value: Any, like: str) -> list[Any]:
    """The items of a list, tuple or array; a text is none of these."""
    try:
        if isinstance(value, str | bytes | Mapping):
            raise TypeError
        return list(value)
    except TypeError:
        raise InputError(f"Input {name} must be a list, like {like}; instead received {told(value)}.") from None


def _refuse(what: str, must: str, got: object) -> InputError:
    return InputError(f"Input {what} must be {must}; instead received {told(got)}.")


def _number(text: str, what: str, got: str, must: str) -> float:
    return _finite(float(text.replace(",", ".").replace("\u2212", "-")), what, got, must)


def _finite(value: float, what: str, got: str, must: str) -> float:
    if not math.isfinite(value):
        raise _refuse(what, f"{must}, a finite number", got)
    return value


def _how_read(*numbers: str | None) -> str:
    """How numbers were read whose point or comma, before three figures, is a thousands sign to some."""
    said = [f"{n} was read as {n.replace(',', '.')} and not as {n.replace(',', '').replace('.', '')}"
            for n in numbers if n and _THOUSANDS.fullmatch(n)]
    return f"{', '.join(said)}: point and comma are both decimal signs here, and thousands take no sign." if said else ""


def heed(this: Reading, what: str) -> Reading:
    """The reading itself; a comma before three figures is warned of, since it is a thousands sign to many."""
    if "," in this.note.partition(" ")[0]:
        warnings.warn(f"Input {what}: {this.note}", stacklevel=3)
    return this


def read(text: str, e: Entry, where: str = "") -> Reading:
    """Read a maker's text for this glossary entry.

    The grammar: one number (decimal point or comma, exponent allowed; no thousands sign, arithmetic, nan or inf; so 1,250 and
    1.250 are both one and a quarter, and the note of the Reading says so), an
    optional `+/- number`, then one unit out of the entry's list (the unit may also stand before the +/-, or twice).

    Parameters: `text`; `e`, the entry that lists the units; `where`, added to the name in a message.
    Returns a Reading in the entry's SI unit.  Raises InputError in words for everything else.
    """
    what, must = where or e.name, _wanted(e)
    match = _TEXT.fullmatch(text)
    if not match:
        raise _refuse(what, must, text)
    first, second, unit = match[1], match[3], match[2] or match[4] or ""
    if unit not in SPELLINGS[e.family] or (match[4] or unit) != unit:
        raise _refuse(what, must, text)
    spelling, note = SPELLINGS[e.family][unit], _how_read(first, second)
    value = _finite(_to_si(_number(first, what, text, must), spelling, e.unit), what, text, must)
    if second is None:
        return Reading(value, None, unit, note)
    spread = _to_si(_number(second, what, text, must), spelling, e.unit) - _scale(spelling, e.unit)[1]
    spread = _finite(spread, what, text, must)
    if spread < 0:
        raise _refuse(what, "a number with a spread of zero or more behind the +/-", text)
    return Reading(value, spread, unit, note)


def _wanted(e: Entry) -> str:
    example = next(iter(SPELLINGS[e.family]))
    units = ", ".join(s for s in SPELLINGS[e.family] if s)
    if not example:
        like = "14" if e.family == "count" else "0.5"
        return f"one number without a unit{f' or in {units}' if units else ''}, like {like}"
    return f"one number and its unit, like '1.5 {example}' (units: {units})"


def write(value: float, e: Entry, spread: float | None = None, unit: str | None = None) -> str:
    """The text that reads back as this SI value: shortest digits that do, in `unit` (by default the shown one)."""
    spelling = e.shown if unit is None else unit
    if spelling not in SPELLINGS[e.family]:
        spelling = next(iter(SPELLINGS[e.family]))
    factor, offset = _scale(SPELLINGS[e.family][spelling], e.unit)
    text = _shortest((value - offset) / factor)
    if spread is not None:
        text += f" +/- {_shortest(spread / factor)}"
    return f"{text} {spelling}".rstrip()


def _shortest(x: float) -> str:
    for digits in range(6, 18):
        text = f"{x:.{digits}g}"
        if math.isclose(float(text), x, rel_tol=4e-16):
            return text
    return repr(x)


def to_shown(value: float, e: Entry) -> float:
    """An SI value in the unit that pages show."""
    factor, offset = _scale(SPELLINGS[e.family][e.shown], e.unit)
    return (value - offset) / factor


# ---------------------------------------------------------------- values of any dress
def si(value: Any, e: Entry, where: str = "") -> float:
    """The SI float of a number (SI already), a text with its unit, or a pint Quantity (dimension checked).

    Raises InputError in words for a bool, nan, infinity, an array, a wrong dimension, or a text outside the grammar.
    """
    what = where or e.name
    if isinstance(value, str):
        return heed(read(value, e, where), what).value
    if hasattr(value, "magnitude") and hasattr(value, "dimensionality"):
        value = _from_quantity(value, e, what)
    if isinstance(value, bool | type) or not hasattr(value, "__float__") or getattr(value, "shape", ()) != ():
        raise _refuse(what, _wanted(e), value)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise _refuse(what, _wanted(e) + ", a finite number", value)
    return number


_TURNS = ("hertz", "revolution", "turn", "cycle", "counts_per_second")
_ENERGIES = ("joule", "watt", "calorie", "electron_volt", "british_thermal_unit", "erg")


def _from_quantity(value: Any, e: Entry, what: str) -> Any:
    names = " ".join(str(u) for item in value.unit_items() for u in item[:1])  # with prefixes: kilojoule, kilohertz
    if e.family in ("turning speed", "torque slope", "rate") and any(word in names for word in _TURNS):
        raise _refuse(what, "in rad/s (convert by name: units.rpm_to_rad_s, units.hz_to_rad_s)", value)
    if (e.family == "torque" and any(word in names for word in _ENERGIES)) or (e.family == "energy" and "newton" in names):
        raise _refuse(what, "in N*m for a torque and in J for an energy: they look alike and are not", value)
    # Ask the registry that made the quantity, so that a learner's own registry works too.
    unit = e.unit or "dimensionless"
    if not value.check(value._REGISTRY.Unit(unit).dimensionality):
        raise _refuse(what, f"of the dimension of {unit}", value)
    return value.to(unit).magnitude


def si_array(value: Any, e: Entry, where: str = "") -> Any:
    """The same for an array, a list or a Quantity that holds one; nan may stand in it (a gap in a log)."""
    import numpy as np

    if hasattr(value, "magnitude") and hasattr(value, "dimensionality"):
        value = _from_quantity(value, e, where or e.name)
    try:
        return np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise _refuse(where or e.name, f"numbers in {e.unit or 'no unit'}", value) from None


def quantity(value: Any, e: Entry) -> Any:
    """A pint Quantity of an SI float, in the entry's SI unit."""
    return registry().Quantity(value, e.unit or "dimensionless")


# ---------------------------------------------------------------- turning speeds: by name only
def rpm_to_rad_s(rpm: float) -> float:
    """Revolutions per minute to radians per second."""
    return rpm * (2.0 * math.pi / 60.0)


def rad_s_to_rpm(speed: float) -> float:
    """Radians per second to revolutions per minute."""
    return speed * (60.0 / (2.0 * math.pi))


def hz_to_rad_s(frequency: float) -> float:
    """Turns (or periods) per second to radians per second."""
    return frequency * (2.0 * math.pi)


def rad_s_to_hz(speed: float) -> float:
    """Radians per second to turns (or periods) per second."""
    return speed / (2.0 * math.pi)


def mechanical_to_electrical(speed: float, pole_pairs: int) -> float:
    """Mechanical angle or speed to the electrical one: times the number of pole pairs (half the magnets of a rotor)."""
    return speed * _pairs(pole_pairs)


def electrical_to_mechanical(speed: float, pole_pairs: int) -> float:
    """Electrical angle or speed to the mechanical one."""
    return speed / _pairs(pole_pairs)


def _pairs(pole_pairs: Any) -> int:
    number = isinstance(pole_pairs, int | float) and not isinstance(pole_pairs, bool)
    if number and pole_pairs >= 1 and float(pole_pairs).is_integer():
        return int(pole_pairs)
    raise _refuse("pole_pairs", "a whole number from 1 up (half the magnets of one rotor)", pole_pairs)
