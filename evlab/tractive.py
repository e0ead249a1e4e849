"""Force against speed: what the road asks on a slope in a wind, and what the drive gives at each of the store's volts.

The drive's force is asked of the same `deliver` that rides (full throttle, every limit in place); the road's forces are the
equations of `road`.  Where both meet, the vehicle goes on at a steady speed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import Any

import numpy as np

from evlab.controller import COIL, HELD_BY, deliver_along
from evlab.gearing import motor_speed
from evlab.glossary import entry
from evlab.road import air_force, bearing_force, rolling_force, slope_force
from evlab.units import InputError, made_by, si

__all__ = ["ForceCase", "drive_at", "drive_curve", "half_empty", "volts_family"]

STEEPEST = 0.6  # tan: as route.STEEPEST
FASTEST = 60.0  # m/s: beyond it nothing here is a light vehicle
POINTS = 161
RATIO = 15  # its place among controller.Controller.parameters
FULL_THROTTLE = np.array([math.nan, 1.0, math.nan, 0.0])


def volts_family(vehicle: Any, count: int = 4) -> tuple[float, ...]:
    """Rested store volts from full down to where the vehicle gives up, evenly spread [V]; of a supply its own."""
    store = vehicle.store
    if store.kind == "supply":
        return (float(store.full_voltage),)
    if store.kind == "lithium":
        return tuple(math.floor(10 * store.open_voltage(store.state_at_share(s))) / 10 for s in np.linspace(1.0, 0.1, count))
    low = vehicle.converter.stops_at(vehicle.controller.stop_voltage)
    return tuple(round(float(v), 1) for v in np.linspace(store.full_voltage, min(low, store.full_voltage), count))


def half_empty(vehicle: Any) -> float:
    """Rested volts at half the charge between full and where the vehicle gives up [V]; a supply's own."""
    store = vehicle.store
    if store.kind == "supply":
        return float(store.full_voltage)
    if store.kind == "lithium":
        return float(store.open_voltage(store.state_at_share(0.5)))
    return float(store.full_voltage + vehicle.converter.stops_at(vehicle.controller.stop_voltage)) / 2


def drive_at(vehicle: Any, volts: float) -> Callable[..., Any]:
    """The drive at full throttle from a store rested at some volts, made ready to be asked: `ask(speeds [m/s], ratio=None)` gives
    the rows of `controller.deliver`, one for each speed.  The winding is as warm as the air."""
    v, air = vehicle, vehicle.road.air_temperature
    terminal = v.store.seam[0]
    state = np.ascontiguousarray(v.store.state_at(volts) if v.store.kind != "supply" else v.store.full_state(), dtype=float)
    store, drive = v.store.parameters(air), v.controller.parameters(v.motor, v.gearing, air, v.converter)
    warm, own = v.motor.state_at(air), float(drive[RATIO])

    def ask(speeds: Any, ratio: float | None = None) -> Any:
        at = np.ascontiguousarray(speeds, dtype=float)
        rows = np.zeros((at.size, 14))
        drive[RATIO] = own if ratio is None else ratio
        deliver_along(terminal, state, store, warm, drive, at, FULL_THROTTLE, rows)
        return rows

    return ask


def drive_curve(vehicle: Any, volts: float, speeds: Any) -> tuple[Any, Any, list[str]]:
    """What full throttle gives at the wheel at each speed [m/s], the store being rested at some volts.

    Returns (force at the wheel [N], store amps [A], what holds it) for each speed; full throttle asks for the coil current
    limit.  Past the no-load speed the force is the drag of a motor that is driven.
    """
    rows = drive_at(vehicle, volts)(speeds)
    return rows[:, 0], rows[:, 6], [HELD_BY[int(by) or COIL] for by in rows[:, 7]]


class ForceCase:
    """The road's forces and the drive's against speed.

    Parameters: `vehicle`; `slope` (tan); `head_wind`, `cross_wind` [m/s]; `air_density` [kg/m3], by default the vehicle's;
    `volts`, the rested store volts to draw, by default a family from full to empty; `top` [m/s], the end of the speeds.

    Attributes: `speeds` [m/s]; `parts` {"rolling", "slope", "air", "bearings": N}; `road`, their sum [N]; `drive` {volts: (force
    [N], store amps [A])}; `held` {volts: words for each speed}; `steady` {volts: m/s, nan where it cannot start}; `coasting` [m/s],
    with no drive and no brake, nan where it does not roll by itself; `per_metre` [N], the road's force at the steady speed.
    """

    def __init__(self, vehicle: Any, *, slope: float | str = 0.0, head_wind: float | str = 0.0, cross_wind: float | str = 0.0,
                 air_density: float | None = None, volts: Sequence[float] | None = None, top: float | None = None) -> None:
        made_by("vehicle of ForceCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.vehicle = vehicle
        self.slope, self.head_wind, self.cross_wind = (
            si(value, entry(name), f"{name} of ForceCase")
            for name, value in (("slope", slope), ("head_wind", head_wind), ("cross_wind", cross_wind)))
        if abs(self.slope) > STEEPEST:
            raise InputError(f"Input slope of ForceCase must be -60 % to 60 %; instead received {100 * self.slope:g} %.")
        self.air_density = (vehicle.road.air_density if air_density is None else
                            si(air_density, entry("road.air_density"), "air_density of ForceCase"))
        self.volts = volts_family(vehicle) if volts is None else tuple(float(v) for v in volts)
        self.top = self._no_load() if top is None else top
        self.speeds = np.linspace(0.0, self.top, POINTS)

    def _no_load(self) -> float:
        """A little more than the EMF's own limit at the highest volts [m/s]: there the axis ends."""
        v = self.vehicle
        bus = max(self.volts) if v.converter.kind == "none" else v.converter.bus_voltage
        turning = motor_speed(v.gearing.ratio, 1.0, v.gearing.wheel_radius)  # radians for each metre
        return float(min(1.15 * v.controller.duty_limit * bus / (v.motor.drive_constant * turning), FASTEST))

    # ------------------------------------------------------------ the road
    @cached_property
    def parts(self) -> dict[str, Any]:
        return self._parts(self.speeds)

    def _parts(self, speeds: Any) -> dict[str, Any]:
        v, road, one = self.vehicle, self.vehicle.road, np.ones(np.shape(speeds))
        return {"rolling": rolling_force(v.mass, road.rolling_coefficient, self.slope, 1.0) * one,
                "slope": slope_force(v.mass, self.slope) * one,
                "air": air_force(self.air_density, road.drag_area, speeds, self.head_wind, self.cross_wind) * one,
                "bearings": bearing_force(road.bearing_force, road.bearing_drag, speeds, 1.0) * one}

    @cached_property
    def road(self) -> Any:
        return sum(self.parts.values())

    def road_at(self, speed: float) -> float:
        """The road's force at a speed [N]."""
        road = self.vehicle.road
        return (self._still + air_force.floats(self.air_density, road.drag_area, speed, self.head_wind, self.cross_wind)
                + bearing_force.floats(road.bearing_force, road.bearing_drag, speed, 1.0))

    @cached_property
    def _still(self) -> float:
        """Rolling and slope force [N], whatever the speed."""
        at_rest = self._parts(np.zeros(1))
        return float(at_rest["rolling"][0] + at_rest["slope"][0])

    @cached_property
    def coasting(self) -> float:
        """Speed at which it rolls on with no drive, motor drag and brake left out [m/s]; nan where it does not roll by itself."""
        return self._balance(lambda speed: -self.road_at(speed), 2 * FASTEST)

    # ------------------------------------------------------------ the drive
    @cached_property
    def _curves(self) -> dict[float, tuple[Any, Any, list[str]]]:
        return {volts: drive_curve(self.vehicle, volts, self.speeds) for volts in self.volts}

    @cached_property
    def drive(self) -> dict[float, tuple[Any, Any]]:
        return {volts: (force, amps) for volts, (force, amps, _) in self._curves.items()}

    @cached_property
    def held(self) -> dict[float, list[str]]:
        return {volts: held for volts, (_, _, held) in self._curves.items()}

    def drive_at(self, volts: float, speed: float) -> float:
        """The drive's force at full throttle [N]."""
        return float(drive_at(self.vehicle, volts)([speed])[0, 0])

    @cached_property
    def steady(self) -> dict[float, float]:
        drives = {volts: drive_at(self.vehicle, volts) for volts in self.volts}
        return {volts: self._balance(lambda speed, ask=ask: float(ask([speed])[0, 0]) - self.road_at(speed), FASTEST)
                for volts, ask in drives.items()}

    def _balance(self, spare: Any, top: float) -> float:
        """The first speed at which a spare force that is there at a standstill is used up [m/s]; nan where there is none."""
        from scipy.optimize import brentq

        if not spare(0.0) > 0:
            return math.nan
        low, high = 0.0, min(1.0, self.top)
        while spare(high) > 0:
            low, high = high, 1.3 * high
            if high > top:
                return math.nan
        return float(brentq(spare, low, high, xtol=1e-9))

    @property
    def per_metre(self) -> float:
        """The road's force at the steady speed of the highest volts [N, which is J/m]; nan where there is none."""
        speed = self.steady[self.volts[0]]
        return self.road_at(speed) if math.isfinite(speed) else math.nan

    def __repr__(self) -> str:
        told = ", ".join(f"{speed:.2f} m/s at {volts:g} V" if math.isfinite(speed) else f"cannot start at {volts:g} V"
                         for volts, speed in self.steady.items())
        return f"<forces on {100 * self.slope:g} %, {self.head_wind:g} m/s of head wind: {told}>"
