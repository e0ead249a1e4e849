"""Two routes to one number, for every equation of the motor at work: quadrature, search, simulation, power balance."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from evlab import gearing, road

from . import Route

ROUTES: list[Route] = []
FLAT, STEPS = "an optimum is flat: a search finds its place only so far", "the error of the integration"


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(equation, words, inputs, other, within, why))

    return keep


def _turn(torque: Callable[[float], float], low: float, high: float, *breaks: float) -> float:
    """Mean over a stretch."""
    return quad(torque, low, high, epsabs=1e-13, epsrel=1e-13, points=list(breaks) or None, limit=200)[0] / (high - low)


# ---------------------------------------------------------------- motor_map
LOADED = {"motor_constant": 0.346, "motor_current": 12.0, "drag_torque": 0.1, "viscous_drag": 0.002, "motor_speed": 62.0,
          "hot_resistance": 0.16, "standby_power": 4.0}
ENDS = {"no_load_current": 1.2, "stall_current": 144.0}
VOLTS = 36.0


@_route("motor_map.motor_figure", "torque of a current over the root of its copper watts",
        {"motor_constant": 0.346, "hot_resistance": 0.16})  # fmt: skip
def _(motor_constant: float, hot_resistance: float) -> float:
    return motor_constant * 7.0 / math.sqrt(7.0**2 * hot_resistance)


@_route("motor_map.sine_figure", "three phases with sine currents, averaged over a turn",
        {"line_constant": 0.3624, "hot_resistance": 0.16})  # fmt: skip
def _(line_constant: float, hot_resistance: float) -> float:
    peak, angles = line_constant / math.sqrt(3), np.arange(360) * math.tau / 360
    waves = np.sin(angles[:, None] - np.arange(3) * math.tau / 3)
    torque, watts = (peak * waves * waves).sum(axis=1).mean(), (hot_resistance / 2 * waves**2).sum(axis=1).mean()
    return float(torque / math.sqrt(watts))


@_route("motor_map.holding_loss", "the current that the torque takes, squared, for any split into K and R",
        {"torque": 8.65, "motor_figure": 0.904})  # fmt: skip
def _(torque: float, motor_figure: float) -> float:
    k = 0.3
    return (torque / k) ** 2 * (k / motor_figure) ** 2


@_route("motor_map.stall_torque", "torque at rest on the line through two turning points",
        {"motor_constant": 0.18, "duty": 0.9, "voltage": 36.0, "hot_resistance": 0.25})  # fmt: skip
def _(motor_constant: float, duty: float, voltage: float, hot_resistance: float) -> float:
    torques = [motor_constant * (duty * voltage - motor_constant * w) / hot_resistance for w in (40.0, 90.0)]
    return torques[0] + (torques[0] - torques[1]) / 50.0 * 40.0


@_route("motor_map.fixed_loss", "drag integrated over the way of a second, and stand-by",
        {"drag_torque": 0.1, "viscous_drag": 0.002, "motor_speed": 62.0, "standby_power": 4.0})  # fmt: skip
def _(drag_torque: float, viscous_drag: float, motor_speed: float, standby_power: float) -> float:
    return quad(lambda _angle: drag_torque + viscous_drag * motor_speed, 0.0, motor_speed)[0] + standby_power


@_route("motor_map.motor_efficiency", "one less the losses, each by itself, over what goes in", LOADED)
def _(motor_constant: float, motor_current: float, drag_torque: float, viscous_drag: float, motor_speed: float,
      hot_resistance: float, standby_power: float) -> float:  # fmt: skip
    taken = motor_current * (motor_constant * motor_speed + motor_current * hot_resistance) + standby_power
    lost = motor_current**2 * hot_resistance + drag_torque * motor_speed + viscous_drag * motor_speed**2 + standby_power
    return 1 - lost / taken


@_route("motor_map.best_current", "the crest of the efficiency, searched: where its slope changes sign",
        {"drag_torque": 0.1, "viscous_drag": 0.002, "motor_speed": 62.0, "motor_constant": 0.346,
         "fixed_loss": (0.1 + 0.002 * 62.0) * 62.0 + 4.0, "hot_resistance": 0.16}, 1e-6, FLAT)  # fmt: skip
def _(drag_torque: float, viscous_drag: float, motor_speed: float, motor_constant: float, fixed_loss: float,
      hot_resistance: float) -> float:  # fmt: skip
    drag = drag_torque + viscous_drag * motor_speed
    idle = fixed_loss - drag * motor_speed

    def eta(amps: float) -> float:
        taken = motor_constant * motor_speed * amps + amps**2 * hot_resistance + idle
        return (motor_constant * amps - drag) * motor_speed / taken

    return brentq(lambda i: eta(i + 1e-3) - eta(i - 1e-3), 1.0, 100.0, xtol=1e-12)


def _at_volts(amps: float, free: float, stall: float) -> float:
    """Efficiency at constant volts."""
    ohm = VOLTS / stall
    return (amps - free) * (VOLTS - amps * ohm) / (VOLTS * amps)


@_route("motor_map.best_current_at_volts", "the crest of the efficiency at constant volts, searched", ENDS, 1e-6, FLAT)
def _(no_load_current: float, stall_current: float) -> float:
    def slope(i: float) -> float:
        return _at_volts(i + 1e-3, no_load_current, stall_current) - _at_volts(i - 1e-3, no_load_current, stall_current)

    return brentq(slope, 2.0, 100.0, xtol=1e-12)


@_route("motor_map.peak_efficiency", "the greatest efficiency at constant volts, searched", ENDS)
def _(no_load_current: float, stall_current: float) -> float:
    return -minimize_scalar(lambda i: -_at_volts(i, no_load_current, stall_current), bounds=(2.0, 100.0), method="bounded",
                            options={"xatol": 1e-9}).fun


@_route("motor_map.greatest_power_current", "the crest of the power at the shaft, searched", ENDS, 1e-6, FLAT)
def _(no_load_current: float, stall_current: float) -> float:
    def watts(i: float) -> float:
        return (i - no_load_current) * (VOLTS - i * VOLTS / stall_current)

    return brentq(lambda i: watts(i + 1e-3) - watts(i - 1e-3), 2.0, 140.0, xtol=1e-12)


@_route("motor_map.greatest_power", "the greatest torque times speed along the line, searched", {"hot_resistance": 0.25, **ENDS})
def _(hot_resistance: float, no_load_current: float, stall_current: float) -> float:
    volts, k = stall_current * hot_resistance, 0.18

    def watts(w: float) -> float:
        return (k * (volts - k * w) / hot_resistance - k * no_load_current) * w

    return -minimize_scalar(lambda w: -watts(w), bounds=(0.0, volts / k), method="bounded", options={"xatol": 1e-9}).fun


def _run_up(k: float, ohm: float, inertia: float, drag: float, viscous: float, volts: float, end: float) -> tuple[float, float]:
    """Speed and angle after a time."""
    made = solve_ivp(lambda _t, y: [(k * (volts - k * y[0]) / ohm - drag - viscous * y[0]) / inertia, y[0]], (0.0, end), [0.0, 0.0],
                     method="DOP853", rtol=1e-12, atol=1e-13)
    return float(made.y[0, -1]), float(made.y[1, -1])


@_route("motor_map.run_up_time", "speed left over the first slope, by integration of the motion",
        {"rotor_inertia": 0.012, "motor_constant": 0.18, "hot_resistance": 0.25, "viscous_drag": 0.0015}, 1e-8, STEPS)  # fmt: skip
def _(rotor_inertia: float, motor_constant: float, hot_resistance: float, viscous_drag: float) -> float:
    motor = (motor_constant, hot_resistance, rotor_inertia, 0.0, viscous_drag, 36.0)
    early, late, end = (_run_up(*motor, t)[0] for t in (0.1, 0.2, 4.0))
    return 0.1 / math.log((end - early) / (end - late))


@_route("motor_map.final_speed", "the motion integrated until nothing changes",
        {"motor_constant": 0.18, "duty": 0.8, "voltage": 36.0, "hot_resistance": 0.25, "drag_torque": 0.2,
         "viscous_drag": 0.0015})  # fmt: skip
def _(motor_constant: float, duty: float, voltage: float, hot_resistance: float, drag_torque: float, viscous_drag: float) -> float:
    return _run_up(motor_constant, hot_resistance, 0.012, drag_torque, viscous_drag, duty * voltage, 4.0)[0]


@_route("motor_map.run_up_speed", "the motion integrated", {"final_speed": 197.7, "time": 0.2, "run_up_time": 0.0915}, 1e-8, STEPS)
def _(final_speed: float, time: float, run_up_time: float) -> float:
    return float(solve_ivp(lambda _t, w: (final_speed - w) / run_up_time, (0.0, time), [0.0], rtol=1e-12, atol=1e-12).y[0, -1])


@_route("motor_map.run_up_angle", "speed integrated over time", {"final_speed": 197.7, "time": 0.2, "run_up_time": 0.0915})
def _(final_speed: float, time: float, run_up_time: float) -> float:
    return quad(lambda t: final_speed * -math.expm1(-t / run_up_time), 0.0, time, epsabs=1e-13)[0]


@_route("motor_map.diode_angle", "where the line's cosine falls through the store and two diodes, searched",
        {"voltage": 24.0, "diode_drop": 0.7, "line_constant": 0.37, "motor_speed": 72.0})  # fmt: skip
def _(voltage: float, diode_drop: float, line_constant: float, motor_speed: float) -> float:
    return brentq(lambda a: line_constant * motor_speed * math.cos(a) - voltage - 2 * diode_drop, 0.0, math.pi / 6, xtol=1e-15)


@_route("motor_map.diode_torque", "power of EMF times current, six pulses of a turn integrated, over the speed",
        {"line_constant": 0.37, "hot_resistance": 0.15, "motor_speed": 72.0, "conduction_angle": 0.25, "voltage": 24.0,
         "diode_drop": 0.7})  # fmt: skip
def _(line_constant: float, hot_resistance: float, motor_speed: float, conduction_angle: float, voltage: float,
      diode_drop: float) -> float:  # fmt: skip
    def watts(angle: float) -> float:
        emf = line_constant * motor_speed * math.cos(angle)
        return emf * (emf - voltage - 2 * diode_drop) / hot_resistance

    return 6 * quad(watts, -conduction_angle, conduction_angle, epsabs=1e-13)[0] / math.tau / motor_speed


# ---------------------------------------------------------------- turning
def _square(angle: float, error: float) -> float:
    """Torque of one phase over its peak: the current has the sign that a late sensor tells."""
    return math.sin(angle) * (1.0 if math.sin(angle - error) >= 0 else -1.0)


@_route("turning.error_factor", "sine currents late by the error, power averaged over a turn", {"sensor_error": 0.3})
def _(sensor_error: float) -> float:
    return 2 * _turn(lambda a: math.sin(a) * math.sin(a - sensor_error), 0.0, math.tau)


@_route("turning.error_extra_copper", "current raised until the torque is back, squared", {"sensor_error": 0.3})
def _(sensor_error: float) -> float:
    left = 2 * _turn(lambda a: math.sin(a) * math.sin(a - sensor_error), 0.0, math.tau)
    amps = brentq(lambda i: i * left - 1.0, 0.5, 5.0, xtol=1e-14)
    return amps * amps - 1


@_route("turning.offset_error", "share of the way round, in turns of the poles",
        {"pole_pairs": 6.0, "sensor_offset": 0.002, "sensor_radius": 0.078})  # fmt: skip
def _(pole_pairs: float, sensor_offset: float, sensor_radius: float) -> float:
    return sensor_offset / (math.tau * sensor_radius / pole_pairs) * math.tau


@_route("turning.delay_error", "turns of the poles in the delay", {"pole_pairs": 6.0, "motor_speed": 80.0, "time": 5e-4})
def _(pole_pairs: float, motor_speed: float, time: float) -> float:
    return math.tau * (motor_speed / math.tau * pole_pairs) * time


@_route("turning.square_share", "torque averaged over a turn", {"sensor_error": 0.3})
def _(sensor_error: float) -> float:
    return _turn(lambda a: _square(a, sensor_error), 0.0, math.tau, sensor_error, math.pi + sensor_error)


def _six(angle: float, error: float) -> float:
    """Line EMF that is switched on, over its peak: by the sector that late sensors tell."""
    sector = math.floor((angle - error + math.pi / 6) / (math.pi / 3))
    return math.cos(angle - sector * math.pi / 3)


@_route("turning.six_step_share", "line EMF that is switched on, averaged over a turn", {"sensor_error": 0.3})
def _(sensor_error: float) -> float:
    edges = [sensor_error + math.pi / 6 + i * math.pi / 3 for i in range(6)]
    return _turn(lambda a: _six(a, sensor_error), edges[0], edges[0] + math.tau, *edges[1:])


@_route("turning.six_step_least", "the least on a fine grid of the turn", {"sensor_error": 0.3}, 1e-5, "a grid of a million points")
def _(sensor_error: float) -> float:
    angles = np.linspace(0.0, math.tau, 1_000_001)
    return float(np.cos(angles - np.floor((angles - sensor_error + math.pi / 6) / (math.pi / 3)) * math.pi / 3).min())


@_route("turning.reverse_share", "counted on a fine grid", {"sensor_error": 0.3}, 1e-4, "a grid of a million points")
def _(sensor_error: float) -> float:
    angles = (np.arange(1_000_000) + 0.5) / 1_000_000 * math.tau
    return float(np.mean(np.sin(angles) * np.sign(np.sin(angles - sensor_error)) < 0))


@_route("turning.dead_share", "counted on a fine grid", {"friction_ratio": 0.25}, 1e-4, "a grid of a million points")
def _(friction_ratio: float) -> float:
    return float(np.mean(np.abs(np.sin((np.arange(1_000_000) + 0.5) / 1_000_000 * math.tau)) < friction_ratio))


@_route("turning.creeping_share", "energy balance without small angles, solved: from where let go it just gets over",
        {"friction_ratio": 0.02}, 2e-4, "the equation is for little friction: here 0.01 % less than exact")  # fmt: skip
def _(friction_ratio: float) -> float:
    holds = math.asin(friction_ratio)

    def work(start: float) -> float:
        return quad(lambda a: abs(math.sin(a)) - friction_ratio, -start, holds, points=[0.0], epsabs=1e-14)[0]

    return (brentq(work, holds, 1.0, xtol=1e-14) + holds) / math.pi


@_route("turning.creep_margin", "torque less friction, integrated along the way", {"release_angle": 0.5, "friction_ratio": 0.2})
def _(release_angle: float, friction_ratio: float) -> float:
    holds = math.asin(friction_ratio)
    return quad(lambda a: abs(math.sin(a)) - friction_ratio, -release_angle, holds, points=[0.0], epsabs=1e-14)[0]


@_route("turning.square_drive_speed", "mean torque over a turn at a speed, searched for nothing left",
        {"phase_constant": 0.0924, "voltage": 12.5, "hot_resistance": 6.74, "drag_torque": 0.012,
         "viscous_drag": 1.5e-5})  # fmt: skip
def _(phase_constant: float, voltage: float, hot_resistance: float, drag_torque: float, viscous_drag: float) -> float:
    def left(w: float) -> float:
        def pull(a: float) -> float:
            emf = phase_constant * w * math.sin(a)
            return phase_constant * math.sin(a) * (voltage - emf) / hot_resistance

        return _turn(pull, 0.0, math.pi) - drag_torque - viscous_drag * w

    return brentq(left, 1.0, 400.0, xtol=1e-12)


# ---------------------------------------------------------------- start_load
GEARED = {"wheel_radius": 0.245, "gear_ratio": 5.0667, "chain_efficiency": 0.95}


@_route("start_load.starting_torque", "the torque at which the drive's force at the wheel is all that holds, searched for",
        {"rolling_force": 22.54, "bearing_force": 1.5, "slope_force": 131.5, "drag_torque": 0.1, **GEARED})  # fmt: skip
def _(rolling_force: float, bearing_force: float, slope_force: float, wheel_radius: float, gear_ratio: float,
      chain_efficiency: float, drag_torque: float) -> float:
    held = rolling_force + bearing_force + slope_force
    return brentq(lambda t: gearing.drive_force(t - drag_torque, gear_ratio, chain_efficiency, wheel_radius) - held, 0.0, 1e3,
                  xtol=1e-13)


@_route("start_load.roll_back_torque", "the torque at which the driven motor holds the wheel, searched for",
        {"slope_force": 131.5, "rolling_force": 22.54, "bearing_force": 1.5, "drag_torque": 0.1, **GEARED})  # fmt: skip
def _(slope_force: float, rolling_force: float, bearing_force: float, wheel_radius: float, chain_efficiency: float,
      gear_ratio: float, drag_torque: float) -> float:
    pulls = slope_force - rolling_force - bearing_force
    return brentq(lambda t: gearing.driven_force(t + drag_torque, gear_ratio, wheel_radius, chain_efficiency) - pulls, 0.0, 1e3,
                  xtol=1e-13)


@_route("start_load.shaft_inertia", "the energy of motion at a speed of the shaft",
        {"effective_mass": 207.7, "wheel_radius": 0.245, "gear_ratio": 5.0667})
def _(effective_mass: float, wheel_radius: float, gear_ratio: float) -> float:
    turning, speed = gearing.motor_speed(gear_ratio, 2.4, wheel_radius), 2.4
    return 2 * road.kinetic_energy(effective_mass, speed) / turning**2


# ---------------------------------------------------------------- motor_readings
@_route("motor_readings.lever_torque", "work of the weight lifted by a small turn of the lever, over its angle",
        {"scale_reading": 4.0, "gravity": 9.80665, "lever_arm": 0.2})  # fmt: skip
def _(scale_reading: float, gravity: float, lever_arm: float) -> float:
    angle = 1e-3
    return scale_reading * gravity * 2 * lever_arm * math.sin(angle / 2) / (2 * math.sin(angle / 2))


@_route("motor_readings.spin_down_time", "the motion integrated until the last speed is reached",
        {"rotor_inertia": 0.022657, "viscous_drag": 0.002, "drag_torque": 0.1, "first_motor_speed": 80.0,
         "last_motor_speed": 20.0})  # fmt: skip
def _(rotor_inertia: float, viscous_drag: float, drag_torque: float, first_motor_speed: float, last_motor_speed: float) -> float:
    return quad(lambda w: rotor_inertia / (drag_torque + viscous_drag * w), last_motor_speed, first_motor_speed, epsabs=1e-13)[0]
