"""Closed forms and arithmetic, worked apart from this package (by hand, quadrature or a circuit simulator) and written down.

They are not published values: each is a number that somebody got without this code.
"""

from __future__ import annotations

import math
from functools import lru_cache

from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from evlab import controller, gearing, motor, road, store

from . import Check

BANK = "constant power out of 150 F, 25 mΩ, 54 V to 27 V at the terminals: quadrature; a circuit simulator agrees to 3e-9"
JOINED = "two capacitors joined: textbook closed form"
MOTOR = "motor of R 0.25 Ω, K 0.18, drag 0.0015 N m s/rad on 36 V: closed form"
NO_LOAD = "the same motor with a constant 1.2 A of no-load current: closed form"
ROAD = "level road, 110 kg, C_rr 0.007, C_dA 0.55 m², density 1.2: arithmetic"
COAST = "coasting from 10 m/s, 110 kg, C_rr 0.006, C_dA 0.45 m², density 1.2: closed form"
REGEN = "braking with K 3 V/(m/s), R 0.145 Ω: closed form"


# ---------------------------------------------------------------- store
@lru_cache(maxsize=1)
def _constant_power() -> tuple[float, float]:
    """Seconds, and joules lost, by an ODE over the equations."""

    def slope(_t: float, x: tuple[float, float]) -> tuple[float, float]:
        amps = 500.0 / store.voltage_under_power(x[0], 0.025, 500.0)
        return -amps / 150.0, store.store_loss(amps, 0.025)

    def ended(_t: float, x: tuple[float, float]) -> float:
        return store.voltage_under_power(x[0], 0.025, 500.0) - 27.0

    ended.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(slope, (0.0, 400.0), (54.0, 0.0), method="DOP853", events=ended, rtol=1e-12, atol=1e-12)
    return float(run.t_events[0][0]), float(run.y_events[0][0][1])


_ODE = ("store.voltage_under_power", "store.store_loss")
_RTOL = "1e-9 of the value: the ODE's own error"
STORE = [
    Check("store.voltage_under_power", "321.7087703", "s", BANK, "time", work=lambda: _constant_power()[0], table="constant power"),
    Check(
        "store.voltage_under_power",
        "160854.3852",
        "J",
        BANK,
        "delivered",
        work=lambda: 500.0 * _constant_power()[0],
        table="constant power",
        allowance=1.6e-4,
        why=_RTOL,
    ),
    Check(
        "store.store_loss",
        "1279.539733",
        "J",
        BANK,
        "lost",
        work=lambda: _constant_power()[1],
        also=_ODE,
        table="constant power",
        allowance=1.3e-6,
        why=_RTOL,
    ),
    Check(
        "store.collapse_voltage",
        "7.071067812",
        "V",
        BANK,
        "collapse",
        {"store_power": 500.0, "store_resistance": 0.025},
        table="constant power",
    ),
    Check(
        "store.matched_power",
        "29160",
        "W",
        BANK,
        "largest power",
        {"open_voltage": 54.0, "store_resistance": 0.025},
        table="constant power",
    ),
    Check(
        "store.constant_current_time",
        "198.75",
        "s",
        "the same bank at 20 A: closed form",
        "time",
        {"capacitance": 150.0, "open_voltage": 54.0, "store_current": 20.0, "store_resistance": 0.025, "last_voltage": 27.0},
    ),
    Check(
        "store.resistor_time",
        "518.700328",
        "s",
        "the same bank into 5 Ω: closed form",
        "time",
        also=("store.resistor_loss_share",),
        work=lambda: store.resistor_time(150.0, 5.0, 0.025, 54.0 * (1 - store.resistor_loss_share(0.025, 5.0)), 27.0),
    ),
    Check(
        "store.usable_share",
        "0.75",
        "",
        "definition",
        "half the volts",
        {"last_voltage": 1.0, "first_voltage": 2.0},
        table="shares",
    ),
    Check(
        "store.usable_share",
        "0.8888888889",
        "",
        "definition",
        "a third of the volts",
        {"last_voltage": 1.0, "first_voltage": 3.0},
        table="shares",
    ),
    Check(
        "store.usable_share",
        "0.51",
        "",
        "definition",
        "70 % of the volts",
        {"last_voltage": 0.7, "first_voltage": 1.0},
        table="shares",
    ),
    Check(
        "store.usable_energy",
        "164025",
        "J",
        "150 F from 54 V to 27 V: arithmetic",
        "usable",
        {"capacitance": 150.0, "first_voltage": 54.0, "last_voltage": 27.0},
    ),
    Check(
        "store.worst_cell_voltage",
        "3.24",
        "V",
        "weak cell of share w 0.8 in a string of 6 at 16.2 V: V/(1 + (n - 1) w)",
        "the weak cell",
        {"voltage": 16.2, "cells_in_series": 6, "cell_tolerance": 0.2 / 1.8},
    ),
    Check(
        "store.settled_voltage",
        "36",
        "V",
        JOINED,
        "100 F at 48 V and 50 F at 12 V",
        table="joined",
        inputs={"fast_capacitance": 100.0, "fast_voltage": 48.0, "slow_capacitance": 50.0, "slow_voltage": 12.0},
    ),
    Check(
        "store.redistribution_loss",
        "21600",
        "J",
        JOINED,
        "lost",
        table="joined",
        inputs={"fast_capacitance": 100.0, "fast_voltage": 48.0, "slow_capacitance": 50.0, "slow_voltage": 12.0},
    ),
    Check(
        "store.energy",
        "115200",
        "J",
        "100 F charged through a resistor to 48 V: as much is lost as stored",
        "stored",
        {"capacitance": 100.0, "voltage": 48.0},
        table="charged",
    ),
    Check(
        "store.constant_current_loss",
        "48000",
        "J",
        "the same at 20 A through 0.5 Ω",
        "lost in 240 s",
        {"store_current": -20.0, "store_resistance": 0.5, "time": 240.0},
        table="charged",
    ),
    Check(
        "store.constant_current_loss",
        "0.7058823529",
        "",
        "the same at 20 A through 0.5 Ω",
        "efficiency",
        table="charged",
        also=("store.energy",),
        work=lambda: store.energy(100.0, 48.0) / (store.energy(100.0, 48.0) + store.constant_current_loss(-20.0, 0.5, 240.0)),
    ),
    Check(
        "store.resistor_time",
        "230.2585093",
        "s",
        "100 F charged to 99 % through 0.5 Ω: the same logarithm",
        "time",
        table="charged",
        inputs={"capacitance": 100.0, "load_resistance": 0.5, "store_resistance": 0.0, "first_voltage": 1.0, "last_voltage": 0.01},
    ),
    Check(
        "store.resistor_time",
        "2.436090817",
        "V",
        "350 F bled by 100 Ω from 2.7 V: closed form",
        "after 1 h",
        table="bleed",
        unknown="last_voltage",
        inputs={"capacitance": 350.0, "load_resistance": 100.0, "store_resistance": 0.0, "first_voltage": 2.7, "time": 3600.0},
    ),
    Check(
        "store.resistor_time",
        "24260.15132",
        "s",
        "350 F bled by 100 Ω from 2.7 V: closed form",
        "half the volts",
        table="bleed",
        inputs={
            "capacitance": 350.0,
            "load_resistance": 100.0,
            "store_resistance": 0.0,
            "first_voltage": 2.7,
            "last_voltage": 1.35,
        },
    ),
]


# ---------------------------------------------------------------- motor
def _free_speed() -> float:
    """The speed at which the torque left is zero, with viscous drag."""

    def torque(speed: float) -> float:
        amps = controller.current_at_duty(1.0, 36.0, motor.back_emf(0.18, speed), 0.25, 0.0)
        return float(motor.shaft_torque(0.18, amps, motor.motor_drag(0.0, 0.0015, speed, 1.0)))

    return float(brentq(torque, 0.0, 400.0, xtol=1e-12))


def _shaft_power(amps: float) -> float:
    speed = motor.no_load_speed(1.0, 36.0, amps, 0.25, 0.18)
    return float(motor.shaft_torque(0.18, amps, motor.motor_drag(0.18 * 1.2, 0.0, speed, 1.0)) * speed)


def _best(what: str) -> float:
    """At a fixed 36 V: the largest efficiency, or the largest power, over the current."""
    goal = _shaft_power if what == "power" else lambda amps: _shaft_power(amps) / (36.0 * amps)
    found = minimize_scalar(lambda amps: -goal(amps), bounds=(1.3, 143.0), method="bounded", options={"xatol": 1e-9})
    return -float(found.fun)


_CURRENT = ("motor.no_load_speed", "motor.motor_drag")
MOTORS = [
    Check(
        "motor.stall_current",
        "144",
        "A",
        MOTOR,
        "stall current",
        {"duty": 1.0, "voltage": 36.0, "hot_resistance": 0.25},
        table="motor",
    ),
    Check("motor.torque", "25.92", "N*m", MOTOR, "stall torque", {"motor_constant": 0.18, "motor_current": 144.0}, table="motor"),
    Check(
        "motor.shaft_torque",
        "197.7116705",
        "rad/s",
        MOTOR,
        "speed in the long run",
        table="motor",
        work=_free_speed,
        also=("motor.motor_drag", "motor.back_emf", "controller.current_at_duty"),
    ),
    Check(
        "motor.no_load_speed",
        "0.8257591475",
        "",
        NO_LOAD,
        "largest efficiency, (1 - √(I0/Is))²",
        table="motor",
        also=("motor.shaft_torque",),
        work=lambda: _best("efficiency"),
    ),
    Check(
        "motor.no_load_speed",
        "1274.49",
        "W",
        NO_LOAD,
        "largest power",
        table="motor",
        also=("motor.shaft_torque",),
        work=lambda: _best("power"),
    ),
    Check(
        "motor.no_load_speed",
        "1274.49",
        "W",
        NO_LOAD,
        "power at 72.6 A",
        table="motor",
        also=("motor.shaft_torque",),
        work=lambda: _shaft_power(72.6),
    ),
]


# ---------------------------------------------------------------- road
def _drag(v: float, rolling: float, area: float, slope: float = 0.0, wind: float = 0.0) -> float:
    return float(
        road.rolling_force(110.0, rolling, slope, 1.0) + road.slope_force(110.0, slope) + road.air_force(1.2, area, v, wind, 0.0)
    )


def _tan(sine: float) -> float:
    return sine / math.sqrt(1.0 - sine**2)


def _coast(first: float, last: float, mass: float = 110.0, distance: bool = False) -> float:
    return quad(lambda v: mass * (v if distance else 1.0) / _drag(v, 0.006, 0.45), last, first, epsabs=1e-10, epsrel=1e-12)[0]


def _steady(slope: float) -> float:
    return float(brentq(lambda v: road.wheel_power(_drag(v, 0.006, 0.45, slope), v) - 400.0, 1.0, 30.0, xtol=1e-12))


def _with_wheels() -> float:
    return float(road.effective_mass(110.0, 2 * 0.11 / 0.33**2, 0.0, 1.0, 0.33))


_ALL = ("road.rolling_force", "road.air_force", "road.slope_force")
ROADS = [
    Check(
        "road.wheel_power",
        "162.9547",
        "W",
        ROAD,
        "25 km/h",
        work=lambda: road.wheel_power(_drag(25 / 3.6, 0.007, 0.55), 25 / 3.6),
        also=_ALL,
        table="power",
    ),
    Check(
        "road.wheel_power",
        "279.0658",
        "W",
        ROAD,
        "25 km/h into 3 m/s",
        table="power",
        also=_ALL,
        work=lambda: road.wheel_power(_drag(25 / 3.6, 0.007, 0.55, wind=3.0), 25 / 3.6),
    ),
    Check(
        "road.slope_force",
        "324.4768",
        "W",
        ROAD,
        "15 km/h up 6 % (tangent)",
        table="power",
        also=_ALL,
        work=lambda: road.wheel_power(_drag(15 / 3.6, 0.007, 0.55, 0.06), 15 / 3.6),
    ),
    Check(
        "road.air_force",
        "334.7209570",
        "m",
        COAST,
        "to rest",
        work=lambda: _coast(10.0, 0.0, distance=True),
        also=_ALL,
        table="coasting",
    ),
    Check("road.air_force", "92.82098171", "s", COAST, "to rest", work=lambda: _coast(10.0, 0.0), also=_ALL, table="coasting"),
    Check("road.air_force", "26.59396378", "s", COAST, "to 5 m/s", work=lambda: _coast(10.0, 5.0), also=_ALL, table="coasting"),
    Check(
        "road.effective_mass",
        "112.0202020",
        "kg",
        COAST,
        "with two wheels of 0.11 kg m², radius 0.33 m",
        work=_with_wheels,
        table="coasting",
    ),
    Check(
        "road.effective_mass",
        "340.8682656",
        "m",
        COAST,
        "the same, to rest",
        also=_ALL,
        table="coasting",
        allowance=1e-7,
        why="the last figure was worked from a mass rounded to 112.0202020 kg",
        work=lambda: _coast(10.0, 0.0, _with_wheels(), True),
    ),
    Check(
        "road.effective_mass",
        "94.52568293",
        "s",
        COAST,
        "the same, to rest",
        work=lambda: _coast(10.0, 0.0, _with_wheels()),
        also=_ALL,
        table="coasting",
    ),
    Check(
        "road.wheel_power",
        "10.69983699",
        "m/s",
        COAST + "; at 400 W",
        "level",
        work=lambda: _steady(0.0),
        also=_ALL,
        table="steady",
    ),
    Check(
        "road.slope_force",
        "5.770093392",
        "m/s",
        COAST + "; at 400 W",
        "+5 %",
        work=lambda: _steady(0.05),
        also=_ALL,
        table="steady",
    ),
    Check(
        "road.slope_force",
        "14.15896166",
        "m/s",
        COAST + "; at 400 W",
        "-3 %",
        work=lambda: _steady(-0.03),
        also=_ALL,
        table="steady",
    ),
    Check(
        "road.air_force",
        "17.58867597",
        "m/s",
        COAST + "; under 90 N",
        "terminal speed",
        also=_ALL,
        table="steady",
        work=lambda: brentq(lambda v: _drag(v, 0.006, 0.45) - 90.0, 1.0, 40.0, xtol=1e-13),
    ),
    Check(
        "road.lift_energy",
        "43149.26",
        "J",
        "a hill of 40 m in 1000 m of road at 6 m/s, the vehicle above: arithmetic",
        "lift",
        {"mass": 110.0, "altitude": 40.0},
        table="hill",
    ),
    Check(
        "road.rolling_force",
        "6467.209016",
        "J",
        "a hill of 40 m in 1000 m of road at 6 m/s, the vehicle above: arithmetic",
        "rolling",
        table="hill",
        work=lambda: 1000.0 * road.rolling_force(110.0, 0.006, _tan(0.04), 1.0),
    ),
    Check(
        "road.air_force",
        "9720",
        "J",
        "a hill of 40 m in 1000 m of road at 6 m/s, the vehicle above: arithmetic",
        "air",
        table="hill",
        work=lambda: 1000.0 * road.air_force(1.2, 0.45, 6.0, 0.0, 0.0),
    ),
    Check(
        "road.slope_force",
        "11.65587612",
        "m/s",
        "the same hill, down: closed form",
        "terminal speed",
        table="hill",
        also=_ALL,
        work=lambda: brentq(lambda v: _drag(v, 0.006, 0.45, -_tan(0.04)), 1.0, 40.0, xtol=1e-13),
    ),
    Check(
        "gearing.gradeability",
        "6",
        "%",
        ROAD + "; the force of 15 km/h up 6 % without its air",
        "gives the slope back",
        table="power",
        work=lambda: (
            100 * gearing.gradeability(road.rolling_force(110.0, 0.007, 0.06, 1.0) + road.slope_force(110.0, 0.06), 110.0, 0.007)
        ),
        allowance=1e-9,
        why="exact",
    ),
]

# ---------------------------------------------------------------- braking
BRAKING = [
    Check(
        "controller.bus_power",
        "-542",
        "W",
        REGEN,
        "60 N (20 A) at 10 m/s",
        {"motor_current": -20.0, "back_emf": 30.0, "drive_resistance": 0.145, "standby_power": 0.0},
        table="regen",
    ),
    Check(
        "controller.bus_power",
        "0.9666666667",
        "m/s",
        REGEN,
        "break-even of 20 A",
        table="regen",
        work=lambda: (
            controller.bus_power.solve_for(
                "back_emf", bus_power=0.0, motor_current=-20.0, drive_resistance=0.145, standby_power=0.0
            )
            / 3.0
        ),
    ),
    Check(
        "controller.bus_power",
        "-1551.724138",
        "W",
        REGEN,
        "most that comes back at 10 m/s",
        table="regen",
        inputs={"motor_current": -30.0 / 0.29, "back_emf": 30.0, "drive_resistance": 0.145, "standby_power": 0.0},
    ),
]

CHECKS = [Check(**{**vars(c), "kind": "worked"}) for c in (*STORE, *MOTORS, *ROADS, *BRAKING)]
