"""The page of charging: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

from typing import Any

from evlab.charging import charge
from evlab.look import setting
from evlab.plots import ChargeRanges, charge_chart, ledger_rulers
from evlab.units import InputError
from evlab.vehicle import load_vehicle
from evlab.workbench.bench import Workbench
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.store_knobs import charged_to
from evlab.workbench.store_worked import of_charging as worked

__all__ = ["make_page", "open_bench", "questions", "worked"]

START, SHARE, HOLD, TAIL = "start_volts", "start_share", "hold_time", "tail_current"
LIMITS = ("charger.power_limit", "charger.minimum_voltage", "charger.source_current_limit")  # felt only where they bind
STATES = {"full": "ok", "charger gave up": "caution", "time limit": "caution"}

# ---------------------------------------------------------------- the controls
_CHARGER, _SOURCE, _STORE, _DAY = "Charger", "Its source", "Store", "The day"
FIELDS = (
    Knob("charger.current_limit", _CHARGER, log=True),
    Knob("charger.power_limit", _CHARGER, log=True),
    Knob("charger.minimum_voltage", _CHARGER, low=0.0, high=30.0, step=5),
    Knob("charger.efficiency", _CHARGER, step=1),
    Knob("charger.series_resistance", _CHARGER, log=True),
    Knob("charger.source_voltage", _SOURCE, step=0.2),
    Knob("charger.source_resistance", _SOURCE),
    Knob("charger.source_current_limit", _SOURCE, log=True),
    charged_to(_STORE),
    Knob("store.cell_tolerance", _STORE, step=0.5),
)


def _day(vehicle: Any) -> tuple[Knob, ...]:
    """What the day brings: where it starts, and how long or how far the volts are held at the end."""
    if vehicle.store.kind == "lithium":
        return (Knob(SHARE, _DAY, start=0.1, quantity="state_of_charge", label="Charge at the start", place="store", unit="%",
                     low=0.0, high=0.95, step=1, meaning="share of the full charge when charging begins",
                     why="from empty to all but full"),
                Knob(TAIL, _DAY, start=float(f"{0.05 * vehicle.store.charge / 3600:.2g}"), quantity="charging_current",
                     label="Ends at", place="outside", unit="A", low=0.02, high=5.0, log=True,
                     meaning="current at which the stage of constant volts ends",
                     why="a twentieth to a tenth of the amperes that empty it in an hour, common practice"))
    return (Knob(START, _DAY, start=float(vehicle.controller.stop_voltage), quantity="open_voltage", label="Volts at the start",
                 place="store", unit="V", low=0.0, high=float(vehicle.store.charge_voltage), step=0.5,
                 meaning="volts of the rested bank when charging begins", why="from empty to charged"),
            Knob(HOLD, _DAY, start=0.0, quantity="time", label="Volts held for", place="outside", unit="min", low=0.0, high=1800.0,
                 step=1, meaning="how long the charger holds the end volts before it lets go",
                 why="the slow branch needs minutes; half an hour is a standard test's hold"))


def _model(vehicle: Any, day: Day) -> Any:
    """One charge; a resistor holds no volts."""
    if vehicle.store.kind == "lithium":
        share, tail = day[SHARE], day[TAIL]
        return charge(vehicle, start=f"{100 * share:.6g} %", hold=None if vehicle.charger.kind == "resistor" else tail)
    seconds = day.get(HOLD, 0.0)
    return charge(vehicle, start=day[START], hold=f"{seconds:.6g} s" if seconds else None)


# ---------------------------------------------------------------- the page
def _last(name: str) -> Any:
    return lambda r: float(r.column(name)[-1])


def _readouts(vehicle: Any) -> tuple[Readout, ...]:
    long = vehicle.store.kind == "lithium"
    made: tuple[Readout, ...] = (
        Readout("Time", "min" if long else "s", lambda r: r.duration, 1 / 60 if long else 1.0, model=0.01),
        Readout("Into the store", "kJ", lambda r: -r.ledger["store"], 1e-3, model=0.01),
        Readout("From the source", "kJ", lambda r: r.ledger["source"], 1e-3, model=0.01),
        Readout("Gets through", "%", lambda r: r.efficiency if r.ledger["source"] else 0.0, 100.0),
        Readout("Source amps, top", "A", lambda r: float(r.column("source_amps").max()), model=0.01),
        Readout("Fullest cell", "V", lambda r: float(r.column("worst_cell_volts").max())),
        Readout("Rests at", "V", lambda r: r.rested_voltage),
    )
    c = vehicle.charger
    if c.source_charge:
        made += (Readout("Charges from a full source", "", lambda r: r.charges_per_source if r.ledger["source"] else 0.0),)
    if vehicle.costs.energy_price:
        made += (Readout("Energy costs", "", lambda r: r.ledger["source"] / 3.6e6 * r.vehicle.costs.energy_price),)
    return made


def make_page(vehicle: Any) -> Page:
    """The page of charging this kind of store with this kind of charger.  A store that cannot be charged raises InputError."""
    if vehicle.store.kind == "supply":
        raise InputError("Input vehicle of the page of charging must have a store that can be charged; instead received a supply.")
    day = tuple(k for k in _day(vehicle) if vehicle.charger.kind != "resistor" or k.name not in (HOLD, TAIL))
    felt = tuple(k.name for k in (*FIELDS, *day) if k.name not in LIMITS)
    end = setting(round(float(vehicle.store.charge_voltage), 3), "V")
    return Page(
        name="07_charging", case=f"to {end} with {'a resistor' if vehicle.charger.kind == 'resistor' else 'a charger'}",
        knobs=(*FIELDS, *day), model=_model,
        pictures=(Picture("Along the time", charge_chart), Picture("Where the energy went", lambda ranges: ledger_rulers(), felt)),
        readouts=_readouts(vehicle), outcome=lambda r: (STATES.get(r.outcome, "danger"), r.outcome),
        cautions=lambda r: r.cautions, tell=lambda r: r.reason, frame=ChargeRanges.around,
        widen=lambda ranges, result: ranges.widened(result), tables=("store", "charger", "controller", "road"))


def open_bench(vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `vehicle`, by default the learner's own.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    return Workbench(make_page(taken), taken)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.charging_questions import asked

    return Questions(bench, asked())
