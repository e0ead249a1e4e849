"""The air: US Standard Atmosphere 1976 by the library fluids, humid air by CoolProp, a printed table of dry air."""

from __future__ import annotations

from evlab import road

from . import Check

TABLE = "encyclopaedia table of dry air at 101.325 kPa, copy on liquisearch.com"
US = "US Standard Atmosphere 1976, by the library fluids (ATMOSPHERE_1976)"
COOLPROP = "humid air by the library CoolProp (HAPropsSI)"
HEIGHT = "we take the height as geopotential (1 m off at 2.5 km) and 287.05 for 287.053 J/(kg K)"


def _density_at(height: float) -> float:
    return float(road.air_density(road.pressure_at_height(height), 288.15 - 0.0065 * height))


_DRY = {
    "35": "1.1455",
    "30": "1.1644",
    "25": "1.1839",
    "20": "1.2041",
    "15": "1.2250",
    "10": "1.2466",
    "5": "1.2690",
    "0": "1.2922",
    "-5": "1.3163",
    "-10": "1.3413",
    "-15": "1.3673",
    "-20": "1.3943",
    "-25": "1.4224",
}
_TIGHT = "the table takes 287.058 J/(kg K) and rounds; ISO 2533's 287.05 stands 3e-5 of the value beside it"

CHECKS = [
    *(
        Check(
            "road.air_density",
            printed,
            "kg/m**3",
            TABLE,
            f"row {celsius} °C",
            table="dry air",
            allowance=1e-4,
            why=_TIGHT,
            inputs={"pressure": 101325.0, "air_temperature": 273.15 + float(celsius)},
        )
        for celsius, printed in _DRY.items()
    ),
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
