"""A ride: the vehicle on a route, event by event, with every joule accounted for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from evlab import cautions as rules
from evlab import ride_words
from evlab.controller import HELD_BY, deliver
from evlab.driver import Driver
from evlab.glossary import entry
from evlab.loop import ASKED, CODES, LOSSES, WISH, run
from evlab.motor import winding_slope
from evlab.ride_ledger import Sketch, ledger_of, quickest
from evlab.road import kinetic_energy, lift_energy, road_forces, road_parameters
from evlab.route import Route
from evlab.route_files import load_route
from evlab.starting import same_store, started
from evlab.trust import FINE, Booked
from evlab.units import InputError, made_by, si, told
from evlab.winds import AnyWind, WindAlong, read_wind

__all__ = ["Event", "Journey", "Result", "Spell", "ride"]

STEP = FINE  # s: the closure falls with the fourth power of it; a test halves it
OVER = 1e-9  # a rounding above the full volts is none
# Steps that may be tried in a ride and in a sketch, besides five for each of those that its time limit takes: some seconds at most,
# so that it can be broken off
BUDGET, SKETCHED, SPARE = 1_000_000, 200_000, 5
SHORTEST = 2e-4  # s: what is quicker is left to the error of the steps, since often nothing stirs it
ROWS = 3000  # about so many rows for a ride at the posted speeds
DEMANDS = {"set speed": "set speed", "throttle held": "throttle", "throttle trace": "throttle", "power held": "power",
           "power trace": "power"}  # what holds the drive where no limit does


@dataclass(frozen=True)
class Event:
    """Something that happened: time [s], distance [m], its kind, and a few words."""

    time: float
    distance: float
    kind: str
    words: str


@dataclass(frozen=True)
class Spell:
    """A stretch of the way, from start to end [m], and what held the drive on it."""

    start: float
    end: float
    by: str


def ride(vehicle: Any, route: Any, *, start: Any = None, wind: str | AnyWind = 0.0, driver: Any = None,
         time_limit: float | str | None = None, step: float = STEP, winding: float | str | None = None) -> Result:
    """Ride a route.

    Parameters: `vehicle`; `route`, a Route or the name of one; `start`: None (charged), volts, "22 V", "80 %" of the
    charge, or an earlier result, all of whose states go on; `wind`, m/s against the way of travel, a Wind with a
    bearing, or a WindAlong that changes on the way; `driver`, by default the vehicle's own; `time_limit` [s], by default ten
    times the time at the posted speeds and two minutes; `step` [s] of the integration; `winding`, its temperature at the start
    [K or text], by default the air's or that of the earlier result.
    Returns a Result.  Raises InputError in words for a start, wind, step or limit that cannot be.
    """
    if isinstance(route, str):
        route = load_route(route)
    made_by("vehicle of ride", vehicle, "effective_mass", "evlab.load_vehicle()")
    made_by("route of ride", route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
    if getattr(route, "chargers", ()):
        raise InputError(f"Input route of ride must have no charger on its way; instead {route.name} has one at "
                         f"{route.chargers[0]:g} m: ride it with evlab.ride_day(vehicle, route), which charges there.")
    driver = vehicle.driver if driver is None else driver
    made_by("driver of ride", driver, "wish", "evlab.SetSpeed(), evlab.ThrottleHeld() or another of them")
    warm = None if winding is None else winding_of(winding, "ride")
    limit = None if time_limit is None else si(time_limit, entry("time"), "time_limit of ride")
    return Journey(vehicle, route, read_wind(wind, "ride"), driver, limit, step, winding=warm).go(start)


def winding_of(value: Any, where: str) -> float:
    """The temperature of a winding [K], read as input of `where`."""
    kelvin = si(value, entry("winding_temperature"), f"winding of {where}")
    if not 233.15 <= kelvin <= 473.15:
        raise InputError(f"Input winding of {where} must be -40 °C to 200 °C, with its unit or in kelvin; instead received "
                         f"{told(value)}.")
    return kelvin


@dataclass
class Journey:
    """What a ride is made of, made ready for the loop."""

    vehicle: Any
    route: Route
    wind: AnyWind
    driver: Driver
    time_limit: float | None
    step: float
    between: float = 0.0  # s between rows of the table, at least
    winding: float | None = None

    def go(self, start: Any, speed: float = 0.0) -> Result:
        """Ride from `start`; `speed` [m/s] other than zero is for proofs against closed forms."""
        limit, between = self._times()
        state, y = self._state(start, speed)
        rows, events, outcome = self._run(state, y, limit, between, int(limit / between) + 2500, 2000)
        return Result(self.vehicle, self.route, self.wind, self.driver, rows, events, outcome,
                      (len(state), 1, len(self.driver.state())), start_state=state, step=self.step)

    def sketch(self, start: Any, rows: int = 1) -> Sketch:
        """The ride for those who ride many, with about so many rows of its table.  What holds the drive is not located."""
        limit, _ = self._times()
        state, y = self._state(start, 0.0)
        between = math.inf if rows < 2 else self.route.posted_time() / rows
        first = y.copy()
        told, end, ended = self._run(state, y, limit, between, 4 * rows, 1)
        ledger = ledger_of(self.vehicle, self.route, first, y)
        return Sketch(ended, float(end[0, 0]) if len(end) else 0.0, y, told, ledger, self.step)

    def _run(self, state: Any, y: Any, limit: float, between: float, most_rows: int, most_events: int) -> tuple[Any, Any, str]:
        """Rows, events and how it ended; y becomes the state at the end."""
        speed = y[1]
        parts, parameters = self._seams
        n = np.array([len(state), 1, len(self.driver.state()), self.driver.rested])
        control = np.array([math.copysign(1.0, speed) if speed else 0.0, 0.0, self._first_goal(), self.vehicle.effective_mass, 0.0,
                            self.driver.pedalling_power, self.vehicle.gearing.efficiency])
        stop, compensation = self._stop()
        watch = np.array([stop, self.vehicle.motor.temperature_limit, 0.0, 0.0, 0.0, float(most_events > 1), compensation])
        marks = sorted({*self._road.nodes[1:-1], *(p for p, _ in self.route.limits[1:])} - {0.0})
        step = min(self.step, self.vehicle.store.longest_step(parameters[0]), self.driver.longest_step,
                   max(quickest(self.vehicle)[1], SHORTEST))
        budget = (BUDGET if most_events > 1 else SKETCHED) + SPARE * limit / self.step
        options = np.array([step, limit, between, budget, *marks, self.route.length, math.inf])
        stops = np.array(self.route.stops, float).reshape(-1, 2)
        width = 1 + len(y) + WISH + ASKED + int(n[2]) + 14
        rows, events = np.zeros((most_rows, width)), np.zeros((most_events, 4))
        n_rows, n_events, ended = run(*parts, *parameters, n, y, control, watch, options, stops, self.driver.bends(), rows, events)
        return rows[:n_rows].copy(), events[:n_events].copy(), CODES[ended]

    def _times(self) -> tuple[float, float]:
        posted = self.route.posted_time()
        limit = 10 * posted + 120 if self.time_limit is None else float(self.time_limit)
        if not 0 < limit < 1e6:
            raise InputError(f"Input time_limit of ride must be seconds above zero; instead received {self.time_limit}.")
        step: Any = self.step
        if not isinstance(step, float | int) or not 1e-4 <= step <= 0.2:
            raise InputError(f"Input step of ride must be 0.0001 s to 0.2 s; instead received {told(step)}.")
        return limit, max(self.step, self.between, posted / ROWS, limit / (40 * ROWS))

    def _state(self, start: Any, speed: float) -> tuple[Any, Any]:
        """The store's state at the start, and the whole state of the loop."""
        if hasattr(start, "end_state"):  # a ride or a charge
            same_store(self.vehicle, start)
            store, drive = start.end_state(self.vehicle.store.kind)
        else:
            store, drive = started(self.vehicle.store, start, "ride"), np.array([self.vehicle.road.air_temperature])
        if self.winding is not None:
            drive = np.array([self.winding])
        driver = self.driver.state()
        driver[:self.driver.rested] += speed
        return store, np.concatenate([[0.0, speed], store, drive, driver, np.zeros(len(LOSSES) + 1)])

    def _stop(self) -> tuple[float, float]:
        """Volts of the store at which the ride ends, and the resistance for which they are compensated."""
        converter, c = self.vehicle.converter, self.vehicle.controller
        return converter.stops_at(c.stop_voltage), c.sag_compensation if converter.kind == "none" else 0.0

    def _first_goal(self) -> float:
        return self.route.stops[0][0] if self.route.stops else self.route.length

    @cached_property
    def _road(self) -> Route:
        """The route, with nodes where the wind changes."""
        return self.route.with_nodes(self.wind.places) if isinstance(self.wind, WindAlong) else self.route

    @cached_property
    def _seams(self) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
        v = self.vehicle
        terminal, slope, _ = v.store.seam
        winds = self._road.head_winds(self.wind)
        parts = (terminal, slope, deliver, winding_slope, type(self.driver).wish, road_forces)
        air, full = v.road.air_temperature, getattr(v.store, "charge_voltage", math.inf) * (1 + OVER)  # a supply is never full
        return parts, (v.store.parameters(air), v.controller.parameters(v.motor, v.gearing, air, v.converter, full),
                       self.driver.parameters(self.route), road_parameters(v.road, v.mass, self._road, winds))


class Result(Booked):
    """What a ride came to.  Columns are arrays in SI; `table()` gives them as a DataFrame, `units` their units.

    Attributes: outcome, reason, aftermath (words), and `ended`, how the loop says that it ended, whether the ledger closes or not;
    duration [s], distance [m], start_voltage and end_voltage [V, terminals];
    ledger {key: J} (store and rider positive when they give, uses negative), closure and closure_allowed [J];
    events, held, cautions (lists).
    """

    def __init__(self, vehicle: Any, route: Route, wind: AnyWind, driver: Any, rows: Any, events: Any, outcome: str,
                 sizes: tuple[int, int, int], start_state: Any, step: float = FINE) -> None:
        self.vehicle, self.route, self.wind, self.driver, self.ended = vehicle, route, wind, driver, outcome
        self._rows, self._events, self._sizes, self._start = rows, events, sizes, start_state
        self.step = step

    # ------------------------------------------------------------ columns
    @cached_property
    def _columns(self) -> dict[str, Any]:
        ns, nd, nr = self._sizes
        size = 3 + ns + nd + nr + len(LOSSES)
        y, aux = self._rows[:, 1:1 + size], self._rows[:, 1 + size:]
        given = aux[:, WISH + ASKED + nr:]
        made = {
            "time": self._rows[:, 0], "distance": y[:, 0], "height": self.route.height(y[:, 0]), "slope": aux[:, 4],
            "speed": y[:, 1], "set_speed": aux[:, WISH + 2], "store_volts": given[:, 5], "store_amps": given[:, 6],
            "motor_amps": given[:, 2], "duty": given[:, 3], "coil_temperature": y[:, 2 + ns], "drive_force": given[:, 0],
            "road_force": aux[:, :4].sum(axis=1), "brake_force": given[:, 1], "held": given[:, 7],
        }
        made.update(self._energies(y, made["height"]))
        return made

    def _energies(self, y: Any, height: Any) -> dict[str, Any]:
        """The ledger along the way: stored amounts from the states, losses as integrated; uses negative."""
        ns, nd, nr = self._sizes
        parameters, stored = self.vehicle.store.parameters(self.vehicle.road.air_temperature), self.vehicle.store.seam[2]
        held = np.array([stored(np.ascontiguousarray(row), parameters) for row in y[:, 2:2 + ns]])
        mass = self.vehicle.effective_mass
        made = {"energy_store": held[0] - held, "energy_rider": y[:, -1] - y[0, -1]}
        for i, key in enumerate(LOSSES):
            made[f"energy_{key}"] = -(y[:, 2 + ns + nd + nr + i] - y[0, 2 + ns + nd + nr + i])
        if self.vehicle.converter.kind == "none":
            del made["energy_converter"]
        made["energy_lift"] = -lift_energy(self.vehicle.mass, height - height[0])
        made["energy_kinetic"] = -(kinetic_energy(mass, y[:, 1]) - kinetic_energy(mass, float(y[0, 1])))
        return made

    def column(self, name: str) -> Any:
        """One column as an array (SI); `held_by` is text.  An unknown name raises KeyError with the names there are."""
        if name == "held_by":
            return np.array([self._by(int(code)) for code in self._columns["held"]])
        if name not in self._columns:
            raise KeyError(f"A ride has no column {name!r}; it has {', '.join(self.units)}.")
        return self._columns[name]

    def _by(self, code: int) -> str:
        return DEMANDS[self.driver.kind] if code == 0 else HELD_BY[code]

    @property
    def units(self) -> dict[str, str]:
        """{column: SI unit}; text columns have none."""
        names = [n for n in self._columns if n != "held"] + ["held_by"]
        return {n: entry(n).unit for n in names}

    def table(self) -> Any:
        """All columns as a pandas DataFrame, SI."""
        import pandas as pd

        return pd.DataFrame({n: self.column(n) for n in self.units})

    # ------------------------------------------------------------ numbers
    @property
    def duration(self) -> float:
        return float(self._rows[-1, 0])

    @property
    def distance(self) -> float:
        return float(self._rows[-1, 1] - self._rows[0, 1])

    @property
    def start_voltage(self) -> float:
        return self.vehicle.store.open_voltage(self._start)

    @property
    def end_voltage(self) -> float:
        """Volts at the terminals at the end, under the current of that instant [V]."""
        return float(self._columns["store_volts"][-1])

    @property
    def store_energy(self) -> float:
        """What the store gave: the fall of what it holds [J]."""
        store, last = self.vehicle.store, self._rows[-1, 3:3 + self._sizes[0]]
        parameters = store.parameters(self.vehicle.road.air_temperature)
        return float(store.seam[2](np.ascontiguousarray(self._start, dtype=float), parameters)
                     - store.seam[2](np.ascontiguousarray(last), parameters))

    @property
    def rested_voltage(self) -> float:
        """Volts of the store after a long rest [V]."""
        return self.vehicle.store.rested_voltage(self._rows[-1, 3:3 + self._sizes[0]])

    def end_state(self, kind: str) -> tuple[Any, Any]:
        """(store's state, winding temperature) with which a later ride goes on; refused for another kind of store."""
        if kind != self.vehicle.store.kind:
            raise InputError(f"Input start of ride must be a result of a vehicle with a store of the kind {kind!r}; "
                             f"instead received one with {self.vehicle.store.kind!r}.")
        last = self._rows[-1, 1:]
        return last[2:2 + self._sizes[0]].copy(), last[2 + self._sizes[0]:3 + self._sizes[0]].copy()

    @cached_property
    def ledger(self) -> dict[str, float]:
        width = 3 + sum(self._sizes) + len(LOSSES)
        return ledger_of(self.vehicle, self.route, self._rows[0, 1:1 + width], self._rows[-1, 1:1 + width])

    # ------------------------------------------------------------ what happened
    @cached_property
    def events(self) -> list[Event]:
        return [e for row in self._events for e in self._event(*row)]

    def _event(self, time: float, place: float, code: float, detail: float) -> list[Event]:
        kind = CODES[int(code)]
        if kind == "mark":
            kind = self._mark(detail)
        elif kind == "held":
            kind = {"wish": self._by(0), "braking": "braking"}.get(HELD_BY[int(detail)], HELD_BY[int(detail)])
        elif kind == "rested":
            kind = "go on"
        return [Event(float(time), float(place), kind, f"{kind} at {place:.1f} m, {time:.1f} s")] if kind else []

    def _mark(self, place: float) -> str:
        before, after = self.route.slope(place - 0.01), self.route.slope(place + 0.01)
        if before == 0 and after != 0:
            return "slope begins"
        return "slope ends" if before != 0 and after == 0 else ""

    @cached_property
    def held(self) -> list[Spell]:
        """What held the drive, stretch by stretch along the way."""
        held, at = self._columns["held"], self._columns["distance"]
        cuts = [0, *(np.flatnonzero(np.diff(held)) + 1), len(held) - 1]
        return [Spell(float(at[a]), float(at[b]), self._by(int(held[a]))) for a, b in pairwise(cuts) if at[b] > at[a]]

    @property
    def reason(self) -> str:
        """One sentence: what ended the ride, where, which limit."""
        return ride_words.reason(self)

    @cached_property
    def aftermath(self) -> str:
        """What would follow a cut-off: told, not counted.  "" where nothing follows."""
        return ride_words.aftermath(self)

    @cached_property
    def cautions(self) -> list[Any]:
        return rules.of_ride(self)

    def _repr_html_(self) -> str:
        return ride_words.summary(self)

    def __repr__(self) -> str:
        return f"<{self.outcome} after {self.distance:.1f} m, {self.duration:.1f} s, {self.end_voltage:.2f} V: {self.reason}>"
