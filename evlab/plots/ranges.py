"""What the axes of a live picture cover: taken from vehicle and route, never from the ride, so they stand still.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.look import fixed

GRAVITY = 9.80665
Span = tuple[float, float]


@dataclass(frozen=True)
class Ranges:
    """Low and high end of each axis, in SI.

    speed [m/s], volts [V] at the store's terminals, amps [A] of motor and store, coil [K] coil temperature,
    energy [J] the most that a ride may draw.  Widen one with ``dataclasses.replace``.
    """

    speed: Span
    volts: Span
    amps: Span
    coil: Span
    energy: float

    @classmethod
    def around(cls, vehicle: Any, route: Any) -> Ranges:
        """Ranges that hold this vehicle on this route at any wind, load and start voltage its limits allow."""
        controller, store = vehicle.controller, vehicle.store
        top = max((speed for _, speed in route.limits), default=5.0)
        through = 0.0 if vehicle.converter.kind == "none" else vehicle.converter.current_limit
        air = vehicle.road.air_temperature
        return cls(
            speed=(0.0, 1.35 * top),
            volts=(0.0, highest_volts(store)),
            amps=(-1.3 * controller.braking_current_limit, 1.2 * max(controller.coil_current_limit, through)),
            coil=(air - 15.0, max(vehicle.motor.temperature_limit, air) + 15.0),
            energy=_most(vehicle, route),
        )


def highest_volts(store: Any) -> float:
    """What the axis of the store's volts must hold [V]: every cell at its surge limit, or a little over full."""
    if store.kind == "capacitors":
        return float(store.cells_in_series * store.cell_surge_voltage)
    return float(1.05 * store.charge_voltage if store.kind == "lithium" else 1.2 * store.full_voltage)


def stop_volts(vehicle: Any) -> float:
    """Volts at the store's terminals below which the drive stops: the converter's, where there is one [V]."""
    return float(vehicle.converter.stops_at(vehicle.controller.stop_voltage))


def usable_energy(vehicle: Any) -> float:
    """Energy from full down to the stop volts (of a pack: down to empty), at rest [J]; endless from a supply."""
    store = vehicle.store
    if store.kind == "supply":
        return math.inf
    left = store.energy(store.state_at(stop_volts(vehicle))) if store.kind == "capacitors" else 0.0
    return float(store.energy(store.full_state()) - left)


def _most(vehicle: Any, route: Any) -> float:
    """The store's energy down to its stop voltage, or a high guess of what the road asks, whichever is less [J]."""
    climbs = np.diff(route.heights)
    road = vehicle.mass * GRAVITY * (0.1 * route.length + float(climbs[climbs > 0].sum()) * 2)
    return min(road, usable_energy(vehicle))


def few_ticks(low: float, high: float, most: int) -> list[float]:
    """At most so many round numbers inside low..high, zero among them when it lies inside."""
    if not high > low:
        return [low]
    step = 10.0 ** math.floor(math.log10((high - low) / 10))
    for factor in (1, 2, 3, 5, 10, 20, 30, 50, 100):
        ticks = _multiples(low, high, step * factor)
        if len(ticks) <= most:
            return ticks or [low]
    return [low]


def _multiples(low: float, high: float, step: float) -> list[float]:
    slack = 1e-9 * step
    return [i * step + 0.0 for i in range(math.ceil((low - slack) / step), math.floor((high + slack) / step) + 1)]


def tick_words(ticks: Sequence[float]) -> list[str]:
    """The same number of decimals for all ticks of one axis."""
    places = next((p for p in range(4) if all(abs(round(t, p) - t) < 1e-9 * max(1.0, abs(t)) for t in ticks)), 4)
    return [fixed(t, places) for t in ticks]


def thinned(x: Any, y: Any, columns: int = 1200) -> tuple[Any, Any]:
    """A long curve with only the lowest and the highest point of every column of pixels; short ones pass unchanged."""
    if len(x) <= 4 * columns:
        return x, y
    edges = np.linspace(0, len(x), columns + 1).astype(int)
    keep = {0, len(x) - 1}
    for a, b in itertools.pairwise(edges):
        keep |= {a + int(np.argmin(y[a:b])), a + int(np.argmax(y[a:b]))}
    order = sorted(keep)
    return x[order], y[order]
