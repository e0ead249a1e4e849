"""Rules about one store as its page shows it: the cells drawn, the month on the charger, and what is taken from it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from evlab.cautions.caution import Caution, Rule
from evlab.sources import cite

__all__ = ["STORE_CASE_RULES"]

MANY = 0.05  # share of strings: the readout beside it says what 95 % stay below
_VENTS = "the electrolyte gasses and the can vents, flammable and toxic"
_SHEET = cite("edlc-sheet-3000F", "derived")


def _strings(case: Any) -> Iterator[Caution]:
    """The fullest cell of the strings that the picture draws."""
    s = case.strings
    if s is None:
        return
    share, safe = s.share_above(s.surge), f"measure and sort the cells, or charge the bank to {s.safe_voltage:.1f} V at most"
    if share > MANY:
        words = (f"Of 100 strings of such cells {_count(share)} have a cell above the surge limit of {s.surge:g} V, "
                 f"{s.worst_case:.2f} V at worst: {_VENTS}. Do not charge cells that spread like this to {s.voltage:g} V: {safe}.")
        yield Caution("danger", words, _SHEET, "worst_cell_volts")
    elif s.worst_case > s.surge + 1e-9:
        words = (f"With cells as bought the fullest might reach {s.worst_case:.2f} V, above the surge limit of {s.surge:g} V, "
                 f"where {_VENTS}: {safe}.")
        yield Caution("caution", words, _SHEET, "worst_cell_volts")
    elif s.worst_case > s.rated + 1e-9:
        words = (f"With cells as bought the fullest might reach {s.worst_case:.2f} V, above rated voltage ({s.rated:g} V): its "
                 f"life is short; {safe}.")
        yield Caution("caution", words, _SHEET, "worst_cell_volts")


def _count(share: float) -> str:
    return "all" if share == 1 else f"{min(round(100 * share), 99)}"


def _month(case: Any) -> Iterator[Caution]:
    """Cells that drift apart on the charger: as the bank is built, and without the bleeders it has."""
    s = case.store
    for name, run in case.floats.items():
        fitted = (name == "with bleeders") == bool(s.bleed_resistance)
        odd, others = float(np.max(run.odd)), float(np.max(run.others))
        top, which = (odd, "the odd cell") if odd > others else (others, "each other cell")
        if top <= (s.cell_rated_voltage if fitted else s.cell_surge_voltage) + 1e-9:
            continue
        harmful = top > s.cell_surge_voltage + 1e-9
        limit = f"the surge limit of {s.cell_surge_voltage:g} V" if harmful else f"rated voltage ({s.cell_rated_voltage:g} V)"
        after = _VENTS if harmful else "its life is short"
        words = (f"After {case.float_days:.0f} days on the charger {name}, {which} stands at {top:.2f} V, above {limit}: {after}. "
                 "Take the bank off the charger when it is full, and measure every cell. Clamps are not counted here.")
        if fitted or name == "without bleeders":
            yield Caution("danger" if harmful and fitted else "caution", words, _SHEET, "store.bleed_resistance")


def _resistor(case: Any) -> Iterator[Caution]:
    """The resistor of the picture takes the whole bank."""
    bought, watts = case.emptier, case.load_watts
    if bought is not None and watts > case.bearable_watts * (1 + 1e-9):
        heat = f"{1e-3 * watts:.3g} kW" if watts >= 1e3 else f"{watts:.0f} W"
        words = (f"A resistor of {case.load:g} Ω takes {heat} in the first instant: it glows, burns hands, and lights what it "
                 f"touches. To empty the bank for work, take {bought.words}.")
        yield Caution("caution", words, cite("circuits", "common practice"), "load_resistance")


def _fuse(case: Any) -> Iterator[Caution]:
    """Currents of the three discharges."""
    fuse = getattr(case.store, "fuse_current", 0.0)
    loads = (f"{case.power:g} W", f"{case.current:g} A", f"A resistor of {case.load:g} Ω")
    tops = [(float(np.nanmax(d.amps)), load) for d, load in zip(case.discharges, loads, strict=False)]
    top, load = max(tops, default=(0.0, ""))
    what = f"{load} taken from this store" if load[0:1].isdigit() else load
    if 0 < fuse < top * (1 - 1e-9):
        words = (f"{what} makes {top:.3g} A flow, above the fuse's {fuse:g} A: it blows, or its holder gets hot. Take less, or a "
                 "larger fuse on thicker leads.")
        yield Caution("caution", words, cite("circuits", "common practice"), "store.fuse_current")
    bears = getattr(case.store, "current_limit", 0.0)
    if case.store.kind == "lithium" and top > bears * (1 + 1e-9):
        words = (f"{what} makes {top:.3g} A flow, and the cells bear {bears:.3g} A: they heat and age, and might vent. Take less, "
                 "or more cells in parallel.")
        yield Caution("danger" if top > 2 * bears else "caution", words, cite("common practice"), "store.cell_current_limit")


STORE_CASE_RULES: tuple[Rule, ...] = (_strings, _month, _resistor, _fuse)
