"""The questions of the page of charging; every answer comes from charging the reader's own store at the present controls."""

from __future__ import annotations

from typing import Any

from evlab import chargers
from evlab.charging import charge
from evlab.look import setting, shown
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

SLOW = 1.0  # A
ABOVE = 1.0  # V: the source of the resistor stands so far above the end volts
OHMS = 6.0
BEGIN, THROUGHOUT, END = "at the beginning", "the same all the way", "at the end"
STOPS, NOBODY, EARLY = "it stops when full", "nobody stops it", "it stops too early"


def asked() -> tuple[Asked, ...]:
    """The questions, from the amperes to what a wrong programme does."""
    return _time(), _resistor(), _largest(), _programme()


def _span(case: Case) -> tuple[float, float]:
    """Volts inside at the start, and at the terminals at the end."""
    first, last = case.result.start_voltage, float(case.result.stop)
    if last <= first:
        raise InputError(f"With the present controls the store is full before it begins ({first:.4g} V): start lower.")
    return first, last


def _again(case: Case, **changes: Any) -> Any:
    """The same charge, with another charger."""
    vehicle = case.vehicle.change({f"charger.{name}": value for name, value in changes.items()})
    return charge(vehicle, start=case.result.start_voltage, stop=case.result.stop)


def _from_to(case: Case) -> str:
    return f"from {shown(case.result.start_voltage, 'V')} to {setting(float(case.result.stop), 'V')}"


# ---------------------------------------------------------------- 1: how long at one ampere
def _time() -> Asked:
    def slow(case: Case) -> Any:
        _span(case)
        if case.vehicle.charger.kind == "resistor":
            raise InputError("A resistor holds no current, so there is no charge at one ampere to ask about.")
        r = _again(case, current_limit=SLOW)
        if r.outcome != "full":
            raise InputError(f"At {setting(SLOW, 'A')} this store is never full: {r.reason}")
        return r

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        (first, last), s = _span(case), case.vehicle.store
        if s.kind != "capacitors":
            return [(s.cell_charge / SLOW, "That is one string alone, from empty: strings side by side add up.")]
        return [(s.cell_capacitance * (last - first) / SLOW,
                 "Those are the farads of one cell. In series the volts add up and the farads are divided."),
                (s.capacitance * last / SLOW, "That is from zero: what is in it already need not be brought."),
                (0.5 * s.capacitance * (last**2 - first**2) / (SLOW * last),
                 "That is the energy over the power at the end. Most of the way the volts, so the power, are lower.")]

    def worked(case: Case, answer: Any) -> str:
        (first, last), s = _span(case), case.vehicle.store
        now = f"At the charger's own limits it takes {shown(case.result.duration, 's')} ({case.result.outcome})."
        if s.kind != "capacitors":
            return (f"Charge over current, plus the tail at the end. {now} More current does not shorten the tail, and a "
                    "cell bears only so much.")
        line = chargers.constant_current_charge_time.worked(s.capacitance, last, SLOW, s.resistance, first)
        return (f"$\\displaystyle {line}$; what leaks away and what the slow branch has not yet taken make the small difference. "
                f"{now} More current is quicker, heats more ($I^2R$), and leaves the slow branch further behind.")

    return Asked(
        text=lambda case: f"<b>How long</b> does it take {_from_to(case)} at a constant {setting(SLOW, 'A')}?",
        quantity="time", unit="s", share=0.03, answer=lambda case: slow(case).duration, slips=slips, worked=worked,
        hints=("An ampere is a coulomb each second. How many coulombs are missing?",
               "A capacitor takes C times the rise of its volts, in coulombs.",
               "The farads are those of the whole bank, in series."))


# ---------------------------------------------------------------- 2: through a resistor
def _resistor() -> Asked:
    def source(case: Case) -> float:
        return float(case.result.stop) + ABOVE

    def run(case: Case) -> Any:
        other = {"charger.kind": "resistor", "charger.series_resistance": OHMS, "charger.source_voltage": source(case)}
        last = _span(case)[1]
        return charge(case.vehicle.change(other), start=case.result.start_voltage, stop=last)

    def text(case: Case) -> str:
        return (f"No charger at all: a supply of {shown(source(case), 'V')} through a resistor of {setting(OHMS, 'Ω')}, "
                f"{_from_to(case)}. <b>What share</b> of the supply's energy ends in the store?")

    def worked(case: Case, answer: Any) -> str:
        first, last = _span(case)
        twice = charge(case.vehicle.change({"charger.kind": "resistor", "charger.series_resistance": 2 * OHMS,
                                            "charger.source_voltage": source(case)}), start=first, stop=last)
        line = ""
        if case.vehicle.store.kind == "capacitors":
            line = f"$\\displaystyle {chargers.resistor_charge_efficiency.worked(last, first, source(case))}$. "
        return (f"{line}Each coulomb leaves the supply at its full volts and arrives at the store's: the rest is heat, "
                f"whatever the ohms. With {setting(2 * OHMS, 'Ω')} it is {shown(100 * twice.efficiency, '%')}, in twice the time. "
                "Half is lost only from empty up to the supply's own volts.")

    return Asked(
        text=text, quantity="usable_share", unit="%", share=0.0, least=0.015, worked=worked,
        answer=lambda case: run(case).efficiency,
        slips=lambda case, answer: [(0.5, "That holds from empty up to the supply's own volts. This one does not begin empty."),
                                    (1 - answer, "That is the share that is lost.")],
        hints=("At how many volts does a coulomb leave the supply, at how many does it arrive in the store?",
               "The store's volts are halfway between start and end, on average over the charge.",
               "Mean volts of the store over the volts of the supply. Where are the ohms in this?"))


# ---------------------------------------------------------------- 3: the source's largest current
def _ends(case: Case) -> tuple[float, float]:
    _span(case)
    amps = case.result.column("source_amps")
    held = case.result.column("held_by")
    amps = amps[held != "constant voltage"] if (held != "constant voltage").any() else amps
    return float(amps[0]), float(amps[-1])


def _largest() -> Asked:
    def answer(case: Case) -> str:
        first, last = _ends(case)
        return THROUGHOUT if abs(last - first) < 0.02 * first else END if last > first else BEGIN

    def worked(case: Case, answer: Any) -> str:
        first, last = _ends(case)
        limit = case.vehicle.charger.source_current_limit
        return (f"It goes from {shown(first, 'A')} to {shown(last, 'A')} before the volts are held. A charger passes power on, not "
                "current: the same amperes at higher volts are more watts, and the source gives them at its own lower volts, with "
                f"the charger's loss on top. Its wire and fuse are sized for that end (limit: {setting(limit, 'A')}).")

    return Asked(
        text=lambda case: "With the charger as it is set: <b>when</b> is the current out of the <i>source</i> largest?",
        options=(BEGIN, THROUGHOUT, END), answer=answer, worked=worked,
        slips=lambda case, answer: [(THROUGHOUT, "That is the current into the store. The source gives the power, and "
                                                 "that grows with the store's volts.")] if answer == END else [],
        hints=("What does the charger pass on: current, or power?", "What do the store's volts do while the current is steady?",
               "Look at the two curves of amperes."))


# ---------------------------------------------------------------- 4: the wrong programme
def _programme() -> Asked:
    def run(case: Case) -> Any:
        if case.vehicle.charger.kind == "resistor":
            raise InputError("A resistor has no programme to get wrong.")
        if case.vehicle.store.kind != "capacitors":
            raise InputError("This question is about a bank of capacitors.")
        return _again(case, programme="until the volts drop", highest_voltage=60.0)

    def answer(case: Case) -> str:
        r = run(case)
        return STOPS if r.outcome == "full" else NOBODY if r.outcome in ("cell over its limit", "time limit") else EARLY

    def worked(case: Case, answer: Any) -> str:
        r = run(case)
        return (f"A capacitor's volts only rise while current flows in: the drop that such a programme waits for never comes. "
                f"{r.reason} Set the programme to end at volts, and stay with it until you have seen it end.")

    return Asked(
        text=lambda case: "A charger for nickel cells ends <i>when the volts drop</i> a little. It is put on a bank of capacitors: "
                          "what happens?",
        options=(STOPS, EARLY, NOBODY), answer=answer, worked=worked,
        hints=("What makes the volts of a nickel cell drop when it is full? Heat.", "What would make a capacitor's volts drop "
               "while current flows into it?", "Nothing does. So who ends it?"))
