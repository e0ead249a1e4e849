"""What a caution is, and what several of the rules ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

__all__ = ["STATES", "Caution", "Rule", "cell_limits", "no_braking"]

STATES = ("danger", "caution", "note")


@dataclass(frozen=True)
class Caution:
    """A warning: `state` ("danger", "caution", "note"), `words` to a maker, `source`, and the glossary `field` it is about."""

    state: str
    words: str
    source: str
    field: str = ""


Rule = Callable[[Any], Iterator[Caution]]
BOARD = 0.05  # V above full at which a protection board switches a lithium cell off (common practice)


def no_braking(vehicle: Any) -> tuple[str, str]:
    """Why the motor never brakes, and the field to blame; two empty texts where it does."""
    if vehicle.gearing.freewheel:
        return "With a freewheel", "gearing.freewheel"
    if not getattr(vehicle.converter, "both_ways", True):
        return "Behind a converter that works one way", "converter.both_ways"
    if vehicle.controller.braking_current_limit == 0:
        return "With a braking limit of 0 A", "controller.braking_current_limit"
    return "", ""


def cell_limits(store: Any) -> tuple[float, float, str]:
    """Volts of one cell: what is allowed for long, what begins to harm it, and the key of the source."""
    if store.kind == "capacitors":
        return store.cell_rated_voltage, store.cell_surge_voltage, "edlc-sheet-3000F"
    full = store.charge_voltage / store.cells_in_series
    return full, full + BOARD, "lithium-charging"
