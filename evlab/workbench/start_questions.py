"""The questions of the page of the brief; every answer comes from the reader's own vehicle and way at the present controls."""

from __future__ import annotations

import math
from typing import Any

from evlab import road
from evlab.look import setting, shown
from evlab.trip import PUSH
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked
from evlab.workbench.route_box import metres

__all__ = ["asked"]

LIFT, ROLLING, SAME = "lift", "rolling", "about the same"
BREEZE, WALK = 5.0, 3.0  # m/s
CLOSE = 0.05  # shares nearer than this count as the same


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _lift_or_rolling(), _without_cargo(), _breeze(), _newtons(), _push()


# ---------------------------------------------------------------- 1: lift or rolling
def _lift_or_rolling() -> Asked:
    def two(case: Case) -> tuple[float, float]:
        return float(case.result.today.climbed), float(case.result.today.energy["rolling"])

    def answer(case: Case) -> str:
        lift, rolling = two(case)
        return SAME if abs(lift - rolling) < CLOSE * max(lift, rolling) else LIFT if lift > rolling else ROLLING

    def worked(case: Case, answer: Any) -> str:
        lift, rolling = two(case)
        route, c = case.result.route, case.vehicle.road.rolling_coefficient
        return (f"Lift: mass times gravity times {metres(route.climb)} of climbing, {shown(lift / 1000, 'kJ')}. Rolling: mass "
                f"times "
                f"gravity times the coefficient {setting(round(c, 4))} times {shown(route.length, 'm')} of way, "
                f"{shown(rolling / 1000, 'kJ')}. The mass is in both, so only climb over way, "
                f"{shown(100 * route.climb / route.length, '%')}, against the coefficient, {shown(100 * c, '%')}, decides.")

    return Asked(
        text=lambda case: f"Over {shown(case.result.route.length, 'm')} with {metres(case.result.route.climb)} of climbing: which "
                          "takes more of the trip's energy, <b>lift or rolling</b>?",
        options=(LIFT, ROLLING, SAME), answer=answer, worked=worked,
        hints=("Both are a force times a way. Which force, over which way?",
               "Lift goes with the climb, rolling with the whole way times a coefficient of about a hundredth.",
               "Compare the mean slope with the rolling coefficient: both are newtons for each newton of weight."))


# ---------------------------------------------------------------- 2: the cargo off
def _without_cargo() -> Asked:
    def share(case: Case) -> float:
        if not case.vehicle.load.cargo:
            raise InputError("There is no cargo to take off: give it some first.")
        return float(case.vehicle.load.cargo / case.vehicle.mass)

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        v = case.vehicle
        empty = v.mass - v.load.rider - v.load.cargo
        return [(v.load.cargo / (v.mass - v.load.cargo), "That is the cargo against what is left; the question is the share of all "
                                                         "that was moved before."),
                (v.load.cargo / (empty + v.load.cargo), "The rider is moved too.")]

    def text(case: Case) -> str:
        share(case)
        return (f"Take the {shown(case.vehicle.load.cargo, 'kg')} of cargo off a vehicle that weighs "
                f"{shown(case.vehicle.mass, 'kg')} in all. "
                "<b>What share</b> of the lift goes with it?")

    return Asked(
        text=text, quantity="usable_share", unit="%", share=0.0, least=0.01, answer=share, slips=slips,
        worked=lambda case, answer: f"Lift is mass times gravity times height, so the share of the mass is the share of the lift: "
                                    f"{shown(case.vehicle.load.cargo, 'kg')} of {shown(case.vehicle.mass, 'kg')}. The same share "
                                    f"of "
                                    "rolling and of every start goes too; only the air does not notice. Rider and cargo are most "
                                    "of "
                                    "a light vehicle: the frame is not where the kilograms are.",
        hints=("Write lift as a product. Which factor changes?",
               "All three of lift, rolling and starts are proportional to the mass.",
               "Cargo over everything that is moved, rider and cargo included."))


# ---------------------------------------------------------------- 3: a breeze at walking pace
def _powers(case: Case) -> tuple[float, float, float]:
    """Power [W] at the wheel on the flat at a walking pace: still, in the breeze, and rolling alone."""
    v, r = case.vehicle, case.vehicle.road
    roll = (float(road.rolling_force(v.mass, r.rolling_coefficient, 0.0, 1.0))
            + float(road.bearing_force(r.bearing_force, r.bearing_drag, WALK, 1.0))) * WALK
    still, windy = (float(road.air_force(r.air_density, r.drag_area, WALK, wind)) * WALK for wind in (0.0, BREEZE))
    return roll + still, roll + windy, roll


def _breeze() -> Asked:
    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        still, windy, roll = _powers(case)
        r = case.vehicle.road
        cubed = roll + 0.5 * r.air_density * r.drag_area * (WALK + BREEZE) ** 3
        return [(cubed, "That takes the speed through the air three times. The force goes with its square; the power is that "
                        "force times "
                        "the speed over ground, which the wind does not change."),
                (still, "That is without the wind."),
                (windy - roll, "That is the air alone: the tyres roll too.")]

    def worked(case: Case, answer: Any) -> str:
        still, windy, roll = _powers(case)
        r = case.vehicle.road
        line = road.air_force.worked(r.air_density, r.drag_area, WALK, BREEZE)
        return (f"$\\displaystyle {line}$, times {setting(WALK, 'm/s')} over ground, and {shown(roll, 'W')} of rolling: "
                f"{shown(still, 'W')} become {shown(windy, 'W')}. The wind is faster than you are: slow does not mean that the "
                f"air can be forgotten.")

    return Asked(
        text=lambda case: f"On the flat at {setting(WALK, 'm/s')}, an easy pace, {shown(_powers(case)[0], 'W')} at the wheel are "
                          f"enough in "
                          f"still air. Now {setting(BREEZE, 'm/s')} of wind blow against you: <b>how many watts</b>?",
        quantity="power", unit="W", share=0.04, answer=lambda case: _powers(case)[1], slips=slips, worked=worked,
        hints=("Only the air's part changes. How fast does the air come at you?",
               "The force of the air goes with the square of the speed through it.",
               "Power at the wheel is force times the speed over ground, not through the air."))


# ---------------------------------------------------------------- 4: newtons are joules for each metre
def _newtons() -> Asked:
    def answer(case: Case) -> float:
        return float(case.result.today.per_metre)

    def text(case: Case) -> str:
        t = case.result.today
        return (f"This trip takes {shown(t.total / 1000, 'kJ')} at the wheel over {shown(case.result.route.length, 'm')}. Which "
                f"steady "
                "<b>force</b>, all the way, would take the same?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        return [(answer / 3.6, "That is the number of watt-hours for each kilometre."),
                (answer / 1000, "Kilojoules over metres are kilonewtons."),
                (case.result.today.peak_force, "That is the force where it is hardest.")]

    return Asked(
        text=text, quantity="force", unit="N", share=0.03, answer=answer, slips=slips,
        worked=lambda case, answer: f"Joules over metres are newtons: {shown(answer, 'N')}. And {shown(answer, 'N')} over 3.6 are "
                                    f"{shown(answer / 3.6, 'Wh')} for each kilometre. It is a mean: where it is hardest this way "
                                    f"asks "
                                    f"{shown(case.result.today.peak_force, 'N')}, and a drive that cannot give those does not "
                                    f"arrive, "
                                    "however much energy it has left.",
        hints=("Energy is force times way.", "Joules, not kilojoules; metres.", "A newton is a joule for each metre."))


# ---------------------------------------------------------------- 5: pushing it
def _push() -> Asked:
    def answer(case: Case) -> float:
        h = case.result.halted
        if abs(h.push_force) < 1:
            raise InputError("Here it needs no push at all: move the place of the stop.")
        return float(h.push_force)

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        h, v = case.result.halted, case.vehicle
        made = [(answer * v.mass / h.mass, "That is with the rider aboard; the one who pushes walks.")]
        return made if abs(h.slope) < 0.005 else [
                *made, (h.home_force, "That is the way back."),
                (h.mass * 9.80665 * h.slope / math.hypot(1, h.slope), "That is the slope alone: the tyres roll too."),
                (h.mass * 9.80665 * case.vehicle.road.rolling_coefficient / math.hypot(1, h.slope),
                 "That is rolling alone: there is a slope here.")]

    def text(case: Case) -> str:
        h = case.result.halted
        where = f"on {shown(100 * h.slope, '%')}" if abs(h.slope) >= 0.002 else "on the level"
        return (f"It stops for good after {shown(h.place, 'm')}, {where}. The rider gets off: {shown(h.mass, 'kg')} are left. "
                "<b>Which force</b> pushes it on (below zero: holds it back)?")

    def worked(case: Case, answer: Any) -> str:
        h = case.result.halted
        return (f"{road_line(case)} One person pushes about {setting(PUSH, 'N')} for some minutes (common practice, no source). "
                f"{h.words}")

    def road_line(case: Case) -> str:
        h, c = case.result.halted, case.vehicle.road.rolling_coefficient
        return (f"$F = m g (C_{{rr}} + s)/\\sqrt{{1 + s^2}}$ with $m$ = {shown(h.mass, 'kg')}, $C_{{rr}}$ = {c:.3g}, "
                f"$s$ = {h.slope:.3f}.")

    return Asked(
        text=text, quantity="force", unit="N", share=0.05, least=2.0, answer=answer, slips=slips, worked=worked,
        hints=("Which two forces hold it back at a walking pace?",
               "Weight times the rolling coefficient, and weight times the slope.",
               "The weight is mass times 9.81, of what is left when the rider walks."))
