"""The motor at work: closed forms of a direct-current motor and of six steps."""

from __future__ import annotations

import math

from evlab import motor_map

from . import Check

FORMS = "closed forms of a direct-current motor, worked apart: R 0.25 ohm, K 0.18, J 0.012, b 0.0015, 36 V"
TEXTBOOK = "textbook: six steps of a three-phase sine"
MOTOR = {"motor_constant": 0.18, "hot_resistance": 0.25}
TAU = 0.012 / (0.18**2 / 0.25 + 0.0015)
END = 0.18 * 36.0 / 0.25 / (0.18**2 / 0.25 + 0.0015)
STALL = {"no_load_current": 1.2, "stall_current": 144.0}


def _worked(equation: str, printed: str, unit: str, place: str, **inputs: float) -> Check:
    return Check(equation, printed, unit, FORMS, place, inputs, kind="worked", table="run-up")


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

COPPER = [
    Check("motor_map.sine_figure", "1.0966", "", "arithmetic: 1.5 over half of (3√3/π)²", "copper watts of six steps over sine",
          kind="worked", also=("motor_map.motor_figure",),
          work=lambda: (float(motor_map.sine_figure(1.0, 2.0)) / float(motor_map.motor_figure(3 / math.pi, 2.0)))**2),
]

CHECKS = [*RUN_UP, *SHARES, *COPPER]
