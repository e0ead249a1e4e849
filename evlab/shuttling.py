"""A day of trips: there, back, a charge, and again, until the day is done or something ends it.

The rides are those of `riding`, the charges those of `recharging`; the store's state and the warm winding go on from one to
the next, and so does the ledger.
"""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from evlab.glossary import entry
from evlab.recharging import Refill, refill, rest
from evlab.riding import Journey, Result
from evlab.route import Route
from evlab.route_files import load_route
from evlab.starting import same_store, started
from evlab.trust import FINE, UNTRUSTED, Booked, allowance, doubt
from evlab.units import InputError, made_by, si
from evlab.winds import AnyWind, read_wind

__all__ = ["DayResult", "DayRow", "Leg", "ride_day"]

STEP = 0.1  # s: the day's energy differs from that of the ride's own 0.02 s by less than a thousandth (a test)
BETWEEN = 2.0  # s between rows of a ride's table
MOST = 2000  # trips of a day


@dataclass(frozen=True)
class Leg:
    """One piece of a day: a `route` (or its name), the `cargo` on it [kg, text with a unit, or None for the vehicle's own], and
    what follows: a `wait` [s or text]; with `charge` (true, or the volts to charge to) the wait is the longest time at the
    charger, and 0 means until it is full."""

    route: Route | str
    cargo: float | str | None = None
    wait: float | str = 0.0
    charge: bool | float | str = False


@dataclass(frozen=True)
class DayRow:
    """One line of the day: number of the leg, "ride", "charge" or "wait", when it began [s], how long it took [s], what the store
    gave [J, below zero when charged], its rested volts before and after, and how it ended."""

    leg: int
    kind: str
    start: float
    duration: float
    energy: float
    start_volts: float
    end_volts: float
    outcome: str


def ride_day(vehicle: Any, legs: Any, *, times: int = 1, start: Any = None,
             wind: str | AnyWind = 0.0) -> DayResult:
    """Ride a day: these legs, one after the other, so many times.

    Parameters: `vehicle`; `legs`, Leg objects in their order, or a route with chargers on its way; `times` the whole is done;
    `start` and `wind` as of a ride.  Returns a DayResult.  Raises InputError in words for what cannot be.
    """
    made_by("vehicle of ride_day", vehicle, "effective_mass", "evlab.load_vehicle()")
    pieces = _pieces(legs)
    if type(times) is not int or not 1 <= times * len(pieces) <= MOST:
        raise InputError(f"Input times of ride_day must be a whole number from 1 to {MOST // len(pieces)} for {len(pieces)} legs; "
                         f"instead received {times!r}.")
    blown = read_wind(wind, "ride_day")
    return _Day(vehicle, [_ready(leg, i, vehicle, blown) for i, leg in enumerate(pieces, 1)]).go(start, times)


def _pieces(legs: Any) -> list[Leg]:
    """The legs as given, or a route taken apart at its chargers."""
    if isinstance(legs, str):
        legs = load_route(legs)
    if not isinstance(legs, Route):
        pieces = list(legs) if isinstance(legs, Sequence) else []
        if not pieces or not all(type(leg) is Leg for leg in pieces):
            raise InputError(f"Input legs of ride_day must be a route, or one or more evlab.Leg(...); instead received {legs!r}.")
        return pieces
    places = [0.0, *(place for place in legs.chargers if place > 0)]
    made = [Leg(legs.part(a, b), None, legs.waits[b], True) for a, b in pairwise(places)]
    return made if places[-1] >= legs.length else [*made, Leg(legs.part(places[-1], legs.length))]


@dataclass(frozen=True)
class _Piece:
    journey: Journey  # made ready once, ridden each time
    wait: float
    charge: bool
    stop: float | None


def _ready(leg: Leg, number: int, vehicle: Any, wind: AnyWind) -> _Piece:
    """A leg with everything read and checked."""
    where = f"leg {number} of ride_day"
    route = load_route(leg.route) if isinstance(leg.route, str) else leg.route
    made_by(f"route of {where}", route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
    if route.chargers:
        raise InputError(f"Input route of {where} must have no charger on its way, since the leg says what follows; instead "
                         f"{route.name} has one at {route.chargers[0]:g} m. Give such a route to ride_day alone.")
    wait = si(leg.wait, entry("time"), f"wait of {where}")
    if not 0 <= wait <= 1e6:
        raise InputError(f"Input wait of {where} must be 0 s to 1 000 000 s; instead received {leg.wait!r}.")
    if leg.charge is not False and not hasattr(vehicle.store, "charge_voltage"):
        raise InputError(f"Input charge of {where} must be False for a store of the kind {vehicle.store.kind!r}.")
    stop = None if isinstance(leg.charge, bool) else si(leg.charge, entry("last_voltage"), f"charge of {where}")
    if stop is not None and not 0 < stop <= 1000:
        raise InputError(f"Input charge of {where} must be volts above zero; instead received {leg.charge!r}.")
    loaded = vehicle if leg.cargo is None else vehicle.change({"load.cargo": leg.cargo})
    return _Piece(Journey(loaded, route, wind, loaded.driver, None, STEP, BETWEEN), wait, leg.charge is not False, stop)


class _State:
    """Where a ride goes on from: the store's state and the winding's temperature."""

    def __init__(self, store: Any, winding: Any) -> None:
        self.store, self.winding = store, winding

    def end_state(self, kind: str) -> tuple[Any, Any]:
        return self.store, self.winding


class _Day:
    """The run of a day."""

    def __init__(self, vehicle: Any, pieces: list[_Piece]) -> None:
        self.vehicle, self.pieces = vehicle, pieces
        self.time = 0.0
        self.rows: list[DayRow] = []
        self.rides: list[Result] = []
        self.ledgers: list[dict[str, float]] = []

    def go(self, start: Any, times: int) -> DayResult:
        v = self.vehicle
        if hasattr(start, "end_state"):
            same_store(v, start)
            self.state = _State(*start.end_state(v.store.kind))
        else:
            self.state = _State(started(v.store, start, "ride_day"), v.motor.state_at(v.road.air_temperature))
        first, outcome = self.state.store, "done"
        for number in range(times * len(self.pieces)):
            outcome = self._leg(number + 1, self.pieces[number % len(self.pieces)])
            if outcome != "done":
                break
        return DayResult(v, outcome, self.rows, self.rides, self.ledgers, first, self.state)

    def _leg(self, number: int, piece: _Piece) -> str:
        ridden = piece.journey.go(self.state)
        before, self.state = self.state, _State(*ridden.end_state(self.vehicle.store.kind))
        self.rides.append(ridden)
        self._note(number, "ride", ridden.duration, before, ridden.outcome, _stopped(ridden))
        if ridden.outcome != "arrived":
            return ridden.outcome
        if piece.charge:
            return self._charge(number, piece)
        if piece.wait:
            self._after(number, "wait", rest(self.vehicle, self.state.store, piece.wait))
        return "done"

    def _charge(self, number: int, piece: _Piece) -> str:
        longest = piece.wait or 86400.0
        made = refill(self.vehicle, self.state.store, stop=piece.stop, limit=longest)
        self._after(number, "charge", made)
        if made.outcome == "full" and piece.wait > made.duration:
            self._after(number, "wait", rest(self.vehicle, self.state.store, piece.wait - made.duration))
        return "done" if made.outcome == "full" or (made.outcome == "time over" and piece.wait) else made.outcome

    def _after(self, number: int, kind: str, made: Refill) -> None:
        """A charge or a rest: the store as it left it, the winding cooled meanwhile."""
        motor, air, before = self.vehicle.motor, self.vehicle.road.air_temperature, self.state
        cooled = air + (before.winding - air) * math.exp(-made.duration / (motor.thermal_resistance * motor.heat_capacity))
        self.state = _State(made.state, cooled)
        self._note(number, kind, made.duration, before, "" if kind == "wait" else made.outcome, made.ledger)

    def _note(self, number: int, kind: str, duration: float, before: _State, outcome: str, ledger: dict[str, float]) -> None:
        store = self.vehicle.store
        self.rows.append(DayRow(number, kind, self.time, duration, ledger.get("store", 0.0), store.rested_voltage(before.store),
                                store.rested_voltage(self.state.store), outcome))
        self.ledgers.append(ledger)
        self.time += duration


def _stopped(ridden: Result) -> dict[str, float]:
    """The ledger of a ride whose last motion the brake has taken: the next one begins at rest."""
    ledger = dict(ridden.ledger)
    ledger["brake"] += ledger["kinetic"]
    ledger["kinetic"] = 0.0
    return ledger


class DayResult(Booked):
    """What a day came to.

    Attributes: `outcome` ("done", what ended a ride or a charge, or "not to be trusted"), `reason` (a sentence); `trips`, DayRow
    for DayRow; `rides`, the Result of each ride; `duration` [s], `distance` [m], `rides_done`, `charges`; `ledger` {key: J} of the
    whole day, `closure` and `closure_allowed` [J]; `table()`, a DataFrame with the `units` of its columns.
    """

    def __init__(self, vehicle: Any, outcome: str, rows: list[DayRow], rides: list[Result], ledgers: list[dict[str, float]],
                 first: Any, last: _State) -> None:
        self.vehicle, self.ended, self.trips, self.rides = vehicle, outcome, rows, rides
        self._ledgers, self._first, self._last = ledgers, first, last

    @property
    def duration(self) -> float:
        return self.trips[-1].start + self.trips[-1].duration

    @property
    def distance(self) -> float:
        return math.fsum(r.distance for r in self.rides)

    @property
    def rides_done(self) -> int:
        """Rides that arrived."""
        return sum(r.outcome == "arrived" for r in self.rides)

    @property
    def charges(self) -> int:
        """How often it was charged."""
        return sum(row.kind == "charge" for row in self.trips)

    @cached_property
    def ledger(self) -> dict[str, float]:
        keys = dict.fromkeys(key for one in self._ledgers for key in one)
        return {key: math.fsum(one.get(key, 0.0) for one in self._ledgers) for key in keys}

    @property
    def closure_allowed(self) -> float:
        """What its rides, in steps of a tenth of a second, and its charges may leave open, all together [J]."""
        return math.fsum(allowance(one, STEP if "lift" in one else FINE) for one in self._ledgers)

    def end_state(self, kind: str) -> tuple[Any, Any]:
        """(store's state, winding temperature) with which a later ride or day goes on; refused for another kind of store."""
        if kind != self.vehicle.store.kind:
            raise InputError(f"Input start must be a result of a vehicle with a store of the kind {kind!r}; instead received one "
                             f"with {self.vehicle.store.kind!r}.")
        return self._last.end_state(kind)

    @property
    def reason(self) -> str:
        """One sentence: whether the day was done, or which trip ended it and why."""
        went = f"{self.rides_done} rides of {self.distance / 1000:.2f} km in all, {self.charges} charges"
        if self.outcome == UNTRUSTED:
            last = self.trips[-1]
            ridden = last.kind == "ride" and last.outcome == UNTRUSTED
            return f"Leg {last.leg} ended the day ({went}). {self.rides[-1].reason if ridden else doubt('day', self)}"
        if self.outcome == "done":
            return f"The day was done in {self.duration / 60:.0f} min: {went}."
        last = self.trips[-1]
        why = self.rides[-1].reason if last.kind == "ride" else f"The charge ended with: {last.outcome}."
        return f"Leg {last.leg} ended the day ({went}). {why}"

    def column(self, name: str) -> Any:
        """`time` [s], `store_volts` [V] or another column of all rides, one after the other, at the time of the day."""
        begins = [row.start for row in self.trips if row.kind == "ride"]
        if name == "time":
            return np.concatenate([r.column("time") + at for r, at in zip(self.rides, begins, strict=True)])
        return np.concatenate([r.column(name) for r in self.rides])

    units = property(lambda self: {"start": "s", "duration": "s", "energy": "J", "start_volts": "V", "end_volts": "V"})

    def table(self) -> Any:
        """One row for each ride, charge and wait as a pandas DataFrame, SI."""
        import pandas as pd

        return pd.DataFrame([vars(row) for row in self.trips])

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{r.leg}</td><td>{r.kind}</td><td>{r.start / 60:.1f} min</td><td>{r.duration:.0f} s</td>"
            f"<td>{r.energy / 1e3:.2f} kJ</td><td>{r.end_volts:.2f} V</td><td>{html.escape(r.outcome)}</td></tr>"
            for r in (*self.trips[:6], *self.trips[6:][-6:]))
        words = ("leg", "", "begins", "takes", "from the store", "rests at", "ends")
        head = "".join(f"<th scope=col>{word}</th>" for word in words)
        return f"<p><b>{html.escape(self.outcome)}.</b> {html.escape(self.reason)}</p><table><tr>{head}</tr>{rows}</table>"

    def __repr__(self) -> str:
        return f"<{self.outcome}: {self.reason}>"
