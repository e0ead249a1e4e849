"""The pieces of which a case of regeneration is made: what each holds, with its units.  Worked out in `regen_case`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["Descent", "FullStore", "Parabola", "Pedalling", "Region", "Stop", "StopAndGo"]


@dataclass(frozen=True)
class Parabola:
    """Power against braking current at one `speed` [m/s]: arrays `amps` [A], `recovered` [W, at the bridge, stand-by paid] and
    `braking` [W, what the motor takes from the shaft for it]; `emf` [V], `ohm`, `best_amps` (E/2R) with `most` [W], `zero_amps`
    between which something comes back (not a number if nothing does), `short_amps` (E/R), `limit_amps` of the controller with
    what comes back `at_limit` [W]."""

    speed: float
    emf: float
    ohm: float
    amps: Any
    recovered: Any
    braking: Any
    best_amps: float
    most: float
    zero_amps: tuple[float, float]
    short_amps: float
    limit_amps: float
    at_limit: float


@dataclass(frozen=True)
class Region:
    """What an electric brake does at each of the `speeds` [m/s], as braking forces at the wheel [N]: `best` (most comes back),
    `zero_low` and `zero_high` (between them something comes back; not a number where nothing does), `short` (terminals joined:
    harder braking takes power from the store), `limit` (the controller's braking current: more it does not give), `drag` (with no
    current), `needed` (what keeps the speed on the slope).
    `least_speed` from which anything comes back; `fading_speed` below which the drive no longer gives the limit's current (it
    never brakes harder than E/2R); `costing_speed`, half of that, below which so much current would cost; `diode_speed` from which
    current flows by itself [m/s]."""

    speeds: Any
    best: Any
    zero_low: Any
    zero_high: Any
    short: Any
    limit: Any
    drag: Any
    needed: Any
    least_speed: float
    fading_speed: float
    costing_speed: float
    diode_speed: float


@dataclass(frozen=True)
class Descent:
    """A steady descent at each of the `speeds` [m/s]: `force` [N] that the brakes must hold, `amps` [A] of the electric one,
    `recovered` [W] and its `share` of the falling weight's power (not a number where it must be driven); `best_speed` and
    `best_share`; `here`, the share at the asked speed; `rolls` [m/s], to which it rolls unbraked (not a number: it does not)."""

    speeds: Any
    force: Any
    amps: Any
    recovered: Any
    share: Any
    best_speed: float
    best_share: float
    here: float
    rolls: float

    @property
    def rising(self) -> bool:
        """Whether ever more comes back the faster it goes, as far as `speeds` reach: there is no best speed then."""
        return bool(self.best_speed >= self.speeds[-1])


@dataclass(frozen=True)
class Stop:
    """One stop on the level, steadily slowing: over the falling `speeds` [m/s] the force that is `demanded` of the brakes, what
    the `electric` one gives and what is left to `friction` [N]; `recovered` [W] at the bridge.  `kinetic` [J] at the beginning,
    `into_store`, `into_friction`, `into_road` (tyres and air) and the rest `heat` of chain, motor and electronics [J]; `share`
    of the kinetic energy that comes back."""

    speeds: Any
    demanded: Any
    electric: Any
    friction: Any
    recovered: Any
    kinetic: float
    into_store: float
    into_friction: float
    into_road: float
    share: float

    @property
    def heat(self) -> float:
        return self.kinetic - self.into_store - self.into_friction - self.into_road


@dataclass(frozen=True)
class StopAndGo:
    """Stops from each of the `speeds` [m/s]: `share` of the energy of motion that one stop brings back, and `round_share` of what
    the next start takes from the store; `best_speed` where the latter is largest."""

    speeds: Any
    share: Any
    round_share: Any
    best_speed: float


@dataclass(frozen=True)
class FullStore:
    """A descent that begins with a full store: `height` [m]; `gain` [J] that it would give back; `start_volts` [V], from which it
    just fits (0: not even an empty store holds it), `overflow` [J] that friction has to take when it begins full; the rides
    (Results) `full_down` and `spared_down`."""

    height: float
    gain: float
    start_volts: float
    overflow: float
    full_down: Any
    spared_down: Any


@dataclass(frozen=True)
class Pedalling:
    """Charging with legs on a raised wheel: `power` [W] at the pedals; over the `speeds` [m/s] of the tyre what goes `into_store`
    [W, at the bridge]; `best_speed`, `best` [W], and `minutes_per_volt` at the volts of the case (infinite: never)."""

    power: float
    speeds: Any
    into_store: Any
    best_speed: float
    best: float
    minutes_per_volt: float
