"""The questions of the page of magnets; every answer comes from the reader's own ring at the present controls."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from evlab import magnets
from evlab.look import shown
from evlab.magnet_case import FAULTS, MagnetCase
from evlab.plots.sentences import percent
from evlab.units import InputError
from evlab.workbench.page import Case
from evlab.workbench.question import Asked

__all__ = ["asked"]

FASTER, SLOWER, SAME = "it turns faster", "it turns slower", "as fast as before"
LESS, EQUAL, MORE = "less than double", "just double", "more than double"
LONE, BUILT, ALIKE = "lying alone on the bench", "in its place in the ring", "both alike"


def asked() -> tuple[Asked, ...]:
    """The questions, in the order of the pictures."""
    return _stronger(), _further(), _second(), _lone_face(), _hot(), _missing(), _plate()


# ---------------------------------------------------------------- 1: stronger magnets
def _stronger() -> Asked:
    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return (f"A coil now makes {shown(c.coil_constant, 'V·s/rad')}. A tenth more remanence makes a tenth more volts at each "
                "speed, so the "
                "store's volts are met a tenth earlier: slower at the same volts, and a tenth more torque for each ampere. The "
                "same "
                "number says both.")

    return Asked(
        text=lambda case: "You swap in magnets that are a tenth stronger; volts and load stay. <b>How fast does it turn without "
                          "load?</b>",
        options=(FASTER, SLOWER, SAME), answer=lambda case: SLOWER, worked=worked,
        slips=lambda case, answer: [(FASTER, "It pulls harder for each ampere, but its own volts rise sooner.")],
        hints=("What stops a motor from turning ever faster?", "Its own EMF: when does it reach the store's volts?"))


# ---------------------------------------------------------------- 2: a millimetre
def _further() -> Asked:
    def answer(case: Case) -> float:
        return float(case.result.decay)

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        wave = math.pi / c.sound.pitch
        return (f"The wave of the poles dies away with $e^{{-\\kappa z}}$, $\\displaystyle "
                f"{magnets.wave_number.worked(1.0, c.sound.pitch)}$: a "
                f"millimetre costs {percent(1 - math.exp(-wave * 1e-3))} where nothing is across the gap; here, with a gap that "
                "grows "
                f"on both sides, {percent(answer)}.")

    return Asked(
        text=lambda case: (f"The clearance is {shown(1e3 * case.result.winding.clearance, 'mm', figures=2)} and the pole pitch "
                           f"{shown(1e3 * case.result.sound.pitch, 'mm')}. <b>What share of the flux does one more millimetre "
                           "cost?</b>"),
        quantity="magnet_share", unit="%", share=0.2, answer=answer, worked=worked,
        slips=lambda case, answer: [(0.5 * answer, "That is half of it: does the gap grow on one side only?"),
                                    (2 * answer, "That is twice as much.")],
        hints=("How long is the wave of the poles?", "It falls by e to the minus pi times the way over the pole pitch.",
               "Look at “By every route”."))


# ---------------------------------------------------------------- 3: a second rotor
def _gain(case: Case) -> float:
    """Flux of two rotors on iron over that of one with iron behind it, same magnets, same clearance."""
    v = case.vehicle
    pair, one = (MagnetCase(v.change(magnets={"iron": iron})).linkage.fundamental for iron in ("two rotors", "behind"))
    return float(pair / one)


def _second() -> Asked:
    def answer(case: Case) -> str:
        gain = _gain(case)
        return MORE if gain > 2.02 else LESS if gain < 1.98 else EQUAL

    def worked(case: Case, answer: Any) -> str:
        return (f"A second ring on iron across the gap gives {shown(_gain(case), 'times')} the flux of one ring with iron behind "
                "it. Two "
                "fields add to just double; but the iron behind the other ring is a mirror, in which each ring sees more magnets, "
                "and "
                "less of the field bends back to its neighbours.")

    return Asked(
        text=lambda case: "One ring on steel stands on one side of the coil. You add the same ring on steel on the other side. "
                          "<b>How much flux does the coil see then?</b>",
        options=(LESS, EQUAL, MORE), answer=answer, worked=worked,
        slips=lambda case, answer: [(EQUAL, "The fields of the magnets add up to double; but what does the second steel disc do?")],
        hints=("What does iron do to a field?", "It is a mirror for magnets.", "Change “Iron” and watch the flux."))


# ---------------------------------------------------------------- 4: the face of a lone magnet
def _lone_face() -> Asked:
    def answer(case: Case) -> float:
        return float(case.result.peak)

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        return (f"At the coil it is at most {shown(answer, 'T')}. The face of a lone magnet shows {shown(c.face_alone, 'T')}: "
                "neighbours of the "
                "other pole take flux away, height takes more, and iron gives back. Neither number follows from the other without "
                "working "
                "it out.")

    return Asked(
        text=lambda case: (f"A meter held to the face of a lone magnet shows {shown(case.result.face_alone, 'T')}. <b>How large "
                           "is the field "
                           "at most in the middle of the coil, in the ring as it is?</b>"),
        quantity="axis_field", unit="T", share=0.1, answer=answer, worked=worked,
        slips=lambda case, answer: [(case.result.face_alone,
                                     "That is the lone magnet's face: neither the neighbours nor the iron are in it.")],
        hints=("What do the neighbours do, and what does the iron?", "Look at the scale beside “Field and coils”."))


# ---------------------------------------------------------------- 5: heat
def _hot() -> Asked:
    def answer(case: Case) -> str:
        alone, there = case.result.points[1].margin, case.result.points[2].margin
        return ALIKE if abs(alone / there - 1) < 0.02 else LONE if alone < there else BUILT

    def worked(case: Case, answer: Any) -> str:
        alone, there = case.result.points[1], case.result.points[2]
        return (f"Alone {shown(1e-3 * alone.field, 'kA/m')} work against it, in its place {shown(1e-3 * there.field, 'kA/m')}: a "
                "thin magnet "
                "drives its own flux backwards through itself, and iron and partners take that flux off. Alone it meets the knee "
                "at about "
                f"{shown(alone.hottest - 273.15, '°C', figures=2)}, in its place at "
                f"{shown(there.hottest - 273.15, '°C', figures=2)}.")

    return Asked(
        text=lambda case: (f"A magnet of grade {case.result.grade.name}, {shown(1e3 * case.result.sound.thick, 'mm')} thick and "
                           f"{shown(1e3 * case.result.sound.wide, 'mm')} wide, gets warm. <b>Where does it lose its strength "
                           "first?</b>"),
        options=(LONE, BUILT, ALIKE), answer=answer, worked=worked,
        hints=("Where does the flux of a lone magnet go back to?", "Look at “Heat and counter-field”."))


# ---------------------------------------------------------------- 6: one magnet wrong
def _missing() -> Asked:
    def answer(case: Case) -> float:
        c = case.result
        spoilt = replace(c.sound, strengths=c.sound.with_magnet(1, FAULTS["one turned over"]).strengths)
        from evlab.linkage import Linkage

        return 1 - Linkage(spoilt, c.coil, c.winding.height).fundamental / Linkage(c.sound, c.coil, c.winding.height).fundamental

    def worked(case: Case, answer: Any) -> str:
        poles = case.result.sound.poles
        return (f"{percent(answer)}: of {poles} magnets one works against the others, so two of {poles} are lost, "
                f"{percent(2 / poles)}. On the road "
                "it feels like a weak motor that throbs; a compass led round the ring finds it before the glue sets.")

    return Asked(
        text=lambda case: f"One of the {case.result.sound.poles} magnets of a ring was glued in the wrong way up. <b>What share "
                          "of a coil's EMF "
                          "is lost, in the mean over a turn?</b>",
        quantity="magnet_share", unit="%", share=0.1, answer=answer, worked=worked,
        slips=lambda case, answer: [(answer / 2, "That is one that is missing: turned over, it also works against the others.")],
        hints=("A missing one would cost its own share.", "This one takes away as much again.", "Choose “one turned over”."))


# ---------------------------------------------------------------- 7: aluminium
def _plate() -> Asked:
    def answer(case: Case) -> float:
        if case.result.plate is None:
            raise InputError("The plate does not fit into the gap: make it thinner or the gap wider first.")
        return float(case.result.plate_loss[0])

    def worked(case: Case, answer: Any) -> str:
        c = case.result
        if not answer > 0:
            return "It does not conduct, so nothing flows in it and nothing is lost: that is why stators are made of it."
        return (f"{shown(answer, 'W')}, a torque of {shown(answer / c.speed, 'N·m')} at {shown(c.speed, 'rad/s')}: the moving "
                "poles drive currents in the "
                "metal, and those brake. That a magnet does not stick to it says nothing. Take a plate that does not conduct, "
                "keep it away, "
                "or slit it.")

    return Asked(
        text=lambda case: (f"{shown(1e3 * case.result.plate_of[1], 'mm', figures=2)} of {case.result.plate_of[2]} stand "
                           f"{shown(1e3 * case.result.plate_of[0], 'mm', figures=2)} above the magnets, which turn at "
                           f"{shown(case.result.speed, 'rad/s')}. No current flows in the coils. <b>What power does it take to "
                           "keep them turning?</b>"),
        quantity="power_needed", unit="W", share=0.2, answer=answer, worked=worked,
        hints=("A magnet does not stick to aluminium; but what does a moving magnet do to it?",
               "Currents flow in it, as in a coil that is joined to itself.", "Look at “Metal near by”."))
