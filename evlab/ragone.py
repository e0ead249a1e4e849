"""Choosing a store: energy against power, and two stores side by side, never in one score."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.charging import charge
from evlab.equation import Equation
from evlab.lithium import CELL_VOLTS, open_cell_volts
from evlab.sources import cite
from evlab.store import constant_power_time, usable_power, voltage_under_power
from evlab.units import InputError

__all__ = [
    "YARDSTICKS", "Row", "Yardstick", "cells_by_energy", "cells_by_power", "compare_stores", "energy_at_power", "energy_at_powers",
    "lithium_energy", "powers_of",
]

cells_by_energy = Equation(
    "ragone.cells_by_energy", "number_of_cells",
    lambda energy, usable_share, cell_charge, cell_voltage: energy / (usable_share * cell_charge * cell_voltage),
    title="Lithium cells that hold an energy, within the share of their charge that they like to give.",
    source=("definition",), tag="S25", within="nominal cell volts; round up")

cells_by_power = Equation(
    "ragone.cells_by_power", "number_of_cells",
    lambda power_needed, cell_current_limit, cell_voltage, cell_resistance:
        power_needed / (cell_current_limit * (cell_voltage - cell_current_limit * cell_resistance)),
    title="Lithium cells that give a power, each at its own limit of current.", source=("circuits",), tag="S25",
    within="equal sharing; round up")

lithium_energy = Equation(
    "ragone.lithium_energy", "delivered_energy",
    lambda power_needed, usable_share, charge, store_current: power_needed * usable_share * charge / store_current,
    title="Energy that a share of a pack's charge gives at a constant power.", source=("circuits",), tag="S25",
    within="mean open-circuit volts; the current is the one at that power")


# ---------------------------------------------------------------- energy against power
def energy_at_powers(store: Any, powers: Any, stop: float, temperature: float = 293.15) -> Any:
    """Energy that a charged store gives at constant powers, until its terminals fall to the stop volts [J].

    Parameters: `store`, a bank or a pack; `powers` [W], an array; `stop` [V]; `temperature` of the cells [K].
    Returns an array: 0 where the first instant already fails.  A bank by the closed form, over the capacitance that has time to
    answer: within 2 % of `discharging.discharge` for a slow branch of up to 12 %, most often within 1 % (a test).  A pack by the
    sum over its table,
    its slow branch settled, and no further than its cells' limit of current.  `discharging.discharge` is the second route.
    """
    try:
        powers = np.asarray(powers, float)
    except (TypeError, ValueError):
        powers = np.array(math.nan)
    for name, good, like in (("powers", np.all(np.isfinite(powers) & (powers > 0)), "powers above zero in W, like [100.0, 300.0]"),
                             ("stop", 0 <= (stop if type(stop) in (int, float) else math.nan) < math.inf, "volts from zero up, "
                              "like 15.0")):
        if not good:
            raise InputError(f"Input {name} of energy_at_powers must be {like}.")
    if not hasattr(store, "kind") or not hasattr(store, "full_state"):
        raise InputError(f"Input store of energy_at_powers must be a bank or a pack, like vehicle.store; instead received "
                         f"{store!r}.")
    p, full = store.parameters(temperature), store.full_state()
    if store.kind == "capacitors":
        farad, source = _farads(store, full, stop), store.inside(full, p)
        time = _bank_energy(farad, source, powers, stop) / powers
        for _ in range(3):  # the quicker the discharge, the less of the slow branches takes part; it settles at once
            time = _bank_energy(farad * _answering(store, p, time), source, powers, stop) / powers
        return powers * time
    if store.kind == "lithium":
        return _pack_energy(store, p, powers, stop)
    raise InputError(f"Input store of energy_at_powers must be a bank or a pack; instead received the kind {store.kind!r}.")


def energy_at_power(store: Any, power: float, stop: float, temperature: float = 293.15) -> float:
    """The same for one power [W]: J."""
    return float(energy_at_powers(store, np.array([power]), stop, temperature)[0])


def _farads(store: Any, full: Any, stop: float) -> float:
    """The capacitance with which C V^2/2 tells the energy between full and stop volts, where it grows with the volts [F]."""
    first = store.open_voltage(full)
    if not store.capacitance_slope or not 0 <= stop < first:
        return float(store.capacitance)
    return float(2 * (store.energy(full) - store.energy(store.state_at(stop))) / (first**2 - stop**2))


def _answering(store: Any, p: Any, time: Any) -> Any:
    """Share of a bank's capacitance that takes part in a discharge of so many seconds.

    A capacitor behind a resistor that is pulled down evenly for a time T lags: it falls by 1 - tau/T (1 - exp(-T/tau)) of what
    is in front of the resistor, by the step response of the textbook, summed up.
    """
    share = 1.0
    for part, farad, ohm in ((store.slow_share, p[2], p[3]), (store.overnight_share, p[4], p[5])):
        lag = np.maximum(time, 1e-9) / (farad * ohm) if farad > 0 and ohm > 0 else np.inf
        share = share - part * -np.expm1(-lag) / lag
    return share


def _bank_energy(farad: Any, source: tuple[float, float], powers: Any, stop: float) -> Any:
    open_volts, ohm = source
    possible = open_volts**2 > 4 * ohm * powers
    first = voltage_under_power.arrays(open_volts, ohm, np.where(possible, powers, 0.0))
    last = np.maximum(stop, np.sqrt(powers * ohm))
    good = possible & (first > last)
    time = constant_power_time.arrays(farad, powers, np.where(good, first, 1.0), np.where(good, last, 1.0), ohm)
    return np.where(good, powers * time, 0.0)


def _pack_energy(store: Any, p: Any, powers: Any, stop: float) -> Any:
    share = np.linspace(1.0, 0.0, 801)
    inside = store.cells_in_series * open_cell_volts(store.chemistry, share)
    ohm = np.array([store.inside(np.array([z, 0.0]), p)[1] for z in share]) + p[3]
    with np.errstate(invalid="ignore", divide="ignore"):
        volts = (inside + np.sqrt(inside**2 - 4 * ohm * powers[:, None])) / 2
        fit = np.logical_and.accumulate((volts >= stop) & (powers[:, None] / volts <= store.current_limit), axis=1)
        each = np.where(fit, volts, 0.0)
    mean = np.where(fit[:, 1:], (each[:, 1:] + each[:, :-1]) / 2, 0.0)
    return store.charge * mean.sum(axis=1) / (len(share) - 1)


def powers_of(store: Any, number: int = 60) -> Any:
    """Powers for a curve of this store: from emptying it in some hours to the most it can give [W]."""
    volts, ohm = store.inside(store.full_state(), store.parameters())
    most = volts**2 / (4 * ohm)
    if store.kind == "lithium":
        most = min(most, store.current_limit * volts)
    return np.geomspace(max(store.energy(store.full_state()) / 36000, 1e-3 * most), 0.999 * most, number)


# ---------------------------------------------------------------- side by side
@dataclass(frozen=True)
class Row:
    """One line of a comparison: what, its unit, a number or words for each store in turn, and where the figure is from."""

    what: str
    unit: str
    values: tuple[Any, ...]
    source: str


DENSITY = {"capacitors": 1.08, "lithium": 2.8}  # kg/l of the cells: 160 g in 60 mm x 52 mm; 48 g in 18.3 mm x 65 mm (memory)
CYCLES = {"capacitors": "500 000 to 1 000 000", "lithium": "300 to 1000"}
COLD = {"capacitors": "charges and gives to -40 °C, at about twice the ohms",
        "lithium": "never charge below 0 °C; gives less below 10 °C"}
KNOWS = {"capacitors": "read from the volts", "lithium": "count the charge; the volts tell little in the middle"}
FIRE = {"capacitors": "vents fumes that burn when over-charged; a short welds",
        "lithium": "thermal runaway: fire that feeds itself; a short welds"}


def compare_stores(vehicles: dict[str, Any], trip: Any = None) -> list[Row]:
    """Two or more vehicles' stores side by side, each with its own charger, stop volts and costs.

    Parameters: `vehicles`, {label: vehicle}; `trip`, a ride whose energy and power are asked of each.
    Returns rows; they are never added up to one score.
    """
    several = list(vehicles.values())
    at = "100 W" if trip is None else "the trip's mean power"
    facts = [_facts(v, trip) for v in several]
    rows = (("Mass", "kg", "mass", "definition"), ("Volume of the cells", "l", "volume", "cell-sizes"),
            ("Energy when full", "Wh", "full", "circuits"),
            (f"Energy to the stop volts, at {at}", "Wh", "usable", "circuits"),
            ("Power: a bank's for seconds, a pack's for long", "W", "power", "edlc-sheet-3000F"),
            ("Trips on one charge", "", "trips", "definition"),
            ("Time to charge", "min", "minutes", "circuits"), ("Cycles until 80 % are left", "", "cycles", "store-life"),
            ("Cost of one trip, store and energy", "", "cost", "definition"), ("Cold", "", "cold", "store-life"),
            ("How full it is", "", "knows", "common practice"), ("If all goes wrong", "", "fire", "common practice"))
    return [Row(what, unit, tuple(f[key] for f in facts), cite(source)) for what, unit, key, source in rows]


def _facts(v: Any, trip: Any) -> dict[str, Any]:
    store, costs, kind = v.store, v.costs, v.store.kind
    joules = trip.ledger["store"] if trip is not None else math.nan
    power = max(joules / trip.duration, 1.0) if trip is not None else 100.0
    usable = energy_at_power(store, power, v.converter.stops_at(v.controller.stop_voltage), v.road.air_temperature)
    full = charge(v, hold=f"{0.05 * store.charge / 3600:.4g} A" if kind == "lithium" and v.charger.kind == "regulated" else None)
    cycles = costs.store_cycles or CYCLES[kind]
    trips = usable / joules if joules > 0 else math.nan
    return {"mass": store.mass, "volume": store.mass / DENSITY[kind], "full": store.energy(store.full_state()) / 3600,
            "usable": usable / 3600, "power": _power(store), "trips": trips,
            "minutes": full.duration / 60 if full.outcome == "full" else f"no: {full.outcome}", "cycles": cycles,
            "cost": _cost(v, joules, trips, full), "cold": COLD[kind], "knows": KNOWS[kind], "fire": FIRE[kind]}


def _power(store: Any) -> float:
    """What it gives for some seconds by the sheets' rule for capacitors, for long by its cells' limit for lithium [W]."""
    if store.kind == "capacitors":
        return float(usable_power(store.full_voltage, store.resistance))
    nominal = store.cells_in_series * CELL_VOLTS[store.chemistry][1]
    return float(store.current_limit * (nominal - store.current_limit * store.resistance))


def _cost(v: Any, joules: float, trips: float, full: Any) -> float | str:
    """Wear of the store and energy from the source, for one trip, in the maker's money; by years where they come first."""
    c = v.costs
    if not c.store_price or not c.store_cycles or not trips > 0:
        return "not stated"
    by_cycles, by_years = c.store_cycles * trips, c.store_years * 365 * c.trips_per_day or math.inf
    source = joules / (full.efficiency if full.efficiency == full.efficiency else 1.0)
    return float(c.store_price / min(by_cycles, by_years) + c.energy_price * source / 3.6e6)


# ---------------------------------------------------------------- yardsticks
@dataclass(frozen=True)
class Yardstick:
    """An everyday store, to hold a bank beside: energy [J], and where the figure is from."""

    name: str
    energy: float
    source: str


YARDSTICKS = (
    Yardstick("an AA alkaline cell", 2.8 * 3600, "from memory: 1.9 Ah at 1.5 V, emptied slowly"),
    Yardstick("a phone", 15 * 3600, "from memory: 4 Ah at 3.85 V"),
    Yardstick("a rider's hour at 100 W", 100 * 3600, "definition"),
    Yardstick("a litre of petrol through an engine", 0.25 * 32e6, "from memory: 32 MJ/l, a quarter of it at the wheel"),
)
