"""A store on a charger within a day of trips: one compiled run, for a bank or a pack taken as a whole.

It knows a store by the same two functions as the ride (terminal and slope), so its state goes on from ride to charge to ride.
Single cells, clamps, leakage and programmes are the matter of `charging`, against which a test holds it.
"""

# The types of kernels stand in kernels.SEAMS, where numba reads them.
# mypy: disable-error-code="no-untyped-def"
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.chargers import current_under_charging_power, source_current
from evlab.converter import input_power
from evlab.kernels import kernel
from evlab.trust import TOO_MANY, Booked
from evlab.units import InputError

__all__ = ["Refill", "refill", "rest"]

STEP = 0.5  # s; shorter where a branch of the store is quicker than ten of them
SETTLED = 0.1  # s: a branch that settles in less is taken as settled while it charges
LOCATED = 1e-9  # s
TAIL = 0.05  # of the current that fills a pack in an hour: there the stage of constant volts ends; common practice
ENDS = ("", "full", "source overloaded", "time over", TOO_MANY)
FULL, OVERLOADED, OVER, STUCK = 1, 2, 3, 4
BUDGET = 3_000_000  # steps
OFF_STORE, CALM, LONGER, SHORTEST = 2e-3, 0.1, 1.25, 1e-7  # as in `loop`
SOURCE, CABLE, CONVERTER, ESR, SLOW = range(5)  # energies [J], behind the store's states

_under_power, _into, _from_source = current_under_charging_power.kernel, input_power.kernel, source_current.kernel


@kernel("charging")
def charging_amps(terminal, x, p, q, out):
    """Amps into the store at this state.  q: 0 resistor? 1 current, 2 power limit, 3 highest volts, 4 efficiency, 5 cable,
    6 source volts, 7 its ohms, 8 its current limit, 9 series ohms, 10 end volts, 11 tail amps,
    12 the first state at which it is full by the count (a pack's; infinite for a bank).
    out: 0 amps, 1 source amps (nan: it cannot), 2 amps that hold the end volts, 3 ohms of the store."""
    inside, _ = terminal(x, p, 0.0)
    volts, amps = terminal(x, p, -1.0)
    ohm = (volts - inside) * volts  # one watt flows in: volts rise by ohms over volts
    loop = ohm + q[5]
    out[2] = (q[10] - inside) / ohm if ohm > 0.0 else np.inf * np.sign(q[10] - inside)
    if q[0] > 0.0:
        amps = max(q[6] - inside, 0.0) / (loop + q[7] + q[9])
        out[0] = out[1] = amps
    else:
        amps = min(q[1], _under_power(q[2], inside, loop))
        if loop > 0.0:
            amps = min(amps, max(q[3] - inside, 0.0) / loop)
        amps = max(min(amps, out[2]), 0.0)
        power = _into(amps * (inside + amps * loop), q[4])
        out[0] = amps
        out[1] = _from_source(power, q[6], q[7]) if q[6] * q[6] >= 4.0 * q[7] * power else np.nan
    out[3] = ohm


@kernel("charge slopes")
def charge_slopes(terminal, store_slope, p, q, resting, y, dy, x, rates, out):
    """Rates of the store's state and of the five energies."""
    n = x.size
    for i in range(n):
        x[i] = y[i]
    for i in range(4):
        out[i] = 0.0
    if resting <= 0.0:
        charging_amps(terminal, x, p, q, out)
    amps, taken = out[0], out[1]
    if taken != taken:  # a step may look past the point at which the source can give no more
        taken = q[6] / (2.0 * q[7])
    store_slope(x, p, -amps, rates)
    for i in range(n):
        dy[i] = rates[i]
    volts = terminal(x, p, 0.0)[0] + amps * out[3]
    dy[n + SOURCE] = taken * q[6]
    dy[n + CABLE] = amps * amps * q[5] + taken * taken * q[7]
    dy[n + CONVERTER] = taken * q[6] - dy[n + CABLE] - amps * volts
    dy[n + ESR], dy[n + SLOW] = rates[n], rates[n + 1]


@kernel("charge end")
def _ended(q, out, first):
    """Whether the charge ends here: at the end volts, when holding them takes no more than the tail, or by the count; or at a
    source that cannot."""
    if not out[1] <= q[8]:
        return OVERLOADED
    if first >= q[12]:
        return FULL
    return FULL if out[2] <= max(q[11], out[0]) and (q[11] == 0.0 or out[2] <= q[11]) else 0


@kernel("charge step")
def _step(terminal, store_slope, p, q, resting, y, k1, h, new, k, x, rates, out):
    """One step of the classical fourth-order method from y (rates k1 there) to `new`; out is told for there."""
    size, middle = y.size, k[3]
    for stage in range(3):
        slope, ahead = k1 if stage == 0 else k[stage - 1], h if stage == 2 else 0.5 * h
        for i in range(size):
            middle[i] = y[i] + ahead * slope[i]
        charge_slopes(terminal, store_slope, p, q, resting, middle, k[stage], x, rates, out)
    for i in range(size):
        new[i] = y[i] + h / 6.0 * (k1[i] + 2.0 * k[0, i] + 2.0 * k[1, i] + k[2, i])
    charge_slopes(terminal, store_slope, p, q, resting, new, middle, x, rates, out)


@kernel("charge run")
def charge_run(terminal, store_slope, p, q, resting, limit, longest, y):
    """Charge (or rest) for `limit` seconds at most, in steps of at most `longest`; y is moved on.  Returns the time [s] and what
    ended it.  Steps are halved until their error is let through, as in `loop`."""
    size, n, time, usual, tried = y.size, y.size - 5, 0.0, longest, 0
    k1, k, new, x, rates, out = np.zeros(size), np.zeros((4, size)), np.zeros(size), np.zeros(n), np.zeros(n + 2), np.zeros(4)
    while True:
        charge_slopes(terminal, store_slope, p, q, resting, y, k1, x, rates, out)
        ended = _ended(q, out, y[0]) if resting <= 0.0 else 0
        if ended > 0 or time >= limit - 1e-12:
            return time, ended if ended > 0 else OVER
        if tried > BUDGET:
            return time, STUCK
        low, high, h = 0.0, np.inf, min(usual, limit - time)
        while True:  # the whole step, or one halved towards the instant that ends it
            _step(terminal, store_slope, p, q, resting, y, k1, h, new, k, x, rates, out)
            tried += 1
            error = 0.0
            for i in range(n):
                error = max(error, abs(k[2, i] - k[3, i]) * h / 6.0 / (OFF_STORE * (1.0 + abs(new[i]))))
            if high == np.inf and not error <= 1.0 and h > SHORTEST:
                h *= 0.5
                usual = h
                continue
            if high == np.inf and error < CALM:
                usual = min(longest, LONGER * usual)
            if resting > 0.0 or _ended(q, out, new[0]) == 0:
                low = h
                if high == np.inf:
                    break
            else:
                high = h
                if high - low < LOCATED:
                    break
            h = high if high - low < LOCATED else 0.5 * (low + high)
        for i in range(size):
            y[i] = new[i]
        time += h


@dataclass(frozen=True)
class Refill(Booked):
    """What one charge came to: `outcome` ("full", "source overloaded", "time over", "charger refuses", "not to be trusted"; `ended`
    says the same whether its ledger closes or not), `duration` [s], the store's `state`, its `ledger` {key: J} as a ride's
    ("source" gives, "store" below zero when it is charged)."""

    ended: str
    duration: float
    state: Any
    ledger: dict[str, float]


def refill(vehicle: Any, state: Any, *, stop: float | None = None, limit: float = 86400.0) -> Refill:
    """Charge a vehicle's store from a state up to `stop` volts at its terminals, for `limit` seconds at most.

    By default a bank ends at its charge volts, a pack when its charge volts take a twentieth of its one-hour current.
    """
    store, charger = vehicle.store, vehicle.charger
    if charger.programme != "to the volts":
        raise InputError('Input charger.programme of a day must be "to the volts", since nobody watches it; '
                         f"instead received {charger.programme!r}.")
    air = vehicle.road.air_temperature
    p = store.parameters(air)
    if store.inside(state, p)[0] < charger.minimum_voltage or (store.kind == "lithium" and air < 273.15):
        return Refill("charger refuses", 0.0, state, {})
    until = store.charge_voltage if stop is None else stop
    tail = TAIL * store.charge / 3600 if store.kind == "lithium" and charger.kind != "resistor" else 0.0
    return _run(vehicle, state, _numbers(charger, until, tail, 1.0 if store.kind == "lithium" else np.inf), 0.0, limit)


def rest(vehicle: Any, state: Any, seconds: float) -> Refill:
    """The same store switched off for so long: its branches settle."""
    return _run(vehicle, state, _numbers(vehicle.charger, 0.0, 0.0, np.inf), 1.0, seconds)


def _numbers(c: Any, stop: float, tail: float, most: float) -> Any:
    regulated = c.kind == "regulated"
    return np.array([0.0 if regulated else 1.0, c.current_limit if regulated else 0.0, c.power_limit if regulated else 0.0,
                     c.highest_voltage, c.efficiency if regulated else 1.0, c.cable_resistance, c.source_voltage,
                     c.source_resistance, c.source_current_limit, 0.0 if regulated else c.series_resistance, stop, tail, most])


def _run(vehicle: Any, state: Any, q: Any, resting: float, limit: float) -> Refill:
    """Run it with the quick branches of the store settled: hours are not counted in their milliseconds."""
    terminal, slope, stored = vehicle.store.seam
    air, n, settled = vehicle.road.air_temperature, len(state), max(SETTLED, limit / 1e6)
    p, whole = vehicle.store.parameters(air, settled), vehicle.store.parameters(air)
    first = vehicle.store.together(state, whole, settled)
    y = np.concatenate([first, np.zeros(5)])
    before = stored(np.ascontiguousarray(state, float), whole)
    time, ended = charge_run(terminal, slope, p, q, resting, float(limit), min(STEP, vehicle.store.longest_step(p)), y)
    after, gone = y[:n].copy(), y[n:]
    gone[SLOW] += before - stored(first, whole)  # what their settling took
    ledger = {"store": before - stored(after, p), "esr": -gone[ESR], "slow_branch": -gone[SLOW]}
    if not resting:
        ledger |= {"source": gone[SOURCE], "cable": -gone[CABLE], "converter": -gone[CONVERTER]}
    return Refill(ENDS[ended], float(time), after, {key: float(joules) for key, joules in ledger.items()})
