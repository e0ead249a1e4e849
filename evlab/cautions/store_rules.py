"""Rules about the store, its cells and its cut-off."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import Caution, Rule, no_braking
from evlab.sources import cite

__all__ = ["STORE_RULES"]

SMALL = 0.25  # W: what a common small resistor bears; a cell hardly feels it (common practice)


def _cell_volts(vehicle: Any) -> Iterator[Caution]:
    """Mean and fullest cell, when charged, against what the cell's maker allows."""
    store, edge = vehicle.store, 1e-9
    if store.kind != "capacitors":
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


def _controller_volts(vehicle: Any) -> Iterator[Caution]:
    rated, converter = vehicle.controller.voltage_rating, vehicle.converter
    volts, what = vehicle.store.full_voltage, "The full store has"
    if converter.kind != "none":
        volts, what = converter.bus_voltage, "The converter gives"
    if volts > rated:
        words = (f"{what} {volts:.4g} V, and the weakest part of the controller bears {rated:g} V: transistors fail as a short, "
                 "which brakes or drives the wheel unasked, and bus capacitors burst.")
        yield Caution("danger", words, cite("power-electronics", "common practice"), "controller.voltage_rating")


def _time(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min" if seconds < 7200 else f"{seconds / 3600:.0f} h"


def _bleeders_and_clamps(vehicle: Any) -> Iterator[Caution]:
    store = vehicle.store
    if store.kind != "capacitors":
        return
    watts = store.cell_voltage**2 / store.bleed_resistance if store.bleed_resistance else 0.0
    if watts > SMALL:
        farad = store.strings_in_parallel * store.cell_capacitance
        half = farad * store.bleed_resistance * math.log(2)
        least = store.cell_voltage**2 / SMALL
        words = (f"Bleeders of {store.bleed_resistance:g} Ω heat each cell with {watts:.3g} W, the bank with "
                 f"{store.cells_in_series * watts:.3g} W, for as long as it is charged, and it falls to half its volts in "
                 f"{_time(half)}: heat ages cells, and a small resistor burns. Take {math.ceil(least)} Ω or more, or none (0 Ω).")
        yield Caution("caution", words, cite("circuits", "common practice"), "store.bleed_resistance")
    elif store.bleed_resistance:
        farad, bleed = store.strings_in_parallel * store.cell_capacitance, 1 / store.bleed_resistance
        leak = store.strings_in_parallel * store.cell_leakage / store.cell_rated_voltage
        hours = [f"{farad * math.log(1 / 0.9) / drain / 3600:.2g} h" for drain in (bleed + leak, leak) if drain]
        words = (f"Bleeders of {store.bleed_resistance:g} Ω take the bank to 90 % of its volts in {' instead of '.join(hours)}: a "
                 "switch that connects them only while it charges keeps its stand-by.")
        yield Caution("note", words, cite("circuits"), "store.bleed_resistance")
    if store.clamp_current and store.clamp_voltage < store.cell_voltage:
        words = (f"Clamps begin at {store.clamp_voltage:g} V, below the {store.cell_voltage:.3g} V of a charged cell: each burns "
                 f"up to {store.clamp_voltage * store.clamp_current:.2g} W while the bank stands charged, and empties it.")
        yield Caution("caution", words, cite("circuits"), "store.clamp_voltage")


# ---------------------------------------------------------------- lithium
def _pack(vehicle: Any) -> Iterator[Caution]:
    store, amps, (field, stop) = vehicle.store, _largest_amps(vehicle), _stops(vehicle)
    if store.kind != "lithium":
        return
    words = ("Lithium cells that were overcharged, crushed or shorted can take fire by themselves, give off poisonous gas, and "
             "light again. Charge attended, on a surface that does not burn, away from the way out, with a smoke alarm; with a "
             "protection board, a fuse for each string, no damaged or salvaged cells. If it smokes: get out, call.")
    yield Caution("caution", words, cite("common practice"), "store.kind", fold="fire")
    if amps > store.current_limit * (1 + 1e-9):
        words = (f"The drive may take {amps:.3g} A, the cells bear {store.current_limit:.3g} A: {store.strings_in_parallel} x "
                 f"{store.cell_current_limit:g} A, less what strings need that share unequally (20 %). They heat and age.")
        yield Caution("caution", words, cite("common practice"), "controller.store_current_limit")
    if stop < store.cells_in_series * store.empty_cell_voltage * (1 - 1e-9):
        words = (f"Stop volts of {stop:g} V let the cells fall below {store.empty_cell_voltage:g} V each: they are harmed for "
                 "good, and one that fell too far can burn when it is charged.")
        yield Caution("caution", words, cite("common practice"), field)


def _braking_into_a_pack(vehicle: Any) -> Iterator[Caution]:
    store, back, air = vehicle.store, vehicle.controller.braking_current_limit, vehicle.road.air_temperature
    if store.kind != "lithium":
        return
    allowed, brakes, cold = store.charging_limit(air), not no_braking(vehicle)[0], f"{air - 273.15:.0f} °C"
    if allowed == 0:
        ask = "The motor's braking charges too: set the braking limit to 0, and charge" if brakes else "Charge"
        words = (f"At {cold} charging plates lithium metal inside the cells, for good; it can pierce them and burn them days "
                 f"later. {ask} when the whole pack is above 0 °C.")
        yield Caution("danger" if brakes else "caution", words, cite("lithium-plating"), "road.air_temperature")
    elif brakes and back > allowed * (1 + 1e-9):
        words = (f"Braking may push {back:g} A into a pack that bears {allowed:.3g} A of charge at {cold}: it ages fast and, when "
                 "cold, plates lithium metal.")
        yield Caution("caution", words, cite("lithium-charging", "lithium-plating"), "controller.braking_current_limit")


# ---------------------------------------------------------------- the weather
_BEARS = {"capacitors": (233.15, 338.15, "edlc-cold"), "lithium": (253.15, 323.15, "lithium-cold")}


def _weather(vehicle: Any) -> Iterator[Caution]:
    """The store is taken as warm as the air: beyond what its resistance is known for, the numbers are a guess."""
    air, known = vehicle.road.air_temperature, _BEARS.get(vehicle.store.kind)
    if known and not known[0] - 1e-6 <= air <= known[1] + 1e-6:
        low, high = known[0] - 273.15, known[1] - 273.15
        words = (f"At {air - 273.15:.0f} °C the resistance of the cells is a guess: what is known of it ends at {low:.0f} °C and "
                 f"{high:.0f} °C. Ask the cells' sheet whether they may be used at all.")
        yield Caution("caution", words, cite(known[2]), "road.air_temperature")


# ---------------------------------------------------------------- the cut-off
def _largest_amps(vehicle: Any) -> float:
    """Current of the store at the coil current limit and full duty, or its own limit or the converter's [A]."""
    limits = vehicle.controller
    if vehicle.converter.kind != "none":
        return float(min(limits.store_current_limit, vehicle.converter.current_limit))
    return float(min(limits.coil_current_limit * limits.duty_limit, limits.store_current_limit))


def _stops(vehicle: Any) -> tuple[str, float]:
    """Where the drive switches off to spare the store: the field and its volts."""
    if vehicle.converter.kind != "none":
        return "converter.minimum_voltage", vehicle.converter.minimum_voltage
    return "controller.stop_voltage", vehicle.controller.stop_voltage


def _cut_off(vehicle: Any) -> Iterator[Caution]:
    limits, store, amps = vehicle.controller, vehicle.store, _largest_amps(vehicle)
    ohm, (field, stop) = store.resistance, _stops(vehicle)
    what = "Stop volts" if field.startswith("controller") else "Converter minimum volts"
    if stop < amps * ohm:  # at the largest power the volts at the terminals are half of those inside, so equal to I R
        words = (f"{what} of {stop:g} V lie below the collapse at {amps * ohm:.3g} V: at the current limits the "
                 "store gives no more before the drive switches off, and the volts fall to nothing.")
        yield Caution("danger", words, cite("circuits"), field)
    elif limits.stop_voltage < 10:
        words = (f"Stop volts of {limits.stop_voltage:g} V are below the 10 V that gate supplies commonly need: transistors that "
                 "are half on burn.")
        yield Caution("caution", words, cite("common practice"), "controller.stop_voltage")
    if what != "Stop volts":
        return
    if limits.resume_voltage - stop < amps * ohm:
        words = (f"Resume volts lie {limits.resume_voltage - stop:.3g} V above the stop volts, less than the {amps * ohm:.3g} V by "
                 "which the store rebounds when the load goes: the drive chatters.")
        yield Caution("caution", words, cite("circuits"), "controller.resume_voltage")
    if limits.sag_compensation > ohm:
        words = (f"A sag compensation of {1e3 * limits.sag_compensation:.4g} mΩ is above the {1e3 * ohm:.4g} mΩ of the store: the "
                 "harder it is pulled, the emptier it may become, and nothing protects the cells.")
        yield Caution("caution", words, cite("circuits"), "controller.sag_compensation")


STORE_RULES: tuple[Rule, ...] = (
    _cell_volts, _extra_low_voltage, _controller_volts, _pack, _braking_into_a_pack, _weather, _cut_off, _bleeders_and_clamps,
)
