"""The page of the store: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import math
from typing import Any

from evlab import balance, cautions, plots, ragone
from evlab.look import setting
from evlab.riding import ride
from evlab.store_case import StoreCase
from evlab.units import InputError
from evlab.vehicle import load_vehicle
from evlab.workbench.bench import Workbench
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.store_knobs import charged_to, stop_volts
from evlab.workbench.store_worked import of_store as worked

__all__ = ["make_page", "open_bench", "questions", "worked"]

PACK, WAY, POWER = "kick_scooter", "two_sheds_up", 600.0
WORDS = {"danger": "danger, see above", "caution": "caution, see above"}

# ---------------------------------------------------------------- the controls
_BANK, _OHMS, _LEAKS, _DAY, _OTHER = "Cells and volts", "Ohms", "Leaks", "What is asked", "The pack beside it"
FIELDS = (
    Knob("store.cells_in_series", _BANK),
    charged_to(_BANK),
    Knob("store.cell_capacitance", _BANK, log=True),
    Knob("store.cell_charge", _BANK, step=0.1),
    Knob("store.strings_in_parallel", _BANK),
    stop_volts(_BANK),
    Knob("store.cell_resistance", _OHMS, log=True),
    Knob("store.joint_resistance", _OHMS, step=0.05),
    Knob("store.lead_resistance", _OHMS, step=0.5),
    Knob("store.slow_share", _OHMS, step=1),
    Knob("store.cell_leakage", _LEAKS),
    Knob("store.bleed_resistance", _LEAKS, high=500.0, step=5, none="none"),
    Knob("store.lead_area", _OHMS, low=1e-6, step=0.5),
)
DAY = (
    Knob("power", _DAY, start=POWER, quantity="power_needed", label="Power taken", place="store", unit="W", low=10.0, high=2e4,
         log=True, meaning="a power that is taken whatever the volts, as a controller does", why="from a lamp to a steep ramp"),
    Knob("current", _DAY, start=30.0, quantity="store_current", label="Current taken", place="store", unit="A", low=0.5, high=500.0,
         log=True, meaning="a current that is taken whatever the volts", why="a charger's to a stalled motor's"),
    Knob("load", _DAY, start=1.0, quantity="load_resistance", label="Resistor", place="store", unit="Ω", low=0.02, high=100.0,
         log=True, meaning="a resistor across the posts, as for emptying the bank", why="short and hot to slow and cool"),
    Knob("low", _DAY, start=0.0, quantity="voltage_share", label="Least farads", place="store", unit="%", low=-0.3, high=0.0,
         step=1, meaning="the smallest cell, off the printed farads", why="0 % as sheets promise; 30 % less when old or unknown"),
    Knob("high", _DAY, start=0.2, quantity="voltage_share", label="Most farads", place="store", unit="%", low=0.0, high=0.3,
         step=1, meaning="the largest cell, off the printed farads", why="20 % in data sheets; 2 % when sorted"),
    Knob("leak_factor", _DAY, start=2.0, quantity="voltage_share", label="Odd cell leaks ×", place="store", unit="", low=0.2,
         high=10.0, log=True, meaning="so many times what each other cell leaks", why="cells of different age"),
    Knob("float_days", _DAY, start=30.0, quantity="voltage_share", label="Days on charger", place="outside", unit="", low=1.0,
         high=120.0, step=1, meaning="how long the charger holds the volts", why="a day to a winter"),
    Knob("lead_length", _DAY, start=1.0, quantity="wire_length", label="Copper in the loop", place="store", unit="m", low=0.0,
         high=10.0, step=0.1, meaning="all leads beyond the store's own, there and back", why="a spanner, to a trailer's leads"),
)


def _pack_knobs(pack: Any) -> tuple[Knob, ...]:
    return (Knob("pack_strings", _OTHER, start=float(pack.store.strings_in_parallel), quantity="store.strings_in_parallel",
                 label="Pack: side by side", low=1, high=6, place="store"),
            Knob("pack_ohms", _OTHER, start=float(pack.store.cell_resistance), quantity="store.cell_resistance",
                 label="Pack: cell ohms", place="store", log=True, low=0.005, high=0.2,
                 why="5 mΩ (high power, new) to 200 mΩ (old or cold)"))


class _Model:
    """StoreCase of the present controls; the pack and the trip beside it do not follow the vehicle's controls."""

    def __init__(self, vehicle: Any, pack: Any) -> None:
        self.pack = pack
        trip = ride(vehicle, WAY)
        self.trip = trip if trip.outcome == "arrived" else None

    def __call__(self, vehicle: Any, day: Day) -> StoreCase:
        asked: dict[str, Any] = {n: v for n, v in day.items() if not n.startswith("pack_")}
        return StoreCase(vehicle, **asked, pack=self._pack(day), trip=self.trip)

    def _pack(self, day: Day) -> Any:
        if "pack_ohms" not in day:
            return self.pack
        strings, ohms = int(day["pack_strings"]), day["pack_ohms"]
        if (strings, ohms) == (self.pack.store.strings_in_parallel, self.pack.store.cell_resistance):
            return self.pack
        return self.pack.change(store={"strings_in_parallel": strings, "cell_resistance": ohms})


# ---------------------------------------------------------------- the pictures and their numbers
_CHARGE = ("store.cells_in_series", "store.charge_voltage")
_FARADS = ("store.cell_capacitance", "store.cell_charge", "store.strings_in_parallel")
_PATH = ("store.cell_resistance", "store.joint_resistance", "store.lead_resistance")
_STOP, _LEAKING = ("controller.stop_voltage",), ("store.cell_leakage", "store.bleed_resistance")
_EMPTIED = (*_CHARGE, *_FARADS, *_STOP, *_PATH, "store.slow_share", "power", "current", "load")


def _at(index: int, name: str, factor: float = 1.0) -> Any:
    return lambda c: factor * float(getattr(c.discharges[index], name))


def _share_used(c: Any) -> float:
    d = c.discharges[0]
    return float(d.used / d.stored) if d.stored else 0.0


COMES_OUT = (
    Readout("Time at that power", "s", _at(0, "duration"), model=0.01),
    Readout("Energy given", "kJ", _at(0, "used"), 1e-3, model=0.01),
    Readout("Of all that was in it", "%", _share_used, 100.0),
    Readout("Amps at the end", "A", lambda c: float(c.discharges[0].amps[-1])),
    Readout("Collapse below (inside)", "V", lambda c: c.collapse_voltage),
    Readout("Time at that current", "s", _at(1, "duration"), model=0.01),
    Readout("Time through the resistor", "s", _at(2, "duration"), model=0.01),
)
STAYS = (
    Readout("In it when charged", "kJ", _at(0, "stored"), 1e-3),
    Readout("Used at that power", "kJ", _at(0, "used"), 1e-3, model=0.01),
    Readout("Left below the stop volts", "kJ", _at(0, "left"), 1e-3, model=0.01),
    Readout("Heat in its ohms", "kJ", _at(0, "esr"), 1e-3),
    Readout("Heat between branches", "kJ", _at(0, "slow_branch"), 1e-3),
)
FULLEST = (
    Readout("Mean cell", "V", lambda c: c.strings.average),
    Readout("Fullest, on average", "V", lambda c: c.strings.mean),
    Readout("Fullest, 95 % stay below", "V", lambda c: c.strings.p95),
    Readout("Fullest, worst case", "V", lambda c: c.strings.worst_case),
    Readout("Safe bank volts", "V", lambda c: c.strings.safe_voltage),
)
def _month(run: str, end: str) -> Any:
    """Not a number where the file states no leakage."""
    return lambda c: getattr(c.floats[run], end) if run in c.floats else math.nan


MONTH = (
    Readout("Odd cell, no bleeders", "V", _month("without bleeders", "odd_end")),
    Readout("Others, no bleeders", "V", _month("without bleeders", "others_end")),
    Readout("Odd cell, bleeders", "V", _month("with bleeders", "odd_end")),
    Readout("Others, bleeders", "V", _month("with bleeders", "others_end")),
    Readout("Bleeder", "Ω", lambda c: c.drains[1] if c.drains else math.nan),
)


def _until(bled: bool, share: float) -> Any:
    """Time until a cell left alone has fallen to this share of its volts [s]."""
    def seconds(c: Any) -> float:
        if not c.drains:
            return math.nan
        ohm = float(balance.drain_resistance(*c.drains)) if bled else c.drains[0]
        return float(balance.decay_time(ohm, c.store.cell_capacitance, share))

    return seconds


HOLDS = (
    Readout("90 % of the volts, alone", "h", _until(False, 0.9), 1 / 3600),
    Readout("90 %, with bleeders", "h", _until(True, 0.9), 1 / 3600),
    Readout("Half, alone", "h", _until(False, 0.5), 1 / 3600),
    Readout("Half, with bleeders", "h", _until(True, 0.5), 1 / 3600),
    Readout("Heat of a bleeder", "mW", lambda c: float(balance.bleed_heat(c.store.cell_voltage, c.drains[1])) if c.drains
            else math.nan, 1e3),
)
SHORTED = (
    Readout("First current", "A", lambda c: c.short.current),
    Readout("Time constant", "s", lambda c: c.short.time_constant),
    Readout("Total I²t", "kA²s", lambda c: c.short.i2t, 1e-3),
    Readout("Smallest wire that bears it", "mm²", lambda c: c.short.fitting or math.inf, 1e6),
)


def _given(c: Any) -> float:
    return ragone.energy_at_power(c.store, c.power, c.stop, c.temperature)


def _given_pack(c: Any) -> float:
    v = c.pack
    return ragone.energy_at_power(v.store, c.power, v.controller.stop_voltage, v.road.air_temperature)


BESIDE = (
    Readout("This store, at that power", "Wh", _given, 1 / 3600, model=0.01),
    Readout("The pack, at that power", "Wh", _given_pack, 1 / 3600, model=0.02),
    Readout("This store", "kg", lambda c: c.store.mass),
    Readout("The pack", "kg", lambda c: c.pack.store.mass),
    Readout("Its cells, by energy", "", lambda c: float(math.ceil(c.cells_for()[0])), whole=True),
    Readout("Its cells, by power", "", lambda c: float(math.ceil(c.cells_for()[1])), whole=True),
)


def _pictures(kind: str, beside: bool) -> tuple[Picture, ...]:
    made = [Picture("What comes out", plots.discharge_chart, _EMPTIED, COMES_OUT),
            Picture("Where the joules stay", plots.joule_bars, _EMPTIED, STAYS)]
    if kind == "capacitors":
        made += [Picture("The fullest cell", plots.worst_cells, (*_CHARGE, "low", "high"), FULLEST, widens=False),
                 Picture("A month on the charger", plots.cell_fan,
                         (*_CHARGE, "store.cell_capacitance", *_LEAKING, "leak_factor", "float_days"), MONTH, widens=False),
                 Picture("How long it holds", plots.holding, ("store.cell_capacitance", *_LEAKING), HOLDS, widens=False)]
    loop = (*_CHARGE, *_FARADS, *_PATH, "store.lead_area", "lead_length")
    made.append(Picture("If it is shorted", plots.short_circuit, loop, SHORTED, widens=False))
    plane = (*_CHARGE, *_FARADS, *_STOP, *_PATH, "pack_strings", "pack_ohms")
    if beside:
        made.append(Picture("Capacitors or lithium", plots.ragone_plane, plane, BESIDE, widens=False))
    return tuple(made)


# ---------------------------------------------------------------- the page
def _outcome(c: Any) -> tuple[str, str]:
    state = cautions.gravest(c.cautions)
    return state, WORDS.get(state, "no caution")


def make_page(vehicle: Any, pack: Any = None) -> Page:
    """The page of this vehicle's store.

    Parameters: `vehicle`; `pack`, a vehicle with the lithium store beside it, by default the invented kick scooter.
    A vehicle on a supply raises InputError.
    """
    kind = vehicle.store.kind
    if kind == "supply":
        raise InputError("Input vehicle of the page of the store must have a bank or a pack; instead received a supply.")
    beside = (load_vehicle(PACK) if pack is None else pack) if kind == "capacitors" else None
    extra = _pack_knobs(beside) if beside is not None else ()
    n, end = vehicle.store.cells_in_series, setting(round(float(vehicle.store.charge_voltage), 3), "V")
    return Page(
        name="01_store", case=f"{n} cells in series, charged to {end}", knobs=(*FIELDS, *DAY, *extra),
        model=_Model(vehicle, beside),
        pictures=_pictures(kind, beside is not None), readouts=COMES_OUT, outcome=_outcome, cautions=lambda c: c.cautions,
        frame=plots.StoreRanges.around, widen=lambda ranges, case: ranges.widened(case),
        tables=("store", "controller", "converter", "road"))


def open_bench(vehicle: Any = None, pack: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `vehicle`, by default the learner's own; `pack`, a vehicle with the lithium store to hold beside it.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    return Workbench(make_page(taken, pack), taken)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.store_questions import asked

    return Questions(bench, asked())
