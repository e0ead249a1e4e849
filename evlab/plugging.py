"""May I plug another store into this vehicle?  What would meet which limit, and both rides side by side."""

from __future__ import annotations

import html
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from evlab.cautions import Caution
from evlab.glossary import entry
from evlab.motor import winding_resistance_hot
from evlab.riding import ride
from evlab.sources import cite
from evlab.units import InputError, made_by, si
from evlab.wiring import copper_resistance, precharge

__all__ = ["PlugIn", "plug_in"]


@dataclass(frozen=True)
class PlugIn:
    """The check: `mine`, the vehicle as it is; `vehicle`, the same with the other store; `rows` (what, mine, other, words of the
    limit); `findings`, cautions with the worst first.  `rides(route)` gives both rides.
    """

    mine: Any
    vehicle: Any
    rows: tuple[tuple[str, str, str], ...]
    findings: tuple[Caution, ...]

    @property
    def answer(self) -> str:
        """One sentence."""
        worst = [f for f in self.findings if f.state == "danger"]
        if worst:
            return f"No, not as it is: {worst[0].words}"
        cares = sorted((f for f in self.findings if f.state == "caution"), key=lambda f: not f.field.startswith("controller"))
        return f"Yes, with care: {cares[0].words}" if cares else "Yes: nothing meets its limit."

    def rides(self, route: Any) -> tuple[Any, Any]:
        """(with the store it has, with the other one), each from a full store."""
        return ride(self.mine, route), ride(self.vehicle, route)

    @cached_property
    def _html(self) -> str:
        cells = "".join(f"<tr><th scope=row style='text-align:left'>{html.escape(a)}</th>"
                        f"<td style='text-align:right'>{html.escape(b)}</td><td style='text-align:right'>{html.escape(c)}</td></tr>"
                        for a, b, c in self.rows)
        said = "".join(f"<li><b>{f.state}</b>: {html.escape(f.words)}</li>" for f in self.findings)
        head = "<tr><th></th><th scope=col>store it has</th><th scope=col>other store</th></tr>"
        return f"<p>{html.escape(self.answer)}</p><table>{head}{cells}</table><ul>{said}</ul>"

    def _repr_html_(self) -> str:
        return self._html

    def __repr__(self) -> str:
        return f"<PlugIn: {self.answer}>"


def plug_in(vehicle: Any, other: Any, *, lead_length: float | str = 1.2, lead_area: float | str | None = None) -> PlugIn:
    """Check another vehicle's store on this vehicle.

    Parameters: `vehicle`; `other`, the vehicle whose store is taken; `lead_length` [m], all copper there and back; `lead_area`
    [m2], by default that of the vehicle's store.
    Returns a PlugIn.  Raises InputError in words.
    """
    for name, one in (("vehicle", vehicle), ("other", other)):
        made_by(f"{name} of plug_in", one, "effective_mass", "evlab.load_vehicle()")
    length = si(lead_length, entry("wire_length"), "lead_length of plug_in")
    stated = getattr(vehicle.store, "lead_area", 0.0)
    area = stated if lead_area is None else si(lead_area, entry("wire_area"), "lead_area of plug_in")
    if not length > 0:
        raise InputError(f"Input lead_length of plug_in must be above zero; instead received {lead_length}.")
    if not area > 0:
        raise InputError("Input lead_area of plug_in must be given, like '6 mm2': the vehicle does not state it.")
    trial = vehicle.with_store(other)
    ohm = float(copper_resistance(wire_length=length, wire_area=area))
    sides = [_side(v, ohm) for v in (vehicle, trial)]
    rows = tuple((name, sides[0][name], sides[1][name]) for name in sides[0])
    order = {"danger": 0, "caution": 1, "note": 2}
    return PlugIn(vehicle, trial, rows, tuple(sorted(_findings(vehicle, trial), key=lambda f: order[f.state])))


def _stall(v: Any) -> tuple[float, float]:
    """Coil amps that a full store could drive through the motor held still, and what the limit lets through [A]."""
    hot = float(winding_resistance_hot(v.motor.resistance, v.road.air_temperature)) + v.controller.bridge_resistance
    free = v.controller.duty_limit * v.store.full_voltage / (hot + v.controller.duty_limit**2 * v.store.resistance)
    return free, min(free, v.controller.coil_current_limit)


def _top_speed(v: Any) -> float:
    """Speed at which the back-EMF meets the full store's volts [m/s]."""
    return float(v.controller.duty_limit * v.store.full_voltage / v.motor.drive_constant * v.gearing.wheel_radius / v.gearing.ratio)


def _most(v: Any) -> float:
    """The largest current the controller lets the store give [A]: no more than an ideal bridge draws from the coils."""
    return float(min(v.controller.store_current_limit, v.controller.coil_current_limit))


def _side(v: Any, lead: float) -> dict[str, str]:
    store, c, amps = v.store, v.controller, _most(v)
    free, held = _stall(v)
    spark = precharge(store.full_voltage, c.bus_capacitance, c.precharge_resistance, source_resistance=store.resistance + lead)
    return {
        "Volts when full": f"{store.full_voltage:.2f} V (rating {c.voltage_rating:g} V)",
        "Stop volts": f"{c.stop_voltage:g} V, {c.stop_voltage / getattr(store, 'cells_in_series', 1):.2f} V a cell",
        "Energy when full": f"{store.energy(store.full_state()) / 3600:.1f} Wh",
        "Coil amps at a standstill": f"{free:.0f} A, held at {held:.0f} A",
        f"Drop in the leads at {amps:.0f} A": f"{amps * lead:.2f} V",
        f"Heat in the leads at {amps:.0f} A": f"{amps**2 * lead:.1f} W",
        f"Drop inside at {amps:.0f} A": f"{amps * store.resistance:.2f} V",
        "First amps into empty bus capacitors": f"{spark.direct:.0f} A, or {spark.peak:.2f} A through {c.precharge_resistance:g} Ω",
        "Speed where the volts end": f"{_top_speed(v):.1f} m/s",
        "Mass, all together": f"{v.mass:.1f} kg",
    }


def _findings(mine: Any, trial: Any) -> list[Caution]:
    """What meets a limit only, or also, with the other store."""
    found = [*_volts(mine, trial), *_stop_volts(trial)]
    told = {c.words for c in mine.cautions}
    told_of = {"controller.voltage_rating", *(c.field for c in found)}
    found += [c for c in trial.cautions if c.words not in told and c.state != "note" and c.field not in told_of]
    faster = _top_speed(trial) / _top_speed(mine)
    if faster > 1.1:
        words = (f"The volts end at {_top_speed(trial):.1f} m/s instead of {_top_speed(mine):.1f} m/s: brakes and tyres must be "
                 "made for it.")
        found.append(Caution("caution", words, cite("machines"), "store.charge_voltage"))
    if trial.store.kind != mine.store.kind:
        found.append(Caution("note", "Another kind of store wants another charger, another programme and another place to charge.",
                             cite("common practice")))
    return found


def _volts(mine: Any, trial: Any) -> list[Caution]:
    full, rating = trial.store.full_voltage, mine.controller.voltage_rating
    full = max(full, getattr(trial.store, "charge_voltage", 0.0))
    if full > rating:
        words = (f"{full:.1f} V when full, above the {rating:g} V that the weakest of transistors and bus capacitors bears: "
                 "they fail shorted, at once.")
        return [Caution("danger", words, cite("power-electronics"), "controller.voltage_rating")]
    if full > 0.8 * rating:
        words = f"{full:.1f} V when full leaves less than a fifth below the {rating:g} V rating for spikes and for braking."
        return [Caution("caution", words, cite("common practice"), "controller.voltage_rating")]
    return []


def _stop_volts(trial: Any) -> list[Caution]:
    store, stop = trial.store, trial.controller.stop_voltage
    if store.kind == "lithium":
        empty = store.cells_in_series * store.empty_cell_voltage
        if stop < empty:
            words = (f"Stop volts of {stop:g} V are {stop / store.cells_in_series:.2f} V a cell: below "
                     f"{store.empty_cell_voltage:g} V the cells are harmed for good. Set at least {empty:.1f} V.")
            return [Caution("danger", words, cite("lithium-cells"), "controller.stop_voltage")]
    if stop > 0.8 * store.full_voltage:
        left = 100 * (1 - (stop / store.full_voltage) ** 2)
        bank = store.kind == "capacitors"
        share = f"only {left:.0f} % of its energy is above them" if bank else "much of its charge stays below them"
        words = f"Stop volts of {stop:g} V are high for {store.full_voltage:.1f} V: {share}."
        return [Caution("caution", words, cite("circuits"), "controller.stop_voltage")]
    return []
