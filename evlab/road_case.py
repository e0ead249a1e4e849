"""What the page of the road asks of one vehicle on one route and day: forces, wind along the way, brakes, grip and bends."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab import coasting, footing, weather
from evlab.glossary import entry
from evlab.road import air_force, bearing_force, rolling_force, slope_force
from evlab.route import Route
from evlab.route_files import load_route
from evlab.tractive import ForceCase, drive_at, half_empty, volts_family
from evlab.units import InputError, made_by, si
from evlab.winds import Wind, steady_wind

__all__ = ["RoadCase", "Runaway", "Stopping", "Tipping", "Traction"]

PLACES = 401  # along the way
SPEEDS = 121  # between rest and the no-load speed
BREEZE = 5.0  # m/s: the tail wind of the runaway where the day has no wind of its own
STEEP = 0.12  # tan: the runaway is told at least so far
WIDEST = 12.0  # m: bends are told up to this radius


@dataclass(frozen=True)
class Runaway:
    """Terminal speed without brakes: arrays `slopes` (tan, downhill), `still` and `tail` [m/s] in a tail wind of `tail_wind` [m/s];
    the route's steepest descent `steepest` (tan, a positive number) and the speed there in still air, `fastest` [m/s]; `fall` [m]
    is all that the route goes down, and `free` [m/s] the speed from it with no air and no rolling."""

    slopes: Any
    still: Any
    tail: Any
    tail_wind: float
    steepest: float
    fastest: float
    fall: float
    free: float


@dataclass(frozen=True)
class Tipping:
    """Bends: arrays `radii` [m], `tip` and `slide` [m/s]; `acceleration` [m/s2] at which a wheel lifts (infinite for two wheels in
    line, nan where the geometry is not stated); `tip_at_three` and `slide_at_three` [m/s] on a radius of 3 m; `posted` [m/s], the
    fastest posted speed; `grip`."""

    radii: Any
    tip: Any
    slide: Any
    acceleration: float
    tip_at_three: float
    slide_at_three: float
    posted: float
    grip: float


@dataclass(frozen=True)
class Stopping:
    """Stops: arrays `speeds` [m/s], `reaction`, `level` and `steep` [m], the way on the level and down the `steepest` descent
    (tan), reaction included; `deceleration` [m/s2] asked, `grip_limit` [m/s2] on the level, `pitch` [m/s2] at which the rear wheels
    lift (nan where the geometry is not stated); `force` [N] of the brakes on that descent, and `hold` [N] at rest there; `heat` [J]
    of all that the route goes down, taken by brakes alone."""

    speeds: Any
    reaction: Any
    level: Any
    steep: Any
    steepest: float
    deceleration: float
    grip_limit: float
    pitch: float
    force: float
    hold: float
    heat: float

    @property
    def hold_test(self) -> float:
        """Force with which a brake for that is tested [N]."""
        return footing.hold_test_of(self.hold)


@dataclass(frozen=True)
class Traction:
    """Grip of the driven wheels on the asked slope: `limit` [N] they pass to the road, `load` [N] on them, their `share` of the
    weight (nan where the geometry is not stated); `full` [N], what full throttle gives from rest; `needed` [N] to go on there."""

    limit: float
    load: float
    share: float
    full: float
    needed: float


def _given(read: Mapping[str, float | None], name: str, usual: float = 0.0) -> float:
    value = read[name]
    return usual if value is None else value


class RoadCase:
    """One vehicle on one road and day, each piece worked out when it is first read.

    Parameters: `vehicle`; `route`, a Route or its name; `slope` (tan) of the force picture; `wind`, m/s against the way of travel
    or a Wind; `altitude` [m], `temperature` [K] and `humidity` (0 to 1) of the air, all None for the vehicle's own air density;
    `volts` [V] of the rested store, by default half-way down; `deceleration` [m/s2] and `reaction` [s] of a stop; `grip` of the
    tyres on the surface of the day, by default the vehicle's; `posted` false: along the way the speeds that the drive could hold,
    whatever is posted.  Numbers are SI, text carries its unit.
    """

    def __init__(self, vehicle: Any, route: Route | str, *, slope: float | str = 0.0, wind: float | str | Wind = 0.0,
                 altitude: float | str | None = None, temperature: float | str | None = None, humidity: float | str = 0.0,
                 volts: float | str | None = None, deceleration: float | str = 3.0, reaction: float | str = 0.5,
                 grip: float | None = None, posted: bool = True) -> None:
        made_by("vehicle of RoadCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.vehicle, self.route, self.posted = vehicle, load_route(route) if isinstance(route, str) else route, posted
        made_by("route of RoadCase", self.route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
        asked = {"slope": slope, "deceleration": deceleration, "reaction_time": reaction, "altitude": altitude,
                 "air_temperature": temperature, "relative_humidity": humidity, "open_voltage": volts, "tyre_grip": grip}
        read = {name: None if value is None else si(value, entry(name), f"{entry(name).label.lower()} of RoadCase")
                for name, value in asked.items()}
        self.slope = _given(read, "slope")
        self.wind = steady_wind(wind, "RoadCase")
        self.volts = _given(read, "open_voltage", half_empty(vehicle))
        self.deceleration, self.reaction = _given(read, "deceleration"), _given(read, "reaction_time")
        for name, value, unit in (("deceleration", self.deceleration, "m/s2"), ("volts", self.volts, "V")):
            if not value > 0:
                raise InputError(f"Input {name} of RoadCase must be above zero; instead received {value:g} {unit}.")
        if not self.reaction >= 0:
            raise InputError(f"Input reaction of RoadCase must be 0 s or more; instead received {self.reaction:g} s.")
        self.grip = _given(read, "tyre_grip", vehicle.vehicle.tyre_grip)
        high, kelvin, road = read["altitude"], read["air_temperature"], vehicle.road
        damp = _given(read, "relative_humidity")
        self.air_density = float(road.air_density) if high is None and kelvin is None else float(
            weather.air_density_at(high or 0.0, kelvin or road.air_temperature, damp))

    # ------------------------------------------------------------ forces
    @cached_property
    def _winds(self) -> tuple[Any, Any]:
        head, cross = (np.round(wind, 6) + 0.0 for wind in self.route.head_winds(self.wind))  # without the dust of a cosine
        return head, cross

    @property
    def head_wind(self) -> float:
        """The strongest wind against the way of travel [m/s] along the route; below zero where it always pushes."""
        return float(self._winds[0][:-1].max())

    @cached_property
    def forces(self) -> ForceCase:
        """Force against speed on the asked slope in the strongest head wind of the way, the asked volts among the family."""
        family = sorted({*volts_family(self.vehicle), round(self.volts, 1)}, reverse=True)
        at = int(self._winds[0][:-1].argmax())
        return ForceCase(self.vehicle, slope=self.slope, head_wind=self.head_wind, cross_wind=float(self._winds[1][at]),
                         air_density=self.air_density, volts=family)

    @property
    def per_metre(self) -> float:
        """The road's force at the steady speed of the asked volts [N, which is J/m]; nan where it cannot start."""
        speed = self.forces.steady[round(self.volts, 1)]
        return self.forces.road_at(speed) if math.isfinite(speed) else math.nan

    # ------------------------------------------------------------ along the way
    @cached_property
    def places(self) -> Any:
        """Places along the way [m], evenly spread."""
        return np.linspace(0.0, self.route.length, PLACES)

    @cached_property
    def winds(self) -> tuple[Any, Any, Any]:
        """(places [m], head wind [m/s], wind across [m/s]) along the route."""
        i = np.clip(np.searchsorted(self.route.nodes, self.places, side="right") - 1, 0, len(self.route.nodes) - 2)
        return self.places, self._winds[0][i], self._winds[1][i]

    @cached_property
    def leaves(self) -> tuple[Any, Any]:
        """(places [m], speed [m/s]) that the drive holds place by place at the asked volts in the wind."""
        return self.places, self._held(self.winds[1], self.winds[2])

    @cached_property
    def still(self) -> tuple[Any, Any]:
        """The same without wind."""
        none = np.zeros(PLACES)
        return self.places, self._held(none, none)

    def _held(self, head: Any, cross: Any) -> Any:
        """Steady speed at each place [m/s]: the first at which the drive has nothing to spare; 0 where it cannot start."""
        v, road = self.vehicle, self.vehicle.road
        speeds = np.linspace(0.0, self.forces.top, SPEEDS)
        drive = drive_at(v, self.volts)(speeds)[:, 0]
        slope = self.route.slope(self.places)[:, None]
        across = bearing_force(road.bearing_force, road.bearing_drag, speeds, 1.0)
        against = (rolling_force(v.mass, road.rolling_coefficient, slope, 1.0) + slope_force(v.mass, slope)
                   + air_force(self.air_density, road.drag_area, speeds[None, :], head[:, None], cross[:, None]) + across)
        spare = drive[None, :] - against
        short = spare <= 0
        at = np.where(short.any(axis=1), short.argmax(axis=1), SPEEDS - 1)
        before, rows = np.maximum(at - 1, 0), np.arange(PLACES)
        left, gone = spare[rows, before], spare[rows, at]
        with np.errstate(divide="ignore", invalid="ignore"):
            part = np.where(gone < 0, left / (left - gone), 1.0)
        found = np.where(at == 0, 0.0, speeds[before] + np.clip(part, 0.0, 1.0) * (speeds[at] - speeds[before]))
        if not self.posted:
            return found
        posted = np.array([p for p, _ in self.route.limits]), np.array([s for _, s in self.route.limits])
        return np.minimum(found, posted[1][np.clip(np.searchsorted(posted[0], self.places, side="right") - 1, 0, None)])

    # ------------------------------------------------------------ what holds and what does not
    @cached_property
    def descent(self) -> float:
        """Steepest descent of the route (tan, a positive number; 0 where it never goes down)."""
        return max(self.route.reversed().steepest()[1], 0.0)

    def _downhill(self, slope: Any) -> Any:
        """Slope force less rolling [N] down a slope, or down each of several; below zero where it does not roll by itself."""
        m, c = self.vehicle.mass, self.vehicle.road.rolling_coefficient
        return slope_force(m, slope) - rolling_force(m, c, slope, 1.0)

    def _terminal(self, slope: Any, head_wind: float) -> Any:
        factor = float(coasting.air_factor(self.air_density, self.vehicle.road.drag_area))
        return np.maximum(coasting.terminal_in_wind(-self._downhill(slope), factor, head_wind), 0.0)

    @cached_property
    def runaway(self) -> Runaway:
        """How fast it gets when all brakes fail and the drive is off."""
        tail = self.wind.speed if isinstance(self.wind, Wind) else abs(self.wind)
        tail = tail or BREEZE
        begins = self.vehicle.road.rolling_coefficient * np.array([1.0, 1.002, 1.01, 1.04, 1.1, 1.2])  # it sets in steeply
        slopes = np.unique(np.concatenate([np.linspace(0.0, max(STEEP, 1.2 * self.descent), 61), begins]))
        fall = self.route.descent
        still, pushed = (self._terminal(slopes, -wind) for wind in (0.0, tail))
        free = float(footing.runaway_speed(0.0, entry("gravity").value, fall, 1.0))  # a weight that falls so far
        return Runaway(slopes, still, pushed, tail, self.descent, float(self._terminal(self.descent, 0.0)), fall, free)

    @cached_property
    def tipping(self) -> Tipping:
        """How fast it may go through a bend."""
        v = self.vehicle.vehicle
        limit = footing.tipping_of(v.wheels, v.track, v.mass_height, v.mass_share)
        radii = np.linspace(0.5, WIDEST, 60)
        tip = np.sqrt(limit * radii) if math.isfinite(limit) else np.full(len(radii), math.nan)
        slide = footing.slide_speed(self.grip, turn_radius=radii)
        return Tipping(radii, tip, slide, limit, float(footing.tip_speed(limit, 3.0)) if math.isfinite(limit) else math.nan,
                       float(footing.slide_speed(self.grip, turn_radius=3.0)), max(v for _, v in self.route.limits), self.grip)

    @cached_property
    def stopping(self) -> Stopping:
        """How far it goes until it stands: on the level, and down the steepest descent with the same brakes."""
        mass, slope = self.vehicle.mass, self.descent
        most = float(footing.grip_deceleration(self.grip, 0.0))
        over = self._pitch
        level = min(self.deceleration, most, over if over > 0 else math.inf)
        steep = min(level - float(slope_force(1.0, slope)), float(footing.grip_deceleration(self.grip, -slope)))
        speeds = np.linspace(0.0, max(1.5 * max(v for _, v in self.route.limits), 6.0), 61)

        def way(rate: float) -> Any:
            return footing.stopping_distance(speeds, self.reaction, rate) if rate > 0 else np.where(speeds > 0, np.inf, 0.0)

        hold, weight = footing.hold_of(mass, slope), mass * entry("gravity").value
        heat = weight * (self.route.descent - self.vehicle.road.rolling_coefficient * self._falling)
        return Stopping(speeds, speeds * self.reaction, way(level), way(steep), slope, self.deceleration, most, over,
                        float(footing.braking_force(mass, self.deceleration, -float(self._downhill(slope)))), hold, max(heat, 0.0))

    @property
    def _pitch(self) -> float:
        """Deceleration on the level at which the rear wheels lift [m/s2]; nan where the geometry is not stated."""
        v = self.vehicle.vehicle
        if not (v.wheelbase and v.mass_height and v.mass_share):
            return math.nan
        return float(footing.lift_rear(1.0, v.mass_share, v.wheelbase, v.mass_height, 0.0))

    @property
    def _falling(self) -> float:
        """Level way over which the route goes down [m]."""
        middle = (self.route.nodes[:-1] + self.route.nodes[1:]) / 2
        down = self.route.slope(middle) < 0
        return float((np.diff(self.route.nodes) / np.sqrt(1 + self.route.slope(middle) ** 2))[down].sum())

    @cached_property
    def traction(self) -> Traction:
        """Whether the driven wheels hold what the drive can give on the asked slope."""
        v = self.vehicle.vehicle
        limit, load, share = footing.traction_of(v.wheels, v.driven, self.grip, self.vehicle.mass, v.mass_share, v.mass_height,
                                                 v.wheelbase, self.slope)
        return Traction(limit, load, share, self.forces.drive_at(self.volts, 0.0), self.forces.road_at(0.0))

    @cached_property
    def cautions(self) -> list[Any]:
        from evlab import cautions as rules

        return rules.of_road(self)
