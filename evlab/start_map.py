"""From which angles of the rotor does it start?  A rotor let go at rest at each angle of an electrical turn, and what becomes of
it.

Friction holds a rotor at rest while the torque is no larger, and works against it while it moves.  The path is followed step by
step (fourth order) and lands on every switching and every turning back, so that each formula within a step is smooth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from evlab.glossary import entry
from evlab.kernels import compile_small, kernel
from evlab.turning import EmfShape, per_ampere, steps_of, torque_over_turn
from evlab.units import InputError, si, told

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["OUTCOMES", "Rig", "StartMap", "map_starts"]

OUTCOMES = ("stays", "creeps into the dead spot", "locked", "thrown back, then starts", "starts", "runs backwards", "undecided")
TABLE = 4096  # pieces of a turn in the tables of torque: straight between them leaves 3e-7
GOAL = 4 * math.pi  # two electrical turns: four dead spots of one phase have been passed
LONGEST = 400.0  # the longest path, in times that a quarter turn takes
NEAR = 1e-3  # rad: so near to a switching that pushes back from both sides it has come to rest
REST, TRAP, GONE, BACK, LATE = 0, 1, 2, 3, 4  # why a path ended


# ---------------------------------------------------------------- one path (compiled)
def _pull(g1, g2, p, x, m, w):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    """Torque of currents and parking magnet at an electrical angle in step m, turning with w."""
    place = ((x - m * p[0]) / (2 * math.pi)) % 1.0 * TABLE
    i = int(place)
    part = place - i
    a, b = g1[i] + part * (g1[i + 1] - g1[i]), g2[i] + part * (g2[i + 1] - g2[i])
    if p[3] > 0.0:
        first = min(max((p[2] - a * w) / p[3], -p[4]), p[4])
        second = min(max((p[2] - b * w) / p[3], -p[4]), p[4])
    else:
        first, second = p[4], p[4]
    return a * first + b * second - p[9] * math.sin(2 * (x - p[10]))


_torque = compile_small(_pull, _pull)


def _move(g1, g2, p, x, w, m, d, h):  # type: ignore[no-untyped-def]
    """Angle and speed after a time h, friction against the direction d, in step m all the time (Runge and Kutta)."""
    f, c, j, n = p[5], p[6], p[7], p[8]
    a1 = (_torque(g1, g2, p, x, m, w) - d * f - c * w) / j
    w2 = w + h / 2 * a1
    a2 = (_torque(g1, g2, p, x + h / 2 * n * w, m, w2) - d * f - c * w2) / j
    w3 = w + h / 2 * a2
    a3 = (_torque(g1, g2, p, x + h / 2 * n * w2, m, w3) - d * f - c * w3) / j
    w4 = w + h * a3
    a4 = (_torque(g1, g2, p, x + h * n * w3, m, w4) - d * f - c * w4) / j
    return x + h * n * (w + 2 * w2 + 2 * w3 + w4) / 6, w + h * (a1 + 2 * a2 + 2 * a3 + a4) / 6


_moved = compile_small(_move, _move)


def _held(g1, g2, p, x, m):  # type: ignore[no-untyped-def]
    """Whether a switching near by pushes back from both sides: there the rotor buzzes and comes to rest."""
    low = p[1] + m * p[0]
    for edge, left in ((low, m - 1.0), (low + p[0], m)):
        if abs(x - edge) < NEAR and _torque(g1, g2, p, edge, left, 0.0) > 0.0 and _torque(g1, g2, p, edge, left + 1.0, 0.0) < 0.0:
            return True
    return False


_trapped = compile_small(_held, _held)


def _leg(g1, g2, p, x, w, m, d):  # type: ignore[no-untyped-def]
    """One step the way d, cut short where the rotor stops or meets a switching: angle, speed, time, whether it switches."""
    edge = p[1] + (m + 1.0) * p[0] if d > 0.0 else p[1] + m * p[0]
    h = p[12]
    x1, w1 = _moved(g1, g2, p, x, w, m, d, h)
    if d * w1 < 0.0:
        low, high = 0.0, h
        for _ in range(50):
            h = (low + high) / 2
            x1, w1 = _moved(g1, g2, p, x, w, m, d, h)
            low, high = (low, h) if d * w1 < 0.0 else (h, high)
        w1 = 0.0
    if d * (x1 - edge) <= 0.0:
        return x1, w1, h, False
    low, high = 0.0, h
    for _ in range(50):
        h = (low + high) / 2
        x1, w1 = _moved(g1, g2, p, x, w, m, d, h)
        low, high = (low, h) if d * (x1 - edge) > 0.0 else (h, high)
    return edge, w1, h, True


_leg_done = compile_small(_leg, _leg)


@kernel("release")
def release(g1, g2, p, out):  # type: ignore[no-untyped-def]
    """Let a rotor go at rest; returns why the path ended.

    p: width and beginning of a step, volts, ohms (0: current held), limit, friction, viscous drag, inertia, pairs of poles, parking
    torque and angle, angle, time step, longest time, goal.  out: angle, speed, time, lowest and highest angle, swings.
    """
    x, w, time, code = p[11], 0.0, 0.0, LATE
    m = math.floor((x - p[1]) / p[0])
    out[3], out[4], out[5] = x, x, 0.0
    while time < p[13] and code == LATE:
        d = 1.0 if w > 0.0 else -1.0
        if w == 0.0:
            pull = _torque(g1, g2, p, x, m, 0.0)
            if _trapped(g1, g2, p, x, m) or abs(pull) <= p[5]:
                code = TRAP if _trapped(g1, g2, p, x, m) else REST
                break
            d = 1.0 if pull > 0.0 else -1.0
            out[5] += 1.0
        x, w, h, switches = _leg_done(g1, g2, p, x, w, m, d)
        time += h
        m += d if switches else 0.0
        out[3], out[4] = min(out[3], x), max(out[4], x)
        if abs(x - p[11]) >= p[14]:
            code = GONE if x > p[11] else BACK
    out[0], out[1], out[2] = x, w, time
    return code


# ---------------------------------------------------------------- the rig
def _value(value: Any, name: str, least: float, above: bool = False) -> float:
    e = entry(name)
    number = si(value, e, f"{name} of Rig")
    if number < least or (above and number <= least):
        raise InputError(f"Input {name} of Rig must be {'more than' if above else 'at least'} {least:g} {e.unit}".rstrip()
                         + f"; instead received {told(value)}.")
    return number


@dataclass(frozen=True)
class Rig:
    """A motor on its bench, ready to be let go.  SI throughout.

    `shape` of the EMF; `scheme`, one of turning.SCHEMES but the sine drive; `pairs` of poles; `inertia` [kg m2]; `friction` [N m],
    at rest and moving alike; `viscous` [N m s/rad]; `volts` [V] behind `resistance` [ohm] of bridge and current path (0: the
    current `limit` flows whatever the speed); `limit` [A]; `error` of the sensor [rad, electrical, late above zero]; `detent` [N
    m], greatest torque of a parking magnet, which pulls the rotor to `park` [rad, electrical] and half a turn from it.  At 45° it
    pushes forwards just where the coils cannot; at 90° the middle of its own dead spot falls on theirs, which helps nobody.
    """

    shape: EmfShape
    scheme: str
    pairs: int
    inertia: float
    friction: float
    viscous: float
    volts: float
    resistance: float
    limit: float
    error: float
    detent: float
    park: float

    @classmethod
    def of(cls, shape: EmfShape, pairs: int, *, inertia: Any, friction: Any, viscous: Any = 0.0, volts: Any = None,
           resistance: Any = None, current: Any = None, scheme: str = "one phase", error: Any = 0.0, detent: Any = 0.0,
           park: Any = math.pi / 4) -> Rig:
        """A rig from values in SI or texts with their unit.

        Parameters: `shape`, `pairs`, `inertia`, `friction`, `viscous`, `scheme`, `error`, `detent`, `park` as of the class; either
        `volts` and `resistance`, with `current` as their limit, or `current` alone, held.  Raises InputError in words.
        """
        steps_of(scheme)
        if scheme.endswith("sine"):
            raise InputError("A sine drive has no steps: its torque is the same at every angle, so it starts from all or none.")
        if type(pairs) is not int or pairs < 1:
            raise InputError(f"Input pairs of Rig must be a whole number of pairs of poles from 1; instead received {told(pairs)}.")
        if (volts is None) != (resistance is None):
            raise InputError("Inputs volts and resistance of Rig must be given together: the current is volts less EMF over ohms.")
        if volts is None and current is None:
            raise InputError("Input current of Rig must be given, or volts and resistance.")
        late = si(error, entry("sensor_error"), "error of Rig")
        if not abs(late) < math.pi:
            raise InputError(f"Input error of Rig must lie within half an electrical turn; instead received {told(error)}.")
        return cls(
            shape, scheme, pairs, _value(inertia, "rotor_inertia", 0.0, above=True), _value(friction, "drag_torque", 0.0),
            _value(viscous, "viscous_drag", 0.0), 0.0 if volts is None else _value(volts, "voltage", 0.0, above=True),
            0.0 if resistance is None else _value(resistance, "drive_resistance", 0.0, above=True),
            1e9 if current is None else _value(current, "motor_current", 0.0, above=True), late,
            _value(detent, "detent_torque", 0.0), si(park, entry("rotor_angle"), "park of Rig"))

    # ------------------------------------------------------------ numbers of the rig
    @property
    def stall_amps(self) -> float:
        """Current of a path at rest [A]."""
        return min(self.volts / self.resistance, self.limit) if self.resistance else self.limit

    @cached_property
    def peak_torque(self) -> float:
        """Greatest torque at rest [N m], the sensor in its place."""
        return self.stall_amps * torque_over_turn(self.shape, self.scheme).peak

    @property
    def friction_ratio(self) -> float:
        """Friction over the peak torque."""
        return self.friction / self.peak_torque

    @cached_property
    def tables(self) -> tuple[Any, Any]:
        """Torque for each ampere of the first and the second current path over a turn [N m/A]; no second one: zeros."""
        paths = per_ampere(self.shape, self.scheme, np.linspace(0.0, 2 * math.pi, TABLE + 1))
        first, second = (*paths, np.zeros(TABLE + 1))[:2]
        return np.append(first, first[1]), np.append(second, second[1])

    def free_speed(self) -> float:
        """Speed [rad/s] at which the mean torque is used up by drag: for volts behind ohms, much inertia, current both ways."""
        if not self.resistance:
            raise InputError("A held current knows no free speed: it speeds up until its drag stops it. Give volts and resistance.")
        count, begins = steps_of(self.scheme)
        late = begins + self.error + np.linspace(0.0, 2 * math.pi / count, 4001)
        paths = per_ampere(self.shape, self.scheme, late)
        first, second = (float(np.trapezoid(sum(g**k for g in paths), late)) * count / (2 * math.pi) for k in (1, 2))
        return (self.volts * first / self.resistance - self.friction) / (second / self.resistance + self.viscous)

    def let_go(self, angle: float) -> tuple[str, float, float, float]:
        """Let the rotor go at an electrical angle [rad]: what becomes of it (one of OUTCOMES), the angle where it ended, how far it
        went backwards [rad], and the seconds it took."""
        code, out = self._path(angle)
        back, swings = angle - out[3], out[5]
        swung = 2 if swings > 1 or back > 0 else None
        word = {GONE: 3 if back > 0 else 4, BACK: 5, TRAP: 2, LATE: swung or 6, REST: swung or (1 if swings else 0)}[code]
        return OUTCOMES[word], float(out[0]), float(back), float(out[2])

    def parked(self, angle: float) -> float:
        """Where the rotor comes to rest without current, let go at an electrical angle [rad]."""
        if not self.detent:
            return angle
        off = replace(self, volts=0.0, resistance=0.0, limit=0.0)
        return float(off._path(angle)[1][0])

    def _path(self, angle: float) -> tuple[int, Any]:
        count, begins = steps_of(self.scheme)
        most = self.pairs * (self.peak_torque + self.detent) / self.inertia
        quarter = math.sqrt(math.pi / most)
        rate = sum(float((g * g).max()) for g in self.tables) / self.resistance if self.resistance else 0.0
        step = min(quarter / 30, 0.1 * self.inertia / max(rate + self.viscous, 1e-300))
        p = np.array([2 * math.pi / count, begins + self.error, self.volts, self.resistance, self.limit, self.friction,
                      self.viscous, self.inertia, self.pairs, self.detent, self.park, angle, step, LONGEST * quarter, GOAL])
        out = np.zeros(6)
        return int(release(*self.tables, p, out)), out


# ---------------------------------------------------------------- the map
@dataclass(frozen=True)
class StartMap:
    """What becomes of rotors let go at `angles` (n,) [rad, electrical]: `codes` (n,) index OUTCOMES; `ends` (n,) where each ended,
    and `back` (n,) how far each went backwards [rad]; `seconds` (n,)."""

    rig: Rig
    angles: Any
    codes: Any
    ends: Any
    back: Any
    seconds: Any

    @property
    def shares(self) -> dict[str, float]:
        """Share of the angles for each outcome."""
        return {word: float(np.mean(self.codes == i)) for i, word in enumerate(OUTCOMES)}

    @property
    def stuck(self) -> float:
        """Share of the angles from which it does not start."""
        s = self.shares
        return s["stays"] + s["creeps into the dead spot"] + s["locked"]

    @property
    def thrown(self) -> float:
        """Share of the angles from which it goes backwards first."""
        return float(np.mean(self.back > 0))

    def table(self) -> pd.DataFrame:
        """One row for each angle, angles in radians."""
        import pandas as pd

        return pd.DataFrame({"rotor_angle": self.angles, "outcome": [OUTCOMES[i] for i in self.codes], "rest_angle": self.ends,
                             "thrown_back": self.back, "time": self.seconds})

    def told(self) -> str:
        """The map in one sentence."""
        parts = [f"{word} {100 * share:.1f} %" for word, share in self.shares.items() if share]
        return f"Of {len(self.angles)} angles: {', '.join(parts)}."


def map_starts(rig: Rig, count: int = 360, parked: bool = False) -> StartMap:
    """Let the rotor go at `count` angles, evenly over an electrical turn, halves of a piece from its ends.

    Parameters: `rig`; `count`, from 4 to 100000; `parked`: first let it settle without current, then switch on.
    """
    if type(count) is not int or not 4 <= count <= 100000:
        raise InputError(f"Input count of map_starts must be a whole number from 4 to 100000; instead received {told(count)}.")
    if parked and rig.friction == 0 and rig.viscous == 0:
        raise InputError("Input friction of Rig must be more than 0 N m to park: without any drag the rotor swings for ever.")
    angles = (np.arange(count) + 0.5) * (2 * math.pi / count)
    begun = np.array([rig.parked(a) for a in angles.tolist()]) if parked else angles
    rows = [rig.let_go(a) for a in begun.tolist()]
    words, ends, back, seconds = zip(*rows, strict=True)
    codes = np.array([OUTCOMES.index(w) for w in words])
    return StartMap(rig, angles, codes, np.array(ends), np.array(back), np.array(seconds))
