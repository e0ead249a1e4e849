"""The driver: what is asked of the drive at each place, and what his legs give.  `wish` of each kind is the seam to the loop.

Demands along the time stand in `demands`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from evlab.glossary import entry
from evlab.kernels import kernel
from evlab.units import InputError, si, told

__all__ = ["Driver", "SetSpeed", "ThrottleHeld"]

QUICKEST_HAND = 2e-3  # s
EASED = 0.8  # of the rate with which it stops: there the braking to rest sets in
SHORT = 1e-3  # m: nearer to where it stops, the braking grows no more
HEAD = 7  # parameters of the set speed before the arrays of the route
PEDALS = entry("driver.pedalling_power")


@kernel("wish")
def set_speed_wish(x, p, s, v, goal, resistance, mass, out):  # type: ignore[no-untyped-def]  # compiled, see kernels
    """Force for a set speed that rises and falls gently.  p: rise, fall, gain, hand, stopping, creep, count, then places,
    posted limits, and the speed squared allowed at each place by slower stretches downhill behind it (with its slowing)."""
    n = int(p[6])
    k = min(max(np.searchsorted(p[7:7 + n], s, side="right") - 1, 0), n - 1)
    wanted = p[7 + n + k]
    if k + 1 < n and p[8 + 2 * n + k] < np.inf:
        wanted = min(wanted, np.sqrt(max(p[8 + 2 * n + k] + 2.0 * p[7 + 3 * n] * (p[8 + k] - s), 0.0)))
    left = max(goal - s, 0.0)
    wanted = min(wanted, np.sqrt(2.0 * p[4] * left) + p[5])
    change, need = p[2] * (x[0] - v), max(v, 0.0) ** 2 / (2.0 * max(left, SHORT))
    taken = min((need / p[4] - EASED) / (1.0 - EASED), 1.0)  # what is left asks for braking: it sets in gently, and ends at rest
    if taken > 0.0:
        change = min(change, -taken * need)
    out[0] = mass * change + resistance
    out[1] = out[3] = 0.0
    out[2] = x[0]
    out[4] = min(max((wanted - x[0]) / p[3], -p[1]), p[0])


@kernel("wish")
def throttle_wish(x, p, s, v, goal, resistance, mass, out):  # type: ignore[no-untyped-def]
    """A share of the coil current limit, whatever happens.  p: share."""
    out[0] = out[2] = out[3] = np.nan
    out[1] = p[0]


# ---------------------------------------------------------------- what all have
class Driver:
    """What the loop asks of every driver, and how it is checked."""

    kind: ClassVar[str]
    wish: ClassVar[Any]  # the seam
    rested: ClassVar[int] = 0  # states that begin anew after a stop
    pedalling_power: float

    def read_legs(self) -> None:
        """Read and check the power at the pedals."""
        power = si(self.pedalling_power, PEDALS, "pedalling_power of [driver]")
        if not 0 <= power <= 2000:
            raise InputError("Input pedalling_power of [driver] must be 0 W to 2000 W (a healthy person holds about 100 W for an "
                             f"hour); instead received {power:g} W. Legs do not brake: that is for the friction brake.")
        object.__setattr__(self, "pedalling_power", power)

    def read_numbers(self, *names: str) -> None:
        """Read and check these fields of the [driver] table."""
        for name in names:
            e, given = entry(f"driver.{name}"), getattr(self, name)
            value = si(given, e, f"{name} of [driver]")
            if value < 0 or (e.positive and value == 0) or (e.ceiling is not None and value > e.ceiling):
                most = "" if e.ceiling is None else f", at most {e.ceiling:g}"
                raise InputError(f"Input {name} of [driver] must be {'above zero' if e.positive else 'zero or more'}{most}; "
                                 f"instead received {told(given)}.")
            object.__setattr__(self, name, value)

    def parameters(self, route: Any) -> Any:
        """The flat array of the seam for this route."""
        raise NotImplementedError

    def state(self) -> Any:
        """The states of the seam at the start."""
        return np.zeros(0)

    def bends(self) -> Any:
        """Times [s] at which what is asked bends; the loop lands on them."""
        return np.array([math.inf])

    @property
    def longest_step(self) -> float:
        """The longest step [s] in which the states of the seam are followed."""
        return math.inf


@dataclass(frozen=True)
class SetSpeed(Driver):
    """A careful driver: follows the posted speeds with gentle changes and stops where the route says.

    Units as in the glossary ([driver] table), SI.  `pace` is the share of the posted speeds that is ridden; a speed plan of
    one's own goes with the way: see Route.with_speeds.
    """

    rise: float = 0.45
    fall: float = 0.8
    gain: float = 1.2
    stopping: float = 0.45
    descent_slowing: float = 0.3
    creep_speed: float = 0.05
    follow_time: float = 0.05
    pace: float = 1.0
    pedalling_power: float = 0.0

    kind: ClassVar[str] = "set speed"
    wish: ClassVar[Any] = staticmethod(set_speed_wish)
    rested: ClassVar[int] = 1

    def __post_init__(self) -> None:
        self.read_legs()
        self.read_numbers("rise", "fall", "gain", "stopping", "descent_slowing", "creep_speed", "follow_time", "pace")
        if self.follow_time < QUICKEST_HAND:
            raise InputError(f"Input follow_time of [driver] must be at least {1e3 * QUICKEST_HAND:g} ms, quicker than any hand; "
                             f"instead received {1e3 * self.follow_time:g} ms. Write for example follow_time = \"50 ms\".")

    def parameters(self, route: Any) -> Any:
        """The flat array of the seam for this route."""
        places = np.array([place for place, _ in route.limits])
        limits = self.pace * np.array([limit for _, limit in route.limits])
        allowed = np.full(len(places), np.inf)
        for k in range(len(places) - 1, 0, -1):  # backwards: a slower stretch downhill is slowed for beforehand
            own = limits[k] ** 2 if limits[k] < limits[k - 1] and route.falls_after(places[k]) else np.inf
            later = allowed[k + 1] + 2 * self.descent_slowing * (places[k + 1] - places[k]) if k + 1 < len(places) else np.inf
            allowed[k] = min(own, later)
        head = [self.rise, self.fall, self.gain, self.follow_time, self.stopping, self.creep_speed, float(len(places))]
        return np.concatenate([head, places, limits, allowed, [self.descent_slowing]]).astype(float)

    def state(self) -> Any:
        return np.zeros(1)

    @property
    def longest_step(self) -> float:
        """Twice the quicker of hand and keenness: a step of the fourth order bears 2.78 of it."""
        return 2.0 * min(self.follow_time, 1.0 / self.gain)


@dataclass(frozen=True)
class ThrottleHeld(Driver):
    """A throttle held still: a share (0 to 1) of the coil current limit, and no brake."""

    share: float = 1.0
    pedalling_power: float = 0.0

    kind: ClassVar[str] = "throttle held"
    wish: ClassVar[Any] = staticmethod(throttle_wish)

    def __post_init__(self) -> None:
        self.read_legs()
        self.read_numbers("share")

    def parameters(self, route: Any) -> Any:
        return np.array([self.share])
