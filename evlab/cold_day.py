"""The same vehicle in colder or warmer air: what follows from the temperature, in one place.

Air of the same pressure is denser when it is cold, tyres roll harder; the store's ohms and the winding's follow by themselves,
since they are worked out from the air's temperature.  What does not follow: tyre pressure, grease, a cold rider, the capacity of a
cold store.
"""

from __future__ import annotations

from typing import Any

from evlab.glossary import entry
from evlab.road import air_density
from evlab.tyres import cold_rolling

__all__ = ["in_air"]


def in_air(vehicle: Any, kelvin: float) -> Any:
    """The vehicle in air of this temperature [K] and the pressure of its file; the same one where nothing changes.

    Density goes with 1/T (ideal gas); rolling grows by the rule of thumb of `tyres.cold_rolling`, from the vehicle's own
    temperature.
    """
    road = vehicle.road
    if kelvin == road.air_temperature:
        return vehicle
    pressure = road.air_density * entry("gas_constant").value * road.air_temperature
    harder = float(cold_rolling(1.0, air_temperature=kelvin)) / float(cold_rolling(1.0, air_temperature=road.air_temperature))
    return vehicle.change({"road.air_temperature": kelvin, "road.air_density": float(air_density(pressure, kelvin)),
                           "road.rolling_coefficient": harder * road.rolling_coefficient})
