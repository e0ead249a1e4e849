"""What is asked of a winding beside its vehicle: current, warmth, speed, sensor, time, and what was weighed and measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from evlab.start_load import GROUND
from evlab.units import made_by

__all__ = ["Sensed"]

BRIDGE_HZ = 16e3  # switching frequency when none is told


@dataclass(frozen=True)
class Sensed:
    """What is asked beside the vehicle: `amps` in the motor, `winding` temperature [K], `speed` [rad/s], `error` of the sensor
    [rad, electrical, late above zero], `slope` that it starts up (tan, from 0), `wheel` that is driven (one of start_load.WHEEL:
    whether it stands on the ground), `seconds` of the heating, `inner` share of the thermal resistance that lies between winding
    and body, `body` heat capacity [J/K], `frequency` of the switching [Hz], `mass` [kg] and `ohms` of a wound coil that was weighed
    and measured (0: as planned), and the readings of a BenchMotor (none: as planned)."""

    amps: float = 25.0
    winding: float = 363.15
    speed: float = 60.0
    error: float = 0.0
    slope: float | str = 0.0
    wheel: str = GROUND
    seconds: float = 1800.0
    inner: float = 0.4
    body: float = 600.0
    frequency: float = BRIDGE_HZ
    mass: float = 0.0
    ohms: float = 0.0
    bench: Mapping[str, Any] | None = None

    @classmethod
    def given(cls, asked: Any) -> Sensed:
        """What was asked, or the usual where nothing was.  Raises InputError in words for another thing."""
        if asked is None:
            return cls()
        made_by("asked of WindingCase", asked, "frequency", "evlab.Sensed()")
        return cast("Sensed", asked)
