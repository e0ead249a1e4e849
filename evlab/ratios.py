"""Which sprocket: the trip ridden with every wheel sprocket, what a slope and falling volts allow, and does it fit.

Every number comes from the ride and from the same `deliver`: a ratio is only as good as the volts that are left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab.gearing import gradeability
from evlab.glossary import entry
from evlab.riding import Journey, Result
from evlab.road import air_force
from evlab.route import Route
from evlab.route_files import load_route
from evlab.tractive import ForceCase, drive_at, half_empty, volts_family
from evlab.units import InputError, made_by, si
from evlab.winds import Wind, read_wind

__all__ = ["Front", "GearCase"]

STEP = 0.1  # s: ten metres of a thousand are not moved by it (a test holds it against the ride's own step)
COUNT = 24  # wheel sprockets tried
LARGEST = 160  # teeth, the glossary's own end


@dataclass(frozen=True)
class Front:
    """The trip with each wheel sprocket: arrays `teeth`, `ratio`, `time` [s], `energy` from the store [J], `end_volts` at rest [V],
    `arrived`, `outcome`; indices `best`, `fastest` (least energy, least time of those that arrive; None: none does), `here`."""

    teeth: Any
    ratio: Any
    time: Any
    energy: Any
    end_volts: Any
    arrived: Any
    outcome: tuple[str, ...]
    here: int

    @property
    def best(self) -> int | None:
        return self._least(self.energy)

    @property
    def fastest(self) -> int | None:
        return self._least(self.time)

    def _least(self, values: Any) -> int | None:
        return int(np.where(self.arrived, values, np.inf).argmin()) if self.arrived.any() else None


class GearCase:
    """What the page of gearing asks of one vehicle on one route, each piece worked out when it is first read.

    Parameters: `vehicle`; `route`, a Route or its name; `slope` (tan) to climb, by default the steepest of the route; `volts`
    [V] of the rested store at which it must still climb, by default half-way down; `speed` [m/s] on that slope, by default what is
    posted there; `start` of the trip, as of a ride; `wind` as of a ride.  Numbers are SI, text carries its unit.
    """

    def __init__(self, vehicle: Any, route: Route | str, *, slope: float | str | None = None, volts: float | str | None = None,
                 speed: float | str | None = None, start: Any = None, wind: float | Wind = 0.0) -> None:
        made_by("vehicle of GearCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.vehicle, self.route = vehicle, load_route(route) if isinstance(route, str) else route
        made_by("route of GearCase", self.route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
        self.start, self.wind = start, read_wind(wind, "GearCase")
        place, steepest = self.route.steepest()
        self.slope = max(float(steepest), 0.0) if slope is None else si(slope, entry("slope"), "slope of GearCase")
        self.volts = half_empty(vehicle) if volts is None else si(volts, entry("open_voltage"), "volts of GearCase")
        self.speed = _posted(self.route, place) if speed is None else si(speed, entry("speed"), "speed of GearCase")
        if not 0 < self.volts <= 1000:
            raise InputError(f"Input volts of GearCase must be above zero; instead received {self.volts:g} V.")
        if not 0 < self.speed <= 60:
            raise InputError(f"Input speed of GearCase must be above zero and at most 60 m/s; instead received {self.speed:g} m/s.")

    # ------------------------------------------------------------ forces
    @cached_property
    def forces(self) -> ForceCase:
        """Force against speed at this ratio, the asked volts among the family."""
        family = sorted({*volts_family(self.vehicle), round(self.volts, 1)}, reverse=True)
        return ForceCase(self.vehicle, slope=self.slope, volts=family)

    @cached_property
    def needed(self) -> float:
        """Force on the slope at the asked speed [N]."""
        return self.forces.road_at(self.speed)

    @property
    def holds(self) -> float:
        """Speed it holds on the slope at the asked volts [m/s]; nan where it cannot start there."""
        return self.forces.steady[round(self.volts, 1)]

    @property
    def restart(self) -> float:
        """Steepest slope (tan) on which it starts from rest at the asked volts."""
        return self._grade(0.0)

    @property
    def gradeability(self) -> float:
        """Steepest slope (tan) on which it holds the asked speed at the asked volts, still air."""
        return self._grade(self.speed)

    def _grade(self, speed: float) -> float:
        v, road = self.vehicle, self.vehicle.road
        spare = (float(self._ask([speed])[0, 0]) - float(air_force(road.air_density, road.drag_area, speed, 0.0, 0.0))
                 - road.bearing_force - road.bearing_drag * speed)
        weight = v.mass * entry("gravity").value
        if abs(spare) >= weight:
            return math.inf if spare > 0 else -math.inf
        return float(gradeability(drive_force=spare, mass=v.mass, rolling_coefficient=road.rolling_coefficient))

    # ------------------------------------------------------------ ratios
    @cached_property
    def bound(self) -> float:
        """Largest ratio that still gives the needed force at the asked speed with the asked volts; nan where none does."""
        return self._edges[1]

    @cached_property
    def lowest(self) -> float:
        """Smallest ratio that does: below it the coil current limit is too weak for the slope; nan where none does."""
        return self._edges[0]

    @cached_property
    def _edges(self) -> tuple[float, float]:
        from scipy.optimize import brentq

        ratios = np.geomspace(0.5, 60.0, 81)
        spare = np.array([self._spare(g) for g in ratios])
        good = np.flatnonzero(spare >= 0)
        if not len(good):
            return math.nan, math.nan
        a, b = int(good[0]), int(good[-1])
        low = ratios[0] if a == 0 else brentq(self._spare, ratios[a - 1], ratios[a], xtol=1e-6)
        high = ratios[-1] if b == len(ratios) - 1 else brentq(self._spare, ratios[b], ratios[b + 1], xtol=1e-6)
        return float(low), float(high)

    def _spare(self, ratio: float) -> float:
        """Force to spare on the slope at the asked speed and volts with another ratio [N]."""
        return float(self._ask([self.speed], ratio)[0, 0]) - self.needed

    @cached_property
    def _ask(self) -> Any:
        return drive_at(self.vehicle, self.volts)

    @cached_property
    def front(self) -> Front:
        """The trip with some two dozen wheel sprockets, this one among them."""
        g = self.vehicle.gearing
        spread = np.geomspace(max(g.motor_teeth, 12), max(LARGEST, g.wheel_teeth), COUNT)
        teeth = np.unique([*np.round(spread).astype(int), g.wheel_teeth])
        rides = [self._ride(self.vehicle.change({"gearing.wheel_teeth": int(z)})) for z in teeth]
        return Front(
            teeth=teeth, ratio=np.array([r.vehicle.gearing.ratio for r in rides]), time=np.array([r.duration for r in rides]),
            energy=np.array([r.store_energy for r in rides]), end_volts=np.array([r.rested_voltage for r in rides]),
            arrived=np.array([r.outcome == "arrived" for r in rides]), outcome=tuple(r.outcome for r in rides),
            here=int(np.flatnonzero(teeth == g.wheel_teeth)[0]))

    def _ride(self, vehicle: Any, start: Any = None, back: bool = False) -> Result:
        route = self.route.reversed() if back else self.route
        return Journey(vehicle, route, self.wind, vehicle.driver, None, STEP, 5.0).go(self.start if start is None else start)

    @property
    def reason(self) -> str:
        """Which sprocket, and why, in words."""
        f = self.front
        if f.best is None or f.fastest is None:
            return f"With none of {f.teeth[0]} to {f.teeth[-1]} teeth does it arrive: the ratio alone cannot mend it."
        least, quick = f.teeth[f.best], f.teeth[f.fastest]
        words = f"{least} teeth take the least from the store ({f.energy[f.best] / 1e3:.2f} kJ)"
        gained = f.time[f.best] - f.time[f.fastest]
        words += (" and are also the fastest" if least == quick else " and no other is faster by half a second" if gained < 0.5 else
                  f", {quick} teeth are the fastest ({f.time[f.fastest]:.1f} s against {f.time[f.best]:.1f} s)")
        g = self.vehicle.gearing
        per_tooth = g.shaft_ratio / g.motor_teeth
        if math.isnan(self.bound):
            return (f"{words}. With {self.volts:.1f} V left no ratio gives the {self.needed:.0f} N of {100 * self.slope:.1f} % at "
                    f"{self.speed:.1f} m/s.")
        least_teeth, most_teeth = math.ceil(self.lowest / per_tooth - 1e-9), math.floor(self.bound / per_tooth + 1e-9)
        return (f"{words}. With {self.volts:.1f} V left, {self.speed:.1f} m/s on {100 * self.slope:.1f} % need {least_teeth} to "
                f"{most_teeth} teeth: fewer ask more than the coil current limit, more run out of volts.")

    # ------------------------------------------------------------ the parts
    @cached_property
    def geometry(self) -> Any:
        """Chain or belt and sprockets of the last stage: see chains.Geometry."""
        from evlab import chains

        v = self.vehicle
        return chains.geometry(v.gearing, v.motor.drive_constant * v.controller.coil_current_limit, self.speed)

    @cached_property
    def freewheel(self) -> dict[str, Any]:
        """There and back with a freewheel and without: {"with", "without": {"there", "back", "energy" [J], "time" [s],
        "arrived"}, "note"}."""
        made: dict[str, Any] = {}
        for name, fitted in (("with", True), ("without", False)):
            vehicle = self.vehicle.change({"gearing.freewheel": fitted})
            there = self._ride(vehicle)
            back = self._ride(vehicle, start=there, back=True)
            out, home = there.store_energy, back.store_energy
            made[name] = {"there": out, "back": home, "energy": out + home, "time": there.duration + back.duration,
                          "arrived": there.outcome == back.outcome == "arrived"}
        if not all(one["arrived"] for one in made.values()):
            made["note"] = ("It does not go there and back on one charge with both: what a freewheel gives or takes is not to be "
                            "told.")
            return made
        saved = made["without"]["energy"] - made["with"]["energy"]
        which = "With a freewheel" if saved > 0 else "Without a freewheel"
        why = "the motor's drag while it rolls outweighs what braking gives back" if saved > 0 else \
              "what braking gives back outweighs the motor's drag"
        made["note"] = f"{which} there and back take {abs(saved) / 1e3:.2f} kJ less: {why}."
        return made

    @cached_property
    def cautions(self) -> list[Any]:
        from evlab import cautions as rules

        return rules.of_gearing(self)


def _posted(route: Any, place: float) -> float:
    """Posted speed at a place [m/s]."""
    return float(next(v for at, v in reversed(route.limits) if at <= place + 1e-9))
