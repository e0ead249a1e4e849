"""The air: US Standard Atmosphere 1976 by the library fluids, dry air by CoolProp."""

from __future__ import annotations

from evlab import road

from . import Check

US = "US Standard Atmosphere 1976, by the library fluids (ATMOSPHERE_1976)"
COOLPROP = "humid air by the library CoolProp (HAPropsSI)"
HEIGHT = "we take the height as geopotential (1 m off at 2.5 km) and 287.05 for 287.053 J/(kg K)"


def _density_at(height: float) -> float:
    return float(road.air_density(road.pressure_at_height(height), 288.15 - 0.0065 * height))


CHECKS = [
    *(
        Check(
            "road.pressure_at_height",
            printed,
            "kg/m**3",
            US,
            f"density at {height} m",
            kind="library",
            table="us 1976",
            also=("road.air_density",),
            work=lambda height=height: _density_at(float(height)),
            allowance=1e-4,
            why=HEIGHT,
        )
        for height, printed in (("0", "1.224999"), ("500", "1.167273"), ("1000", "1.111659"))
    ),
    Check(
        "road.air_density",
        "1.22557",
        "kg/m**3",
        COOLPROP,
        "101 325 Pa, 15 °C, dry",
        kind="library",
        table="coolprop",
        inputs={"pressure": 101325.0, "air_temperature": 288.15},
        allowance=1e-3,
        why="an ideal gas is taken for a real one",
    ),
]
