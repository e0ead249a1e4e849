"""Rules about what happened in a charge, and about its charger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from evlab.cautions.caution import Caution, Rule, cell_limits
from evlab.sources import cite
from evlab.trust import UNTRUSTED

__all__ = ["CHARGE_RULES"]

_HARM = {"capacitors": "the electrolyte gasses and the can vents, flammable and toxic",
         "lithium": "it heats by itself and can burn"}


def _untrusted(result: Any) -> Iterator[Caution]:
    """A ledger that does not close."""
    if result.outcome == UNTRUSTED:
        yield Caution("danger", result.reason, cite("definition"), "energy_store")


def _fullest_cell(result: Any) -> Iterator[Caution]:
    store, worst = result.vehicle.store, result.column("worst_cell_volts")
    rated, surge, source = cell_limits(store)
    top = float(np.max(worst))
    if top <= rated + 1e-3:
        return
    harmful = top > surge - 1e-3  # where it is reached, the charge ends
    passed = surge if harmful else rated
    over = int(np.argmax(worst > passed - 1e-3))
    after = _HARM[store.kind] if harmful else "its life is short; measure every cell on the first three charges"
    time, volts = (float(result.column(name)[over]) for name in ("time", "store_volts"))
    words = (f"The fullest cell reaches {top:.3f} V, above the {rated:.3g} V that it bears for long. {time:.0f} s after the start, "
             f"with {volts:.2f} V at the terminals, it passes {passed:.3g} V: {after}.")
    yield Caution("danger" if harmful else "caution", words, cite(source), "worst_cell_volts")


def _programme(result: Any) -> Iterator[Caution]:
    if result.vehicle.charger.programme == "until the volts drop":
        told = next((f" Here {e.words}, {e.time:.0f} s after the start." for e in result.events if e.kind == "nobody stops it"), "")
        words = ("This programme waits for a drop of the volts, which neither capacitors nor lithium cells show: nobody stops it."
                 f"{told} Choose one that ends at the volts of this store.")
        yield Caution("danger", words, cite("common practice"), "charger.programme")


def _cold_or_fast(result: Any) -> Iterator[Caution]:
    store, air = result.vehicle.store, result.vehicle.road.air_temperature
    top = float(np.max(result.column("charging_amps")))
    if store.kind != "lithium" or top <= 0:
        return
    allowed, cold = store.charging_limit(air), f"{air - 273.15:.0f} °C"
    if allowed == 0:
        words = (f"Charged at {cold}, the cells plate lithium metal, for good; it can pierce them and burn them days later. Bring "
                 "the pack above 0 °C first, all through.")
        yield Caution("danger", words, cite("lithium-plating"), "road.air_temperature")
    elif top > allowed * (1 + 1e-9):
        words = (f"{top:.3g} A flow into a pack that bears {allowed:.3g} A at {cold}: below 15 °C a fifth of its charge in an "
                 "hour, below 5 °C a tenth, and never more than its cells' sheet allows.")
        yield Caution("caution", words, cite("lithium-charging"), "charger.current_limit")


def _source_side(result: Any) -> Iterator[Caution]:
    charger, amps = result.vehicle.charger, result.column("source_amps")
    top, limit = float(np.max(np.nan_to_num(amps))), charger.source_current_limit
    if top > limit or result.outcome == "source overloaded":
        words = (f"The charger asks its source for more than its {limit:g} A: a converter takes the more current the higher the "
                 "volts it gives. Charge with less current, or less power.")
        yield Caution("caution", words, cite("power-electronics"), "charger.source_current_limit")
    if top > 0 and result.duration > 0:
        words = (f"The source gives {top:.3g} A at most: a fuse on its side, above that and below what its leads bear, and plugs "
                 "that cannot be turned round.")
        yield Caution("note", words, cite("common practice"), "charger.source_current_limit", fold="fuse of the source")
    if charger.source_voltage > 60:
        words = (f"The charger hangs on {charger.source_voltage:g} V: touching that can kill. Use a finished one, tested under "
                 "your local code, and never open it.")
        yield Caution("caution", words, cite("extra-low-voltage"), "charger.source_voltage")
    if charger.kind == "resistor":
        heat = charger.series_resistance * float(np.max(result.column("charging_amps"))) ** 2
        words = f"The resistor takes {heat:.3g} W at first: one that bears it, on a surface that does not burn; it burns skin."
        yield Caution("caution", words, cite("circuits", "common practice"), "charger.series_resistance")


def _store_fuse(result: Any) -> Iterator[Caution]:
    fuse, top = getattr(result.vehicle.store, "fuse_current", 0.0), float(np.max(result.column("charging_amps")))
    if 0 < fuse < top * (1 - 1e-9):
        words = (f"{top:.3g} A flow into the store, above its fuse of {fuse:g} A: it blows in the middle of the charge, and a "
                 "holder that is too small burns. Charge with less current.")
        yield Caution("caution", words, cite("common practice"), "store.fuse_current")


def _attended(result: Any) -> Iterator[Caution]:
    lithium = result.vehicle.store.kind == "lithium"
    until = "Never charge lithium unattended" if lithium else "Stay with it until the end of the charge is proven"
    words = (f"{until}: the right programme, out of the rain, on the ground, clear of what burns; the volts of every cell on the "
             "first three charges.")
    yield Caution("caution" if lithium else "note", words, cite("common practice"), "charger.programme", fold="never unattended")
    if result.outcome == "charger gave up":
        yield Caution("caution", f"The store is not full. {result.reason}", cite("circuits"), "charger.current_limit")


CHARGE_RULES: tuple[Rule, ...] = (
    _untrusted, _fullest_cell, _programme, _cold_or_fast, _source_side, _store_fuse, _attended,
)
