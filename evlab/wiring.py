"""Short circuit, wire, fuse and the capacitors behind them: what 35 V can do when nothing limits the current."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import sympy

from evlab import data
from evlab.cautions import Caution
from evlab.emptying import emptier
from evlab.equation import Equation
from evlab.glossary import entry
from evlab.sources import cite
from evlab.store import energy, short_circuit_current
from evlab.units import InputError

__all__ = [
    "PreCharge", "Short", "adiabatic_limit", "cable_table", "copper_resistance", "decaying_limit_time", "fitting_area",
    "fuse_findings", "fuse_rating", "lead_drop", "lead_heat", "limit_time", "melting_current", "precharge", "precharge_current",
    "precharge_power", "precharge_time", "short_cautions", "short_i2t", "short_of", "short_time_constant", "wire_heat", "wire_rise",
]

_SHORT = "a dead short; the wiring's inductance and the growth of resistance with heat left out"
_COLD = "all heat stays in the copper, which keeps the resistance it had at 20 degC; some seconds at most"
_COPPER = "copper at 20 degC; 0.4 % more for each kelvin"

short_time_constant = Equation(
    "wiring.short_time_constant", "time_constant", lambda loop_resistance, capacitance: loop_resistance * capacitance,
    title="Time constant of a bank that empties through a loop of resistance.", source=("circuits",), tag="S19", within=_SHORT)

short_i2t = Equation(
    "wiring.short_i2t", "heating_integral",
    lambda capacitance, voltage, loop_resistance: capacitance * voltage**2 / (2 * loop_resistance),
    title="All that a shorted bank can give of current squared times time: its energy over the loop's resistance.",
    source=("derived",), tag="S19", within=_SHORT)

wire_heat = Equation(
    "wiring.wire_heat", "wire_energy",
    lambda energy, wire_resistance, loop_resistance: energy * wire_resistance / loop_resistance,
    title="Share of the energy that goes into one wire of the loop.", source=("circuits",), tag="S19", within=_SHORT)

wire_rise = Equation(
    "wiring.wire_rise", "wire_rise",
    lambda wire_energy, copper_density, copper_heat, wire_length, wire_area:
        wire_energy / (copper_density * copper_heat * wire_length * wire_area),
    title="Rise of a wire that keeps the heat put into it.", source=("copper-heat",), tag="S19", within=_COLD)

adiabatic_limit = Equation(
    "wiring.adiabatic_limit", "wire_limit", lambda wire_constant, wire_area: wire_constant**2 * wire_area**2,
    title="Current squared times time that a wire takes before its insulation is spoilt.", source=("iec-60364-4-43",), tag="S20",
    within="up to 5 s; copper in PVC that is warm from use (70 degC) and may reach 160 degC once")

limit_time = Equation(
    "wiring.limit_time", "time", lambda wire_limit, wire_current: wire_limit / wire_current**2,
    title="Time until a steady current has spoilt the insulation.", source=("iec-60364-4-43",), tag="S20",
    within="up to 5 s; after that heat flows off and the wire lasts longer")

decaying_limit_time = Equation(
    "wiring.decaying_limit_time", "time",
    lambda time_constant, wire_limit, heating_integral: -time_constant / 2 * sympy.log(1 - wire_limit / heating_integral),
    title="Time until a shorted bank has spoilt the insulation of a wire.", source=("derived",), tag="S20",
    within="the bank can give more than the wire takes; up to 5 s")

melting_current = Equation(
    "wiring.melting_current", "wire_current",
    lambda melting_constant, wire_area, melting_temperature, wire_temperature, copper_zero, time:
        melting_constant * wire_area
        * sympy.sqrt(sympy.log(1 + (melting_temperature - wire_temperature) / (wire_temperature - copper_zero))
                     / (sympy.log(10) * time)),
    title="Current that melts a copper wire in a time (Onderdonk).", source=("onderdonk",), tag="S20",
    within="up to 10 s, no joints, no heat flows off", limits={"time": (0.0, 10.0)})

copper_resistance = Equation(
    "wiring.copper_resistance", "wire_resistance",
    lambda copper_resistivity, wire_length, wire_area: copper_resistivity * wire_length / wire_area,
    title="Resistance of copper leads, there and back.", source=("iec-60028", "iec-60228"), tag="S19",
    within=_COPPER + "; a cable may have up to 16 % more, see the table of IEC 60228")

lead_drop = Equation(
    "wiring.lead_drop", "voltage_drop",
    lambda wire_current, copper_resistivity, wire_length, wire_area: wire_current * copper_resistivity * wire_length / wire_area,
    title="Volts lost in the leads, there and back.", source=("iec-60028",), tag="S21", within=_COPPER)

lead_heat = Equation(
    "wiring.lead_heat", "lead_heat",
    lambda wire_current, copper_resistivity, wire_length, wire_area:
        wire_current**2 * copper_resistivity * wire_length / wire_area,
    title="Heat in the leads, there and back.", source=("iec-60028",), tag="S21", within=_COPPER)

fuse_rating = Equation(
    "wiring.fuse_rating", "fuse_current", lambda rms_current, fuse_share: rms_current / fuse_share,
    title="Smallest rating of a fuse that carries a current for hours.", source=("common practice",), tag="S21",
    within="a fuse in free air of 20 degC; warmer boxes take a larger one")

precharge_current = Equation(
    "wiring.precharge_current", "precharge_current", lambda voltage, loop_resistance: voltage / loop_resistance,
    title="First current into empty bus capacitors.", source=("circuits",), tag="C13", within="inductance left out")

precharge_time = Equation(
    "wiring.precharge_time", "time",
    lambda loop_resistance, capacitance, voltage_share: loop_resistance * capacitance * sympy.log(1 / (1 - voltage_share)),
    title="Time until bus capacitors have reached a share of the store's volts.", source=("circuits",), tag="C13",
    within="nothing draws from the bus meanwhile", limits={"voltage_share": (0.0, 1 - 1e-9)})

precharge_power = Equation(
    "wiring.precharge_power", "resistor_power", lambda voltage, loop_resistance: voltage**2 / loop_resistance,
    title="Largest power in the pre-charge resistor: at the first moment, and for ever when the bus is shorted.",
    source=("circuits",), tag="C13", within="the resistor is nearly all of the loop")


# ---------------------------------------------------------------- wire
@lru_cache(maxsize=1)
def cable_table() -> Mapping[float, float]:
    """Sections of flexible cable [m2] and the most each may have of resistance at 20 degC [ohm/m], by IEC 60228, class 5."""
    rows = (line for line in data.read_text("iec-60228-class-5.csv").splitlines() if not line.startswith("#"))
    return {float(r["area_mm2"] + "e-6"): float(r["ohm_per_km"] + "e-3") for r in csv.DictReader(rows)}


def fitting_area(i2t: float) -> float | None:
    """The smallest section of the cable table whose insulation outlasts `i2t` [A2 s], in m2; None where none does."""
    return next((area for area in cable_table() if adiabatic_limit(wire_area=area) > i2t), None)


# ---------------------------------------------------------------- pre-charge
@dataclass(frozen=True)
class PreCharge:
    """Bus capacitors charged through a resistor: `direct` and `peak` [A] without and with it, `time_constant` and `time` [s]
    to the share asked for, `energy` [J] into the resistor, `peak_power` [W]."""

    direct: float
    peak: float
    time_constant: float
    time: float
    energy: float
    peak_power: float


def precharge(voltage: float, capacitance: float, resistance: float, *, source_resistance: float = 0.0,
              share: float = 0.95) -> PreCharge:
    """Charge the capacitors of a controller from a store through a resistor.

    Parameters: voltage [V] of the store; capacitance [F] of the bus; resistance [ohm] for pre-charge; source_resistance [ohm]
    of store, leads and capacitors, all there is without the resistor; share [1] of the volts at which the contact may close.
    Returns PreCharge (`direct` is inf where source_resistance is not stated).  Raises InputError for what is not above zero.
    """
    _need(0 < share < 1, "share", "precharge", "between 0 and 1", share)
    _need(0 < voltage < math.inf, "voltage", "precharge", "above zero", voltage)
    _need(source_resistance >= 0, "source_resistance", "precharge", "zero (not stated) or more ohms", source_resistance)
    loop = resistance + source_resistance
    tau = float(short_time_constant(loop, capacitance))
    return PreCharge(voltage / source_resistance if source_resistance else math.inf, float(precharge_current(voltage, loop)), tau,
                     float(precharge_time(loop, capacitance, share)), float(energy(capacitance, voltage)),
                     float(precharge_power(voltage, loop)))


# ---------------------------------------------------------------- short circuit
@dataclass(frozen=True)
class Short:
    """A dead short of a full store.

    `current` [A] at first, through `loop_resistance` [ohm]; `time_constant` [s] and `i2t` [A2 s], both inf for a store that
    keeps its volts; `times` [s] and `amps` [A]; `wires`, what each section takes {m2: A2 s}, and `limit_times` {m2: s} until
    it is spoilt (inf: never); `fitting` [m2] the smallest section that outlasts it (None: none does); `wire_energy` [J] and
    `wire_rise` [K] of the lead that was stated (0 where none was, inf where the current stays); `fuse` [A], 0 where none is
    stated; `findings`, cautions.
    """

    current: float
    loop_resistance: float
    time_constant: float
    i2t: float
    times: Any
    amps: Any
    wires: Mapping[float, float]
    limit_times: Mapping[float, float]
    fitting: float | None
    wire_energy: float
    wire_rise: float
    fuse: float
    findings: list[Caution]


def short_of(store: Any, *, lead_length: float = 0.0, lead_area: float = 0.0, ride_rms: float = 0.0,
             current_limit: float = 0.0) -> Short:
    """What a dead short of this store does to itself, to wires and to its fuse.

    Parameters: store, any with full_voltage and resistance, and with capacitance where it has one; lead_length [m] of copper
    in the loop beyond the store's own leads, there and back; lead_area [m2] (0: the store's own, where stated); `ride_rms`
    and `current_limit` [A], what the fuse must carry (0: not stated).
    Returns Short.  Raises InputError for a store without any resistance, and a lead with length and no section.
    """
    area = lead_area or getattr(store, "lead_area", 0.0)
    _need(lead_length >= 0, "lead_length", "short_of", "zero or more metres", lead_length)
    _need(area > 0 or (area == 0 and lead_length == 0), "lead_area", "short_of", "above zero where the lead has a length", area)
    lead = float(copper_resistance(wire_length=lead_length, wire_area=area)) if lead_length else 0.0
    volts, loop = store.full_voltage, store.resistance + lead
    _need(0 < loop < math.inf, "store", "short_of", "one with some resistance, or the current has no bound", f"{loop:g} ohm")
    first, farads = float(short_circuit_current(volts, loop)), getattr(store, "capacitance", None)
    tau, i2t, rise, heat = math.inf, math.inf, math.inf if lead else 0.0, math.inf if lead else 0.0
    if farads is not None:
        tau, i2t = float(short_time_constant(loop, farads)), float(short_i2t(farads, volts, loop))
        heat = float(wire_heat(energy(farads, volts), lead, loop))
        rise = float(wire_rise(wire_energy=heat, wire_length=lead_length, wire_area=area)) if lead else 0.0
    times = np.linspace(0.0, 5.0 if farads is None else 6.0 * tau, 241)
    wires = {a: float(adiabatic_limit(wire_area=a)) for a in cable_table()}
    limit_times = {a: _spoilt_after(limit, first, tau, i2t) for a, limit in wires.items()}
    findings = _fuse_of(store, first, ride_rms, current_limit) + list(_lead_findings(store, area, first, tau, i2t))
    return Short(first, loop, tau, i2t, times, first * np.exp(-times / tau), wires, limit_times, fitting_area(i2t), heat, rise,
                 getattr(store, "fuse_current", 0.0), findings)


def _spoilt_after(limit: float, first: float, tau: float, i2t: float) -> float:
    """Seconds until a wire of this limit is spoilt; inf where it never is."""
    if math.isinf(tau):
        return float(limit_time(limit, first))
    return float(decaying_limit_time(tau, limit, i2t)) if limit < i2t else math.inf


# ---------------------------------------------------------------- fuse and cautions
def fuse_findings(current_rating: float, voltage_rating: float, breaking_current: float, full_voltage: float,
                  short_current: float, ride_rms: float = 0.0, current_limit: float = 0.0, *, clearing_integral: float = 0.0,
                  wire_limit: float = 0.0) -> list[Caution]:
    """What is wrong with a fuse before this store; an empty list where nothing is.

    Parameters: `current_rating` [A], `voltage_rating` [V, direct current] and `breaking_current` [A] of the fuse, each 0
    where it is not stated; full_voltage [V] of the store; short_current [A] of it; ride_rms [A], the root mean square of a
    ride (0: not stated); current_limit [A], what the controller may draw (0: not stated); clearing_integral [A2 s] of the fuse by
    its sheet (0: not stated); wire_limit [A2 s] of the thinnest wire behind it (0: not stated).
    """
    found = list(_fuse_rules(current_rating, voltage_rating, breaking_current, full_voltage, short_current))
    if 0 < wire_limit < clearing_integral:
        words = (f"The fuse lets {clearing_integral:.6g} A²s through until it has cleared, the wire takes {wire_limit:.6g} A²s: "
                 "the wire is the fuse. Take a faster fuse or a thicker wire.")
        found.append(Caution("danger", words, cite("iec-60364-4-43"), "store.lead_area"))
    return found + list(_fuse_load(current_rating, ride_rms, current_limit))


def _fuse_rules(rating: float, volts: float, breaks: float, full: float, short: float) -> Iterator[Caution]:
    blade = "common blade links are made for 32 V or 58 V and break 1000 A"
    source = cite("iso-8820-3")
    if not (rating or volts or breaks):
        words = (f"No fuse is stated. It belongs at the positive post, before anything else: for {full:g} V direct current or "
                 f"more, and able to break {short:.0f} A; {blade}.")
        yield Caution("caution", words, source, "store.fuse_current")
        return
    if 0 < volts < full:
        words = (f"The fuse is made for {volts:g} V, the full store has {full:g} V: the arc inside it may not go out. Look for "
                 f"the volts in direct current; {blade}.")
        yield Caution("danger", words, source, "store.fuse_voltage")
    if 0 < breaks < short:
        words = (f"A short draws {short:.0f} A at first, the fuse can break {breaks:g} A: it may burst, or weld and stay closed; "
                 f"{blade}.")
        yield Caution("danger", words, source, "store.fuse_breaking_current")
    unstated = [name for name, value in (("current", rating), ("volts in direct current", volts), ("breaking current", breaks))
                if value == 0]
    if unstated:
        words = f"Not stated of the fuse: {' and '.join(unstated)}. Its sheet tells; {blade}."
        yield Caution("caution", words, source, "store.fuse_current")


def _fuse_load(rating: float, rms: float, limit: float) -> Iterator[Caution]:
    practice = cite("common practice")
    if rating and rms > rating * entry("fuse_share").value * (1 + 1e-9):  # type: ignore[operator]
        words = (f"The ride draws {rms:.3g} A as root mean square, above 75 % of the fuse's {rating:g} A: it ages and blows on a "
                 f"warm day; {float(fuse_rating(rms)):.3g} A or more would carry it.")
        yield Caution("caution", words, practice, "store.fuse_current")
    if rating and limit > rating:
        words = (f"The store current limit of {limit:g} A is {100 * limit / rating:.4g} % of the fuse's {rating:g} A: a long pull "
                 "at the limit blows it.")
        yield Caution("note", words, practice, "store.fuse_current")


def _fuse_of(store: Any, short: float, rms: float, limit: float) -> list[Caution]:
    if not hasattr(store, "fuse_current"):  # a bench supply
        return []
    return fuse_findings(store.fuse_current, store.fuse_voltage, store.fuse_breaking_current, store.full_voltage, short, rms, limit)


def _lead_findings(store: Any, area: float, first: float, tau: float, i2t: float) -> Iterator[Caution]:
    if not area:
        return
    limit = float(adiabatic_limit(wire_area=area))
    after = _spoilt_after(limit, first, tau, i2t)
    if after > 5:  # beyond the range of the limit, heat flows off
        return
    fused = getattr(store, "fuse_current", 0.0) > 0
    much = "" if math.isinf(i2t) else f" ({i2t / 1e6:.3g} MA²s in all, {limit / 1e6:.3g} MA²s is what it takes)"
    words = (f"A short burns the insulation of leads of {area * 1e6:.3g} mm² after {after:.2g} s{much}: only a fuse that clears "
             "sooner saves them. Its sheet gives the clearing I²t; the piece before the fuse must be short and well covered.")
    yield Caution("caution" if fused else "danger", words, cite("iec-60364-4-43"), "store.lead_area", SHORTED if fused else "")


SHORTED = "short circuit"
_WORK = {
    "capacitors": "Work only on a bank that was emptied through a resistor ({}), then keep a strap across it: capacitors recover "
                  "some volts by themselves.",
    "lithium": "Cells cannot be emptied for the work: open the pack in the middle, and keep covers on all but the joint in hand.",
}


def short_cautions(vehicle: Any, short: Short | None = None) -> list[Caution]:
    """What a short of this vehicle's store does, its fuse and its leads: cautions to show beside the vehicle.

    `short`, one that was worked out with longer leads, stands for a short at the terminals in what is said of fuse and leads.
    """
    store, limit = vehicle.store, getattr(vehicle.controller, "store_current_limit", 0.0)
    volts, ohm = store.full_voltage, store.resistance
    first = volts / ohm if ohm > 0 else math.inf
    if first <= 100:
        return short.findings if short is not None else []
    draws = f"{first:.0f} A at first" if ohm > 0 else "any current"
    resistor = emptier(store)
    words = (f"A short at the terminals draws {draws}, though {volts:g} V seems little: a spanner or a ring welds fast and burns, "
             "the arc blinds. Insulated tools, goggles, no rings or chains, covers on, one joint at a time; a fuse at the positive "
             f"post. {_WORK.get(store.kind, '').format(resistor.words if resistor else 'a lamp')}")
    told = [Caution("caution", words.rstrip(), cite("circuits", "common practice"), "short_circuit_current", SHORTED)]
    if short is None and ohm > 0:
        short = short_of(store, current_limit=limit)
    return told + (short.findings if short is not None else [])


def _need(right: Any, name: str, function: str, must: str, got: object) -> None:
    if not right:  # nan compares as false, so it is refused too
        raise InputError(f"Input {name} of wiring.{function} must be {must}; instead received {got}.")
