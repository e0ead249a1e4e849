"""The questions of the page of regeneration; every answer comes from the reader's own vehicle at the present controls."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from evlab import regeneration
from evlab.look import shown
from evlab.plots.sentences import percent
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

TURNS, ALWAYS, NEVER = "it rises to a top, then falls, then costs", "the harder, the more", "the harder, the less"
YES, NO = "yes", "no"
HOLDS, ROLLS = "it holds", "it rolls"
SLOW, HERE, FAST = "creeping", "rolling on", "letting it run"
ROOM_SHARE = 0.02  # of the volts: the closed form and the ride lie closer than that


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _harder(), _best(), _diodes(), _stands(), _creep(), _next_start(), _room(), _back()


# ---------------------------------------------------------------- 1: harder and harder
def _harder() -> Asked:
    def answer(case: Case) -> str:
        p = case.result.here
        if not p.most > 0:
            raise InputError("At this speed nothing comes back at any current: choose a faster one first.")
        values = np.interp(np.linspace(p.zero_amps[0], 1.05 * p.short_amps, 60), p.amps, p.recovered)
        up, down = (np.diff(values) > 0).any(), (np.diff(values) < 0).any()
        return TURNS if up and down and values[-1] < 0 else ALWAYS if up else NEVER

    def worked(case: Case, answer: Any) -> str:
        p = case.result.here
        line = regeneration.best_braking_current.worked(p.emf, p.ohm)
        return (f"What comes back is motor power less copper heat: one grows with the current, the other with its square. At "
                f"{shown(p.speed, 'm/s')} the top lies at $\\displaystyle {line}$, with {shown(p.most, 'W')}; from "
                f"{shown(p.zero_amps[1], 'A')} on the store pays for braking. The drive of the ride never goes beyond the top: the "
                "friction brake takes the rest.")

    return Asked(
        text=lambda case: (
            f"At {shown(case.result.speed, 'm/s')} you brake with the motor, harder and harder. <b>What comes back?</b>"
        ),
        options=(ALWAYS, TURNS, NEVER),
        answer=answer,
        worked=worked,
        slips=lambda case, answer: (
            [(ALWAYS, "The braking force rises with the current, but the heat in the copper rises with its square.")]
            if answer == TURNS
            else []
        ),
        hints=(
            "Which part of the power goes with the current, which with its square?",
            "What happens with the terminals joined?",
            "Look at “Recovered power”.",
        ),
    )


# ---------------------------------------------------------------- 2: the best current
def _best() -> Asked:
    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        p, v = case.result.here, case.vehicle
        made = [(2 * answer, "That is E/R, the short circuit: nothing comes back there, all is heat."),
                (case.result.volts / (2 * p.ohm), "It is the motor's own EMF that drives the current, not the store's volts.")]
        return [*made, (p.emf / (2 * v.motor.resistance), "The bridge stands in the path of the current, too.")]

    def worked(case: Case, answer: Any) -> str:
        p = case.result.here
        limit = f" Your controller stops at {shown(p.limit_amps, 'A')}." if p.limit_amps < answer else ""
        return (f"$\\displaystyle {regeneration.best_braking_current.worked(p.emf, p.ohm)}$. Half of the braking power is then "
                f"heat: most comes back, but not with the best efficiency.{limit}")

    return Asked(
        text=lambda case: f"The turning motor makes {shown(case.result.here.emf, 'V')}; winding and bridge have "
                          f"{shown(1e3 * case.result.ohm, 'mΩ')}. With <b>which braking current</b> does most come back?",
        quantity="motor_current", unit="A", share=0.03, answer=lambda case: case.result.here.best_amps, slips=slips, worked=worked,
        hints=("Write down what comes back for a current I.", "E I less I squared R: where is its top?",
               "Half of the current that flows with the terminals joined."))


# ---------------------------------------------------------------- 3: through the diodes
def _diodes() -> Asked:
    def answer(case: Case) -> str:
        return YES if case.result.speed > case.result.diode_speed else NO

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return (
            f"Two diodes take about 1.4 V (silicon, from memory), so the line EMF must pass {shown(c.volts + 1.4, 'V')}: on the "
            f"road that is from {shown(c.diode_speed, 'm/s')} on. Slower, only a bridge that boosts (it joins the coils, lets the "
            "current grow, and then lets it go on into the store) brings anything back. Faster, it flows whether one wants it or "
            "not."
        )

    return Asked(
        text=lambda case: (
            f"The bridge does not switch at all. The store stands at {shown(case.result.volts, 'V')}, and it goes "
            f"{shown(case.result.speed, 'm/s')}. Does current flow back <b>through the diodes</b>?"
        ),
        options=(YES, NO),
        answer=answer,
        worked=worked,
        hints=(
            "A diode conducts when its left side is higher than its right side.",
            "Compare the peak of the motor's line volts with the store's volts and two diodes.",
            "Look at the upright line in “Where it pays”.",
        ),
    )


# ---------------------------------------------------------------- 4: will it hold me
def _stands() -> Asked:
    def answer(case: Case) -> str:
        c = case.result
        if c.slope <= 0:
            raise InputError("On the level nothing rolls: choose a slope first.")
        return HOLDS if float(c.force_of(c.most_amps(0.0), 0.0)) >= float(c.needed(0.0)) else ROLLS

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return (
            f"At rest the EMF is nothing, so no current flows that the motor could drive by itself: what is left is its drag, "
            f"{shown(float(c.force_of(0.0, 0.0)), 'N')} at the wheel. The slope pulls with {shown(float(c.needed(0.0)), 'N')} "
            "after the "
            f"tyres. Below {shown(c.region.fading_speed, 'm/s')} the electric brake fades. A friction brake must hold, and must "
            "hold alone."
        )

    return Asked(
        text=lambda case: f"You stop on {percent(case.result.slope)}, the motor's brake fully on, hands off the brake levers. "
                          "<b>Does it hold you?</b>",
        options=(HOLDS, ROLLS), answer=answer, worked=worked,
        slips=lambda case, answer: [(HOLDS, "It brakes by turning. What is its EMF at rest?")] if answer == ROLLS else [],
        hints=("What makes the current in a braking motor?", "Its EMF goes with the speed. How fast is standing?",
               "Look at the left edge of “Where it pays”."))


# ---------------------------------------------------------------- 5: creep or roll
def _speeds(case: Case) -> dict[str, float]:
    c, d = case.result, case.result.descent
    if not np.isfinite(d.share).any():
        raise InputError("On this slope it must be driven at any speed: choose a steeper one first.")
    if d.best_share <= 0:
        raise InputError("Down this slope nothing comes back at any speed: choose a higher braking limit or a steeper slope first.")
    if d.rising:
        raise InputError("Down this slope ever more comes back the faster it goes, up to the edge of the picture "
                         f"({shown(float(d.speeds[-1]), 'm/s')}): choose a gentler slope or a higher braking limit first.")
    fast = min(2.5 * d.best_speed, 0.5 * (d.best_speed + c.rolls))  # faster than it rolls, nothing is left to brake
    return {SLOW: 0.35 * d.best_speed, HERE: d.best_speed, FAST: fast}


def _creep() -> Asked:
    def shares(case: Case) -> dict[str, float]:
        return {name: float(np.nan_to_num(case.result.share_at(speed)[3], nan=-9.0)) for name, speed in _speeds(case).items()}

    def text(case: Case) -> str:
        told = ", ".join(f"{name} at {shown(speed, 'm/s')}" for name, speed in _speeds(case).items())
        return (f"Down {percent(case.result.slope)} at a steady speed, the motor braking: {told}. Which brings back <b>most for "
                "each metre of height</b>?")

    def answer(case: Case) -> str:
        told = shares(case)
        return max(told, key=lambda name: told[name])

    def worked(case: Case, answer: Any) -> str:
        told = "; ".join(f"{name} {percent(share)}" for name, share in shares(case).items())
        return (
            f"{told}. The slope fixes the force, the force the current, and the current the heat in the copper, watt by watt: the "
            "longer it "
            "takes, the more joules that is. Creeping loses to copper and electronics, letting it run loses to the air. There is "
            f"a best speed: {shown(case.result.descent.best_speed, 'm/s')}."
        )

    return Asked(text=text, options=(SLOW, HERE, FAST), answer=answer, worked=worked,
                 hints=("What does the slope fix: a force, or a power?", "Heat in the copper for how many seconds?",
                        "What grows with the square of the speed?"))


# ---------------------------------------------------------------- 6: stop and go
def _next_start() -> Asked:
    def paid(case: Case) -> float:
        c = case.result
        if c.speed > c.no_load:
            raise InputError(f"The motor cannot start again to this speed (without load, on a full store, "
                             f"{shown(c.no_load, 'm/s')} is its fastest): choose a slower one first.")
        value = float(c.stop.into_store / c.start_takes(c.speed))
        if value <= 0:
            raise InputError("From this speed a stop brings nothing back: choose a faster one, or a higher braking limit, first.")
        return value

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        takes = c.start_takes(c.speed)
        return (
            f"{shown(c.stop.kinetic, 'J')} are in the motion; {shown(c.stop.into_store, 'J')} come back "
            f"({percent(c.stop.share)}). The next start "
            f"takes {shown(takes, 'J')} from the store, since copper, chain and drag want their share again. “Stop-and-go gets "
            "most back” is true of the share, and yet the thriftiest stop is the one that is not made."
        )

    return Asked(
        text=lambda case: (
            f"One stop from {shown(case.result.speed, 'm/s')} at {shown(case.result.deceleration, 'm/s²')}: <b>which share of "
            "the next start</b> does it pay?"
        ),
        quantity="usable_share",
        unit="%",
        share=0.1,
        least=0.02,
        answer=paid,
        worked=worked,
        slips=lambda case, answer: [
            (
                case.result.stop.share,
                "That is the share of the motion that comes back. Starting again takes more than the motion holds.",
            ),
            (1.0, "Nothing comes back whole: copper, chain and drag take their share both ways."),
        ],
        hints=(
            "How much is in the motion, and how much of it comes back?",
            "How much more than the motion does a start take?",
            "The one over the other.",
        ),
    )


# ---------------------------------------------------------------- 7: room in the store
def _room() -> Asked:
    def answer(case: Case) -> float:
        f = case.result.full
        if f.gain <= 0:
            raise InputError("This descent gives nothing back, so any store has room for it: choose a steeper way first.")
        if f.start_volts <= 0:
            raise InputError("Not even an empty store has room for this descent: friction brakes from the top.")
        if case.vehicle.store.charge_voltage <= (1 + ROOM_SHARE) * f.start_volts:
            raise InputError("This store is so large for this descent that the room it needs does not show in its volts (and yet, "
                             "begun full, friction has all of it): choose a longer or steeper way first.")
        return float(f.start_volts)

    def slips(case: Case, answer: Any) -> list[tuple[float, str]]:
        v, f = case.vehicle, case.result.full
        if v.store.kind != "capacitors":
            return []
        full, farad = v.store.charge_voltage, v.store.capacitance
        whole = full**2 - 2 * v.mass * 9.80665 * f.height / farad
        return [
            (full, "A full store takes nothing: from the first metre on friction has all of it."),
            *(
                [(math.sqrt(whole), "Not all of the height comes back: tyres, air, chain and copper take theirs first.")]
                if whole > 0
                else []
            ),
            (full - 2 * f.gain / farad / full, "The energy goes with the square of the volts."),
        ]

    def worked(case: Case, answer: Any) -> str:
        c, f, v = case.result, case.result.full, case.vehicle
        first = ""
        if v.store.kind == "capacitors":
            share = min(f.gain / (v.mass * 9.80665 * f.height), 1.0)
            line = regeneration.start_voltage.worked(v.store.charge_voltage, share, v.mass, f.height, v.store.capacitance)
            first = f"$\\displaystyle {line}$ for a bank without ohms and slow branches; on the ride it is full a little sooner. "
        return (
            f"{first}{shown(f.gain / 1e3, 'kJ')} of {shown(c.vehicle.mass * 9.80665 * f.height / 1e3, 'kJ')} would come back on "
            f"{shown(f.height, 'm')} of "
            f"height. Begun full, the friction brake takes {shown(-f.full_down.ledger['brake'] / 1e3, 'kJ')} instead. It must be "
            "able to, always."
        )

    return Asked(
        text=lambda case: (
            f"{shown(case.result.room.height, 'm')} down, {shown(case.vehicle.mass, 'kg')}; the full store has "
            f"{shown(float(case.vehicle.store.charge_voltage), 'V')}. With <b>how many volts at most</b> may the descent begin, "
            "if the motor is to brake to the foot?"
        ),
        quantity="open_voltage",
        unit="V",
        share=ROOM_SHARE,
        answer=answer,
        slips=slips,
        worked=worked,
        hints=(
            "How much of the height's energy reaches the store?",
            "What is in a capacitor goes with the square of its volts.",
            "Take that energy off a full store: which volts are left?",
        ),
    )


# ---------------------------------------------------------------- 8: back up the hill
def _back() -> Asked:
    def share(case: Case) -> float:
        h = case.result.hill
        if h is None or h.down.outcome != "arrived":
            raise InputError("On this way there is no hill down which it rolls by itself: choose another way first.")
        return float(h.share_of_way)

    def text(case: Case) -> str:
        h = case.result.hill
        if h is None:
            raise InputError("On this way there is no hill down which it rolls by itself: choose another way first.")
        return (f"Rolled down from empty, {shown(h.height, 'm')} high and {shown(float(h.hill.length), 'm')} long, the motor "
                "braking. Then back up with what that put into the store: <b>how far</b>, as a share of the way?")

    def worked(case: Case, answer: Any) -> str:
        h = case.result.hill
        told = "; ".join(r.words for r in h.ratios)
        return f"{h.reason} The same hill in three honest ratios: {told}. Whoever says “so much comes back” must say of what."

    return Asked(
        text=text,
        quantity="usable_share",
        unit="%",
        share=0.15,
        least=0.02,
        answer=share,
        worked=worked,
        slips=lambda case, answer: [
            (
                case.result.hill.ratios[0].value,
                "So much of the height's energy reached the store; but going up costs more than the height.",
            ),
            (1.0, "That would be a machine without losses."),
        ],
        hints=(
            "What is lost on the way down, before anything reaches the store?",
            "And what is lost on the way up, beside the height?",
            "One share times the other.",
        ),
    )
