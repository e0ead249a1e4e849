"""The hill test: roll down from an empty store, see what it gained, and ride back up as far as that goes.

The hill is the part of the way that goes down, from where the vehicle rolls by itself to the last such place: on the level
before and behind it there is nothing to give back.

"How much does regeneration give back?" has at least three honest answers for one and the same hill, each with another denominator.
"""

from __future__ import annotations

import html
import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab.exploring import STEP
from evlab.look import shown
from evlab.regeneration import charge_over_lift, saved_over_round_trip, store_over_climb
from evlab.riding import Journey, Result, ride
from evlab.road import lift_energy
from evlab.route import Route
from evlab.route_files import load_route
from evlab.trust import UNTRUSTED
from evlab.units import InputError, made_by

__all__ = ["HillTest", "Ratio"]

SPARE = 0.3  # V at rest above the stop volts: so much is left when a ride has used a store up
COASTING = 1e-6  # A: a drive that does not drive
DRAGS = np.linspace(0.0, 1.5, 7)  # of today's unpowered drag


@dataclass(frozen=True)
class Ratio:
    """One honest ratio: its `name`, `value`, and what stands above and below the line, in words."""

    name: str
    value: float
    over: str
    under: str

    @property
    def words(self) -> str:
        return f"{self.over} over {self.under}: {100 * self.value:.0f} %"


class HillTest:
    """Down with regeneration from an empty store, then back up.

    Parameters: `vehicle`; `route`, the way down (a Route or the name of one); `start`, volts of the store at the top, by default
    just above the stop volts: empty.  Raises InputError in words for a way on which it nowhere rolls by itself, or a store that
    cannot be charged.

    Attributes: `hill` and `back` (Routes); `down`, `up` (Results); `lift` [J] between top and foot; `put_back` [J], what the
    store gained going down; `spent` [J], what it gave going up; `way_back` [m],
    `share_of_way` and `share_of_height` of the way up; `ratios`, three of
    them; `reason`.
    """

    def __init__(self, vehicle: Any, route: Any, *, start: Any = None) -> None:
        made_by("vehicle of HillTest", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.route: Route = load_route(route) if isinstance(route, str) else route
        made_by("route of HillTest", self.route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
        self.hill = falling_part(self.route, vehicle.road.rolling_coefficient)
        self.back, self.height = self.hill.reversed(), -float(self.hill.heights[-1])
        if vehicle.store.kind == "supply":
            raise InputError("Input vehicle of HillTest must carry a store that can be charged; instead it hangs on a supply.")
        self.vehicle = vehicle
        self.start = empty_volts(vehicle) if start is None else start

    # ------------------------------------------------------------ the two rides
    @cached_property
    def down(self) -> Result:
        return ride(_rolling(self.vehicle), self.hill, start=self.start)

    @cached_property
    def up(self) -> Result:
        return ride(self.vehicle, self.back, start=self.down)

    @property
    def lift(self) -> float:
        return float(lift_energy(self.vehicle.mass, self.height))

    @property
    def put_back(self) -> float:
        return -self.down.store_energy

    @property
    def spent(self) -> float:
        return self.up.store_energy

    @property
    def way_back(self) -> float:
        return min(self.up.distance, self.back.length)

    @property
    def share_of_way(self) -> float:
        return self.way_back / float(self.back.length)

    @property
    def share_of_height(self) -> float:
        return float(self.back.height(self.way_back)) / self.height

    # ------------------------------------------------------------ three honest ratios
    @cached_property
    def climb(self) -> Result:
        """The whole way up from a full store: what the climb costs."""
        return ride(self.vehicle, self.back)

    @cached_property
    def without(self) -> Result:
        """The way down on friction brakes alone, going on from the climb."""
        braked = self.vehicle.change({"controller.braking_current_limit": 0.0})
        return ride(braked, self.hill, start=self.climb)

    @cached_property
    def with_it(self) -> Result:
        """The way down with regeneration, going on from the climb."""
        return ride(self.vehicle, self.hill, start=self.climb)

    @cached_property
    def ratios(self) -> tuple[Ratio, ...]:
        """What comes back, three times; the last two need a climb that arrives, and are left out where it does not."""
        gained = "energy that the store gained going down"
        made = [Ratio("charge put back", float(charge_over_lift(self.put_back, self.lift)), gained, "energy of the height (m g h)")]
        if self.climb.outcome == "arrived":
            cost, kept, lost = self.climb.store_energy, self.with_it.store_energy, self.without.store_energy
            made.append(Ratio("store to store", float(store_over_climb(self.put_back, cost)),
                              gained, "energy that the store gives for the same climb"))
            made.append(Ratio("saved on the round trip", float(saved_over_round_trip(cost + lost, cost + kept)),
                              "store energy saved by regeneration, up and down", "store energy of the round trip without it"))
        return tuple(made)

    # ------------------------------------------------------------ what the drag costs
    def with_drag(self, factor: float) -> float:
        """The share of the way up that it regains, when all unpowered drag (tyres, bearings, motor) is so many times today's."""
        if not 0 <= factor <= 20:
            raise InputError(f"Input factor of with_drag must be 0 to 20 times today's drag; instead received {factor:g}.")
        v = self.vehicle
        names = ("road.rolling_coefficient", "road.bearing_force", "road.bearing_drag", "motor.drag_torque", "motor.viscous_drag")
        other = v.change({n: factor * v.value(n).value for n in names})
        down = Journey(_rolling(other), self.hill, 0.0, other.driver, None, STEP).sketch(self.start)
        if not down.trusted:
            return math.nan
        if down.outcome != "arrived":  # it did not get to the foot
            return 0.0
        states = len(v.store.full_state())
        begun = _Begun(down.state[2:2 + states].copy(), down.state[2 + states:3 + states].copy())
        up = Journey(other, self.back, 0.0, other.driver, None, STEP).sketch(begun)
        return min(max(up.distance, 0.0) / float(self.back.length), 1.0) if up.trusted else math.nan

    @cached_property
    def drag(self) -> tuple[Any, Any]:
        """(factors of today's unpowered drag, share of the way that is regained)."""
        return DRAGS, np.array([self.with_drag(float(f)) for f in DRAGS])

    def allowed_drag(self, share: float) -> float:
        """The factor of today's unpowered drag with which it regains this share of the way; not a number where none does."""
        if not 0 < share <= 1:
            raise InputError(f"Input share of allowed_drag must be above 0 and at most 1 of the way; instead received {share:g}.")
        low, high = 0.0, 20.0
        if self.with_drag(low) < share:
            return float("nan")
        while high - low > 1e-3:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.with_drag(middle) >= share else (low, middle)
        return low

    # ------------------------------------------------------------ words
    @property
    def reason(self) -> str:
        """One sentence: what it gained, and how far that went."""
        for ridden in (self.climb, self.down, self.up):
            if ridden.outcome == UNTRUSTED:
                return str(ridden.reason)
        if self.down.outcome != "arrived":
            return f"It did not get to the foot: {self.down.reason}"
        if self.up.distance < 0.01 * self.back.length:
            gained = shown(self.put_back / 1e3, "kJ")
            return (f"Going down gave the store {gained}, and it rides nowhere with that: under the first amps its volts fall to "
                    f"the stop volts at once ({self.up.outcome} at {self.up.distance:.1f} m).")
        if self.put_back <= 0:
            return f"Going down gave the store nothing: it lost {shown(-self.put_back / 1e3, 'kJ')}."
        went = "all the way" if self.up.outcome == "arrived" else f"{self.way_back:.1f} m of {self.back.length:.1f} m"
        gained, height = shown(self.put_back / 1e3, "kJ"), shown(self.lift / 1e3, "kJ")
        return (f"Going down gave the store {gained} of the {height} of the height; with that it rode {went} back up "
                f"({100 * self.share_of_way:.0f} % of the way).")

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><th scope=row style='text-align:left'>{html.escape(r.name)}</th><td>{100 * r.value:.0f} %</td>"
                       f"<td style='text-align:left'>{html.escape(r.over)} / {html.escape(r.under)}</td></tr>" for r in self.ratios)
        return f"<p>{html.escape(self.reason)}</p><table>{rows}</table>"

    def __repr__(self) -> str:
        return f"<{self.reason}>"


class _Begun:
    """A store and a winding from which a ride begins."""

    def __init__(self, store: Any, winding: Any) -> None:
        self.store, self.winding = store, winding

    def end_state(self, kind: str) -> tuple[Any, Any]:
        return self.store, self.winding


def _rolling(vehicle: Any) -> Any:
    """The vehicle with its throttle shut: it rolls and brakes, and is not driven."""
    return vehicle.change({"controller.coil_current_limit": COASTING})


def empty_volts(vehicle: Any) -> float:
    """Volts at rest of a store that a ride has used up [V]: a little above the stop volts."""
    least = vehicle.converter.stops_at(vehicle.controller.stop_voltage)
    if vehicle.store.kind == "lithium":
        least = max(least, vehicle.store.open_voltage(vehicle.store.state_at_share(0.02)))
    return float(min(least + SPARE, vehicle.store.full_voltage))


def falling_part(route: Route, rolling: float) -> Route:
    """The part of a way from where it first falls clearly more than a vehicle needs to roll, to the last such place.  Raises
    InputError where there is none, or where it ends no lower than it began."""
    places = np.unique(np.concatenate([route.nodes, np.linspace(0.0, route.length, 2001)]))
    slopes = route.slope(places)
    steep = max(1.05 * rolling, min(2.2 * rolling, -0.9 * float(slopes.min())))
    falls = places[slopes < -steep]
    if len(falls) < 2 or route.height(falls[-1]) >= route.height(falls[0]):
        raise InputError(f"Input route of HillTest must go down by more than {100 * rolling:.1f} %, below which this vehicle does "
                         f"not roll by itself; instead {route.name} does not. Is it the way up? Then: route.reversed().")
    return route.part(float(falls[0]), float(falls[-1]))
