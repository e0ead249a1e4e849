"""The questions of the page of the road; every answer comes from the reader's own vehicle at the present controls."""

from __future__ import annotations

import math
from typing import Any

from evlab import coasting, road
from evlab.look import setting, shown
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

SLOW, FAST = 3.0, 6.0  # m/s
TENTH = 1.1
FALL = 0.003  # tan: a road that falls unnoticed
DOWN = 0.05  # tan
TWICE, FOURFOLD, EIGHTFOLD, HALF_AGAIN = "2 times", "4 times", "8 times", "1.5 times"


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _air_force(), _air_power(), _tenth_more(), _coast(), _brakes(), _bend()


def _road(case: Case) -> tuple[float, float]:
    """Force that does not depend on the speed, on the level [N], and the air's factor [kg/m]."""
    v = case.vehicle
    level = float(coasting.constant_force(mass=v.mass, rolling_coefficient=v.road.rolling_coefficient, slope=0.0))
    return level, float(coasting.air_factor(case.result.air_density, v.road.drag_area))


# ---------------------------------------------------------------- 1, 2: twice the speed
def _twice(what: str, right: str, answer: str, slip: str, why: str) -> Asked:
    def worked(case: Case, _: Any) -> str:
        r = case.vehicle.road
        forces = [float(road.air_force(r.air_density, r.drag_area, v, 0.0)) for v in (SLOW, FAST)]
        powers = [forces[0] * SLOW, forces[1] * FAST]
        return (f"Your vehicle: {shown(forces[0], 'N')} become {shown(forces[1], 'N')}, and {shown(powers[0], 'W')} become "
                f"{shown(powers[1], 'W')}. The force goes with the square of the speed through the air; the power is the force "
                f"times the "
                "speed, so in still air with its cube. Rolling does not change its force at all.")

    return Asked(
        text=lambda case: f"On the flat in still air from {setting(SLOW, 'm/s')} to {setting(FAST, 'm/s')}: how many times the "
                          f"<b>{what} of the air</b>?",
        options=(HALF_AGAIN, TWICE, FOURFOLD, EIGHTFOLD), answer=lambda case: answer, worked=worked,
        slips=lambda case, found: [(slip, why)],
        hints=("The air meets you twice as fast, and twice as much of it in each second.", right))


def _air_force() -> Asked:
    return _twice("force", "Force goes with the square.", FOURFOLD, EIGHTFOLD, "That is its power: force times speed.")


def _air_power() -> Asked:
    return _twice("power", "Four times the force, at twice the speed.", EIGHTFOLD, FOURFOLD,
                  "That is its force; power is force times speed.")


# ---------------------------------------------------------------- 3: a tenth more power
def _tenth_more() -> Asked:
    def speeds(case: Case) -> tuple[float, float, float]:
        speed = float(case.result.forces.steady[max(case.result.forces.volts)])
        if not math.isfinite(speed) or speed < 0.5:
            raise InputError("With the present controls it holds no speed to begin with: ease the slope first.")
        level, factor = _road(case)
        power = (level + factor * speed**2) * speed
        return speed, coasting.speed_at_power(TENTH * power, level, factor), power

    def text(case: Case) -> str:
        speed, _, power = speeds(case)
        return (f"On the level in still air, {shown(power, 'W')} at the wheel hold {shown(speed, 'm/s')}. A tenth more power: "
                f"which "
                "<b>speed</b>?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        speed, _, _ = speeds(case)
        return [(TENTH * speed, "That would be so if the force did not grow with the speed.")]

    def worked(case: Case, answer: Any) -> str:
        speed, faster, _ = speeds(case)
        level, factor = _road(case)
        return (f"The root of $b v^3 + a v = P$ with $a$ = {shown(level, 'N')}, $b$ = {shown(factor, 'kg/m')}: "
                f"{shown(faster, 'm/s')}, so "
                f"{shown(100 * (faster / speed - 1), '%')} more speed for 10\u2009% more power. Where the air is all, a third of "
                f"it is left "
                "(the cube root); where rolling is all, all of it.")

    return Asked(text=text, quantity="speed", unit="m/s", share=0.01, answer=lambda case: speeds(case)[1], slips=slips,
                 worked=worked,
                 hints=("Which of the forces grow when it goes faster?",
                        "Air power goes with the cube of the speed, rolling power with the speed.",
                        "Between the cube root of 1.1 and 1.1 itself."))


# ---------------------------------------------------------------- 4: a road that falls unnoticed
def _coast() -> Asked:
    def ways(case: Case) -> tuple[float, float]:
        level, factor = _road(case)
        down = float(coasting.constant_force(mass=case.vehicle.mass, rolling_coefficient=case.vehicle.road.rolling_coefficient,
                                             slope=-FALL))
        if down <= 0:
            raise InputError("Tyres as easy as these roll by themselves on such a slope: there is no end to ask about.")
        m = case.vehicle.effective_mass
        return (float(coasting.coasting_distance(m, factor, level, FAST, 2.0)),
                float(coasting.coasting_distance(m, factor, down, FAST, 2.0)))

    def text(case: Case) -> str:
        return (f"Let it roll from {setting(FAST, 'm/s')} to {setting(2.0, 'm/s')}: on the level that takes "
                f"{shown(ways(case)[0], 'm')}. The road falls by {setting(100 * FALL, '%')}, which nobody sees. <b>How far</b> "
                f"does it roll?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        level, _ = ways(case)
        return [(level, "A slope of three in a thousand is a quarter of a cargo tyre's rolling coefficient: it shows."),
                (level * (1 + FALL), "It is not the way that grows by so much: the force shrinks.")]

    def worked(case: Case, answer: Any) -> str:
        level, down = ways(case)
        c = case.vehicle.road.rolling_coefficient
        return (f"Slope and rolling coefficient add up in one force: {c:.4g} becomes {c - FALL:.4g}. So {shown(level, 'm')} become "
                f"{shown(down, 'm')}, and whoever takes the road for level reads {shown(100 * FALL / c, '%')} less rolling out of "
                "it. Coast both ways and take the mean.")

    return Asked(text=text, quantity="distance", unit="m", share=0.03, answer=lambda case: ways(case)[1], slips=slips,
                 worked=worked,
                 hints=("What else in the road force is proportional to the weight, as the slope is?",
                        "Take the slope off the rolling coefficient.",
                        "Some of the force is the air's, which the slope does not change."))


# ---------------------------------------------------------------- 5: no brakes
def _brakes() -> Asked:
    def parts(case: Case) -> tuple[float, float]:
        v = case.vehicle
        force = -float(coasting.constant_force(mass=v.mass, rolling_coefficient=v.road.rolling_coefficient, slope=-DOWN))
        if force <= 0:
            raise InputError("Tyres as heavy as these do not roll on 5 % by themselves.")
        return force, _road(case)[1]

    def answer(case: Case) -> float:
        return float(coasting.terminal_speed(*parts(case)))

    def slips(case: Case, found: Any) -> list[tuple[float, str]]:
        force, factor = parts(case)
        whole = float(road.slope_force(case.vehicle.mass, DOWN))
        drive = float(case.result.forces.steady[max(case.result.forces.volts)])
        return [(math.sqrt(whole / factor), "The tyres still roll against it."),
                (math.sqrt(force / (2 * factor)), "Half the density times the drag area, once."),
                (drive, "That is what the drive reaches; the hill does not ask the motor.")]

    def worked(case: Case, found: Any) -> str:
        line = coasting.terminal_speed.worked(*parts(case))
        return (f"$\\displaystyle {line}$, {shown(3.6 * found, 'km/h')}. Brakes, tyres and fork must be good for the fastest "
                f"that hill and "
                "wind can give, not for what the motor gives; a tail wind adds all of its own speed.")

    return Asked(text=lambda case: f"All brakes fail on a long descent of {setting(100 * DOWN, '%')}, motor off, still air. At "
                                   f"which "
                                   "<b>speed</b> does it stop getting faster?",
                 quantity="speed", unit="km/h", share=0.03, answer=answer, slips=slips, worked=worked,
                 hints=("Which force drives it, and which grows until it holds the balance?",
                        "Slope force less rolling, over half the density times the drag area.", "The root of that quotient."))


# ---------------------------------------------------------------- 6: a bend
def _bend() -> Asked:
    def answer(case: Case) -> float:
        t = case.result.tipping
        if math.isinf(t.acceleration):
            return float(t.slide_at_three)
        if math.isnan(t.acceleration):
            raise InputError("The vehicle file does not state where the wheels and the mass are: choose them under “Wheels and "
                             "mass”.")
        return float(min(t.tip_at_three, t.slide_at_three))

    def text(case: Case) -> str:
        w = case.vehicle.vehicle
        answer(case)
        if w.wheels == "two in line":
            return "Two wheels in line. A bend of 3 m radius on the level: at which <b>speed</b> do the tyres slide?"
        return (f"{w.wheels.capitalize()}, a track of {setting(round(w.track, 2), 'm')}, the mass "
                f"{setting(round(w.mass_height, 2), 'm')} "
                "high. A bend of 3 m radius on the level: at which <b>speed</b> does it tip or slide, whichever comes first?")

    def slips(case: Case, found: Any) -> list[tuple[float, str]]:
        t, w = case.result.tipping, case.vehicle.vehicle
        if not math.isfinite(t.acceleration):
            return []
        made = [(max(t.tip_at_three, t.slide_at_three), "That is the other of the two: the smaller comes first.")]
        if w.mass_height and w.track:
            whole = math.sqrt(9.80665 * w.track / (2 * w.mass_height) * 3.0)
            made.append((whole, "With one wheel in front the edge over which it tips runs slanting to it: only a share of the "
                                "track counts."))
        return made

    def worked(case: Case, found: Any) -> str:
        t = case.result.tipping
        tips = (f"A wheel lifts at {shown(t.acceleration, 'm/s²')} sideways: {shown(t.tip_at_three, 'm/s')} in this bend."
                if math.isfinite(t.acceleration) else "Two wheels in line lean into the bend and do not tip so.")
        return (f"{tips} The tyres slide at {shown(t.slide_at_three, 'm/s')}. A real vehicle tips up to a "
                "sixth sooner, and sooner yet over a kerb. Print the smaller speed on the handlebar, rounded down.")

    return Asked(text=text, quantity="speed", unit="m/s", share=0.04, answer=answer, slips=slips, worked=worked,
                 hints=("A bend asks for speed squared over radius.",
                        "Tipping: gravity times half the track over the height of the mass, times the share of the wheelbase "
                        "behind the front wheel.",
                        "Compare it with gravity times the grip."))
