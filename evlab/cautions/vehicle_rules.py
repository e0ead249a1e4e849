"""Rules about brakes, heat, load, and about what is only assumed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import UNMEASURED, Caution, Rule, no_braking
from evlab.glossary import entry
from evlab.sources import cite
from evlab.units import write

__all__ = ["TESTS", "VEHICLE_RULES", "ranges"]


def _brakes(vehicle: Any) -> Iterator[Caution]:
    always = "two independent friction brakes, each tested loaded before a ride"
    why, field = no_braking(vehicle)
    if why:
        words = f"{why} the motor never brakes: the friction brakes must do it all; {always}."
        yield Caution("caution", words, cite("common practice"), field)
    else:
        words = f"The motor's braking ends with a full store, a blown fuse or a broken chain: {always}."
        yield Caution("note", words, cite("common practice"), "controller.braking_current_limit", fold="two brakes")


def _no_room_for_braking(vehicle: Any) -> Iterator[Caution]:
    store = vehicle.store
    if no_braking(vehicle)[0]:
        return
    if store.kind == "supply":
        words = ("A bench supply takes no current back: while the motor brakes, its volts rise until something gives. Put a "
                 "resistor across it that draws more than the braking gives, or set the braking limit to 0.")
        yield Caution("caution", words, cite("common practice"), "controller.braking_current_limit")
    elif store.kind == "capacitors":
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
    yield Caution("note", words, cite("common practice"), fold="private ground")
    if vehicle.vehicle.invented:
        words = f"{vehicle.name} is invented: nobody has built or tested it."
        yield Caution("note", words, cite("definition"), "vehicle.invented", fold="invented vehicle")


# Which test would tell what is only assumed.
TESTS: dict[str, tuple[str, ...]] = {
    "a discharge at constant current": (
        "store.cell_capacitance", "store.capacitance_slope", "store.cell_charge", "store.cell_resistance", "store.slow_share",
        "store.slow_resistance"),
    "a pulse of current and the rest after it": ("store.branch_resistance", "store.branch_time"),
    "the volts of every cell over three days of rest": (
        "store.overnight_share", "store.overnight_resistance", "store.cell_leakage"),
    "volts over each joint under load": ("store.joint_resistance", "store.lead_resistance"),
    "the volts of every cell after a charge": ("store.cell_tolerance",),
    "volts of the supply with and without load": ("store.resistance",),
    "volts of the motor turned at a known speed": ("motor.constant",),
    "volts over winding, leads and bridge at a known current": (
        "motor.resistance", "motor.winding.lead_resistance", "controller.bridge_resistance"),
    "a field meter on the face of a lone magnet": ("motor.magnets.remanence",),
    "the maker's curve of the magnet": ("motor.magnets.recoil",),
    "swinging rotor and wheels on strings": ("motor.inertia", "vehicle.wheels_rotating_mass"),
    "a spin-down of the motor": ("motor.drag_torque", "motor.viscous_drag"),
    "heating the winding with known watts": ("motor.thermal_resistance", "motor.heat_capacity"),
    "an ammeter with the drive idle": ("controller.standby_power",),
    "rolling it out with the rider on": ("gearing.wheel_radius",),
    "power before and behind the chain": ("gearing.chain_efficiency",),
    "power before and behind the converter": ("converter.efficiency",),
    "power before and behind the charger": ("charger.efficiency",),
    "volts along the charger's leads, with and without current": (
        "charger.cable_resistance", "charger.source_voltage", "charger.source_resistance"),
    "a coast-down on the level, both ways": ("road.rolling_coefficient", "road.bearing_force", "road.bearing_drag"),
    "rides at a speed where the air counts": ("road.drag_area",),
    "two scales under the axles, and the vehicle laid on its side": ("vehicle.mass_share", "vehicle.mass_height"),
    "a locked wheel drawn by a luggage scale": ("vehicle.tyre_grip",),
    "thermometer and barometer on the day": ("road.air_density", "road.air_temperature"),
}


# What can hurt in such a test, and what is done about it: common practice, no source.
_PROBES = "insulated probes, no rings: a slip of the probe is a short circuit"
_ROAD = "closed private ground, helmet, both brakes tested first, somebody looks out"
_TURNING = "it is clamped and guarded, nobody stands in the plane of the disc, sleeves and hair are tied back"
HAZARDS: dict[str, str] = {
    "a discharge at constant current": "the load gets hot, a fuse stands at the post",
    "a pulse of current and the rest after it": "the load gets hot, a fuse stands at the post",
    "the volts of every cell over three days of rest": _PROBES,
    "volts over each joint under load": _PROBES,
    "the volts of every cell after a charge": _PROBES,
    "volts of the supply with and without load": "the load gets hot",
    "volts of the motor turned at a known speed": _TURNING,
    "volts over winding, leads and bridge at a known current": "short pulses, or the winding burns; the rotor is held",
    "a field meter on the face of a lone magnet": "one magnet at a time, goggles, nobody with an implant near",
    "swinging rotor and wheels on strings": "two strings each, nobody's hands or feet under it: strings break, and it falls",
    "a spin-down of the motor": _TURNING + ", speed goes up in steps",
    "heating the winding with known watts": "never left alone, stop below the coil limit",
    "an ammeter with the drive idle": "the driven wheel is off the ground on a firm stand, fingers clear of spokes and chain",
    "rolling it out with the rider on": _ROAD,
    "power before and behind the chain": "the wheel is raised on a firm stand, fingers clear of spokes and chain",
    "power before and behind the converter": _PROBES,
    "power before and behind the charger": _PROBES,
    "volts along the charger's leads, with and without current": _PROBES,
    "a coast-down on the level, both ways": _ROAD,
    "rides at a speed where the air counts": _ROAD,
    "two scales under the axles, and the vehicle laid on its side": "the store is disconnected, two people lift, fingers clear of "
                                                                    "spokes and chain: it can fall back",
    "a locked wheel drawn by a luggage scale": "nobody in line with the rope",
}


def _assumed(vehicle: Any) -> Iterator[Caution]:
    values = vehicle.values()
    names = {name for name, value in values.items() if value.basis == "assumed" and value.entry.kind == "found"
             and (vehicle.magnets.stated or not name.startswith(("motor.magnets.", "motor.winding.")))}
    told = [f"{test} ({', '.join(values[f].entry.label for f in found if f in names)}"
            f"{'; ' + HAZARDS[test] if test in HAZARDS else ''})" for test, found in TESTS.items() if names.intersection(found)]
    if names:
        number = "1 value is" if len(names) == 1 else f"{len(names)} values are"
        words = f"{number} assumed, not measured. What would tell: {'; '.join(told)}."
        yield Caution("note", words, cite("common practice"), fold=UNMEASURED)


def ranges(vehicle: Any) -> Iterator[Caution]:
    """Values outside their usual range."""
    for name, value in vehicle.values().items():
        e = value.entry
        if e.low is not None and e.high is not None and not e.low <= value.value <= e.high:
            words = (f"{e.label}, {value.shown}, lies outside the usual {write(e.low, e)} to {write(e.high, e)}: "
                     f"{e.why}.")
            yield Caution("note", words, cite("common practice"), name)


VEHICLE_RULES: tuple[Rule, ...] = (_overload, _coil_limit, _no_room_for_braking, _brakes, _assumed, _where_to_ride)
