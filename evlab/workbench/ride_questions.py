"""The questions of the page of the ride; every answer comes from a ride at the reader's present controls."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

from evlab import store
from evlab.look import setting, shown
from evlab.ride_case import warmed
from evlab.riding import ride
from evlab.route import Route
from evlab.units import InputError
from evlab.workbench.page import Case, Page
from evlab.workbench.question import Asked

__all__ = ["asked"]

NO_CARGO, TYRES, CHARGED, NOTHING = "no cargo", "half the rolling", "a full charge", "none of these"
LEGS = 80.0  # W
SECOND = 22.0  # V: about what the first trip leaves
HURRY = 1.25
SAME = 0.01  # shares below this count as no change: less than a reader could measure
RISES, STAYS, FALLS = "it rises", "it stays", "it falls"
MORE, LESS, EQUAL = "more", "less", f"the same, within {SAME:.0%}".replace("%", "\u2009%")


def asked(page: Page) -> tuple[Asked, ...]:
    """The questions; `page` gives the model."""
    return _current(), _hurry(), _second(page), _saved(), _energy(), _legs()


# ---------------------------------------------------------------- 1: the motor current on the ramp
def _steady(result: Any) -> Any:
    """Rows of the steepest climb that are ridden at the set speed, steadily."""
    slope, speed = result.column("slope"), result.column("speed")
    top = float(slope.max())
    if top < 0.01:
        if max(result.route.slopes) >= 0.01:
            raise InputError("With the present controls the ride ends before the climb: press Reset, or charge more.")
        raise InputError("This way has no climb of 1 % or more, so there is nothing to ask here.")
    on = (slope > 0.98 * top) & (result.column("held_by") == "set speed") & (np.abs(speed - result.column("set_speed")) < 0.03)
    at = result.column("distance")[on]
    if len(at) < 10 or at[-1] - at[0] < 8:
        raise InputError("With the present controls the climb is never ridden at a steady speed: press Reset, or ease them.")
    return on


def _ends(result: Any, name: str) -> tuple[float, float]:
    """Mean of a column over the first and the last quarter of the steady climb."""
    on = _steady(result)
    values = result.column(name)[on]
    quarter = max(len(values) // 4, 1)
    return float(values[:quarter].mean()), float(values[-quarter:].mean())


def _trend(first: float, last: float) -> str:
    change = (last - first) / abs(first)
    return STAYS if abs(change) < 0.02 else RISES if change > 0 else FALLS


def _current_worked(case: Case, answer: Any) -> str:
    motor, bank, volts = (_ends(case.result, n) for n in ("motor_amps", "store_amps", "store_volts"))
    return (f"Between the first and the last quarter of the steady climb the store falls from {shown(volts[0], 'V')} to "
            f"{shown(volts[1], 'V')}. The motor current goes from {shown(motor[0], 'A')} to {shown(motor[1], 'A')}: the slope asks "
            "for a force, the force for a torque, and the torque for a coil current, $I = T/K$. No volts stand in that line. The "
            "power is the same too, so it is the current of the store that climbs, "
            f"from {shown(bank[0], 'A')} to {shown(bank[1], 'A')}.")


def _current() -> Asked:
    return Asked(
        text=lambda case: "On the ramp, at a steady speed, the bank's volts fall. What does the <b>motor current</b> do?",
        options=(RISES, STAYS, FALLS),
        answer=lambda case: _trend(*_ends(case.result, "motor_amps")),
        hints=("What does the hill ask of the wheel: a power, or a force?",
               "The torque at the shaft is the motor constant times the coil current. Which of these do the bank's volts change?",
               "Look at the strip of the amps: two curves, one full, one dashed."),
        slips=lambda case, answer: [(RISES, "That is what the current of the store does: power over falling volts. The motor's own "
                                            "current makes the torque.")] if answer == STAYS else [],
        worked=_current_worked)


# ---------------------------------------------------------------- 2: hurry up the ramp
def _hurried(case: Case) -> Any:
    way = case.result.route
    _posted(case, "a throttle or a power held asks for no speed, so it cannot be hurried")
    if not way.segments:
        raise InputError("This way has one posted speed for all of it, so there is no climb to hurry up alone.")
    if not any(s.slope >= 0.01 for s in way.segments):
        raise InputError("This way has no climb of 1 % or more, so there is nothing to hurry up.")
    faster = [dataclasses.replace(s, speed=HURRY * s.speed) if s.slope >= 0.01 else s for s in way.segments]
    route = Route.from_segments(faster, blend=way.blend, stops=way.stops, name=f"{way.name}, hurried")
    return ride(case.vehicle, route, start=_begins(case.result), wind=case.result.wind,
                winding=warmed(case.result))


def _hurry_answer(case: Case) -> str:
    slow, fast = case.result, _hurried(case)
    if slow.outcome != "arrived" or fast.outcome != "arrived":
        which = "as it is" if slow.outcome != "arrived" else "hurried"
        raise InputError(f"With the present controls the ride does not arrive {which}, and energies of two different ways cannot "
                         "be compared: press Reset, or charge more.")
    change = fast.ledger["store"] / slow.ledger["store"] - 1
    return EQUAL if abs(change) < SAME else MORE if change > 0 else LESS


def _hurry_worked(case: Case, answer: Any) -> str:
    slow, fast = case.result, _hurried(case)
    rows = [("from the store", slow.ledger["store"], fast.ledger["store"])]
    parts = (("copper", "coil copper"), ("air", "air"), ("motor_drag", "motor drag"), ("stand_by", "stand-by"),
             ("rolling", "rolling"), ("lift", "lift"))
    rows += [(name, -slow.ledger[key], -fast.ledger[key]) for key, name in parts]
    cells = "; ".join(f"{name} {shown(a, 'J')} → {shown(b, 'J')}" for name, a, b in rows)
    return (f"The same way with the climb at {setting(100 * (HURRY - 1), '%')} more speed: {cells}. Lift and rolling are force "
            "times way: the hurry does not change them. Air grows with the square of the speed; what runs by the clock (stand-by, "
            "and the heat of a coil current that must hold the hill) shrinks with the time on it. Which wins is a matter of "
            "numbers, so “the slow way is the thrifty way” has to be computed each time.")


def _hurry() -> Asked:
    def text(case: Case) -> str:
        posted = [s.speed for s in case.result.route.segments if s.slope >= 0.01]
        speeds = f", {shown(HURRY * posted[0], 'm/s')} instead of {shown(posted[0], 'm/s')}" if posted else ""
        return f"Hurry up the ramp{speeds}: how much energy does the whole ride take from the store?"

    return Asked(
        text=text, options=(MORE, LESS, EQUAL), answer=_hurry_answer, worked=_hurry_worked,
        hints=("Which terms of the ledger go with the way, which with the speed, which with the time?",
               "The coil current on the ramp is the same at either speed: for how long does it heat the copper?",
               "Compare what the air takes more with what copper and stand-by take less."))


# ---------------------------------------------------------------- 3: the second trip
def _has_second(case: Case) -> None:
    bank = case.vehicle.store
    if bank.kind != "capacitors":
        raise InputError("This store has no volts to begin with but its own, so there is no second trip to ask about.")
    if bank.charge_voltage < SECOND:
        raise InputError(f"With the present controls the bank is never as full as {setting(SECOND, 'V')}: charge it to more, or "
                         "press Reset.")


def _second(page: Page) -> Asked:
    def second(case: Case) -> Any:
        _has_second(case)
        return _again(case, case.vehicle, SECOND)

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        share, way = SECOND / case.result.start_voltage, case.result.distance
        return [(share * way, "That goes with the volts. Energy goes with their square, and the stop volts leave a part unused."),
                (share**2 * way, "That goes with the square of the volts, as if everything down to zero could be used and every "
                                 "metre cost the same. The drive stops at its stop volts, and a metre of ramp is dear.")]

    def worked(case: Case, answer: Any) -> str:
        r, stop = second(case), case.vehicle.controller.stop_voltage
        left = store.usable_energy.worked(case.vehicle.store.capacitance, SECOND, min(stop, SECOND))
        return f"What is left above the stop volts: $\\displaystyle {left}$, less heat. The ride's words: {r.reason} {r.aftermath}"

    return Asked(
        text=lambda case: f"The second trip starts with {setting(SECOND, 'V')}, all else as now. <b>How far</b> does it get?",
        quantity="distance", unit="m", share=0.03, least=3.0,
        answer=lambda case: second(case).distance, slips=slips, worked=worked,
        hints=("How much energy lies between these volts and the stop volts?",
               "What does a metre of flat cost, and what a metre of ramp? The newtons of the road are joules for each metre.",
               "The picture “Energy, metre by metre” tells how far so many kilojoules go."))


def _again(case: Case, vehicle: Any, start: float | None) -> Any:
    """The ride as now with another vehicle or start."""
    r = case.result
    driver = None if r.driver is r.vehicle.driver else r.driver
    return ride(vehicle, r.route, start=start, wind=r.wind, driver=driver, winding=warmed(r))


def _begins(result: Any) -> Any:
    """The volts from which the ride began; a supply has none to begin with."""
    return None if result.vehicle.store.kind == "supply" else result.start_voltage


def _posted(case: Case, why: str) -> None:
    """Refuse what only makes sense where the posted speeds are followed."""
    if case.vehicle.driver.kind != "set speed" or case.result.driver is not case.vehicle.driver:
        raise InputError(f"Choose the posted speeds as the demand first: {why}.")


# ---------------------------------------------------------------- 4: what would have saved it
def _savers(case: Case) -> dict[str, Any]:
    """The second trip with one thing changed each."""
    v = case.vehicle
    light, easy = v.change({"load.cargo": 0.0}), v.change({"road.rolling_coefficient": v.road.rolling_coefficient / 2})
    return {NO_CARGO: _again(case, light, SECOND), TYRES: _again(case, easy, SECOND), CHARGED: _again(case, v, None)}


def _saved() -> Asked:
    def answer(case: Case) -> str:
        _has_second(case)
        if _again(case, case.vehicle, SECOND).outcome == "arrived":
            raise InputError(f"With the present controls the trip that starts with {setting(SECOND, 'V')} arrives: nothing is to "
                             "be saved.")
        saving = [name for name, r in _savers(case).items() if r.outcome == "arrived"]
        if len(saving) > 1:
            raise InputError("With the present controls more than one of them saves it: press Reset first.")
        return saving[0] if saving else NOTHING

    def worked(case: Case, answer: Any) -> str:
        told = "; ".join(f"{name}: {r.outcome}, {shown(r.distance, 'm')}" for name, r in _savers(case).items())
        return (f"{told}. The hill lifts rider and vehicle too, and the volts that are left set how fast it may climb: what is "
                "missing is energy, and a "
                "lot of it. The picture “Why it ended” searches each quantity for the nearest value that would do.")

    return Asked(
        text=lambda case: (
            f"The second trip starts with {setting(SECOND, 'V')} and does not arrive. <b>Which one thing</b> would have saved it?"
        ),
        options=(NO_CARGO, TYRES, CHARGED, NOTHING),
        answer=answer,
        worked=worked,
        hints=(
            "How many joules are missing at the end of it?",
            "How much of the weight is cargo? How much of the road's force is rolling?",
            "Look at “Why it ended”, with the charge at the start pulled down.",
        ),
    )


# ---------------------------------------------------------------- 5: an energy with its unit
def _energy() -> Asked:
    def check(case: Case) -> None:
        if case.vehicle.store.kind != "capacitors":
            raise InputError("This store is no capacitor: half C V squared does not hold for it.")

    def answer(case: Case) -> float:
        check(case)
        return float(case.result.ledger["store"])

    def text(case: Case) -> str:
        if case.vehicle.store.kind != "capacitors":
            return "How much energy did the store give on this ride?"
        r, farad = case.result, shown(case.vehicle.store.capacitance, "F")
        before, after = (shown(volts, "V", figures=4) for volts in (r.start_voltage, r.rested_voltage))
        return (f"A voltmeter says {before} before this ride and {after} "
                f"after it and a rest; the bank has {farad}. <b>How much energy</b> did it give?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        c, a, b = case.vehicle.store.capacitance, case.result.start_voltage, case.result.rested_voltage
        return [(c * (a * a - b * b), "The half is missing: the volts fall while the charge flows, so only their mean counts."),
                (0.5 * c * (a - b), "The volts are not squared."),
                (0.5 * c * (a - b) ** 2, "The difference was squared; it is the difference of the squares."),
                (c * (a - b), "That is the charge, in coulombs: energy is charge times the volts it flows at."),
                (0.5 * c * a * a, "That is all that was in it: what is still in it has to come off.")]

    def worked(case: Case, answer: Any) -> str:
        r = case.result
        line = store.usable_energy.worked(case.vehicle.store.capacitance, r.start_voltage, r.rested_voltage)
        return (f"$\\displaystyle {line}$. That is {shown(answer / 3600, 'Wh')} (1 Wh is 3600 J). The ledger says "
                f"{shown(answer, 'J')}: the small difference is heat between the branches of the cells while they rest.")

    return Asked(
        text=text, quantity="energy", unit="kJ", share=0.03, answer=answer, slips=slips, worked=worked,
        hints=("Energy in a capacitor is half C V squared.", "Take it before and after, and the difference of the two.",
               "Farads times volts squared are joules; say which unit you mean."))


# ---------------------------------------------------------------- 6: legs
def _legs() -> Asked:
    def rides(case: Case) -> tuple[Any, Any]:
        v, r = case.vehicle, case.result
        _posted(case, "legs spare the store only where the speed is held")
        made = tuple(ride(v.change({"driver.pedalling_power": p}), r.route, start=_begins(r), wind=r.wind, winding=warmed(r))
                     for p in (0.0, LEGS))
        if any(x.outcome != "arrived" for x in made):
            raise InputError("With the present controls it does not arrive: press Reset, or charge more.")
        return made[0], made[1]

    def answer(case: Case) -> float:
        without, legs = rides(case)
        return float(without.ledger["store"] - legs.ledger["store"])

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        legs = rides(case)[1]
        return [
            (
                legs.ledger["rider"] * case.vehicle.gearing.efficiency,
                "So much of the legs' work reaches the wheel. There it stands in for "
                "work of the motor, which would have cost copper and chain as well.",
            ),
            (LEGS, "Watts are no joules: for how long?"),
        ]

    def worked(case: Case, answer: Any) -> str:
        without, legs = rides(case)
        joules = {key: without.ledger[key] - legs.ledger[key] for key in ("copper", "esr")}
        return (
            f"The legs give {shown(legs.ledger['rider'], 'J')} in {shown(legs.duration, 's')}, their chain takes its share. What "
            "they push, the motor "
            f"need not: besides that work it saves {shown(-joules['copper'], 'J')} in the copper, since heat goes with the square "
            f"of the amps. The store gives {shown(answer, 'J')} less. Downhill the same legs charge it, through the braking motor."
        )

    return Asked(
        text=lambda case: (
            f"You pedal with {setting(LEGS, 'W')} all the way, at the same posted speeds. <b>How much less</b> does the store give?"
        ),
        quantity="energy",
        unit="kJ",
        share=0.1,
        answer=answer,
        slips=slips,
        worked=worked,
        hints=(
            "Watts times seconds: how long does the ride take?",
            "What part of it reaches the wheel?",
            "The motor makes less heat, too, when it pushes less.",
        ),
    )
