"""Torque against the angle of the rotor: one phase, two, or three, with a sensor that may sit wrong.

The shape of the EMF says all: volts for each radian per second are newton metres for each ampere, at every angle.  Angles are
electrical (pairs of poles times the rotor's); the EMF of the first phase rises through zero at 0; a late sensor has a positive
error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation
from evlab.glossary import entry
from evlab.units import InputError, si, told

__all__ = [
    "SCHEMES", "EmfShape", "TorqueOverTurn", "creep_margin", "creeping_angle", "creeping_share", "dead_share", "delay_error",
    "error_extra_copper", "error_factor", "offset_error", "reverse_share", "six_step_least", "six_step_share", "square_drive_speed",
    "square_share", "torque_over_turn",
]

_SINE = "sine-shaped EMF, one current whatever the angle"
_ONE = "one phase, sine-shaped EMF, current of one size that changes sign by a sensor"

error_factor = Equation(
    "turning.error_factor", "torque_share", lambda sensor_error: sympy.cos(sensor_error),  # noqa: PLW0108  # its name names the input
    title="Mean torque with a misplaced sensor, over that with the sensor in its place.", source=("derived",), tag="C4",
    within=_SINE)

error_extra_copper = Equation(
    "turning.error_extra_copper", "extra_copper", lambda sensor_error: 1 / sympy.cos(sensor_error)**2 - 1,
    title="Copper loss that the same torque costs more.", source=("derived",), tag="C4", bracketed=True, within=_SINE)

offset_error = Equation(
    "turning.offset_error", "sensor_error",
    lambda pole_pairs, sensor_offset, sensor_radius: pole_pairs * sensor_offset / sensor_radius,
    title="Electrical angle of a sensor that sits off its place: pairs of poles times the mechanical one.", source=("definition",),
    tag="C4", within="offsets small against the radius")

delay_error = Equation(
    "turning.delay_error", "sensor_error", lambda pole_pairs, motor_speed, time: pole_pairs * motor_speed * time,
    title="Electrical angle by which a delay makes the switching late.", source=("definition",), tag="C4", within="steady speed")

square_share = Equation(
    "turning.square_share", "torque_share", lambda sensor_error: 2 / sympy.pi * sympy.cos(sensor_error),
    title="One phase: mean torque over its peak.", source=("derived",), tag="M12", within=_ONE)

six_step_share = Equation(
    "turning.six_step_share", "torque_share", lambda sensor_error: 3 / sympy.pi * sympy.cos(sensor_error),
    title="Three phases in six steps: mean torque over its peak.", source=("derived",), tag="M13", within=_SINE)

six_step_least = Equation(
    "turning.six_step_least", "least_share", lambda sensor_error: sympy.cos(sympy.pi / 6 + sympy.Abs(sensor_error)),
    title="Three phases in six steps: least torque over its peak.", source=("derived",), tag="M13", bracketed=True, within=_SINE)

reverse_share = Equation(
    "turning.reverse_share", "reverse_share", lambda sensor_error: sympy.Abs(sensor_error) / sympy.pi,
    title="One phase: share of the rotor angles at which a misplaced sensor pushes backwards.", source=("derived",), tag="M12",
    within=_ONE)

dead_share = Equation(
    "turning.dead_share", "dead_share", lambda friction_ratio: 2 / sympy.pi * sympy.asin(friction_ratio),
    title="One phase: share of the rotor angles at which friction holds.", source=("derived",), tag="M12", bracketed=True,
    within=_ONE + ", sensor in its place")

creeping_share = Equation(
    "turning.creeping_share", "creeping_share",
    lambda friction_ratio: (2 + sympy.sqrt(2)) / sympy.pi * sympy.asin(friction_ratio),
    title="One phase: share from which it does not start, for little friction: 1.71 times those at which friction holds.",
    source=("derived",), tag="M12", bracketed=True, limits={"friction_ratio": (0.0, 0.1)},
    within=_ONE + ", friction up to a tenth of the peak torque (there 0.2 % too small)")

creep_margin = Equation(
    "turning.creep_margin", "creep_margin",
    lambda release_angle, friction_ratio:
        1 - sympy.cos(release_angle) + 1 - sympy.sqrt(1 - friction_ratio**2)
        - friction_ratio * (release_angle + sympy.asin(friction_ratio)),
    title="Work of torque and friction from where the rotor is let go to where the torque beats friction again.",
    source=("derived",), tag="M12", bracketed=True, within=_ONE + ", sensor in its place, no other drag")

square_drive_speed = Equation(
    "turning.square_drive_speed", "motor_speed",
    lambda phase_constant, voltage, hot_resistance, drag_torque, viscous_drag:
        (2 / sympy.pi * phase_constant * voltage / hot_resistance - drag_torque)
        / (phase_constant**2 / (2 * hot_resistance) + viscous_drag),
    title="Free speed of one phase on switched volts: without drag 4/π times volts over the peak constant.", source=("derived",),
    tag="M12", within=_ONE.replace("current of one size that changes", "volts that change") + " in its place; current that may "
    "flow back; much inertia, little inductance")


def creeping_angle(friction_ratio: float) -> float:
    """How far before the dead spot [rad, electrical] a rotor must be let go to get over it (M12, exactly).

    Parameters: `friction_ratio`, friction over peak torque, from 0 to below 2/π, where friction takes all of the mean torque.
    Raises InputError in words.
    """
    from scipy.optimize import brentq

    ratio = si(friction_ratio, entry("friction_ratio"), "friction_ratio of creeping_angle")
    if not 0 <= ratio < 2 / math.pi:
        raise InputError("Input friction_ratio of creeping_angle must be at least 0 and below 2/π = 0.6366: there friction takes "
                         f"all of the mean torque, and no rotor gets over the dead spot; instead received {told(friction_ratio)}.")
    holds = math.asin(ratio)  # from here to the far mirror of it the torque beats friction
    return float(brentq(creep_margin.floats, holds, math.pi - holds, args=(ratio,), xtol=1e-14)) if ratio else 0.0


# ---------------------------------------------------------------- the shape of the EMF
@dataclass(frozen=True)
class EmfShape:
    """EMF of one phase for each radian per second of the rotor, as a sum of sines of the electrical angle.

    `amplitudes`: for each odd order its amplitude [V s/rad = N m/A], with sign.
    """

    amplitudes: tuple[tuple[int, float], ...]

    @classmethod
    def sine(cls, peak: Any) -> EmfShape:
        """A pure sine with a peak [V s/rad]."""
        return cls.of({1: peak})

    @classmethod
    def of(cls, amplitudes: Mapping[int, Any]) -> EmfShape:
        """From amplitudes [V s/rad] of odd orders; the fundamental must be there.  Raises InputError in words."""
        made = []
        for order, value in sorted(amplitudes.items()):
            if type(order) is not int or order < 1 or order % 2 == 0:
                raise InputError("Input amplitudes of EmfShape must have odd orders from 1, as a ring of equal magnets makes them; "
                                 f"instead received order {told(order)}.")
            made.append((order, si(value, entry("phase_constant"), f"amplitude {order} of EmfShape")))
        if not made or made[0][0] != 1 or made[0][1] <= 0:
            raise InputError("Input amplitudes of EmfShape must have a fundamental (order 1) above 0 V s/rad; instead received "
                             f"{told(dict(amplitudes))}.")
        return cls(tuple(made))

    @classmethod
    def of_linkage(cls, linkage: Any, turns: int, coils: int, highest: int = 9,
                   share: Callable[[int], float] = lambda order: 1.0) -> EmfShape:
        """From the flux through a coil (see linkage.Linkage).

        Parameters: `linkage`; `turns` of a coil; `coils` of the phase, in series; `highest` order; `share`, of
        their sum that each order keeps (1: all with the same EMF).
        """
        factor = turns * coils * linkage.ring.pairs
        return cls.of({n: factor * n * share(n) * linkage.harmonic(n) for n in range(1, highest + 1, 2)})

    def at(self, angles: Any) -> Any:
        """[V s/rad] at electrical angles [rad]."""
        a = np.asarray(angles, float)
        return sum(amount * np.sin(order * a) for order, amount in self.amplitudes)

    @property
    def peak(self) -> float:
        """Largest value [V s/rad]."""
        return float(np.abs(self.at(np.linspace(0.0, math.pi, 2881))).max())


# ---------------------------------------------------------------- one electrical turn
SCHEMES = ("one phase", "two phases", "three phases, six-step", "three phases, sine")
# Steps of an electrical turn, and how long after a sensor's zero the first begins.
_STEPS = {"one phase": (2, 0.0), "two phases": (4, 0.0), "three phases, six-step": (6, math.pi / 6), "three phases, sine": (6, 0.0)}
FINE = 1200  # pieces of a step


def per_ampere(shape: EmfShape, scheme: str, angles: Any, error: float = 0.0) -> tuple[Any, ...]:
    """Torque for each ampere of each current path within the first step [N m/A], as if the step went on for ever.

    Parameters: `shape`; `scheme`, one of SCHEMES; `angles`, electrical [rad], from the beginning of the turn; `error` of the
    sensor [rad], which only a sine drive feels within a step.
    """
    y, third = np.asarray(angles, float), 2 * math.pi / 3
    if scheme == "one phase":
        return (shape.at(y),)
    if scheme == "two phases":  # a quarter turn apart, each with its own bridge
        return shape.at(y), -shape.at(y - math.pi / 2)
    if scheme == "three phases, six-step":
        return (shape.at(y) - shape.at(y - third),)
    return (sum(shape.at(y - i * third) * np.sin(y - i * third - error) for i in range(3)),)


def steps_of(scheme: str) -> tuple[int, float]:
    """Steps of an electrical turn, and where the first begins [rad]; refuses an unknown scheme in words."""
    if scheme not in _STEPS:
        raise InputError(f"Input scheme must be one of {'; '.join(SCHEMES)}; instead received {told(scheme)}.")
    return _STEPS[scheme]


@dataclass(frozen=True)
class TorqueOverTurn:
    """Torque for each ampere over one electrical turn.

    `angles` (n,) [rad, electrical]; `torque` (n,) [N m/A] (for a sine drive: for each ampere of the peak); `mean`, `least`, `most`
    [N m/A]; `peak` [N m/A]: the most with the sensor in its place, to which shares refer.
    """

    scheme: str
    angles: Any
    torque: Any
    mean: float
    least: float
    most: float
    peak: float

    @property
    def ripple(self) -> float:
        """From least to most, over the mean; infinite where there is no mean."""
        return (self.most - self.least) / self.mean if self.mean > 0 else math.inf

    @property
    def shares(self) -> dict[str, float]:
        """Mean, least and most over the peak."""
        return {"mean": self.mean / self.peak, "least": self.least / self.peak, "most": self.most / self.peak}

    def share_below(self, part: float) -> float:
        """Share of the angles at which the torque lies below a part of its peak (0: it points backwards)."""
        level, t = part * self.peak, self.torque
        low, high = np.minimum(t[:-1], t[1:]), np.maximum(t[:-1], t[1:])
        wide = np.diff(self.angles)
        with np.errstate(all="ignore"):  # straight between points; a jump has no width
            piece = np.where(high > low, np.clip((level - low) / (high - low), 0.0, 1.0), (low < level).astype(float))
        return float((piece * wide).sum() / wide.sum())

    def told(self) -> str:
        """The summary in one sentence."""
        s, back = self.shares, self.share_below(0.0)
        low = (f"it points backwards at {100 * back:.0f} % of the angles" if back > 0 else
               "nowhere zero" if s["least"] > 1e-9 else "zero at the dead spots")
        return (f"{self.scheme[0].upper()}{self.scheme[1:]}: mean {s['mean']:.3f}, least {s['least']:.3f}, most {s['most']:.3f} of "
                f"the peak; {low}.")


def torque_over_turn(shape: EmfShape, scheme: str, sensor_error: Any = 0.0) -> TorqueOverTurn:
    """Torque of one ampere over an electrical turn.

    Parameters: `shape`, an EmfShape; `scheme`, one of SCHEMES; `sensor_error`, electrical [rad, or text with deg], late above zero,
    within half a turn.  The steps of a turn are alike, so one is read finely, both its ends included.  Raises InputError in words.
    """
    count, begins = steps_of(scheme)
    error = si(sensor_error, entry("sensor_error"), "sensor_error of torque_over_turn")
    if abs(error) > math.pi:
        raise InputError("Input sensor_error of torque_over_turn must lie within half an electrical turn; instead received "
                         f"{told(sensor_error)}.")
    wide = 2 * math.pi / count
    step = np.linspace(0.0, wide, FINE + 1)
    late = begins + (0.0 if scheme.endswith("sine") else error)
    one = sum(per_ampere(shape, scheme, late + step, error))
    right = sum(per_ampere(shape, scheme, begins + step))
    simpson = np.r_[1.0, np.tile([4.0, 2.0], FINE // 2)[:-1], 1.0] / (3 * FINE)
    angles = (late + step + wide * np.arange(count)[:, None]).ravel()
    return TorqueOverTurn(scheme, angles, np.tile(one, count), float(simpson @ one), float(one.min()), float(one.max()),
                          float(right.max()))
