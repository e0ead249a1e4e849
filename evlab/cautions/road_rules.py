"""Rules about the road: bends, grip, brakes and hills, and where it may be ridden at all."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import Caution, Rule
from evlab.sources import cite

__all__ = ["ROAD_RULES", "TRIP_RULES"]

BEND, ROAD = 3.0, 10.0  # m: a tight turn of a yard or a path, and a bend of a road that nobody slows down for (our own)
REAL = math.sqrt(0.7)  # of the rigid limit's speed: real vehicles tip from 70 % of its acceleration on (common practice)
QUICK, STEEP = 25 / 3.6, 0.15  # m/s and tan: beyond them a trip is told to be no small thing


def _tips(case: Any) -> Iterator[Caution]:
    t = case.tipping
    if math.isnan(t.acceleration):
        words = ("Whether it tips in a bend is not worked out: state wheels, track, height of the mass and its share on the rear "
                 "axle in the vehicle file.")
        yield Caution("caution", words, cite("common practice"), "vehicle.mass_height")
    elif math.isfinite(t.acceleration):
        tip, tight = t.tip_at_three, (t.posted / REAL) ** 2 / t.acceleration
        words = (f"In a turn of {BEND:g} m radius it tips at {tip:.1f} m/s ({3.6 * tip:.0f} km/h), a real vehicle up to a sixth "
                 f"sooner: write it on the handlebar, and turn at walking pace. At the posted {t.posted:.1f} m/s every bend below "
                 f"{tight:.1f} m is too tight.")
        yield Caution("danger" if tight > ROAD else "caution", words, cite("derived", "common practice"), "vehicle.track")


def _slides(case: Any) -> Iterator[Caution]:
    t = case.traction
    if math.isnan(t.limit):
        words = ("What the driven wheel holds is not worked out: state wheels, wheelbase, height of the mass and its share on the "
                 "rear axle in the vehicle file.")
        yield Caution("note", words, cite("common practice"), "vehicle.wheelbase")
    elif t.limit < t.needed:
        words = (f"The driven wheel holds {t.limit:.0f} N here and {t.needed:.0f} N are needed to go on: it spins instead of "
                 "climbing. More load on that wheel, both wheels driven, or another road.")
        yield Caution("danger", words, cite("derived"), "vehicle.tyre_grip")
    elif t.limit < t.full:
        words = (f"Full throttle gives {t.full:.0f} N, the driven wheel holds {t.limit:.0f} N: it spins. A softer throttle, more "
                 "on wet ground.")
        yield Caution("caution", words, cite("derived"), "vehicle.tyre_grip")


def _stops(case: Any) -> Iterator[Caution]:
    s = case.stopping
    if not s.steep[-1] < math.inf:
        words = (f"On {100 * s.steepest:.0f} % down with this grip and these brakes it does not stop at all. Do not ride it.")
        yield Caution("danger", words, cite("mechanics"), "vehicle.tyre_grip")
    elif s.deceleration > s.grip_limit:
        words = (f"Brakes for {s.deceleration:g} m/s2 lock the wheels: this ground holds {s.grip_limit:.1f} m/s2 at most, and a "
                 "locked front wheel does not steer.")
        yield Caution("caution", words, cite("mechanics"), "vehicle.tyre_grip")
    if s.hold > 0:
        words = (f"The brakes alone must give {s.force:.0f} N and hold {s.hold:.0f} N at rest on the descent, the motor helping "
                 f"nothing: two independent ones, each tested with the full load on the level first, and at rest with "
                 f"{s.hold_test:.0f} N.")
        yield Caution("caution", words, cite("mechanics", "common practice"))


def _pitches(case: Any) -> Iterator[Caution]:
    s = case.stopping
    if s.pitch < s.grip_limit:
        state = "danger" if s.pitch < s.deceleration else "caution"
        words = (f"Above {s.pitch:.1f} m/s2 the rear wheel lifts before the tyres slide, and it pitches over: brake gently, both "
                 "brakes together, the load low and far back.")
        yield Caution(state, words, cite("derived"), "vehicle.mass_height")


def _runs_away(case: Any) -> Iterator[Caution]:
    r = case.runaway
    if r.fastest > 0:
        words = (f"If the brakes fail on {100 * r.steepest:.0f} % it runs up to {r.fastest:.1f} m/s ({3.6 * r.fastest:.0f} km/h) "
                 "if the hill is "
                 "long, more in a tail wind. Brakes, tyres and fork must bear the fastest speed that hill or wind can give, not "
                 "the motor's.")
        yield Caution("danger" if r.fastest > QUICK else "caution", words, cite("mechanics", "common practice"))


ROAD_RULES: tuple[Rule, ...] = (_tips, _slides, _stops, _pitches, _runs_away)


def _where(case: Any) -> Iterator[Caution]:
    route = case.route
    top = max(speed for _, speed in route.limits)
    steep = max(route.steepest()[1], route.reversed().steepest()[1])
    if top > QUICK:
        words = (f"{3.6 * top:.0f} km/h are posted: rules for vehicles, brakes, lights, helmets and insurance begin earlier in "
                 "most places. Check your local code first.")
        yield Caution("caution", words, cite("en-15194", "common practice"))
    if steep > STEEP:
        words = (f"{100 * steep:.0f} % is a hill on which a stopped vehicle slides or rolls away: look for another way, and "
                 "settle who stands below before anybody rides above.")
        yield Caution("caution", words, cite("common practice"))


def _half_way(case: Any) -> Iterator[Caution]:
    if case.halted.rolls:
        said = case.halted.words
        words = f"If it stops at {case.halted.place:.0f} m, {said[0].lower()}{said[1:]}"
        yield Caution("caution", words, cite("mechanics", "common practice"))


TRIP_RULES: tuple[Rule, ...] = (_where, _half_way)
