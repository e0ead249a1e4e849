"""Rules about what happened on a ride."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from evlab.cautions.caution import Caution, Rule, cell_limits
from evlab.glossary import entry
from evlab.sources import cite
from evlab.trust import UNTRUSTED

__all__ = ["RIDE_RULES"]


def _untrusted(result: Any) -> Iterator[Caution]:
    """A ledger that does not close."""
    if result.outcome == UNTRUSTED:
        yield Caution("danger", result.reason, cite("definition"), "energy_store")


def _ended_early(result: Any) -> Iterator[Caution]:
    """Where it stands, what must hold it, and who brings it home."""
    if result.outcome in ("arrived", UNTRUSTED):
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
    peak = vehicle.motor.peak_constant  # line to line (M9)
    turning = vehicle.gearing.ratio / vehicle.gearing.wheel_radius
    bus = getattr(vehicle.converter, "bus_voltage", 0.0)
    over = peak * turning * np.abs(result.column("speed")) - (bus or result.column("store_volts"))
    at = int(np.argmax(np.nan_to_num(over, nan=-np.inf)))
    if over[at] > 0:
        speed = abs(float(result.column("speed")[at]))
        words = (f"At {speed:.1f} m/s the back-EMF is above the {'bus' if bus else 'store'}'s volts: the motor brakes through the "
                 "diodes, and nothing can switch that off.")
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
    if store.kind == "supply":
        return
    cell, harmful, source = cell_limits(store)
    rated, surge = store.cells_in_series * cell, store.cells_in_series * harmful
    volts = np.where(result.column("store_amps") < 0, result.column("store_volts"), -np.inf)
    top = float(np.max(np.nan_to_num(volts, nan=-np.inf)))
    if top > rated * (1 + 1e-9):
        words = (f"Braking lifts the {'bank' if store.kind == 'capacitors' else 'pack'} to {top:.2f} V, above rated voltage "
                 f"({rated:.4g} V for all cells): start less full, or brake by friction.")
        yield Caution("danger" if top > surge else "caution", words, cite(source), "store_volts")
    elif store.kind == "capacitors":
        worst = top * store.worst_cell_voltage / store.full_voltage
        if worst > max(cell, store.worst_cell_voltage) * (1 + 1e-9):  # what the charge itself does is told of the vehicle
            words = (f"Braking lifts the fullest cell to {worst:.3f} V, above rated voltage ({cell:g} V), though the mean is "
                     f"{top / store.cells_in_series:.3f} V: start less full, or brake by friction.")
            yield Caution("danger" if worst > harmful else "caution", words, cite(source, "derived"), "store_volts")


def _fuse(result: Any) -> Iterator[Caution]:
    """What flowed through the fuse: its rating is for long, so the mean of the squares counts."""
    fuse = getattr(result.vehicle.store, "fuse_current", 0.0)
    time, amps = result.column("time"), np.nan_to_num(result.column("store_amps"))
    if not fuse or len(time) < 2 or time[-1] <= time[0]:
        return
    rms = float(np.sqrt(np.sum((amps[1:] ** 2 + amps[:-1] ** 2) / 2 * np.diff(time)) / (time[-1] - time[0])))
    if rms > entry("fuse_share").value * fuse * (1 + 1e-9):  # type: ignore[operator]
        words = (f"The fuse of {fuse:g} A carries {rms:.3g} A as root mean square, above 75 % of its rating: it ages, and blows on "
                 "a warm day, most likely on a climb. A larger fuse on leads that bear it, or a lower current limit.")
        yield Caution("caution", words, cite("common practice"), "store.fuse_current")


def _full_store(result: Any) -> Iterator[Caution]:
    """A store that is full takes nothing more: the motor brakes no more, often where it falls most."""
    spells = [s for s in result.held if s.by == "full store"]
    if spells:
        way = sum(abs(s.end - s.start) for s in spells)
        words = (f"From {spells[0].start:.0f} m on the store was full, over {way:.0f} m in all: there the motor brakes no more, "
                 "and the friction brake must take everything. Begin a descent with room in the store.")
        yield Caution("danger", words, cite("derived", "common practice"), "controller.braking_current_limit")


def _coil_heat(result: Any) -> Iterator[Caution]:
    limit, top = result.vehicle.motor.temperature_limit, float(np.max(result.column("coil_temperature")))
    if top > limit - 10:
        words = (f"The winding reaches {top - 273.15:.0f} °C, {max(limit - top, 0):.0f} K below its limit: do not "
                 "touch it, and let it cool before the next ride.")
        yield Caution("caution", words, cite("machine-heat", "common practice"), "coil_temperature")


def _driving(result: Any, spell: Any) -> bool:
    """Not while the motor turns faster than the store's volts can follow and brakes through the diodes."""
    return float(np.interp((spell.start + spell.end) / 2, result.column("distance"), result.column("motor_amps"))) > 0


def _duty_held(result: Any) -> Iterator[Caution]:
    way = sum(abs(spell.end - spell.start) for spell in result.held if spell.by == "duty limit" and _driving(result, spell))
    if way > 0:
        words = (f"The duty limit held the drive over {way:.0f} m: there the store's volts set the pace, not the "
                 "driver.")
        yield Caution("note", words, cite("power-electronics"), "controller.duty_limit")


RIDE_RULES: tuple[Rule, ...] = (
    _untrusted, _ended_early, _uncontrolled_braking, _runaway, _braking_above_rated, _fuse, _full_store, _coil_heat, _duty_held,
)
