"""The road: rolling, slope, air and bearings, and the mass that has to be moved.

Forces count against the way of travel.  `road_forces` and `road_height` are the seam to the ride loop.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation, half
from evlab.glossary import entry
from evlab.kernels import kernel

__all__ = [
    "air_density", "air_force", "bearing_force", "effective_mass", "energy_per_distance", "kinetic_energy", "lift_energy",
    "pressure_at_height", "rolling_force", "slope_force", "wheel_power",
]

_STILL = {"slope": (-0.4, 0.4)}

rolling_force = Equation(
    "road.rolling_force", "rolling_force",
    lambda mass, rolling_coefficient, slope, direction, gravity:
        direction * mass * gravity * rolling_coefficient / sympy.sqrt(1 + slope**2),
    title="Rolling force of the tyres: the weight that presses on the road times the rolling coefficient.",
    source=("martin-1998", "mechanics"), limits=_STILL, tag="R1",
    within="a firm surface and warm tyres; slopes to 40 %; the coefficient depends on pressure, surface and temperature")

slope_force = Equation(
    "road.slope_force", "slope_force",
    lambda mass, slope, gravity: mass * gravity * slope / sympy.sqrt(1 + slope**2),
    title="Slope force: the share of the weight that points along the road; the slope is rise over level distance.",
    source=("martin-1998", "mechanics", "si-2019"), limits=_STILL, tag="R1", within="slopes to 40 %")

air_force = Equation(
    "road.air_force", "air_force",
    lambda air_density, drag_area, speed, head_wind, cross_wind:
        half * air_density * drag_area * (speed + head_wind)
        * sympy.sqrt((speed + head_wind) ** 2 + cross_wind**2),
    title="Air force from the speed through the air; only its part along the road holds the vehicle back.",
    source=("martin-1998",), limits={"speed": (-40, 40), "head_wind": (-30, 30)}, tag="R1",
    within="the drag area of the same posture, 1 m/s to 40 m/s through the air; side wind as if the area were round")

bearing_force = Equation(
    "road.bearing_force", "bearing_force",
    lambda bearing_force_at_rest, bearing_drag, speed, direction: direction * bearing_force_at_rest + bearing_drag * speed,
    title="Drag of the wheel bearings.",
    source=("martin-1998",), tag="R3", limits={"speed": (-30, 30)}, within="bicycle wheels; often counted as rolling")

wheel_power = Equation(
    "road.wheel_power", "power", lambda force, speed: force * speed,
    title="Power at the wheel: force times speed over ground, also in a wind.",
    source=("mechanics", "sports-engineering-2021"), tag="R2", within="any steady motion")

energy_per_distance = Equation(
    "road.energy_per_distance", "energy_per_distance", lambda force, chain_efficiency: force / chain_efficiency,
    title="Newtons are joules per metre.", source=("definition",), tag="R6", within="steady speed")

effective_mass = Equation(
    "road.effective_mass", "effective_mass",
    lambda mass, wheels_rotating_mass, rotor_inertia, gear_ratio, wheel_radius:
        mass + wheels_rotating_mass + rotor_inertia * (gear_ratio / wheel_radius) ** 2,
    title="What has to be accelerated: the mass, the wheels' inertia, and the rotor's through the gearing.",
    source=("mechanics",), tag="R4", within="wheels that roll without slip and a chain without slack")

kinetic_energy = Equation(
    "road.kinetic_energy", "kinetic_energy", lambda effective_mass, speed: half * effective_mass * speed**2,
    title="Energy of motion.", source=("mechanics",), tag="R4", within="wheels that roll without slip")

lift_energy = Equation(
    "road.lift_energy", "energy", lambda mass, altitude, gravity: mass * gravity * altitude,
    title="Energy of a weight raised.", source=("mechanics",), tag="V6", within="any height near the ground")

pressure_at_height = Equation(
    "road.pressure_at_height", "pressure",
    lambda altitude, sea_level_pressure, lapse, pressure_exponent:
        sea_level_pressure * (1 - lapse * altitude) ** pressure_exponent,
    title="Air pressure at a height in the standard atmosphere.",
    source=("iso-2533", "us-1976"), tag="R5", limits={"altitude": (-500, 11000)}, within="-500 m to 11 000 m")

air_density = Equation(
    "road.air_density", "air_density", lambda pressure, air_temperature, gas_constant: pressure / (gas_constant * air_temperature),
    title="Air density from pressure and local temperature.",
    source=("iso-2533",), tag="R5", limits={"air_temperature": (243, 323)},
    within="dry air, -30 °C to 50 °C; humid air is up to 1 % lighter at 20 °C and 2 % at 35 °C")

# ---------------------------------------------------------------- the seam to the loop
_rolling, _slope, _air, _bearing = (e.kernel for e in (rolling_force, slope_force, air_force, bearing_force))
HEAD = 8  # parameters before the nodes of the route: mass, g, C_rr, C_dA, density, bearings at rest, with speed, count


def road_parameters(road: Any, mass: float, route: Any, winds: Any) -> Any:
    """The flat array of the seam: eight numbers, then nodes [m], slopes, heights [m], head and cross winds [m/s]."""
    head = [mass, entry("gravity").value, road.rolling_coefficient, road.drag_area, road.air_density, road.bearing_force,
            road.bearing_drag, float(len(route.nodes))]
    return np.concatenate([head, route.nodes, route.slopes, route.heights, winds[0], winds[1]]).astype(float)


@kernel("road")
def road_forces(p, s, v, direction, out):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    """Rolling, air, slope, bearings [N] against the way of travel, and the slope, at place s and speed v."""
    n = int(p[7])
    i = min(max(np.searchsorted(p[8:8 + n], s, side="right") - 1, 0), n - 2)
    along = s - p[8 + i]
    step = p[9 + i] - p[8 + i]
    first, last = p[8 + n + i], p[9 + n + i]
    slope = first + (last - first) * along / step if step > 0.0 else last
    out[0] = _rolling(p[0], p[2], slope, direction, p[1])
    out[1] = _air(p[4], p[3], v, p[8 + 3 * n + i], p[8 + 4 * n + i])
    out[2] = _slope(p[0], slope, p[1])
    out[3] = _bearing(p[5], p[6], v, direction)
    out[4] = slope


@kernel("height")
def road_height(p, s):  # type: ignore[no-untyped-def]
    """Height [m] at place s: the exact integral of sin(arctan(slope)) for a slope that is linear between nodes."""
    n = int(p[7])
    i = min(max(np.searchsorted(p[8:8 + n], s, side="right") - 1, 0), n - 2)
    along = s - p[8 + i]
    step = p[9 + i] - p[8 + i]
    first, last = p[8 + n + i], p[9 + n + i]
    slope = first + (last - first) * along / step if step > 0.0 else last
    return p[8 + 2 * n + i] + along * (first + slope) / (np.sqrt(1 + first**2) + np.sqrt(1 + slope**2))


@dataclass(frozen=True)
class Road:
    """The [road] table: what the vehicle meets on any route.  Units as in the glossary, SI."""

    rolling_coefficient: float
    drag_area: float
    air_density: float
    air_temperature: float
    bearing_force: float = 0.0
    bearing_drag: float = 0.0
