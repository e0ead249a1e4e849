"""A store on a bench: emptied at a constant power, a constant current or through a resistor, by the seams of the ride.

The closed forms of `store` hold for a linear capacitor; this holds for any store, and is their second route.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from evlab.glossary import entry
from evlab.starting import started
from evlab.units import InputError, si

__all__ = ["Discharge", "discharge"]

ROWS = 200
LOADS = {"power": ("constant power", "store_power"), "current": ("constant current", "store_current"),
         "resistance": ("resistor", "load_resistance")}


@dataclass(frozen=True)
class Discharge:
    """What a discharge came to: arrays over its time [s]; what became of the energy that was stored at first [J].

    `ended`: "stop volts", "collapse" (a power that cannot be had any more), "empty" or "time limit".
    """

    name: str
    load: float
    times: Any
    volts: Any
    open_volts: Any
    amps: Any
    energy: Any
    ended: str
    used: float
    esr: float
    slow_branch: float
    left: float
    stored: float

    @property
    def duration(self) -> float:
        return float(self.times[-1])

    @property
    def closure(self) -> float:
        """What is not accounted for [J]."""
        return self.stored - self.used - self.esr - self.slow_branch - self.left


def discharge(store: Any, *, power: float | str | None = None, current: float | str | None = None,
              resistance: float | str | None = None, start: Any = None, stop: float | str = 0.0,
              temperature: float = 293.15, time_limit: float = 1e7) -> Discharge:
    """Empty a store through one load.

    Parameters: `store`, a bank or a pack; one of `power` [W], `current` [A] and `resistance` [ohm]; `start`, a state of the
    store, volts, "20 V" or "80 %", by default charged; `stop`, volts at the terminals at which it ends; `temperature` of the
    cells [K]; `time_limit` [s].  Returns a Discharge.  Raises InputError in words.
    """
    if not hasattr(store, "seam"):
        got = "the whole vehicle" if hasattr(store, "store") else repr(store)
        raise InputError(f"Input store of discharge must be the store of a vehicle, vehicle.store; instead received {got}.")
    if store.kind == "supply":
        raise InputError("Input store of discharge must be a bank or a pack; instead received a supply, which never empties.")
    given = {"power": power, "current": current, "resistance": resistance}
    kinds = [kind for kind, value in given.items() if value is not None]
    if len(kinds) != 1:
        raise InputError("Input load of discharge must be one of power, current and resistance; "
                         f"instead received {len(kinds)} of them.")
    name, quantity = LOADS[kinds[0]]
    load = si(given[kinds[0]], entry(quantity), f"{kinds[0]} of discharge")
    last = si(stop, entry("last_voltage"), "stop of discharge")
    if not 0 < load < math.inf:
        raise InputError(f"Input {kinds[0]} of discharge must be above zero; instead received {given[kinds[0]]}.")
    if not (last >= 0 and 0 < time_limit < math.inf):
        raise InputError("Input stop of discharge must be zero volts or more, and time_limit above zero seconds; instead received "
                         f"{stop} and {time_limit}.")
    bench = _Bench(store, kinds[0], load, last, si(temperature, entry("road.air_temperature"), "temperature of discharge"))
    first = start if np.shape(start) == np.shape(store.full_state()) else started(store, start, "discharge")
    first = np.asarray(first, float)
    begins = bench.store.inside(first, bench.p)[0]
    if last >= begins:
        raise InputError(f"Input stop of discharge must be below the {begins:.4g} V at which it begins; "
                         f"instead received {last:g} V.")
    return bench.run(name, first, time_limit)


class _Bench:
    """State: the store's, then esr, slow branch and delivered energy."""

    def __init__(self, store: Any, kind: str, load: float, stop: float, temperature: float) -> None:
        self.store, self.kind, self.load, self.stop = store, kind, load, stop
        self.p, (self.terminal, self.slope, self.stored) = store.parameters(temperature), store.seam
        self.size = len(store.full_state())
        self.out = np.zeros(self.size + 2)

    def at(self, y: Any) -> tuple[float, float]:
        """Volts at the terminals and amps."""
        if self.kind == "power":
            volts, amps = self.terminal(y[:self.size], self.p, self.load)
            return float(volts), float(amps)
        inside, ohm = self.store.inside(y[:self.size], self.p)
        amps = self.load if self.kind == "current" else inside / (ohm + self.load)
        return inside - amps * ohm, amps

    def slopes(self, _: float, y: Any) -> Any:
        volts, amps = self.at(y)
        if volts != volts:  # the solver looks past the end: hold it there
            return np.zeros(len(y))
        self.slope(y[:self.size], self.p, amps, self.out)
        return [*self.out, volts * amps]

    def collapse(self, _: float, y: Any) -> float:
        inside, ohm = self.store.inside(y[:self.size], self.p)
        return inside - 2 * math.sqrt(ohm * self.load) if self.kind == "power" else 1.0

    def above_stop(self, _: float, y: Any) -> float:
        volts = self.at(y)[0]
        if volts != volts:  # past collapse, where half of the inner volts were left: no jump, or it would look like the stop
            volts = self.store.inside(y[:self.size], self.p)[0] / 2
        return volts - self.stop

    def not_empty(self, _: float, y: Any) -> float:
        return float(y[0]) - 1e-6

    def run(self, name: str, first: Any, limit: float) -> Discharge:
        from scipy.integrate import solve_ivp

        watches = {"collapse": self.collapse, "stop volts": self.above_stop, "empty": self.not_empty}
        y0, held = np.concatenate([first, np.zeros(3)]), float(self.stored(first, self.p))
        events: list[Any] = [partial(watch) for watch in watches.values()]
        for event in events:
            event.terminal, event.direction = True, -1.0
        ended = next((k for k, watch in watches.items() if watch(0.0, y0) <= 0), "")
        if ended:
            return self._told(name, np.zeros(1), y0.reshape(1, -1), ended, held)
        done: Any = solve_ivp(self.slopes, (0.0, limit), y0, method="LSODA", rtol=1e-9, atol=1e-9,
                              first_step=min(1e-3, limit), dense_output=True, events=events)
        ended = next((k for k, at in zip(watches, done.t_events, strict=True) if len(at)), "time limit")
        times = np.linspace(0.0, done.t[-1], ROWS)
        return self._told(name, times, np.vstack([y0, done.sol(times[1:-1]).T, done.y[:, -1]]), ended, held)

    def _told(self, name: str, times: Any, y: Any, ended: str, held: float) -> Discharge:
        y = np.ascontiguousarray(y)
        volts, amps = np.array([self.at(row) for row in y]).T
        inside = np.array([self.store.inside(row[:self.size], self.p)[0] for row in y])
        gone = np.isnan(volts)  # at the very point of collapse half of the volts are left
        volts, amps = np.where(gone, inside / 2, volts), np.where(gone, 2 * self.load / np.maximum(inside, 1e-9), amps)
        n = self.size
        return Discharge(name, self.load, times, volts, inside, amps, y[:, n + 2], ended, float(y[-1, n + 2]), float(y[-1, n]),
                         float(y[-1, n + 1]), float(self.stored(y[-1, :n], self.p)), held)
