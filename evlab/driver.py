"""The driver: what is asked of the drive at each place.  `wish` of each kind is the seam to the ride loop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from evlab.kernels import kernel

__all__ = ["SetSpeed", "ThrottleHeld"]

HEAD = 7  # parameters of the set speed before the arrays of the route


@kernel("wish")
def set_speed_wish(x, p, s, v, goal, resistance, mass, out):  # type: ignore[no-untyped-def]  # compiled, see kernels
    """Force for a set speed that rises and falls gently.  p: rise, fall, gain, hand, stopping, creep, count, then places,
    posted limits, and the speed squared allowed at each place by slower stretches downhill behind it (with its slowing)."""
    n = int(p[6])
    k = min(max(np.searchsorted(p[7:7 + n], s, side="right") - 1, 0), n - 1)
    wanted = p[7 + n + k]
    if k + 1 < n and p[8 + 2 * n + k] < np.inf:
        wanted = min(wanted, np.sqrt(max(p[8 + 2 * n + k] + 2.0 * p[7 + 3 * n] * (p[8 + k] - s), 0.0)))
    wanted = min(wanted, np.sqrt(2.0 * p[4] * max(goal - s, 0.0)) + p[5])
    out[0] = mass * p[2] * (x[0] - v) + resistance
    out[1] = 0.0
    out[2] = x[0]
    out[3] = min(max((wanted - x[0]) / p[3], -p[1]), p[0])


@kernel("wish")
def throttle_wish(x, p, s, v, goal, resistance, mass, out):  # type: ignore[no-untyped-def]
    """A share of the coil current limit, whatever happens.  p: share."""
    out[0] = np.nan
    out[1] = p[0]
    out[2] = np.nan


@dataclass(frozen=True)
class SetSpeed:
    """A careful driver: follows the posted speeds with gentle changes and stops where the route says.

    Units as in the glossary ([driver] table), SI.
    """

    rise: float = 0.45
    fall: float = 0.8
    gain: float = 1.2
    stopping: float = 0.45
    descent_slowing: float = 0.3
    creep_speed: float = 0.05
    follow_time: float = 0.05

    kind: ClassVar[str] = "set speed"
    wish: ClassVar[Any] = staticmethod(set_speed_wish)

    def parameters(self, route: Any) -> Any:
        """The flat array of the seam for this route."""
        places = np.array([place for place, _ in route.limits])
        limits = np.array([limit for _, limit in route.limits])
        allowed = np.full(len(places), np.inf)
        for k in range(len(places) - 1, 0, -1):  # backwards: a slower stretch downhill is slowed for beforehand
            own = limits[k] ** 2 if limits[k] < limits[k - 1] and route.falls_after(places[k]) else np.inf
            later = allowed[k + 1] + 2 * self.descent_slowing * (places[k + 1] - places[k]) if k + 1 < len(places) else np.inf
            allowed[k] = min(own, later)
        head = [self.rise, self.fall, self.gain, self.follow_time, self.stopping, self.creep_speed, float(len(places))]
        return np.concatenate([head, places, limits, allowed, [self.descent_slowing]]).astype(float)

    def state(self) -> Any:
        return np.zeros(1)


@dataclass(frozen=True)
class ThrottleHeld:
    """A throttle held still: a share (0 to 1) of the coil current limit, and no brake."""

    share: float = 1.0

    kind: ClassVar[str] = "throttle held"
    wish: ClassVar[Any] = staticmethod(throttle_wish)

    def parameters(self, route: Any) -> Any:
        return np.array([self.share])

    def state(self) -> Any:
        return np.zeros(0)
