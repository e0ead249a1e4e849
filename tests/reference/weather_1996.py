"""Humid air by the library CoolProp."""

from __future__ import annotations

from evlab import weather

from . import Check


def _humid(celsius: float, humidity: float) -> float:
    kelvin = 273.15 + celsius
    return float(weather.humid_air_density(101325.0, humidity, weather.vapour_pressure(kelvin), kelvin))


CHECKS = [
    *(
        Check(
            "weather.humid_air_density",
            printed,
            "kg/m**3",
            "humid air by the library CoolProp (HAPropsSI)",
            place,
            kind="library",
            table="coolprop humid",
            also=("weather.vapour_pressure",),
            work=lambda c=celsius, h=humidity: _humid(c, h),
            allowance=1e-3,
            why="ideal gases are taken for real ones; 1e-3 kg/m3",
        )
        for printed, place, celsius, humidity in (
            ("1.19931", "101 325 Pa, 20 °C, 50 %", 20.0, 0.5),
            ("1.22552", "101 325 Pa, 15 °C, dry air", 15.0, 0.0),
        )
    ),
]
