"""What a maker asks of one store: each piece worked out when it is first read, so that a page pays for what it shows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab import cautions as rules
from evlab import ragone, wiring
from evlab.balance import FloatRun, Strings, decay, float_string, leak_resistance, random_strings
from evlab.discharging import Discharge, discharge
from evlab.emptying import HEAT, Emptier, emptier, heat_at_first
from evlab.lithium import CELL_VOLTS
from evlab.ragone import Row
from evlab.store import collapse_voltage, usable_share
from evlab.units import InputError, made_by

__all__ = ["StoreCase"]

BLEED = 10.0  # a bleeder drains so many times what the cell leaks, where none is fitted (common practice)


@dataclass(frozen=True)
class StoreCase:
    """One vehicle's store under the questions of its page.

    `vehicle`; `power` [W], `current` [A] and `load` [ohm] of three discharges; `low`, `high` the tolerance of the cells as
    bought; `seed` of the drawn strings; `float_days` on the charger, with one cell that leaks `leak_factor` times as much;
    `lead_length` [m] of all leads in a short circuit, of the store's own section or, where it states none, `lead_area` [m2];
    `pack`, a vehicle with another store to hold beside it; `trip`, a ride.
    """

    vehicle: Any
    power: float = 600.0
    current: float = 30.0
    load: float = 1.0
    low: float = 0.0
    high: float = 0.2
    seed: int = 1
    float_days: float = 30.0
    leak_factor: float = 2.0
    lead_length: float = 1.0
    lead_area: float = 6e-6
    pack: Any = None
    trip: Any = None

    def __post_init__(self) -> None:
        for name, v in (("vehicle", self.vehicle), ("pack", self.pack)):
            if v is not None or name == "vehicle":
                made_by(f"{name} of StoreCase", v, "effective_mass", "evlab.load_vehicle()")

    @property
    def store(self) -> Any:
        return self.vehicle.store

    @property
    def stop(self) -> float:
        """Volts at the terminals at which the vehicle gives up [V]."""
        return float(self.vehicle.converter.stops_at(self.vehicle.controller.stop_voltage))

    @property
    def temperature(self) -> float:
        """Temperature of the cells: that of the air [K]."""
        return float(self.vehicle.road.air_temperature)

    # ------------------------------------------------------------ what comes out
    @cached_property
    def discharges(self) -> tuple[Discharge, ...]:
        """At constant power, at constant current and through a resistor, from charged to the stop volts; none of a supply."""
        if self.store.kind == "supply":
            return ()
        loads: tuple[Mapping[str, float], ...] = ({"power": self.power}, {"current": self.current}, {"resistance": self.load})
        return tuple(self._one(**load) for load in loads)

    def _one(self, power: float | None = None, current: float | None = None, resistance: float | None = None) -> Discharge:
        return discharge(self.store, power=power, current=current, resistance=resistance, stop=self.stop,
                         temperature=self.temperature)

    @property
    def usable_share(self) -> float:
        """Share of the energy above the stop volts; what the resistance takes comes off; nan for a supply, which has no end."""
        if self.store.kind == "capacitors":
            return float(usable_share(self.stop, self.store.full_voltage))
        if self.store.kind == "supply":
            return math.nan
        return 1 - self.store.energy(self._at_stop()) / self.store.energy(self.store.full_state())

    def _at_stop(self) -> Any:
        """The pack's state when it rests at the stop volts; empty where they lie below its table."""
        try:
            return self.store.state_at(self.stop)
        except InputError:
            return self.store.state_at_share(0.0)

    @property
    def collapse_voltage(self) -> float:
        """Inner volts below which the power cannot be had [V]."""
        ohm = self.store.inside(self.store.full_state(), self.store.parameters(self.temperature))[1]
        return float(collapse_voltage(self.power, ohm))

    @property
    def emptier(self) -> Emptier | None:
        """A resistor that can be bought and empties this bank for work; None of a pack."""
        return emptier(self.store)

    @property
    def load_watts(self) -> float:
        """What the resistor of this case takes in the first instant [W]."""
        return heat_at_first(self.store.full_voltage, self.load, self.store.resistance)

    @property
    def bearable_watts(self) -> float:
        """What a large resistor bears for long [W]."""
        return HEAT

    @cached_property
    def cautions(self) -> list[Any]:
        """What is dangerous in what this case shows, the worst first."""
        return rules.of_store(self, wiring.short_cautions(self.vehicle, self.short))

    # ------------------------------------------------------------ the cells
    @cached_property
    def strings(self) -> Strings | None:
        """The fullest cell of many strings of cells as bought; None for a lithium pack, whose board watches every cell."""
        s = self.store
        if s.kind != "capacitors":
            return None
        return random_strings(s.full_voltage, s.cells_in_series, self.low, self.high, rated=s.cell_rated_voltage,
                              surge=s.cell_surge_voltage, seed=self.seed)

    @cached_property
    def drains(self) -> tuple[float, float] | None:
        """What cells side by side leak through, and their bleeder, fitted or as one would fit it [ohm]; None without leakage."""
        s = self.store
        if s.kind != "capacitors" or not s.cell_leakage:
            return None
        leak = float(leak_resistance(s.cell_rated_voltage, s.cell_leakage * s.strings_in_parallel))
        return leak, s.bleed_resistance or leak / BLEED

    @cached_property
    def floats(self) -> dict[str, FloatRun]:
        """On the charger for days, one cell leaking more than the others."""
        s = self.store
        if self.drains is None or s.cells_in_series < 2:
            return {}
        leak, bleed = self.drains
        return {name: float_string(s.full_voltage, s.cells_in_series, self._farad, leak, self.float_days * 86400,
                                   leak_factor=self.leak_factor, bleed=ohm)
                for name, ohm in (("without bleeders", 0.0), ("with bleeders", bleed))}

    @cached_property
    def holding(self) -> dict[str, tuple[Any, Any]]:
        """Share of the volts that is left, against the time off the charger [s]."""
        if self.drains is None:
            return {}
        leak, bleed = self.drains
        return {"leakage alone": decay(self._farad, leak), "with bleeders": decay(self._farad, leak * bleed / (leak + bleed))}

    @property
    def _farad(self) -> float:
        """Capacitance of the cells side by side that share one bleeder [F]."""
        return float(self.store.cell_capacitance * self.store.strings_in_parallel)

    # ------------------------------------------------------------ a short, and the other store
    @cached_property
    def short(self) -> Any:
        """A dead short at the end of the leads."""
        return wiring.short_of(self.store, lead_length=self.lead_length,
                               lead_area=getattr(self.store, "lead_area", 0.0) or self.lead_area,
                               current_limit=self.vehicle.controller.store_current_limit)

    @cached_property
    def ragone(self) -> dict[str, tuple[Any, Any]]:
        """Energy that each store gives against the power: {label: (W, J)}."""
        made = {}
        for label, v in self._stores().items():
            case = self if v is self.vehicle else StoreCase(v)
            powers = ragone.powers_of(v.store)
            made[label] = (powers, ragone.energy_at_powers(v.store, powers, case.stop, case.temperature))
        return made

    def _stores(self) -> dict[str, Any]:
        """The vehicles to hold beside each other; a supply, which has no end, is left out."""
        words, mine = {"capacitors": "bank", "lithium": "pack", "supply": "supply"}, self.store.kind
        made = {f"this {words[mine]}": self.vehicle}
        if self.pack is not None:
            made[f"the {words[self.pack.store.kind]} beside it"] = self.pack
        return {label: v for label, v in made.items() if v.store.kind != "supply"}

    @property
    def dots(self) -> dict[str, tuple[float, float]]:
        """The trip as a point: its mean power and its top power [W] over the energy it takes [J]."""
        if self.trip is None or self.trip.ledger["store"] <= 0:
            return {}
        joules = self.trip.ledger["store"]
        top = float(np.nanmax(self.trip.column("store_volts") * self.trip.column("store_amps")))
        return {"the trip, mean power": (joules / self.trip.duration, joules), "the trip, top power": (top, joules)}

    @cached_property
    def comparison(self) -> list[Row]:
        """The stores side by side, line by line, each with its source; never in one score."""
        return ragone.compare_stores(self._stores(), self.trip)

    def table(self) -> Any:
        """The same as a pandas DataFrame, a column for each store."""
        import pandas as pd

        made = {f"{row.what}{f' [{row.unit}]' if row.unit else ''}": row.values for row in self.comparison}
        return pd.DataFrame.from_dict(made, orient="index", columns=list(self._stores()))

    def cells_for(self, power: float | None = None, energy: float | None = None) -> tuple[float, float]:
        """Lithium cells that would do the same: (by energy, by power), before they are rounded up.

        By default the energy above the stop volts and the power of this case; the cell is that of `pack`.
        """
        if self.pack is None or self.pack.store.kind != "lithium":
            raise InputError("Input pack of StoreCase must be a vehicle with a lithium store, whose cell is counted.")
        cell = self.pack.store
        joules = self.usable_share * self.store.energy(self.store.full_state()) if energy is None else energy
        volts = CELL_VOLTS[cell.chemistry][1]
        watts = self.power if power is None else power
        return (float(ragone.cells_by_energy(joules, 0.8, cell.cell_charge, volts)),
                float(ragone.cells_by_power(watts, cell.cell_current_limit, volts, cell.cell_resistance)))
