"""The questions of the page of gearing; every answer comes from the reader's own vehicle at the present controls."""

from __future__ import annotations

import math
from typing import Any

from evlab import chains, gearing, motor
from evlab.look import setting, shown
from evlab.ratios import GearCase
from evlab.riding import ride
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

SMALLER, LARGER, FEWEST, MOST = 0.6, 1.78, 9, 160  # shares of the wheel's teeth; teeth of a small driver; the glossary's most
SAME = 0.01
MORE, LESS, EQUAL, NEVER = "more", "less", f"the same, within {SAME:.0%}".replace("%", "\u2009%"), "it does not arrive"


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _amps(), _most_teeth(), _larger(), _ripple(), _pull()


# ---------------------------------------------------------------- 1: fewer teeth, more amps
def _with(case: Case, share: float) -> Any:
    """The vehicle with so many times the wheel teeth."""
    teeth = min(max(round(share * case.vehicle.gearing.wheel_teeth), 7), MOST)
    if teeth == case.vehicle.gearing.wheel_teeth:
        raise InputError(f"The wheel has {teeth} teeth already, the end of the range: choose others first.")
    return case.vehicle.change({"gearing.wheel_teeth": teeth, "gearing.links": 0})


def _holding(case: Case, vehicle: Any) -> float:
    """Coil current that holds the asked speed on the asked slope [A]."""
    g, m, c = vehicle.gearing, vehicle.motor, case.result
    turning = float(gearing.motor_speed(g.ratio, c.speed, g.wheel_radius))
    drag = float(motor.motor_drag(m.drag_torque, m.viscous_drag, turning, 1.0))
    return float((c.needed * g.wheel_radius / (g.ratio * g.efficiency) + drag) / m.drive_constant)


def _amps() -> Asked:
    def text(case: Case) -> str:
        c, other = case.result, _with(case, SMALLER)
        now = _holding(case, case.vehicle)
        return (f"On {setting(round(100 * c.slope, 1), '%')} at {setting(round(c.speed, 2), 'm/s')} the coil takes "
                f"{shown(now, 'A')} with "
                f"{case.vehicle.gearing.wheel_teeth} teeth on the wheel. <b>How many amps</b> with {other.gearing.wheel_teeth}?")

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        now, share = _holding(case, case.vehicle), SMALLER
        return [(now, "The road asks for the same force, and a smaller ratio turns the same torque into less force."),
                (now * share, "The other way about: less ratio, more torque, more amps."),
                (now / share**2, "Amps go with the torque once, not with its square; the heat in the copper does that.")]

    def worked(case: Case, answer: Any) -> str:
        v, other = case.vehicle, _with(case, SMALLER)
        limit = v.controller.coil_current_limit
        more = (f" The coil current limit is {shown(limit, 'A')}: with these teeth it would not hold the slope at all."
                if answer > limit else "")
        return (f"The force is {shown(case.result.needed, 'N')} either way. The torque at the motor is force times wheel radius "
                f"over ratio "
                f"and efficiency; the ratio goes from {shown(v.gearing.ratio)} to {shown(other.gearing.ratio)}. Amps are torque "
                f"over the "
                f"motor constant, its own drag included. Heat in the copper goes with their square: "
                f"{shown((answer / _holding(case, v)) ** 2)} times as much.{more}")

    return Asked(
        text=text, quantity="motor_current", unit="A", share=0.04, answer=lambda case: _holding(case, _with(case, SMALLER)),
        slips=slips, worked=worked,
        hints=("What stays the same: the force at the wheel, or the torque at the motor?",
               "Torque at the motor is force times wheel radius over the ratio.", "Amps go with that torque."))


# ---------------------------------------------------------------- 2: the bound from the volts
def _most_teeth() -> Asked:
    def answer(case: Case) -> float:
        c, g = case.result, case.vehicle.gearing
        if math.isnan(c.bound):
            raise InputError("With the present volts no ratio climbs this slope at this speed: ease one of them first.")
        return float(math.floor(c.bound * g.motor_teeth / g.shaft_ratio + 1e-9))

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        full = GearCase(case.vehicle, case.result.route, slope=case.result.slope, speed=case.result.speed,
                        volts=float(case.vehicle.store.full_voltage))
        g = case.vehicle.gearing
        if math.isnan(full.bound) or case.vehicle.store.kind == "supply":
            return []
        return [(math.floor(full.bound * g.motor_teeth / g.shaft_ratio),
                 "That is with a full store: the last climb of the day is not ridden with one.")]

    def text(case: Case) -> str:
        c, g = case.result, case.vehicle.gearing
        return (f"{shown(c.volts, 'V')} are left. <b>How many teeth</b> may the wheel have at most and still keep "
                f"{setting(round(c.speed, 2), 'm/s')} on {setting(round(100 * c.slope, 1), '%')}? ({g.motor_teeth} drive it.)")

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return (f"More ratio, more motor speed, more of its own volts; what is left of {shown(c.volts, 'V')} must still drive "
                f"the amps "
                f"through the copper. That ends at a ratio of {shown(c.bound)}. At the other end, below {shown(c.lowest)}, the "
                f"coil "
                "current limit is too weak for the slope. Between them it climbs. A ratio chosen on a full store lies outside, "
                "in the "
                "evening.")

    return Asked(
        text=text, quantity="wheel_teeth", unit="", share=0.03, least=2.0, answer=answer, slips=slips, worked=worked,
        hints=("At which motor speed are the motor's own volts all that the store has?",
               "The motor turns ratio times speed over wheel radius; each radian per second makes as many volts as the motor "
               "constant.",
               "The amps of the slope need some volts too: amps times the ohms of winding and bridge."))


# ---------------------------------------------------------------- 3: many more teeth
def _larger() -> Asked:
    def trips(case: Case) -> tuple[Any, Any]:
        c = case.result
        now, then = (ride(v, c.route, start=c.start, wind=c.wind) for v in (case.vehicle, _with(case, LARGER)))
        return now, then

    def answer(case: Case) -> str:
        now, then = trips(case)
        if now.outcome != "arrived":
            raise InputError("With the present sprockets the trip does not arrive: choose others first.")
        if then.outcome != "arrived":
            return NEVER
        change = then.store_energy / now.store_energy - 1
        return EQUAL if abs(change) < SAME else MORE if change > 0 else LESS

    def text(case: Case) -> str:
        teeth = _with(case, LARGER).gearing.wheel_teeth
        return (f"{teeth} teeth on the wheel instead of {case.vehicle.gearing.wheel_teeth}: how much energy does the whole trip "
                f"take "
                "from the store?")

    def worked(case: Case, answer: Any) -> str:
        now, then = trips(case)
        words = "; ".join(f"{_with(case, LARGER).gearing.wheel_teeth if r is then else case.vehicle.gearing.wheel_teeth} teeth: "
                          f"{r.outcome}, {shown(r.store_energy / 1000, 'kJ')} in {shown(r.duration, 's')}" for r in (now, then))
        return (f"{words}. More ratio: fewer amps on the climb, less heat in the copper. But the motor turns faster, so its drag "
                f"eats more, "
                "and where it runs out of volts the trip takes longer and the stand-by goes on. Which wins is a matter of numbers: "
                "there is no best ratio as such, only a front of time against energy.")

    return Asked(text=text, options=(MORE, LESS, EQUAL, NEVER), answer=answer, worked=worked,
                 hints=("Which losses fall with the amps, which grow with the motor's speed?",
                        "Is the set speed still reached on the flat, or does the motor run out of volts?",
                        "Look at the picture “Time against energy”."))


# ---------------------------------------------------------------- 4: ripple
def _ripple() -> Asked:
    return Asked(
        text=lambda case: f"A small driver of {FEWEST} teeth on a chain: <b>how far</b> does the speed of the chain dip, link by "
                          f"link?",
        quantity="ripple", unit="%", share=0.0, least=0.005, answer=lambda case: float(chains.ripple(FEWEST)),
        slips=lambda case, answer: [(1 / FEWEST, "One in so many teeth; but the dip is that of a polygon against its circle."),
                                    (answer / 2, "That is from the mean; the dip is from the highest to the lowest."),
                                    (float(chains.ripple(case.vehicle.gearing.motor_teeth)), "That is your own driver.")],
        worked=lambda case, answer: f"$\\displaystyle {chains.ripple.worked(FEWEST)}$. A chain lies on its sprocket as a "
                                    f"polygon: the radius "
                                    f"swings between corner and flat. Your driver of {case.vehicle.gearing.motor_teeth} teeth "
                                    f"makes "
                                    f"{shown(100 * float(chains.ripple(case.vehicle.gearing.motor_teeth)), '%')} on a chain. 11 "
                                    f"teeth are a "
                                    "minimum, 15 are better (common practice, no source).",
        hints=("A chain bends at its joints only: what shape lies on the sprocket?",
               "Compare the radius to a corner with that to the middle of a side.",
               "One minus the cosine of half the angle of a link."))


# ---------------------------------------------------------------- 5: the pull
def _pull() -> Asked:
    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        fit, g = case.result.geometry, case.vehicle.gearing
        shaft = fit.tension * fit.driver_diameter / 2
        return [(answer / 2, "That takes the diameter for the radius."), (answer * 2, "A radius is half a diameter, once."),
                (shaft * g.wheel_teeth / g.motor_teeth / g.wheel_radius,
                 "That is the force where the wheel meets the road: its lever is the wheel's radius, the chain's is the "
                 "sprocket's.")]

    def text(case: Case) -> str:
        fit = case.result.geometry
        shaft = fit.tension * fit.driver_diameter / 2
        return (f"At the coil current limit {shown(shaft, 'N·m')} turn the driver; its {fit.driver_teeth} teeth lie on a pitch "
                f"diameter of "
                f"{shown(1e3 * fit.driver_diameter, 'mm')}. <b>How hard</b> does the {fit.chain.kind} pull?")

    def worked(case: Case, answer: Any) -> str:
        fit = case.result.geometry
        shaft = fit.tension * fit.driver_diameter / 2
        held = (f" {fit.chain.name} breaks at {shown(fit.chain.tensile, 'N')} when new: {shown(fit.safety)} times as much."
                if fit.chain.tensile else "")
        line = chains.chain_tension.worked(shaft, fit.driver_diameter)
        return f"$\\displaystyle {line}$.{held} A smaller driver pulls harder for the same torque."

    return Asked(text=text, quantity="force", unit="N", share=0.04, answer=lambda case: float(case.result.geometry.tension),
                 slips=slips, worked=worked,
                 hints=("A torque is a force times a lever. Which lever has the chain?", "Half the pitch diameter of the driver.",
                        "Newton-metres over metres."))
