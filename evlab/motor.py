"""The motor from its constants: EMF and torque, winding resistance with temperature, drag, and one thermal lump."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation, half
from evlab.kernels import kernel

__all__ = [
    "DRESSES", "DRESSES_OF", "Motor", "back_emf", "copper_loss", "heat_rate", "line_constant", "line_rms_constant", "motor_drag",
    "no_load_speed", "runaway_current", "shaft_torque", "sine_torque", "six_step_constant", "square_constant", "stall_current",
    "steady_rise", "torque", "winding_resistance_hot",
]

_SINE = "sine-shaped EMF, as coreless coils under disc magnets make it (third harmonic below some per cent)"
_PHASES = "star or brushed, current that follows the commutation at once (electrical speed times L well below R)"

line_constant = Equation(
    "motor.line_constant", "line_constant", lambda phase_constant: sympy.sqrt(3) * phase_constant,
    title="From one phase to line to line, both as peaks.", source=("machines",), tag="M9",
    within="star, three phases 120° apart")

line_rms_constant = Equation(
    "motor.line_rms_constant", "line_rms_constant", lambda line_constant: line_constant / sympy.sqrt(2),
    title="What a true-rms meter reads between two lines, for each radian per second.",
    source=("machines",), tag="M9", within=_SINE)

six_step_constant = Equation(
    "motor.six_step_constant", "motor_constant", lambda line_constant: 3 / sympy.pi * line_constant,
    title="Mean of the line EMF over the sixty degrees in which it is switched on.", source=("machines",), tag="M9", within=_SINE)

square_constant = Equation(
    "motor.square_constant", "motor_constant", lambda phase_constant: 2 / sympy.pi * phase_constant,
    title="Mean of the EMF of a single phase over the half turn in which it is switched on.", source=("machines",), tag="M12",
    within=_SINE)

sine_torque = Equation(
    "motor.sine_torque", "torque",
    lambda phase_constant, phase_peak_current: 3 * half * phase_constant * phase_peak_current,
    title="Torque of a sine drive.", source=("machines",), tag="M9", within=_SINE)

back_emf = Equation(
    "motor.back_emf", "back_emf", lambda motor_constant, motor_speed: motor_constant * motor_speed,
    title="Volts the turning motor makes.", source=("machines",), tag="M31", within=_PHASES)

torque = Equation(
    "motor.torque", "torque", lambda motor_constant, motor_current: motor_constant * motor_current,
    title="Torque of the current: the same constant, since volts times amps are torque times speed.",
    source=("machines",), tag="M9", within=_PHASES)

motor_drag = Equation(
    "motor.motor_drag", "motor_drag",
    lambda drag_torque, viscous_drag, motor_speed, direction: direction * drag_torque + viscous_drag * motor_speed,
    title="Torque of bearings, seals and eddy currents.", source=("mechanics",), tag="M33",
    within="the speeds of the spin-down that gave it")

shaft_torque = Equation(
    "motor.shaft_torque", "shaft_torque",
    lambda motor_constant, motor_current, motor_drag: motor_constant * motor_current - motor_drag,
    title="Torque left at the shaft.", source=("machines",), tag="M31", within=_PHASES)

winding_resistance_hot = Equation(
    "motor.winding_resistance_hot", "hot_resistance",
    lambda winding_resistance, winding_temperature, copper_coefficient, reference_temperature:
        winding_resistance * (1 + copper_coefficient * (winding_temperature - reference_temperature)),
    title="Winding resistance at its temperature.", source=("iec-60028",), tag="M29",
    limits={"winding_temperature": (233.15, 453.15)}, within="copper from -40 °C to 180 °C")

copper_loss = Equation(
    "motor.copper_loss", "copper_loss", lambda motor_current, hot_resistance: motor_current**2 * hot_resistance,
    title="Heat in the winding.", source=("circuits",), tag="M21", within="six-step or brushed, little ripple")

heat_rate = Equation(
    "motor.heat_rate", "heat_rate",
    lambda copper_loss, winding_temperature, air_temperature, thermal_resistance, heat_capacity:
        (copper_loss - (winding_temperature - air_temperature) / thermal_resistance) / heat_capacity,
    title="How fast the winding warms, as one lump.", source=("machine-heat",), tag="M29",
    within="minutes; a second lump is needed for anything much longer")

steady_rise = Equation(
    "motor.steady_rise", "steady_rise",
    lambda copper_loss, thermal_resistance, copper_coefficient:
        copper_loss * thermal_resistance / (1 - copper_coefficient * copper_loss * thermal_resistance),
    title="Rise in the long run at a constant current; the loss is that at 20 °C in air of 20 °C.",
    source=("machine-heat",), tag="M29", within="below runaway, where loss times thermal resistance reaches 254 K")

runaway_current = Equation(
    "motor.runaway_current", "motor_current",
    lambda copper_coefficient, winding_resistance, thermal_resistance:
        1 / sympy.sqrt(copper_coefficient * winding_resistance * thermal_resistance),
    title="Continuous current above which the winding never settles: hotter copper makes more heat.",
    source=("machine-heat",), tag="M29", within="one lump, air of 20 °C")

no_load_speed = Equation(
    "motor.no_load_speed", "motor_speed",
    lambda duty, voltage, motor_current, hot_resistance, motor_constant:
        (duty * voltage - motor_current * hot_resistance) / motor_constant,
    title="Speed at which the EMF leaves only the given (no-load) current.", source=("machines",), tag="M31", within=_PHASES)

stall_current = Equation(
    "motor.stall_current", "stall_current", lambda duty, voltage, hot_resistance: duty * voltage / hot_resistance,
    title="Current of the motor held still.", source=("machines",), tag="M31", within=_PHASES)

# From each dress of the constant to the peak of one phase; a brushed motor has only its terminals.
DRESSES = ("phase peak", "line peak", "line rms", "six-step mean", "terminal")
DRESSES_OF = {"three_phase": DRESSES[:4], "two_phase": DRESSES[:1], "one_phase": DRESSES[:1], "brushed": DRESSES[4:]}

_heat_rate = heat_rate.kernel


@kernel("drive slope")
def winding_slope(x, p, given, out):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    """Rate of the winding temperature from the copper loss that the drive gave (see controller.deliver)."""
    out[0] = _heat_rate(given[8], x[0], p[9], p[7], p[8])


@dataclass(frozen=True)
class Motor:
    """A motor from its constants.  Units as in the glossary, SI; `constant` wears the dress that `dress` names.

    Two phases have a bridge each: the drive sees them side by side, so their currents add and `resistance` is half of one's.
    """

    kind: str
    constant: float
    dress: str
    resistance: float
    inertia: float
    drag_torque: float
    viscous_drag: float
    thermal_resistance: float
    heat_capacity: float
    temperature_limit: float
    mass: float

    @property
    def phase_constant(self) -> float:
        """Peak of one phase [V s/rad]: the one dress from which the others are made (three phases only)."""
        line = line_constant(1.0)  # each dress is in proportion to the phase's, so one volt second shows the factor
        factor = {"phase peak": 1.0, "line peak": line, "line rms": line_rms_constant(line),
                  "six-step mean": six_step_constant(line)}
        return self.constant / factor[self.dress]

    @property
    def drive_constant(self) -> float:
        """The constant as the bridge sees it [V s/rad = N m/A]: six-step mean, mean of a phase, or between the brushes."""
        if self.kind == "brushed" or self.dress == "six-step mean":
            return self.constant
        if self.kind != "three_phase":
            return float(square_constant(self.constant))
        return six_step_constant(line_constant(self.phase_constant))

    @property
    def peak_constant(self) -> float:
        """Peak of the EMF between two wires of the bridge [V s/rad]: what its diodes and transistors see."""
        return line_constant(self.phase_constant) if self.kind == "three_phase" else self.constant

    def dresses(self) -> dict[str, float]:
        """The constant in all its dresses [V s/rad]."""
        if self.kind == "brushed":
            return {"terminal": self.constant}
        if self.kind != "three_phase":
            return {"phase peak": self.constant, "mean of a phase": self.drive_constant}
        line = line_constant(self.phase_constant)
        return {"phase peak": self.phase_constant, "line peak": line, "line rms": line_rms_constant(line),
                "six-step mean": six_step_constant(line)}

    def state_at(self, temperature: float) -> Any:
        """The state of the seam: winding temperature [K]."""
        return np.array([temperature])
