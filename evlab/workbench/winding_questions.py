"""The questions of the page of the winding; every answer comes from the reader's own motor at the present controls."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from evlab import winding
from evlab.look import shown
from evlab.plots.motor_turns import load_reading, one_phase_reading
from evlab.plots.sentences import percent
from evlab.start_load import RAISED
from evlab.units import InputError
from evlab.winding_case import WindingCase
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

SAME, BETTER, WORSE = "the same heat", "less heat", "more heat"
MORE, LESS, EQUAL = "more speed, less torque per ampere", "less speed, more torque per ampere", "nothing changes"


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _twice(), _fits(), _delta(), _starts(), _sensor(), _strands(), _hot(), _count()


# ---------------------------------------------------------------- 1: twice the turns
def _twice() -> Asked:
    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return ("Twice the turns of half the area: twice the torque for each ampere, four times the ohms, half the amps for the "
                "same torque, "
                f"so I²R is the same. Torque over the root of heat stays {shown(c.figure, 'N·m/√W')} whatever the turns. Turns "
                "trade volts "
                "for amps; they choose the speed that a store's volts give.")

    return Asked(
        text=lambda case: (f"You wind twice as many turns ({2 * case.result.build.turns} instead of {case.result.build.turns}) "
                           "with wire of half the "
                           "area, so the same window is full. For the same torque, <b>how much heat is there in the copper?</b>"),
        options=(SAME, BETTER, WORSE), answer=lambda case: SAME, worked=worked,
        slips=lambda case, answer: [(BETTER, "Half the amps, but four times the ohms: square the one before you multiply."),
                                    (WORSE, "Four times the ohms, but half the amps, squared.")],
        hints=("What happens to torque per ampere?", "And to the ohms?", "Heat is amps squared times ohms."))


# ---------------------------------------------------------------- 2: how many fit
def _bare(c: WindingCase) -> float:
    """Turns that bare copper without gaps would give room for."""
    return float(c.build.side * c.build.thickness / c.wire.area // c.build.strands)


def _fits() -> Asked:
    def answer(case: Case) -> float:
        fit = case.result.fit
        return float(fit.capacity // fit.strands)

    def worked(case: Case, answer: Any) -> str:
        fit = case.result.fit
        return (f"{fit.layers} layers of {fit.in_layer} strands are {fit.capacity} places, for {fit.strands} strands in hand "
                f"{answer:.0f} turns: "
                "whole strands only, so the last bit of the window stays empty. Copper then fills at most "
                f"{percent(fit.capacity * case.result.wire.area / (fit.width * fit.height))} of it.")

    return Asked(
        text=lambda case: (f"The side of the coil is {shown(1e3 * case.result.build.side, 'mm')} by "
                           f"{shown(1e3 * case.result.build.thickness, 'mm')}, the "
                           f"wire {shown(1e3 * case.result.wire.overall, 'mm')} over its enamel, {case.result.build.strands} "
                           "strands in hand. <b>How many "
                           "turns fit, laid in straight layers?</b>"),
        quantity="turns", unit="", share=0.01, answer=answer, worked=worked,
        slips=lambda case, answer: [(_bare(case.result),
                                     "That counts bare copper without the gaps between round wires, and without enamel.")],
        hints=("How many strands lie side by side in a layer?", "How many layers?", "Whole numbers of each."))


# ---------------------------------------------------------------- 3: star or delta
def _delta() -> Asked:
    def answer(case: Case) -> str:
        if case.result.build.phases != 3:
            raise InputError("Star and delta are ways to join three phases: choose three phases first.")
        return MORE if not case.result.delta else LESS

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        line = winding.delta_constant.worked(c.constant if not c.delta else c.constant * 3**0.5)
        return (f"$\\displaystyle {line}$. Ohms fall to a third, so torque over the root of heat stays as it is: delta is star "
                "with fewer turns. "
                "A third harmonic drives a current round the delta, which only heats.")

    return Asked(
        text=lambda case: ("The same coils, now joined in star, are joined in delta." if not case.result.delta else
                           "The same coils, now joined in delta, are joined in star.") + " <b>What changes at the same volts?</b>",
        options=(MORE, LESS, EQUAL), answer=answer, worked=worked,
        hints=("How many phases lie between two lines in a star, and how many in a delta?",
               "Fewer volts for each turn of speed mean more speed for each volt."))


# ---------------------------------------------------------------- 4: dead spots
def _starts() -> Asked:
    def answer(case: Case) -> float:
        return float(case.result.starts["one phase"].stuck)

    def worked(case: Case, answer: Any) -> str:
        one = case.result.starts["one phase"]
        if answer == 1:
            return f"{percent(answer)}. {load_reading(one.rig)} {one_phase_reading(one)}. Three phases are never without pull."
        return (f"{percent(answer)}. {load_reading(one.rig)} The load holds it where the coils pull less, from "
                f"{percent(one.shares['stays'])} of the angles. From the others in that share it moves, but comes to rest again. "
                f"Of a hundred tries about {shown(100 * answer, figures=2)} would fail. Three phases are never without pull.")

    def text(case: Case) -> str:
        load, amps = case.result.load, shown(case.result.asked.amps, "A")
        road = f"up {percent(load.uphill)}" if load.uphill else "on the level"
        place = f"{road}, its brakes released" if load.mass else "with its driven wheel raised"
        return (f"Your vehicle stands {place}. One phase alone gets {amps}. The rotor might stand at any angle. <b>From what "
                "share of the angles does it not start?</b>")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        c = case.result
        found = [(c.starts["one phase"].shares["stays"],
                  "That is where the load holds it at once. What of those that begin to move and stop in the dead spot?")]
        if c.load.mass:
            raised = WindingCase(case.vehicle, replace(c.asked, wheel=RAISED)).starts["one phase"].stuck
            found.append((raised, "So it is with the wheel raised. On the ground the motor has the whole vehicle to move."))
        return found

    return Asked(
        text=text, quantity="dead_share", unit="%", share=0.15, answer=answer, worked=worked, slips=slips,
        hints=("Where does one phase pull with nothing?", "The load holds it near there.",
               "Look at the stripes in “Will it start?”."))


# ---------------------------------------------------------------- 5: a late sensor
def _sensor() -> Asked:
    def answer(case: Case) -> float:
        c = case.result
        late = WindingCase(case.vehicle, replace(c.asked, error=0.5)).over_turn["three phases, six-step"]
        right = WindingCase(case.vehicle, replace(c.asked, error=0.0)).over_turn["three phases, six-step"]
        return float(1 - late.mean / right.mean)

    def worked(case: Case, answer: Any) -> str:
        pairs = case.result.magnets.ring.pairs
        return (f"{percent(answer)}: the mean falls with the cosine of the electrical error. With {pairs} pairs of poles those "
                "0.5 rad are only "
                f"{shown(0.5 / pairs * 57.2958, '°', figures=2)} on the shaft, so sensors are placed with care. The same torque "
                "then takes more "
                "amps, and heat grows with their square.")

    return Asked(
        text=lambda case: "The sensors of a motor with three phases switch 0.5 rad (29 electrical degrees) late. <b>What share of "
                          "the mean "
                          "torque is lost?</b>",
        quantity="torque_share", unit="%", share=0.1, answer=answer, worked=worked,
        hints=("Which part of a current that is late still pulls?", "The cosine of the angle.", "Move “Sensor is late by”."))


# ---------------------------------------------------------------- 6: strands
def _strands() -> Asked:
    def answer(case: Case) -> float:
        return 4.0

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return ("For equal copper the eddy loss grows with the square of the diameter, so it is four times as large: "
                f"{shown(4 * c.strands.watts, 'W')} "
                f"instead of {shown(c.strands.watts, 'W')} at {shown(c.asked.speed, 'rad/s')}, with no current at all. The depth "
                "to which current of this "
                f"frequency fills copper, {shown(1e3 * c.strands.skin, 'mm')}, says nothing of it.")

    return Asked(
        text=lambda case: (f"The strands are {shown(1e3 * case.result.wire.bare, 'mm', figures=2)} thick. You take wire of twice "
                           "the diameter instead, a "
                           "quarter as many strands: the same copper. <b>How many times the eddy loss is there in the turning "
                           "field?</b>"),
        quantity="gear_ratio", unit="", share=0.05, answer=answer, worked=worked,
        slips=lambda case, answer: [(16.0, "Each wire loses sixteen times as much, but there are a quarter as many."),
                                    (1.0, "The copper is the same, but the loops in which the currents flow are wider.")],
        hints=("How large are the loops in one wire?", "The loss of one wire grows with the fourth power of its diameter.",
               "And how many wires are left?"))


# ---------------------------------------------------------------- 7: heat
def _hot() -> Asked:
    def answer(case: Case) -> float:
        return float(case.result.runaway)

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return (f"{shown(answer, 'A')}: each kelvin makes the copper 0.4 % worse, and from there on that adds more heat than the "
                "warmer winding sheds. At "
                f"{shown(c.asked.amps, 'A')} the weakest part is {c.weak}, with "
                f"{shown(c.limits[0].temperature - 273.15, '°C', figures=2)}; it gives up "
                "long before anything runs away.")

    return Asked(
        text=lambda case: (f"{shown(1e3 * case.result.ohms, 'mΩ')} of copper and "
                           f"{shown(float(case.vehicle.motor.thermal_resistance), 'K/W')} to the air. <b>Above "
                           "which steady current does the winding never settle, but get hotter and hotter?</b>"),
        quantity="motor_current", unit="A", share=0.05, answer=answer, worked=worked,
        hints=("Hotter copper has more ohms: how much for each kelvin?",
               "When 0.4 % for each kelvin times the kelvins of the loss reaches one.",
               "One over the root of 0.00393 times ohms times K/W."))


# ---------------------------------------------------------------- 8: the count
def _count() -> Asked:
    def answer(case: Case) -> float:
        c = case.result
        return float(c.coil_mass / c.build.turns)

    def worked(case: Case, answer: Any) -> str:
        check = case.result.count
        return (f"{shown(1e3 * answer, 'g')} for each turn, so kitchen scales of 1 g tell "
                f"{'one turn' if answer > 0.002 else 'no single turn'}. Weight and "
                f"resistance together know the count to ± {shown(check.combined.spread, '')} turns: a thicker wire makes the coil "
                "heavier but its ohms "
                f"fewer, so the wire's tolerance cancels. {check.verdict}")

    return Asked(
        text=lambda case: "It is easy to lose count while winding. You weigh the wound coil. <b>By how much does it differ for "
                          "one turn more or "
                          "less?</b>",
        quantity="mass", unit="g", share=0.1, answer=answer, worked=worked,
        hints=("How long is one turn, with all its strands?", "How heavy is a metre of the wire?",
               "The coil's weight over its turns."))
