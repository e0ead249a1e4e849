"""What the axes of the pictures of the winding cover: taken from the vehicle, widened when a case leaves them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.plots.store_ranges import grown, rounded
from evlab.winding_case import WindingCase


@dataclass(frozen=True)
class WindingRanges:
    """Of the pictures of the winding: torque [N m] of one ampere, speed [rad/s], shaft [N m], hot [°C], seconds, drag [N m];
    of the bench free_speed [rad/s], free_volts, held_amps, held_torque [N m], held_volts."""

    torque: float
    speed: float
    shaft: float
    hot: float
    seconds: float
    drag: float
    free_speed: float
    free_volts: float
    held_amps: float
    held_torque: float
    held_volts: float

    @classmethod
    def around(cls, vehicle: Any) -> WindingRanges:
        """Ranges that hold this vehicle's motor."""
        case = WindingCase(vehicle)
        speed, shaft = rounded(float(case.map.speeds[-1])), rounded(float(case.map.torques[-1]))
        hot = rounded(max(1.25 * _hot(case), 1.15 * _limit(case)))
        return cls(torque=rounded(1.3 * _most(case)), speed=speed, shaft=shaft, hot=hot, seconds=case.asked.seconds,
                   drag=rounded(1.8 * _drag(case)),
                   **{name: rounded(1.5 * most) for name, most in _bench(case).items()})  # fmt: skip

    def widened(self, case: Any) -> WindingRanges:
        """The same ranges while all lies inside; else what must be is wider."""
        speed, shaft = float(case.map.speeds[-1]) / 1.25, float(case.map.torques[-1]) / 1.25
        return grown(self, torque=_most(case), speed=speed, shaft=shaft, hot=max(_hot(case), _limit(case)),
                     seconds=case.asked.seconds / 1.25, drag=_drag(case),
                     **_bench(case))  # fmt: skip


def _bench(case: Any) -> dict[str, float]:
    b = case.bench
    return {"free_speed": b.speed, "free_volts": b.free_volts, "held_amps": b.held_amps, "held_torque": b.held_torque,
            "held_volts": b.held_volts}


def _most(case: Any) -> float:
    return max(float(np.max(one.torque)) for one in case.over_turn.values())


def _hot(case: Any) -> float:
    return float(np.max(case.heating[1])) - 273.15


def _limit(case: Any) -> float:
    return float(case.limits[0].temperature) - 273.15


def _drag(case: Any) -> float:
    """Without the diodes, whose current would dwarf the rest [N m]."""
    parts = case.drag.torques(float(case.map.speeds[-1]))
    return float(sum(parts.values()) - parts["diodes into the store"])
