"""Humid air: a printed table of the vapour pressure of water, a value of Goff and Gratch, and the library CoolProp."""

from __future__ import annotations

from evlab import weather

from . import Check

TABLE = "encyclopaedia, vapour pressure of water (copy on db0nus869y26v.cloudfront.net)"
_WHY = "0.4 %: the fit's own range of error"
_ROWS = {
    "0": "0.6113",
    "5": "0.8726",
    "10": "1.2281",
    "15": "1.7056",
    "20": "2.3388",
    "25": "3.1690",
    "30": "4.2455",
    "35": "5.6267",
    "40": "7.3814",
    "45": "9.5898",
    "50": "12.3440",
}


def _humid(celsius: float, humidity: float) -> float:
    kelvin = 273.15 + celsius
    return float(weather.humid_air_density(101325.0, humidity, weather.vapour_pressure(kelvin), kelvin))


CHECKS = [
    *(
        Check(
            "weather.vapour_pressure",
            printed,
            "kPa",
            TABLE,
            f"row {celsius} °C",
            {"air_temperature": 273.15 + float(celsius)},
            table="vapour",
            allowance=0.004 * float(printed),
            why=_WHY,
        )
        for celsius, printed in _ROWS.items()
    ),
    Check(
        "weather.vapour_pressure",
        "17.0523",
        "hPa",
        "Goff and Gratch, by a routine of iac.ethz.ch (esat.pro)",
        "15 °C, as its head says",
        {"air_temperature": 288.15},
        allowance=0.004 * 17.0523,
        why=_WHY,
    ),
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
