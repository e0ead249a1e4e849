"""From which angles of the rotor does it start?  A rotor let go at rest at each angle of an electrical turn, and what becomes of
it: by itself on a bench, or with a vehicle to move.  How one path is followed stands in `releasing`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from evlab.glossary import entry
from evlab.releasing import BACK, GONE, LATE, REST, TABLE, TRAP, release
from evlab.start_load import ShaftLoad
from evlab.turning import EmfShape, per_ampere, steps_of, torque_over_turn
from evlab.units import InputError, si, told

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["OUTCOMES", "Rig", "StartMap", "map_starts"]

OUTCOMES = ("stays", "creeps into the dead spot", "locked", "thrown back, then starts", "starts", "runs backwards", "undecided")
GOAL = 4 * math.pi  # two electrical turns: four dead spots of one phase have been passed
LONGEST = 400.0  # the longest path, in times that a quarter turn takes


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
    """A motor ready to be let go, on its bench or in a vehicle.  SI throughout.

    `shape` of the EMF; `scheme`, one of turning.SCHEMES but the sine drive; `pairs` of poles; `inertia` [kg m2]; `friction` [N m],
    at rest and moving alike; `viscous` [N m s/rad]; `volts` [V] behind `resistance` [ohm] of bridge and current path (0: the
    current `limit` flows whatever the speed); `limit` [A]; `error` of the sensor [rad, electrical, late above zero]; `detent` [N
    m], greatest torque of a parking magnet, which pulls the rotor to `park` [rad, electrical] and half a turn from it.  At 45° it
    pushes forwards just where the coils cannot; at 90° the middle of its own dead spot falls on theirs, which helps nobody.
    `load`, a ShaftLoad: what it has to move beside its rotor.
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
    load: ShaftLoad = field(default_factory=ShaftLoad)

    @classmethod
    def of(cls, shape: EmfShape, pairs: int, *, inertia: Any, friction: Any, viscous: Any = 0.0, volts: Any = None,
           resistance: Any = None, current: Any = None, scheme: str = "one phase", error: Any = 0.0, detent: Any = 0.0,
           park: Any = math.pi / 4, load: ShaftLoad | None = None) -> Rig:
        """A rig from values in SI or texts with their unit.

        Parameters: `shape`, `pairs`, `inertia`, `friction`, `viscous`, `scheme`, `error`, `detent`, `park`, `load` (by
        default none) as of the class; either `volts` and `resistance`, with `current` as their limit, or `current` alone, held.
        Raises InputError in words.
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
            _value(detent, "detent_torque", 0.0), si(park, entry("rotor_angle"), "park of Rig"), load or ShaftLoad())

    # ------------------------------------------------------------ numbers of the rig
    @property
    def stall_amps(self) -> float:
        """Current of a path at rest [A]."""
        return min(self.volts / self.resistance, self.limit) if self.resistance else self.limit

    @cached_property
    def peak_torque(self) -> float:
        """Greatest torque at rest [N m], the sensor in its place."""
        return self.stall_amps * torque_over_turn(self.shape, self.scheme).peak

    @cached_property
    def mean_torque(self) -> float:
        """Mean torque at rest over a turn [N m], the sensor where it is."""
        return self.stall_amps * torque_over_turn(self.shape, self.scheme, self.error).mean

    @property
    def needed(self) -> float:
        """Torque above which it moves off [N m]."""
        return self.load.starting(self.friction)

    @property
    def rolls_back(self) -> float:
        """Torque below which it rolls back [N m]; 0 where it does not roll back by itself."""
        return self.load.rolls_back(self.friction)

    @property
    def friction_ratio(self) -> float:
        """What it takes to move off, over the peak torque."""
        return self.needed / self.peak_torque

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
        return (self.volts * first / self.resistance - self.needed) / (second / self.resistance + self.viscous)

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
        load, whole = self.load, self.load.inertia(self.inertia)
        pull = self.pairs * (self.peak_torque + self.detent + load.pulling)
        quarter, quick = (math.sqrt(math.pi * inertia / pull) for inertia in (whole, self.inertia))
        rate = sum(float((g * g).max()) for g in self.tables) / self.resistance if self.resistance else 0.0
        most = 0.1 / max(rate + self.viscous, 1e-300)
        step, alone = min(quarter / 30, most * whole), min(quick / 30, most * self.inertia)
        p = np.array([2 * math.pi / count, begins + self.error, self.volts, self.resistance, self.limit, self.friction,
                      self.viscous, self.inertia, self.pairs, self.detent, self.park, angle, step, LONGEST * quarter, GOAL,
                      load.pulling, load.resisting, load.efficiency, whole - self.inertia, float(load.freewheel), alone])
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
        """Share of the angles from which it does not start: it stays, comes to rest again, or runs backwards."""
        s = self.shares
        return s["stays"] + s["creeps into the dead spot"] + s["locked"] + s["runs backwards"]

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
    """Let the rotor go at `count` angles, evenly over an electrical turn, halves of a piece from its ends.  All steps of a turn are
    alike but for a parking magnet, so the rest of the turn repeats the first step where the count allows.

    Parameters: `rig`; `count`, from 4 to 100000; `parked`: first let it settle without current, then switch on.
    """
    if type(count) is not int or not 4 <= count <= 100000:
        raise InputError(f"Input count of map_starts must be a whole number from 4 to 100000; instead received {told(count)}.")
    if parked and rig.friction == 0 and rig.viscous == 0:
        raise InputError("Input friction of Rig must be more than 0 N m to park: without any drag the rotor swings for ever.")
    angles = (np.arange(count) + 0.5) * (2 * math.pi / count)
    steps = steps_of(rig.scheme)[0]
    alike = steps if not rig.detent and count % steps == 0 else 1
    first = angles[:count // alike].tolist()
    rows = [rig.let_go(rig.parked(a) if parked else a) for a in first]
    words, ends, back, seconds = zip(*rows, strict=True)
    codes = [OUTCOMES.index(w) for w in words]
    turned = np.repeat(np.arange(alike), len(first)) * (2 * math.pi / alike)
    return StartMap(rig, angles, np.tile(codes, alike), np.tile(ends, alike) + turned, np.tile(back, alike),
                    np.tile(seconds, alike))
