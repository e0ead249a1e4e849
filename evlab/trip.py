"""The brief: what one trip costs at the wheel, before any drive is chosen.

A driver keeps to the posted speeds and gathers and loses speed gently; what lift, tyres, air and starts ask is added up
along the way.  No store, motor or gearing is in it, only what is moved, how it rolls, and where it goes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab.cold_day import in_air
from evlab.driver import SetSpeed
from evlab.footing import hold_of, hold_test_of
from evlab.glossary import entry
from evlab.road import air_force, bearing_force, kinetic_energy, lift_energy, rolling_force
from evlab.route import Route
from evlab.route_files import load_route
from evlab.units import InputError, made_by, si
from evlab.winds import Wind, read_wind, steady_wind

__all__ = ["PUSH", "Halt", "Trip", "TripCase", "WorstDay"]

PUSH = 150.0  # N: what one person pushes for some minutes; common practice, no source
HEAVIEST = 1e4  # kg: no light vehicle carries more
POINTS = 4000  # about so many places along the way
FINEST = 0.25  # m between them at the closest


@dataclass(frozen=True)
class WorstDay:
    """The day on which it must still work: `head_wind` [m/s] all the way, `air_temperature` [K], `rolling_factor` (soft, cold
    tyres or a wet surface roll so many times as hard), `extra_load` [kg]."""

    head_wind: float = 5.0
    air_temperature: float = 268.15
    rolling_factor: float = 1.3
    extra_load: float = 20.0

    def __post_init__(self) -> None:
        for name, symbol in (("head_wind", "head_wind"), ("air_temperature", "air_temperature"), ("rolling_factor", "usable_share"),
                             ("extra_load", "load.cargo")):
            object.__setattr__(self, name, si(getattr(self, name), entry(symbol), f"{name} of WorstDay"))
        read_wind(self.head_wind, "WorstDay")
        if self.extra_load > HEAVIEST:
            raise InputError(f"Input extra_load of WorstDay must be at most {HEAVIEST:g} kg; "
                             f"instead received {self.extra_load:g} kg.")

    def vehicle(self, vehicle: Any) -> Any:
        """The same vehicle on that day."""
        for name, value in (("rolling_factor", self.rolling_factor), ("air_temperature", self.air_temperature)):
            if not value > 0:
                raise InputError(f"Input {name} of WorstDay must be above zero; instead received {value:g}.")
        if vehicle.load.cargo + self.extra_load < 0:
            raise InputError("Input extra_load of WorstDay must leave a cargo of 0 kg or more; instead received "
                             f"{self.extra_load:g} kg beside a cargo of {vehicle.load.cargo:g} kg.")
        rolls = vehicle.road.rolling_coefficient * self.rolling_factor  # the factor says all that the day does to the tyres
        return in_air(vehicle, self.air_temperature).change({"load.cargo": vehicle.load.cargo + self.extra_load,
                                                             "road.rolling_coefficient": rolls})


class Trip:
    """One way along a route at its posted speeds, as the wheel feels it.

    Parameters: `vehicle`, of which load, masses, road and driver count; `route`; `wind`, m/s against the way of travel or a Wind.

    Arrays along the way: `distance` `height` [m], `speed` [m/s], `time` [s], `terms` {name: J so far}: "lift" (falls on a descent),
    "rolling" (with bearings), "air", "starts" (speeding up: what motion holds, and what stops have turned into heat; falls where
    motion helps up a hill) and "brake" (what must be braked away on descents); `given` [J], their sum: what a drive must give at
    the wheel, which never falls.
    """

    def __init__(self, vehicle: Any, route: Any, wind: float | Wind = 0.0) -> None:
        self.vehicle, self.route, self.wind, self.mass = vehicle, route, wind, float(vehicle.mass)
        self.distance = _places(route)
        self.height = route.height(self.distance)
        self.speed = self._speeds()
        gaps = np.diff(self.distance)
        spent = 2 * gaps / (self.speed[:-1] + self.speed[1:])
        waits = np.zeros(len(self.distance))
        for place, wait in route.stops:
            waits[int(np.argmin(np.abs(self.distance - place)))] += wait
        self.time = np.concatenate([[0.0], np.cumsum(spent)]) + np.cumsum(waits)
        self._steps = self._work(gaps)
        self._seconds = spent
        self.terms = {name: np.concatenate([[0.0], np.cumsum(step)]) for name, step in self._steps.items()}
        self.given = np.sum(list(self.terms.values()), axis=0)

    def _speeds(self) -> Any:
        """The fastest run that keeps to posted speeds, stops, and the driver's gentle changes: speed squared is straight along
        the way while an acceleration holds."""
        driver = self.vehicle.driver if self.vehicle.driver.kind == "set speed" else SetSpeed()
        s = self.distance
        places, posted = np.array([p for p, _ in self.route.limits]), np.array([v for _, v in self.route.limits])
        posted = posted * driver.pace
        before = posted[np.clip(np.searchsorted(places, s, side="left") - 1, 0, None)]
        after = posted[np.clip(np.searchsorted(places, s, side="right") - 1, 0, None)]
        cap = np.minimum(before, after) ** 2
        for place in (0.0, self.route.length, *(p for p, _ in self.route.stops)):
            cap[int(np.argmin(np.abs(s - place)))] = 0.0
        up, down = 2 * driver.rise * s, 2 * driver.stopping * s
        reached = up + np.minimum.accumulate(cap - up)
        ahead = np.minimum.accumulate((cap + down)[::-1])[::-1] - down
        return np.sqrt(np.maximum(np.minimum(reached, ahead), 0.0))

    def _work(self, gaps: Any) -> dict[str, Any]:
        """Joules of each term from each place to the next."""
        road, v = self.vehicle.road, self.speed
        middle = np.sqrt((v[:-1] ** 2 + v[1:] ** 2) / 2)
        head, cross = self._winds()
        air = sum(weight * air_force(road.air_density, road.drag_area, at, head, cross)
                  for weight, at in ((1 / 6, v[:-1]), (4 / 6, middle), (1 / 6, v[1:]))) * gaps
        slope = self.route.slope((self.distance[:-1] + self.distance[1:]) / 2)
        rolling = (rolling_force(self.mass, road.rolling_coefficient, slope, 1.0)
                   + bearing_force(road.bearing_force, road.bearing_drag, middle, 1.0)) * gaps
        lift = lift_energy(self.mass, np.diff(self.height))
        motion = np.diff(kinetic_energy(self.vehicle.mass + self.vehicle.vehicle.wheels_rotating_mass, v))
        braked = np.maximum(-(lift + rolling + air + motion), 0.0)
        stopped = np.minimum(braked, np.maximum(-motion, 0.0))  # what brakes take of the motion belongs to the starts
        return {"lift": lift, "rolling": rolling, "air": air, "starts": motion + stopped, "brake": braked - stopped}

    def _winds(self) -> tuple[Any, Any]:
        head, cross = self.route.head_winds(self.wind)
        i = np.clip(np.searchsorted(self.route.nodes, self.distance[:-1], side="right") - 1, 0, len(self.route.nodes) - 2)
        return head[i], cross[i]

    # ------------------------------------------------------------ numbers
    @property
    def energy(self) -> dict[str, float]:
        """{term: J} at the end of the way."""
        return {name: float(term[-1]) for name, term in self.terms.items()}

    @property
    def total(self) -> float:
        """What a drive must give at the wheel for the whole way [J]."""
        return float(self.given[-1])

    @property
    def duration(self) -> float:
        """Time with the stops [s]."""
        return float(self.time[-1])

    @property
    def per_metre(self) -> float:
        """Energy for each metre of the way [N, which is J/m]."""
        return self.total / float(self.route.length)

    @property
    def climbed(self) -> float:
        """Energy for all that goes up, whatever comes down again [J]."""
        return float(np.maximum(self._steps["lift"], 0.0).sum())

    @cached_property
    def _force(self) -> Any:
        return np.diff(self.given) / np.diff(self.distance)

    @property
    def peak_force(self) -> float:
        """Largest force at the wheel [N]."""
        return float(self._force.max())

    @property
    def peak_power(self) -> float:
        """Largest power at the wheel [W]."""
        return float((np.diff(self.given) / self._seconds).max())

    @property
    def peak_place(self) -> float:
        """Where the largest power is asked [m]."""
        return float(self.distance[int((np.diff(self.given) / self._seconds).argmax())])

    def __repr__(self) -> str:
        return (f"<{self.total / 1e3:.2f} kJ at the wheel over {self.route.length:g} m in {self.duration:.0f} s: "
                + ", ".join(f"{name} {joules / 1e3:.2f} kJ" for name, joules in self.energy.items() if abs(joules) >= 5) + ">")


def _places(route: Any) -> Any:
    """Places along the way: evenly spread, and every one at which slope, posted speed or motion changes."""
    even = np.arange(0.0, route.length, max(FINEST, route.length / POINTS))
    nodes = route.nodes if len(route.nodes) < POINTS else route.nodes[[0, -1]]
    marks = [p for p, _ in route.limits] + [p for p, _ in route.stops]
    s = np.unique(np.concatenate([even, nodes, np.asarray(marks, float), [route.length]]))
    return s[np.concatenate([[True], np.diff(s) > 1e-6])]


@dataclass(frozen=True)
class Halt:
    """The drive stops for good at `place` [m] and the rider gets off and pushes: `mass` [kg] without the rider.

    `slope` (tan) there; `push_force` to move it on and `home_force` back to the start [N, below zero: it must be held back];
    `hold_force` a brake must hold with the rider aboard [N];
    `rolls`: whether it rolls away unbraked; `home_distance` [m] and `home_energy` [J] back to
    the start; `hardest` [N] on that way; `pushers`: people it takes at 150 N each (common practice, no source).
    """

    place: float
    slope: float
    mass: float
    push_force: float
    home_force: float
    hold_force: float
    rolls: bool
    home_distance: float
    home_energy: float
    hardest: float

    @property
    def pushers(self) -> int:
        return max(1, math.ceil(self.hardest / PUSH - 1e-9))

    @property
    def words(self) -> str:
        """What to do then, in two sentences."""
        way = "back" if self.slope > 0 else "on"
        stands = (f"Unbraked it rolls {way}: with you aboard the brake must hold {self.hold_force:.0f} N. Test it with "
                  f"{hold_test_of(self.hold_force):.0f} N." if self.rolls else "It stands by itself.")
        people = "one person" if self.pushers == 1 else f"{self.pushers} people"
        home = (f"Home is {self.home_distance:.0f} m away, pushed by {people} ({max(self.hardest, 0.0):.0f} N where it is hardest, "
                "the rider walking).")
        back = f" Here it must be held back with {-self.home_force:.0f} N, not pushed." if self.home_force < 0 else ""
        return f"{stands} {home}{back}"


def halted(vehicle: Any, route: Any, place: float) -> Halt:
    """What happens when the drive stops at a place [m] of a route: see Halt.  A place off the route raises InputError."""
    if not 0 <= place <= route.length:
        raise InputError(f"Input place of halted must be 0 m to {route.length:g} m; instead received {place:g} m.")
    g, c = entry("gravity").value, vehicle.road.rolling_coefficient
    mass = vehicle.mass - vehicle.load.rider
    nodes = np.unique([0.0, *(p for p in route.nodes if p < place), place])
    home = [float(mass * g * (c - s) / math.sqrt(1 + s * s)) for s in route.slope(nodes)]
    slope = float(route.slope(place))
    here = mass * g / math.sqrt(1 + slope**2)
    heights = route.height(nodes)
    lift = lift_energy(mass, np.diff(heights))  # going home, a climb on the way out comes down
    level = mass * g * c * np.sqrt(np.maximum(np.diff(nodes) ** 2 - np.diff(heights) ** 2, 0.0))
    return Halt(place=place, slope=slope, mass=mass, push_force=here * (c + slope), home_force=here * (c - slope),
                hold_force=hold_of(vehicle.mass, slope), rolls=abs(slope) > c, home_distance=place,
                home_energy=float(np.maximum(level - lift, 0.0).sum()), hardest=max(home))


class TripCase:
    """What the brief asks of one vehicle on one route, each piece worked out when it is first read.

    Parameters: `vehicle`; `route`, a Route or its name; `wind` of today, m/s against the way or a Wind; `worst`, a WorstDay;
    `halted_share`, the share of the way after which it stops for good.
    """

    def __init__(self, vehicle: Any, route: Route | str, *, wind: float | str | Wind = 0.0, worst: WorstDay | None = None,
                 halted_share: float = 0.5) -> None:
        made_by("vehicle of TripCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.vehicle, self.route = vehicle, load_route(route) if isinstance(route, str) else route
        made_by("route of TripCase", self.route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
        self.wind = steady_wind(wind, "TripCase")
        self.worst_day = WorstDay() if worst is None else worst
        self.halted_share = si(halted_share, entry("usable_share"), "halted_share of TripCase")
        if not 0 <= self.halted_share <= 1:
            raise InputError(f"Input halted_share of TripCase must be 0 to 1; instead received {self.halted_share:g}.")

    @cached_property
    def today(self) -> Trip:
        return Trip(self.vehicle, self.route, self.wind)

    @cached_property
    def worst(self) -> Trip:
        return Trip(self.worst_day.vehicle(self.vehicle), self.route, self.worst_day.head_wind)

    @cached_property
    def halted(self) -> Halt:
        return halted(self.vehicle, self.route, self.halted_share * self.route.length)

    @property
    def hill_share(self) -> float:
        """Share of lifting in lifting, rolling and air."""
        t = self.today
        flat = t.energy["rolling"] + max(t.energy["air"], 0.0)
        return t.climbed / (t.climbed + flat) if t.climbed + flat > 0 else 0.0

    @property
    def verdict(self) -> str:
        """One sentence: hill or distance, which is the hard part."""
        t, share = self.today, self.hill_share
        lift, flat = t.climbed / 1e3, (t.energy["rolling"] + max(t.energy["air"], 0.0)) / 1e3
        part = ("The hill is the hard part" if share > 0.55 else "The distance is the hard part" if share < 0.45 else
                "Hill and distance ask about the same")
        return f"{part}: lifting takes {lift:.2f} kJ, rolling and air together {flat:.2f} kJ."

    @cached_property
    def cautions(self) -> list[Any]:
        from evlab import cautions as rules

        return rules.of_trip(self)
