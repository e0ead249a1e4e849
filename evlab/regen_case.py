"""Regeneration of one vehicle: what a page asks of it, each piece worked out when it is first read.

Closed forms over arrays of currents and speeds, at the air's temperature of the winding and at one voltage of the store; the rides
down a hill are those of `riding`.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import Any

import numpy as np

from evlab import footing, gearing, motor, regeneration
from evlab.descent_room import DescentRoom
from evlab.glossary import entry
from evlab.hill_test import HillTest
from evlab.regen_pieces import Descent, FullStore, Parabola, Pedalling, Region, Stop, StopAndGo
from evlab.riding import ride
from evlab.road import air_force, bearing_force, kinetic_energy, lift_energy, rolling_force
from evlab.route import Route
from evlab.route_files import load_route
from evlab.units import InputError, made_by, si

__all__ = ["RegenCase"]

POINTS = 121
DIODE = 0.7  # V across a silicon diode that conducts, from memory
FASTEST = 1.5  # of the no-load speed at the full store: so far the pictures go
STEEPEST = 0.3  # tan


class RegenCase:
    """Regeneration of one vehicle.

    Parameters: `vehicle`; `route`, whose descent is ridden (a Route, the name of one, or None for a ramp of the asked slope);
    `speed` [m/s], `volts` [V] of the rested store and `slope` (tan, downhill counts positive) as numbers or text, by default those
    of the route's steepest descent and half-way down the store; `deceleration` [m/s2] of a stop; `pedalling` [W] at the pedals.
    Raises InputError in words for a supply, a freewheel, or values out of their range.
    """

    def __init__(self, vehicle: Any, route: Any = None, *, speed: Any = None, volts: Any = None, slope: Any = None,
                 deceleration: Any = 1.0, pedalling: Any = 80.0) -> None:
        made_by("vehicle of RegenCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        if vehicle.store.kind == "supply":
            raise InputError("Input vehicle of RegenCase must carry a store that can be charged; instead it hangs on a supply.")
        if vehicle.gearing.freewheel:
            raise InputError("Input vehicle of RegenCase must turn its motor whenever the wheel turns; instead it has a freewheel "
                             "(gearing.freewheel), through which nothing comes back.")
        self.vehicle = vehicle
        way = load_route(route) if isinstance(route, str) else route
        if way is not None:
            made_by("route of RegenCase", way, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
        self.slope = _within(slope, "slope", 0.0, STEEPEST, _falls(way) if way is not None else 0.07)
        self.speed = _within(speed, "speed", 0.05, 30.0, _posted(way))
        low = vehicle.converter.stops_at(vehicle.controller.stop_voltage)
        self.volts = _within(volts, "open_voltage", 0.01, vehicle.store.charge_voltage, (low + vehicle.store.charge_voltage) / 2)
        self.deceleration = _within(deceleration, "deceleration", 0.05, 8.0, 1.0)
        self.power = _within(pedalling, "driver.pedalling_power", 0.0, 2000.0, 80.0)
        self.route: Route = descending(way, self.slope, self.speed)

    # ------------------------------------------------------------ the drive
    @cached_property
    def ohm(self) -> float:
        """Winding at the air's temperature and bridge [ohm]."""
        v = self.vehicle
        return float(motor.winding_resistance_hot(v.motor.resistance, v.road.air_temperature)) + v.controller.bridge_resistance

    @cached_property
    def limit_amps(self) -> float:
        """Braking current of the controller [A]; none comes back through a one-way converter."""
        return float(self.vehicle.controller.braking_current_limit if self.vehicle.converter.parameters()[3] else 0.0)

    def emf_at(self, speed: Any) -> Any:
        """Back-EMF at a road speed [V]."""
        return motor.back_emf.arrays(self.vehicle.motor.drive_constant, self.turning(speed))

    def turning(self, speed: Any) -> Any:
        """Motor speed at a road speed [rad/s]."""
        return np.asarray(speed, float) * self._turns

    @cached_property
    def _turns(self) -> float:
        g = self.vehicle.gearing
        return float(gearing.motor_speed(g.ratio, 1.0, g.wheel_radius))

    def drag_at(self, speed: Any) -> Any:
        """The motor's drag at the shaft [N m]."""
        m = self.vehicle.motor
        return m.drag_torque + m.viscous_drag * self.turning(speed)

    def force_of(self, amps: Any, speed: Any) -> Any:
        """Braking force at the wheel for a braking current [N]."""
        g, k = self.vehicle.gearing, self.vehicle.motor.drive_constant
        return regeneration.wheel_braking_force.arrays(k, np.asarray(amps, float), self.drag_at(speed), g.ratio, g.wheel_radius,
                                                       g.efficiency)

    def amps_of(self, force: Any, speed: Any) -> Any:
        """Braking current for a braking force at the wheel [A]; below zero it must be driven."""
        g = self.vehicle.gearing
        return regeneration.braking_current.arrays(np.asarray(force, float), g.wheel_radius, g.efficiency, g.ratio,
                                                   self.drag_at(speed), self.vehicle.motor.drive_constant)

    def recovered(self, amps: Any, speed: Any) -> Any:
        """What comes back at the bridge [W], stand-by paid."""
        return regeneration.recovered_power.arrays(self.emf_at(speed), amps, self.ohm, self.vehicle.controller.standby_power)

    def most_amps(self, speed: Any) -> Any:
        """The braking current that the drive gives at most [A]: the controller's, and never beyond E/2R."""
        return np.minimum(self.limit_amps, self.emf_at(speed) / (2 * self.ohm))

    @cached_property
    def no_load(self) -> float:
        """Speed of the motor without load on a full store, as a road speed [m/s]: faster it does not drive."""
        bus = getattr(self.vehicle.converter, "bus_voltage", 0.0) or self.vehicle.store.full_voltage
        return float(self.vehicle.controller.duty_limit * bus / (self.vehicle.motor.drive_constant * self._turns))

    @cached_property
    def top(self) -> float:
        """Fastest speed of the pictures [m/s]: downhill it may roll faster than the motor drives."""
        return max(FASTEST * self.no_load, 1.2 * self.speed)

    # ------------------------------------------------------------ parabola and region
    def parabola(self, speed: float) -> Parabola:
        """Power against braking current at a speed [m/s]."""
        emf, ohm, p0 = float(self.emf_at(speed)), self.ohm, self.vehicle.controller.standby_power
        short = float(regeneration.short_circuit_current(emf, ohm))
        amps = np.linspace(0.0, 1.2 * short, POINTS)
        pays = emf**2 >= 4 * ohm * p0
        zero = ((float(regeneration.least_paying_current(emf, ohm, p0)), float(regeneration.most_paying_current(emf, ohm, p0)))
                if pays else (math.nan, math.nan))
        return Parabola(speed, emf, ohm, amps, self.recovered(amps, speed), emf * amps,
                        float(regeneration.best_braking_current(emf, ohm)), float(regeneration.most_recovered_power(emf, ohm, p0)),
                        zero, short, self.limit_amps, float(self.recovered(self.limit_amps, speed)))

    @cached_property
    def here(self) -> Parabola:
        return self.parabola(self.speed)

    @cached_property
    def family(self) -> tuple[Parabola, ...]:
        """Parabolas at four speeds, the fastest first; the asked speed is one of them."""
        speeds = {round(share * self.top, 2) for share in (0.2, 0.45, 0.7)} | {self.speed}
        return tuple(self.parabola(s) for s in sorted(speeds, reverse=True))

    @cached_property
    def region(self) -> Region:
        speeds, v = np.linspace(0.0, self.top, POINTS), self.vehicle
        emf, p0 = self.emf_at(speeds), v.controller.standby_power
        inside = emf**2 - 4 * self.ohm * p0
        root = np.sqrt(np.where(inside >= 0, inside, np.nan))
        twice, short = 2 * self.ohm, emf / self.ohm
        currents = {"best": emf / twice, "zero_low": (emf - root) / twice, "zero_high": (emf + root) / twice, "short": short,
                    "limit": np.full(POINTS, self.limit_amps), "drag": np.zeros(POINTS)}
        forces: dict[str, Any] = {name: self.force_of(amps, speeds) for name, amps in currents.items()}
        k = v.motor.drive_constant
        alone = float(regeneration.fading_speed(self.limit_amps, self.ohm, k)) / self._turns  # the EMF alone, terminals joined
        return Region(speeds, **forces, needed=self.needed(speeds),
                      least_speed=float(regeneration.paying_speed(self.ohm, p0, k)) / self._turns,
                      fading_speed=2 * alone, costing_speed=alone, diode_speed=self.diode_speed)

    @property
    def diode_speed(self) -> float:
        """Road speed above which the bridge's diodes conduct by themselves at the volts of the case [m/s]."""
        m = self.vehicle.motor
        line = float(m.peak_constant)
        bus = getattr(self.vehicle.converter, "bus_voltage", 0.0) or self.volts
        return float(regeneration.diode_speed(bus, DIODE, line)) / self._turns

    def needed(self, speeds: Any) -> Any:
        """What brakes must hold to keep these speeds on the asked slope [N]."""
        v, speeds = self.vehicle, np.asarray(speeds, float)
        held = regeneration.descent_force.arrays(v.mass, -self.slope, v.road.rolling_coefficient, v.road.air_density,
                                                 v.road.drag_area, speeds, entry("gravity").value)
        return held - bearing_force.arrays(v.road.bearing_force, v.road.bearing_drag, speeds, 1.0)

    # ------------------------------------------------------------ a steady descent
    def share_at(self, speeds: Any) -> tuple[Any, Any, Any, Any]:
        """(force, amps, recovered, share) of a steady descent at these speeds; not a number where it must be driven."""
        speeds = np.asarray(speeds, float)
        force = self.needed(speeds)
        asked = self.amps_of(force, speeds)
        amps = np.where(asked >= 0, np.minimum(asked, self.most_amps(speeds)), np.nan)
        recovered = self.recovered(amps, speeds)
        weight = self.vehicle.mass * entry("gravity").value * self.slope / math.hypot(1.0, self.slope)
        return force, amps, recovered, recovered / (weight * speeds) if weight > 0 else np.full(speeds.shape, np.nan)

    @cached_property
    def descent(self) -> Descent:
        from scipy.optimize import minimize_scalar

        speeds = np.linspace(0.1, self.top, POINTS)
        force, amps, recovered, share = self.share_at(speeds)
        best_speed = best = math.nan
        if np.isfinite(share).any():
            at = int(np.nanargmax(share))
            low, high = speeds[max(at - 1, 0)], speeds[min(at + 1, POINTS - 1)]
            found = minimize_scalar(lambda x: -np.nan_to_num(float(self.share_at(x)[3]), nan=-9.0), bounds=(low, high),
                                    method="bounded", options={"xatol": 1e-6})
            best_speed, best = float(speeds[at]), float(share[at])
            if -found.fun > best:
                best_speed, best = float(found.x), -float(found.fun)
        here = float(self.share_at(self.speed)[3])
        return Descent(speeds, force, amps, recovered, share, best_speed, best, here, self.rolls)

    @cached_property
    def rolls(self) -> float:
        """Speed to which it rolls on the slope with all brakes off, the motor dragging [m/s]; not a number: it does not roll."""
        from scipy.optimize import brentq

        def left(speed: float) -> float:
            return float(self.needed(speed) - self.force_of(0.0, speed))

        return float(brentq(left, 0.0, 200.0)) if left(0.0) > 0 else math.nan

    # ------------------------------------------------------------ one stop, and stop and go
    def _level(self, speeds: Any) -> Any:
        """Tyres and air on the level [N]."""
        v = self.vehicle
        rolling = float(rolling_force(v.mass, v.road.rolling_coefficient, 0.0, 1.0))
        rolling = rolling + bearing_force.arrays(v.road.bearing_force, v.road.bearing_drag, speeds, 1.0)
        return rolling + air_force.arrays(v.road.air_density, v.road.drag_area, speeds, 0.0, 0.0)

    def stop_from(self, speed: float) -> Stop:
        """One stop on the level from a speed [m/s]."""
        v, speeds = self.vehicle, np.linspace(speed, 0.0, POINTS)
        road = self._level(speeds)
        demanded = np.maximum(v.effective_mass * self.deceleration - road, 0.0)
        amps = np.clip(self.amps_of(demanded, speeds), 0.0, self.most_amps(speeds))
        amps = np.where(self.recovered(amps, speeds) > -v.controller.standby_power, amps, 0.0)  # where the store would pay
        electric = np.minimum(self.force_of(amps, speeds), demanded)
        recovered = self.recovered(amps, speeds)
        over = np.linspace(0.0, speed / self.deceleration, POINTS)
        kinetic = float(kinetic_energy(v.effective_mass, speed))
        friction = demanded - electric
        into = [float(np.trapezoid(power, over)) for power in (recovered, friction * speeds, road * speeds)]
        return Stop(speeds, demanded, electric, friction, recovered, kinetic, into[0], into[1], into[2], into[0] / kinetic)

    @cached_property
    def stop(self) -> Stop:
        return self.stop_from(self.speed)

    def start_takes(self, speed: float) -> float:
        """What one start to a speed takes from the store at the bridge [J]: the driver's own rise, on the level."""
        v, speeds = self.vehicle, np.linspace(0.0, speed, POINTS)
        rise = getattr(v.driver, "rise", 0.45)
        road = self._level(speeds)
        g = v.gearing
        shaft = (v.effective_mass * rise + road) * g.wheel_radius / (g.ratio * g.efficiency)
        amps = (shaft + self.drag_at(speeds)) / v.motor.drive_constant
        power = amps * (self.emf_at(speeds) + amps * self.ohm) + v.controller.standby_power
        return float(np.trapezoid(power, speeds / rise))

    @cached_property
    def stop_and_go(self) -> StopAndGo:
        speeds = np.linspace(0.2, max(self.no_load, 0.4), 40)
        stops = [self.stop_from(float(s)) for s in speeds]
        round_share = np.array([s.into_store / self.start_takes(float(x)) for s, x in zip(stops, speeds, strict=True)])
        return StopAndGo(speeds, np.array([s.share for s in stops]), round_share, float(speeds[int(np.argmax(round_share))]))

    # ------------------------------------------------------------ a full store
    @cached_property
    def room(self) -> DescentRoom:
        """What the route's descent gives back, and how much room that needs."""
        return DescentRoom(self.vehicle, self.route)

    @cached_property
    def full(self) -> FullStore:
        """The route's descent begun full, and begun with just so much room as it needs."""
        room = self.room
        full_down = ride(self.vehicle, room.hill)
        volts = room.start_volts
        spared = ride(self.vehicle, room.hill, start=volts) if room.gain > 0 and volts > 0 else full_down
        over = max(room.gain + full_down.store_energy, 0.0) if room.gain > 0 else 0.0
        return FullStore(room.height, room.gain, volts, over, full_down, spared)

    @cached_property
    def hill(self) -> HillTest | None:
        """The hill test on the route's descent; None where it nowhere rolls by itself."""
        return HillTest(self.vehicle, self.route) if self.room.rolls else None

    @property
    def lift(self) -> float:
        """Energy of the route's height [J]."""
        return float(lift_energy(self.vehicle.mass, -float(self.route.heights[-1])))

    # ------------------------------------------------------------ legs
    @cached_property
    def pedalling(self) -> Pedalling:
        speeds, g = np.linspace(0.1, self.top, POINTS), self.vehicle.gearing
        at_wheel = self.power * g.efficiency  # behind the pedals' chain; the motor's comes on top
        amps = regeneration.pedalling_current.arrays(at_wheel, g.efficiency, self.turning(speeds), self.drag_at(speeds),
                                                     self.vehicle.motor.drive_constant)
        amps = np.clip(amps, 0.0, self.most_amps(speeds))
        into = self.recovered(amps, speeds)
        at = int(np.argmax(into))
        store = self.vehicle.store
        volts = min(self.volts, store.full_voltage - 1.0)
        volt = abs(store.energy(store.state_at(volts + 1.0)) - store.energy(store.state_at(volts)))
        minutes = volt / float(into[at]) / 60 if into[at] > 0 else math.inf
        return Pedalling(self.power, speeds, into, float(speeds[at]), float(into[at]), minutes)

    # ------------------------------------------------------------ words
    def grip(self, friction: float) -> float:
        """What the driven wheels hold on the slope while they alone brake, with this coefficient of friction [N]; not a number
        where the geometry is not stated."""
        v = self.vehicle.vehicle
        return footing.braked_of(v.wheels, v.driven, friction, self.vehicle.mass, v.mass_share, v.mass_height, v.wheelbase,
                                 -self.slope)

    @cached_property
    def cautions(self) -> list[Any]:
        from evlab import cautions as rules

        return rules.of_regeneration(self)

    @property
    def reason(self) -> str:
        """One sentence: what comes back here, and what the slope gives."""
        p, d = self.here, self.descent
        first = (f"At {self.speed:.1f} m/s most comes back with {p.best_amps:.0f} A, {p.most:.0f} W; from {p.zero_amps[1]:.0f} A "
                 "on "
                 "braking costs" if p.most > 0 else f"At {self.speed:.1f} m/s nothing comes back, however one brakes")
        second = (f"; down {100 * self.slope:.1f} % at this speed {100 * d.here:.0f} % of the height's energy comes back, at best "
                  f"{100 * d.best_share:.0f} % at {d.best_speed:.1f} m/s" if d.here == d.here else "")
        return f"{first}{second}."

    def __repr__(self) -> str:
        return f"<{self.reason}>"


# ---------------------------------------------------------------- helpers
def _within(value: Any, name: str, low: float, high: float, usual: float) -> float:
    """A value [SI] in its range, or the usual one."""
    if value is None:
        return float(min(max(usual, low), high))
    short = {"open_voltage": "volts", "driver.pedalling_power": "pedalling"}.get(name, name)
    given = si(value, entry(name), f"{short} of RegenCase")
    if not low <= given <= high * (1 + 1e-9):
        unit = f" {entry(name).unit}" if entry(name).unit else ""
        raise InputError(f"Input {short} of RegenCase must be {low:g} to {high:.4g}{unit}; instead received {value}.")
    return given


def _falls(route: Route) -> float:
    """The steepest mean descent over 20 m, in either direction of the way."""
    return max(route.reversed().steepest()[1], route.steepest()[1], 0.0)


def _posted(route: Route | None) -> float:
    return min(v for _, v in route.limits) if route is not None else 2.4


def descending(route: Route | None, slope: float, speed: float) -> Route:
    """The way down: the route itself or the other way round, whichever ends lower; without one, 60 m of the asked slope."""
    if route is None or not abs(float(route.heights[-1])) > 0.05:
        return Route.from_segments([(60.0, -max(slope, 0.01), speed)], name="a ramp")
    return route if route.heights[-1] < 0 else route.reversed()
