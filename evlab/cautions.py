"""Rules that turn numbers into warnings, each with its source: danger before caution before note.

They inform; they do not certify.  A rule takes a vehicle, or the result of a ride, and gives the cautions it sees.  It
asks for names only, so this room knows neither the vehicle nor the ride.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.glossary import entry
from evlab.sources import cite
from evlab.units import write

__all__ = ["RIDE_RULES", "STATES", "VEHICLE_RULES", "Caution", "of_ride", "of_vehicle"]

STATES = ("danger", "caution", "note")


@dataclass(frozen=True)
class Caution:
    """A warning: `state` ("danger", "caution", "note"), `words` to a maker, `source`, and the glossary `field` it is about."""

    state: str
    words: str
    source: str
    field: str = ""


def of_vehicle(vehicle: Any) -> list[Caution]:
    """All cautions of a vehicle as it stands, the worst first."""
    made = [c for rule in VEHICLE_RULES for c in rule(vehicle)]
    told = {c.field for c in made if c.state != "note"}
    return _ordered([*made, *(c for c in _ranges(vehicle) if c.field not in told)])


def of_ride(result: Any) -> list[Caution]:
    """All cautions of a ride: what happened on it, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in RIDE_RULES for c in rule(result)), *of_vehicle(result.vehicle)])


def _ordered(cautions: Iterable[Caution]) -> list[Caution]:
    return sorted(cautions, key=lambda c: STATES.index(c.state))


# ---------------------------------------------------------------- the store
def _cell_volts(vehicle: Any) -> Iterator[Caution]:
    """Mean and fullest cell, when charged, against what the cell's maker allows."""
    store, edge = vehicle.store, 1e-9
    if not hasattr(store, "cell_rated_voltage"):
        return
    rated, surge, mean, worst = store.cell_rated_voltage, store.cell_surge_voltage, store.cell_voltage, store.worst_cell_voltage
    whole = f"charge the bank to {math.floor(10 * rated * store.cells_in_series + 1e-6) / 10:g} V at most"
    fullest = (f"The fullest cell, at {worst:.3f} V when the mean is {mean:.3f} V (cells that spread by "
               f"{100 * store.cell_tolerance:.3g} %), is above rated voltage ({rated:g} V)")
    vents = f"and above the surge limit of {surge:g} V: the electrolyte gasses and the can vents, flammable and toxic"
    source = cite("edlc-sheet-3000F", "derived")
    if mean > surge + edge:
        words = f"Each cell, at {mean:.3f} V, is above rated voltage ({rated:g} V) {vents}; {whole}."
        yield Caution("danger", words, source, "store.charge_voltage")
    elif worst > surge + edge:
        words = f"{fullest} {vents}; measure every cell, sort them, or charge less."
        yield Caution("danger", words, source, "store.cell_tolerance")
    elif mean > rated + edge:
        words = f"Each cell, at {mean:.3f} V, is above rated voltage ({rated:g} V): its life is short; {whole}."
        yield Caution("caution", words, source, "store.charge_voltage")
    elif worst > rated + edge:
        words = f"{fullest}; measure every cell on the first three charges."
        yield Caution("caution", words, source, "store.cell_tolerance")


def _short_circuit(vehicle: Any) -> Iterator[Caution]:
    volts, ohm = vehicle.store.full_voltage, vehicle.store.resistance
    amps = f"{volts / ohm:.0f} A" if ohm > 0 else "any current"
    if ohm == 0 or volts / ohm > 100:
        words = (f"A short at the terminals draws {amps} at first: a fuse at the positive post, rated for more than "
                 f"{volts:g} V direct current and able to break that current; covers on, rings off, one joint at a "
                 "time.")
        yield Caution("caution", words, cite("circuits", "common practice"), "short_circuit_current")


def _extra_low_voltage(vehicle: Any) -> Iterator[Caution]:
    name = "store.voltage" if vehicle.store.kind == "supply" else "store.charge_voltage"
    volts = vehicle.store.full_voltage
    if volts > 60:
        words = (f"{volts:g} V is above 60 V direct current, where extra-low voltage ends: touching it can kill; this "
                 "is work for licensed people under your local code.")
        yield Caution("danger", words, cite("extra-low-voltage"), name)
    elif volts > 48:
        words = (f"{volts:g} V is above 48 V, where some rules for light vehicles end, and near 60 V, where extra-low "
                 "voltage ends: check your local code.")
        yield Caution("caution", words, cite("extra-low-voltage", "en-15194"), name)


# ---------------------------------------------------------------- the cut-off
def _largest_amps(vehicle: Any) -> float:
    """Current of the store at the coil current limit and full duty, or its own limit [A]."""
    limits = vehicle.controller
    return float(min(limits.coil_current_limit * limits.duty_limit, limits.store_current_limit))


def _cut_off(vehicle: Any) -> Iterator[Caution]:
    limits, ohm, amps = vehicle.controller, vehicle.store.resistance, _largest_amps(vehicle)
    stop, resume, full = limits.stop_voltage, limits.resume_voltage, vehicle.store.full_voltage
    if stop >= full:
        words = f"Stop volts of {stop:g} V are not below the {full:g} V of the full store: the drive never runs."
        yield Caution("caution", words, cite("definition"), "controller.stop_voltage")
    if stop < amps * ohm:  # at the largest power the volts at the terminals are half of those inside, so equal to I R
        words = (f"Stop volts of {stop:g} V lie below the collapse at {amps * ohm:.3g} V: at the current limits the "
                 "store gives no more before the drive switches off, and the volts fall to nothing.")
        yield Caution("danger", words, cite("circuits"), "controller.stop_voltage")
    elif stop < 10:
        words = (f"Stop volts of {stop:g} V are below the 10 V that gate supplies commonly need: transistors that are "
                 "half on burn.")
        yield Caution("caution", words, cite("common practice"), "controller.stop_voltage")
    if resume - stop < amps * ohm:
        words = (f"Resume volts lie {resume - stop:.3g} V above the stop volts, less than the {amps * ohm:.3g} V by "
                 "which the store rebounds when the load goes: the drive chatters.")
        yield Caution("caution", words, cite("circuits"), "controller.resume_voltage")


# ---------------------------------------------------------------- brakes, heat, load
def _brakes(vehicle: Any) -> Iterator[Caution]:
    always = "two independent friction brakes, each tested loaded before a ride"
    if vehicle.gearing.freewheel or vehicle.controller.braking_current_limit == 0:
        why = "With a freewheel" if vehicle.gearing.freewheel else "With a braking limit of 0 A"
        field = "gearing.freewheel" if vehicle.gearing.freewheel else "controller.braking_current_limit"
        words = f"{why} the motor never brakes: the friction brakes must do it all; {always}."
        yield Caution("caution", words, cite("common practice"), field)
    else:
        words = f"The motor's braking ends with a full store, a blown fuse or a broken chain: {always}."
        yield Caution("note", words, cite("common practice"), "controller.braking_current_limit")


def _no_room_for_braking(vehicle: Any) -> Iterator[Caution]:
    store = vehicle.store
    if vehicle.gearing.freewheel or vehicle.controller.braking_current_limit == 0:
        return
    if store.kind == "supply":
        words = ("A bench supply takes no current back: while the motor brakes, its volts rise until something gives. Put a "
                 "resistor across it that draws more than the braking gives, or set the braking limit to 0.")
        yield Caution("caution", words, cite("common practice"), "controller.braking_current_limit")
    elif hasattr(store, "cell_rated_voltage"):
        rated = store.cells_in_series * store.cell_rated_voltage
        if 0.97 * rated < store.full_voltage <= rated * (1 + 1e-9):
            words = (f"Charged to {store.full_voltage:g} V, the bank has no room below its rated {rated:.4g} V for "
                     "what braking gives back: a descent at the start lifts it above.")
            yield Caution("caution", words, cite("common practice"), "store.charge_voltage")


def _coil_limit(vehicle: Any) -> Iterator[Caution]:
    limit = vehicle.motor.temperature_limit - 273.15
    if limit > 90.01:
        words = (f"A coil limit of {limit:.0f} °C: above 90 °C epoxy and formers soften, magnets beside the coils may "
                 "lose strength for good, and the copper burns skin.")
        yield Caution("caution", words, cite("common practice"), "motor.temperature_limit")


def _overload(vehicle: Any) -> Iterator[Caution]:
    for name in ("rider", "cargo"):
        high, mass = entry(f"load.{name}").high, getattr(vehicle.load, name)
        if high is not None and mass > high:
            words = (f"Overload: a {name} of {mass:g} kg, above {high:g} kg. Frame, fork, wheels and brakes carry "
                     "people: have them checked, and proof-load them standing.")
            yield Caution("caution", words, cite("common practice"), f"load.{name}")


# ---------------------------------------------------------------- what is known
def _where_to_ride(vehicle: Any) -> Iterator[Caution]:
    words = "Private ground only, until you have checked your local code for vehicles of this kind."
    yield Caution("note", words, cite("common practice"))
    if vehicle.vehicle.invented:
        words = f"{vehicle.name} is invented: nobody has built or tested it."
        yield Caution("note", words, cite("definition"), "vehicle.invented")


# Which test would tell what is only assumed.
TESTS: dict[str, tuple[str, ...]] = {
    "a discharge at constant current": (
        "store.cell_capacitance", "store.cell_resistance", "store.slow_share", "store.slow_resistance"),
    "volts over each joint under load": ("store.joint_resistance", "store.lead_resistance"),
    "the volts of every cell after a charge": ("store.cell_tolerance",),
    "volts of the supply with and without load": ("store.resistance",),
    "volts of the motor turned at a known speed": ("motor.constant",),
    "volts over winding and bridge at a known current": ("motor.resistance", "controller.bridge_resistance"),
    "swinging rotor and wheels on strings": ("motor.inertia", "vehicle.wheels_rotating_mass"),
    "a spin-down of the motor": ("motor.drag_torque", "motor.viscous_drag"),
    "heating the winding with known watts": ("motor.thermal_resistance", "motor.heat_capacity"),
    "an ammeter with the drive idle": ("controller.standby_power",),
    "rolling it out with the rider on": ("gearing.wheel_radius",),
    "power before and behind the chain": ("gearing.chain_efficiency",),
    "a coast-down on the level, both ways": ("road.rolling_coefficient", "road.bearing_force", "road.bearing_drag"),
    "rides at a speed where the air counts": ("road.drag_area",),
    "thermometer and barometer on the day": ("road.air_density", "road.air_temperature"),
}


def _assumed(vehicle: Any) -> Iterator[Caution]:
    values = vehicle.values()
    names = {name for name, value in values.items() if value.basis == "assumed" and value.entry.kind == "found"}
    told = [f"{test} ({', '.join(values[f].entry.label for f in found if f in names)})" for test, found in TESTS.items()
            if names.intersection(found)]
    if names:
        number = "1 value is" if len(names) == 1 else f"{len(names)} values are"
        words = f"{number} assumed, not measured. What would tell: {'; '.join(told)}."
        yield Caution("note", words, cite("common practice"))


def _ranges(vehicle: Any) -> Iterator[Caution]:
    for name, value in vehicle.values().items():
        e = value.entry
        if e.low is not None and e.high is not None and not e.low <= value.value <= e.high:
            words = (f"{e.label}, {value.shown}, lies outside the usual {write(e.low, e)} to {write(e.high, e)}: "
                     f"{e.why}.")
            yield Caution("note", words, cite("common practice"), name)


VEHICLE_RULES: tuple[Callable[[Any], Iterator[Caution]], ...] = (
    _cell_volts, _extra_low_voltage, _cut_off, _short_circuit, _overload, _coil_limit, _no_room_for_braking, _brakes, _assumed,
    _where_to_ride,
)


# ---------------------------------------------------------------- the ride
def _ended_early(result: Any) -> Iterator[Caution]:
    """Where it stands, what must hold it, and who brings it home."""
    if result.outcome == "arrived":
        return
    slope, vehicle = float(result.route.slope(result.distance)), result.vehicle
    if abs(slope) > 0.01:
        force = abs(vehicle.mass * entry("gravity").value * slope / math.hypot(1.0, slope))
        words = (f"The ride ended on a slope of {100 * abs(slope):.1f} %: the friction brake must hold {force:.0f} N, "
                 f"at once and without the motor. Who pushes {vehicle.mass:.0f} kg home?")
        yield Caution("danger", words, cite("mechanics", "common practice"), "slope")
    else:
        words = (f"The ride ended {result.route.length - result.distance:.0f} m short: who brings {vehicle.mass:.0f} "
                 "kg home?")
        yield Caution("caution", words, cite("common practice"), "distance")


def _uncontrolled_braking(result: Any) -> Iterator[Caution]:
    """Turned so fast that its EMF passes the store's volts, a motor charges through the bridge's diodes, asked or not."""
    vehicle = result.vehicle
    if vehicle.gearing.freewheel:
        return
    peak = vehicle.motor.drive_constant * (1.0 if vehicle.motor.kind == "brushed" else math.pi / 3)  # line to line (M9)
    turning = vehicle.gearing.ratio / vehicle.gearing.wheel_radius
    over = peak * turning * np.abs(result.column("speed")) - result.column("store_volts")
    at = int(np.argmax(np.nan_to_num(over, nan=-np.inf)))
    if over[at] > 0:
        speed = abs(float(result.column("speed")[at]))
        words = (f"At {speed:.1f} m/s the back-EMF is above the store's volts: the motor brakes through the diodes, "
                 "and nothing can switch that off.")
        yield Caution("danger", words, cite("power-electronics"), "back_emf")


def _runaway(result: Any) -> Iterator[Caution]:
    places, posted = (np.array(x, float) for x in zip(*result.route.limits, strict=True))
    where, speed = result.column("distance"), result.column("speed")
    allowed = posted[np.clip(np.searchsorted(places, where, side="right") - 1, 0, len(posted) - 1)]
    at = int(np.argmax(speed / allowed))
    if speed[at] > 1.25 * allowed[at]:
        falls = float(result.route.slope(where[at])) < -0.01
        state, what = ("danger", "Runaway") if falls else ("caution", "Too fast")
        words = (f"{what}: {speed[at]:.1f} m/s at {where[at]:.0f} m, where {allowed[at]:.1f} m/s are posted: brakes, "
                 "tyres and fork must be rated for the fastest speed that hill and wind can give.")
        yield Caution(state, words, cite("common practice"), "speed")


def _braking_above_rated(result: Any) -> Iterator[Caution]:
    store = result.vehicle.store
    if not hasattr(store, "cell_rated_voltage"):
        return
    volts = np.where(result.column("store_amps") < 0, result.column("store_volts"), -np.inf)
    top, rated = float(np.max(np.nan_to_num(volts, nan=-np.inf))), store.cells_in_series * store.cell_rated_voltage
    if top > rated * (1 + 1e-9):
        state = "danger" if top > store.cells_in_series * store.cell_surge_voltage else "caution"
        words = (f"Braking lifts the bank to {top:.2f} V, above rated voltage ({rated:.4g} V for all cells): start "
                 "less full, or brake by friction.")
        yield Caution(state, words, cite("edlc-sheet-3000F"), "store_volts")


def _coil_heat(result: Any) -> Iterator[Caution]:
    limit, top = result.vehicle.motor.temperature_limit, float(np.max(result.column("coil_temperature")))
    if top > limit - 10:
        words = (f"The winding reaches {top - 273.15:.0f} °C, {max(limit - top, 0):.0f} K below its limit: do not "
                 "touch it, and let it cool before the next ride.")
        yield Caution("caution", words, cite("machine-heat", "common practice"), "coil_temperature")


def _duty_held(result: Any) -> Iterator[Caution]:
    way = sum(abs(spell.end - spell.start) for spell in result.held if spell.by == "duty limit")
    if way > 0:
        words = (f"The duty limit held the drive over {way:.0f} m: there the store's volts set the pace, not the "
                 "driver.")
        yield Caution("note", words, cite("power-electronics"), "controller.duty_limit")


RIDE_RULES: tuple[Callable[[Any], Iterator[Caution]], ...] = (
    _ended_early, _uncontrolled_braking, _runaway, _braking_above_rated, _coil_heat, _duty_held,
)
