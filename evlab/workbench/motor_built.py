"""What the pages of magnets and winding share: a vehicle that states its motor, and what follows from it."""

from __future__ import annotations

from typing import Any

from evlab.units import InputError
from evlab.vehicle_file import DESIGN
from evlab.winding_case import WindingCase

__all__ = ["NOT_STATED", "SMALL_ONE", "designed", "small", "stated", "unsuited", "workable"]

NOT_STATED = ("Your vehicle says nothing of its magnets: here stand those of a small motor (invented). What you keep goes into its "
              "tables [motor.magnets] and [motor.winding].")
SMALL_ONE = "a small motor (invented)"
SMALL = {"motor.magnets.shape": "disc"}  # what the glossary's usual values then make: a small motor, invented


def stated(vehicle: Any) -> Any:
    """The vehicle itself, or, where it says nothing of its magnets, with those of a small motor."""
    return vehicle if vehicle.magnets.stated else vehicle.change(SMALL)


def small(vehicle: Any) -> Any:
    """The vehicle with the magnets and the winding of a small motor in place of its own."""
    usual = {name: v.entry.default for name, v in vehicle.values().items()
             if v.entry.table in DESIGN and v.entry.default is not None}
    return vehicle.change(usual | SMALL)


def workable(vehicle: Any) -> Any:
    """The vehicle itself, or, where its motor cannot be wound, with a small one."""
    return small(vehicle) if unsuited(vehicle) else vehicle


def designed(vehicle: Any) -> Any:
    """The vehicle with the constants that its magnets and winding make, basis designed; as it is where they do not go together."""
    try:
        return WindingCase(vehicle).designed()
    except InputError:
        return vehicle


def unsuited(vehicle: Any) -> str:
    """Why winding and magnets do not go together; "" where they do."""
    try:
        WindingCase(vehicle)
    except InputError as wrong:
        return f"The winding does not go with these magnets, so the constants stay as they were: {wrong}"
    return ""
