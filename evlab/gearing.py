"""The gearing: two sprockets and a chain between motor and wheel."""

from __future__ import annotations

from dataclasses import dataclass

import sympy

from evlab.equation import Equation

__all__ = ["Gearing", "best_ratio", "driven_force", "drive_force", "gear_ratio", "gradeability", "motor_speed", "ratio_bound",
           "two_stage_efficiency", "two_stage_ratio"]

gear_ratio = Equation(
    "gearing.gear_ratio", "gear_ratio", lambda wheel_teeth, motor_teeth: wheel_teeth / motor_teeth,
    title="Ratio of the sprockets: turns of the motor for one turn of the wheel.", source=("definition",), tag="G1",
    within="one chain")

motor_speed = Equation(
    "gearing.motor_speed", "motor_speed", lambda gear_ratio, speed, wheel_radius: gear_ratio * speed / wheel_radius,
    title="Speed of the motor.", source=("mechanics",), tag="G1", within="a wheel that rolls without slip")

drive_force = Equation(
    "gearing.drive_force", "drive_force",
    lambda shaft_torque, gear_ratio, chain_efficiency, wheel_radius: shaft_torque * gear_ratio * chain_efficiency / wheel_radius,
    title="Force at the wheel while the motor drives.", source=("mechanics", "spicer-2001"), tag="G1",
    limits={"chain_efficiency": (0.5, 1.0)}, within="a clean chain under load; a slack one is worse")

driven_force = Equation(
    "gearing.driven_force", "drive_force",
    lambda shaft_torque, gear_ratio, wheel_radius, chain_efficiency: shaft_torque * gear_ratio / (wheel_radius * chain_efficiency),
    title="Force at the wheel while the wheel drives the motor: the chain takes its share on the way in.",
    source=("mechanics", "spicer-2001"), tag="G1", limits={"chain_efficiency": (0.5, 1.0)}, within="no freewheel")

gradeability = Equation(
    "gearing.gradeability", "slope",
    lambda drive_force, mass, gravity, rolling_coefficient:
        sympy.tan(sympy.asin(drive_force / (mass * gravity * sympy.sqrt(1 + rolling_coefficient**2)))
                  - sympy.atan(rolling_coefficient)),
    title="Steepest slope a force can hold a speed on, slowly: rolling and slope force together are the force.",
    source=("mechanics",), tag="G5", within="walking pace, where the air does not count; a force below the weight")

best_ratio = Equation(
    "gearing.best_ratio", "best_ratio",
    lambda wheel_radius, drive_force, drive_resistance, viscous_drag, chain_efficiency, motor_constant, speed:
        wheel_radius * sympy.sqrt(drive_force * sympy.sqrt(drive_resistance / viscous_drag)
                                  / (chain_efficiency * motor_constant * speed)),
    title="Ratio at which heat in the copper, which falls with it, and drag of the motor, which grows with it, lose the least.",
    source=("derived",), tag="G6", within="one force and speed held for long; drag at rest and limits of amps and volts left out")

ratio_bound = Equation(
    "gearing.ratio_bound", "ratio_bound",
    lambda duty, voltage, motor_current, drive_resistance, wheel_radius, motor_constant, speed:
        (duty * voltage - motor_current * drive_resistance) * wheel_radius / (motor_constant * speed),
    title="Largest ratio that still drives a current into the motor at a speed: the EMF must leave volts for it.",
    source=("machines",), tag="G6", within="the store's volts under that load; at the end of the trip, not when full")

two_stage_ratio = Equation(
    "gearing.two_stage_ratio", "gear_ratio", lambda first_ratio, second_ratio: first_ratio * second_ratio,
    title="Ratio of two stages, one behind the other.", source=("definition",), tag="G1", within="no slip")

two_stage_efficiency = Equation(
    "gearing.two_stage_efficiency", "chain_efficiency", lambda first_efficiency, second_efficiency:
        first_efficiency * second_efficiency,
    title="Share of the power that two stages let through.", source=("definition",), tag="G1", within="each stage at its own load")


@dataclass(frozen=True)
class Gearing:
    """The [gearing] table: one stage of sprockets at the wheel and, where the shaft teeth are stated, one before it.

    Units as in the glossary, SI; 0 where a length or a number of links is not stated.
    """

    motor_teeth: int
    wheel_teeth: int
    wheel_radius: float
    chain_efficiency: float
    mass: float
    freewheel: bool = False
    shaft_driver_teeth: int = 0
    shaft_driven_teeth: int = 0
    chain: str = "06B"
    centre_distance: float = 0.0
    links: int = 0
    frame_gap: float = 0.0

    @property
    def stages(self) -> int:
        """Chains or belts between motor and wheel, one after the other."""
        return 2 if self.shaft_driver_teeth and self.shaft_driven_teeth else 1

    @property
    def shaft_ratio(self) -> float:
        """Turns of the motor for one turn of the shaft that carries the driver of the last stage."""
        return gear_ratio(self.shaft_driven_teeth, self.shaft_driver_teeth) if self.stages == 2 else 1.0

    @property
    def ratio(self) -> float:
        """Turns of the motor for one turn of the wheel."""
        last = gear_ratio(self.wheel_teeth, self.motor_teeth)
        return two_stage_ratio(self.shaft_ratio, last) if self.stages == 2 else last

    @property
    def efficiency(self) -> float:
        """Share of the power that gets through all stages, each as good as the other."""
        each = self.chain_efficiency
        return two_stage_efficiency(each, each) if self.stages == 2 else each
