"""The questions of the page of the store; every answer comes from the reader's own bank at the present controls."""

from __future__ import annotations

import math
from typing import Any

from evlab import store
from evlab.look import setting, shown
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

TIRED = 3.0  # so many times the ohms: an old or a cold bank
HIGHEST, LOWEST, SAME = "the highest", "the lowest", "like the others"


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _half(), _fullest(), _leaky(), _tired(), _shorted()


def _bank(case: Case) -> Any:
    if case.vehicle.store.kind != "capacitors":
        raise InputError("This store is no bank of capacitors, so there is nothing to ask here.")
    return case.vehicle.store


# ---------------------------------------------------------------- 1: half the volts
def _half() -> Asked:
    def answer(case: Case) -> float:
        bank = _bank(case)
        return float(bank.energy(bank.state_at(bank.full_voltage / 2)) / bank.energy(bank.full_state()))

    def text(case: Case) -> str:
        full = case.vehicle.store.full_voltage
        return (f"The bank, charged to {setting(full, 'V')}, has fallen to {shown(full / 2, 'V')}. <b>How much</b> of its energy "
                "is still in it?")

    def worked(case: Case, answer: Any) -> str:
        bank = _bank(case)
        line = store.energy.worked(bank.capacitance, bank.full_voltage / 2)
        return (f"$\\displaystyle {line}$, of {shown(bank.energy(bank.full_state()), 'J')} when charged. Energy goes with the "
                "square of the volts: the first volts are rich, the last ones poor. That is why a bank may stop with much of its "
                "charge, and little of its energy, still inside.")

    return Asked(
        text=text, quantity="usable_share", unit="%", share=0.0, least=0.02, answer=answer, worked=worked,
        slips=lambda case, answer: [(0.5, "That is what is left of the charge. Each coulomb is worth the volts it flows at, and "
                                          "those have fallen too."),
                                    (0.75, "That is what has been taken out; the question is what is still in.")],
        hints=("Charge goes with the volts. What does each coulomb bring?", "Energy in a capacitor is half C V squared.",
               "Half the volts, squared, is what share?"))


# ---------------------------------------------------------------- 2: the fullest cell
def _fullest() -> Asked:
    def text(case: Case) -> str:
        if case.vehicle.store.kind != "capacitors":
            return "How many volts does the fullest cell see?"
        bank, low, high = case.vehicle.store, case.day["low"], case.day["high"]
        band = f"{setting(round(100 * low, 1), '%')} to {setting(round(100 * high, 1), '%')}"
        return (f"{bank.cells_in_series} empty cells in series are charged to {setting(bank.full_voltage, 'V')}. Their farads lie "
                f"{band} off the printed ones. Take the worst string that this allows: <b>how many volts</b> does its fullest "
                f"cell see? ({setting(bank.cell_rated_voltage, 'V')} is printed on each.)")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        bank, high, low = _bank(case), case.day["high"], case.day["low"]
        mean = bank.full_voltage / bank.cells_in_series
        return [(mean, "That is the mean. Equal charge flows through all, and the smallest cell rises most."),
                (mean * (1 + high) / (1 + low), "That is the fullest if all the others stayed at the mean: they must make room, "
                                                "since the sum of all cells is the charger's volts."),
                (mean * (1 + low), "A smaller cell fills sooner, so it sees more volts, not fewer.")]

    def worked(case: Case, answer: Any) -> str:
        bank, strings = _bank(case), case.result.strings
        n, low, high = bank.cells_in_series, 1 + case.day["low"], 1 + case.day["high"]
        return (f"The same charge $Q$ goes through all: each cell rises by $Q/C_i$. One cell of {setting(round(low, 3))} and "
                f"{n - 1} of {setting(round(high, 3))} times the printed farads: "
                f"$V = {bank.full_voltage:g}\\,\\frac{{1/{low:g}}}{{1/{low:g} + {n - 1}/{high:g}}}$. Strings drawn at random are "
                f"kinder: {shown(float(strings.mean), 'V')} for the fullest cell on average, and one string in twenty above "
                f"{shown(float(strings.p95), 'V')}. To keep even the worst at what is printed on it, charge to "
                f"{shown(float(strings.safe_voltage), 'V')}.")

    return Asked(
        text=text, quantity="voltage", unit="V", share=0.0, least=0.015, answer=_worst, slips=slips, worked=worked,
        hints=("What is the same for all cells in series: the volts, or the charge that went through?",
               "A cell's volts are charge over farads: which cell rises most?",
               "Let one cell have the least farads allowed, all others the most; their volts add up to the charger's."))


def _worst(case: Case) -> float:
    _bank(case)
    return float(case.result.strings.worst_case)


# ---------------------------------------------------------------- 3: a month on the charger
def _leaky() -> Asked:
    def ends(case: Case) -> tuple[float, float]:
        _bank(case)
        run = case.result.floats.get("without bleeders")
        if run is None:
            raise InputError("The vehicle file does not state what a cell leaks (cell_leakage of [store]); nothing to ask.")
        return float(run.odd_end), float(run.others_end)

    def answer(case: Case) -> str:
        odd, others = ends(case)
        return SAME if abs(odd - others) < 0.01 * others else LOWEST if odd < others else HIGHEST

    def text(case: Case) -> str:
        return (f"One cell leaks {setting(round(case.day['leak_factor'], 2))} times as much as the others; no bleeders. After "
                f"{setting(round(case.day['float_days'], 1))} days on a charger that holds the volts, its own volts are …")

    def worked(case: Case, answer: Any) -> str:
        odd, others = ends(case)
        bled = case.result.floats["with bleeders"]
        return (f"It ends at {shown(odd, 'V')}, the others at {shown(others, 'V')}. What leaks out of it, the charger must bring "
                "through all the others too: it starves and they rise, each a little. After a <i>fast</i> charge it is the other "
                "way round, and not the leak but the farads decide: the smallest cell is the fullest. So measure every cell after "
                f"both. Bleeders that outweigh the leak hold it at {shown(float(bled.odd_end), 'V')}.")

    return Asked(
        text=text, options=(HIGHEST, SAME, LOWEST), answer=answer, worked=worked,
        slips=lambda case, answer: [(HIGHEST, "That is the smallest cell after a fast charge. Over a month the leaks decide, and "
                                              "what leaks out is missing in it.")] if answer == LOWEST else [],
        hints=("The charger holds the sum of all cells. What does a leak do to one of them?",
               "In the end the same current flows through all cells. At how many volts does each leak that much?",
               "Look at the picture of the month on the charger."))


# ---------------------------------------------------------------- 4: a tired bank gives up
def _tired() -> Asked:
    def answer(case: Case) -> float:
        return float(store.collapse_voltage(case.day["power"], TIRED * case.vehicle.store.resistance))

    def text(case: Case) -> str:
        return (f"The store is tired: {setting(TIRED)} times the ohms. A converter takes {shown(case.day['power'], 'W')} from it, "
                "whatever the volts. Below <b>how many volts inside</b> (open circuit) can it not give that any more?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        power, ohm = case.day["power"], case.vehicle.store.resistance
        return [(answer / 2, "Those are the volts at the terminals at that instant. Inside there are twice as many: half of them "
                             "fall across the store's own ohms."),
                (2 * math.sqrt(power * ohm), "That is the store when new: its ohms have grown since."),
                (case.vehicle.controller.stop_voltage, "Those are the stop volts, which you choose. This limit is not asked.")]

    def worked(case: Case, answer: Any) -> str:
        power, ohm = case.day["power"], TIRED * case.vehicle.store.resistance
        stop, new = case.vehicle.controller.stop_voltage, case.vehicle.store.resistance
        fresh, told = float(store.collapse_voltage(power, new)), float(answer)
        wise = "above" if stop > told else "below"
        return (f"$\\displaystyle {store.collapse_voltage.worked(power, ohm)}$. New, it was {shown(fresh, 'V')}. More current "
                "lowers the volts, so the converter takes still more current: beyond this point there is no end to it. Your stop "
                f"volts of {setting(stop, 'V')} lie {wise} it. Joints and leads count like the cells' own ohms.")

    return Asked(
        text=text, quantity="open_voltage", unit="V", share=0.03, least=0.2, answer=answer, slips=slips, worked=worked,
        hints=("Power out is volts at the terminals times current. What does more current do to those volts?",
               "The most a store can give at all is when half its volts fall inside it.",
               "That most is V²/(4R). Set it equal to the power asked."))


# ---------------------------------------------------------------- 5: a dropped spanner
def _shorted() -> Asked:
    def text(case: Case) -> str:
        s = case.vehicle.store
        parts = (f"{setting(s.cells_in_series)} cells of {setting(1000 * s.cell_resistance, 'mΩ')}, a joint of "
                 f"{setting(1000 * s.joint_resistance, 'mΩ')} for each, leads of {setting(1000 * s.lead_resistance, 'mΩ')}")
        more = f"; {s.strings_in_parallel} strings in parallel" if s.strings_in_parallel > 1 else ""
        return (f"A spanner falls across the posts of the store at {setting(s.full_voltage, 'V')} ({parts}{more}). <b>How many "
                "amperes</b> flow at the first instant, if the spanner has no ohms?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        s = case.vehicle.store
        bare = s.cells_in_series * s.cell_resistance / s.strings_in_parallel
        return [(s.full_voltage / bare, "That leaves out joints and leads."),
                (s.full_voltage / s.cell_resistance, "That is all the volts over the ohms of one cell: they stand in series."),
                (case.vehicle.controller.store_current_limit, "That is the controller's limit. A spanner does not ask it.")]

    def worked(case: Case, answer: Any) -> str:
        s, short = case.vehicle.store, case.result.short
        line = store.short_circuit_current.worked(s.full_voltage, s.resistance)
        lasts = (f"the whole bank goes through it: {shown(float(short.i2t), 'A²s')}, to be compared with what a fuse lets through "
                 "and what a wire bears" if math.isfinite(short.i2t) else "it goes on until something burns through")
        return (f"$\\displaystyle {line}$. If nothing breaks the circuit, {lasts}. “Only {setting(s.full_voltage, 'V')}” welds "
                "spanners: the fuse sits at the post.")

    return Asked(
        text=text, quantity="short_circuit_current", unit="A", share=0.03, worked=worked, slips=slips,
        answer=lambda case: float(store.short_circuit_current(case.vehicle.store.full_voltage, case.vehicle.store.resistance)),
        hints=("Ohm's law: which volts, which ohms?", "Everything in the loop counts: cells, joints, leads.",
               "Milliohms: divide by 1000 before you divide by them."))
