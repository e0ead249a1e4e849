"""What stands against a start at the motor's shaft: rolling, slope and the mass of the vehicle, brought there through the gearing.

Rolling only resists motion.  A slope pulls back at rest, too, and a freewheel does not stop it: a freewheel lets the wheel run
ahead of the motor, but a wheel that rolls back takes the motor with it.  The air is left out, and what grows with the speed in
the wheel bearings: a start is slow.  Nobody holds a brake, and the tyres do not slip.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from evlab.equation import Equation
from evlab.glossary import entry
from evlab.road import bearing_force, effective_mass, rolling_force, slope_force
from evlab.units import InputError, si, told

__all__ = ["GROUND", "RAISED", "WHEEL", "ShaftLoad", "roll_back_torque", "shaft_inertia", "starting_torque"]

GROUND, RAISED = WHEEL = entry("driven_wheel").choices
STEEPEST = 0.4  # tan: as the slope of road.slope_force

starting_torque = Equation(
    "start_load.starting_torque", "starting_torque",
    lambda rolling_force, bearing_force, slope_force, wheel_radius, gear_ratio, chain_efficiency, drag_torque:
        (rolling_force + bearing_force + slope_force) * wheel_radius / (gear_ratio * chain_efficiency) + drag_torque,
    title="Torque of the motor above which the vehicle moves off: its load at the shaft, and the motor's own drag.",
    source=("mechanics", "spicer-2001"), tag="M12", limits={"chain_efficiency": (0.5, 1.0)},
    within="on the level or uphill, from rest; tyres that do not slip; rolling at rest as when it rolls")

roll_back_torque = Equation(
    "start_load.roll_back_torque", "roll_back_torque",
    lambda slope_force, rolling_force, bearing_force, wheel_radius, chain_efficiency, gear_ratio, drag_torque:
        (slope_force - rolling_force - bearing_force) * wheel_radius * chain_efficiency / gear_ratio - drag_torque,
    title="Torque of the motor below which the vehicle rolls back; below zero it does not roll back by itself.",
    source=("mechanics", "spicer-2001"), tag="M12", limits={"chain_efficiency": (0.5, 1.0)},
    within="a slope that pulls more than the wheels roll; no brake; with a freewheel or without")

shaft_inertia = Equation(
    "start_load.shaft_inertia", "shaft_inertia",
    lambda effective_mass, wheel_radius, gear_ratio: effective_mass * (wheel_radius / gear_ratio)**2,
    title="What the motor has to set in motion, as an inertia at its shaft.", source=("mechanics",), tag="R4",
    within="wheels that roll without slip and a chain without slack")


@dataclass(frozen=True)
class ShaftLoad:
    """What the motor has to move beside its own rotor: forces [N] of `rolling`, `bearings` and `slope` at the wheel, `radius` [m]
    of the wheel, `ratio` and `efficiency` of the gearing, `mass` [kg] that moves along, inertia of the wheels included, whether
    there is a `freewheel`, and how steep it goes up (`uphill`, tan).  Made without values nothing is moved: the motor turns by
    itself."""

    rolling: float = 0.0
    bearings: float = 0.0
    slope: float = 0.0
    radius: float = 1.0
    ratio: float = 1.0
    efficiency: float = 1.0
    mass: float = 0.0
    freewheel: bool = False
    uphill: float = 0.0

    @classmethod
    def of(cls, vehicle: Any, slope: Any = 0.0, wheel: str = GROUND) -> ShaftLoad:
        """The load of a vehicle with everybody and everything on board.

        Parameters: `vehicle`; `slope`, tan, uphill from 0 to 0.4, or text such as "7 %"; `wheel`, one of WHEEL: with the driven
        wheel raised only the motor turns (the wheel's own inertia, little beside the vehicle's, is left out).
        Raises InputError in words.
        """
        steep = si(slope, entry("slope"), "slope of a start")
        if not 0 <= steep <= STEEPEST:
            raise InputError(f"Input slope of a start must be uphill, from 0 % to {100 * STEEPEST:g} %: downhill the vehicle rolls "
                             f"off by itself; instead received {told(slope)}.")
        if wheel not in WHEEL:
            raise InputError(f"Input wheel of a start must be {' or '.join(map(repr, WHEEL))}; instead received {told(wheel)}.")
        if wheel == RAISED:
            return cls()
        v, road, g = vehicle, vehicle.road, vehicle.gearing
        return cls(float(rolling_force(v.mass, road.rolling_coefficient, steep, 1.0)),
                   float(bearing_force(road.bearing_force, road.bearing_drag, 0.0, 1.0)), float(slope_force(v.mass, steep)),
                   g.wheel_radius, float(g.ratio), float(g.efficiency), v.mass + v.vehicle.wheels_rotating_mass, g.freewheel, steep)

    # ------------------------------------------------------------ at the shaft
    @property
    def lever(self) -> float:
        """Metres that the vehicle moves for each radian of the shaft."""
        return self.radius / self.ratio

    @property
    def resisting(self) -> float:
        """Rolling and bearings at the shaft of a chain without loss [N m]."""
        return (self.rolling + self.bearings) * self.lever

    @property
    def pulling(self) -> float:
        """The slope at the shaft of a chain without loss [N m]."""
        return self.slope * self.lever

    def starting(self, drag: float) -> float:
        """Torque of the motor above which it moves off [N m], the motor's own `drag` [N m] included."""
        return starting_torque.floats(self.rolling, self.bearings, self.slope, self.radius, self.ratio, self.efficiency, drag)

    def rolls_back(self, drag: float) -> float:
        """Torque of the motor below which it rolls back [N m]; 0 where it does not roll back by itself."""
        return max(roll_back_torque.floats(self.slope, self.rolling, self.bearings, self.radius, self.efficiency, self.ratio, drag),
                   0.0)

    def parts(self, drag: float) -> dict[str, float]:
        """What of the starting torque is for what [N m]: "slope", "rolling" (wheel bearings included), "motor"."""
        through = self.lever / self.efficiency
        return {"slope": self.slope * through, "rolling": (self.rolling + self.bearings) * through, "motor": drag}

    def effective_mass(self, rotor: float) -> float:
        """What a motor whose rotor has the inertia `rotor` [kg m2] sets in motion, as a mass on the road [kg]."""
        return effective_mass.floats(self.mass, 0.0, rotor, self.ratio, self.radius)

    def inertia(self, rotor: float) -> float:
        """The same as an inertia at its shaft [kg m2]."""
        return shaft_inertia.floats(self.effective_mass(rotor), self.radius, self.ratio)
