"""What a ride or a charge begins from: the state of a rested store at asked volts or a share, or an earlier result."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

from evlab.glossary import entry
from evlab.units import InputError, read, si

__all__ = ["same_store", "started"]


def same_store(vehicle: Any, earlier: Any) -> None:
    """Refuse in words to go on from a result of a vehicle with another store: its volts would be other joules."""
    mine, other = vehicle.store, earlier.vehicle.store if hasattr(earlier, "vehicle") else vehicle.store
    if mine == other or mine.kind != other.kind:  # another kind is refused by end_state
        return
    names = [f.name for f in fields(mine) if getattr(mine, f.name) != getattr(other, f.name)]
    raise InputError(f"Input start must be a result of a vehicle with this store; instead it has another {', '.join(names)}. To "
                     f"begin with as many volts, write start={earlier.rested_voltage:.4g}.")


def started(store: Any, start: Any, what: str) -> Any:
    """The state of a rested store at the asked start of a ride or a charge (`what`); only a charge begins at nothing."""
    empty = what == "charge"
    if start is None:
        return store.full_state()
    if isinstance(start, str) and start.strip().endswith("%"):
        share = read(start, entry("usable_share"), f"start of {what}").value
        if share < 0 or (share == 0 and not empty) or (share > 1.2 and empty):
            span = "at least 0 % and at most 120 %" if empty else "above 0 % and at most 100 %"
            raise InputError(f"Input start of {what} must be {span} of the charge; instead received {start!r}.")
        if store.kind == "supply":
            raise InputError(f"Input start of {what} must be left out for a supply, which has no charge; "
                             f"instead received {start!r}.")
        if share > 1 + 1e-9:
            _within_window(store, math.inf, start, what)
        return store.state_at_share(share)
    volts = si(start, entry("open_voltage"), f"start of {what}")
    if not 0 <= volts <= 1000 or (volts == 0 and not empty):
        least = "from zero" if empty else "above zero"
        raise InputError(f"Input start of {what} must be volts {least}; instead received {start}.")
    _within_window(store, volts, start, what)
    if store.kind == "supply" and volts != store.full_voltage:
        raise InputError(f"Input start of {what} must be the supply's own {store.full_voltage:g} V, or left out; "
                         f"instead received {start}.")
    return store.state_at(volts)


def _within_window(store: Any, volts: float, start: Any, what: str) -> None:
    """Refuse a ride that begins above the volts to which the store is charged."""
    if what == "charge" or store.kind == "supply" or volts <= store.charge_voltage * (1 + 1e-9):
        return
    raise InputError(f"Input start of {what} must be at most {store.charge_voltage:.4g} V, to which this store is charged "
                     f"(store.charge_voltage); instead received {start}. To begin fuller, change the charge voltage, and read what "
                     "the cautions say of the fullest cell.")
