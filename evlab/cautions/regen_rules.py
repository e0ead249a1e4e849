"""Rules about braking with the motor: what it cannot do, and when it stops doing it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import STAND, Caution, Rule
from evlab.sources import cite

__all__ = ["REGEN_RULES"]

WET = 0.35  # grip of tyres on wet ground, from memory


def _full(case: Any) -> Iterator[Caution]:
    room = case.room
    if room.gain > 0 and not room.fits(case.volts):
        begin = (f"Begin it at {room.start_volts:.1f} V or below, or count" if room.start_volts > 0 else
                 "Not even an empty store has room for it: count")
        words = (f"From {case.volts:.1f} V this descent of {room.height:.1f} m fills the store before the foot: from there on the "
                 f"motor brakes no more. {begin} on the friction brakes alone.")
        yield Caution("danger", words, cite("derived", "common practice"), "open_voltage")


def _fades(case: Any) -> Iterator[Caution]:
    r = case.region
    words = (f"The motor's brake fades below {max(r.fading_speed, r.least_speed):.1f} m/s and holds nothing at rest; a full "
             "store, a "
             "blown fuse or a thrown chain ends it at any speed. Two friction brakes stay, each able to stop the load alone.")
    yield Caution("caution", words, cite("machines", "common practice"), "controller.braking_current_limit",
                  fold="where the motor's brake ends")


def _too_steep(case: Any) -> Iterator[Caution]:
    needed, most = float(case.needed(case.speed)), float(case.force_of(case.most_amps(case.speed), case.speed))
    if needed > most * (1 + 1e-9):
        words = (f"At {case.speed:.1f} m/s down {100 * case.slope:.0f} % the brakes must hold {needed:.0f} N, the motor's gives "
                 f"{most:.0f} N: it gets faster unless friction takes the other {needed - most:.0f} N.")
        yield Caution("caution", words, cite("mechanics", "machines"), "slope")


def _locks(case: Any) -> Iterator[Caution]:
    most, grip = float(case.force_of(case.most_amps(case.speed), case.speed)), case.grip(WET)
    if grip == grip and most > grip:
        words = (f"On wet ground the driven wheel holds about {grip:.0f} N, the motor brakes it with {most:.0f} N: it locks, and "
                 "a locked wheel does not steer. A lower braking limit for wet days.")
        yield Caution("danger", words, cite("mechanics", "common practice"), "controller.braking_current_limit")
    elif grip != grip:
        words = ("Whether the motor's brake locks a wet driven wheel is not worked out: state wheels, wheelbase, height of the "
                 "mass and its share on the rear axle in the vehicle file.")
        yield Caution("note", words, cite("common practice"), "vehicle.wheelbase")


def _by_itself(case: Any) -> Iterator[Caution]:
    if case.rolls == case.rolls and case.rolls > case.diode_speed:
        words = (f"Rolling free down {100 * case.slope:.0f} % it reaches {case.rolls:.1f} m/s; from {case.diode_speed:.1f} m/s on "
                 "the motor charges the store through the bridge's diodes, and nothing switches that off.")
        yield Caution("danger" if case.speed > case.diode_speed else "caution", words, cite("power-electronics", "mechanics"),
                      "diode_speed")


def _legs(case: Any) -> Iterator[Caution]:
    if case.power > 0:
        words = f"Pedalling with the wheel raised: {STAND}. A chain that jumps at {case.power:.0f} W takes the foot with it."
        yield Caution("caution", words, cite("common practice"), "driver.pedalling_power", fold="a raised wheel")


REGEN_RULES: tuple[Rule, ...] = (_full, _locks, _by_itself, _too_steep, _fades, _legs)
