"""Demands along the time: a throttle or a power, held still or as a trace of rows.  Each is a driver of the ride loop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from evlab.driver import Driver
from evlab.glossary import entry
from evlab.kernels import kernel
from evlab.units import InputError, si, told

__all__ = ["PowerHeld", "PowerTrace", "ThrottleTrace"]

WALK = 0.5  # m/s: a power at the wheel is asked as the force of this speed while it goes slower
GAP, LEAST_GAP, LOGGED = 4.0, 1.0, 20  # in a log of so many rows a step above four times the usual, and above 1 s, is a gap
MOST_ROWS = 200_000
STATION = 1e5  # W: more is a slip of the pen


@kernel("place")
def _row_at(p, time):  # type: ignore[no-untyped-def]
    """The number of the row of a trace at or before a time.  p: what is asked (0 throttle, 1 power at the store, 2 at the
    wheel), count, then times [s] and values."""
    n = int(p[1])
    return min(max(np.searchsorted(p[2:2 + n], time, side="right") - 1, 0), n - 2)


@kernel("wish")
def trace_wish(x, p, s, v, goal, resistance, mass, out):  # type: ignore[no-untyped-def]
    """What a trace asks at this time, which is the driver's only state; straight between its rows, the last one holds on."""
    n, i = int(p[1]), _row_at(p, x[0])
    first, last = p[2 + i], p[3 + i]
    asked = p[2 + n + i] + (p[3 + n + i] - p[2 + n + i]) * (min(max(x[0], first), last) - first) / (last - first)
    out[0] = out[1] = out[2] = out[3] = np.nan
    if p[0] == 0.0:
        out[1] = asked
    elif p[0] == 1.0:
        out[3] = asked
    else:
        out[0] = asked / max(v, WALK)
    out[4] = 1.0


class _Trace(Driver):
    """A demand along the time.  Its state is the time of the ride."""

    wish: ClassVar[Any] = staticmethod(trace_wish)
    times: Any
    longest_gap: Any

    def _asks(self) -> tuple[float, Any]:
        """What is asked (see trace_wish), and the values."""
        raise NotImplementedError

    def parameters(self, route: Any) -> Any:
        what, values = self._asks()
        return np.concatenate([[what, float(len(self.times))], self.times, values]).astype(float)

    def state(self) -> Any:
        return np.zeros(1)

    def bends(self) -> Any:
        return np.array([*self.times, math.inf])


def _rows(kind: str, name: str, times: Any, values: Any, longest_gap: Any) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Times and values of a trace as floats, or words about what is wrong with them."""
    t = _numbers(kind, "times", times, entry("time"))
    y = _numbers(kind, name, values, entry("driver.share" if name == "shares" else "power"))
    if len(t) != len(y) or not 2 <= len(t) <= MOST_ROWS:
        raise InputError(f"Input times and {name} of {kind} must be equally many, two or more, at most {MOST_ROWS}; "
                         f"instead received {len(t)} and {len(y)}.")
    steps = np.diff(t)
    if t[0] < 0 or (steps <= 0).any():
        at = int(np.argmax(steps <= 0)) + 2 if (steps <= 0).any() else 1
        raise InputError(f"Input times of {kind} must begin at 0 s or later and rise from row to row; instead row {at} says "
                         f"{t[at - 1]:g} s{f' after {t[at - 2]:g} s' if at > 1 else ''}.")
    longest = _longest(kind, steps, longest_gap)
    if steps.max() > longest:
        at = int(np.argmax(steps))
        bridge = math.ceil(float(steps.max()))
        raise InputError(f"Input times of {kind} must have no gap above {longest:g} s; instead nothing is known between "
                         f"{t[at]:g} s and {t[at + 1]:g} s (rows {at + 1} and {at + 2}). Cut the trace there, or say "
                         f"longest_gap=\"{bridge} s\" to have it bridged by a straight line.")
    return tuple(t.tolist()), tuple(y.tolist())


def _longest(kind: str, steps: Any, longest_gap: Any) -> float:
    """The longest step between rows that is no gap [s]: as told, or four times the usual one of a log; by hand anything."""
    if longest_gap is not None:
        longest = si(longest_gap, entry("time"), f"longest_gap of {kind}")
        if not longest > 0:
            raise InputError(f"Input longest_gap of {kind} must be a time above zero; instead received {told(longest_gap)}.")
        return longest
    return max(GAP * float(np.median(steps)), LEAST_GAP) if len(steps) >= LOGGED else math.inf


def _numbers(kind: str, name: str, values: Any, e: Any) -> Any:
    if isinstance(values, str) or not hasattr(values, "__iter__"):
        raise InputError(f"Input {name} of {kind} must be a row of values; instead received {told(values)}.")
    made = np.array([_one(v, e, f"{name}, row {i}, of {kind}") for i, v in enumerate(values, 1)], float)
    return made


def _one(value: Any, e: Any, where: str) -> float:
    if isinstance(value, float) and not math.isfinite(value):
        raise InputError(f"Input {where} must be a number; instead received {told(value)}: a value is missing there.")
    return si(value, e, where)


@dataclass(frozen=True)
class ThrottleTrace(_Trace):
    """A throttle along the time: `times` [s] from the start of the ride, `shares` of the coil current limit (0 to 1), straight
    between the rows, the first one holding before, the last one after.  Below zero (to -1) it is a share of the braking limit.

    `longest_gap` [s]: a step above it is refused; left out, four times the usual step of a log of 20 rows and more.
    """

    times: Any
    shares: Any
    longest_gap: Any = None
    pedalling_power: float = 0.0

    kind: ClassVar[str] = "throttle trace"

    def __post_init__(self) -> None:
        self.read_legs()
        times, shares = _rows("ThrottleTrace", "shares", self.times, self.shares, self.longest_gap)
        for i, share in enumerate(shares, 1):
            if not -1 <= share <= 1:
                raise InputError(f"Input shares, row {i}, of ThrottleTrace must be -1 to 1 of the current limit; instead received "
                                 f"{share:g}.")
        object.__setattr__(self, "times", times)
        object.__setattr__(self, "shares", shares)

    def _asks(self) -> tuple[float, Any]:
        return 0.0, self.shares



@dataclass(frozen=True)
class PowerTrace(_Trace):
    """A power along the time: `times` [s], `powers` [W], straight between the rows, the last one holding on.

    `at`: "store", what the bridge takes from the store, stand-by included; or "wheel".  Below zero it is braking.
    `longest_gap` as of a ThrottleTrace.
    """

    times: Any
    powers: Any
    at: str = "store"
    longest_gap: Any = None
    pedalling_power: float = 0.0

    kind: ClassVar[str] = "power trace"

    def __post_init__(self) -> None:
        self.read_legs()
        _place("PowerTrace", self.at)
        times, powers = _rows("PowerTrace", "powers", self.times, self.powers, self.longest_gap)
        for i, power in enumerate(powers, 1):
            if abs(power) > STATION:
                raise InputError(f"Input powers, row {i}, of PowerTrace must be at most 100 kW; instead received {power:g} W.")
        object.__setattr__(self, "times", times)
        object.__setattr__(self, "powers", powers)

    def _asks(self) -> tuple[float, Any]:
        return (1.0 if self.at == "store" else 2.0), self.powers



@dataclass(frozen=True)
class PowerHeld(Driver):
    """A power held still: `power` [W] `at` the "store" (what the bridge takes, stand-by included) or the "wheel"."""

    power: float = 200.0
    at: str = "store"
    pedalling_power: float = 0.0

    kind: ClassVar[str] = "power held"
    wish: ClassVar[Any] = staticmethod(trace_wish)

    def __post_init__(self) -> None:
        self.read_legs()
        _place("PowerHeld", self.at)
        power = si(self.power, entry("power"), "power of PowerHeld")
        if abs(power) > STATION:
            raise InputError(f"Input power of PowerHeld must be at most 100 kW; instead received {told(self.power)}.")
        object.__setattr__(self, "power", power)

    def parameters(self, route: Any) -> Any:
        return np.array([1.0 if self.at == "store" else 2.0, 2.0, 0.0, 1e9, self.power, self.power])

    def state(self) -> Any:
        return np.zeros(1)


def _place(kind: str, at: Any) -> None:
    if not isinstance(at, str) or at not in ("store", "wheel"):
        raise InputError(f'Input at of {kind} must be "store" or "wheel"; instead received {told(at)}.')
