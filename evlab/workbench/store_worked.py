"""The equations of a store and of charging it, worked with a vehicle's numbers: bank or pack, charger or resistor."""

from __future__ import annotations

from typing import Any

from evlab import balance, chargers, converter, lithium, store, wiring
from evlab.lithium import CELL_VOLTS
from evlab.look import setting
from evlab.units import InputError
from evlab.vehicle import load_vehicle
from evlab.workbench.equations import Shown, Worked

__all__ = ["of_charging", "of_store"]

POWER = 600.0  # W, taken from the store
RESISTOR = 6.0  # ohm, to charge through where there is no charger


def of_store(vehicle: Any = None) -> Worked:
    """The equations of a bank or a pack, worked with the vehicle's numbers.

    Parameters: `vehicle`, by default the learner's own.
    """
    v: Any = load_vehicle() if vehicle is None else vehicle
    s = _bank_or_pack(v, "of_store")
    lead = (f"{v.name}: {s.cells_in_series} cells in series, {setting(round(s.full_voltage, 2), 'V')} when full, stopped at "
            f"{setting(v.controller.stop_voltage, 'V')}, {setting(POWER, 'W')} taken.")
    return Worked(lead, [*(_pack(v) if s.kind == "lithium" else [*_bank(v), *_cells(s, s.cells_in_series)]), *_short(s)])


def _bank_or_pack(v: Any, what: str) -> Any:
    if v.store.kind not in ("capacitors", "lithium"):
        raise InputError(f"Input vehicle of {what} must have a bank or a pack; instead received one with a {v.store.kind}.")
    return v.store


def _under_power(full: float, ohm: float) -> list[Shown]:
    """What the terminals show while the power is taken; nothing where it cannot be had at all."""
    if full**2 <= 4 * ohm * POWER:
        return []
    return [Shown(store.voltage_under_power, {"open_voltage": full, "store_resistance": ohm, "store_power": POWER})]


def _pack(v: Any) -> list[Shown]:
    s, c, nominal = v.store, v.controller, v.store.cells_in_series * CELL_VOLTS[v.store.chemistry][1]
    amps = POWER / nominal
    rows = [
        Shown(lithium.pack_charge, {"cell_charge": s.cell_charge, "strings_in_parallel": s.strings_in_parallel},
              "In coulombs; 3600 of them are an ampere-hour."),
        Shown(lithium.pack_resistance, {"cells_in_series": s.cells_in_series, "strings_in_parallel": s.strings_in_parallel,
                                        "cell_resistance": s.cell_resistance, "joint_resistance": s.joint_resistance,
                                        "lead_resistance": s.lead_resistance}),
        Shown(lithium.cold_pack_resistance, {"store_resistance": s.resistance, "cell_temperature": 263.15},
              "Ten degrees below zero; leads and joints do not stiffen with the cells."),
        *_under_power(s.full_voltage, s.resistance),
        Shown(lithium.c_rate, {"store_current": amps, "charge": s.charge}, "At that power and the nominal volts, for each second."),
        Shown(lithium.compensated_stop, {"stop_voltage": c.stop_voltage, "store_current": amps,
                                         "sag_compensation": c.sag_compensation or s.resistance},
              "With the pack's own ohms made up for, it is not taken for empty on every hill.")]
    if s.strings_in_parallel > 1:
        rows.insert(2, Shown(lithium.shared_current_limit, {"cell_current_limit": s.cell_current_limit,
                                                            "strings_in_parallel": s.strings_in_parallel}))
    return rows


def _bank(v: Any) -> list[Shown]:
    s, full, stop, ohm = v.store, v.store.full_voltage, v.controller.stop_voltage, v.store.resistance
    rows = [
        Shown(store.bank_capacitance, {"cell_capacitance": s.cell_capacitance, "strings_in_parallel": s.strings_in_parallel,
                                       "cells_in_series": s.cells_in_series}, "In series volts add up and farads are divided."),
        Shown(store.bank_resistance, {"cells_in_series": s.cells_in_series, "cell_resistance": s.cell_resistance,
                                      "joint_resistance": s.joint_resistance, "strings_in_parallel": s.strings_in_parallel,
                                      "lead_resistance": s.lead_resistance}),
        Shown(store.usable_energy, {"capacitance": s.capacitance, "first_voltage": full, "last_voltage": stop}),
        Shown(store.usable_share, {"last_voltage": stop, "first_voltage": full}, "Why it stops with energy left in it."),
        *_under_power(full, ohm),
        Shown(store.collapse_voltage, {"store_power": POWER, "store_resistance": ohm},
              "Thin leads and old cells bring it up to where you ride.")]
    if full**2 > 4 * ohm * POWER:
        first, last = float(store.voltage_under_power(full, ohm, POWER)), max(stop, (POWER * ohm) ** 0.5)
        rows.append(Shown(store.constant_power_time, {"capacitance": s.capacitance, "store_power": POWER, "first_voltage": first,
                                                      "last_voltage": last, "store_resistance": ohm}))
    return rows


def _cells(s: Any, n: int) -> list[Shown]:
    rows = [Shown(balance.weak_cell, {"voltage": s.full_voltage, "cells_in_series": n, "weak_share": 1 / 1.2},
                  "One cell of the printed farads among others with a fifth more, after a fast charge.")]
    if s.cell_leakage:
        leak = float(balance.leak_resistance(s.cell_voltage, s.cell_leakage))
        rows += [Shown(balance.leak_resistance, {"cell_voltage": s.cell_voltage, "leak_current": s.cell_leakage}),
                 Shown(balance.floating_cell, {"voltage": s.full_voltage, "odd_resistance": leak / 2, "cells_in_series": n,
                                               "leak_resistance": leak}, "One cell leaks twice as much; months on a charger."),
                 Shown(balance.decay_time, {"drain_resistance": leak, "cell_capacitance": s.cell_capacitance,
                                            "voltage_share": 0.9})]
    return rows


def _short(s: Any) -> list[Shown]:
    area = s.lead_area or 6e-6
    rows = [Shown(store.short_circuit_current, {"voltage": s.full_voltage, "store_resistance": s.resistance})]
    if s.kind == "capacitors":
        loop = {"capacitance": s.capacitance, "voltage": s.full_voltage, "loop_resistance": s.resistance}
        rows.append(Shown(wiring.short_i2t, loop, "To be held against what a fuse lets through and what a wire bears."))
    leads = f"Leads of {setting(1e6 * area, 'mm²')}: where a short brings more, only a quicker fuse saves them."
    return [*rows, Shown(wiring.adiabatic_limit, {"wire_area": area}, leads)]


# ---------------------------------------------------------------- charging
def of_charging(vehicle: Any = None) -> Worked:
    """The equations of charging, worked with the vehicle's numbers from nearly empty to its charge volts.

    Parameters: `vehicle`, by default the learner's own.
    """
    v: Any = load_vehicle() if vehicle is None else vehicle
    s, c = _bank_or_pack(v, "of_charging"), v.charger
    first, last = float(v.controller.stop_voltage), float(s.charge_voltage)
    by, what = "a resistor", "bank" if s.kind == "capacitors" else "pack"
    if c.kind == "regulated":
        by = f"a charger of at most {setting(c.current_limit, 'A')} and {setting(c.power_limit, 'W')}"
    lead = (f"{v.name}: the {what} from {setting(first, 'V')} to {setting(last, 'V')}, through {by}, fed from "
            f"{setting(c.source_voltage, 'V')}.")
    into = _into_bank(s, c, first, last) if s.kind == "capacitors" else _into_pack(s, c)
    return Worked(lead, [*into, *(_from_source(s, c, first, last) if c.kind == "regulated" else [])])


def _into_bank(s: Any, c: Any, first: float, last: float) -> list[Shown]:
    ohm, above = s.resistance, max(c.source_voltage, last + 1.0)
    bank = {"capacitance": s.capacitance, "store_resistance": ohm, "first_voltage": first, "last_voltage": last}
    rows = []
    if c.kind == "regulated":
        upper = {name: float(store.voltage_under_power(volts, ohm, -c.power_limit)) for name, volts in
                 (("first_voltage", first), ("last_voltage", last))}
        amps = bank | {"charging_current": c.current_limit}
        rows = [Shown(chargers.constant_current_charge_time, amps, "If only the amperes bind.")]
        if first > 0:
            rows.append(Shown(chargers.constant_power_charge_time, bank | upper | {"charging_power": c.power_limit},
                              "If its power were the only limit: quick at first, since power over low volts is much current."))
    loop = (c.series_resistance if c.kind == "resistor" else RESISTOR) + ohm
    through = {"last_voltage": last, "first_voltage": first, "source_voltage": above}
    return [
        *rows,
        Shown(chargers.resistor_charge_efficiency, through, "Through a resistor: where are its ohms?"),
        Shown(chargers.resistor_peak_power, {"source_voltage": above, "first_voltage": first, "loop_resistance": loop},
              "What the resistor has to bear at the first instant."),
        Shown(store.worst_cell_voltage, {"voltage": last, "cells_in_series": s.cells_in_series, "cell_tolerance": s.cell_tolerance},
              f"The charger sees {setting(last, 'V')} and no single cell.")]


def _into_pack(s: Any, c: Any) -> list[Shown]:
    amps = getattr(c, "current_limit", 0.0) or s.cell_charging_limit * s.strings_in_parallel
    return [
        Shown(lithium.pack_charge, {"cell_charge": s.cell_charge, "strings_in_parallel": s.strings_in_parallel}),
        Shown(lithium.time_at_current, {"charge": s.charge, "first_share": 1.0, "last_share": 0.1, "store_current": amps},
              "What a constant current would take from a tenth to full; the tail at constant volts comes on top."),
        Shown(lithium.c_rate, {"store_current": amps, "charge": s.charge}, "For each second; times 3600 it is the C-rate.")]


def _from_source(s: Any, c: Any, first: float, last: float) -> list[Shown]:
    power = min(last * c.current_limit, c.power_limit)
    taken = float(converter.input_power(power, c.efficiency))
    rows = [Shown(converter.input_power, {"output_power": power, "efficiency": c.efficiency}, "In the last instant.")]
    if c.source_voltage**2 > 4 * c.source_resistance * taken:
        rows.append(Shown(chargers.source_current, {"input_power": taken, "source_voltage": c.source_voltage,
                                                    "source_resistance": c.source_resistance},
                          "So wire and fuse at the source are thicker than those at the store."))
    if c.source_charge:
        joules = s.energy(s.full_state()) - (s.energy(s.state_at(first)) if s.kind == "capacitors" else 0.0)
        coulombs = joules / c.efficiency / c.source_voltage
        rows.append(Shown(chargers.charges_per_source, {"source_charge": c.source_charge, "source_share": c.source_share,
                                                        "charge_taken": coulombs}))
    return rows
