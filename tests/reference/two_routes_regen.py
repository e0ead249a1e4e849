"""Two routes to one number, for every equation of regeneration: by search, quadrature, sums over small steps, or other physics.

`other` may use other equations of the package where its words say so, never the one under test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from evlab import controller, gearing, motor, road, store
from evlab.route import Route as Road

from . import Route

ROUTES: list[Route] = []
FLAT = "an optimum is flat: a search finds its place only so far"
AT = {"back_emf": 17.2, "drive_resistance": 0.1525, "standby_power": 4.0}
ODE = "the error of the integration"


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(f"regeneration.{equation}", words, inputs, other, within, why))

    return keep


def _back(amps: float, emf: float, ohm: float, standby: float) -> float:
    """What comes back, by the drive's equation (another one), whose currents count positive driving."""
    return -float(controller.bus_power(-amps, emf, ohm, standby))


@_route("recovered_power", "torque times speed, less copper, less stand-by (other equations)", {**AT, "braking_current": 15.0})
def _(back_emf: float, braking_current: float, drive_resistance: float, standby_power: float) -> float:
    constant = 0.346
    shaft = float(motor.torque(constant, braking_current)) * back_emf / constant
    return shaft - float(motor.copper_loss(braking_current, drive_resistance)) - standby_power


@_route("best_braking_current", "the largest of what comes back, searched (another equation)",
        {"back_emf": 17.2, "drive_resistance": 0.1525}, 1e-6, FLAT)  # fmt: skip
def _(back_emf: float, drive_resistance: float) -> float:
    return float(minimize_scalar(lambda i: -_back(i, back_emf, drive_resistance, 0.0), bracket=(1.0, 50.0, 150.0),
                                 options={"xtol": 1e-12}).x)  # fmt: skip


@_route("most_recovered_power", "the largest of what comes back, searched (another equation)", AT)
def _(back_emf: float, drive_resistance: float, standby_power: float) -> float:
    return -float(minimize_scalar(lambda i: -_back(i, back_emf, drive_resistance, standby_power), bracket=(1.0, 50.0, 150.0)).fun)


@_route("least_paying_current", "where what comes back passes zero going up, searched (another equation)", AT)
def _(back_emf: float, drive_resistance: float, standby_power: float) -> float:
    return float(brentq(lambda i: _back(i, back_emf, drive_resistance, standby_power), 0.0, 50.0, xtol=1e-13))


@_route("most_paying_current", "where what comes back passes zero going down, searched (another equation)", AT)
def _(back_emf: float, drive_resistance: float, standby_power: float) -> float:
    return float(brentq(lambda i: _back(i, back_emf, drive_resistance, standby_power), 60.0, 200.0, xtol=1e-12))


@_route("short_circuit_current", "a winding with inductance shorted at time zero, followed until it is steady",
        {"back_emf": 17.2, "drive_resistance": 0.1525}, 1e-8, ODE)  # fmt: skip
def _(back_emf: float, drive_resistance: float) -> float:
    def slope(_t: float, amps: float) -> float:
        return (back_emf - drive_resistance * amps) / 295e-6

    return float(solve_ivp(slope, (0.0, 0.06), [0.0], method="LSODA", rtol=1e-11, atol=1e-11).y[0, -1])


@_route("paying_speed", "the speed at which the most that comes back is nothing, both searched (another equation)",
        {"drive_resistance": 0.1525, "standby_power": 4.0, "motor_constant": 0.346}, 1e-7, FLAT)  # fmt: skip
def _(drive_resistance: float, standby_power: float, motor_constant: float) -> float:
    def most(speed: float) -> float:
        return -float(minimize_scalar(lambda i: -_back(i, motor_constant * speed, drive_resistance, standby_power),
                                      bounds=(0.0, 300.0), method="bounded", options={"xatol": 1e-10}).fun)  # fmt: skip

    return float(brentq(most, 0.1, 100.0, xtol=1e-12))


@_route("fading_speed", "the speed at which the bridge need add no volts for this current (another equation)",
        {"braking_current": 25.0, "drive_resistance": 0.1525, "motor_constant": 0.346})  # fmt: skip
def _(braking_current: float, drive_resistance: float, motor_constant: float) -> float:
    def volts(speed: float) -> float:
        return float(controller.duty_for_current(motor_constant * speed, -braking_current, drive_resistance, 24.0))

    return float(brentq(volts, 0.0, 500.0, xtol=1e-13))


@_route("diode_speed", "peak of the line EMF over a turn, sampled, against volts and two diodes",
        {"terminal_voltage": 24.0, "diode_drop": 0.7, "line_constant": 0.3624}, 1e-6, "the samples are a thousandth of a period "
                                                                                      "apart")  # fmt: skip
def _(terminal_voltage: float, diode_drop: float, line_constant: float) -> float:
    phase = line_constant / math.sqrt(3)
    angles = [2 * math.pi * k / 3000 for k in range(3000)]
    peak = max(phase * (math.sin(a) - math.sin(a - 2 * math.pi / 3)) for a in angles)
    return float(brentq(lambda w: peak * w - terminal_voltage - 2 * diode_drop, 1.0, 1e3, xtol=1e-12))


@_route("boost_duty", "volts over an inductance that must be nothing in the mean of a period",
        {"back_emf": 17.2, "braking_current": 15.0, "drive_resistance": 0.1525, "terminal_voltage": 24.0})  # fmt: skip
def _(back_emf: float, braking_current: float, drive_resistance: float, terminal_voltage: float) -> float:
    def mean(duty: float) -> float:
        on, off = back_emf - braking_current * drive_resistance, back_emf - braking_current * drive_resistance - terminal_voltage
        return duty * on + (1 - duty) * off

    return float(brentq(mean, 0.0, 1.0, xtol=1e-14))


FORCE = {"wheel_radius": 0.245, "chain_efficiency": 0.95, "gear_ratio": 76 / 15, "motor_drag": 0.2, "motor_constant": 0.346}


@_route("braking_current", "powers from the wheel to the coil at 2 m/s, one loss after the other",
        {"wheel_braking_force": 90.0, **FORCE})  # fmt: skip
def _(wheel_braking_force: float, wheel_radius: float, chain_efficiency: float, gear_ratio: float, motor_drag: float,
      motor_constant: float) -> float:  # fmt: skip
    speed = 2.0
    turning = speed * gear_ratio / wheel_radius
    at_shaft = wheel_braking_force * speed * chain_efficiency
    return (at_shaft - motor_drag * turning) / (motor_constant * turning)


@_route("wheel_braking_force", "the drive's shaft torque and its chain turned round (other equations)",
        {"braking_current": 12.0, **FORCE})  # fmt: skip
def _(braking_current: float, wheel_radius: float, chain_efficiency: float, gear_ratio: float, motor_drag: float,
      motor_constant: float) -> float:  # fmt: skip
    shaft = float(motor.shaft_torque(motor_constant, -braking_current, motor_drag))
    return -float(gearing.driven_force(shaft, gear_ratio, wheel_radius, chain_efficiency))


DOWN = {"mass": 152.0, "slope": -0.07, "rolling_coefficient": 0.012, "air_density": 1.225, "drag_area": 0.95, "speed": 2.4}


@_route("descent_force", "energy of 50 m of the descent: height of a route, less rolling and air (other equations)", DOWN)
def _(mass: float, slope: float, rolling_coefficient: float, air_density: float, drag_area: float, speed: float) -> float:
    way = Road.from_segments([(50.0, slope, speed)])
    lift = -float(road.lift_energy(mass, way.height(50.0)))
    rolling = 50.0 * float(road.rolling_force(mass, rolling_coefficient, slope, 1.0))
    return (lift - rolling - 50.0 * float(road.air_force(air_density, drag_area, speed, 0.0, 0.0))) / 50.0


@_route("recovered_share", "joules of ten seconds over the height lost in them (another equation)",
        {"recovered_power": 170.0, "mass": 152.0, "slope": -0.07, "speed": 2.4})  # fmt: skip
def _(recovered_power: float, mass: float, slope: float, speed: float) -> float:
    way = Road.from_segments([(24.0, slope, speed)])
    return 10.0 * recovered_power / -float(road.lift_energy(mass, way.height(10.0 * speed)))


@_route("start_voltage", "charge flowing in against the volts it meets, integrated until full",
        {"rated_full_voltage": 35.0, "return_share": 0.6, "mass": 152.0, "descent_height": 4.2, "capacitance": 46.4})  # fmt: skip
def _(rated_full_voltage: float, return_share: float, mass: float, descent_height: float, capacitance: float) -> float:
    joules = return_share * mass * 9.80665 * descent_height

    def missing(volts: float) -> float:
        return quad(lambda u: capacitance * u, volts, rated_full_voltage, epsrel=1e-13)[0] - joules

    return float(brentq(missing, 0.1, rated_full_voltage, xtol=1e-13))


STOP = {"motor_constant": 0.346, "gear_ratio": 76 / 15, "wheel_radius": 0.245, "braking_current": 25.0, "drive_resistance": 0.1525,
        "standby_power": 4.0, "deceleration": 1.0, "stop_speed": 3.0}  # fmt: skip


@_route("stop_energy", "what comes back at each moment (another equation), added up while it is above nothing", STOP, 1e-8,
        "the quadrature's kink where it ends")  # fmt: skip
def _(motor_constant: float, gear_ratio: float, wheel_radius: float, braking_current: float, drive_resistance: float,
      standby_power: float, deceleration: float, stop_speed: float) -> float:  # fmt: skip
    def watts(time: float) -> float:
        emf = motor_constant * gear_ratio / wheel_radius * (stop_speed - deceleration * time)
        return _back(braking_current, emf, drive_resistance, standby_power)

    end = float(brentq(watts, 0.0, stop_speed / deceleration, xtol=1e-13))
    return quad(watts, 0.0, end, epsrel=1e-12)[0]


@_route("charge_over_lift", "volts before and after a descent, and the height, by other equations",
        {"stored_energy_gain": 3650.0, "height_energy": 6245.0})  # fmt: skip
def _(stored_energy_gain: float, height_energy: float) -> float:
    before = 20.0
    after = math.sqrt(before**2 + 2 * stored_energy_gain / 46.4)
    height = height_energy / (152.0 * 9.80665)
    return -float(store.usable_energy(46.4, before, after)) / float(road.lift_energy(152.0, height))


def _poured(joules: float) -> float:
    """Volts times charge, added up while a bank of 46.4 F rises from 20 V by so many joules."""
    top = math.sqrt(20.0**2 + 2 * joules / 46.4)
    return quad(lambda charge: 20.0 + charge / 46.4, 0.0, 46.4 * (top - 20.0), epsrel=1e-13)[0]


@_route("store_over_climb", "volts times charge into a bank on the descent, and out of it on the climb",
        {"stored_energy_gain": 3650.0, "climb_energy": 10100.0})  # fmt: skip
def _(stored_energy_gain: float, climb_energy: float) -> float:
    return _poured(stored_energy_gain) / _poured(climb_energy)


@_route("saved_over_round_trip", "round trips that one store pays for, counted with and without",
        {"round_without": 17400.0, "round_with": 13700.0})  # fmt: skip
def _(round_without: float, round_with: float) -> float:
    held = 1e6
    return 1 - (held / round_without) / (held / round_with)


@_route("pedalling_current", "the speed at which legs, chain and coil are in balance, followed in time",
        {"pedal_power": 80.0, "chain_efficiency": 0.95, "motor_speed": 40.0, "motor_drag": 0.18, "motor_constant": 0.346},
        1e-8, ODE)  # fmt: skip
def _(pedal_power: float, chain_efficiency: float, motor_speed: float, motor_drag: float, motor_constant: float) -> float:
    """A governor moves the current until the turning stays at the asked speed."""

    def slopes(_t: float, y: list[float]) -> list[float]:
        turning, amps = y
        legs = pedal_power * chain_efficiency / turning
        return [(legs - motor_drag - motor_constant * amps) / 0.5, 20.0 * (turning - motor_speed)]

    run = solve_ivp(slopes, (0.0, 400.0), [motor_speed, 1.0], method="LSODA", rtol=1e-11, atol=1e-11)
    return float(run.y[1, -1])
