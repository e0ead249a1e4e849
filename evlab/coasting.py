"""Coasting and steady speed: what a vehicle does under a constant force, with the air in its way.

The road's force is `a + b v²`: rolling and slope do not change with the speed, the air grows with its square.  Wind, and drag in
proportion to the speed, have no short formula: they stand below by hand, and tests hold them against quadrature.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation, half
from evlab.units import InputError

__all__ = [
    "air_factor", "coasting_distance", "coasting_speed", "coasting_time", "constant_force", "drag_coasting_time", "driven_distance",
    "driven_speed", "equilibrium_speed", "speed_after", "speed_at_power", "terminal_in_wind", "terminal_speed",
]

_STILL = "still air, an even slope, no motor and no brake"
_DOWN = "still air, an even force, no brake; from any speed, below the terminal one or above"

constant_force = Equation(
    "coasting.constant_force", "constant_force",
    lambda mass, gravity, rolling_coefficient, slope: mass * gravity * (rolling_coefficient + slope) / sympy.sqrt(1 + slope**2),
    title="Rolling and slope force together; below zero where it rolls by itself.", source=("mechanics",), tag="R7",
    limits={"slope": (-0.4, 0.4)}, within="going forward; slopes to 40 %")

air_factor = Equation(
    "coasting.air_factor", "air_factor", lambda air_density, drag_area: half * air_density * drag_area,
    title="Air force over the square of the speed.", source=("martin-1998",), tag="R7", within="still air, one posture")

equilibrium_speed = Equation(
    "coasting.equilibrium_speed", "speed",
    lambda power, air_factor, constant_force:
        sympy.cbrt(sympy.sqrt((power / (2 * air_factor)) ** 2 + (constant_force / (3 * air_factor)) ** 3)
                   + power / (2 * air_factor))
        - constant_force / (3 * air_factor) / sympy.cbrt(
            sympy.sqrt((power / (2 * air_factor)) ** 2 + (constant_force / (3 * air_factor)) ** 3) + power / (2 * air_factor)),
    title="Steady speed at a power at the wheel: Cardano's root of a cubic.", source=("derived",), tag="R7", bracketed=True,
    limits={"constant_force": (0.0, 1e5)},
    within="still air, level or uphill; downhill and in a wind see speed_at_power")

coasting_time = Equation(
    "coasting.coasting_time", "time",
    lambda effective_mass, constant_force, air_factor, first_speed, last_speed:
        effective_mass / sympy.sqrt(constant_force * air_factor)
        * (sympy.atan(first_speed * sympy.sqrt(air_factor / constant_force))
           - sympy.atan(last_speed * sympy.sqrt(air_factor / constant_force))),
    title="Time in which a coasting vehicle slows from one speed to another.", source=("derived",), tag="R8",
    bracketed=("constant_force", "air_factor"), within=_STILL + "; where it does slow down (constant force above zero)")

coasting_distance = Equation(
    "coasting.coasting_distance", "way",
    lambda effective_mass, air_factor, constant_force, first_speed, last_speed:
        effective_mass / (2 * air_factor)
        * sympy.log((constant_force + air_factor * first_speed**2) / (constant_force + air_factor * last_speed**2)),
    title="Way on which a coasting vehicle slows from one speed to another.", source=("derived",), tag="R8", within=_STILL)

coasting_speed = Equation(
    "coasting.coasting_speed", "last_speed",
    lambda constant_force, air_factor, first_speed, time, effective_mass:
        sympy.sqrt(constant_force / air_factor)
        * sympy.tan(sympy.atan(first_speed * sympy.sqrt(air_factor / constant_force))
                    - time * sympy.sqrt(constant_force * air_factor) / effective_mass),
    title="Speed of a coasting vehicle after a time.", source=("derived",), tag="R8", bracketed=("constant_force", "air_factor"),
    within=_STILL + "; until it stands (constant force above zero)")

speed_after = Equation(
    "coasting.speed_after", "last_speed",
    lambda first_speed, constant_force, air_factor, way, effective_mass:
        sympy.sqrt((first_speed**2 + constant_force / air_factor) * sympy.exp(-2 * air_factor * way / effective_mass)
                   - constant_force / air_factor),
    title="Speed after a way: the energy of motion falls as the way goes on, whatever the clock says.", source=("derived",),
    tag="R9", bracketed=("air_factor",), within=_STILL + "; up or down, until it stands")

terminal_speed = Equation(
    "coasting.terminal_speed", "terminal_speed", lambda driving_force, air_factor: sympy.sqrt(driving_force / air_factor),
    title="Speed at which the air holds what drives: downhill without brakes, or under an even force.", source=("mechanics",),
    tag="R11", within=_DOWN)

driven_speed = Equation(
    "coasting.driven_speed", "last_speed",
    lambda terminal_speed, first_speed, time, driving_force, effective_mass:
        terminal_speed * (first_speed + terminal_speed * sympy.tanh(time * driving_force / (effective_mass * terminal_speed)))
        / (terminal_speed + first_speed * sympy.tanh(time * driving_force / (effective_mass * terminal_speed))),
    title="Speed after a time under an even force: tanh from below the terminal speed, coth from above, in one line.",
    source=("derived",), tag="R11", bracketed=("terminal_speed", "driving_force", "effective_mass"), within=_DOWN)

driven_distance = Equation(
    "coasting.driven_distance", "way",
    lambda effective_mass, terminal_speed, driving_force, time, first_speed:
        effective_mass * terminal_speed**2 / driving_force
        * sympy.log(sympy.cosh(time * driving_force / (effective_mass * terminal_speed))
                    + first_speed / terminal_speed * sympy.sinh(time * driving_force / (effective_mass * terminal_speed))),
    title="Way after a time under an even force.", source=("derived",), tag="R11",
    bracketed=("effective_mass", "terminal_speed", "driving_force"),
    within=_DOWN + "; up to some hundred times the time it takes to get there")


# ---------------------------------------------------------------- branches, by hand
def speed_at_power(power: float, constant_force: float, air_factor: float, head_wind: float = 0.0) -> float:
    """Steady speed [m/s] at a power at the wheel, on any slope and in any wind along it.

    Parameters: power [W], zero or more; constant_force [N], below zero where it rolls by itself; air_factor [kg/m]; head_wind
    [m/s] against the way.
    Returns the one speed at which the road takes that power, 0 where it stands.  Raises InputError for a power below zero.
    """
    from scipy.optimize import brentq

    if not 0 <= power < math.inf:
        raise InputError(f"Input power of coasting.speed_at_power must be zero or more watts; instead received {power:g} W.")

    def spare(v: float) -> float:
        through = v + head_wind
        return (constant_force + air_factor * through * abs(through)) * v - power

    low = max(float(terminal_in_wind(constant_force, air_factor, head_wind)), 0.0)
    if power == 0:
        return low
    high = low + 1.0
    while spare(high) < 0:
        high *= 2
    return float(brentq(spare, low, high, xtol=1e-12, rtol=1e-14))


def terminal_in_wind(constant_force: Any, air_factor: float, head_wind: float = 0.0) -> Any:
    """Speed [m/s], or an array of them, at which road and air together leave no force: with a tail wind it is as much faster.

    Parameters: constant_force [N] (or an array), below zero where it rolls by itself; air_factor [kg/m]; head_wind [m/s], below
    zero from behind.
    Below zero: the wind would push it backwards.
    """
    speed: Any = np.copysign(np.sqrt(np.abs(constant_force) / air_factor), -np.asarray(constant_force)) - head_wind
    return speed


def drag_coasting_time(effective_mass: float, constant_force: float, linear_drag: float, air_factor: float, first_speed: float,
                       last_speed: float) -> float:
    """Time [s] in which it slows down when drag in proportion to the speed is there too (a motor that is turned, R10).

    Parameters: effective_mass [kg]; constant_force [N]; linear_drag [N s/m]; air_factor [kg/m]; `first_speed` and `last_speed`
    [m/s].  Each may be zero, as long as something slows it down all the way.  Raises InputError where nothing does.
    """
    m, a, c, b, v0, v1 = effective_mass, constant_force, linear_drag, air_factor, first_speed, last_speed
    if not (min(c, b) >= 0 and 0 <= v1 <= v0 and a + c * v1 + b * v1**2 > 0):
        raise InputError(f"Input last_speed of coasting.drag_coasting_time must be one to which it slows down by itself; instead "
                         f"received {v1:g} m/s from {v0:g} m/s, where the road's force is {a + c * v1 + b * v1**2:g} N.")
    if b == 0:
        return m / c * math.log((a + c * v0) / (a + c * v1)) if c else m * (v0 - v1) / a
    crossed = 4 * a * b - c * c
    q = math.sqrt(abs(crossed))
    first, last = 2 * b * v0 + c, 2 * b * v1 + c
    if abs(crossed) <= 1e-6 * last**2:  # the middle branch, and its neighbours, where the others lose digits
        x, y = 1 / last, 1 / first
        return 2 * m * ((x - y) - crossed * (x**3 - y**3) / 3)
    if crossed > 0:
        return 2 * m / q * (math.atan(first / q) - math.atan(last / q))
    return m / q * math.log((first - q) * (last + q) / ((first + q) * (last - q)))
