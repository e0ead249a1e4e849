"""The stores as a charger sees them.

A bank is two groups of cells in series, the smallest cell and all others, each with its branches, leakage, bleeder and clamp;
together they keep the capacitance that the file states.  A pack is one cell, many times.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from evlab.lithium import pack_inside, pack_ohms, pack_slope, pack_stored
from evlab.store import bank_charge, bank_slope, bank_stored

__all__ = ["SIDES"]

RAMP = 0.01  # V: a clamp draws its whole current so far above its volts
OVER_FULL = 0.05  # V above full at which a protection board switches a lithium cell off (common practice)


class _Bank:
    """A capacitor bank as its smallest cell and the others.  State: three branch volts of each, of one cell."""

    def __init__(self, store: Any, temperature: float) -> None:
        self.store, n, t = store, store.cells_in_series, store.cell_tolerance if store.cells_in_series > 1 else 0.0
        mean = (1 / (1 - t) + (n - 1) / (1 + t)) / n  # the string keeps the capacitance that the file states
        self.parts = ((1, mean * (1 - t)), (n - 1, mean * (1 + t)))
        whole = store.parameters(temperature)
        cell = whole * np.array([n, n * n, n, 1 / n, n, 1 / n, 0.0])
        self.p = [cell * np.array([f, f, f, 1 / f, f, 1 / f, 0.0]) for _, f in self.parts]
        self.ohm = float(whole[6])
        leak = store.cell_leakage / store.cell_rated_voltage if store.cell_leakage else 0.0
        bleed = 1 / store.bleed_resistance if store.bleed_resistance else 0.0
        self.siemens = leak * store.strings_in_parallel + bleed
        self.rated, self.limit = store.cell_rated_voltage, store.cell_surge_voltage
        self.work, self.whole = np.zeros(5), [float(v) for v in store.parameters()]
        self.full = bank_charge(store.full_state(), self.whole)

    def split(self, state: Any) -> Any:
        """The cells' volts of a bank charged from empty: the same charge in every cell."""
        n = self.store.cells_in_series
        return np.concatenate([np.asarray(state, float) / (n * f) for _, f in self.parts])

    def join(self, x: Any) -> Any:
        return x[:3] + self.parts[1][0] * x[3:6]

    def inside(self, x: Any) -> float:
        return float(x[0] + self.parts[1][0] * x[3])

    def resistance(self, x: Any) -> float:
        return self.ohm

    def slopes(self, x: Any, amps: float) -> tuple[list[float], list[float]]:
        """Rates of the state while amps flow in, and the losses slow branch, leakage, clamps [W]."""
        rates: list[float] = []
        slow = leakage = clamps = 0.0
        for k, (count, _) in enumerate(self.parts):
            volts = x[3 * k]
            leak, clamp = volts * self.siemens, self._clamp(volts)
            bank_slope(x[3 * k:3 * k + 3], self.p[k], leak + clamp - amps, self.work)
            rates += [float(r) for r in self.work[:3]]
            slow += count * float(self.work[4])
            leakage, clamps = leakage + count * leak * volts, clamps + count * clamp * volts
        return rates, [slow, leakage, clamps]

    def _clamp(self, volts: float) -> float:
        over = (volts - self.store.clamp_voltage) / RAMP
        return float(self.store.clamp_current * min(max(over, 0.0), 1.0))

    def stored(self, x: Any) -> float:
        return sum(count * float(bank_stored(x[3 * k:3 * k + 3], self.p[k]))
                   for k, (count, _) in enumerate(self.parts))

    def cells(self, x: Any, volts: float) -> tuple[float, float]:
        """Volts of the fullest cell and of the mean one."""
        return float(max(x[0], x[3]) if self.parts[1][0] else x[0]), self.inside(x) / self.store.cells_in_series

    def share(self, x: Any) -> float:
        return bank_charge(self.join(x), self.whole) / self.full

    def pace(self, x: Any, rates: Any, amps: float, stop: float) -> float:
        """Share of what is left to do that is done in a second at the present rate."""
        left = stop - self.inside(x) - amps * self.ohm
        return float((rates[0] + self.parts[1][0] * rates[3]) / left) if left > 0 else 1.0


class _Pack:
    """A lithium pack.  State: state of charge, volts of the slow branch."""

    def __init__(self, store: Any, temperature: float) -> None:
        self.store, self.p, self.work = store, store.parameters(temperature), np.zeros(4)
        full = store.charge_voltage / store.cells_in_series
        self.rated, self.limit = full + 1e-6, full + OVER_FULL

    def split(self, state: Any) -> Any:
        return np.asarray(state, float)

    join = split

    def inside(self, x: Any) -> float:
        return float(pack_inside(x, self.p))

    def resistance(self, x: Any) -> float:
        return float(pack_ohms(x, self.p))

    def slopes(self, x: Any, amps: float) -> tuple[list[float], list[float]]:
        pack_slope(x, self.p, -amps, self.work)
        return [float(r) for r in self.work[:2]], [float(self.work[3]), 0.0, 0.0]

    def stored(self, x: Any) -> float:
        return float(pack_stored(x, self.p))

    def cells(self, x: Any, volts: float) -> tuple[float, float]:
        return volts / self.store.cells_in_series, volts / self.store.cells_in_series

    def share(self, x: Any) -> float:
        return float(x[0])

    def pace(self, x: Any, rates: Any, amps: float, stop: float) -> float:
        return float(rates[0] / (1 - x[0])) if x[0] < 1 else 1.0


SIDES: dict[str, Any] = {"capacitors": _Bank, "lithium": _Pack}
