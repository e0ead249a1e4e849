"""What the axes of the pictures of regeneration cover: taken from vehicle and route, widened when a case leaves them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.plots.ranges import Span
from evlab.plots.store_ranges import grown, rounded
from evlab.regen_case import RegenCase

FALLS = -0.6  # of the top: so far below zero the parabolas are drawn


@dataclass(frozen=True)
class RegenRanges:
    """Of the pictures of regeneration, in SI: speed [m/s], amps [A], power [W], force [N] at the wheel, share (of 1), pedal [W],
    stop [N] and halt [m/s] of one stop, length [m] of the descent, volts [V] along it, friction [N] there."""

    speed: float
    amps: float
    power: Span
    force: float
    share: Span
    pedal: Span
    stop: float
    halt: float
    length: float
    volts: Span
    friction: float

    @classmethod
    def around(cls, vehicle: Any, route: Any) -> RegenRanges:
        """Ranges that hold this vehicle at the speeds and slopes that are asked for as a rule."""
        case = RegenCase(vehicle, route)
        most, force = _most(case), _force(case)
        full = case.full.full_down
        volts = float(vehicle.store.charge_voltage)
        return cls(speed=case.top, amps=_amps(case), power=(FALLS * most, most), force=force, share=(-0.2, 1.0),
                   pedal=(-15.0, rounded(1.1 * case.power)), stop=rounded(1.3 * vehicle.effective_mass * case.deceleration),
                   halt=max(1.3 * case.speed, 1.0), length=float(full.route.length), volts=(0.8 * volts, 1.02 * volts),
                   friction=rounded(1.5 * max(float(np.max(full.column("brake_force"))), 50.0)))  # fmt: skip

    def widened(self, case: Any) -> RegenRanges:
        """The same ranges while all lies inside; else what must be is wider.  Rides down the hill count once they are ridden."""
        d, p = case.descent, case.pedalling
        most = _most(case)
        best = d.best_share if d.best_share == d.best_share else 0.0
        wider = grown(self, speed=case.top / 1.25, amps=_amps(case) / 1.25, power=(0.8 * FALLS * most, most / 1.25),
                      force=_force(case) / 1.25, share=(self.share[0], best), pedal=(self.pedal[0], p.best),
                      stop=float(np.max(case.stop.demanded)), halt=case.speed)  # fmt: skip
        return _with_rides(wider, case.full) if "full" in vars(case) else wider


def _with_rides(ranges: RegenRanges, full: Any) -> RegenRanges:
    """Room for both rides down the hill."""
    rides = (full.full_down, full.spared_down)
    friction = max(float(np.max(r.column("brake_force"))) for r in rides)
    lowest = min(float(np.min(r.column("store_volts"))) for r in rides)
    length = float(full.full_down.route.length)
    return grown(ranges, friction=friction, volts=(lowest, ranges.volts[1]), length=length / 1.25)


def _most(case: Any) -> float:
    """Top of the axis of power [W]: the largest parabola, or what the limit takes if that is far less."""
    return rounded(1.15 * max(p.most for p in case.family))


def _amps(case: Any) -> float:
    return rounded(1.05 * max(p.short_amps for p in case.family))


def _force(case: Any) -> float:
    """Room for the limit's force, what the slope asks, and some of what lies beyond [N]."""
    r = case.region
    needed = max(float(np.nanmax(r.needed)), 0.0)
    return rounded(1.5 * max(float(np.max(r.limit)), needed, 20.0))


def finite(values: Any) -> Any:
    """The values that are numbers."""
    values = np.asarray(values, float)
    return values[np.isfinite(values)]


def above(x: Any, y: Any, low: float) -> tuple[Any, Any]:
    """What of a curve is not below the axis."""
    keep = y >= low
    return x[keep], y[keep]
