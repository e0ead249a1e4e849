"""What the axes of the store's pictures cover: taken from the vehicle, widened only when a result leaves them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import Any

from evlab.plots.ranges import Span, highest_volts, stop_volts, usable_energy


@dataclass(frozen=True)
class StoreRanges:
    """Low and high ends of the axes on the page of the store, in SI.

    time [s] and energy [J] of a discharge, volts [V] and amps [A] at the terminals, cell [V] of one cell, days of a
    float, power [W] of the energy-power plane.
    """

    time: float
    volts: Span
    amps: Span
    energy: float
    cell: Span
    days: float
    power: Span

    @classmethod
    def around(cls, vehicle: Any, power: float = 600.0) -> StoreRanges:
        """Ranges for this vehicle's store while about so much power [W] is taken from it."""
        usable = usable_energy(vehicle)
        usable = usable if 0 < usable < math.inf else 60.0 * power
        amps = max(vehicle.controller.store_current_limit, power / max(stop_volts(vehicle), 1.0))
        return cls(time=rounded(1.4 * usable / power), volts=(0.0, highest_volts(vehicle.store)), amps=(0.0, 1.2 * amps),
                   energy=1.1 * usable, cell=(0.0, 1.1 * max(cell_limits(vehicle.store).values(), default=1.0)),
                   days=30.0, power=(10.0, 1e5))  # fmt: skip

    def widened(self, case: Any) -> StoreRanges:
        """The same ranges while every discharge lies inside; else what must be is a quarter wider than the curve."""
        runs, store = case.discharges, case.vehicle.store
        return grown(self, time=max(d.duration for d in runs), amps=max(float(max(d.amps)) for d in runs),
                     volts=max(float(max(d.volts)) for d in runs), energy=max(d.used for d in runs),
                     cell=1.15 * store.full_voltage / getattr(store, "cells_in_series", 1))  # fmt: skip


@dataclass(frozen=True)
class ChargeRanges:
    """Low and high ends of the axes on the page of charging, in SI.

    time [s], volts [V] at the terminals, amps [A] of charger and source, power [W] into the store, energy [J] from the
    source, cell [V] of one cell.
    """

    time: float
    volts: Span
    amps: Span
    power: Span
    energy: float
    cell: Span

    @classmethod
    def around(cls, vehicle: Any) -> ChargeRanges:
        """Ranges for charging this vehicle's store with its charger from the stop volts until it is full."""
        store, charger = vehicle.store, vehicle.charger
        usable = usable_energy(vehicle)
        usable = usable if 0 < usable < math.inf else 1.0
        full, empty = store.charge_voltage, stop_volts(vehicle)
        if charger.kind == "resistor":
            ohms = charger.series_resistance + charger.cable_resistance + charger.source_resistance
            amps = power_amps = max(charger.source_voltage - empty, 1.0) / ohms
            power, efficiency = charger.source_voltage**2 / (4 * ohms), (full + empty) / 2 / charger.source_voltage
            mean = power / 2
        else:
            power = mean = min(charger.power_limit, full * charger.current_limit)
            efficiency, amps = charger.efficiency, charger.current_limit
            power_amps = min(power / efficiency / charger.source_voltage, charger.source_current_limit)
            mean *= 0.5 * (1 + empty / full) if power < charger.power_limit else 1.0
        limits = cell_limits(store)
        cell = (0.5 * min(limits.values(), default=0.0), 1.08 * max(limits.values(), default=1.0))
        return cls(time=rounded(1.3 * usable / mean), volts=(0.0, highest_volts(store)), amps=(0.0, 1.25 * max(amps, power_amps)),
                   power=(0.0, 1.25 * power), energy=1.3 * usable / efficiency, cell=cell)  # fmt: skip

    def widened(self, result: Any) -> ChargeRanges:
        """The same ranges while every curve lies inside; else what must be is a quarter wider than the curve."""
        top = {n: float(result.column(n).max()) for n in ("store_volts", "charging_amps", "source_amps", "charging_power")}
        return grown(self, time=result.duration, volts=top["store_volts"], power=top["charging_power"],
                     amps=max(top["charging_amps"], top["source_amps"]), energy=result.ledger["source"],
                     cell=float(result.column("worst_cell_volts").max()))  # fmt: skip


def cell_limits(store: Any) -> dict[str, float]:
    """What one cell may bear, by its name [V]."""
    if store.kind == "capacitors":
        return {"rated": float(store.cell_rated_voltage), "surge": float(store.cell_surge_voltage)}
    return {"full": float(store.charge_voltage / store.cells_in_series)} if store.kind == "lithium" else {}


def rounded(value: float) -> float:
    """A round number near this one."""
    return float(f"{value:.2g}")


def grown(ranges: Any, **reached: Any) -> Any:
    """Ranges whose upper ends hold what was reached; where a span (low, high) was reached, the lower ends, too."""
    changed: dict[str, Any] = {}
    for name, value in reached.items():
        span = getattr(ranges, name)
        low, high = span if isinstance(span, tuple) else (None, span)
        least, most = value if isinstance(value, tuple) else (low, value)
        if most > high or (low is not None and least < low):
            top = rounded(1.25 * most) if most > high else high
            changed[name] = top if low is None else (low if least >= low else rounded(least - 0.25 * abs(least)), top)
    return dataclasses.replace(ranges, **changed) if changed else ranges
