"""A bench supply as a store: fixed volts behind a resistance.  It proves the seam to the loop, and it never empties."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from evlab.kernels import kernel
from evlab.store import store_loss, voltage_under_power

__all__ = ["Supply"]

_under_power, _heat = voltage_under_power.kernel, store_loss.kernel


# the seam: state (charge given), parameters (volts, resistance)
@kernel("terminal")
def supply_terminal(x, p, power):  # type: ignore[no-untyped-def]
    if p[0] * p[0] < 4.0 * p[1] * power:
        return np.nan, np.nan
    volts = _under_power(p[0], p[1], power)
    return volts, power / volts


@kernel("store slope")
def supply_slope(x, p, amps, out):  # type: ignore[no-untyped-def]
    out[0] = amps
    out[1] = _heat(amps, p[1])
    out[2] = 0.0


@kernel("stored")
def supply_stored(x, p):  # type: ignore[no-untyped-def]
    return -p[0] * x[0]


@dataclass(frozen=True)
class Supply:
    """Fixed volts behind a resistance: a bench supply.  It never empties.  Units as in the glossary, SI."""

    voltage: float
    resistance: float
    mass: float = 0.0

    kind: ClassVar[str] = "supply"
    seam: ClassVar[tuple[Any, ...]] = (supply_terminal, supply_slope, supply_stored)

    @property
    def full_voltage(self) -> float:
        return self.voltage

    def together(self, state: Any, parameters: Any, settled: float) -> Any:
        """The state: nothing of it settles."""
        return np.array(state, float)

    def longest_step(self, parameters: Any) -> float:
        """The longest step [s] in which its states are followed: any."""
        return math.inf

    def parameters(self, temperature: float = 293.15, settled: float = 0.0) -> Any:
        """The flat array of the seam; a supply stands in a warm room, and has no branch that settles."""
        return np.array([self.voltage, self.resistance])

    def full_state(self) -> Any:
        """The only state a supply has; its volts are its own."""
        return np.zeros(1)

    def inside(self, state: Any, parameters: Any) -> tuple[float, float]:
        """Volts inside and the ohms before the terminals."""
        return self.voltage, self.resistance

    def energy(self, state: Any) -> float:
        """Minus what it has given [J]: it has no end."""
        return float(supply_stored(np.asarray(state, float), self.parameters()))

    def state_at(self, volts: float) -> Any:
        """The only state a supply has; its volts are its own."""
        return np.zeros(1)

    def open_voltage(self, state: Any) -> float:
        return self.voltage

    def rested_voltage(self, state: Any) -> float:
        return self.voltage

    def rested_after(self, state: Any, seconds: float) -> float:
        return self.voltage
