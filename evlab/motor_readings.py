"""What is read at a motor, on a bench or in a data sheet: each with its spread and the dress of K it wears; and the spin-down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import sympy

from evlab import motor
from evlab.equation import Equation
from evlab.glossary import entry
from evlab.units import InputError, heed, read, rpm_to_rad_s, si, told, write

__all__ = [
    "Found", "Reading", "SpinDown", "constant_in", "lever_torque", "loaded", "measured_resistance", "no_load", "per_volt",
    "spin_down_time", "spun", "stall", "stall_with_scale",
]

lever_torque = Equation(
    "motor_readings.lever_torque", "torque", lambda scale_reading, gravity, lever_arm: scale_reading * gravity * lever_arm,
    title="Torque of a lever on a luggage scale.", source=("mechanics",), tag="T4",
    within="pull square to the lever, its weight tared")

spin_down_time = Equation(
    "motor_readings.spin_down_time", "time",
    lambda rotor_inertia, viscous_drag, drag_torque, first_motor_speed, last_motor_speed:
        rotor_inertia / viscous_drag
        * sympy.log((drag_torque + viscous_drag * first_motor_speed) / (drag_torque + viscous_drag * last_motor_speed)),
    title="Time in which a rotor without current slows down.", source=("mechanics",), tag="T5", bracketed=True,
    within="drag that grows straight with speed, leads open")

BEYOND = 1e9  # in SI: no bench reads more
UNKNOWN_SPREAD = 0.01  # of a reading that says none: common practice, no source
Pair = tuple[float, float]


@dataclass(frozen=True)
class Found:
    """A value and its spread (one standard deviation), SI, of the glossary's `name`; `words` say how it was had."""

    name: str
    value: float
    spread: float
    words: str = ""

    def __str__(self) -> str:
        return write(float(f"{self.value:.4g}"), entry(self.name), float(f"{self.spread:.2g}") if self.spread else None)


def _pair(value: Any, name: str, where: str, above: bool = True) -> Pair:
    """Value and spread of a number or text; more than zero, or at least zero."""
    e, text = entry(name), value
    if isinstance(value, str) and name == "revs_per_minute":
        text = value.replace("rpm", "").strip()
    given = heed(read(text, e, where), where) if isinstance(text, str) else None
    number, spread = (given.value, given.spread) if given else (si(value, e, where), None)
    if number < 0 or (above and number == 0) or number > BEYOND:
        raise InputError(f"Input {where} must be {'more than' if above else 'at least'} 0 and at most {BEYOND:g}; instead received "
                         f"{told(value)}.")
    return number, UNKNOWN_SPREAD * number if spread is None else spread


def _over(over: Pair, under: Pair, name: str, words: str) -> Found:
    value = over[0] / under[0]
    return Found(name, value, value * math.hypot(over[1] / over[0], under[1] / under[0]), words)


def _turning(rpm: Any, where: str) -> Pair:
    number, spread = _pair(rpm, "revs_per_minute", where, above=False)
    if number == 0:
        raise InputError(f"Input {where} must be more than 0 revolutions a minute: a motor that stands still is a stall; instead "
                         f"received {told(rpm)}.")
    return rpm_to_rad_s(number), rpm_to_rad_s(spread)


def _celsius(temperature: Any, where: str) -> float:
    kelvin = si(temperature, entry("winding_temperature"), where)
    if not 173.15 <= kelvin <= 573.15:
        raise InputError(f"Input {where} must lie between -100 °C and 300 °C; instead received {told(temperature)}.")
    return kelvin


# ---------------------------------------------------------------- readings
@dataclass(frozen=True)
class Reading:
    """One steady reading: pairs of value and spread, SI; None where nothing was read.

    `what` it was; `volts` at the terminals; `amps`; `speed` [rad/s]; `torque` [N m] at the shaft; `temperature` [K] of the winding;
    `dress` that the constant wears in this reading ("drive": the six-step mean, or between the brushes).
    """

    what: str
    volts: Pair | None = None
    amps: Pair | None = None
    speed: Pair | None = None
    torque: Pair | None = None
    temperature: float = 293.15
    dress: str = "drive"

    @property
    def turns(self) -> bool:
        return self.speed is not None and self.speed[0] > 0

    @cached_property
    def warmth(self) -> float:
        """Resistance of the winding over that at 20 °C."""
        return float(motor.winding_resistance_hot(1.0, self.temperature))

    def constant(self) -> Found | None:
        """The constant that this reading tells by itself, in its own dress; None where it takes others too."""
        if self.turns and self.volts and self.speed and self.amps == (0.0, 0.0):
            over, under = self.volts, self.speed
        elif not self.turns and self.torque and self.amps:
            over, under = self.torque, self.amps
        else:
            return None
        name = "six-step mean, or between the brushes" if self.dress == "drive" else self.dress
        turn = "" if constant_in(self.dress) == 1.0 else f"; times {1 / constant_in(self.dress):.4f} it is the six-step mean"
        return _over(over, under, "motor_constant", name + turn)

    def resistance(self) -> Found | None:
        """The resistance that this reading tells by itself, brought to 20 °C; None where it takes others too."""
        if self.turns or not self.volts or not self.amps or not self.amps[0]:
            return None
        cold = (self.volts[0] / self.warmth, self.volts[1] / self.warmth)
        return _over(cold, self.amps, "winding_resistance", f"measured at {self.temperature - 273.15:.0f} °C, brought to 20 °C")

    def check(self) -> Reading:
        """Itself; refuses what gives more power than it takes."""
        if self.volts and self.amps and self.speed and self.torque and self.dress == "drive":
            given, taken = self.speed[0] * self.torque[0], self.volts[0] * self.amps[0]
            if given > taken:
                raise InputError(f"The {self.what} gives {given:.4g} W at the shaft and takes {taken:.4g} W: an efficiency of "
                                 f"{100 * given / taken:.0f} % cannot be. Is the torque in N m, the speed in rpm?")
        return self


def no_load(volts: Any, rpm: Any, amps: Any = None) -> Reading:
    """The motor turns nothing but itself.

    Parameters: `volts` at the terminals, `amps`: numbers in SI or texts such as "36 V +/- 0.1 V"; `rpm`, a number of revolutions a
    minute or a text such as "3000 +/- 10".
    """
    return Reading("no-load reading", _pair(volts, "voltage", "volts of no_load"),
                   None if amps is None else _pair(amps, "motor_current", "amps of no_load"), _turning(rpm, "rpm of no_load"),
                   (0.0, 0.0))


def loaded(volts: Any, rpm: Any, amps: Any = None, torque: Any = None, temperature: Any = 293.15) -> Reading:
    """One point under load; at least one of `amps` and `torque` must be known.

    Parameters: `volts`, `rpm`, `amps` as of no_load; `torque` at the shaft; `temperature` of the winding.
    """
    if amps is None and torque is None:
        raise InputError("A loaded reading must have amps or torque, such as amps=\"20 A\": volts and speed do not say the load.")
    return Reading("loaded reading", _pair(volts, "voltage", "volts of loaded"),
                   None if amps is None else _pair(amps, "motor_current", "amps of loaded"), _turning(rpm, "rpm of loaded"),
                   None if torque is None else _pair(torque, "torque", "torque of loaded"),
                   _celsius(temperature, "temperature of loaded")).check()


def stall(volts: Any = None, amps: Any = None, torque: Any = None, temperature: Any = 293.15) -> Reading:
    """The rotor held still; at least two of `volts`, `amps` and `torque`.

    Parameters: `volts`, `amps`, `torque` as a sheet prints them; `temperature` of the winding (in seconds it is warmer).
    """
    if sum(x is None for x in (volts, amps, torque)) > 1:
        raise InputError("A stall must have two of volts, amps and torque; instead received fewer.")
    parts = [None if x is None else _pair(x, n, f"{w} of stall")
             for x, n, w in ((volts, "voltage", "volts"), (amps, "motor_current", "amps"), (torque, "torque", "torque"))]
    return Reading("stall", parts[0], parts[1], (0.0, 0.0), parts[2], _celsius(temperature, "temperature of stall"))


def stall_with_scale(arm: Any, scale: Any, amps: Any, volts: Any = None, temperature: Any = 293.15,
                     brushed: bool = False) -> Reading:
    """Direct current, the rotor held by a lever on a luggage scale, at the angle of the greatest torque.

    Some degrees off that angle cost little, but always on one side: 15° electrical read 3.4 % low (see turning.error_factor).

    Parameters: `arm`, length of the lever; `scale`, what the scale shows in kg; `amps`; `volts` at the terminals; `temperature` of
    the winding; `brushed`: with three phases the current flows through two of them, and the constant is the line's peak.
    """
    length = _pair(arm, "lever_arm", "arm of stall_with_scale")
    mass = _pair(scale, "scale_reading", "scale of stall_with_scale")
    pull = float(lever_torque(mass[0], lever_arm=length[0]))
    return Reading("stall with a scale", None if volts is None else _pair(volts, "voltage", "volts of stall_with_scale"),
                   _pair(amps, "motor_current", "amps of stall_with_scale"), (0.0, 0.0),
                   (pull, pull * math.hypot(length[1] / length[0], mass[1] / mass[0])),
                   _celsius(temperature, "temperature of stall_with_scale"), "drive" if brushed else "line peak")


def spun(volts: Any, rpm: Any, dress: str = "line rms") -> Reading:
    """Spun from outside, leads open, volts read.

    Parameters: `volts`; `rpm` as of no_load; `dress`: "line rms" (a true-rms meter between two lines), "line peak", "phase peak",
    "six-step mean" (behind a rectifier, its diodes added), or "terminal" of a brushed motor.
    """
    return Reading("spinning test", _pair(volts, "voltage", "volts of spun"), (0.0, 0.0), _turning(rpm, "rpm of spun"), None,
                   293.15, _dress(dress))


def measured_resistance(volts: Any, amps: Any, temperature: Any = 293.15) -> Reading:
    """Terminal to terminal by a known direct current, the rotor still.

    Parameters: `volts`, `amps` as of no_load; `temperature` of the winding.
    """
    return Reading("resistance test", _pair(volts, "voltage", "volts of measured_resistance"),
                   _pair(amps, "motor_current", "amps of measured_resistance"), (0.0, 0.0), None,
                   _celsius(temperature, "temperature of measured_resistance"))


def per_volt(revs: Any, volt: str) -> Reading:
    """"So many rpm per volt", once it is said which volt.

    Parameters: `revs`, revolutions a minute for each volt; `volt`, a dress as of spun; for the volts of a store behind a six-step
    bridge say "six-step mean" (no-load current left out, as sheets do).
    """
    return Reading(f"rpm per volt ({volt})", (1.0, 0.0), (0.0, 0.0), _turning(revs, "revs of per_volt"), None, 293.15, _dress(volt))


def _dress(name: str) -> str:
    if name not in motor.DRESSES:
        raise InputError("Input dress must say which volts were meant: one of " + ", ".join(motor.DRESSES)
                         + f"; instead received {told(name)}.")
    return name


def constant_in(dress: str) -> float:
    """The constant in a dress, for a drive constant of one: what a reading shows over what the bridge sees.

    Parameters: `dress`, one of motor.DRESSES, or "drive".
    """
    if dress in ("drive", "terminal"):
        return 1.0
    line = float(motor.line_constant(1.0))
    of_phase = {"phase peak": 1.0, "line peak": line, "line rms": float(motor.line_rms_constant(line)),
                "six-step mean": float(motor.six_step_constant(line))}
    return of_phase[dress] / of_phase["six-step mean"]


# ---------------------------------------------------------------- spin-down
@dataclass(frozen=True)
class SpinDown:
    """Drag from two stretches of one spin-down, leads open.  `drag_torque` [N m], `viscous_drag` [N m s/rad]."""

    drag_torque: Found
    viscous_drag: Found

    @classmethod
    def of(cls, inertia: Any, fast: Sequence[Any], slow: Sequence[Any]) -> SpinDown:
        """From two stretches, each (rpm at its beginning, rpm at its end, seconds).

        Parameters: `inertia` of the rotor, by which both results scale; `fast` and `slow` stretch.  Raises InputError in words
        where no drag that grows with speed fits.
        """
        j = _pair(inertia, "rotor_inertia", "inertia of SpinDown")
        given = [j]
        for row, name in ((fast, "fast"), (slow, "slow")):
            if len(row) != 3:
                raise InputError(f"Input {name} of SpinDown must be (rpm at the beginning, rpm at the end, seconds); instead "
                                 f"received {told(row)}.")
            a, t = _turning(row[0], f"{name} of SpinDown"), _pair(row[2], "time", f"{name} of SpinDown")
            number, spread = _pair(row[1], "revs_per_minute", f"{name} of SpinDown", above=False)
            b = (rpm_to_rad_s(number), rpm_to_rad_s(spread))
            if b[0] >= a[0]:
                raise InputError(f"Input {name} of SpinDown must slow down: from {told(row[0])} rpm to less; instead received "
                                 f"{told(row[1])}.")
            given += [a, b, t]
        values, spreads = np.array(given).T
        t0, c = _drag_of(values)
        moved = np.zeros(2)
        for i, spread in enumerate(spreads):
            if spread:
                up, down = values.copy(), values.copy()
                up[i] += spread / 100
                down[i] -= spread / 100
                moved += (50 * (np.array(_drag_of(up)) - np.array(_drag_of(down)))) ** 2
        words, (rest, grows) = "spin-down; as many per cent wrong as the inertia", np.sqrt(moved).tolist()
        if c < -2 * grows:
            raise InputError("By these two stretches the drag would fall with speed: the fast one must slow down quicker. Read the "
                             "seconds again, leads open, and the fast stretch above the slow one.")
        return cls(Found("drag_torque", t0, rest, words), Found("viscous_drag", max(c, 0.0), grows, words))


def _drag_of(v: Any) -> tuple[float, float]:
    """T0 and c from inertia and two stretches (a, b, t): their ratio first, which the inertia does not touch."""
    from scipy.optimize import brentq

    j, a1, b1, t1, a2, b2, t2 = (float(x) for x in v)

    def way(a: float, b: float, u: float) -> float:  # time for a drag of one at rest that grows by u for each rad/s
        return math.log1p(u * (a - b) / (1 + u * b)) / u if abs(u) * a > 1e-9 else a - b

    def miss(u: float) -> float:
        return way(a1, b1, u) / t1 - way(a2, b2, u) / t2

    low, high = -0.9 / max(a1, a2), 1e3
    if miss(low) * miss(high) > 0:
        if (a1 - b1) / t1 > (a2 - b2) / t2:
            raise InputError("These two stretches leave no drag at rest: the slow one takes too long. Read the seconds again, or "
                             "take shorter stretches.")
        raise InputError("By these two stretches the drag would fall with speed: the fast one must slow down quicker. Read the "
                         "seconds again, leads open, and the fast stretch above the slow one.")
    u = float(brentq(miss, low, high, xtol=1e-15, rtol=1e-13))
    t0 = j * way(a1, b1, u) / t1
    return t0, u * t0
