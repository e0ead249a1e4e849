"""Emptying a bank before work on it: a resistor that can be bought, what it takes at first, and how long it needs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from evlab.store import resistor_time

__all__ = ["HEAT", "LEFT", "RATING", "Emptier", "emptier", "heat_at_first"]

E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)  # preferred values of IEC 60063, from memory
RATING = 100.0  # W: a large wire-wound resistor in a metal case, as shops have it (common practice)
HEAT = RATING / 2  # W: what it bears for long on a small piece of metal (common practice)
LEFT = 1.0  # V: no danger to hands or to a short (common practice)


@dataclass(frozen=True)
class Emptier:
    """A resistor across the posts: `ohms`; `watts` it takes at first; `seconds` from charged to LEFT volts; `joules` of it."""

    ohms: float
    watts: float
    seconds: float
    joules: float

    @property
    def words(self) -> str:
        """What to buy and how long to wait."""
        wait = f"{self.seconds / 60:.0f} min" if self.seconds >= 120 else f"{self.seconds:.0f} s"
        return (f"{self.ohms:g} Ω made for {RATING:.0f} W, screwed to metal: it takes {self.watts:.0f} W at first, and {wait} "
                f"until {LEFT:g} V is left; {1e-3 * self.joules:.3g} kJ turn to heat")


def heat_at_first(volts: float, load: float, ohm: float) -> float:
    """Watts in a resistor of `load` [ohm] in the first instant, across a store of these volts and this resistance [ohm]."""
    return load * (volts / (load + ohm)) ** 2


def emptier(store: Any) -> Emptier | None:
    """The smallest resistor of the series E12 that a RATING bears in half; None of a store that cannot be emptied for work."""
    if store.kind != "capacitors" or store.full_voltage <= LEFT:
        return None
    volts, ohm = store.full_voltage, store.resistance
    ohms = _preferred(volts**2 / HEAT)
    seconds = float(resistor_time(capacitance=store.capacitance, load_resistance=ohms, store_resistance=ohm, first_voltage=volts,
                                  last_voltage=LEFT))
    return Emptier(ohms, heat_at_first(volts, ohms, ohm), seconds, 0.5 * store.capacitance * volts**2)


def _preferred(least: float) -> float:
    """The next value of E12, not below this."""
    power = 10.0 ** math.floor(math.log10(least) - 1)
    return next(float(f"{step * power * ten:.6g}") for ten in (1, 10) for step in E12 if step * power * ten >= least * (1 - 1e-9))
