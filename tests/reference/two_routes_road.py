"""Two routes to one number: weather, coasting, footing, tyres, chains and ratios.

By quadrature, an ODE, a matrix of moments, points counted round a strand, a search for an optimum, or other physics.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import accumulate

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from . import Route

ROUTES: list[Route] = []
G = 9.80665
INTEGRAL, FLAT = "the error of the integration", "an optimum is flat: a search finds its place only so far"


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(equation, words, inputs, other, within, why))

    return keep


# ---------------------------------------------------------------- weather
@_route(
    "weather.vapour_pressure",
    "the formula of Murphy and Koop (2005), whose fit knows nothing of Magnus",
    {"air_temperature": 283.15},
    2e-3,
    "two fits, at 10 °C; at 50 °C they stand 0.4 % apart",
)
def _(air_temperature: float) -> float:
    t = air_temperature
    return math.exp(
        54.842763
        - 6763.22 / t
        - 4.21 * math.log(t)
        + 0.000367 * t
        + math.tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * math.log(t) + 0.014025 * t)
    )


@_route(
    "weather.humid_air_density",
    "moles of nitrogen, oxygen, argon, carbon dioxide and water in a cubic metre, each with its molar mass",
    {"pressure": 101325.0, "relative_humidity": 0.5, "vapour_pressure": 2338.8, "air_temperature": 293.15},
    1e-4,
    "gas constants are rounded",
)
def _(pressure: float, relative_humidity: float, vapour_pressure: float, air_temperature: float) -> float:
    moles = 1 / (8.314463 * air_temperature)
    dry = 0.78084 * 28.0134 + 0.20946 * 31.9988 + 0.00934 * 39.948 + 0.0004 * 44.01
    wet = relative_humidity * vapour_pressure
    return moles * ((pressure - wet) * dry + wet * 18.0153) / 1e3


# ---------------------------------------------------------------- coasting
TRIKE = {"constant_force": 22.6, "air_factor": 0.58}
GLIDE = {"effective_mass": 207.7, **TRIKE, "first_speed": 6.0, "last_speed": 2.0}
FALL = {"effective_mass": 112.0, "driving_force": 37.0, "first_speed": 15.0, "time": 9.0}


def _motion(rate: Callable[[float], float], start: float, seconds: float) -> tuple[float, float]:
    """Speed and way after a time, by an ODE for any acceleration."""
    run = solve_ivp(lambda _t, x: (rate(x[0]), x[0]), (0.0, seconds), (start, 0.0), method="DOP853", rtol=1e-12, atol=1e-13)
    return float(run.y[0, -1]), float(run.y[1, -1])


@_route(
    "coasting.constant_force",
    "the weight turned into the road's own axes by a matrix",
    {"mass": 192.0, "rolling_coefficient": 0.012, "slope": 0.07},
)
def _(mass: float, rolling_coefficient: float, slope: float) -> float:
    angle = math.atan(slope)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    along, across = turn @ np.array([0.0, -mass * G])
    return float(-along - rolling_coefficient * across)


@_route(
    "coasting.air_factor",
    "momentum that a tube of air of that section gives up, half of it",
    {"air_density": 1.2, "drag_area": 0.5},
)
def _(air_density: float, drag_area: float) -> float:
    speed = 7.0
    return quad(lambda v: air_density * drag_area * v, 0.0, speed)[0] / speed**2


@_route(
    "coasting.equilibrium_speed",
    "the same cubic through a hyperbolic sine",
    {"power": 400.0, "air_factor": 0.27, "constant_force": 6.5},
)
def _(power: float, air_factor: float, constant_force: float) -> float:
    a, b = constant_force, air_factor
    return 2 * math.sqrt(a / (3 * b)) * math.sinh(math.asinh(1.5 * power / a * math.sqrt(3 * b / a)) / 3)


@_route("coasting.coasting_time", "mass over force, integrated over the speed", GLIDE)
def _(effective_mass: float, constant_force: float, air_factor: float, first_speed: float, last_speed: float) -> float:
    return quad(lambda v: effective_mass / (constant_force + air_factor * v * v), last_speed, first_speed, epsrel=1e-12)[0]


@_route("coasting.coasting_distance", "momentum over force, integrated over the speed", GLIDE)
def _(effective_mass: float, constant_force: float, air_factor: float, first_speed: float, last_speed: float) -> float:
    return quad(lambda v: effective_mass * v / (constant_force + air_factor * v * v), last_speed, first_speed, epsrel=1e-12)[0]


@_route(
    "coasting.coasting_speed",
    "an ODE over the time",
    {**TRIKE, "first_speed": 6.0, "time": 20.0, "effective_mass": 207.7},
    1e-8,
    INTEGRAL,
)
def _(constant_force: float, air_factor: float, first_speed: float, time: float, effective_mass: float) -> float:
    return _motion(lambda v: -(constant_force + air_factor * v * v) / effective_mass, first_speed, time)[0]


@_route(
    "coasting.speed_after",
    "the same ODE over the way, downhill",
    {"constant_force": -40.0, "air_factor": 0.58, "first_speed": 3.0, "way": 60.0, "effective_mass": 207.7},
    1e-8,
    INTEGRAL,
)
def _(constant_force: float, air_factor: float, first_speed: float, way: float, effective_mass: float) -> float:
    def rate(_s: float, v: np.ndarray) -> np.ndarray:
        return -(constant_force + air_factor * v * v) / effective_mass / v

    return float(solve_ivp(rate, (0.0, way), [first_speed], method="DOP853", rtol=1e-12, atol=1e-13).y[0, -1])


@_route(
    "coasting.terminal_speed",
    "the speed after a very long time, by an ODE",
    {"driving_force": 37.0, "air_factor": 0.27},
    1e-8,
    INTEGRAL,
)
def _(driving_force: float, air_factor: float) -> float:
    return _motion(lambda v: (driving_force - air_factor * v * v) / 112.0, 1.0, 500.0)[0]


@_route(
    "coasting.driven_speed", "an ODE over the time, from above the terminal speed", {**FALL, "terminal_speed": 11.7}, 1e-8, INTEGRAL
)
def _(effective_mass: float, driving_force: float, first_speed: float, time: float, terminal_speed: float) -> float:
    return _motion(lambda v: driving_force * (1 - (v / terminal_speed) ** 2) / effective_mass, first_speed, time)[0]


@_route("coasting.driven_distance", "the way of that ODE", {**FALL, "terminal_speed": 11.7}, 1e-8, INTEGRAL)
def _(effective_mass: float, driving_force: float, first_speed: float, time: float, terminal_speed: float) -> float:
    return _motion(lambda v: driving_force * (1 - (v / terminal_speed) ** 2) / effective_mass, first_speed, time)[1]


# ---------------------------------------------------------------- footing
STAND = {"mass": 192.0, "mass_share": 0.65, "mass_height": 0.75, "wheelbase": 1.6, "slope": 0.07}


def _loads(mass: float, mass_share: float, mass_height: float, wheelbase: float, slope: float, force: float) -> tuple[float, float]:
    """Loads of front and rear axle under a force along the road at the ground [N]: balance across the road, and of the moments
    about the centre of mass; what the force does not hold up speeds the vehicle, with no moment about that point."""
    across = mass * G * math.cos(math.atan(slope))
    arms = np.array([[1.0, 1.0], [mass_share * wheelbase, -(1 - mass_share) * wheelbase]])
    front, rear = np.linalg.solve(arms, [across, -force * mass_height])
    return float(front), float(rear)


@_route("footing.rear_load", "balance of forces and moments solved as a matrix", STAND)
def _(**values: float) -> float:
    return _loads(**values, force=values["mass"] * G * math.sin(math.atan(values["slope"])))[1]


@_route(
    "footing.rear_traction",
    "the force at which moments and grip meet, found by search",
    {"tyre_grip": 0.6, "driven_share": 0.5, **STAND},
)
def _(tyre_grip: float, driven_share: float, **values: float) -> float:
    return float(brentq(lambda f: tyre_grip * driven_share * _loads(**values, force=f)[1] - f, 0.0, 5e3, xtol=1e-10))


@_route(
    "footing.front_traction",
    "the force at which moments and grip meet, found by search",
    {"tyre_grip": 0.6, "driven_share": 1.0, **STAND},
)
def _(tyre_grip: float, driven_share: float, **values: float) -> float:
    return float(brentq(lambda f: tyre_grip * driven_share * _loads(**values, force=f)[0] - f, 0.0, 5e3, xtol=1e-10))


@_route("footing.lift_front", "the driving force that leaves the front axle no load, found by search", STAND)
def _(**values: float) -> float:
    return float(brentq(lambda f: _loads(**values, force=f)[0], 0.0, 1e5, xtol=1e-9))


@_route("footing.lift_rear", "the braking force that leaves the rear axle no load, found by search", STAND)
def _(**values: float) -> float:
    return float(-brentq(lambda f: _loads(**values, force=f)[1], -1e5, 0.0, xtol=1e-9))


@_route(
    "footing.tip_acceleration",
    "three wheels in space: the side force that leaves the inner rear wheel no load, by moments",
    {"support_share": 0.65, "track": 0.75, "mass_height": 0.75},
)
def _(support_share: float, track: float, mass_height: float) -> float:
    base = 1.3
    feet = np.array([[0.0, 0.0], [-base, track / 2], [-base, -track / 2]])  # front, left, right; the turn goes to the left

    def inner(acceleration: float) -> float:
        balance = np.vstack([np.ones(3), feet.T])
        return float(np.linalg.solve(balance, [G, -support_share * base * G, -acceleration * mass_height])[1])

    return float(brentq(inner, 0.0, 50.0, xtol=1e-12))


@_route(
    "footing.tip_speed",
    "the rate at which a velocity of that size turns, by differences",
    {"tip_acceleration": 3.19, "turn_radius": 3.0},
    1e-6,
    "a difference of two positions",
)
def _(tip_acceleration: float, turn_radius: float) -> float:
    return float(brentq(lambda v: _turning(v, turn_radius) - tip_acceleration, 0.1, 50.0, xtol=1e-10))


@_route(
    "footing.slide_speed",
    "the rate at which a velocity of that size turns, by differences",
    {"tyre_grip": 0.6, "turn_radius": 3.0},
    1e-6,
    "a difference of two positions",
)
def _(tyre_grip: float, turn_radius: float) -> float:
    return float(brentq(lambda v: _turning(v, turn_radius) - tyre_grip * G, 0.1, 50.0, xtol=1e-10))


def _turning(speed: float, radius: float) -> float:
    """Acceleration on a circle from three positions on it."""
    step = 1e-3
    a, b, c = (radius * complex(math.cos(t * speed / radius), math.sin(t * speed / radius)) for t in (-step, 0.0, step))
    return abs(a - 2 * b + c) / step**2


@_route(
    "footing.grip_deceleration",
    "grip times the load across the road, and the weight along it, by angles",
    {"tyre_grip": 0.6, "slope": -0.07},
)
def _(tyre_grip: float, slope: float) -> float:
    angle = math.atan(slope)
    return (tyre_grip * math.cos(angle) + math.sin(angle)) * G


@_route(
    "footing.stopping_distance",
    "speed summed over the time, an even fall after the reaction",
    {"speed": 6.0, "reaction_time": 0.7, "deceleration": 3.0},
)
def _(speed: float, reaction_time: float, deceleration: float) -> float:
    end = reaction_time + speed / deceleration
    return quad(lambda t: speed - deceleration * max(t - reaction_time, 0.0), 0.0, end, points=[reaction_time], epsrel=1e-12)[0]


@_route(
    "footing.braking_force",
    "energy to get rid of, for each metre of the way to a stop",
    {"mass": 192.0, "deceleration": 3.0, "constant_force": -109.0},
)
def _(mass: float, deceleration: float, constant_force: float) -> float:
    speed = 5.0
    way = speed**2 / (2 * deceleration)
    return (mass * speed**2 / 2 - constant_force * way) / way


@_route(
    "footing.holding_torque", "work of the slope over one turn, for each radian", {"slope_force": 131.48, "wheel_radius": 0.245}
)
def _(slope_force: float, wheel_radius: float) -> float:
    return slope_force * 2 * math.pi * wheel_radius / (2 * math.pi)


@_route("footing.brake_heat", "power of the brake summed over the time of the way", {"braking_force": 109.0, "way": 60.0})
def _(braking_force: float, way: float) -> float:
    speed = 2.4
    return quad(lambda _t: braking_force * speed, 0.0, way / speed)[0]


@_route("footing.disc_rise", "warmed joule by joule", {"brake_heat": 6500.0, "disc_mass": 0.15, "disc_heat": 460.0})
def _(brake_heat: float, disc_mass: float, disc_heat: float) -> float:
    return list(accumulate([1.0 / disc_mass / disc_heat] * int(brake_heat)))[-1]


@_route(
    "footing.runaway_speed",
    "an ODE until the way is done",
    {"first_speed": 3.0, "driving_force": 109.0, "way": 60.0, "mass": 192.0},
    1e-8,
    INTEGRAL,
)
def _(first_speed: float, driving_force: float, way: float, mass: float) -> float:
    seconds = brentq(lambda t: _motion(lambda _v: driving_force / mass, first_speed, t)[1] - way, 1.0, 100.0, xtol=1e-12)
    return _motion(lambda _v: driving_force / mass, first_speed, seconds)[0]


# ---------------------------------------------------------------- tyres
@_route(
    "tyres.rolling_circumference", "a polygon of many corners round the tyre", {"bead_diameter": 0.406, "tyre_width": 0.047}, 1e-9
)
def _(bead_diameter: float, tyre_width: float) -> float:
    corners, radius = 1_000_000, bead_diameter / 2 + tyre_width
    return corners * 2 * radius * math.sin(math.pi / corners)


@_route(
    "tyres.toe_force",
    "the side force turned into the way by its sine",
    {"cornering_stiffness": 5000.0, "toe_angle": 0.02},
    1e-4,
    "a small angle is taken for its sine",
)
def _(cornering_stiffness: float, toe_angle: float) -> float:
    return cornering_stiffness * toe_angle * math.sin(toe_angle)


@_route("tyres.cold_rolling", "a straight line through two points of it", {"rolling_coefficient": 0.008, "air_temperature": 268.15})
def _(rolling_coefficient: float, air_temperature: float) -> float:
    return float(np.interp(air_temperature, [253.15, 293.15], [rolling_coefficient * 1.6, rolling_coefficient]))


# ---------------------------------------------------------------- chains
PITCH, SMALL, LARGE = 9.525e-3, 15, 76
PAIR = {"chain_pitch": PITCH, "driver_teeth": SMALL, "driven_teeth": LARGE}


def _diameter(teeth: float) -> float:
    """Diameter at which chords of one pitch close a ring of so many, by search."""
    return float(brentq(lambda d: 2 * teeth * math.asin(PITCH / d) - 2 * math.pi, PITCH * 1.0001, PITCH * teeth, xtol=1e-15))


def _tangents(centre: float, small: float, large: float) -> tuple[float, float]:
    """Length of a straight run and its angle to the line of axles, from two circles, by search for the tangent's direction."""
    tilt = brentq(lambda t: centre * math.sin(t) - (large - small) / 2, -1.5, 1.5, xtol=1e-15)
    ends = [
        complex(0, 0) + small / 2 * complex(math.sin(-tilt), math.cos(tilt)),
        complex(centre, 0) + large / 2 * complex(math.sin(-tilt), math.cos(tilt)),
    ]
    return abs(ends[1] - ends[0]), tilt


@_route(
    "chains.chain_pitch_diameter",
    "the circle on which chords of one pitch close, found by search",
    {"chain_pitch": PITCH, "teeth": 17},
)
def _(chain_pitch: float, teeth: float) -> float:
    return _diameter(teeth) * chain_pitch / PITCH


@_route(
    "chains.belt_pitch_diameter",
    "the diameter of a circle of so many pitches, summed as a fine polygon",
    {"chain_pitch": 0.008, "teeth": 22},
)
def _(chain_pitch: float, teeth: float) -> float:
    corners = 1_000_000
    return chain_pitch * teeth / corners / math.sin(math.pi / corners)


@_route(
    "chains.tip_diameter",
    "flats of the polygon of pitches, and what the handbook adds",
    {"chain_pitch": PITCH, "teeth": 17, "tip_factor": 0.54},
)
def _(chain_pitch: float, teeth: float, tip_factor: float) -> float:
    across = math.sqrt((_diameter(teeth) * chain_pitch / PITCH) ** 2 - chain_pitch**2)  # from flat to flat
    return across + tip_factor * chain_pitch


@_route(
    "chains.strand_links",
    "corners and straights of the strand laid out as points",
    {**PAIR, "centre_distance": 0.38, "driver_diameter": _diameter(SMALL), "driven_diameter": _diameter(LARGE)},
)
def _(
    centre_distance: float, chain_pitch: float, driver_teeth: int, driven_teeth: int, driver_diameter: float, driven_diameter: float
) -> float:
    run, tilt = _tangents(centre_distance, driver_diameter, driven_diameter)
    return 2 * run / chain_pitch + driver_teeth * (math.pi - 2 * tilt) / math.tau + driven_teeth * (math.pi + 2 * tilt) / math.tau


@_route(
    "chains.chain_links",
    "the exact strand instead of the series",
    {**PAIR, "centre_distance": 0.38},
    1.5e-4,
    "the handbooks' series stops: 0.012 of a link here",
)
def _(chain_pitch: float, driver_teeth: int, driven_teeth: int, centre_distance: float) -> float:
    run, tilt = _tangents(centre_distance, _diameter(driver_teeth), _diameter(driven_teeth))
    return 2 * run / chain_pitch + driver_teeth * (math.pi - 2 * tilt) / math.tau + driven_teeth * (math.pi + 2 * tilt) / math.tau


@_route(
    "chains.handbook_centre",
    "the exact strand of so many links, found by search",
    {**PAIR, "links": 128},
    2e-4,
    "the handbooks' series stops: 0.06 mm here",
)
def _(chain_pitch: float, driver_teeth: int, driven_teeth: int, links: int) -> float:
    def links_at(centre: float) -> float:
        run, tilt = _tangents(centre, _diameter(driver_teeth), _diameter(driven_teeth))
        turns = driver_teeth * (math.pi - 2 * tilt) / math.tau + driven_teeth * (math.pi + 2 * tilt) / math.tau
        return 2 * run / chain_pitch + turns

    return float(brentq(lambda c: links_at(c) - links, 0.2, 1.0, xtol=1e-13))


@_route("chains.ripple", "lowest over highest of a pin's speed along the strand, over a turn", {"driver_teeth": 11})
def _(driver_teeth: int) -> float:
    turn = np.linspace(-math.pi / driver_teeth, math.pi / driver_teeth, 2001)  # a link lies on until the next one does
    return float(1 - np.cos(turn).min() / np.cos(turn).max())


@_route(
    "chains.chain_tension",
    "work of a turn of the driver over the way of the strand",
    {"shaft_torque": 8.65, "driver_diameter": 0.0458},
)
def _(shaft_torque: float, driver_diameter: float) -> float:
    return shaft_torque * 2 * math.pi / (math.pi * driver_diameter)


@_route("chains.chain_safety", "how many such pulls add up to the strength", {"tensile_strength": 8900.0, "chain_tension": 370.0})
def _(tensile_strength: float, chain_tension: float) -> float:
    whole, rest = divmod(tensile_strength, chain_tension)
    return whole + rest / chain_tension


@_route("chains.chain_speed", "pitches counted in a minute", {"driver_teeth": 15, "chain_pitch": PITCH, "motor_speed": 62.0})
def _(driver_teeth: int, chain_pitch: float, motor_speed: float) -> float:
    return driver_teeth * (motor_speed * 60 / math.tau) * chain_pitch / 60


@_route(
    "chains.wrap_angle",
    "the angle that the two tangents leave on the driver",
    {"driver_diameter": 0.0458, "driven_diameter": 0.2305, "centre_distance": 0.38},
)
def _(driver_diameter: float, driven_diameter: float, centre_distance: float) -> float:
    return math.pi - 2 * _tangents(centre_distance, driver_diameter, driven_diameter)[1]


# ---------------------------------------------------------------- ratios
WORK = {
    "wheel_radius": 0.245,
    "drive_force": 160.0,
    "drive_resistance": 0.15,
    "viscous_drag": 0.002,
    "chain_efficiency": 0.95,
    "motor_constant": 0.346,
    "speed": 2.4,
}


@_route("gearing.best_ratio", "heat and drag added, the least of it found by search", WORK, 1e-6, FLAT)
def _(
    wheel_radius: float,
    drive_force: float,
    drive_resistance: float,
    viscous_drag: float,
    chain_efficiency: float,
    motor_constant: float,
    speed: float,
) -> float:
    def lost(ratio: float) -> float:
        amps = drive_force * wheel_radius / (ratio * chain_efficiency * motor_constant)
        return drive_resistance * amps**2 + viscous_drag * (ratio * speed / wheel_radius) ** 2

    return float(minimize_scalar(lost, bracket=(2.0, 8.0, 30.0), options={"xtol": 1e-10}).x)


@_route(
    "gearing.ratio_bound",
    "the ratio at which EMF and ohms take all volts, found by search",
    {
        "duty": 0.97,
        "voltage": 22.0,
        "motor_current": 24.0,
        "drive_resistance": 0.15,
        "wheel_radius": 0.245,
        "motor_constant": 0.346,
        "speed": 2.4,
    },
)
def _(
    duty: float,
    voltage: float,
    motor_current: float,
    drive_resistance: float,
    wheel_radius: float,
    motor_constant: float,
    speed: float,
) -> float:
    return float(
        brentq(
            lambda g: duty * voltage - motor_current * drive_resistance - motor_constant * g * speed / wheel_radius,
            0.1,
            100.0,
            xtol=1e-13,
        )
    )


@_route("gearing.two_stage_ratio", "turns counted from wheel to motor", {"first_ratio": 2.5, "second_ratio": 3.2})
def _(first_ratio: float, second_ratio: float) -> float:
    wheel_turns = 7.0
    shaft_turns = wheel_turns * second_ratio
    return shaft_turns * first_ratio / wheel_turns


@_route("gearing.two_stage_efficiency", "watts lost stage by stage", {"first_efficiency": 0.97, "second_efficiency": 0.95})
def _(first_efficiency: float, second_efficiency: float) -> float:
    watts = 100.0
    left = watts - (1 - first_efficiency) * watts
    return (left - (1 - second_efficiency) * left) / watts
