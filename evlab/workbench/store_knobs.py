"""Controls of the store's volts that several pages share: what the vehicle's other values leave of their ranges."""

from __future__ import annotations

from typing import Any

from evlab.workbench.page import Knob

__all__ = ["charged_to", "stop_volts", "supply_volts"]

STEP, TOP = 0.5, 60.0  # V
_WHY = "above the stop volts, up to 60 V, where extra-low voltage ends"


def _above_stop(vehicle: Any) -> tuple[float, float]:
    return float(vehicle.controller.stop_voltage) + STEP, TOP


def _below_resume(vehicle: Any) -> tuple[float, float]:
    return 0.0, min(float(vehicle.controller.resume_voltage), float(vehicle.store.full_voltage) - STEP)


def charged_to(group: str) -> Knob:
    """Volts of the charged store."""
    return Knob("store.charge_voltage", group, step=STEP, within=_above_stop, why=_WHY)


def supply_volts(group: str) -> Knob:
    """Volts of a supply."""
    return Knob("store.voltage", group, step=STEP, within=_above_stop, why=_WHY)


def stop_volts(group: str) -> Knob:
    """Volts at which the drive gives up."""
    return Knob("controller.stop_voltage", group, step=STEP, within=_below_resume, why="up to the volts at which it resumes")
