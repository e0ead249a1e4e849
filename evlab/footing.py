"""Footing: what the tyres hold, where a wheel lifts, and what brakes must do.

Every limit here is that of a rigid vehicle on a smooth road.  Suspension, soft tyres, a rider who leans the wrong way, a bump or
a kerb take it away earlier: keep to half of it.
"""

from __future__ import annotations

import math

import sympy

from evlab.equation import Equation
from evlab.glossary import entry
from evlab.road import slope_force
from evlab.units import InputError

__all__ = [
    "DRIVEN", "WHEELS", "brake_heat", "braked_of", "braking_force", "disc_rise", "front_traction", "grip_deceleration",
    "hold_of", "hold_test_of",
    "holding_torque", "lift_front", "lift_rear", "rear_load", "rear_traction", "runaway_speed", "slide_speed", "stopping_distance",
    "tip_acceleration", "tip_speed", "tipping_of", "traction_of",
]

_RIGID = "a rigid vehicle, air and rolling left out; slopes to 40 %"
_STEEP = {"slope": (-0.4, 0.4)}

rear_load = Equation(
    "footing.rear_load", "rear_load",
    lambda mass, gravity, mass_share, slope, mass_height, wheelbase:
        mass * gravity * (mass_share + slope * mass_height / wheelbase) / sympy.sqrt(1 + slope**2),
    title="Load on the rear axle of a vehicle that stands, or goes at a steady speed, on a slope.", source=("derived",), tag="R13",
    within=_RIGID, limits=_STEEP)

rear_traction = Equation(
    "footing.rear_traction", "traction_limit",
    lambda tyre_grip, driven_share, mass, gravity, mass_share, slope, mass_height, wheelbase:
        tyre_grip * driven_share * mass * gravity * mass_share
        / (sympy.sqrt(1 + slope**2) * (1 - tyre_grip * driven_share * mass_height / wheelbase)),
    title="Largest force that driven rear wheels put on the road; the force itself presses them down.", source=("derived",),
    tag="R13", within=_RIGID + "; below the force that lifts the front", limits=_STEEP)

front_traction = Equation(
    "footing.front_traction", "traction_limit",
    lambda tyre_grip, driven_share, mass, gravity, mass_share, slope, mass_height, wheelbase:
        tyre_grip * driven_share * mass * gravity * (1 - mass_share)
        / (sympy.sqrt(1 + slope**2) * (1 + tyre_grip * driven_share * mass_height / wheelbase)),
    title="Largest force that driven front wheels put on the road; the force itself takes load off them.", source=("derived",),
    tag="R13", within=_RIGID, limits=_STEEP)

lift_front = Equation(
    "footing.lift_front", "lifting_force",
    lambda mass, gravity, mass_share, wheelbase, mass_height, slope:
        mass * gravity * (1 - mass_share) * wheelbase / (mass_height * sympy.sqrt(1 + slope**2)),
    title="Driving force at which the front wheels lift.", source=("derived",), tag="R13", within=_RIGID, limits=_STEEP)

lift_rear = Equation(
    "footing.lift_rear", "lifting_force",
    lambda mass, gravity, mass_share, wheelbase, mass_height, slope:
        mass * gravity * mass_share * wheelbase / (mass_height * sympy.sqrt(1 + slope**2)),
    title="Braking force at which the rear wheels lift and the vehicle pitches over.", source=("derived",), tag="R13",
    within=_RIGID, limits=_STEEP)

tip_acceleration = Equation(
    "footing.tip_acceleration", "tip_acceleration",
    lambda gravity, support_share, track, mass_height: gravity * support_share * track / (2 * mass_height),
    title="Sideways acceleration at which the inner wheel lifts.", source=("derived",), tag="R13",
    within="a rigid vehicle on the level that turns evenly; real ones tip at 70 to 90 % of it, earlier over a bump or a kerb")

tip_speed = Equation(
    "footing.tip_speed", "limit_speed", lambda tip_acceleration, turn_radius: sympy.sqrt(tip_acceleration * turn_radius),
    title="Speed in a turn at which the inner wheel lifts.", source=("mechanics",), tag="R13", within="a steady turn on the level")

slide_speed = Equation(
    "footing.slide_speed", "limit_speed", lambda tyre_grip, gravity, turn_radius: sympy.sqrt(tyre_grip * gravity * turn_radius),
    title="Speed in a turn at which the tyres slide.", source=("mechanics",), tag="R13",
    within="a steady turn on the level, all wheels gripping alike; braking or driving in the turn takes its share")

grip_deceleration = Equation(
    "footing.grip_deceleration", "deceleration",
    lambda tyre_grip, slope, gravity: gravity * (tyre_grip + slope) / sympy.sqrt(1 + slope**2),
    title="Largest deceleration on a slope with all wheels braked; downhill the slope is below zero.", source=("mechanics",),
    tag="R13", within="every wheel braked to its limit, none lifting; a single braked wheel gives its share only", limits=_STEEP)

stopping_distance = Equation(
    "footing.stopping_distance", "stopping_distance",
    lambda speed, reaction_time, deceleration: speed * reaction_time + speed**2 / (2 * deceleration),
    title="Way until it stands: reaction first, then braking.", source=("mechanics",), tag="R13",
    within="an even deceleration; reaction 0.5 s ready, 1 to 2 s surprised (common practice, no source)")

braking_force = Equation(
    "footing.braking_force", "braking_force",
    lambda mass, deceleration, constant_force: mass * deceleration - constant_force,
    title="Force that the brakes must give: what slows it, and what the slope adds; the air's help is not counted.",
    source=("mechanics",), tag="R13", within="brakes alone, without the motor; wheels' inertia left out")

holding_torque = Equation(
    "footing.holding_torque", "holding_torque", lambda slope_force, wheel_radius: slope_force * wheel_radius,
    title="Torque that one braked wheel must hold on a slope.", source=("mechanics",), tag="R13", within="at rest, one wheel")

brake_heat = Equation(
    "footing.brake_heat", "brake_heat", lambda braking_force, way: braking_force * way,
    title="Heat that brakes take up on a way.", source=("mechanics",), tag="R13", within="an even force")

disc_rise = Equation(
    "footing.disc_rise", "disc_rise", lambda brake_heat, disc_mass, disc_heat: brake_heat / (disc_mass * disc_heat),
    title="Rise of a disc that keeps all the heat.", source=("mechanics",), tag="R13",
    within="one short descent; wind and pads take a part away; above 200 K brakes fade (common practice, no source)")

runaway_speed = Equation(
    "footing.runaway_speed", "last_speed",
    lambda first_speed, driving_force, way, mass: sympy.sqrt(first_speed**2 + 2 * driving_force * way / mass),
    title="Speed after a way downhill without brakes and without air.", source=("mechanics",), tag="R13",
    within="the air left out: the fastest it can get; with air see coasting.speed_after")

HOLD_MARGIN = 1.5  # a brake is tested with so many times what it must hold: common practice, no source


def hold_of(mass: float, slope: float) -> float:
    """Force that a brake must hold at rest on a slope [N]: all that the weight pulls, rider aboard.  Rolling is not counted, since
    a hard tyre on a smooth floor hardly helps.

    Parameters: mass [kg], with everybody and everything on board; slope, tan, up or down.
    """
    return abs(float(slope_force(mass, slope)))


def hold_test_of(hold: float) -> float:
    """Force with which a brake that must hold so much is tested [N]."""
    return HOLD_MARGIN * hold


# ---------------------------------------------------------------- for the words of a vehicle file
WHEELS = ("two in line", "one front, two rear", "two front, one rear", "four")
DRIVEN = {"one rear": ("rear", 0.5), "both rear": ("rear", 1.0), "front": ("front", 1.0)}


def tipping_of(wheels: str, track: float, mass_height: float, mass_share: float) -> float:
    """Sideways acceleration at which a wheel lifts [m/s2].

    Parameters: wheels, one of WHEELS, or "not stated"; track [m]; mass_height [m]; mass_share, from the front axle back.
    Returns inf for two wheels in line, which lean instead; nan where a value is not stated (0).
    """
    if wheels == "two in line":
        return math.inf
    share = {"one front, two rear": mass_share, "two front, one rear": 1 - mass_share, "four": 1.0}.get(wheels, math.nan)
    known = track > 0 and mass_height > 0 and (wheels == "four" or mass_share > 0) and share > 0
    return float(tip_acceleration(support_share=share, track=track, mass_height=mass_height)) if known else math.nan


def traction_of(wheels: str, driven: str, tyre_grip: float, mass: float, mass_share: float, mass_height: float, wheelbase: float,
                slope: float = 0.0) -> tuple[float, float, float]:
    """What the driven wheels can put on the road: (force [N], load on them then [N], share of the weight).

    Parameters: wheels, one of WHEELS; driven, a key of DRIVEN; tyre_grip; mass [kg]; mass_share, from the front axle back;
    `mass_height` and `wheelbase` [m]; slope, tan.
    Returns nan where a length is not stated (0); the force is never more than lifts the front wheels.  Raises InputError for words
    that are not in DRIVEN, and for a grip that is not above zero.
    """
    if driven not in DRIVEN:
        raise InputError(f"Input driven of traction_of must be one of {', '.join(DRIVEN)}; instead received {driven!r}.")
    if not 0 < tyre_grip <= 2:
        raise InputError(f"Input tyre_grip of traction_of must be above 0 and at most 2; instead received {tyre_grip:g}.")
    if not (wheelbase > 0 and mass_height > 0 and 0 < mass_share < 1 and wheels in WHEELS):
        return math.nan, math.nan, math.nan
    axle, share = DRIVEN[driven]
    if axle == "rear" and wheels in ("two in line", "two front, one rear"):
        share = 1.0  # the only wheel of its axle carries all of it
    values = {"tyre_grip": tyre_grip, "driven_share": share, "mass": mass, "gravity": entry("gravity").value,
              "mass_share": mass_share, "slope": slope, "mass_height": mass_height, "wheelbase": wheelbase}
    weight = float(mass * entry("gravity").value)  # type: ignore[operator]
    lifted = float(lift_front(mass, mass_share, wheelbase, mass_height, slope))
    pole = axle == "rear" and tyre_grip * share * mass_height >= wheelbase  # the harder it drives the more it grips
    force = lifted if pole else float((front_traction if axle == "front" else rear_traction).floats(**values))
    load = force / tyre_grip
    if axle == "rear" and (pole or force > lifted):  # the front lifts before the tyre slips
        force, load = lifted, share * weight / math.sqrt(1 + slope**2)
    return force, load, load / weight


def braked_of(wheels: str, driven: str, tyre_grip: float, mass: float, mass_share: float, mass_height: float, wheelbase: float,
              slope: float = 0.0) -> float:
    """What the driven wheels hold while they alone brake [N].  That is driving backwards: it takes load off rear wheels, and
    presses front wheels down, at most until the rear lifts.

    Parameters and what is refused as of `traction_of`; nan where a length is not stated.
    """
    if math.isnan(traction_of(wheels, driven, tyre_grip, mass, mass_share, mass_height, wheelbase, slope)[0]):
        return math.nan
    axle, share = DRIVEN[driven]
    if axle == "rear" and wheels in ("two in line", "two front, one rear"):
        share = 1.0
    values = {"tyre_grip": tyre_grip, "driven_share": share, "mass": mass, "gravity": entry("gravity").value,
              "mass_share": 1 - mass_share, "slope": slope, "mass_height": mass_height, "wheelbase": wheelbase}
    if axle == "rear":
        return float(front_traction.floats(**values))
    lifted = float(lift_rear(mass, mass_share, wheelbase, mass_height, slope))
    pole = tyre_grip * share * mass_height >= wheelbase  # the harder it brakes the more it grips
    return lifted if pole else min(float(rear_traction.floats(**values)), lifted)
