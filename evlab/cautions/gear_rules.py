"""Rules about the gearing: fingers, teeth, chain, clearances, and volts that run out before the hill does."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import Caution, Rule
from evlab.sources import cite
from evlab.units import InputError

__all__ = ["GEAR_RULES"]

CLOSE = 0.025  # m of air under the chain: common practice, no source
LEAST, GOOD = 11, 15  # teeth of a driver: common practice, no source
WEAK = 7.0  # times the pull: common practice, no source
WRAP = math.radians(120)


def _fingers(case: Any) -> Iterator[Caution]:
    words = ("Chain and sprocket take fingers: guard both runs, never touch them with the drive live. A chain that breaks or jumps "
             "must neither lock the wheel nor take the only brake with it.")
    yield Caution("caution", words, cite("common practice"), fold="chain and fingers")


def _volts(case: Any) -> Iterator[Caution]:
    ratio = case.vehicle.gearing.ratio
    asked = f"{100 * case.slope:.1f} % at {case.speed:.1f} m/s with {case.volts:.1f} V left"
    if math.isnan(case.bound):
        words = f"No ratio climbs {asked}: more volts, a stronger motor, less load, or a slower pace."
        yield Caution("danger", words, cite("machines"), "gearing.wheel_teeth")
    elif ratio > case.bound * (1 + 1e-9):
        words = (f"For {asked} the ratio may be {case.bound:.2f} at most, it is {ratio:.2f}: the motor's own volts leave too "
                 f"little. It goes on more slowly, or stops. A smaller wheel sprocket, or less speed.")
        yield Caution("caution", words, cite("machines"), "gearing.wheel_teeth")
    elif ratio < case.lowest * (1 - 1e-9):
        words = (f"For {asked} the ratio must be {case.lowest:.2f} at least, it is {ratio:.2f}: the coil current limit is reached "
                 "before the force is there. A larger wheel sprocket.")
        yield Caution("danger", words, cite("machines"), "gearing.wheel_teeth")
    if case.restart < case.slope:
        words = (f"Once it stops on {100 * case.slope:.1f} % it does not start again: {100 * case.restart:.1f} % is the most from "
                 "rest.")
        yield Caution("danger", words, cite("mechanics"), "gearing.wheel_teeth")


def _parts(case: Any) -> Iterator[Caution]:
    """Teeth, pull and room of the wheels, where they can be built at all."""
    try:
        g = case.geometry
    except InputError as wrong:
        yield Caution("danger", f"Such a chain or belt cannot be built. {wrong}", cite("definition"), "gearing.centre_distance")
        return
    for rule in (_first_stage, _teeth, _pull, _fits):
        yield from rule(case, g)


def _first_stage(case: Any, g: Any) -> Iterator[Caution]:
    z = case.vehicle.gearing.shaft_driver_teeth
    if g.chain.kind != "belt" and 0 < z < GOOD:
        words = (f"The first of two stages has a driver of {z} teeth, at the motor's full speed: {LEAST} at least, {GOOD} and more "
                 "are better.")
        yield Caution("caution" if z < LEAST else "note", words, cite("common practice"), "gearing.shaft_driver_teeth")


def _teeth(case: Any, g: Any) -> Iterator[Caution]:
    belt = g.chain.kind == "belt"
    if not belt and g.driver_teeth < GOOD:
        state = "caution" if g.driver_teeth < LEAST else "note"
        words = (f"A driver of {g.driver_teeth} teeth lets the chain's speed swing by {100 * g.ripple:.1f} % and wears it: "
                 f"{LEAST} at least, {GOOD} and more are better.")
        yield Caution(state, words, cite("chain-handbooks", "common practice"), "gearing.motor_teeth")
    if not belt and g.links % 2:
        words = f"{g.links} links are odd: they need a cranked link, the weakest of the chain. Take {g.links - 1} or {g.links + 1}."
        yield Caution("caution", words, cite("chain-handbooks"), "gearing.links")
    if g.wrap < WRAP:
        words = (f"The {g.chain.kind} lies on the driver over {math.degrees(g.wrap):.0f} degrees only: below 120 it jumps under "
                 "load. Move the axles apart, or a jockey wheel on the slack run.")
        yield Caution("caution", words, cite("common practice"), "gearing.centre_distance")


def _pull(case: Any, g: Any) -> Iterator[Caution]:
    if g.safety < WEAK:
        words = (f"The {g.chain.name} pulls {g.tension:.0f} N at the coil current limit, and breaks at {g.safety:.1f} times that: "
                 f"{WEAK:g} times or more. A stronger chain, or a larger driver.")
        yield Caution("danger" if g.safety < WEAK / 2 else "caution", words, cite("common practice"), "gearing.chain")
    elif math.isnan(g.safety):
        words = f"What {g.chain.name} bears goes with its width and cords: ask its maker; the pull is {g.tension:.0f} N."
        yield Caution("note", words, cite("belt-handbooks"), "gearing.chain")


def _fits(case: Any, g: Any) -> Iterator[Caution]:
    if g.ground_clearance < CLOSE:
        words = (f"Between chain and ground are {1e3 * g.ground_clearance:.0f} mm: below {1e3 * CLOSE:.0f} mm it picks up grit "
                 "and hits kerbs."
                 if g.ground_clearance > 0 else
                 f"The wheel sprocket reaches {-1e3 * g.ground_clearance:.0f} mm below the ground: a smaller one, or a first "
                 "stage.")
        yield Caution("caution" if g.ground_clearance > 0 else "danger", words, cite("common practice"), "gearing.wheel_teeth")
    if g.frame_clearance < 0:
        words = f"The wheel sprocket does not fit: it stands {-1e3 * g.frame_clearance:.0f} mm into the frame."
        yield Caution("danger", words, cite("definition"), "gearing.frame_gap")
    elif math.isnan(g.frame_clearance):
        words = "Whether the wheel sprocket clears the frame is not worked out: measure and state what is free about the axle."
        yield Caution("note", words, cite("common practice"), "gearing.frame_gap")


GEAR_RULES: tuple[Rule, ...] = (_fingers, _volts, _parts)
