"""The motor at work: closed forms of the list of references, and the second opinions of an independent script."""

from __future__ import annotations

import math
from collections.abc import Callable

from evlab import motor, motor_map, motor_readings, turning

from . import Check, si_of
from .authors_script_2026 import SOURCE

FORMS = "closed forms of a direct-current motor, worked apart: R 0.25 ohm, K 0.18, J 0.012, b 0.0015, 36 V"
TEXTBOOK = "textbook: six steps of a three-phase sine"
MOTOR = {"motor_constant": 0.18, "hot_resistance": 0.25}
TAU = 0.012 / (0.18**2 / 0.25 + 0.0015)
END = 0.18 * 36.0 / 0.25 / (0.18**2 / 0.25 + 0.0015)
STALL = {"no_load_current": 1.2, "stall_current": 144.0}
RPM = si_of(1.0, "revolution/minute")
DEG = math.radians(1.0)
# D54: the demonstration motor (invented) with its winding at 45 °C
DEMO = {"motor_constant": 8.6509 / 25, "drag_torque": 0.10, "viscous_drag": 0.002}
OHM = 0.14654 * (1 + 0.00393 * 25.0)


def _worked(equation: str, printed: str, unit: str, place: str, **inputs: float) -> Check:
    return Check(equation, printed, unit, FORMS, place, inputs, kind="worked", table="run-up")


def _one(equation: str, printed: str, unit: str, place: str, **inputs: float) -> Check:
    return Check(equation, printed, unit, SOURCE, place, inputs, kind="opinion", table=place.partition(",")[0])


def _efficiency(speed: float, amps: float, printed: str) -> Check:
    inputs = {**DEMO, "motor_current": amps, "motor_speed": speed, "hot_resistance": OHM, "standby_power": 4.0}
    return _one("motor_map.motor_efficiency", printed, "", f"D54, {amps:g} A at {speed:g} rad/s", **inputs)


def _best() -> float:
    fixed = motor_map.fixed_loss(0.10, 0.002, 62.0, 4.0)
    return float(motor_map.best_current(fixed_loss=fixed, motor_speed=62.0, hot_resistance=OHM, **DEMO))


def _at_best() -> float:
    return float(motor_map.motor_efficiency(motor_current=_best(), motor_speed=62.0, hot_resistance=OHM, standby_power=4.0, **DEMO))


def _drill(dress: str) -> float:
    """D46: 13.01 V between lines at 500 rpm."""
    rms = 13.01 / (500 * RPM)
    line = motor.line_rms_constant.solve_for("line_constant", line_rms_constant=rms)
    return {"line": line, "six-step": float(motor.six_step_constant(line)),
            "phase": motor.line_constant.solve_for("phase_constant", line_constant=line)}[dress]


def _lever(dress: str) -> float:
    """D47: 4.0 kg at 0.20 m, 22.1 A through two phases."""
    line = float(motor_readings.lever_torque(4.0, 0.20)) / 22.1
    return line if dress == "line" else float(motor.six_step_constant(line))


def _more(equation: str, printed: str, unit: str, place: str, work: Callable[[], float], *also: str) -> Check:
    return Check(equation, printed, unit, SOURCE, place, kind="opinion", table=place.partition(",")[0], work=work, also=also)


RUN_UP = [
    _worked("motor_map.run_up_time", "0.09153318078", "s", "time constant", rotor_inertia=0.012, viscous_drag=0.0015, **MOTOR),
    _worked("motor_map.final_speed", "197.7116705", "rad/s", "speed in the end", duty=1.0, voltage=36.0, drag_torque=0.0,
            viscous_drag=0.0015, **MOTOR),
    _worked("motor_map.run_up_speed", "175.4735099", "rad/s", "after 0.2 s", final_speed=END, time=0.2, run_up_time=TAU),
    _worked("motor_map.run_up_angle", "23.48068560", "rad", "turned after 0.2 s", final_speed=END, time=0.2, run_up_time=TAU),
    _worked("motor_map.stall_torque", "25.92", "N*m", "stall torque", duty=1.0, voltage=36.0, **MOTOR),
    _worked("motor.stall_current", "144", "A", "stall current", duty=1.0, voltage=36.0, hot_resistance=0.25),
    _worked("motor_map.best_current_at_volts", "13.14534138", "A", "no-load current 1.2 A", **STALL),
    _worked("motor_map.peak_efficiency", "0.8257591475", "", "no-load current 1.2 A", **STALL),
    _worked("motor_map.greatest_power", "1274.49", "W", "no-load current 1.2 A", hot_resistance=0.25, **STALL),
    _worked("motor_map.greatest_power_current", "72.6", "A", "no-load current 1.2 A", **STALL),
]

SHARES = [
    Check("turning.six_step_share", "0.9549296586", "", TEXTBOOK, "mean over peak, 3/π", {"sensor_error": 0.0}, kind="worked",
          table="six step turn"),
    Check("turning.six_step_least", "0.8660254038", "", TEXTBOOK, "least over peak, cos 30°", {"sensor_error": 0.0}, kind="worked",
          table="six step turn"),
]

OPINIONS = [
    _one("turning.offset_error", "8.8147", "deg", "D33, 2 mm at 78 mm, electrical", pole_pairs=6.0, sensor_offset=0.002,
         sensor_radius=0.078),
    _one("turning.error_factor", "0.98819", "", "D33, torque left", sensor_error=8.8147 * DEG),
    Check("turning.error_extra_copper", "2.4047", "percent", SOURCE, "D33, copper for the same torque",
          {"sensor_error": 6 * 2 / 78}, kind="opinion", table="D33"),
    Check("turning.error_factor", "25.842", "deg", SOURCE, "D33, error for a tenth of the torque", {"torque_share": 0.9},
          unknown="sensor_error", kind="opinion", table="D33"),
    Check("turning.offset_error", "5.8633", "mm", SOURCE, "D33, the same in mm",
          {"sensor_error": math.acos(0.9), "pole_pairs": 6.0, "sensor_radius": 0.078}, unknown="sensor_offset", kind="opinion",
          table="D33"),
    _one("turning.delay_error", "13.751", "deg", "D33, mean of a loop of 1 ms", pole_pairs=6.0, motor_speed=80.0, time=0.5e-3),
    _one("turning.delay_error", "27.502", "deg", "D33, worst of a loop of 1 ms", pole_pairs=6.0, motor_speed=80.0, time=1e-3),
    _one("turning.error_factor", "0.97134", "", "D33, torque left with the mean delay", sensor_error=0.24),
    _one("turning.six_step_share", "0.95493", "", "D35, six-step mean", sensor_error=0.0),
    _one("turning.six_step_least", "0.86603", "", "D35, six-step least", sensor_error=0.0),
    _one("turning.square_share", "0.63662", "", "D35, one phase, mean", sensor_error=0.0),
    _one("turning.dead_share", "0.16086", "", "D35, closed form below a quarter", friction_ratio=0.25),
    _one("turning.error_factor", "0.96593", "", "D35, sensor 15° off", sensor_error=15 * DEG),
    _one("turning.reverse_share", "0.083333", "", "D35, backwards, sensor 15° off", sensor_error=15 * DEG),
    _more("motor.line_rms_constant", "0.35139", "V*s/rad", "D46, line peak", lambda: _drill("line")),
    _more("motor.six_step_constant", "0.33556", "V*s/rad", "D46, six-step mean", lambda: _drill("six-step"),
          "motor.line_rms_constant"),
    _more("motor.line_constant", "0.20288", "V*s/rad", "D46, one phase", lambda: _drill("phase"), "motor.line_rms_constant"),
    _one("motor_readings.lever_torque", "7.8453", "N*m", "D47, torque", scale_reading=4.0, lever_arm=0.20),
    _more("motor_readings.lever_torque", "0.35499", "", "D47, line peak", lambda: _lever("line")),
    _more("motor.six_step_constant", "0.33899", "", "D47, six-step mean", lambda: _lever("six-step"),
          "motor_readings.lever_torque"),
    Check("motor.winding_resistance_hot", "0.14688", "ohm", SOURCE, "D47, at 20 °C",
          {"hot_resistance": 3.82 / 22.1, "winding_temperature": 338.15}, unknown="winding_resistance", kind="opinion",
          table="D47"),
    _more("turning.error_factor", "3.4074", "", "D47, % too low, 15° off the peak",
          lambda: 100 * (1 - float(turning.error_factor(15 * DEG)))),
    _one("motor_readings.spin_down_time", "7.013", "s", "D48, 80 to 20 rad/s, with 0.022657 kg m2", rotor_inertia=0.022657,
         viscous_drag=0.002, drag_torque=0.10, first_motor_speed=80.0, last_motor_speed=20.0),
    _one("motor_map.fixed_loss", "13.2", "W", "D48, drag at 60 rad/s", drag_torque=0.10, viscous_drag=0.002, motor_speed=60.0,
         standby_power=0.0),
    _efficiency(62.0, 8.0, "0.8484"), _efficiency(62.0, 25.0, "0.8152"), _efficiency(62.0, 3.0, "0.7230"),
    _efficiency(20.0, 25.0, "0.6132"), _efficiency(5.0, 25.0, "0.2889"),
    _more("motor_map.best_current", "11.21", "A", "D54, best current at 62 rad/s", _best, "motor_map.fixed_loss"),
    _more("motor_map.motor_efficiency", "0.8560", "", "D54, efficiency there", _at_best, "motor_map.best_current"),
    _one("motor_map.motor_figure", "0.90396", "N*m/W**0.5", "D29, motor constant", motor_constant=8.6509 / 25,
         hot_resistance=6 * 0.022756 + 0.010),
    _one("motor_map.holding_loss", "91.585", "W", "D36, copper at 8.6509 N m", torque=8.6509,
         motor_figure=8.6509 / 25 / math.sqrt(0.146536)),
    Check("motor_map.sine_figure", "1.0966", "", "arithmetic: 1.5 over half of (3√3/π)²", "copper watts of six steps over sine",
          kind="worked", also=("motor_map.motor_figure",),
          work=lambda: (float(motor_map.sine_figure(1.0, 2.0)) / float(motor_map.motor_figure(3 / math.pi, 2.0)))**2),
]

CHECKS = [*RUN_UP, *SHARES, *OPINIONS]
