"""Rules about a winding: what burns, what softens, what is live, and what does not start."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import STAND, THROWS, Caution, Rule
from evlab.sources import cite

__all__ = ["WINDING_RULES"]

LIVE, TOUCH = 60.0, 70.0  # V of extra-low direct voltage; °C at which metal burns a finger (common practice, no source)
DENSE, WILD = 0.55, 0.5  # fill that hands reach with care; ripple over the current


def _gives_up(case: Any) -> Iterator[Caution]:
    first, amps, when, words = case.limits[0], case.asked.amps, case.time_to_limit, case.weak
    if when < case.asked.seconds:
        told = f"after {when / 60:.0f} min" if when >= 120 else f"after {when:.0f} s" if when >= 1 else "in less than a second"
        yield Caution("danger", f"With {amps:.0f} A the winding is at {first.temperature - 273.15:.0f} °C {told}, where {words} "
                                "gives up: the coil "
                                "lets go, shorts or burns. Less current, thicker copper, or a limit in the controller.",
                      cite("machine-heat", first.mark), "motor.temperature_limit")
    elif math.isfinite(when):
        yield Caution("caution", f"With {amps:.0f} A for longer than {when / 60:.0f} min {words} gives up, at "
                                 f"{first.temperature - 273.15:.0f} °C.",
                      cite("machine-heat", first.mark), "motor.temperature_limit")


def _too_high(case: Any) -> Iterator[Caution]:
    first, limit = case.limits[0], case.vehicle.motor.temperature_limit
    if limit > first.temperature + 0.5:
        words = (f"The ride stops at a coil of {limit - 273.15:.0f} °C, but {case.weak} gives up at "
                 f"{first.temperature - 273.15:.0f} °C: set the coil limit lower, or change what is weakest.")
        yield Caution("caution", words, cite(first.mark), "motor.temperature_limit")


def _live(case: Any) -> Iterator[Caution]:
    volts = case.motor.peak_constant * case.asked.speed
    if volts > LIVE:
        words = (f"At {case.asked.speed:.0f} rad/s the open ends of the winding carry {volts:.0f} V, with the store switched off "
                 "too: more than "
                 "may be touched. Cover the ends before anything turns.")
        yield Caution("danger", words, cite("common practice"), "motor.constant")
    else:
        words = (f"A turning motor makes volts by itself, {volts:.0f} V at {case.asked.speed:.0f} rad/s, with the store switched "
                 "off too. After a "
                 f"test its copper may be above {TOUCH:.0f} °C: do not touch. Strip enamel outdoors; its smoke is poison.")
        yield Caution("caution", words, cite("common practice"), "motor.constant", fold="live ends, hot copper")


def _ripples(case: Any) -> Iterator[Caution]:
    if case.ripple > WILD * case.asked.amps:
        words = (f"At {1e-3 * case.asked.frequency:.3g} kHz the current ripples by {case.ripple:.0f} A about "
                 f"{case.asked.amps:.0f} A, since coils without iron have little inductance: hotter copper, noise, and peaks that "
                 "trip or kill the bridge. Switch faster.")
        yield Caution("caution", words, cite("power-electronics"), "switching_frequency")


def _dead_spots(case: Any) -> Iterator[Caution]:
    stuck = case.starts["one phase"].stuck if case.build.phases == 1 else 0.0
    if stuck == 1:
        load = case.starts["one phase"].rig.needed
        words = (f"With {case.asked.amps:.0f} A one phase never starts this load, {load:.3g} N·m: the vehicle stays or rolls back, "
                 "and a push does not help for long. Take more amps, a larger ratio, or a second phase.")
        yield Caution("caution", words, cite("machines", "derived"), "motor.winding.phases")
    elif stuck:
        words = (f"One phase does not start from {100 * stuck:.0f} % of the angles: push it off by hand or foot, never with "
                 "fingers in spokes or "
                 "chain, or give it a second phase.")
        yield Caution("note", words, cite("machines", "derived"), "motor.winding.phases")


def _rolls_back(case: Any) -> Iterator[Caution]:
    load, least = case.load, case.least_pull
    back = load.rolls_back(case.vehicle.motor.drag_torque)
    if back > max(least, 0.0):
        gives = f"only {least:.2g} N·m" if least > 0 else "nothing"
        also = " The freewheel does not stop it." if load.freewheel else ""
        words = (f"Up {100 * load.uphill:.3g} % the vehicle may roll back onto whoever stands behind it: the slope turns the motor "
                 f"back with {back:.2g} N·m, and at some angles {case.asked.amps:.0f} A give {gives}.{also} Hold the brake until "
                 "it pulls, and keep people away from behind.")
        yield Caution("danger", words, cite("machines", "derived"), "motor.winding.phases")


def _raised(case: Any) -> Iterator[Caution]:
    if not case.load.mass:
        words = f"The driven wheel is raised: {STAND}. Without its load the motor is at full speed at once."
        yield Caution("caution", words, cite("common practice"), "driven_wheel")


def _runs_free(case: Any) -> Iterator[Caution]:
    """A free run on the bench: what is stored in the rotor there, and what flies off when something lets go."""
    rpm, held = case.bench.free_rpm, case.magnets.rotor.at(case.bench.speed)
    if held["kinetic_energy"] > THROWS:
        words = (f"Run free at {rpm:.0f} rpm the rotor holds {held['kinetic_energy']:.0f} J, its rim moves at "
                 f"{held['rim_speed']:.0f} m/s and each magnet pulls outwards with {held['centrifugal_force']:.0f} N. Clamp the "
                 "motor, stand a guard round the discs, keep everybody out of their plane, tie back hair and sleeves, raise the "
                 "speed in steps and switch off from afar. Glue alone holds no magnet: a rim or a band does.")
        yield Caution("danger", words, cite("mechanics", "common practice"), "revs_per_minute")


def _crowded(case: Any) -> Iterator[Caution]:
    if case.fill > DENSE:
        words = (f"Copper fills {100 * case.fill:.0f} % of the window: hands reach 40 to 50 % anyhow, 55 % with every layer laid "
                 "straight. "
                 "Wind a trial coil before the former is made.")
        yield Caution("note", words, cite("common practice"), "motor.winding.turns")


WINDING_RULES: tuple[Rule, ...] = (_gives_up, _too_high, _live, _ripples, _dead_spots, _rolls_back, _raised, _runs_free, _crowded)
