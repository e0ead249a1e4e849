"""Weather: what air weighs, by height, temperature and humidity."""

from __future__ import annotations

import sympy

from evlab.equation import Equation
from evlab.road import pressure_at_height
from evlab.units import InputError

__all__ = ["air_density_at", "humid_air_density", "standard_temperature", "vapour_pressure"]

vapour_pressure = Equation(
    "weather.vapour_pressure", "vapour_pressure",
    lambda magnus_pressure, magnus_factor, air_temperature, ice_point, magnus_zero:
        magnus_pressure * sympy.exp(magnus_factor * (air_temperature - ice_point) / (air_temperature - magnus_zero)),
    title="Pressure of water vapour in air that can hold no more (Magnus).", source=("alduchov-1996",), tag="R5",
    limits={"air_temperature": (233.15, 323.15)}, within="over water, -40 °C to 50 °C, 0.4 % at the most")

humid_air_density = Equation(
    "weather.humid_air_density", "air_density",
    lambda pressure, relative_humidity, vapour_pressure, gas_constant, air_temperature, vapour_gas_constant:
        (pressure - relative_humidity * vapour_pressure) / (gas_constant * air_temperature)
        + relative_humidity * vapour_pressure / (vapour_gas_constant * air_temperature),
    title="Density of humid air: dry air and water vapour side by side, each an ideal gas. Vapour is the lighter one.",
    source=("mechanics",), tag="R5", limits={"relative_humidity": (0.0, 1.0), "air_temperature": (233.15, 323.15)},
    within="-40 °C to 50 °C near the ground; real air is up to 0.1 % denser")


def standard_temperature(altitude: float) -> float:
    """Temperature [K] at an altitude [m] in the standard atmosphere: 15 °C at sea level, 6.5 K less for each km."""
    return 288.15 - 0.0065 * altitude


def air_density_at(altitude: float = 0.0, temperature: float | None = None, humidity: float = 0.5) -> float:
    """Density of the air [kg/m3].

    Parameters: altitude [m] above sea level; temperature [K] there, by default that of the standard atmosphere; `humidity`, 0 to 1.
    Range: -500 m to 11 000 m, -40 °C to 50 °C.  Weather moves the pressure by some 2 % either way.
    Raises InputError outside of it: a density there would be wrong without being seen.
    """
    kelvin = standard_temperature(altitude) if temperature is None else temperature
    for name, value, low, high, unit in (("altitude", altitude, -500.0, 11000.0, " m"), ("humidity", humidity, 0.0, 1.0, ""),
                                         ("temperature", kelvin, 203.15, 333.15, " K")):
        if not low <= value <= high:
            raise InputError(f"Input {name} of weather.air_density_at must be {low:g} to {high:g}{unit}; instead received "
                             f"{value:g}{unit}.")
    return float(humid_air_density(pressure_at_height(altitude), humidity, vapour_pressure(kelvin), kelvin))
