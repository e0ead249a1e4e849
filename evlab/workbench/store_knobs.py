"""Controls of the store's volts that several pages share: what the vehicle's other values leave of their ranges."""

from __future__ import annotations

import math
from typing import Any

from evlab.tractive import half_empty
from evlab.workbench.page import Knob

__all__ = ["VOLTS", "charged_to", "stop_volts", "supply_volts", "volts_left"]

VOLTS = "volts"

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


def volts_left(group: str, vehicle: Any) -> tuple[Knob, ...]:
    """Volts of the rested store, half-way down at first; none for a supply, whose volts do not fall."""
    s = vehicle.store
    if s.kind == "supply":
        return ()
    full, least = float(s.full_voltage), float(vehicle.converter.stops_at(vehicle.controller.stop_voltage))
    if s.kind == "lithium":
        full, least = (float(s.open_voltage(s.state_at_share(share))) for share in (1.0, 0.02))
    full, least = math.floor(10 * full) / 10, min(math.ceil(10 * least) / 10, math.floor(9 * full) / 10)
    return (Knob(VOLTS, group, start=round(half_empty(vehicle), 1), quantity="open_voltage", label="Volts left", place="store",
                 unit="V", low=least, high=full, step=0.1 if full - least < 15 else 0.5, why="nearly empty, to charged",
                 meaning="volts of the rested store; it starts half-way down"),)
